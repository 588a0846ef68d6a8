/* What is still to be asked before a fact can be known: checks from which rules may yet conclude it. Premises
 * are followed backward, and only through what could come to hold, so that a check behind a rule that is out
 * of the running is not asked for. Marks hold the number of the round (or group) last looked at, so that
 * nothing need be cleared in between. */
#include "ask/inside.h"

#include <stdlib.h>

static void want_atom(ask_walk *w, cw_atom_id atom)
{
    if (atom == 0 || w->atom_round[atom] == w->round || cw_chain_truth(w->chain, atom) == CW_YES)
        return;
    w->atom_round[atom] = w->round;
    w->atoms[w->atom_count++] = atom;
}

static void want_fact(ask_walk *w, cw_fact_id fact)
{
    if (fact == 0 || w->fact_round[fact] == w->round)
        return;
    w->fact_round[fact] = w->round;
    w->facts[w->fact_count++] = fact;
}

/* It could come to hold, without contradicting what is known already. */
static bool could_hold(const ask_walk *w, cw_atom_id atom)
{
    const cw_atom *about = &w->model->atoms[atom];
    uint32_t value = 0;
    return w->reach->atoms[atom] &&
           (about->kind != CW_ATOM_VALUE || cw_chain_value(w->chain, about->fact, &value) != CW_KNOWN ||
            value == about->value);
}

/* False for a rule that cannot hold any more, whatever is measured. */
static bool in_the_running(const ask_walk *w, const cw_rule *rule)
{
    uint32_t possible = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &w->model->premises[rule->premises.first + i];
        possible += premise->absent ? cw_chain_truth(w->chain, premise->atom) != CW_YES
                                    : could_hold(w, premise->atom);
    }
    return possible >= rule->need;
}

static void want_premises(ask_walk *w, const cw_rule *rule)
{
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &w->model->premises[rule->premises.first + i];
        if (could_hold(w, premise->atom))
            want_atom(w, premise->atom);
    }
}

static void want_rules(ask_walk *w, cw_atom_id atom)
{
    cw_run rules = w->model->atoms[atom].concluded_by;
    for (uint32_t i = 0; i < rules.count; i++) {
        const cw_rule *rule = &w->model->rules[w->model->concludes[rules.first + i]];
        if (in_the_running(w, rule))
            want_premises(w, rule);
    }
}

static void want_inputs(ask_walk *w, cw_fact_id measure)
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

static bool is_open(const ask_walk *w, cw_check_id check)
{
    cw_atom_id only_if = w->model->checks[check].only_if;
    if (!w->left_open_too)
        return cw_ask_open(w->chain, check, w->call->limits);
    return only_if == 0 || cw_chain_truth(w->chain, only_if) != CW_NO;
}

/* The check is due now, or what decides whether it is asked. */
static void want_check(ask_walk *w, cw_check_id check)
{
    if (check == 0 || !w->reach->checks[check])
        return;
    if (is_open(w, check)) {
        w->waits = true;
        if (w->check_group[check] != w->group)
            w->found[w->found_count++] = check;
        w->check_group[check] = w->group;
    }
    if (w->model->checks[check].only_if != 0)
        want_atom(w, w->model->checks[check].only_if);
}

static void follow_fact(ask_walk *w, cw_fact_id fact)
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

static void follow(ask_walk *w)
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

cw_status ask_walk_new(const ask_call *call, const cw_chain *chain, const ask_reach *reach,
                       bool left_open_too, cw_arena *arena, ask_walk *out)
{
    const cw_model *model = call->asker->model;
    size_t atoms = (size_t)model->atoms_count + 1, facts = (size_t)model->facts_count + 1;
    *out = (ask_walk){.call = call,
                      .model = model,
                      .chain = chain,
                      .reach = reach,
                      .left_open_too = left_open_too,
                      .atom_round = CW_NEW_ARRAY(arena, uint32_t, atoms),
                      .fact_round = CW_NEW_ARRAY(arena, uint32_t, facts),
                      .atoms = CW_NEW_ARRAY(arena, cw_atom_id, atoms),
                      .facts = CW_NEW_ARRAY(arena, cw_fact_id, facts),
                      .check_group = CW_NEW_ARRAY(arena, uint32_t, (size_t)model->checks_count + 1),
                      .found = CW_NEW_ARRAY(arena, cw_check_id, (size_t)model->checks_count + 1)};
    return out->atom_round == NULL || out->fact_round == NULL || out->atoms == NULL || out->facts == NULL ||
                   out->found == NULL || out->check_group == NULL
               ? CW_NO_MEMORY
               : CW_OK;
}

void ask_walk_group(ask_walk *w)
{
    w->group++;
    w->found_count = 0;
}

bool ask_walk_from(ask_walk *w, cw_fact_id fact)
{
    w->round++;
    w->waits = false;
    want_fact(w, fact);
    follow(w);
    return w->waits;
}

bool ask_walk_to(ask_walk *w, cw_atom_id atom)
{
    w->round++;
    w->waits = false;
    if (could_hold(w, atom))
        want_atom(w, atom);
    follow(w);
    return w->waits;
}

static int cheapest_first(const void *a, const void *b)
{
    const cw_proposal *x = a, *y = b;
    if (x->minutes != y->minutes)
        return x->minutes < y->minutes ? -1 : 1;
    return (x->check > y->check) - (x->check < y->check); /* ids stand in order of names */
}

cw_status ask_walk_list(const ask_walk *w, cw_arena *arena, cw_proposal **out, size_t *count)
{
    const cw_ask_limits *limits = w->call->limits;
    cw_proposal *list = CW_NEW_ARRAY(arena, cw_proposal, w->found_count);
    *count = 0;
    *out = list;
    if (list == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < w->found_count; i++)
        *count += ask_place(w->model, w->found[i], limits->places, limits->here, &list[*count]);
    if (*count > 1)
        qsort(list, *count, sizeof *list, cheapest_first);
    return CW_OK;
}
