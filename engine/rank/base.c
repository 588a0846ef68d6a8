#include "rank/base.h"

#include "rank/inside.h"
#include "rank/parts.h"

#include <math.h>
#include <string.h>

#define BASE_ARRAYS(X, causes, facts, signs)                                                                 \
    X(possible, causes)                                                                                      \
    X(own, causes)                                                                                           \
    X(weight, causes)                                                                                        \
    X(by_cause, causes)                                                                                      \
    X(touches, causes)                                                                                       \
    X(part, causes)                                                                                          \
    X(part_size, causes)                                                                                     \
    X(sums, causes)                                                                                          \
    X(seed, causes)                                                                                          \
    X(dirty, causes)                                                                                         \
    X(member, causes)                                                                                        \
    X(fresh, causes)                                                                                         \
    X(in_unit, causes)                                                                                       \
    X(facts, signs)                                                                                          \
    X(values, signs)                                                                                         \
    X(finding_part, facts)                                                                                   \
    X(hits, facts)

cw_status rank_base_new(rank_base *base, const network *net, const cw_allocator *allocator)
{
    const cw_model *model = net->model;
    const size_t causes = model->causes_count, facts = model->facts_count, signs = net->sign_count;
    *base = (rank_base){.model = model, .allocator = allocator, .sign_count = net->sign_count};
    bool failed = false;
#define BASE_TAKE(name, count) base->name = rank_take(allocator, count, sizeof *base->name, &failed);
    BASE_ARRAYS(BASE_TAKE, causes, facts, signs)
#undef BASE_TAKE
    if (failed) {
        rank_base_dispose(base);
        return CW_NO_MEMORY;
    }
    for (cw_cause_id id = 1; id <= causes; id++)
        base->in_unit[id] = model->parts[model->causes[id].part].where == CW_PART_UNIT;
    return CW_OK;
}

void rank_base_dispose(rank_base *base)
{
    const size_t causes = base->model->causes_count, facts = base->model->facts_count,
                 signs = base->sign_count;
#define BASE_GIVE(name, count) rank_give(base->allocator, base->name, count, sizeof *base->name);
    BASE_ARRAYS(BASE_GIVE, causes, facts, signs)
#undef BASE_GIVE
}

static const net_touch *touch_at(const network *net, cw_cause_id id, uint32_t i)
{
    return &net->touches[net->causes[id].touches.first + i];
}

static const cw_evidence *seen_at(const network *net, const cw_evidence *evidence, cw_cause_id id, uint32_t i)
{
    return &evidence[net->findings[touch_at(net, id, i)->finding].evidence];
}

/* -- Summing some of the causes -- */

/* Of one cause, absent and present; 2 to the power taken out, and what the background draws, as logarithms.
 */
typedef struct base_halves {
    double absent, present, log_taken, log_hits;
} base_halves;

/* Masks all but the members: others are not possible, findings that no member touches are worth 1. Members
 * are whole parts, so no link and no finding crosses the border. */
static void mask(rank_base *base, network *net)
{
    for (uint32_t i = 0; i < net->finding_count; i++)
        net->findings[i].hit = 1;
    net->live_count = 0;
    for (cw_cause_id id = 1; id <= base->model->causes_count; id++) {
        net_cause *cause = &net->causes[id];
        cause->possible = base->member[id];
        if (!cause->possible)
            continue;
        net->live[net->live_count++] = id;
        for (uint32_t i = 0; i < cause->touches.count; i++)
            net->findings[touch_at(net, id, i)->finding].hit = base->hits[touch_at(net, id, i)->finding];
    }
    net->log_factor = 0;
}

static void keep_hits(rank_base *base, const network *net)
{
    for (uint32_t i = 0; i < net->finding_count; i++)
        base->hits[i] = net->findings[i].hit;
}

/* Without a cause of the unit among the members, that is the whole sum; where all are, the sum without any.
 */
static cw_status sweep_unit_free(const rank_base *base, const network *net, rank_sweep *sweep,
                                 base_answer *out)
{
    uint32_t in_unit = 0;
    for (uint32_t i = 0; i < net->live_count; i++)
        in_unit += base->in_unit[net->live[i]];
    out->sums.unit_free = in_unit == 0 ? out->sums.all : out->sums.free;
    if (in_unit == 0 || in_unit == net->live_count)
        return CW_OK;
    rank_sweep_plan(sweep, base->in_unit);
    out->steps += sweep->cost;
    return rank_sweep_forward(sweep, false, &out->sums.unit_free);
}

/* Sums over the members: posteriors to base->fresh. *done: false when it is impossible or too dear. */
static cw_status sweep_members(rank_base *base, network *net, rank_sweep *sweep, double max_steps,
                               base_answer *out, bool *done)
{
    mask(base, net);
    if (rank_sweep_choose(sweep) != CW_OK)
        return CW_NO_MEMORY;
    *done = rank_sweep_fits(sweep) && out->steps + 5 * sweep->cost <= max_steps;
    if (!*done)
        return CW_OK;
    out->steps += 3 * sweep->cost;
    cw_status status = rank_sweep_forward(sweep, true, &out->sums.all);
    *done = out->sums.all > -INFINITY;
    if (status != CW_OK || !*done)
        return status;
    rank_sweep_backward(sweep, base->fresh);
    out->sums.free = rank_net_log_free(net);
    return sweep_unit_free(base, net, sweep, out);
}

/* A part of one cause shares no finding and has no link. */
static base_halves halves_alone(const rank_base *base, const network *net, cw_cause_id id)
{
    const net_cause *cause = &net->causes[id];
    base_halves out = {cause->absent * cause->lacks, cause->own * cause->weight, 0, 0};
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const net_touch *touch = touch_at(net, id, i);
        const double hit = base->hits[touch->finding], miss = net->findings[touch->finding].miss;
        out.absent *= hit;
        out.present *= hit * (touch->miss + touch->hit) + miss * touch->hit;
        out.log_hits += log(hit);
        if (out.absent < 0x1p-200 && out.present < 0x1p-200) {
            out.absent *= 0x1p200;
            out.present *= 0x1p200;
            out.log_taken -= 200 * RANK_LOG_2;
        }
    }
    return out;
}

/* Its sums and posterior; false when it is impossible. */
static bool sum_alone(rank_base *base, const network *net, cw_cause_id id, base_sums *out)
{
    const base_halves of = halves_alone(base, net, id);
    const double whole = of.absent + of.present;
    if (whole <= 0)
        return false;
    base->by_cause[id] = of.present / whole;
    out->all = of.log_taken + log(whole);
    out->free = of.log_hits + log1p(-net->causes[id].own);
    out->unit_free = base->in_unit[id] ? out->free : out->all;
    return true;
}

static void add_sums(base_sums *to, const base_sums *part)
{
    to->all += part->all;
    to->unit_free += part->unit_free;
    to->free += part->free;
}

/* -- Remembering -- */

static void remember_causes(rank_base *base, const network *net, const cw_evidence *evidence)
{
    uint32_t count = 0;
    for (cw_cause_id id = 1; id <= base->model->causes_count; id++) {
        const net_cause *cause = &net->causes[id];
        base->possible[id] = cause->possible;
        base->own[id] = cause->own;
        base->weight[id] = cause->weight;
        base->by_cause[id] = 0;
        base->touches[id] = (cw_run){count, cause->touches.count};
        for (uint32_t i = 0; i < cause->touches.count; i++, count++) {
            base->facts[count] = seen_at(net, evidence, id, i)->fact;
            base->values[count] = seen_at(net, evidence, id, i)->value;
        }
    }
}

static void count_members(rank_base *base)
{
    const uint32_t causes = base->model->causes_count;
    memset(base->part_size, 0, (causes + (size_t)1) * sizeof *base->part_size);
    for (cw_cause_id id = 1; id <= causes; id++)
        base->part_size[base->part[id]]++;
}

/* Posteriors go to base->by_cause. */
static cw_status sum_part(rank_base *base, network *net, rank_sweep *sweep, cw_cause_id first,
                          double max_steps, base_answer *out, base_sums *sums, bool *done)
{
    const uint32_t causes = base->model->causes_count;
    for (cw_cause_id id = 1; id <= causes; id++)
        base->member[id] = base->part[id] == first;
    base_answer part = {.steps = out->steps};
    const cw_status status = sweep_members(base, net, sweep, max_steps, &part, done);
    out->steps = part.steps;
    *sums = part.sums;
    for (cw_cause_id id = first; status == CW_OK && *done && id <= causes; id++)
        if (base->member[id])
            base->by_cause[id] = base->fresh[id];
    return status;
}

cw_status rank_base_set(rank_base *base, network *net, rank_sweep *sweep, const cw_evidence *evidence,
                        double max_steps, base_answer *out)
{
    const uint32_t causes = base->model->causes_count;
    const double constant = net->log_factor;
    *out = (base_answer){{constant, constant, constant}, 0};
    base->valid = false;
    rank_parts_find(net, base->part, base->finding_part);
    remember_causes(base, net, evidence);
    keep_hits(base, net);
    count_members(base);
    for (cw_cause_id first = 1; first <= causes; first++) {
        if (base->part[first] != first)
            continue;
        base_sums sums;
        bool done = true;
        cw_status status = CW_OK;
        if (base->part_size[first] == 1)
            done = sum_alone(base, net, first, &sums);
        else
            status = sum_part(base, net, sweep, first, max_steps, out, &sums, &done);
        if (status != CW_OK || !done)
            return status;
        base->sums[first] = sums;
        add_sums(&out->sums, &sums);
    }
    base->valid = out->sums.all > -INFINITY;
    return CW_OK;
}

/* -- Using it -- */

static bool changed(const rank_base *base, const network *net, const cw_evidence *evidence, cw_cause_id id)
{
    const net_cause *cause = &net->causes[id];
    const cw_run touches = base->touches[id];
    if (cause->possible != base->possible[id] || cause->own != base->own[id] ||
        cause->weight != base->weight[id] || cause->touches.count != touches.count)
        return true;
    for (uint32_t i = 0; i < touches.count; i++) {
        const cw_evidence *seen = seen_at(net, evidence, id, i);
        if (seen->fact != base->facts[touches.first + i] || seen->value != base->values[touches.first + i])
            return true;
    }
    return false;
}

/* What changed, and what it is joined to now: the rest of a part follows from the question remembered, for
 * between causes that did not change nothing was joined or parted. */
static void find_seeds(rank_base *base, const network *net, const cw_evidence *evidence)
{
    const uint32_t causes = base->model->causes_count;
    uint32_t *marked = base->finding_part; /* findings that a changed cause touches */
    memset(marked, 0, net->finding_count * sizeof *marked);
    for (cw_cause_id id = 1; id <= causes; id++) {
        base->seed[id] = changed(base, net, evidence, id);
        for (uint32_t i = 0; base->seed[id] && i < net->causes[id].touches.count; i++)
            marked[touch_at(net, id, i)->finding] = 1;
        base->dirty[id] = base->seed[id];
    }
    for (cw_cause_id id = 1; id <= causes; id++) {
        const net_cause *cause = &net->causes[id];
        for (uint32_t i = 0; i < cause->touches.count; i++)
            base->dirty[id] |= marked[touch_at(net, id, i)->finding] != 0;
        for (uint32_t i = 0; i < cause->parents.count; i++) {
            const cw_cause_id parent = net->parents[cause->parents.first + i].cause;
            base->dirty[id] |= base->seed[parent];
            base->dirty[parent] |= base->seed[id];
        }
    }
}

/* Members: all causes of the parts with a dirty one. Returns how many. */
static uint32_t find_members(rank_base *base, const network *net)
{
    const uint32_t causes = base->model->causes_count;
    uint32_t count = 0;
    bool *spoilt = base->seed; /* by first cause */
    memset(spoilt, 0, (causes + 1) * sizeof *spoilt);
    for (cw_cause_id id = 1; id <= causes; id++)
        if (base->dirty[id])
            spoilt[base->part[id]] = true;
    for (cw_cause_id id = 1; id <= causes; id++) {
        const bool of_spoilt_part = base->part[id] != 0 && spoilt[base->part[id]];
        base->member[id] = net->causes[id].possible && (base->dirty[id] || of_spoilt_part);
        count += base->member[id];
        base->dirty[id] |= of_spoilt_part;
    }
    return count;
}

cw_status rank_base_use(rank_base *base, network *net, rank_sweep *sweep, const cw_evidence *evidence,
                        double max_steps, double *by_cause, base_answer *out, bool *done)
{
    const uint32_t causes = base->model->causes_count;
    const double constant = net->log_factor;
    *out = (base_answer){{0, 0, 0}, 0};
    *done = true;
    find_seeds(base, net, evidence);
    if (find_members(base, net) > 0) {
        keep_hits(base, net);
        const cw_status status = sweep_members(base, net, sweep, max_steps, out, done);
        if (status != CW_OK || !*done)
            return status;
    }
    add_sums(&out->sums, &(base_sums){constant, constant, constant});
    for (cw_cause_id id = 1; id <= causes; id++) {
        by_cause[id] = base->member[id] ? base->fresh[id] : base->dirty[id] ? 0 : base->by_cause[id];
        if (base->part[id] == id && !base->dirty[id])
            add_sums(&out->sums, &base->sums[id]);
    }
    *done = out->sums.all > -INFINITY;
    return CW_OK;
}
