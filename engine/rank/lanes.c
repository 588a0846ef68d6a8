#include "rank/lanes.h"

#include "rank/inside.h"
#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

#define BY_CAUSE(X)                                                                                          \
    X(by_cause, 1)                                                                                           \
    X(root_of, 1)                                                                                            \
    X(own, SWEEP_LANES)                                                                                      \
    X(absent, SWEEP_LANES)                                                                                   \
    X(present, SWEEP_LANES)                                                                                  \
    X(ruled, SWEEP_LANES)                                                                                    \
    X(any_ruled, 1)                                                                                          \
    X(before, SWEEP_LANES)                                                                                   \
    X(tried, SWEEP_LANES)                                                                                    \
    X(varies, 1)                                                                                             \
    X(list, 1)                                                                                               \
    X(leaves, 1)

static size_t causes_of(const rank_lanes *lanes)
{
    return lanes->sweep->net->model->causes_count;
}

cw_status rank_lanes_new(rank_lanes *lanes, rank_sweep *sweep, const cw_allocator *allocator)
{
    *lanes = (rank_lanes){.sweep = sweep, .allocator = allocator};
    bool failed = false;
#define TAKE(name, times)                                                                                    \
    lanes->name = rank_take(allocator, (causes_of(lanes) + 1) * (times), sizeof *lanes->name, &failed);
    BY_CAUSE(TAKE)
#undef TAKE
    if (failed) {
        rank_lanes_dispose(lanes);
        return CW_NO_MEMORY;
    }
    sweep->varied = lanes;
    return CW_OK;
}

static void give_rest(rank_lanes *lanes)
{
    rank_give(lanes->allocator, lanes->base_logs, lanes->message_room, sizeof *lanes->base_logs);
    rank_give(lanes->allocator, lanes->stirred, lanes->message_room, sizeof *lanes->stirred);
    rank_give(lanes->allocator, lanes->drawn, lanes->finding_room * SWEEP_LANES, sizeof *lanes->drawn);
    rank_give(lanes->allocator, lanes->folded_mark, lanes->finding_room, sizeof *lanes->folded_mark);
    lanes->base_logs = NULL;
    lanes->stirred = NULL;
    lanes->drawn = NULL;
    lanes->folded_mark = NULL;
}

void rank_lanes_dispose(rank_lanes *lanes)
{
#define GIVE(name, times)                                                                                    \
    rank_give(lanes->allocator, lanes->name, (causes_of(lanes) + 1) * (times), sizeof *lanes->name);
    BY_CAUSE(GIVE)
#undef GIVE
    give_rest(lanes);
}

static cw_status take_rest(rank_lanes *lanes)
{
    const uint32_t messages = lanes->sweep->message_count, findings = lanes->sweep->net->finding_count;
    if (lanes->base_logs != NULL && messages <= lanes->message_room && findings <= lanes->finding_room)
        return CW_OK;
    bool failed = false;
    give_rest(lanes);
    lanes->message_room = (size_t)messages + 16;
    lanes->finding_room = (size_t)findings + 16;
    lanes->base_logs = rank_take(lanes->allocator, lanes->message_room, sizeof *lanes->base_logs, &failed);
    lanes->stirred = rank_take(lanes->allocator, lanes->message_room, sizeof *lanes->stirred, &failed);
    lanes->drawn =
        rank_take(lanes->allocator, lanes->finding_room * SWEEP_LANES, sizeof *lanes->drawn, &failed);
    lanes->folded_mark =
        rank_take(lanes->allocator, lanes->finding_room, sizeof *lanes->folded_mark, &failed);
    if (failed)
        give_rest(lanes);
    return failed ? CW_NO_MEMORY : CW_OK;
}

bool rank_lanes_fit(const rank_sweep *sweep)
{
    return rank_sweep_fits(sweep) &&
           (sweep->numbers_needed + 2 * sweep->widest + sweep->spare) * SWEEP_LANES <=
               (double)SWEEP_MAX_NUMBERS;
}

/* -- As it is -- */

static void reset_cause(rank_lanes *lanes, cw_cause_id id)
{
    const rank_sweep *sweep = lanes->sweep;
    lanes->varies[id] = lanes->any_ruled[id] = false;
    for (size_t at = (size_t)id * SWEEP_LANES; at < ((size_t)id + 1) * SWEEP_LANES; at++) {
        lanes->own[at] = sweep->net->causes[id].own;
        lanes->absent[at] = sweep->net->causes[id].absent;
        lanes->present[at] = sweep->present_factor[id];
        lanes->before[at] = sweep->before[id];
        lanes->ruled[at] = false;
    }
}

/* With all of its leaves: where one varies, those folded in later draw on top of it. */
static void reset_finding(rank_lanes *lanes, uint32_t finding)
{
    const rank_sweep *sweep = lanes->sweep;
    for (size_t k = 0; k < SWEEP_LANES; k++)
        lanes->drawn[(size_t)finding * SWEEP_LANES + k] = sweep->drawn[finding];
    for (cw_cause_id id = sweep->leaves[finding]; id != 0; id = sweep->next_cause[id])
        for (size_t k = 0; k < SWEEP_LANES; k++)
            lanes->before[(size_t)id * SWEEP_LANES + k] = sweep->before[id];
    lanes->folded_mark[finding] = 0;
}

static void note_roots(rank_lanes *lanes)
{
    const rank_sweep *sweep = lanes->sweep;
    memset(lanes->root_of, 0, (causes_of(lanes) + 1) * sizeof *lanes->root_of);
    for (uint32_t i = 0; i < sweep->message_count; i++) {
        const cw_run steps = sweep->messages[i].steps;
        for (uint32_t k = steps.first; k < steps.first + steps.count; k++) {
            const sweep_step *step = &sweep->steps[k];
            if (step->kind == SWEEP_CAUSE)
                lanes->root_of[step->who] = sweep->messages[i].root + 1;
            if (step->kind == SWEEP_CLOSE && sweep->bits[step->who].kind == SWEEP_DRAWN)
                for (cw_cause_id id = sweep->leaves[sweep->bits[step->who].who]; id != 0;
                     id = sweep->next_cause[id])
                    lanes->root_of[id] = sweep->messages[i].root + 1;
        }
    }
}

cw_status rank_lanes_begin(rank_lanes *lanes, const double *by_cause)
{
    const rank_sweep *sweep = lanes->sweep;
    const network *net = sweep->net;
    if (take_rest(lanes) != CW_OK)
        return CW_NO_MEMORY;
    lanes->count = 0;
    memcpy(lanes->by_cause, by_cause, (causes_of(lanes) + 1) * sizeof *by_cause);
    if (sweep->message_count > 0)
        memcpy(lanes->base_logs, sweep->logs, sweep->message_count * sizeof *sweep->logs);
    for (cw_cause_id id = 1; id <= causes_of(lanes); id++) {
        lanes->varies[id] = false;
        if (net->causes[id].possible)
            reset_cause(lanes, id);
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        reset_finding(lanes, i);
    note_roots(lanes);
    return CW_OK;
}

/* -- What varies -- */

static void vary(rank_lanes *lanes, cw_cause_id cause)
{
    assert(lanes->sweep->net->causes[cause].possible);
    if (!lanes->varies[cause])
        lanes->list[lanes->count++] = cause;
    lanes->varies[cause] = true;
}

void rank_lanes_times(rank_lanes *lanes, uint32_t lane, cw_cause_id cause, double times)
{
    vary(lanes, cause);
    lanes->present[(size_t)cause * SWEEP_LANES + lane] *= times;
}

void rank_lanes_own(rank_lanes *lanes, uint32_t lane, cw_cause_id cause, double own, bool ruled)
{
    const size_t at = (size_t)cause * SWEEP_LANES + lane;
    vary(lanes, cause);
    lanes->own[at] = own;
    lanes->absent[at] = 1 - own;
    lanes->ruled[at] = ruled;
    lanes->any_ruled[cause] |= ruled;
}

void rank_lanes_clear(rank_lanes *lanes)
{
    for (uint32_t i = 0; i < lanes->count; i++) {
        const cw_cause_id id = lanes->list[i];
        if (lanes->sweep->leaf_of[id] != 0)
            reset_finding(lanes, lanes->sweep->leaf_of[id] - 1);
        reset_cause(lanes, id);
    }
    lanes->count = 0;
}

/* -- What needs no message -- */

static double absent_half(const rank_lanes *lanes, cw_cause_id id, uint32_t lane)
{
    return lanes->absent[(size_t)id * SWEEP_LANES + lane] * lanes->sweep->absent_factor[id];
}

static double present_half(const rank_lanes *lanes, cw_cause_id id, uint32_t lane)
{
    const size_t at = (size_t)id * SWEEP_LANES + lane;
    return lanes->own[at] * lanes->present[at];
}

static void vary_alone(rank_lanes *lanes, cw_cause_id id)
{
    const rank_sweep *sweep = lanes->sweep;
    const net_cause *cause = &sweep->net->causes[id];
    const double was = cause->absent * sweep->absent_factor[id] + cause->own * sweep->present_factor[id];
    for (uint32_t k = 0; k < SWEEP_LANES; k++) {
        const double present = present_half(lanes, id, k), is = absent_half(lanes, id, k) + present;
        lanes->ratio[k] += log(is / was);
        lanes->tried[(size_t)id * SWEEP_LANES + k] = present / is;
    }
}

/* One that is forced absent in the plan. */
static void vary_forced(rank_lanes *lanes, cw_cause_id id)
{
    for (uint32_t k = 0; k < SWEEP_LANES; k++)
        lanes->ratio[k] +=
            log(lanes->absent[(size_t)id * SWEEP_LANES + k] / lanes->sweep->net->causes[id].absent);
}

/* One more leaf; the logarithm of what is taken out. */
static double draw_leaf(sweep_drawn *drawn, double absent, double present, const net_touch *touch)
{
    drawn->hit =
        drawn->hit * (absent + present * (touch->miss + touch->hit)) + drawn->miss * present * touch->hit;
    drawn->miss *= absent + present * touch->miss;
    if (drawn->hit >= 0x1p-200 || drawn->miss >= 0x1p-200)
        return 0;
    drawn->hit *= 0x1p200;
    drawn->miss *= 0x1p200;
    return -200 * RANK_LOG_2;
}

/* What the background and the leaves draw together, once more; the sweep's own, too, for what was taken out
 * of it counts in the ratio. */
static void fold_leaves(rank_lanes *lanes, uint32_t finding)
{
    const rank_sweep *sweep = lanes->sweep;
    const net_finding *background = &sweep->net->findings[finding];
    sweep_drawn own = {background->hit, background->miss},
                *drawn = lanes->drawn + (size_t)finding * SWEEP_LANES;
    uint32_t count = 0;
    for (uint32_t k = 0; k < SWEEP_LANES; k++)
        drawn[k] = own;
    for (cw_cause_id id = sweep->leaves[finding]; id != 0; id = sweep->next_cause[id])
        lanes->leaves[count++] = id;
    while (count-- > 0) {
        const cw_cause_id id = lanes->leaves[count];
        const net_touch *touch = sweep_leaf_touch(sweep, id);
        const net_cause *cause = &sweep->net->causes[id];
        const double taken = draw_leaf(&own, cause->absent * sweep->absent_factor[id],
                                       cause->own * sweep->present_factor[id], touch);
        for (uint32_t k = 0; k < SWEEP_LANES; k++) {
            lanes->before[(size_t)id * SWEEP_LANES + k] = drawn[k];
            lanes->ratio[k] +=
                draw_leaf(&drawn[k], absent_half(lanes, id, k), present_half(lanes, id, k), touch) - taken;
        }
    }
    if (sweep->finding_left[finding] == 0)
        for (uint32_t k = 0; k < SWEEP_LANES; k++)
            lanes->ratio[k] += log(drawn[k].hit / own.hit);
}

/* Marks what is to be summed anew. */
static void stir(rank_lanes *lanes)
{
    const rank_sweep *sweep = lanes->sweep;
    memset(lanes->stirred, 0, (sweep->message_count + 1) * sizeof *lanes->stirred);
    for (uint32_t k = 0; k < SWEEP_LANES; k++)
        lanes->ratio[k] = 0;
    for (uint32_t i = 0; i < lanes->count; i++) {
        const cw_cause_id id = lanes->list[i];
        if (!sweep_takes_part(sweep, id))
            vary_forced(lanes, id);
        else if (sweep->alone[id])
            vary_alone(lanes, id);
        if (!sweep_takes_part(sweep, id) || sweep->alone[id])
            continue;
        if (lanes->root_of[id] != 0)
            lanes->stirred[lanes->root_of[id] - 1] = true;
        if (sweep->leaf_of[id] != 0 && lanes->folded_mark[sweep->leaf_of[id] - 1] == 0) {
            lanes->folded_mark[sweep->leaf_of[id] - 1] = 1;
            fold_leaves(lanes, sweep->leaf_of[id] - 1);
        }
    }
}

/* -- There and back -- */

static void answer_only_leaves(rank_lanes *lanes)
{
    const rank_sweep *sweep = lanes->sweep;
    for (uint32_t i = 0; i < lanes->count; i++) {
        const uint32_t leaf_of = sweep_takes_part(sweep, lanes->list[i]) ? sweep->leaf_of[lanes->list[i]] : 0;
        if (leaf_of == 0 || sweep->finding_left[leaf_of - 1] != 0 || lanes->folded_mark[leaf_of - 1] != 1)
            continue;
        lanes->folded_mark[leaf_of - 1] = 2;
        for (uint32_t k = 0; k < SWEEP_LANES; k++)
            sweep_work_out_leaves(sweep, leaf_of - 1, k, (sweep_drawn){1, 0}, lanes->tried);
    }
}

cw_status rank_lanes_run(rank_lanes *lanes, bool back)
{
    rank_sweep *sweep = lanes->sweep;
    for (size_t id = 1; back && id <= causes_of(lanes); id++)
        for (size_t k = 0; k < SWEEP_LANES; k++)
            lanes->tried[id * SWEEP_LANES + k] = lanes->by_cause[id];
    sweep->lanes = SWEEP_LANES;
    stir(lanes);
    const cw_status status = sweep_send_all(sweep, lanes->stirred, back);
    lanes->cost = 0;
    for (uint32_t i = 0; status == CW_OK && i < sweep->message_count; i++) {
        if (!lanes->stirred[sweep->messages[i].root])
            continue;
        lanes->cost += sweep->messages[i].cost;
        for (uint32_t k = 0; k < SWEEP_LANES; k++)
            lanes->ratio[k] += sweep->logs[(size_t)i * SWEEP_LANES + k] - lanes->base_logs[i];
    }
    if (status == CW_OK && back) {
        sweep_answer_all(sweep, lanes->stirred, lanes->tried);
        answer_only_leaves(lanes);
    }
    sweep->lanes = 1;
    return status;
}
