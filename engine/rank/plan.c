/* The order of a sweep, and what is open at each step. */
#include "rank/sweep.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* The most that any network of the model can need. */
static size_t most_bits(const network *net)
{
    return 3 * (size_t)net->sign_count + net->link_count + net->model->causes_count + 1;
}

static size_t most_state(const network *net)
{
    return (size_t)net->sign_count + net->model->causes_count + 1;
}

cw_status rank_sweep_new(rank_sweep *sweep, const network *net, const cw_allocator *allocator)
{
    *sweep = (rank_sweep){.net = net, .allocator = allocator};
    const size_t causes = net->model->causes_count, findings = net->sign_count;
    bool failed = false;
    sweep->order = rank_take(allocator, causes, sizeof *sweep->order, &failed);
    sweep->steps = rank_take(allocator, causes, sizeof *sweep->steps, &failed);
    sweep->bits = rank_take(allocator, most_bits(net), sizeof *sweep->bits, &failed);
    sweep->state = rank_take(allocator, most_state(net), sizeof *sweep->state, &failed);
    sweep->finding_left = rank_take(allocator, findings, sizeof *sweep->finding_left, &failed);
    sweep->cause_left = rank_take(allocator, causes, sizeof *sweep->cause_left, &failed);
    sweep->absent_factor = rank_take(allocator, causes, sizeof *sweep->absent_factor, &failed);
    sweep->present_factor = rank_take(allocator, causes, sizeof *sweep->present_factor, &failed);
    sweep->alone = rank_take(allocator, causes, sizeof *sweep->alone, &failed);
    sweep->placed = rank_take(allocator, causes, sizeof *sweep->placed, &failed);
    sweep->opened = rank_take(allocator, findings, sizeof *sweep->opened, &failed);
    if (failed) {
        rank_sweep_dispose(sweep);
        return CW_NO_MEMORY;
    }
    return CW_OK;
}

void rank_sweep_dispose(rank_sweep *sweep)
{
    const network *net = sweep->net;
    const cw_allocator *allocator = sweep->allocator;
    const size_t causes = net->model->causes_count, findings = net->sign_count;
    rank_give(allocator, sweep->order, causes, sizeof *sweep->order);
    rank_give(allocator, sweep->steps, causes, sizeof *sweep->steps);
    rank_give(allocator, sweep->bits, most_bits(net), sizeof *sweep->bits);
    rank_give(allocator, sweep->state, most_state(net), sizeof *sweep->state);
    rank_give(allocator, sweep->finding_left, findings, sizeof *sweep->finding_left);
    rank_give(allocator, sweep->cause_left, causes, sizeof *sweep->cause_left);
    rank_give(allocator, sweep->absent_factor, causes, sizeof *sweep->absent_factor);
    rank_give(allocator, sweep->present_factor, causes, sizeof *sweep->present_factor);
    rank_give(allocator, sweep->alone, causes, sizeof *sweep->alone);
    rank_give(allocator, sweep->placed, causes, sizeof *sweep->placed);
    rank_give(allocator, sweep->opened, findings, sizeof *sweep->opened);
    if (sweep->numbers != NULL)
        cw_release(allocator, sweep->numbers, sweep->numbers_room * sizeof *sweep->numbers);
}

static bool takes_part(const rank_sweep *sweep, cw_cause_id id)
{
    return sweep->net->causes[id].possible && !(sweep->forced != NULL && sweep->forced[id]);
}

/* Both ends take part. */
static bool leads(const rank_sweep *sweep, const net_parent *parent)
{
    return rank_net_leads(sweep->net, parent) && takes_part(sweep, parent->cause);
}

static const net_parent *parent_at(const rank_sweep *sweep, cw_cause_id id, uint32_t i)
{
    return &sweep->net->parents[sweep->net->causes[id].parents.first + i];
}

static const net_touch *touch_at(const rank_sweep *sweep, cw_cause_id id, uint32_t i)
{
    return &sweep->net->touches[sweep->net->causes[id].touches.first + i];
}

/* Factors of the two halves; kept away from the smallest numbers, by powers of two. */
static void fold_in(rank_sweep *sweep, cw_cause_id id, double absent, double present)
{
    double *of_absent = &sweep->absent_factor[id], *of_present = &sweep->present_factor[id];
    *of_absent *= absent;
    *of_present *= present;
    if (*of_absent < 0x1p-200 && *of_present < 0x1p-200) {
        *of_absent *= 0x1p200;
        *of_present *= 0x1p200;
        sweep->log_factor -= 200 * RANK_LOG_2;
    }
}

/* A forced absence is worth 1 - own, and 1 - chance to each present parent. */
static void force_absent(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep->log_factor += log1p(-cause->own);
    for (uint32_t i = 0; i < cause->parents.count; i++)
        if (leads(sweep, parent_at(sweep, id, i)))
            fold_in(sweep, parent_at(sweep, id, i)->cause, 1, 1 - parent_at(sweep, id, i)->chance);
}

static void count_cause(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++)
        sweep->finding_left[touch_at(sweep, id, i)->finding]++;
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        if (!leads(sweep, parent_at(sweep, id, i)))
            continue;
        sweep->cause_left[parent_at(sweep, id, i)->cause]++;
        sweep->alone[parent_at(sweep, id, i)->cause] = sweep->alone[id] = false;
    }
}

/* A finding that one cause alone touches needs no bit. From here on nothing of it is left to come. */
static void fold_private_findings(rank_sweep *sweep, cw_cause_id id)
{
    for (uint32_t i = 0; i < sweep->net->causes[id].touches.count; i++) {
        const net_touch *touch = touch_at(sweep, id, i);
        const net_finding *background = &sweep->net->findings[touch->finding];
        if (sweep->finding_left[touch->finding] != 1) {
            sweep->alone[id] = false;
            continue;
        }
        fold_in(sweep, id, background->hit,
                background->hit * (touch->miss + touch->hit) + background->miss * touch->hit);
        sweep->finding_left[touch->finding] = 0;
    }
}

/* Counts what is to come of each finding and each cause, works in what needs no bit, and finds the causes
 * that stand alone. */
static void count_ahead(rank_sweep *sweep)
{
    const network *net = sweep->net;
    const uint32_t causes = net->model->causes_count;
    memset(sweep->finding_left, 0, (net->finding_count + 1) * sizeof *sweep->finding_left);
    memset(sweep->cause_left, 0, (causes + 1) * sizeof *sweep->cause_left);
    sweep->log_factor = net->log_factor;
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        sweep->absent_factor[id] = 1;
        sweep->present_factor[id] = net->causes[id].weight;
        sweep->alone[id] = true;
    }
    for (uint32_t i = 0; i < net->live_count; i++) {
        if (takes_part(sweep, net->live[i]))
            count_cause(sweep, net->live[i]);
        else
            force_absent(sweep, net->live[i]);
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->finding_left[i] == 0) /* all that could touch it are forced absent */
            sweep->log_factor += log(net->findings[i].hit);
    for (uint32_t i = 0; i < net->live_count; i++)
        if (takes_part(sweep, net->live[i]))
            fold_private_findings(sweep, net->live[i]);
}

/* How taking this cause next would change the number of bits: at most, and afterwards. */
static void growth(const rank_sweep *sweep, const bool *opened, cw_cause_id id, int *peak, int *after)
{
    const net_cause *cause = &sweep->net->causes[id];
    int opens = 0, closes = 0;
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const uint32_t finding = touch_at(sweep, id, i)->finding;
        opens += sweep->finding_left[finding] > 0 && !opened[finding];
        closes += sweep->finding_left[finding] == 1;
    }
    for (uint32_t i = 0; i < cause->parents.count; i++)
        closes +=
            leads(sweep, parent_at(sweep, id, i)) && sweep->cause_left[parent_at(sweep, id, i)->cause] == 1;
    *peak = opens + (sweep->cause_left[id] > 0);
    *after = *peak - closes;
}

static bool parents_placed(const rank_sweep *sweep, const bool *placed, cw_cause_id id)
{
    for (uint32_t i = 0; i < sweep->net->causes[id].parents.count; i++)
        if (leads(sweep, parent_at(sweep, id, i)) && !placed[parent_at(sweep, id, i)->cause])
            return false;
    return true;
}

static cw_cause_id next_cause(const rank_sweep *sweep, const bool *placed, const bool *opened)
{
    cw_cause_id best = 0;
    int best_peak = 0, best_after = 0;
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const cw_cause_id id = sweep->net->live[i];
        if (placed[id] || !takes_part(sweep, id) || sweep->alone[id] || !parents_placed(sweep, placed, id))
            continue;
        int peak, after;
        growth(sweep, opened, id, &peak, &after);
        if (best == 0 || after < best_after || (after == best_after && peak < best_peak)) {
            best = id;
            best_peak = peak;
            best_after = after;
        }
    }
    return best;
}

void rank_sweep_order(rank_sweep *sweep)
{
    bool *placed = sweep->placed, *opened = sweep->opened;
    memset(placed, 0, (sweep->net->model->causes_count + 1) * sizeof *placed);
    memset(opened, 0, (sweep->net->finding_count + 1) * sizeof *opened);
    sweep->forced = NULL;
    count_ahead(sweep);
    sweep->order_count = 0;
    for (cw_cause_id id; (id = next_cause(sweep, placed, opened)) != 0; placed[id] = true) {
        const net_cause *cause = &sweep->net->causes[id];
        sweep->order[sweep->order_count++] = id;
        for (uint32_t i = 0; i < cause->touches.count; i++) {
            const uint32_t finding = touch_at(sweep, id, i)->finding;
            opened[finding] = true;
            sweep->finding_left[finding] -= sweep->finding_left[finding] > 0;
        }
        for (uint32_t i = 0; i < cause->parents.count; i++)
            if (leads(sweep, parent_at(sweep, id, i)))
                sweep->cause_left[parent_at(sweep, id, i)->cause]--;
    }
}

static uint32_t place_of(const rank_sweep *sweep, bool cause, uint32_t who)
{
    for (uint32_t place = 0; place < sweep->state_count; place++)
        if (sweep->state[place].cause == cause && sweep->state[place].who == who)
            return place;
    return UINT32_MAX;
}

static void note(rank_sweep *sweep, cw_run *run, sweep_bit bit)
{
    if (run->count == 0)
        run->first = sweep->bit_count;
    assert(sweep->bit_count < most_bits(sweep->net) && run->first + run->count == sweep->bit_count);
    sweep->bits[sweep->bit_count++] = bit;
    run->count++;
}

static void remember(rank_sweep *sweep, sweep_bit bit)
{
    sweep->state[sweep->state_count++] = bit;
}

static void plan_opens(rank_sweep *sweep, sweep_step *step)
{
    for (uint32_t i = 0; i < sweep->net->causes[step->cause].touches.count; i++) {
        const uint32_t finding = touch_at(sweep, step->cause, i)->finding;
        if (sweep->finding_left[finding] == 0 || place_of(sweep, false, finding) != UINT32_MAX)
            continue;
        const net_finding *background = &sweep->net->findings[finding];
        const sweep_bit bit = {sweep->state_count, finding, false, background->hit, background->miss};
        note(sweep, &step->opens, bit);
        remember(sweep, bit);
    }
    step->width = sweep->state_count;
}

static void plan_parents(rank_sweep *sweep, sweep_step *step)
{
    for (uint32_t i = 0; i < sweep->net->causes[step->cause].parents.count; i++) {
        const net_parent *parent = parent_at(sweep, step->cause, i);
        if (!leads(sweep, parent))
            continue;
        note(sweep, &step->parents,
             (sweep_bit){place_of(sweep, true, parent->cause), parent->cause, true, parent->chance, 0});
        sweep->cause_left[parent->cause]--;
    }
}

static void plan_touches(rank_sweep *sweep, sweep_step *step)
{
    for (uint32_t i = 0; i < sweep->net->causes[step->cause].touches.count; i++) {
        const net_touch *touch = touch_at(sweep, step->cause, i);
        if (sweep->finding_left[touch->finding] == 0)
            continue;
        note(sweep, &step->touches,
             (sweep_bit){place_of(sweep, false, touch->finding), touch->finding, false, touch->hit,
                         touch->miss});
        sweep->finding_left[touch->finding]--;
    }
}

/* From the highest place down, so that a place noted is that at the time of closing. */
static void plan_closes(rank_sweep *sweep, sweep_step *step)
{
    for (uint32_t place = sweep->state_count; place-- > 0;) {
        sweep_bit bit = sweep->state[place];
        if ((bit.cause ? sweep->cause_left : sweep->finding_left)[bit.who] > 0)
            continue;
        bit.place = place;
        note(sweep, &step->closes, bit);
        memmove(&sweep->state[place], &sweep->state[place + 1],
                (sweep->state_count - place - 1) * sizeof *sweep->state);
        sweep->state_count--;
    }
}

static double power_of_two(uint32_t exponent)
{
    return exponent < 64 ? (double)((uint64_t)1 << exponent) : ldexp(1.0, (int)exponent);
}

/* Costs are counted in floating point and sizes stop growing where nothing fits any more, so that nothing
 * overflows. */
static void plan_costs(rank_sweep *sweep, sweep_step *step)
{
    const double whole = power_of_two(step->width + 1);
    sweep->cost += whole * (2.0 + step->parents.count + step->touches.count);
    step->saved = rank_sweep_fits(sweep) ? (size_t)sweep->numbers_needed : 0;
    sweep->numbers_needed += power_of_two(step->width_in);
    if (whole > sweep->widest)
        sweep->widest = whole;
}

void rank_sweep_plan(rank_sweep *sweep, const bool *forced)
{
    sweep->forced = forced;
    count_ahead(sweep);
    sweep->step_count = sweep->bit_count = sweep->state_count = 0;
    sweep->cost = sweep->numbers_needed = 0;
    sweep->widest = 2;
    for (uint32_t i = 0; i < sweep->order_count; i++) {
        const cw_cause_id id = sweep->order[i];
        if (!takes_part(sweep, id) || sweep->alone[id])
            continue;
        sweep_step *step = &sweep->steps[sweep->step_count++];
        *step = (sweep_step){.cause = id,
                             .absent = sweep->absent_factor[id],
                             .present = sweep->present_factor[id],
                             .leads = sweep->cause_left[id] > 0};
        step->width_in = sweep->state_count;
        plan_opens(sweep, step);
        plan_parents(sweep, step);
        plan_touches(sweep, step);
        if (step->leads)
            remember(sweep, (sweep_bit){0, id, true, 0, 0});
        plan_closes(sweep, step);
        plan_costs(sweep, step);
    }
    assert(sweep->state_count == 0);
}

bool rank_sweep_fits(const rank_sweep *sweep)
{
    return sweep->numbers_needed + 2 * sweep->widest <= (double)SWEEP_MAX_NUMBERS;
}
