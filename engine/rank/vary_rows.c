/* Rows: what variations come to.
 *
 * Where only one cause t of those that are summed together varies, by factors a absent and p present, nothing
 * is summed: with Z and P of the remembered question and those of "t absent", which many variations share,
 *   Z' / Z = a P(not t) + p P(t),  P'(c) = (a P(not t) P(c | not t) + p (P(c) - P(not t) P(c | not t))) / (Z'
 * / Z). Where more do, they are lanes. */
#include "rank/vary.h"

#include "rank/inside.h"
#include "rank/sweep_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* So many numbers are kept (8 MiB). */
#define MOST_NUMBERS ((size_t)1 << 20)

void rank_vary_forget(rank_vary *vary)
{
    vary->row_count = vary->worked_out = vary->moved.count = 0;
    vary->tried_moved.count = 0;
    memcpy(vary->tried, vary->by_cause, ((size_t)vary->model->causes_count + 1) * sizeof *vary->tried);
    memset(vary->row_of, 0, ((size_t)vary->model->facts_count + 1) * sizeof *vary->row_of);
    memset(vary->absence_of, 0, ((size_t)vary->model->causes_count + 1) * sizeof *vary->absence_of);
}

static double *row_at(const rank_vary *vary, size_t row)
{
    return vary->rows + row * vary_row_size(vary);
}

/* -- Without a sum -- */

static void add_logs(const vary_touch *t, bool in_unit, double present, double unit_present, double *row)
{
    row[0] += log(t->absent * (1 - present) + t->own * t->times * present);
    row[1] +=
        log(t->absent * (in_unit ? 1 : 1 - unit_present) + (in_unit ? 0 : t->own * t->times * unit_present));
}

/* One that stands alone does so without the unit's causes, too. */
static void vary_alone(const rank_vary *vary, const vary_touch *t, double *row)
{
    const double present = vary->by_cause[t->cause], of_present = t->own * t->times * present;
    add_logs(t, vary->in_unit[t->cause], present, present, row);
    row[t->cause + 1] = of_present / (of_present + t->absent * (1 - present));
}

static void vary_single(const rank_vary *vary, const vary_touch *t, double *row)
{
    const double *absence = row_at(vary, vary->absence_of[t->cause] - 1);
    const double present = vary->by_cause[t->cause], none = exp(absence[0]),
                 unit_present = -expm1(absence[1]), p = t->own * t->times;
    const double whole = t->absent * none + p * present;
    const cw_run members = rank_vary_beside(vary, t->cause);
    add_logs(t, vary->in_unit[t->cause], present, unit_present, row);
    for (uint32_t i = members.first; i < members.first + members.count; i++) {
        const cw_cause_id id = vary->members[i];
        const double without = none > 0 ? none * absence[id + 1] : 0;
        row[id + 1] = (t->absent * without + p * (vary->by_cause[id] - without)) / whole;
    }
}

/* -- With one -- */

/* Without the unit's causes: what leads to one counts there by not leading to it, but for when that one is
 * ruled out. */
static void let_parents(rank_vary *vary, uint32_t lane, cw_cause_id id)
{
    const network *net = &vary->net;
    const cw_run parents = net->causes[id].parents;
    for (uint32_t i = parents.first; i < parents.first + parents.count; i++)
        if (rank_net_leads(net, &net->parents[i]) && !vary->in_unit[net->parents[i].cause])
            rank_lanes_times(&vary->unit_lanes, lane, net->parents[i].cause, 1 / net->parents[i].stays);
}

static void vary_lane(rank_vary *vary, uint32_t lane, const vary_touch *t)
{
    rank_lanes_times(&vary->lanes, lane, t->cause, t->times);
    if (!vary->in_unit[t->cause])
        rank_lanes_times(&vary->unit_lanes, lane, t->cause, t->times);
    if (t->change == NULL)
        return;
    rank_lanes_own(&vary->lanes, lane, t->cause, t->change->own, t->change->ruled);
    rank_lanes_own(&vary->unit_lanes, lane, t->cause, t->change->own, t->change->ruled);
    if (t->change->ruled && vary->in_unit[t->cause])
        let_parents(vary, lane, t->cause);
}

static void clear_lanes(rank_vary *vary)
{
    rank_lanes_clear(&vary->lanes);
    rank_lanes_clear(&vary->unit_lanes);
}

static cw_status run_lanes(rank_vary *vary, uint32_t count, double *steps)
{
    cw_status status = rank_lanes_run(&vary->lanes, true);
    if (status == CW_OK)
        status = rank_lanes_run(&vary->unit_lanes, false);
    *steps += count * (3 * vary->lanes.cost + vary->unit_lanes.cost);
    return status;
}

/* From the lane: logarithms, and the posteriors of these. */
static void take_lane(const rank_vary *vary, uint32_t lane, const cw_cause_id *moved, uint32_t count,
                      double *row)
{
    row[0] += vary->lanes.ratio[lane];
    row[1] += vary->unit_lanes.ratio[lane];
    for (uint32_t i = 0; i < count; i++)
        row[moved[i] + 1] = vary->lanes.tried[(size_t)moved[i] * SWEEP_LANES + lane];
}

static void begin_row(const rank_vary *vary, const vary_job *job, double *row)
{
    const cw_cause_id *moved = vary_moved_at(vary, job->moved);
    row[0] = row[1] = 0;
    for (uint32_t i = 0; i < job->moved.count; i++)
        row[moved[i] + 1] = vary->by_cause[moved[i]];
}

/* A few absences, worked out together. */
static cw_status work_out_absences(rank_vary *vary, uint32_t wanted, double *steps)
{
    cw_status status = CW_OK;
    for (uint32_t i = 0; i < wanted && status == CW_OK; i += SWEEP_LANES) {
        const uint32_t lanes = wanted - i < SWEEP_LANES ? wanted - i : SWEEP_LANES;
        clear_lanes(vary);
        for (uint32_t k = 0; k < lanes; k++) {
            rank_lanes_times(&vary->lanes, k, vary->wanted[i + k], 0);
            if (!vary->in_unit[vary->wanted[i + k]])
                rank_lanes_times(&vary->unit_lanes, k, vary->wanted[i + k], 0);
        }
        status = run_lanes(vary, lanes, steps);
        for (uint32_t k = 0; k < lanes && status == CW_OK; k++) {
            const cw_run members = rank_vary_beside(vary, vary->wanted[i + k]);
            double *row = row_at(vary, vary->row_count++);
            row[0] = row[1] = 0;
            take_lane(vary, k, vary->members + members.first, members.count, row);
            vary->absence_of[vary->wanted[i + k]] = (uint32_t)vary->row_count;
        }
    }
    return status;
}

/* -- Jobs -- */

static const vary_job *job_at(const rank_vary *vary, size_t i)
{
    return CW_VEC_AT(&vary->jobs, vary_job, i);
}

/* Absences that the jobs need and nobody has worked out yet. */
static uint32_t find_wanted(rank_vary *vary)
{
    uint32_t wanted = 0;
    for (size_t i = 0; i < vary->touches.count; i++) {
        const vary_touch *t = CW_VEC_AT(&vary->touches, vary_touch, i);
        if (t->kind == VARY_SINGLE && vary->absence_of[t->cause] == 0) {
            vary->absence_of[t->cause] = UINT32_MAX;
            vary->wanted[wanted++] = t->cause;
        }
    }
    return wanted;
}

static void fill_lane(rank_vary *vary, const vary_job *job, uint32_t lane)
{
    for (uint32_t i = 0; i < job->touches.count; i++)
        if (vary_touch_at(vary, job, i)->kind == VARY_LANE)
            vary_lane(vary, lane, vary_touch_at(vary, job, i));
}

static void fill_rest(const rank_vary *vary, const vary_job *job, double *row)
{
    for (uint32_t i = 0; i < job->touches.count; i++) {
        const vary_touch *t = vary_touch_at(vary, job, i);
        if (t->kind == VARY_ALONE)
            vary_alone(vary, t, row);
        else if (t->kind == VARY_SINGLE)
            vary_single(vary, t, row);
    }
}

static int dearest_first(const void *a, const void *b)
{
    const vary_turn *left = a, *right = b;
    if (left->cost != right->cost)
        return left->cost > right->cost ? -1 : 1;
    return left->job < right->job ? -1 : left->job > right->job;
}

/* The jobs that need a lane, and what each sums. */
static cw_status take_turns(rank_vary *vary)
{
    vary->turns.count = 0;
    for (size_t k = 0; k < vary->jobs.count; k++) {
        const vary_job *job = job_at(vary, k);
        vary_turn turn = {0, (uint32_t)k};
        bool any = false;
        for (uint32_t i = 0; i < job->touches.count; i++) {
            const vary_touch *t = vary_touch_at(vary, job, i);
            if (t->kind != VARY_LANE)
                continue;
            any = true; /* counted once for each that varies: those alike stay together */
            turn.cost += vary_root_of(vary, t->cause)->cost;
        }
        vary_turn *added = any ? cw_vec_add(&vary->turns) : NULL;
        if (any && added == NULL)
            return CW_NO_MEMORY;
        if (any)
            *added = turn;
    }
    if (vary->turns.count > 0)
        qsort(vary->turns.items, vary->turns.count, sizeof(vary_turn), dearest_first);
    return CW_OK;
}

static cw_status fill_rows(rank_vary *vary, size_t first, double *steps)
{
    const size_t count = vary->jobs.count;
    cw_status status = take_turns(vary);
    for (size_t k = 0; k < count; k++)
        begin_row(vary, job_at(vary, k), row_at(vary, first + k));
    for (size_t i = 0; i < vary->turns.count && status == CW_OK; i += SWEEP_LANES) {
        const vary_turn *turns = CW_VEC_AT(&vary->turns, vary_turn, i);
        const size_t left = vary->turns.count - i;
        const uint32_t lanes = left < SWEEP_LANES ? (uint32_t)left : SWEEP_LANES;
        clear_lanes(vary);
        for (uint32_t k = 0; k < lanes; k++)
            fill_lane(vary, job_at(vary, turns[k].job), k);
        status = run_lanes(vary, lanes, steps);
        for (uint32_t k = 0; k < lanes && status == CW_OK; k++) {
            const cw_run moved = job_at(vary, turns[k].job)->moved;
            take_lane(vary, k, vary_moved_at(vary, moved), moved.count, row_at(vary, first + turns[k].job));
        }
    }
    for (size_t k = 0; k < count && status == CW_OK; k++)
        fill_rest(vary, job_at(vary, k), row_at(vary, first + k));
    return status;
}

/* -- What was foreseen -- */

static cw_status add_job(rank_vary *vary, const vary_job *job)
{
    vary_job *added = cw_vec_add(&vary->jobs);
    if (added != NULL)
        *added = *job;
    return added != NULL ? rank_vary_find_touches(vary, added) : CW_NO_MEMORY;
}

/* The jobs of one ticket, the last ones, touch the same causes but for the first of them, perhaps. */
static cw_status share_moved(rank_vary *vary, size_t from, cw_run *moved)
{
    *moved = (cw_run){0, 0};
    if (vary->jobs.count == from)
        return CW_OK;
    const cw_status status = rank_vary_list_moved(vary, job_at(vary, vary->jobs.count - 1), moved);
    for (size_t k = from; k < vary->jobs.count; k++)
        CW_VEC_AT(&vary->jobs, vary_job, k)->moved = *moved;
    return status;
}

/* The rows of a finding are worked out together; `first`: the row of the first job. */
static cw_status add_finding(rank_vary *vary, cw_fact_id fact, size_t first)
{
    const uint32_t values = vary->model->facts[fact].values.count;
    const size_t from = vary->jobs.count;
    cw_status status = CW_OK;
    if (vary->row_of[fact] != 0)
        return CW_OK;
    vary->row_of[fact] = (uint32_t)(first + from) + 1;
    for (uint32_t most = 0; most + 1 < values && status == CW_OK; most++)
        status = add_job(vary, &(vary_job){.fact = fact, .most = most});
    return status == CW_OK ? share_moved(vary, from, &vary->moved_of[fact]) : status;
}

/* "Less than the value" comes last: it touches all that "at most the value" does. */
static cw_status add_circumstances(rank_vary *vary, vary_ticket *ticket, size_t first)
{
    const bool worst =
        ticket->fact == 0 || ticket->value + 1 == vary->model->facts[ticket->fact].values.count;
    const size_t from = vary->jobs.count;
    vary_job job = {.fact = worst ? 0 : ticket->fact,
                    .most = ticket->value,
                    .changes = CW_VEC_AT(&vary->kept, vary_change, ticket->first_change),
                    .change_count = ticket->change_count};
    ticket->row = (uint32_t)(first + from) + 1;
    cw_status status = add_job(vary, &job);
    if (status == CW_OK && ticket->fact != 0 && ticket->value > 0) {
        job.fact = ticket->fact;
        job.most = ticket->value - 1;
        status = add_job(vary, &job);
    }
    return status == CW_OK ? share_moved(vary, from, &ticket->moved) : status;
}

static size_t rows_needed(const rank_vary *vary)
{
    size_t rows = vary->model->causes_count;
    for (size_t i = vary->worked_out; i < vary->tickets.count; i++) {
        const vary_ticket *ticket = CW_VEC_AT(&vary->tickets, vary_ticket, i);
        rows += ticket->change_count > 0 ? 2 : vary->model->facts[ticket->fact].values.count;
    }
    return rows;
}

static cw_status room_for_all(rank_vary *vary)
{
    const size_t size = vary_row_size(vary);
    if (vary->row_count + rows_needed(vary) > MOST_NUMBERS / size && vary->row_count > 0)
        rank_vary_forget(vary);
    const size_t rows = vary->row_count + rows_needed(vary), room = 2 * rows;
    if (rows <= vary->row_room)
        return CW_OK;
    bool failed = false;
    double *grown = rank_take(vary->allocator, room * size, sizeof *grown, &failed);
    if (failed)
        return CW_NO_MEMORY;
    if (vary->row_count > 0)
        memcpy(grown, vary->rows, vary->row_count * size * sizeof *grown);
    rank_give(vary->allocator, vary->rows, vary->row_room * size, sizeof *vary->rows);
    vary->rows = grown;
    vary->row_room = room;
    return CW_OK;
}

static cw_status line_up(rank_vary *vary, size_t first)
{
    cw_status status = CW_OK;
    vary->jobs.count = vary->touches.count = 0;
    for (size_t i = vary->worked_out; i < vary->tickets.count && status == CW_OK; i++) {
        vary_ticket *ticket = CW_VEC_AT(&vary->tickets, vary_ticket, i);
        if (ticket->change_count > 0)
            status = add_circumstances(vary, ticket, first);
        else if (ticket->fact != 0)
            status = add_finding(vary, ticket->fact, first);
    }
    return status;
}

/* Rows of jobs first, then those of absences that they need. */
static cw_status work_out(rank_vary *vary, double *steps)
{
    cw_status status = room_for_all(vary);
    const size_t first = vary->row_count;
    if (status == CW_OK)
        status = line_up(vary, first);
    vary->row_count += vary->jobs.count;
    if (status == CW_OK)
        status = work_out_absences(vary, find_wanted(vary), steps);
    return status == CW_OK ? fill_rows(vary, first, steps) : status;
}

cw_status rank_vary_work_out(rank_vary *vary, double max_steps, double *steps, bool *done)
{
    const double passes = 4.0 * (double)rows_needed(vary);
    *done = vary->worked_out == vary->tickets.count || passes * vary->whole.cost <= max_steps;
    if (!*done || vary->worked_out == vary->tickets.count)
        return CW_OK;
    const cw_status status = work_out(vary, steps);
    if (status != CW_OK)
        rank_vary_forget(vary);
    else
        vary->worked_out = vary->tickets.count;
    return status;
}
