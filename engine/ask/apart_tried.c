/* Rows of a look by trying: each answer of its checks, one after the other on a scratch chain, as far as they
 * may be asked then; answers that lead to the same evidence are one outcome. */
#include "ask/apart_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

typedef struct outcome {
    const cw_evidence *evidence; /* what is new */
    size_t count;
    double *chance; /* by member */
} outcome;

typedef struct trying {
    apart *p;
    const apart_look *look;
    bool given[APART_CHECKS];
    const ask_outcome *piece[APART_CHECKS]; /* the answer given */
    cw_vec outcomes;                        /* of outcome; those with evidence */
    uint32_t answers;
    bool much; /* more than are tried */
} trying;

/* -- Evidence -- */

static bool from_the_start(const apart *p, const cw_evidence *piece)
{
    for (size_t i = 0; i < p->footing.count; i++)
        if (ask_same_piece(&p->footing.evidence[i], piece))
            return true;
    return false;
}

/* A measure counts by the whole of the piece that the reading stands for. */
static void widen(const trying *t, cw_evidence *piece)
{
    for (uint32_t i = 0; i < t->look->count; i++)
        if (t->given[i] && t->p->model->checks[t->look->checks[i]].fact == piece->fact &&
            t->p->model->facts[piece->fact].kind == CW_MEASURE) {
            piece->between = true;
            piece->low = t->piece[i]->low;
            piece->high = t->piece[i]->high;
        }
}

static cw_status new_pieces(trying *t, cw_evidence **out, size_t *count)
{
    apart *p = t->p;
    const cw_evidence *all = NULL;
    size_t found = 0;
    cw_arena_reset(p->asker->trial);
    cw_status status = ask_collect(&p->call, p->work, p->asker->trial, &all, &found);
    cw_evidence *kept = status == CW_OK ? CW_NEW_ARRAY(p->asker->trial, cw_evidence, found) : NULL;
    *count = 0;
    *out = kept;
    if (kept == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < found; i++)
        if (!from_the_start(p, &all[i])) {
            kept[*count] = all[i];
            widen(t, &kept[(*count)++]);
        }
    return CW_OK;
}

static bool same_evidence(const outcome *o, const cw_evidence *pieces, size_t count)
{
    bool same = o->count == count;
    for (size_t i = 0; i < count && same; i++)
        same = ask_same_piece(&o->evidence[i], &pieces[i]);
    return same;
}

static cw_status keep(trying *t, const cw_evidence *pieces, size_t count)
{
    cw_arena *arena = t->p->asker->check;
    cw_evidence *kept = CW_NEW_ARRAY(arena, cw_evidence, count);
    outcome *next = kept != NULL ? cw_vec_add(&t->outcomes) : NULL;
    if (next == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        kept[i] = pieces[i];
        if (kept[i].text != NULL &&
            (kept[i].text = cw_arena_text(arena, kept[i].text, strlen(kept[i].text))) == NULL)
            return CW_NO_MEMORY;
    }
    *next = (outcome){kept, count, NULL};
    return CW_OK;
}

static cw_status end_here(trying *t)
{
    cw_evidence *pieces = NULL;
    size_t count = 0;
    const cw_status status = new_pieces(t, &pieces, &count);
    t->much |= ++t->answers > APART_ANSWERS || t->outcomes.count > APART_CELLS - 2;
    t->p->steps += count + 1;
    if (status != CW_OK || count == 0)
        return status;
    for (size_t i = 0; i < t->outcomes.count; i++)
        if (same_evidence(CW_VEC_AT(&t->outcomes, outcome, i), pieces, count))
            return CW_OK;
    return keep(t, pieces, count);
}

/* -- Answers -- */

static bool may_be_asked(const trying *t, uint32_t at)
{
    const ask_call *call = &t->p->call;
    return !t->given[at] && cw_ask_open(t->p->work, t->look->checks[at], call->limits);
}

/* What sets the stage first, for readings are cut by it; count when none is left. */
static uint32_t next_check(const trying *t)
{
    const cw_model *model = t->p->model;
    uint32_t next = t->look->count;
    for (uint32_t i = t->look->count; i > 0; i--)
        if (may_be_asked(t, i - 1) &&
            (next == t->look->count || model->facts[model->checks[t->look->checks[i - 1]].fact].context ||
             !model->facts[model->checks[t->look->checks[next]].fact].context))
            next = i - 1;
    return next;
}

static cw_status try_from(trying *t);

static cw_status try_answers(trying *t, uint32_t at)
{
    apart *p = t->p;
    const cw_fact_id fact = p->model->checks[t->look->checks[at]].fact;
    const ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    bool answered = false;
    cw_status status = ask_outcomes(p->asker, p->work, t->look->checks[at], p->about, &outcomes, &count);
    t->given[at] = true;
    for (uint32_t i = 0; i < count && status == CW_OK && !t->much; i++) {
        const cw_status taken = cw_chain_answer(p->work, &outcomes[i].answer);
        assert(taken != CW_BAD_CALL);
        p->steps += cw_chain_steps(p->work) + 1;
        if (taken == CW_NO_MEMORY)
            status = taken;
        if (taken != CW_OK)
            continue;
        answered = true;
        t->piece[at] = &outcomes[i];
        status = try_from(t);
    }
    t->given[at] = false;
    if (answered) {
        const cw_status back = cw_chain_withdraw(p->work, fact);
        status = status == CW_OK ? back : status;
    }
    return status;
}

static cw_status try_from(trying *t)
{
    const uint32_t at = next_check(t);
    return at == t->look->count ? end_here(t) : try_answers(t, at);
}

/* -- Chances -- */

static double cause_shows(const cw_model *model, cw_cause_id id, const cw_evidence *piece)
{
    const double *background = model->facts[piece->fact].background;
    const double *chances = NULL;
    const cw_run signs = model->causes[id].signs;
    for (uint32_t i = 0; i < signs.count; i++)
        if (model->signs[signs.first + i].fact == piece->fact)
            chances = model->signs[signs.first + i].chances;
    double up_to[2] = {0, 0}, drawn[2] = {0, 0}; /* below the value, and with it */
    for (uint32_t v = 0; v <= piece->value; v++) {
        up_to[0] = up_to[1];
        drawn[0] = drawn[1];
        up_to[1] += background[v];
        drawn[1] += chances != NULL ? chances[v] : v == 0 ? 1 : 0;
    }
    return up_to[1] * drawn[1] - up_to[0] * drawn[0];
}

static cw_status weigh(apart *p, outcome *o)
{
    const size_t lines = (size_t)p->count + 1;
    o->chance = CW_NEW_ARRAY(p->asker->check, double, p->count);
    double *logs = CW_NEW_ARRAY(p->asker->trial, double, lines),
           *room = CW_NEW_ARRAY(p->asker->trial, double, lines);
    if (o->chance == NULL || logs == NULL || room == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        o->chance[m] = 1;
    for (size_t i = 0; i < o->count; i++) {
        if (p->about == CW_ABOUT_CAUSES) {
            for (uint32_t m = 0; m < p->count; m++)
                o->chance[m] *= cause_shows(p->model, p->members[m], &o->evidence[i]);
        } else if (cw_identity_log_likelihoods(p->asker->tables, o->evidence, o->count, i, logs, NULL,
                                               room)) {
            for (uint32_t m = 0; m < p->count; m++) /* line 0 is "not listed" */
                o->chance[m] *= exp(logs[m + 1]);
        }
        p->steps += p->count;
    }
    return CW_OK;
}

/* What is left over is the last outcome. */
static cw_status make_rows(trying *t, apart_look *look)
{
    apart *p = t->p;
    const uint32_t values = (uint32_t)t->outcomes.count + 1;
    double *rows = CW_NEW_ARRAY(p->asker->check, double, (size_t)values * p->count);
    cw_status status = rows == NULL ? CW_NO_MEMORY : CW_OK;
    for (size_t i = 0; i < t->outcomes.count && status == CW_OK; i++) {
        cw_arena_reset(p->asker->trial);
        status = weigh(p, CW_VEC_AT(&t->outcomes, outcome, i));
    }
    if (status != CW_OK)
        return status;
    for (uint32_t m = 0; m < p->count; m++) {
        double *row = &rows[(size_t)m * values], sum = 0;
        for (uint32_t v = 0; v + 1 < values; v++)
            sum += row[v] = CW_VEC_AT(&t->outcomes, outcome, v)->chance[m];
        for (uint32_t v = 0; v + 1 < values && sum > 1; v++)
            row[v] /= sum;
        row[values - 1] = fmax(1 - sum, 0);
    }
    return apart_rows(p, look, rows, values);
}

/* All facts that count in some outcome, in order. */
static cw_status facts_of(const trying *t, apart_look *look)
{
    bool *counts = CW_NEW_ARRAY(t->p->asker->check, bool, (size_t)t->p->model->facts_count + 1);
    if (counts == NULL)
        return CW_NO_MEMORY;
    for (size_t o = 0; o < t->outcomes.count; o++)
        for (size_t i = 0; i < CW_VEC_AT(&t->outcomes, outcome, o)->count; i++) {
            bool *one = &counts[CW_VEC_AT(&t->outcomes, outcome, o)->evidence[i].fact];
            look->fact_count += *one ? 0 : 1;
            *one = true;
        }
    cw_fact_id *facts = CW_NEW_ARRAY(t->p->arena, cw_fact_id, look->fact_count);
    uint32_t count = 0;
    for (cw_fact_id f = 1; facts != NULL && f <= t->p->model->facts_count; f++)
        if (counts[f])
            facts[count++] = f;
    look->facts = facts;
    return facts == NULL ? CW_NO_MEMORY : CW_OK;
}

cw_status apart_try(apart *p, apart_look *look, bool *done)
{
    trying t = {.p = p, .look = look, .outcomes = CW_VEC_INIT(&p->asker->allocator, outcome)};
    cw_arena_reset(p->asker->check);
    cw_chain_copy(p->work, p->none);
    look->kind = APART_ROWS;
    cw_status status = try_from(&t);
    *done = !t.much;
    if (status == CW_OK && !t.much)
        status = facts_of(&t, look);
    if (status == CW_OK && !t.much)
        status = make_rows(&t, look);
    cw_vec_dispose(&t.outcomes);
    return status;
}
