/* Looking one answer ahead: each answer of a check is given to a scratch chain, what counts as evidence then
 * is collected and ranked. Answers that lead to the same evidence are ranked once. A check that no rule reads
 * needs no chain: its answer is one more piece of evidence, and nothing else changes. */
#include "ask/inside.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <string.h>

/* -- Where one stands -- */

/* Keeps those that count; in place of the collected list. */
static size_t counting(const cw_evidence *all, size_t count, cw_evidence *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (all[i].yields_to == 0)
            out[kept++] = all[i];
    return kept;
}

static cw_status collect(const ask_call *call, const cw_chain *chain, cw_arena *arena,
                         const cw_evidence **out, size_t *count)
{
    const cw_evidence *all = NULL;
    size_t found = 0;
    cw_status status = cw_evidence_collect(chain, call->about, arena, &all, &found);
    cw_evidence *kept = status == CW_OK ? CW_NEW_ARRAY(arena, cw_evidence, found) : NULL;
    if (kept == NULL)
        return CW_NO_MEMORY;
    *count = counting(all, found, kept);
    *out = kept;
    return CW_OK;
}

static cw_status circumstances_of(const ask_call *call, const cw_chain *chain, cw_arena *arena,
                                  const bool **out)
{
    bool *holds = CW_NEW_ARRAY(arena, bool, call->asker->circumstance_count);
    for (uint32_t i = 0; holds != NULL && i < call->asker->circumstance_count; i++)
        holds[i] = cw_chain_truth(chain, call->asker->circumstances[i]) == CW_YES;
    *out = holds;
    return holds == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Log of the sum of exponentials; fills the shares where there is one. */
static double share_out(const double *joint, size_t count, double *chance)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, joint[i]);
    if (most == -INFINITY)
        return most;
    for (size_t i = 0; i < count; i++)
        sum += chance[i] = exp(joint[i] - most);
    for (size_t i = 0; i < count; i++)
        chance[i] /= sum;
    return most + log(sum);
}

static uint32_t swap_group(const cw_model *model, cw_fact_id fact)
{
    return model->checks[model->facts[fact].check].swap_group;
}

/* Adds up what the evidence says, one group that is swapped together after the other. */
static cw_status add_groups(const cw_asker *asker, const ask_footing *f, cw_arena *arena, double *joint,
                            double **swapped)
{
    uint32_t count = asker->hypothesis_count;
    double *logs = CW_NEW_ARRAY(arena, double, count), *room = CW_NEW_ARRAY(arena, double, count);
    if (logs == NULL || room == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < f->count; i++) {
        double **row = &swapped[swap_group(asker->model, f->evidence[i].fact)];
        if (row != swapped && *row == NULL && (*row = CW_NEW_ARRAY(arena, double, count)) == NULL)
            return CW_NO_MEMORY;
        if (!cw_identity_log_likelihoods(asker->tables, f->evidence, f->count, i, logs, *row, room))
            continue;
        for (uint32_t h = 0; h < count; h++)
            joint[h] += logs[h];
    }
    return CW_OK;
}

static cw_status stand_on_units(ask_call *call, cw_arena *arena, ask_footing *f)
{
    const cw_asker *asker = call->asker;
    uint32_t count = asker->hypothesis_count;
    double *joint = CW_NEW_ARRAY(arena, double, count), *chance = CW_NEW_ARRAY(arena, double, count);
    double **swapped = CW_NEW_ARRAY(arena, double *, asker->model->swap_groups_count + 1);
    if (joint == NULL || chance == NULL || swapped == NULL)
        return CW_NO_MEMORY;
    memcpy(joint, asker->log_prior, count * sizeof *joint);
    cw_status status = f->alone ? CW_OK : add_groups(asker, f, arena, joint, swapped);
    if (status != CW_OK)
        return status;
    f->swapped = (const double *const *)swapped;
    f->log_evidence = share_out(joint, count, chance);
    f->possible = f->log_evidence > -INFINITY;
    f->joint = joint;
    f->chance = chance;
    f->steps = count;
    call->steps += count * (f->count + 1);
    return CW_OK;
}

/* Also when the steps run out: then the footing is not possible to stand on, and the call is cut short. */
static cw_status stand_on_causes(ask_call *call, cw_arena *arena, ask_footing *f)
{
    size_t count = (size_t)call->asker->model->causes_count + 1;
    cw_causes_tried tried;
    cw_status status = cw_causes_remember(call->asker->causes, f->chain, f->evidence, f->alone ? 0 : f->count,
                                          call->max_steps - call->steps, &tried);
    if (status != CW_OK)
        return status;
    double *chance = CW_NEW_ARRAY(arena, double, count);
    if (chance == NULL)
        return CW_NO_MEMORY;
    memcpy(chance, tried.by_cause, count * sizeof *chance);
    chance[0] = 0;
    call->steps += tried.steps;
    call->cut_short |= !tried.exact && tried.evidence_probability > 0;
    f->possible = tried.exact;
    f->chance = chance;
    f->at_fault = tried.unit_at_fault;
    f->log_evidence = tried.exact ? log(tried.evidence_probability) : -INFINITY;
    f->steps = tried.steps;
    return CW_OK;
}

static cw_status rank_here(ask_call *call, cw_arena *arena, ask_footing *f)
{
    return call->about == CW_ABOUT_UNITS ? stand_on_units(call, arena, f) : stand_on_causes(call, arena, f);
}

cw_status ask_stand(ask_call *call, const cw_chain *chain, cw_arena *arena, ask_footing *out)
{
    *out = (ask_footing){.number = ++call->footings, .chain = chain};
    cw_status status = collect(call, chain, arena, &out->evidence, &out->count);
    if (status == CW_OK)
        status = circumstances_of(call, chain, arena, &out->circumstances);
    return status == CW_OK ? rank_here(call, arena, out) : status;
}

cw_status ask_stand_alone(ask_call *call, const ask_footing *footing, cw_arena *arena, ask_footing *out)
{
    *out = *footing;
    out->alone = true;
    return rank_here(call, arena, out);
}

/* -- One answer further on -- */

static bool text_equal(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static bool piece_equal(const cw_evidence *a, const cw_evidence *b)
{
    return a->fact == b->fact && a->value == b->value && a->number == b->number && a->error == b->error &&
           text_equal(a->text, b->text);
}

static bool evidence_equal(const cw_evidence *a, size_t a_count, const cw_evidence *b, size_t b_count)
{
    if (a_count != b_count)
        return false;
    for (size_t i = 0; i < a_count; i++)
        if (!piece_equal(&a[i], &b[i]))
            return false;
    return true;
}

static bool circumstances_equal(const ask_call *call, const bool *a, const bool *b)
{
    return a == b || memcmp(a, b, call->asker->circumstance_count * sizeof *a) == 0;
}

/* The list with one piece put in by order of fact. */
static cw_status put_in(ask_call *call, const ask_footing *f, const ask_outcome *outcome, ask_class *out)
{
    cw_evidence *list = CW_NEW_ARRAY(call->asker->trial, cw_evidence, f->count + 1);
    if (list == NULL)
        return CW_NO_MEMORY;
    const cw_answer *a = &outcome->answer;
    cw_kind kind = call->asker->model->facts[a->fact].kind;
    bool measured = kind == CW_MEASURE, stamped = kind == CW_STAMPED;
    cw_evidence piece = {.fact = a->fact,
                         .value = measured || stamped ? 0 : a->value,
                         .number = measured ? a->number : 0,
                         .error = measured ? a->error : 0,
                         .text = stamped ? a->text : NULL};
    size_t at = 0;
    while (at < f->count && f->evidence[at].fact < a->fact)
        at++;
    memcpy(list, f->evidence, at * sizeof *list);
    list[at] = piece;
    memcpy(list + at + 1, f->evidence + at, (f->count - at) * sizeof *list);
    out->evidence = list;
    out->count = f->count + 1;
    out->circumstances = f->circumstances;
    call->steps++;
    return CW_OK;
}

/* Brings the scratch chain to where the footing stands. What was tried last is only withdrawn: that touches
 * the rules beside it, a copy touches everything. */
static cw_status back_to(cw_asker *asker, const ask_footing *f)
{
    cw_status status = CW_OK;
    if (asker->ahead_of == f->number && asker->ahead_given != 0)
        status = cw_chain_withdraw(asker->ahead, asker->ahead_given);
    else if (asker->ahead_of != f->number)
        cw_chain_copy(asker->ahead, f->chain);
    asker->ahead_of = status == CW_OK ? f->number : 0;
    asker->ahead_given = 0;
    return status;
}

/* Gives the answer to the scratch chain, in place of another to the same check. *taken: false when it is
 * refused (a text that a pattern cannot finish with). */
static cw_status give(ask_call *call, const ask_footing *f, const cw_answer *answer, bool *taken)
{
    cw_asker *asker = call->asker;
    cw_status status = CW_OK;
    if (asker->ahead_of != f->number || asker->ahead_given != answer->fact)
        status = back_to(asker, f);
    if (status == CW_OK)
        status = cw_chain_answer(asker->ahead, answer);
    assert(status != CW_BAD_CALL);
    *taken = status == CW_OK;
    if (status != CW_OK)
        asker->ahead_of = 0;
    else
        asker->ahead_given = answer->fact;
    call->steps += cw_chain_steps(asker->ahead) + 1;
    return status == CW_NO_MEMORY ? status : CW_OK;
}

/* What counts after the answer: in the trial arena. The answer's chain is left in *chain. */
static cw_status answer(ask_call *call, const ask_footing *f, cw_check_id check, const ask_outcome *outcome,
                        const cw_chain **chain, ask_class *out, bool *taken)
{
    cw_asker *asker = call->asker;
    *taken = true;
    *chain = f->chain;
    cw_arena_reset(asker->trial);
    if (!asker->matter[call->about].through[asker->model->checks[check].fact])
        return put_in(call, f, outcome, out);
    cw_status status = give(call, f, &outcome->answer, taken);
    if (status != CW_OK || !*taken)
        return status;
    *chain = asker->ahead;
    status = collect(call, asker->ahead, asker->trial, &out->evidence, &out->count);
    return status == CW_OK ? circumstances_of(call, asker->ahead, asker->trial, &out->circumstances) : status;
}

/* A copy that outlives the trial. The answer's own measure counts by the whole of its piece of the range. */
static cw_status keep(ask_call *call, const ask_outcome *outcome, ask_class *class)
{
    cw_arena *arena = call->asker->check;
    cw_evidence *list = CW_NEW_ARRAY(arena, cw_evidence, class->count);
    bool *holds = CW_NEW_ARRAY(arena, bool, call->asker->circumstance_count);
    if (list == NULL || holds == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < class->count; i++) {
        list[i] = class->evidence[i];
        if (list[i].text != NULL)
            list[i].text = cw_arena_text(arena, list[i].text, strlen(list[i].text));
        list[i].between = list[i].fact == outcome->answer.fact &&
                          call->asker->model->facts[list[i].fact].kind == CW_MEASURE;
        list[i].low = outcome->low;
        list[i].high = outcome->high;
        if (class->evidence[i].text != NULL && list[i].text == NULL)
            return CW_NO_MEMORY;
    }
    if (call->asker->circumstance_count > 0)
        memcpy(holds, class->circumstances, call->asker->circumstance_count * sizeof *holds);
    class->evidence = list;
    class->circumstances = holds;
    return CW_OK;
}

/* -- Ranking it -- */

/* P(piece | hypothesis, footing) for all: what the group's evidence says about a swap is known by then. */
static void weigh_piece(const cw_asker *asker, const ask_footing *f, const cw_evidence *piece, double *likely)
{
    double average = 0, prior = cw_identity_swapped(asker->tables, piece->fact);
    const double *swapped = f->swapped[swap_group(asker->model, piece->fact)];
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
        if (k == f->count || !piece_equal(&f->evidence[k], &class->evidence[at]))
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
        uint32_t group = swap_group(model, class->evidence[i].fact);
        for (size_t k = next_new(class, f, i + 1); group != 0 && k < class->count;
             k = next_new(class, f, k + 1))
            if (swap_group(model, class->evidence[k].fact) == group)
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
    double log_after = share_out(joint, asker->hypothesis_count, chance);
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
        if (k == class->count || !piece_equal(&f->evidence[i], &class->evidence[k]))
            return true;
    }
    return false;
}

static cw_status rank_units(ask_call *call, const ask_footing *f, ask_class *class)
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
        if (k == f->count || !piece_equal(&f->evidence[k], &class->evidence[i]))
            list[(*count)++] = class->evidence[i];
    }
    *out = list;
    return list == NULL ? CW_NO_MEMORY : CW_OK;
}

static cw_status rank_causes(ask_call *call, const ask_footing *f, const cw_chain *chain, ask_class *class,
                             bool *complete)
{
    const cw_evidence *evidence = class->evidence;
    size_t count = class->count;
    cw_causes_tried tried;
    cw_status status = f->alone ? only_new(call, f, class, &evidence, &count) : CW_OK;
    if (status == CW_OK)
        status =
            cw_causes_try(call->asker->causes, chain, evidence, count, call->max_steps - call->steps, &tried);
    if (status != CW_OK)
        return status;
    call->steps += tried.steps;
    *complete = tried.exact || tried.evidence_probability <= 0;
    class->weight = *complete ? exp(log(tried.evidence_probability) - f->log_evidence) : 0;
    if (tried.exact)
        class->bits = ask_gained_each(f->chance + 1, tried.by_cause + 1, call->asker->model->causes_count) +
                      2 * ask_gained_each(&f->at_fault, &tried.unit_at_fault, 1);
    return CW_OK;
}

/* -- All answers of one check -- */

/* The class of what the answer led to; a new one has no answers yet. */
static cw_status find_class(ask_call *call, const ask_footing *f, ask_class *found,
                            const ask_outcome *outcomes, uint32_t index, ask_class *classes, ask_weighed *out,
                            ask_class **class)
{
    for (uint32_t i = 0; i < out->class_count; i++) {
        *class = &classes[i];
        if (evidence_equal((*class)->evidence, (*class)->count, found->evidence, found->count) &&
            circumstances_equal(call, (*class)->circumstances, found->circumstances))
            return CW_OK;
    }
    cw_status status = keep(call, &outcomes[index], found);
    if (status != CW_OK)
        return status;
    *class = &classes[out->class_count++];
    **class = *found;
    (*class)->first = index;
    (*class)->new_evidence = !evidence_equal(found->evidence, found->count, f->evidence, f->count);
    (*class)->same =
        !(*class)->new_evidence && circumstances_equal(call, found->circumstances, f->circumstances);
    return CW_OK;
}

static cw_status try_one(ask_call *call, const ask_footing *f, cw_check_id check, const ask_outcome *outcomes,
                         uint32_t index, ask_class *classes, ask_weighed *out)
{
    ask_class found = {0}, *class = NULL;
    const cw_chain *chain = NULL;
    bool taken = false;
    cw_status status = answer(call, f, check, &outcomes[index], &chain, &found, &taken);
    if (status != CW_OK || !taken)
        return status;
    status = find_class(call, f, &found, outcomes, index, classes, out, &class);
    if (status != CW_OK)
        return status;
    out->outcome_count++;
    if (class->outcomes++ > 0 || class->same)
        return CW_OK;
    if (call->steps >= call->max_steps) {
        out->complete = false;
        return CW_OK;
    }
    return call->about == CW_ABOUT_UNITS ? rank_units(call, f, class)
                                         : rank_causes(call, f, chain, class, &out->complete);
}

cw_status ask_try_all(ask_call *call, const ask_footing *f, cw_check_id check, ask_weighed *out)
{
    cw_asker *asker = call->asker;
    const ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    *out = (ask_weighed){.complete = true};
    cw_arena_reset(asker->check);
    const ask_matter *matter = &asker->matter[call->about];
    cw_fact_id fact = asker->model->checks[check].fact;
    if (!matter->through[fact] && !matter->signs[fact])
        return CW_OK;
    cw_status status = ask_outcomes(asker, f->chain, check, call->about, &outcomes, &count);
    ask_class *classes = status == CW_OK ? CW_NEW_ARRAY(asker->check, ask_class, count) : NULL;
    if (classes == NULL)
        return CW_NO_MEMORY;
    out->classes = classes;
    for (uint32_t i = 0; i < count && status == CW_OK && out->complete; i++)
        status = try_one(call, f, check, outcomes, i, classes, out);
    if (status == CW_OK && out->complete)
        ask_expect(out);
    call->cut_short |= !out->complete;
    return status;
}
