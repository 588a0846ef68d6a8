/* What is still to be measured before each part of the open unit can be decided on: checks from which rules
 * may yet draw a verdict that is not known. Premises are followed backward, and only through what could come
 * to hold, so that a check behind a rule that is out of the running is not asked for. */
#include "ask/inside.h"

#include <stdlib.h>
#include <string.h>

/* Marks hold the number of the verdict (or part) last looked at, so that nothing need be cleared in between.
 */
typedef struct due_walk {
    const ask_call *call;
    const cw_model *model;
    const cw_chain *chain;
    const ask_reach *reach;
    bool left_open_too;
    uint32_t round, part; /* the verdict walked from, and its part */
    uint32_t *atom_round, *fact_round, *check_part;
    cw_atom_id *atoms; /* to be followed */
    cw_fact_id *facts;
    uint32_t atom_count, fact_count;
    cw_check_id *found; /* for the part, each once */
    uint32_t found_count;
    bool waits; /* the verdict */
} due_walk;

static void want_atom(due_walk *w, cw_atom_id atom)
{
    if (atom == 0 || w->atom_round[atom] == w->round || cw_chain_truth(w->chain, atom) == CW_YES)
        return;
    w->atom_round[atom] = w->round;
    w->atoms[w->atom_count++] = atom;
}

static void want_fact(due_walk *w, cw_fact_id fact)
{
    if (fact == 0 || w->fact_round[fact] == w->round)
        return;
    w->fact_round[fact] = w->round;
    w->facts[w->fact_count++] = fact;
}

/* It could come to hold, without contradicting what is known already. */
static bool could_hold(const due_walk *w, cw_atom_id atom)
{
    const cw_atom *about = &w->model->atoms[atom];
    uint32_t value = 0;
    return w->reach->atoms[atom] &&
           (about->kind != CW_ATOM_VALUE || cw_chain_value(w->chain, about->fact, &value) != CW_KNOWN ||
            value == about->value);
}

/* False for a rule that cannot hold any more, whatever is measured. */
static bool in_the_running(const due_walk *w, const cw_rule *rule)
{
    uint32_t possible = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &w->model->premises[rule->premises.first + i];
        possible += premise->absent ? cw_chain_truth(w->chain, premise->atom) != CW_YES
                                    : could_hold(w, premise->atom);
    }
    return possible >= rule->need;
}

static void want_premises(due_walk *w, const cw_rule *rule)
{
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &w->model->premises[rule->premises.first + i];
        if (could_hold(w, premise->atom))
            want_atom(w, premise->atom);
    }
}

static void want_rules(due_walk *w, cw_atom_id atom)
{
    cw_run rules = w->model->atoms[atom].concluded_by;
    for (uint32_t i = 0; i < rules.count; i++) {
        const cw_rule *rule = &w->model->rules[w->model->concludes[rules.first + i]];
        if (in_the_running(w, rule))
            want_premises(w, rule);
    }
}

static void want_inputs(due_walk *w, cw_fact_id measure)
{
    const cw_asker *asker = w->call->asker;
    for (uint32_t i = 0; i < asker->measuring_count; i++) {
        const cw_rule *rule = &w->model->rules[asker->measuring[i]];
        if (rule->measure != measure || !in_the_running(w, rule))
            continue;
        const uint32_t *inputs = NULL;
        size_t count = cw_formula_inputs(rule->formula, &inputs);
        for (size_t k = 0; k < count; k++)
            want_fact(w, inputs[k]);
        want_premises(w, rule);
    }
}

static bool is_open(const due_walk *w, cw_check_id check)
{
    cw_atom_id only_if = w->model->checks[check].only_if;
    if (!w->left_open_too)
        return cw_ask_open(w->chain, check, w->call->limits);
    return only_if == 0 || cw_chain_truth(w->chain, only_if) != CW_NO;
}

/* The check is due now, or what decides whether it is asked. */
static void want_check(due_walk *w, cw_check_id check)
{
    if (check == 0 || !w->reach->checks[check])
        return;
    if (is_open(w, check)) {
        w->waits = true;
        if (w->check_part[check] != w->part)
            w->found[w->found_count++] = check;
        w->check_part[check] = w->part;
    }
    if (w->model->checks[check].only_if != 0)
        want_atom(w, w->model->checks[check].only_if);
}

static void follow_fact(due_walk *w, cw_fact_id fact)
{
    const cw_fact *about = &w->model->facts[fact];
    want_check(w, about->check);
    if (about->kind == CW_MEASURE)
        want_inputs(w, fact);
    for (uint32_t i = 0; i < about->atoms.count; i++) {
        cw_atom_id atom = w->model->fact_atoms[about->atoms.first + i];
        if (w->model->atoms[atom].kind == CW_ATOM_VALUE && w->reach->atoms[atom])
            want_rules(w, atom);
    }
}

static void follow(due_walk *w)
{
    while (w->atom_count + w->fact_count > 0) {
        if (w->fact_count > 0) {
            follow_fact(w, w->facts[--w->fact_count]);
            continue;
        }
        const cw_atom *atom = &w->model->atoms[w->atoms[--w->atom_count]];
        if (atom->kind == CW_ATOM_STEP || atom->kind == CW_ATOM_CAUTION)
            want_rules(w, (cw_atom_id)(atom - w->model->atoms));
        else
            want_fact(w, atom->fact);
    }
}

static cw_status walk_new(ask_call *call, const cw_chain *chain, const ask_reach *reach, due_walk *w)
{
    const cw_model *model = call->asker->model;
    cw_arena *arena = call->asker->call;
    size_t atoms = (size_t)model->atoms_count + 1, facts = (size_t)model->facts_count + 1;
    *w = (due_walk){.call = call,
                    .model = model,
                    .chain = chain,
                    .reach = reach,
                    .atom_round = CW_NEW_ARRAY(arena, uint32_t, atoms),
                    .fact_round = CW_NEW_ARRAY(arena, uint32_t, facts),
                    .atoms = CW_NEW_ARRAY(arena, cw_atom_id, atoms),
                    .facts = CW_NEW_ARRAY(arena, cw_fact_id, facts),
                    .check_part = CW_NEW_ARRAY(arena, uint32_t, (size_t)model->checks_count + 1),
                    .found = CW_NEW_ARRAY(arena, cw_check_id, (size_t)model->checks_count + 1)};
    return w->atom_round == NULL || w->fact_round == NULL || w->atoms == NULL || w->facts == NULL ||
                   w->found == NULL || w->check_part == NULL
               ? CW_NO_MEMORY
               : CW_OK;
}

/* What has to be replaced in any case needs no measuring. */
static bool settled(const cw_chain *chain, cw_part_id part)
{
    const cw_model *model = cw_chain_model(chain);
    bool settled = model->parts[part].always;
    for (cw_fact_id fact = 1; fact <= model->facts_count && !settled; fact++) {
        uint32_t value = 0;
        settled = model->facts[fact].verdict_on == part && cw_chain_value(chain, fact, &value) == CW_KNOWN &&
                  value == CW_REPLACE;
    }
    return settled;
}

static int cheapest_first(const void *a, const void *b)
{
    const cw_proposal *x = a, *y = b;
    if (x->minutes != y->minutes)
        return x->minutes < y->minutes ? -1 : 1;
    return (x->check > y->check) - (x->check < y->check); /* ids stand in order of names */
}

/* Walks from each verdict on the part that is not known. */
static void walk_part(due_walk *w, cw_part_id part, cw_fact_id *verdicts, size_t *count)
{
    uint32_t value;
    w->part = part;
    w->found_count = 0;
    for (cw_fact_id fact = 1; fact <= w->model->facts_count; fact++) {
        if (w->model->facts[fact].verdict_on != part || cw_chain_value(w->chain, fact, &value) != CW_UNKNOWN)
            continue;
        w->round = fact;
        w->waits = false;
        want_fact(w, fact);
        follow(w);
        if (w->waits)
            verdicts[(*count)++] = fact;
    }
}

static size_t count_verdicts(const cw_model *model, cw_part_id part)
{
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        count += model->facts[fact].verdict_on == part;
    return count;
}

static cw_status list_part(due_walk *w, cw_part_id part, cw_arena *arena, cw_due *out)
{
    cw_fact_id *verdicts = CW_NEW_ARRAY(arena, cw_fact_id, count_verdicts(w->model, part));
    if (verdicts == NULL)
        return CW_NO_MEMORY;
    *out = (cw_due){.part = part, .verdicts = verdicts};
    walk_part(w, part, verdicts, &out->verdict_count);
    cw_proposal *checks = CW_NEW_ARRAY(arena, cw_proposal, w->found_count);
    if (checks == NULL)
        return CW_NO_MEMORY;
    const cw_ask_limits *limits = w->call->limits;
    for (uint32_t i = 0; i < w->found_count; i++) {
        cw_proposal *next = &checks[out->count];
        if (!ask_place(w->model, w->found[i], limits->places, limits->here, next))
            continue;
        next->part = part;
        out->minutes += next->minutes;
        out->count++;
    }
    if (out->count > 1)
        qsort(checks, out->count, sizeof *checks, cheapest_first);
    out->checks = checks;
    return CW_OK;
}

static int quickest_first(const void *a, const void *b)
{
    const cw_due *x = a, *y = b;
    if (x->minutes != y->minutes)
        return x->minutes < y->minutes ? -1 : 1;
    return (x->part > y->part) - (x->part < y->part);
}

static cw_status find_due(ask_call *call, const cw_chain *chain, bool left_open_too, cw_arena *arena,
                          cw_due **out, size_t *count)
{
    const cw_model *model = call->asker->model;
    ask_reach reach;
    due_walk walk;
    cw_status status =
        ask_reach_new(call, chain, call->limits->places, left_open_too, call->asker->call, &reach);
    if (status == CW_OK)
        status = walk_new(call, chain, &reach, &walk);
    *out = status == CW_OK ? CW_NEW_ARRAY(arena, cw_due, (size_t)model->parts_count + 1) : NULL;
    *count = 0;
    if (*out == NULL)
        return CW_NO_MEMORY;
    walk.left_open_too = left_open_too;
    bool *judged = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->parts_count + 1);
    if (judged == NULL)
        return CW_NO_MEMORY;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        judged[model->facts[fact].verdict_on] = true;
    for (cw_part_id part = 1; part <= model->parts_count && status == CW_OK; part++) {
        if (!judged[part] || settled(chain, part))
            continue;
        status = list_part(&walk, part, arena, &(*out)[*count]);
        *count += (*out)[*count].count > 0;
    }
    if (*count > 1)
        qsort(*out, *count, sizeof **out, quickest_first);
    return status;
}

cw_status cw_ask_due(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, bool left_open_too,
                     cw_arena *arena, const cw_due **out, size_t *count)
{
    ask_call call = {.asker = asker, .limits = limits, .about = CW_ABOUT_CAUSES};
    cw_due *due;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    cw_status status = find_due(&call, chain, left_open_too, arena, &due, count);
    *out = due;
    return status;
}

/* Moves the check's proposal, if it was weighed, to the end of the new list. */
static void take_over(const cw_advice *advice, bool *listed, const cw_proposal *due, cw_proposal *list,
                      size_t *count)
{
    if (listed[due->check])
        return;
    listed[due->check] = true;
    list[*count] = *due;
    for (size_t i = 0; i < advice->count; i++)
        if (advice->checks[i].check == due->check) {
            list[*count] = advice->checks[i];
            list[*count].part = due->part;
        }
    (*count)++;
}

cw_status ask_due_first(ask_call *call, const cw_chain *chain, cw_arena *arena, cw_advice *advice)
{
    const cw_model *model = call->asker->model;
    cw_due *due;
    size_t parts, count = 0;
    cw_status status = find_due(call, chain, false, arena, &due, &parts);
    if (status != CW_OK || parts == 0)
        return status;
    bool *listed = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->checks_count + 1);
    cw_proposal *list = CW_NEW_ARRAY(arena, cw_proposal, (size_t)model->checks_count + advice->count);
    if (listed == NULL || list == NULL)
        return CW_NO_MEMORY;
    for (size_t p = 0; p < parts; p++)
        for (size_t i = 0; i < due[p].count; i++)
            take_over(advice, listed, &due[p].checks[i], list, &count);
    for (size_t i = 0; i < advice->count; i++)
        if (!listed[advice->checks[i].check])
            list[count++] = advice->checks[i];
    advice->checks = list;
    advice->count = count;
    advice->stop = false;
    advice->why = CW_STOP_NOT;
    return CW_OK;
}
