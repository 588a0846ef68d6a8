/* Two signs of one cause or unit that always rest on the same reading. Which of the two counts is settled
 * when the case is answered (rank/evidence.h); the other one is then written for nothing.
 *
 * What a fact must rest on: the answer itself, where it has a check; else what is common to all rules that
 * conclude it, each of which rests on all that its premises must rest on. Context sets the stage only. */
#include "review/search.h"

#include <string.h>

typedef struct basis {
    const cw_fact_id *readings; /* sorted */
    uint32_t count;
    bool all; /* whatever you like: a way that leads back to itself adds nothing */
    enum { NOT_BEGUN, IN_WORK, DONE } state;
} basis;

/* Two facts, and the answers that make both known at once. */
typedef struct pair_seen {
    cw_fact_id a, b;
    const char *answers; /* NULL: none do */
} pair_seen;

typedef struct digger {
    reviewer *r;
    basis *facts, *steps; /* by fact, by atom */
    uint32_t depth;
    cw_vec pairs; /* pair_seen: few, for signs that share a reading are rare */
} digger;

enum { DEEPEST = 200 };

static basis dig_fact(digger *d, cw_fact_id fact);
static basis dig_atom(digger *d, cw_atom_id id);

static basis merge(digger *d, basis a, basis b, bool common)
{
    if (a.all || b.all) {
        basis other = a.all ? b : a;
        return common ? other : (basis){.all = true};
    }
    cw_fact_id *out = review_take(d->r, (size_t)a.count + b.count, sizeof *out);
    if (out == NULL)
        return (basis){.all = true};
    uint32_t i = 0, k = 0, count = 0;
    while (i < a.count || k < b.count) {
        bool from_a = k == b.count || (i < a.count && a.readings[i] <= b.readings[k]);
        bool both = i < a.count && k < b.count && a.readings[i] == b.readings[k];
        cw_fact_id next = from_a ? a.readings[i] : b.readings[k];
        i += from_a || both;
        k += !from_a || both;
        if (!common || both)
            out[count++] = next;
    }
    return (basis){.readings = out, .count = count};
}

static basis dig_rule(digger *d, const cw_rule *rule)
{
    const cw_model *model = d->r->model;
    basis found = {0};
    if (rule->need == rule->premises.count) {
        for (uint32_t i = 0; i < rule->premises.count; i++) {
            const cw_premise *premise = &model->premises[rule->premises.first + i];
            if (!premise->absent)
                found = merge(d, found, dig_atom(d, premise->atom), false);
        }
    }
    const uint32_t *inputs = NULL;
    size_t count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        found = merge(d, found, dig_fact(d, inputs[i]), false);
    return found;
}

static basis dig_atom(digger *d, cw_atom_id id)
{
    const cw_model *model = d->r->model;
    const cw_atom *atom = &model->atoms[id];
    if (atom->kind != CW_ATOM_STEP && atom->fact == 0)
        return (basis){0};
    if (atom->kind != CW_ATOM_STEP)
        return dig_fact(d, atom->fact);
    if (d->steps[id].state == DONE)
        return d->steps[id];
    if (d->steps[id].state == IN_WORK || d->depth >= DEEPEST)
        return (basis){.all = true};
    d->steps[id].state = IN_WORK;
    d->depth++;
    basis found = {.all = true};
    for (uint32_t i = 0; i < atom->concluded_by.count; i++)
        found =
            merge(d, found, dig_rule(d, &model->rules[model->concludes[atom->concluded_by.first + i]]), true);
    d->depth--;
    found.state = DONE;
    return d->steps[id] = found;
}

/* Rules that work a measure out, and those that conclude a value, are found by going over the fact's atoms
 * and the list of formulas. */
static basis dig_rules_of(digger *d, cw_fact_id fact)
{
    const cw_model *model = d->r->model;
    basis found = {.all = true};
    cw_run atoms = model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        const cw_atom *atom = &model->atoms[model->fact_atoms[atoms.first + i]];
        for (uint32_t k = 0; atom->kind == CW_ATOM_VALUE && k < atom->concluded_by.count; k++)
            found = merge(d, found,
                          dig_rule(d, &model->rules[model->concludes[atom->concluded_by.first + k]]), true);
    }
    for (cw_rule_id id = 1; model->facts[fact].kind == CW_MEASURE && id <= model->rules_count; id++)
        if (model->rules[id].measure == fact)
            found = merge(d, found, dig_rule(d, &model->rules[id]), true);
    return found.all ? (basis){0} : found;
}

static basis dig_fact(digger *d, cw_fact_id fact)
{
    const cw_fact *about = &d->r->model->facts[fact];
    basis *kept = &d->facts[fact];
    if (kept->state == DONE)
        return *kept;
    if (kept->state == IN_WORK || d->depth >= DEEPEST)
        return (basis){.all = true};
    kept->state = IN_WORK;
    d->depth++;
    basis found = {0};
    if (about->check != 0) {
        cw_fact_id *self = review_take(d->r, 1, sizeof *self);
        if (self != NULL && !about->context) {
            *self = fact;
            found = (basis){.readings = self, .count = 1};
        }
    } else {
        found = dig_rules_of(d, fact);
    }
    d->depth--;
    found.state = DONE;
    return *kept = found;
}

/* A reading in both; 0 if there is none. */
static cw_fact_id in_both(const basis *a, const basis *b)
{
    for (uint32_t i = 0, k = 0; i < a->count && k < b->count;) {
        if (a->readings[i] == b->readings[k])
            return a->readings[i];
        if (a->readings[i] < b->readings[k])
            i++;
        else
            k++;
    }
    return 0;
}

static void warn_twice(reviewer *r, const char *name, const cw_sign *a, const cw_sign *b, cw_fact_id shared,
                       const char *answers)
{
    const cw_fact *facts = r->model->facts;
    cw_diag *diag = review_warn(r, CW_DIAG_COUNTS_TWICE, a->span,
                                "two signs of '%s' rest on the same reading: '%s' and '%s' on '%s'", name,
                                facts[a->fact].name, facts[b->fact].name, facts[shared].name);
    cw_diag_second(r->diags, diag, b->span, "the other sign");
    advise(r, diag,
           "each reading counts once, so with %s one of the two is passed over: keep the one that says more",
           answers);
}

/* Pairs of facts come up again with every cause, and every version that inherits them: they are looked at
 * once. NULL when no answers make both known. */
static const char *known_together(digger *d, cw_fact_id a, cw_fact_id b)
{
    for (size_t i = 0; i < d->pairs.count; i++) {
        const pair_seen *seen = CW_VEC_AT(&d->pairs, const pair_seen, i);
        if (seen->a == a && seen->b == b)
            return seen->answers;
    }
    const char *answers = NULL;
    pair_seen *slot = cw_vec_add(&d->pairs);
    d->r->no_memory |= slot == NULL;
    if (slot == NULL || d->r->search == NULL)
        return NULL;
    (void)review_search_known(d->r->search, a, b, &answers);
    *slot = (pair_seen){a, b, answers};
    return answers;
}

static void look_at(digger *d, const char *name, cw_run signs)
{
    const cw_model *model = d->r->model;
    for (uint32_t i = 1; i < signs.count; i++)
        for (uint32_t k = 0; k < i; k++) {
            const cw_sign *a = &model->signs[signs.first + i], *b = &model->signs[signs.first + k];
            const basis of_a = dig_fact(d, a->fact), of_b = dig_fact(d, b->fact);
            cw_fact_id shared = in_both(&of_a, &of_b);
            if (shared == 0 || !review_is_asked_for(d->r, a->span))
                continue;
            const char *answers = known_together(d, b->fact, a->fact);
            if (answers != NULL)
                warn_twice(d->r, name, a, b, shared, answers);
        }
}

void review_twice(reviewer *r)
{
    const cw_model *model = r->model;
    digger d = {.r = r, .pairs = CW_VEC_INIT(r->allocator, pair_seen)};
    d.facts = review_take(r, (size_t)model->facts_count + 1, sizeof *d.facts);
    d.steps = review_take(r, (size_t)model->atoms_count + 1, sizeof *d.steps);
    for (uint32_t i = 1; i <= model->causes_count && !r->no_memory; i++)
        look_at(&d, model->causes[i].name, model->causes[i].signs);
    for (uint32_t i = 1; i <= model->units_count && !r->no_memory; i++)
        look_at(&d, model->units[i].name, model->units[i].signs);
    cw_vec_dispose(&d.pairs);
}
