/* Conditions made ground: for things chosen, the premises of a rule. What cannot be said as a list of
 * premises becomes a step, an atom that rules of its own conclude. A condition that hangs on nothing bound
 * outside is made once. */
#include "pack/inside.h"

static void push(compiler *c, cw_premise premise)
{
    cw_premise *slot = append(c, &c->premises);
    if (slot != NULL)
        *slot = premise;
}

void add_ground_rule(compiler *c, cw_atom_id head, size_t first_premise, uint32_t need, uint32_t origin)
{
    uint32_t count = (uint32_t)(c->premises.count - first_premise);
    const cw_premise *premises = count == 0 ? NULL : CW_VEC_AT(&c->premises, cw_premise, first_premise);
    if (c->ground_rules >= MOST_RULES)
        c->too_many_rules = true;
    else if (!c->no_memory &&
             cw_builder_rule(c->builder, head, premises, count, need == 0 ? count : need, origin) == 0)
        c->no_memory = true;
    c->ground_rules++;
}

static bool stop(const compiler *c)
{
    return c->no_memory || c->too_many_rules;
}

static cw_atom_id new_step(compiler *c)
{
    cw_atom_id step = stop(c) ? 0 : cw_builder_step(c->builder);
    c->no_memory |= step == 0 && !c->too_many_rules;
    return step;
}

/* The step holds when all premises from `first` on do (or `need` of them); takes them off. */
static void conclude_step(compiler *c, cw_atom_id step, size_t first, uint32_t need, uint32_t origin)
{
    if (!stop(c))
        add_ground_rule(c, step, first, need, origin);
    c->premises.count = first;
}

static cw_atom_id value_atom(compiler *c, const cond *test, cw_fact_id fact, uint32_t value)
{
    return test->test == CW_ATOM_UNIT ? cw_builder_unit_atom(c->builder, fact, value)
                                      : cw_builder_value_atom(c->builder, fact, value);
}

/* Holds when the unit is known and none of those refused. */
static cw_premise refusal(compiler *c, const cond *test, cw_fact_id fact, uint32_t origin)
{
    cw_atom_id step = new_step(c);
    size_t first = c->premises.count;
    push(c, (cw_premise){cw_builder_known_atom(c->builder, fact), false});
    for (uint32_t i = 0; i < test->count; i++)
        push(c, (cw_premise){value_atom(c, test, fact, test->values[i]), true});
    conclude_step(c, step, first, 0, origin);
    return (cw_premise){step, false};
}

static cw_premise test_premise(compiler *c, const cond *test, const uint32_t *bindings, uint32_t origin)
{
    cw_fact_id fact = test->ref.fact->first + ground_of(c, &test->ref, bindings);
    cw_atom_id atom = 0;
    if (test->refused)
        return refusal(c, test, fact, origin);
    if (test->test == CW_ATOM_BAND)
        atom = cw_builder_band_atom(c->builder, fact, test->band);
    else if (test->test == CW_ATOM_LIKE)
        atom = cw_builder_like_atom(c->builder, fact, test->pattern);
    else if (test->test == CW_ATOM_KNOWN)
        atom = cw_builder_known_atom(c->builder, fact);
    else if (test->count == 1)
        atom = value_atom(c, test, fact, test->values[0]);
    else
        atom = new_step(c);
    bool several = (test->test == CW_ATOM_VALUE || test->test == CW_ATOM_UNIT) && test->count > 1;
    for (uint32_t i = 0; several && i < test->count && !stop(c); i++) {
        size_t first = c->premises.count;
        push(c, (cw_premise){value_atom(c, test, fact, test->values[i]), false});
        conclude_step(c, atom, first, 0, origin);
    }
    c->no_memory |= atom == 0 && !c->too_many_rules;
    return (cw_premise){atom, false};
}

static cw_premise one_premise(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin);

/* The premise of a part, turned round. The absence of an absence goes through a step. */
static void push_absent(compiler *c, const cond *part, uint32_t *bindings, uint32_t origin)
{
    cw_premise premise = one_premise(c, part, bindings, origin);
    if (premise.absent) {
        cw_atom_id step = new_step(c);
        size_t first = c->premises.count;
        push(c, premise);
        conclude_step(c, step, first, 0, origin);
        premise.atom = step;
    }
    premise.absent = true;
    push(c, premise);
}

static void all_of_group(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    for (uint32_t i = 0; i < when->count && !stop(c); i++) {
        if (when->kind == COND_ALL)
            ground_all(c, when->parts[i], bindings, origin);
        else
            push_absent(c, when->parts[i], bindings, origin);
    }
}

static void all_of_things(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    uint32_t count = kind_at(c, when->thing_kind)->count;
    for (uint32_t i = 0; i < count && !stop(c); i++) {
        bindings[when->binding] = i;
        if (when->kind == COND_EVERY)
            ground_all(c, when->parts[0], bindings, origin);
        else
            push_absent(c, when->parts[0], bindings, origin);
    }
}

void ground_all(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    if (when->kind == COND_ALL || when->kind == COND_NONE)
        all_of_group(c, when, bindings, origin);
    else if (when->kind == COND_EVERY || when->kind == COND_NO)
        all_of_things(c, when, bindings, origin);
    else
        push(c, one_premise(c, when, bindings, origin));
}

/* any: a rule for each part. some: a rule for each thing. at least: one rule that counts. */
static void ground_choice(compiler *c, const cond *when, cw_atom_id step, uint32_t *bindings, uint32_t origin)
{
    bool over_things = when->kind != COND_ANY;
    uint32_t count = over_things ? kind_at(c, when->thing_kind)->count : when->count;
    size_t first = c->premises.count;
    for (uint32_t i = 0; i < count && !stop(c); i++) {
        if (over_things)
            bindings[when->binding] = i;
        if (when->kind == COND_AT_LEAST) {
            push(c, one_premise(c, when->parts[0], bindings, origin));
            continue;
        }
        ground_all(c, when->parts[over_things ? 0 : i], bindings, origin);
        conclude_step(c, step, first, 0, origin);
    }
    if (when->kind == COND_AT_LEAST)
        conclude_step(c, step, first, when->need, origin);
}

static cw_premise make_premise(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    if (when->kind == COND_TEST)
        return test_premise(c, when, bindings, origin);
    if (when->count == 1 && (when->kind == COND_ALL || when->kind == COND_ANY))
        return one_premise(c, when->parts[0], bindings, origin);
    size_t first = c->premises.count;
    if (when->kind == COND_ANY || when->kind == COND_SOME || when->kind == COND_AT_LEAST) {
        cw_atom_id step = new_step(c);
        ground_choice(c, when, step, bindings, origin);
        c->premises.count = first;
        return (cw_premise){step, false};
    }
    ground_all(c, when, bindings, origin);
    if (c->premises.count == first + 1) {
        cw_premise only = *CW_VEC_AT(&c->premises, cw_premise, first);
        c->premises.count = first;
        return only;
    }
    cw_atom_id step = new_step(c);
    conclude_step(c, step, first, 0, origin);
    return (cw_premise){step, false};
}

static cw_premise one_premise(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    if (stop(c))
        return (cw_premise){0, false};
    if (when->bound != 0)
        return make_premise(c, when, bindings, origin);
    if (when->premise->atom == 0)
        *when->premise = make_premise(c, when, bindings, origin);
    return *when->premise;
}

cw_atom_id ground_atom(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin)
{
    cw_premise premise = one_premise(c, when, bindings, origin);
    if (!premise.absent)
        return premise.atom;
    cw_atom_id step = new_step(c);
    size_t first = c->premises.count;
    push(c, premise);
    conclude_step(c, step, first, 0, origin);
    return step;
}
