#include "review/search_inside.h"

#include <math.h>
#include <string.h>

/* MOST_GOALS: of one rule, formulas with their inputs; they stand on the stack, DEEPEST times. */
enum { DEEPEST = 300, FEW_UNITS = 4, MOST_GOALS = 24 };

static bool solve(review_search *s, const goal *goals);

review_search *review_search_new(reviewer *r)
{
    const cw_model *model = r->model;
    size_t facts = (size_t)model->facts_count + 1, rules = (size_t)model->rules_count + 1;
    review_search *s = review_take(r, 1, sizeof *s);
    if (s == NULL)
        return NULL;
    *s = (review_search){.r = r, .model = model};
    s->wants = review_take(r, facts, sizeof *s->wants);
    s->wanted = review_take(r, facts, sizeof *s->wanted);
    s->disputed = review_take(r, facts, sizeof *s->disputed);
    s->busy = review_take(r, (size_t)model->atoms_count + 1, sizeof *s->busy);
    s->first_measure = review_take(r, facts, sizeof *s->first_measure);
    s->next_measure = review_take(r, rules, sizeof *s->next_measure);
    if (r->no_memory)
        return NULL;
    for (cw_rule_id id = model->rules_count; id > 0; id--) {
        cw_fact_id measure = model->rules[id].measure;
        if (measure == 0)
            continue;
        s->next_measure[id] = s->first_measure[measure];
        s->first_measure[measure] = id;
    }
    cw_status status = cw_chain_new(model, r->allocator, &s->chain);
    r->no_memory |= status == CW_NO_MEMORY;
    return status == CW_OK ? s : NULL;
}

void review_search_free(review_search *search)
{
    if (search != NULL)
        cw_chain_free(search->chain);
}

static bool meets(cw_interval band)
{
    return band.low < band.high || (band.low == band.high && !band.low_open && !band.high_open);
}

static cw_interval narrow_band(cw_interval a, cw_interval b)
{
    if (b.low > a.low || (b.low == a.low && b.low_open)) {
        a.low = b.low;
        a.low_open = b.low_open;
    }
    if (b.high < a.high || (b.high == a.high && b.high_open)) {
        a.high = b.high;
        a.high_open = b.high_open;
    }
    return a;
}

static bool narrow_unit(const cw_model *model, wanted_answer *want, cw_unit_id unit)
{
    if (want->unit_set && cw_unit_within(model, want->unit, unit))
        return true;
    if (want->unit_set && !cw_unit_within(model, unit, want->unit))
        return false;
    want->unit_set = true;
    want->unit = unit;
    return true;
}

/* A stamped text that fits a pattern is not made up. */
static bool narrow(const cw_model *model, wanted_answer *want, const cw_atom *atom)
{
    uint64_t left = 0;
    switch (atom->kind) {
    case CW_ATOM_VALUE:
        for (uint32_t i = 0; i < MASK_WORDS; i++)
            left |= want->mask[i] &= i == atom->value / 64 ? (uint64_t)1 << (atom->value % 64) : 0;
        return left != 0;
    case CW_ATOM_BAND:
        want->band = narrow_band(want->band, atom->band);
        return meets(want->band);
    case CW_ATOM_UNIT:
        return narrow_unit(model, want, atom->value);
    case CW_ATOM_KNOWN:
        return true;
    default:
        return false;
    }
}

static void open_want(review_search *s, cw_fact_id fact)
{
    const cw_fact *about = &s->model->facts[fact];
    wanted_answer *want = &s->wants[fact];
    *want = (wanted_answer){.band = {.low = -INFINITY, .high = INFINITY}};
    if (about->check != 0)
        want->band = s->model->checks[about->check].range;
    for (uint32_t value = 0; value < about->values.count; value++)
        want->mask[value / 64] |= (uint64_t)1 << (value % 64);
    s->wanted[s->wanted_count++] = fact;
}

/* The goal's fact has a check: somebody answers it. That it is asked at all becomes a goal in turn. */
static bool by_answer(review_search *s, const goal *goals, cw_fact_id fact, const cw_atom *atom)
{
    wanted_answer before = s->wants[fact];
    uint32_t count = s->wanted_count;
    cw_atom_id only_if = s->model->checks[s->model->facts[fact].check].only_if;
    goal asked = {.atom = only_if, .next = goals->next};
    if (!before.wanted)
        open_want(s, fact);
    s->wants[fact].wanted = true;
    bool fits = atom == NULL || narrow(s->model, &s->wants[fact], atom);
    if (fits && solve(s, !before.wanted && only_if != 0 ? &asked : goals->next))
        return true;
    s->wants[fact] = before;
    s->wanted_count = count;
    return false;
}

/* Data follow from which unit it is; the first few that say so are tried. */
static bool by_datum(review_search *s, const goal *goals, const cw_atom *atom)
{
    cw_fact_id about = s->model->data[atom->value].fact;
    cw_fact_id which = cw_model_fact(s->model, CW_UNIT_CHECK);
    uint32_t tried = 0;
    for (cw_unit_id unit = 1; unit <= s->model->units_count && tried < FEW_UNITS; unit++) {
        if (!s->model->units[unit].version || cw_unit_datum(s->model, unit, about) != atom->value)
            continue;
        cw_atom is = {.kind = CW_ATOM_UNIT, .fact = which, .value = unit};
        tried++;
        if (by_answer(s, goals, which, &is))
            return true;
    }
    return false;
}

/* The premises from `first` on, `need` of them, and the inputs of a formula. Absences are left to the forward
 * run. */
static bool by_premises(review_search *s, const goal *goals, const cw_rule *rule, uint32_t first)
{
    const uint32_t *inputs = NULL;
    size_t inputs_count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
    goal list[MOST_GOALS];
    if (rule->need + inputs_count > MOST_GOALS)
        return false;
    const goal *next = goals->next;
    size_t made = 0;
    for (uint32_t i = 0; i < rule->need; i++) {
        const cw_premise *premise =
            &s->model->premises[rule->premises.first + (first + i) % rule->premises.count];
        if (premise->absent)
            continue;
        list[made] = (goal){.atom = premise->atom, .next = next};
        next = &list[made++];
    }
    for (size_t i = 0; i < inputs_count; i++) {
        list[made] = (goal){.fact = inputs[i], .next = next};
        next = &list[made++];
    }
    s->formulas |= inputs_count > 0;
    return solve(s, next);
}

static bool by_rule(review_search *s, const goal *goals, const cw_rule *rule)
{
    uint32_t ways = rule->need < rule->premises.count ? rule->premises.count : 1;
    for (uint32_t first = 0; first < ways; first++)
        if (by_premises(s, goals, rule, first))
            return true;
    return false;
}

static bool by_rules_of_atom(review_search *s, const goal *goals, cw_atom_id id)
{
    if (s->busy[id]) /* is seen to already, higher up or before */
        return solve(s, goals->next);
    const cw_atom *atom = &s->model->atoms[id];
    bool found = false;
    s->busy[id] = true;
    for (uint32_t i = 0; i < atom->concluded_by.count && !found; i++)
        found = by_rule(s, goals, &s->model->rules[s->model->concludes[atom->concluded_by.first + i]]);
    s->busy[id] = false;
    return found;
}

/* Any rule that gives the fact a value. */
static bool by_rules_of_fact(review_search *s, const goal *goals, cw_fact_id fact)
{
    cw_run atoms = s->model->facts[fact].atoms;
    for (cw_rule_id id = s->first_measure[fact]; id != 0; id = s->next_measure[id])
        if (by_rule(s, goals, &s->model->rules[id]))
            return true;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id atom = s->model->fact_atoms[atoms.first + i];
        if (s->model->atoms[atom].kind == CW_ATOM_VALUE && s->model->atoms[atom].concluded_by.count > 0 &&
            by_rules_of_atom(s, goals, atom))
            return true;
    }
    return false;
}

/* What rules conclude has one value too, or there would be a second quarrel. */
static bool by_rules(review_search *s, const goal *goals, cw_fact_id fact, const cw_atom *atom)
{
    wanted_answer before = s->wants[fact];
    uint32_t count = s->wanted_count;
    if (!before.wanted)
        open_want(s, fact);
    s->wants[fact].wanted = true;
    if (narrow(s->model, &s->wants[fact], atom) &&
        (atom->kind == CW_ATOM_VALUE ? by_rules_of_atom(s, goals, goals->atom)
                                     : by_rules_of_fact(s, goals, fact)))
        return true;
    s->wants[fact] = before;
    s->wanted_count = count;
    return false;
}

static bool follow(review_search *s, const goal *goals)
{
    if (goals->rule != 0)
        return by_rule(s, goals, &s->model->rules[goals->rule]);
    const cw_atom *atom = goals->atom != 0 ? &s->model->atoms[goals->atom] : NULL;
    cw_fact_id fact = atom != NULL ? atom->fact : goals->fact;
    if (atom != NULL && atom->kind == CW_ATOM_DATUM)
        return by_datum(s, goals, atom);
    if (fact != 0 && s->model->facts[fact].check != 0)
        return by_answer(s, goals, fact, atom);
    if (atom == NULL)
        return by_rules_of_fact(s, goals, fact);
    if (fact == 0 || fact == s->quarrel)
        return by_rules_of_atom(s, goals, goals->atom);
    return by_rules(s, goals, fact, atom);
}

static bool solve(review_search *s, const goal *goals)
{
    if (goals == NULL)
        return witness_holds(s);
    if (++s->steps > s->limit || s->depth >= DEEPEST || s->r->no_memory)
        return false;
    s->depth++;
    bool found = follow(s, goals);
    s->depth--;
    return found;
}

bool is_answer(const review_search *s, uint32_t i)
{
    return s->model->facts[s->wanted[i]].check != 0;
}

static void forget(review_search *s)
{
    for (uint32_t i = 0; i < s->wanted_count; i++)
        s->wants[s->wanted[i]].wanted = false;
    s->wanted_count = 0;
    s->steps = 0;
    s->depth = 0;
    s->formulas = false;
}

static review_found run(review_search *s, const goal *first, const char **answers)
{
    const uint64_t pair = s->r->limits.pair_steps;
    forget(s);
    s->limit = s->r->steps < pair ? s->r->steps : pair;
    bool found = solve(s, first);
    bool ended = s->steps > s->limit;
    s->r->steps -= s->steps < s->r->steps ? s->steps : s->r->steps;
    if (!found) {
        s->r->unfinished += ended;
        return ended ? REVIEW_ENDED : REVIEW_NOTHING;
    }
    *answers = witness_say(s);
    return REVIEW_ANSWERS;
}

review_found review_search_conflict(review_search *search, cw_rule_id a, cw_rule_id b, const char **answers)
{
    const goal second = {.rule = b}, first = {.rule = a, .next = &second};
    search->rules[0] = a;
    search->rules[1] = b;
    search->quarrel = search->model->atoms[search->model->rules[a].head].fact;
    return run(search, &first, answers);
}

review_found review_search_known(review_search *search, cw_fact_id a, cw_fact_id b, const char **answers)
{
    const goal second = {.fact = b}, first = {.fact = a, .next = &second};
    search->rules[0] = search->rules[1] = 0;
    search->facts[0] = a;
    search->facts[1] = b;
    search->quarrel = 0;
    return run(search, &first, answers);
}
