/* What would be believed after an answer. For units the pieces that are new multiply what was believed; for
 * causes the whole is ranked, on top of the footing that the ranking remembers. */
#include "ask/inside.h"

#include <float.h>
#include <math.h>
#include <string.h>

/* P(piece | hypothesis, footing) for all: what the group's evidence says about a swap is known by then. */
static void weigh_piece(const cw_asker *asker, const ask_footing *f, const cw_evidence *piece, double *likely)
{
    double average = 0, prior = cw_identity_swapped(asker->tables, piece->fact);
    const double *swapped = f->swapped[ask_swap_group(asker->model, piece->fact)];
    cw_identity_shown(asker->tables, piece, likely, &average);
    for (uint32_t h = 1; h < asker->hypothesis_count; h++) {
        double chance = swapped != NULL ? swapped[h] : prior;
        likely[h] = (1 - chance) * likely[h] + chance * average;
    }
}

/* Pieces that are in the class and not in the footing: the next one's index from `at` on. */
static size_t next_new(const ask_class *class, const ask_footing *f, size_t at)
{
    for (size_t k = 0; at < class->count; at++) {
        while (k < f->count && f->evidence[k].fact < class->evidence[at].fact)
            k++;
        if (k == f->count || !ask_same_piece(&f->evidence[k], &class->evidence[at]))
            break;
    }
    return at;
}

/* Multiplies in the new pieces. */
static void add_new(const ask_call *call, const ask_class *class, const ask_footing *f, double *likely,
                    double *moved)
{
    for (size_t i = next_new(class, f, 0); i < class->count; i = next_new(class, f, i + 1)) {
        weigh_piece(call->asker, f, &class->evidence[i], likely);
        for (uint32_t h = 0; h < call->asker->hypothesis_count; h++)
            moved[h] *= likely[h];
    }
}

/* Two new pieces of one group: each says something about the swap that counts for the other. */
static bool new_together(const cw_model *model, const ask_class *class, const ask_footing *f)
{
    for (size_t i = next_new(class, f, 0); i < class->count; i = next_new(class, f, i + 1)) {
        uint32_t group = ask_swap_group(model, class->evidence[i].fact);
        for (size_t k = next_new(class, f, i + 1); group != 0 && k < class->count;
             k = next_new(class, f, k + 1))
            if (ask_swap_group(model, class->evidence[k].fact) == group)
                return true;
    }
    return false;
}

/* All pieces afresh, as logarithms: when some no longer count, when new ones hang together, or when numbers
 * become too small. */
static double add_all(const ask_call *call, const ask_class *class, const ask_footing *f, double *likely,
                      double *joint, double *chance)
{
    const cw_asker *asker = call->asker;
    memcpy(joint, asker->log_prior, asker->hypothesis_count * sizeof *joint);
    for (size_t i = 0; i < class->count; i++) {
        if (!cw_identity_log_likelihoods(asker->tables, class->evidence, class->count, i, likely, NULL,
                                         chance))
            continue;
        for (uint32_t h = 0; h < asker->hypothesis_count; h++)
            joint[h] += likely[h];
    }
    double log_after = ask_share_out(joint, asker->hypothesis_count, chance);
    for (uint32_t h = 0; h < asker->hypothesis_count;
         h++) /* impossible before is impossible after, and says nothing */
        joint[h] = f->joint[h] > -INFINITY ? exp(joint[h] - f->joint[h]) : 1;
    return exp(log_after - f->log_evidence);
}

static bool any_gone(const ask_class *class, const ask_footing *f)
{
    size_t k = 0;
    for (size_t i = 0; i < f->count; i++) {
        while (k < class->count && class->evidence[k].fact < f->evidence[i].fact)
            k++;
        if (k == class->count || !ask_same_piece(&f->evidence[i], &class->evidence[k]))
            return true;
    }
    return false;
}

cw_status ask_rank_units(ask_call *call, const ask_footing *f, ask_class *class)
{
    const cw_asker *asker = call->asker;
    uint32_t count = asker->hypothesis_count;
    double *moved = CW_NEW_ARRAY(asker->check, double, count),
           *chance = CW_NEW_ARRAY(asker->trial, double, count);
    double *likely = CW_NEW_ARRAY(asker->trial, double, count), sum = 0;
    if (moved == NULL || chance == NULL || likely == NULL)
        return CW_NO_MEMORY;
    call->steps += count;
    bool afresh = !f->alone && (any_gone(class, f) || new_together(asker->model, class, f));
    for (uint32_t h = 0; h < count; h++)
        moved[h] = 1;
    if (!afresh)
        add_new(call, class, f, likely, moved);
    for (uint32_t h = 0; h < count; h++)
        sum += chance[h] = f->chance[h] * moved[h];
    for (uint32_t h = 0; h < count && sum > 0; h++)
        chance[h] /= sum;
    if (afresh || sum < DBL_MIN)
        sum = add_all(call, class, f, likely, moved, chance);
    class->weight = sum;
    class->bits = sum > 0 ? ask_gained(f->chance, chance, count) : 0;
    class->moved = moved;
    return CW_OK;
}

/* The pieces that were not there before, for a ranking as if nothing else had been seen. */
static cw_status only_new(ask_call *call, const ask_footing *f, const ask_class *class,
                          const cw_evidence **out, size_t *count)
{
    cw_evidence *list = CW_NEW_ARRAY(call->asker->trial, cw_evidence, class->count);
    size_t k = 0;
    *count = 0;
    for (size_t i = 0; list != NULL && i < class->count; i++) {
        while (k < f->count && f->evidence[k].fact < class->evidence[i].fact)
            k++;
        if (k == f->count || !ask_same_piece(&f->evidence[k], &class->evidence[i]))
            list[(*count)++] = class->evidence[i];
    }
    *out = list;
    return list == NULL ? CW_NO_MEMORY : CW_OK;
}

/* What is ranked for the class. */
static cw_status pieces_of(ask_call *call, const ask_footing *f, const ask_class *class,
                           const cw_evidence **evidence, size_t *count)
{
    *evidence = class->evidence;
    *count = class->count;
    return f->alone ? only_new(call, f, class, evidence, count) : CW_OK;
}

static void fill_class(ask_call *call, const ask_footing *f, const cw_causes_tried *tried, ask_class *class,
                       bool *complete)
{
    call->steps += tried->steps;
    *complete = tried->exact || tried->evidence_probability <= 0;
    class->weight = *complete ? exp(log(tried->evidence_probability) - f->log_evidence) : 0;
    if (!tried->exact)
        return;
    const size_t causes = (size_t)call->asker->model->causes_count + 1;
    class->bits = ask_gained_each(&f->beliefs, tried->by_cause, tried->moved,
                                  tried->moved != NULL ? tried->moved_count : causes) +
                  2 * ask_gained_one(f->at_fault, tried->unit_at_fault);
    ask_table_given(call, f, tried, class);
}

cw_status ask_rank_causes(ask_call *call, const ask_footing *f, const cw_chain *chain, ask_class *class,
                          ask_rest *rest, bool *complete)
{
    const cw_evidence *evidence;
    size_t count;
    cw_causes_tried tried;
    cw_status status = pieces_of(call, f, class, &evidence, &count);
    if (status == CW_OK)
        status =
            cw_causes_try(call->asker->causes, chain, evidence, count, call->max_steps - call->steps, &tried);
    if (status != CW_OK)
        return status;
    fill_class(call, f, &tried, class, complete);
    ask_rest_note(rest, call, class, &tried);
    return CW_OK;
}

cw_status ask_foresee_causes(ask_call *call, const ask_footing *f, const cw_chain *chain, ask_class *class)
{
    const cw_evidence *evidence;
    size_t count;
    const bool as_before = class->circumstances == f->circumstances ||
                           memcmp(class->circumstances, f->circumstances,
                                  call->asker->circumstance_count * sizeof *class->circumstances) == 0;
    const cw_status status = pieces_of(call, f, class, &evidence, &count);
    return status == CW_OK ? cw_causes_foresee(call->asker->causes, as_before ? NULL : chain, evidence, count,
                                               &class->ticket)
                           : status;
}

cw_status ask_take_causes(ask_call *call, const ask_footing *f, ask_class *class, bool *complete, bool *done)
{
    cw_causes_tried tried;
    const cw_status status =
        cw_causes_foreseen(call->asker->causes, class->ticket, call->max_steps - call->steps, &tried, done);
    class->ticket = 0;
    if (status == CW_OK && *done)
        fill_class(call, f, &tried, class, complete);
    return status;
}
