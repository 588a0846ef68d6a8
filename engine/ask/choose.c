/* What to look at next, or that nothing more is worth asking. */
#include "ask/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* -- Order -- */

static double nine_figures(double x)
{
    int exponent = 0;
    double fraction = frexp(x, &exponent);
    return ldexp(rint(fraction * 0x1p30), exponent - 30);
}

static int compare(const cw_model *model, const cw_proposal *a, const cw_proposal *b)
{
    if (a->first != b->first)
        return a->first ? -1 : 1;
    if (a->by_itself != b->by_itself)
        return a->by_itself ? 1 : -1;
    double x = nine_figures(a->worth), y = nine_figures(b->worth);
    if (x != y)
        return x > y ? -1 : 1;
    if (a->minutes != b->minutes)
        return a->minutes < b->minutes ? -1 : 1;
    return strcmp(model->checks[a->check].name, model->checks[b->check].name);
}

static void sift(const cw_model *model, cw_proposal *list, size_t at, size_t count)
{
    for (size_t child; (child = 2 * at + 1) < count; at = child) {
        if (child + 1 < count && compare(model, &list[child + 1], &list[child]) > 0)
            child++;
        if (compare(model, &list[child], &list[at]) <= 0)
            return;
        cw_proposal moved = list[at];
        list[at] = list[child];
        list[child] = moved;
    }
}

/* A heap sort, since qsort passes no model along. */
void ask_sort(const cw_model *model, cw_proposal *list, size_t count)
{
    for (size_t i = count / 2; i > 0; i--)
        sift(model, list, i - 1, count);
    for (size_t end = count; end > 1; end--) {
        cw_proposal moved = list[0];
        list[0] = list[end - 1];
        list[end - 1] = moved;
        sift(model, list, 0, end - 1);
    }
}

/* -- Weighing -- */

typedef struct choice {
    cw_proposal *list; /* open checks, those that were weighed */
    size_t count;
} choice;

static cw_status find_open(ask_call *call, const cw_chain *chain, choice *out)
{
    const cw_model *model = call->asker->model;
    const ask_matter *matter = &call->asker->matter[call->about];
    out->list = CW_NEW_ARRAY(call->asker->call, cw_proposal, (size_t)model->checks_count + ASK_PAIRS);
    out->count = 0;
    if (out->list == NULL)
        return CW_NO_MEMORY;
    for (cw_check_id id = 1; id <= model->checks_count; id++)
        if (matter->facts[model->checks[id].fact] && cw_ask_open(chain, id, call->limits) &&
            ask_place(model, id, call->limits->places, call->limits->here, &out->list[out->count])) {
            cw_atom_id first = model->checks[id].first_while;
            out->list[out->count++].first = first != 0 && cw_chain_truth(chain, first) == CW_YES;
        }
    return CW_OK;
}

/* What weighing them all may cost, pieces of measures taken as four. An answer of units may take two
 * rankings. */
static double likely_steps(const ask_call *call, const ask_footing *f, const choice *open)
{
    const cw_model *model = call->asker->model;
    double trials = 0, columns = 0;
    for (size_t i = 0; i < open->count; i++) {
        const cw_fact_id fact = model->checks[open->list[i].check].fact;
        const uint32_t values = model->facts[fact].values.count;
        if (ask_is_column(call, f, fact))
            columns += (double)ask_column_steps(call, fact);
        else
            trials += values == 0 ? 4 : values;
    }
    return columns + trials * (call->about == CW_ABOUT_CAUSES ? 1 : 2) * (double)f->steps;
}

/* Not all can be weighed: those that would tell most if nothing else had been seen come first. */
static cw_status promising_first(ask_call *call, const ask_footing *f, choice *open)
{
    ask_footing alone;
    cw_status status = ask_stand_alone(call, f, call->asker->call, &alone);
    for (size_t i = 0; i < open->count && status == CW_OK && alone.possible; i++) {
        ask_weighed weighed;
        status = ask_try_all(call, &alone, open->list[i].check, &weighed);
        open->list[i].bits = weighed.bits;
        open->list[i].worth = weighed.bits / open->list[i].minutes;
    }
    ask_sort(call->asker->model, open->list, open->count);
    ask_footing again;
    return status == CW_OK ? ask_stand(call, f->chain, call->asker->call, &again)
                           : status; /* is remembered */
}

/* Checks of which all answers are foreseen before the first is ranked: what they come to is then worked out
 * together. Where the steps may run out, one at a time; and units, of whom much is kept for each answer. */
static cw_status weigh_group(ask_call *call, const ask_footing *f, ask_suspects *suspects, ask_table *table,
                             cw_proposal *list, size_t count, size_t *weighed)
{
    ask_trial trials[ASK_TOGETHER];
    cw_status status = CW_OK;
    ask_try_anew(call);
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status = ask_try_begin(call, f, list[i].check, &trials[i]);
    for (size_t i = 0; i < count && status == CW_OK && !call->cut_short; i++) {
        status = ask_try_end(&trials[i]);
        if (status != CW_OK || !trials[i].weighed.complete)
            break;
        list[i].bits = trials[i].weighed.bits;
        list[i].worth = trials[i].weighed.bits / list[i].minutes;
        status = ask_suspects_seen(call, suspects, &trials[i].weighed);
        if (status == CW_OK)
            status = ask_table_row(call, table, list[i].check, &trials[i].weighed);
        ++*weighed;
    }
    return status;
}

/* Weighs the open checks as far as the steps go. Those that the steps do not reach stay behind them, in the
 * order of what each would tell by itself: better than to ask for nothing. */
static cw_status weigh_open(ask_call *call, const ask_footing *f, ask_suspects *suspects, ask_table *table,
                            choice *open)
{
    cw_status status = CW_OK;
    bool in_order = likely_steps(call, f, open) > (double)(call->max_steps - call->steps);
    if (in_order)
        status = promising_first(call, f, open);
    const size_t most = in_order || call->about != CW_ABOUT_CAUSES ? 1 : ASK_TOGETHER;
    size_t weighed_count = 0;
    call->table = table;
    for (size_t i = 0; i < open->count && status == CW_OK && !call->cut_short;) {
        const size_t left = open->count - i, count = left < most ? left : most;
        status = weigh_group(call, f, suspects, table, open->list + i, count, &weighed_count);
        i += count;
    }
    call->table = NULL;
    for (size_t i = weighed_count; i < open->count; i++)
        open->list[i].by_itself = true;
    if (!in_order)
        open->count = weighed_count;
    return status;
}

static void keep_worthy(const ask_call *call, choice *open)
{
    size_t kept = 0;
    for (size_t i = 0; i < open->count; i++)
        if (open->list[i].bits >= call->limits->enough_bits && open->list[i].bits > 0)
            open->list[kept++] = open->list[i];
    open->count = kept;
}

/* -- Stopping -- */

static bool stopped_by_caution(const cw_chain *chain)
{
    const cw_model *model = cw_chain_model(chain);
    for (uint32_t i = 1; i <= model->cautions_count; i++)
        if (model->cautions[i].stop != CW_HALT_NOTHING &&
            cw_chain_truth(chain, model->cautions[i].atom) == CW_YES)
            return true;
    return false;
}

static bool sure_enough(const ask_call *call, const ask_footing *f)
{
    const cw_asker *asker = call->asker;
    bool units = call->about == CW_ABOUT_UNITS;
    uint32_t count = units ? asker->hypothesis_count : asker->model->causes_count + 1;
    double best = 0, sure = call->limits->sure;
    for (uint32_t i = units ? 0 : 1; i < count; i++)
        best = fmax(best, f->chance[i]);
    return best >= sure && (units || f->at_fault >= sure || f->at_fault <= 1 - sure);
}

static void stop(cw_advice *out, cw_ask_stop why)
{
    out->stop = true;
    out->why = why;
    out->checks = NULL;
    out->count = 0;
}

static cw_status list_checks(const choice *open, cw_arena *arena, cw_advice *out)
{
    cw_proposal *checks = CW_NEW_ARRAY(arena, cw_proposal, open->count);
    if (checks == NULL)
        return CW_NO_MEMORY;
    if (open->count > 0)
        memcpy(checks, open->list, open->count * sizeof *checks);
    out->checks = checks;
    out->count = open->count;
    return CW_OK;
}

static cw_status advise(ask_call *call, const ask_footing *f, cw_arena *arena, cw_advice *out)
{
    ask_suspects suspects;
    choice open;
    ask_table table;
    bool all_that_remains = false;
    cw_status status = ask_suspects_new(call, f, &suspects);
    if (status == CW_OK)
        status = find_open(call, f->chain, &open);
    if (status == CW_OK)
        status = ask_table_new(call, f, open.count, &table);
    if (status == CW_OK)
        status = weigh_open(call, f, &suspects, &table, &open);
    if (status != CW_OK)
        return status;
    keep_worthy(call, &open);
    if (!call->cut_short) {
        status = ask_twins(call, f, &suspects, arena, out, &all_that_remains);
        if (status == CW_OK && open.count == 0 && !all_that_remains)
            status = ask_pairs(call, f, open.list, &open.count);
        if (status != CW_OK)
            return status;
        keep_worthy(call, &open);
    }
    ask_sort(call->asker->model, open.list, open.count);
    if (!call->cut_short)
        status = ask_cost(call, f, &table, open.list, open.count, arena, out);
    if (status == CW_OK && (all_that_remains || open.count == 0))
        stop(out, CW_STOP_NOTHING_HELPS);
    return status == CW_OK && !out->stop ? list_checks(&open, arena, out) : status;
}

static cw_ask_limits with_defaults(const cw_ask_limits *limits)
{
    cw_ask_limits out = *limits;
    if (out.enough_bits == 0)
        out.enough_bits = CW_ASK_ENOUGH_BITS;
    if (out.sure <= 0)
        out.sure = CW_ASK_SURE;
    if (out.max_steps == 0)
        out.max_steps = CW_ASK_STEPS;
    return out;
}

cw_status cw_ask_next(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, cw_arena *arena,
                      cw_advice *out)
{
    cw_ask_limits filled = with_defaults(limits);
    ask_call call = {.asker = asker,
                     .limits = &filled,
                     .about = limits->stage == CW_IDENTIFY ? CW_ABOUT_UNITS : CW_ABOUT_CAUSES,
                     .max_steps = filled.max_steps};
    cw_advice advice = {0};
    ask_footing footing;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    if (stopped_by_caution(chain)) {
        stop(&advice, CW_STOP_CAUTION);
        *out = advice;
        return CW_OK;
    }
    if (limits->stage == CW_PROOF) {
        *out = advice;
        return ask_lines_only(&call, chain, arena, out);
    }
    cw_status status = ask_stand(&call, chain, asker->call, &footing);
    if (status == CW_OK && !footing.possible)
        stop(&advice, CW_STOP_NOTHING_HELPS);
    else if (status == CW_OK && sure_enough(&call, &footing))
        stop(&advice, CW_STOP_SURE);
    else if (status == CW_OK)
        status = advise(&call, &footing, arena, &advice);
    if (status == CW_OK && limits->stage == CW_TEARDOWN)
        status = ask_due_first(&call, chain, arena, &advice);
    if (status == CW_OK && limits->stage == CW_IDENTIFY && footing.possible)
        status = ask_missing_next(&call, &footing, arena, &advice);
    if (status != CW_OK)
        return status;
    advice.cut_short = call.cut_short;
    advice.steps = call.steps;
    *out = advice;
    return CW_OK;
}
