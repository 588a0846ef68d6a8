/* What is not wrong but cannot be meant: rules that can never fire, checks that nothing uses, facts that
 * nothing concludes. Works on the finished model: what answers can give, and what rules can make of that,
 * until nothing new follows. Absence is taken to be possible. */
#include "pack/inside.h"

#include <math.h>
#include <string.h>

enum { FEW_PREMISES = 64, MASK_WORDS = (MOST_COUNTS + 63) / 64 };

typedef struct linter {
    compiler *c;
    const cw_model *model;
    bool *atom;        /* can hold */
    bool *known;       /* measured facts: can be worked out or answered */
    bool *rule;        /* can fire */
    bool *contradicts; /* premises exclude each other */
    uint32_t *waits;   /* rules: premises still missing */
    uint32_t *queue, head, tail;
} linter;

static void make_possible(linter *l, cw_atom_id atom)
{
    if (atom == 0 || l->atom[atom])
        return;
    l->atom[atom] = true;
    l->queue[l->tail++] = atom;
}

static bool meets(cw_interval a, cw_interval b)
{
    double low = a.low > b.low ? a.low : b.low, high = a.high < b.high ? a.high : b.high;
    if (low < high)
        return true;
    bool low_in = !(a.low_open && low == a.low) && !(b.low_open && low == b.low);
    bool high_in = !(a.high_open && low == a.high) && !(b.high_open && low == b.high);
    return low == high && low_in && high_in;
}

static void start_atoms(linter *l)
{
    const cw_model *model = l->model;
    for (uint32_t f = 1; f <= model->facts_count; f++)
        l->known[f] = model->facts[f].check != 0;
    for (uint32_t a = 1; a <= model->atoms_count; a++) {
        const cw_atom *atom = &model->atoms[a];
        cw_check_id check = atom->fact == 0 ? 0 : model->facts[atom->fact].check;
        if (check != 0 && (atom->kind != CW_ATOM_BAND || meets(atom->band, model->checks[check].range)))
            make_possible(l, a);
    }
}

/* The values of one fact that a premise allows: a value, or a step over values of one fact. False if it is
 * neither. */
static bool allowed_values(const cw_model *model, cw_atom_id atom, cw_fact_id *fact, uint64_t *mask)
{
    memset(mask, 0, MASK_WORDS * sizeof *mask);
    const cw_atom *at = &model->atoms[atom];
    if (at->kind == CW_ATOM_VALUE) {
        *fact = at->fact;
        mask[at->value / 64] |= (uint64_t)1 << (at->value % 64);
        return true;
    }
    if (at->kind != CW_ATOM_STEP)
        return false;
    *fact = 0;
    for (uint32_t i = 0; i < at->concluded_by.count; i++) {
        const cw_rule *rule = &model->rules[model->concludes[at->concluded_by.first + i]];
        const cw_premise *premise = &model->premises[rule->premises.first];
        if (rule->premises.count != 1 || premise->absent || model->atoms[premise->atom].kind != CW_ATOM_VALUE)
            return false;
        const cw_atom *value = &model->atoms[premise->atom];
        if (*fact != 0 && *fact != value->fact)
            return false;
        *fact = value->fact;
        mask[value->value / 64] |= (uint64_t)1 << (value->value % 64);
    }
    return *fact != 0;
}

static bool exclude_each_other(const cw_model *model, cw_atom_id a, cw_atom_id b)
{
    const cw_atom *x = &model->atoms[a], *y = &model->atoms[b];
    if (x->kind == CW_ATOM_BAND && y->kind == CW_ATOM_BAND)
        return x->fact == y->fact && !meets(x->band, y->band);
    if (x->kind == CW_ATOM_UNIT && y->kind == CW_ATOM_UNIT)
        return !cw_unit_within(model, x->value, y->value) && !cw_unit_within(model, y->value, x->value);
    cw_fact_id fact_a, fact_b;
    uint64_t mask_a[MASK_WORDS], mask_b[MASK_WORDS], both = 0;
    if (!allowed_values(model, a, &fact_a, mask_a) || !allowed_values(model, b, &fact_b, mask_b) ||
        fact_a != fact_b)
        return false;
    for (int i = 0; i < MASK_WORDS; i++)
        both |= mask_a[i] & mask_b[i];
    return both == 0;
}

static bool contradicts_itself(const cw_model *model, const cw_rule *rule)
{
    uint32_t count = rule->premises.count;
    if (count > FEW_PREMISES || rule->need != count)
        return false;
    const cw_premise *premises = &model->premises[rule->premises.first];
    for (uint32_t i = 0; i < count; i++)
        for (uint32_t k = 0; k < i; k++) {
            bool same = premises[i].atom == premises[k].atom;
            if (same && premises[i].absent != premises[k].absent)
                return true;
            if (!same && !premises[i].absent && !premises[k].absent &&
                exclude_each_other(model, premises[i].atom, premises[k].atom))
                return true;
        }
    return false;
}

static void start_rules(linter *l)
{
    for (uint32_t r = 1; r <= l->model->rules_count; r++) {
        const cw_rule *rule = &l->model->rules[r];
        uint32_t absent = 0;
        for (uint32_t i = 0; i < rule->premises.count; i++)
            absent += l->model->premises[rule->premises.first + i].absent;
        l->waits[r] = rule->need > absent ? rule->need - absent : 0;
        l->contradicts[r] = contradicts_itself(l->model, rule);
    }
}

static void make_known(linter *l, cw_fact_id fact)
{
    const cw_model *model = l->model;
    l->known[fact] = true;
    for (uint32_t i = 0; i < model->facts[fact].atoms.count; i++) {
        cw_atom_id atom = model->fact_atoms[model->facts[fact].atoms.first + i];
        if (model->atoms[atom].kind == CW_ATOM_KNOWN ||
            (model->atoms[atom].kind == CW_ATOM_BAND && model->facts[fact].check == 0))
            make_possible(l, atom);
    }
}

static bool inputs_known(const linter *l, const cw_rule *rule)
{
    const uint32_t *inputs = NULL;
    size_t count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        if (!l->known[inputs[i]])
            return false;
    return true;
}

static bool try_rule(linter *l, uint32_t r)
{
    const cw_rule *rule = &l->model->rules[r];
    if (l->rule[r] || l->waits[r] > 0 || l->contradicts[r] || !inputs_known(l, rule))
        return false;
    l->rule[r] = true;
    if (rule->head != 0)
        make_possible(l, rule->head);
    else
        make_known(l, rule->measure);
    return true;
}

static bool is_present(const cw_model *model, const cw_rule *rule, cw_atom_id atom)
{
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &model->premises[rule->premises.first + i];
        if (premise->atom == atom && !premise->absent)
            return true;
    }
    return false;
}

static void follow(linter *l)
{
    const cw_model *model = l->model;
    while (l->head < l->tail) {
        cw_atom_id atom = l->queue[l->head++];
        const cw_atom *at = &model->atoms[atom];
        if (at->kind == CW_ATOM_VALUE && !l->known[at->fact])
            make_known(l, at->fact);
        for (uint32_t i = 0; i < at->used_by.count; i++) {
            uint32_t r = model->uses[at->used_by.first + i];
            if (l->waits[r] > 0 && is_present(model, &model->rules[r], atom) && --l->waits[r] == 0)
                try_rule(l, r);
        }
    }
}

/* Rules that wait for nothing, and formulas whose inputs have become known, are found by going over all
 * again. */
static void work_out(linter *l)
{
    for (bool more = true; more;) {
        follow(l);
        more = false;
        for (uint32_t r = 1; r <= l->model->rules_count; r++)
            more |= try_rule(l, r);
    }
}

static void explain_atom(linter *l, cw_diag *diag, cw_atom_id atom)
{
    const cw_model *model = l->model;
    const cw_atom *at = &model->atoms[atom];
    const char *fact = model->facts[at->fact].name;
    if (at->kind == CW_ATOM_VALUE)
        help(l->c, diag, "nothing concludes that '%s' is '%s'", fact,
             model->values[model->facts[at->fact].values.first + at->value].name);
    else if (at->kind == CW_ATOM_BAND && model->facts[at->fact].check != 0)
        help(l->c, diag, "the range of '%s' does not reach there", fact);
    else if (at->kind == CW_ATOM_STEP)
        help(l->c, diag, "one of its conditions can never hold");
    else
        help(l->c, diag, "nothing gives '%s' a value", fact);
}

static void warn_never(linter *l, const rule_def *written, uint32_t r)
{
    const cw_model *model = l->model;
    const cw_rule *rule = &model->rules[r];
    cw_diag *diag =
        complain(l->c, NEVER_FIRES, written->at->key->span, "'%s' can never fire", written->at->name);
    if (l->contradicts[r]) {
        help(l->c, diag, "two of its conditions exclude each other");
        return;
    }
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &model->premises[rule->premises.first + i];
        if (!premise->absent && !l->atom[premise->atom]) {
            explain_atom(l, diag, premise->atom);
            return;
        }
    }
    help(l->c, diag, "nothing gives its formula all it needs");
}

/* Written rules none of whose conclusions can ever be drawn. The origins of data come behind those of rules.
 */
static void warn_rules(linter *l)
{
    compiler *c = l->c;
    const cw_model *model = l->model;
    uint32_t *first = take(c, (size_t)model->origins_count + 1, sizeof *first);
    if (first == NULL)
        return;
    for (uint32_t r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        if (rule->origin == 0 || rule->origin >= l->c->origin_rules.count ||
            (rule->head != 0 && model->atoms[rule->head].kind == CW_ATOM_STEP))
            continue;
        rule_def *written = *CW_VEC_AT(&c->origin_rules, rule_def *, rule->origin);
        uint32_t *seen = &first[written->first_origin];
        if (l->rule[r])
            *seen = UINT32_MAX;
        else if (*seen == 0)
            *seen = r;
    }
    for (uint32_t o = 1; o <= model->origins_count; o++)
        if (first[o] != 0 && first[o] != UINT32_MAX)
            warn_never(l, *CW_VEC_AT(&c->origin_rules, rule_def *, o), first[o]);
}

/* Not warned of: a check of a pack that another needs, which may hold more than that one asks for; and a
 * check made for telling units apart (or for causes) while no pack that is loaded has any. */
static bool may_be_unused(const compiler *c, const fact_def *fact)
{
    const check_def *check = fact->check;
    uint32_t lacking = 0;
    if (c->units.count == 0)
        lacking |= 1U << CW_IDENTIFY;
    if (c->causes.count == 0)
        lacking |= 1U << CW_TRIAGE;
    bool no_use_yet = check->stages_given && (check->check.stages & ~lacking) == 0;
    return no_use_yet || !CW_VEC_AT(&c->packs, pack_def, fact->at->pack)->named;
}

/* A slip of the pen in a rule makes a fact of its own, which nobody declared. */
static void warn_not_concluded(compiler *c, const fact_def *fact)
{
    cw_diag *diag =
        complain(c, UNUSED_FACT, fact->at->key->span, "no rule concludes the fact '%s'", fact->at->name);
    cw_nearest nearest = cw_nearest_start(fact->at->name);
    for (size_t i = 0; i < c->facts.count; i++)
        if (fact_at(c, i)->implicit)
            cw_nearest_try(&nearest, fact_at(c, i)->at->name);
    for (size_t i = 0; nearest.best != NULL && i < c->facts.count; i++) {
        const fact_def *other = fact_at(c, i);
        if (!other->implicit || strcmp(other->at->name, nearest.best) != 0)
            continue;
        cw_diag_second(c->diags, diag, other->at->key->span, "'%s' is concluded here", nearest.best);
        help(c, diag, "did you mean '%s' there?", fact->at->name);
        return;
    }
    help(c, diag, "write the rule that does, or take the fact out");
}

/* Its 'only_if' can never hold. */
static void warn_never_asked(linter *l)
{
    const cw_model *model = l->model;
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        const cw_check *check = &model->checks[i];
        if (check->only_if == 0 || l->atom[check->only_if] || check->span.source == 0)
            continue;
        cw_diag *diag = complain(l->c, NEVER_ASKED, check->span,
                                 "'%s' can never be asked: its 'only_if' never holds", check->name);
        explain_atom(l, diag, check->only_if);
    }
}

static void warn_facts(compiler *c)
{
    for (size_t i = 0; i < c->facts.count; i++) {
        const fact_def *fact = fact_at(c, i);
        cw_span span = fact->at->key->span;
        if (fact->at->is_check && !fact->used && !may_be_unused(c, fact)) {
            cw_diag *diag = complain(c, UNUSED_CHECK, span, "nothing uses the check '%s'", fact->at->name);
            help(c, diag,
                 "let a rule, sign, condition or word go by it, for else it is never asked; or take it out");
        }
        if (!fact->at->is_check && !fact->implicit && !fact->datum && fact->rules == NULL)
            warn_not_concluded(c, fact);
    }
}

void lint(compiler *c, const cw_model *model)
{
    linter lint = {.c = c, .model = model};
    size_t atoms = (size_t)model->atoms_count + 1, rules = (size_t)model->rules_count + 1;
    lint.atom = take(c, atoms, sizeof *lint.atom);
    lint.known = take(c, (size_t)model->facts_count + 1, sizeof *lint.known);
    lint.rule = take(c, rules, sizeof *lint.rule);
    lint.contradicts = take(c, rules, sizeof *lint.contradicts);
    lint.waits = take(c, rules, sizeof *lint.waits);
    lint.queue = take(c, atoms, sizeof *lint.queue);
    if (c->no_memory)
        return;
    start_atoms(&lint);
    start_rules(&lint);
    work_out(&lint);
    warn_rules(&lint);
    warn_never_asked(&lint);
    warn_facts(c);
    warn_swaps(c);
}
