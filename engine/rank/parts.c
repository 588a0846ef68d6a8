#include "rank/parts.h"

#include <string.h>

/* The first cause of the part, halving the way there (union-find, Tarjan & van Leeuwen 1984). */
static cw_cause_id first_of(uint32_t *part, cw_cause_id id)
{
    while (part[id] != id)
        id = part[id] = part[part[id]];
    return id;
}

static void unite(uint32_t *part, cw_cause_id a, cw_cause_id b)
{
    const cw_cause_id x = first_of(part, a), y = first_of(part, b);
    part[x < y ? y : x] = x < y ? x : y;
}

void rank_parts_find(const network *net, uint32_t *part, uint32_t *finding_part)
{
    const uint32_t causes = net->model->causes_count;
    memset(finding_part, 0, net->finding_count * sizeof *finding_part);
    for (cw_cause_id id = 1; id <= causes; id++)
        part[id] = net->causes[id].possible ? id : 0;
    for (cw_cause_id id = 1; id <= causes; id++) {
        const net_cause *cause = &net->causes[id];
        if (!cause->possible)
            continue;
        for (uint32_t i = 0; i < cause->parents.count; i++)
            if (rank_net_leads(net, &net->parents[cause->parents.first + i]))
                unite(part, id, net->parents[cause->parents.first + i].cause);
        for (uint32_t i = 0; i < cause->touches.count; i++) {
            uint32_t *toucher = &finding_part[net->touches[cause->touches.first + i].finding];
            if (*toucher == 0)
                *toucher = id;
            unite(part, id, *toucher);
        }
    }
    for (cw_cause_id id = 1; id <= causes; id++)
        if (part[id] != 0)
            part[id] = first_of(part, id);
}

void rank_parts_keep_one(network *net, const uint32_t *part, cw_cause_id first)
{
    net->live_count = 0;
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        net->causes[id].possible = part[id] == first;
        if (part[id] == first)
            net->live[net->live_count++] = id;
    }
}
