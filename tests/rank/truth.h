/* What a set of causes comes to in a network, worked out plainly: the reference of the tests of this room. */
#ifndef CW_TESTS_RANK_TRUTH_H
#define CW_TESTS_RANK_TRUTH_H

#include "rank/network.h"
#include <math.h>

static inline bool truth_in(uint32_t set, cw_cause_id id)
{
    return set >> id & 1;
}

/* P(the set, and what was seen); the set by bits, that of id 0 is none. */
static inline long double truth_weight(const network *net, uint32_t set)
{
    long double weight = expl((long double)net->log_factor);
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        const net_cause *cause = &net->causes[id];
        long double absent = 1 - (long double)cause->own;
        for (uint32_t i = 0; i < cause->parents.count; i++) {
            const net_parent *parent = &net->parents[cause->parents.first + i];
            absent *= truth_in(set, parent->cause) ? 1 - (long double)parent->chance : 1;
        }
        weight *= truth_in(set, id) ? (1 - absent) * (long double)cause->weight : absent;
    }
    for (uint32_t f = 0; f < net->finding_count; f++) {
        long double lower = (long double)net->findings[f].miss,
                    most = lower + (long double)net->findings[f].hit;
        for (cw_cause_id id = 1; id <= net->model->causes_count; id++)
            for (uint32_t i = 0; truth_in(set, id) && i < net->causes[id].touches.count; i++) {
                const net_touch *touch = &net->touches[net->causes[id].touches.first + i];
                lower *= touch->finding == f ? (long double)touch->miss : 1;
                most *= touch->finding == f ? (long double)touch->miss + (long double)touch->hit : 1;
            }
        weight *= most - lower;
    }
    return weight;
}

#endif
