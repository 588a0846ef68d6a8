/* Which facts can make a difference (backward from what is ranked), and what could still come to hold
 * (forward from the checks that can be asked). Both take other premises at their best, so they err towards
 * "it could". Each is linear in the rules touched, but for formulas, which are gone over again until nothing
 * is added. */
#include "ask/inside.h"

typedef struct worklist {
    uint32_t *items;
    uint32_t count;
} worklist;

static void push(worklist *list, uint32_t item)
{
    list->items[list->count++] = item;
}

/* Backward. */

typedef struct backward {
    const cw_model *model;
    ask_matter *matter;
    worklist facts, atoms;
} backward;

static void fact_matters(backward *b, cw_fact_id fact)
{
    if (b->matter->facts[fact])
        return;
    b->matter->facts[fact] = true;
    push(&b->facts, fact);
}

static void atom_matters(backward *b, cw_atom_id atom)
{
    if (b->matter->atoms[atom])
        return;
    b->matter->atoms[atom] = true;
    push(&b->atoms, atom);
}

static void premises_matter(backward *b, const cw_rule *rule)
{
    for (uint32_t i = 0; i < rule->premises.count; i++)
        atom_matters(b, b->model->premises[rule->premises.first + i].atom);
}

static void rules_matter(backward *b, cw_atom_id atom)
{
    cw_run rules = b->model->atoms[atom].concluded_by;
    for (uint32_t i = 0; i < rules.count; i++)
        premises_matter(b, &b->model->rules[b->model->concludes[rules.first + i]]);
}

static void drain_backward(backward *b)
{
    while (b->facts.count + b->atoms.count > 0) {
        while (b->atoms.count > 0) {
            cw_atom_id atom = b->atoms.items[--b->atoms.count];
            cw_fact_id fact = b->model->atoms[atom].fact;
            rules_matter(b, atom);
            if (fact != 0) {
                b->matter->through[fact] = true;
                fact_matters(b, fact);
            }
        }
        if (b->facts.count == 0)
            continue;
        cw_run atoms = b->model->facts[b->facts.items[--b->facts.count]].atoms;
        for (uint32_t i = 0; i < atoms.count; i++)
            rules_matter(b, b->model->fact_atoms[atoms.first + i]);
    }
}

static void inputs_matter(backward *b, const cw_rule *rule)
{
    const uint32_t *inputs = NULL;
    size_t count = cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++) {
        b->matter->through[inputs[i]] = true;
        fact_matters(b, inputs[i]);
    }
    premises_matter(b, rule);
}

/* A formula's inputs matter when what it works out does. */
static void close_backward(backward *b, bool *done)
{
    bool more = true;
    while (more) {
        more = false;
        drain_backward(b);
        for (uint32_t i = 1; i <= b->model->rules_count; i++) {
            const cw_rule *rule = &b->model->rules[i];
            if (rule->measure == 0 || done[i] || !b->matter->facts[rule->measure])
                continue;
            done[i] = more = true;
            inputs_matter(b, rule);
        }
    }
}

static void signs_matter(backward *b, cw_run signs)
{
    for (uint32_t i = 0; i < signs.count; i++) {
        cw_fact_id fact = b->model->signs[signs.first + i].fact;
        b->matter->signs[fact] = true;
        fact_matters(b, fact);
    }
}

static void seed(backward *b, cw_about about)
{
    const cw_model *model = b->model;
    for (uint32_t i = 1; about == CW_ABOUT_UNITS && i <= model->units_count; i++)
        if (model->units[i].version)
            signs_matter(b, model->units[i].signs);
    for (uint32_t i = 1; about == CW_ABOUT_CAUSES && i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        signs_matter(b, cause->signs);
        if (cause->ruled_out != 0)
            atom_matters(b, cause->ruled_out);
        for (uint32_t s = 0; s < cause->shifts.count; s++)
            atom_matters(b, model->shifts[cause->shifts.first + s].atom);
    }
}

cw_status ask_matter_new(const cw_model *model, cw_about about, cw_arena *arena, ask_matter *out)
{
    size_t facts = (size_t)model->facts_count + 1, atoms = (size_t)model->atoms_count + 1;
    *out = (ask_matter){CW_NEW_ARRAY(arena, bool, facts), CW_NEW_ARRAY(arena, bool, facts),
                        CW_NEW_ARRAY(arena, bool, facts), CW_NEW_ARRAY(arena, bool, atoms)};
    backward b = {
        model, out, {CW_NEW_ARRAY(arena, uint32_t, facts), 0}, {CW_NEW_ARRAY(arena, uint32_t, atoms), 0}};
    bool *done = CW_NEW_ARRAY(arena, bool, (size_t)model->rules_count + 1);
    if (out->facts == NULL || out->signs == NULL || out->through == NULL || out->atoms == NULL ||
        b.facts.items == NULL || b.atoms.items == NULL || done == NULL)
        return CW_NO_MEMORY;
    seed(&b, about);
    close_backward(&b, done);
    for (uint32_t i = 1; i <= model->facts_count; i++) /* a circumstance may be read, but is never a sign */
        out->signs[i] = out->signs[i] && !model->facts[i].context;
    return CW_OK;
}

/* Forward. */

typedef struct forward {
    const cw_model *model;
    const cw_chain *chain; /* NULL: whatever else holds */
    ask_reach *reach;
    worklist atoms;
    uint32_t *met;      /* by rule: premises that could hold */
    bool left_open_too; /* checks answered "can't tell" count as possible */
} forward;

static void could_hold(forward *f, cw_atom_id atom)
{
    if (atom == 0 || f->reach->atoms[atom])
        return;
    f->reach->atoms[atom] = true;
    push(&f->atoms, atom);
}

static void fact_could(forward *f, cw_fact_id fact)
{
    cw_run atoms = f->model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++)
        could_hold(f, f->model->fact_atoms[atoms.first + i]);
}

/* One of the fact's values could come, and so could what is said of its values at large. */
static void value_could(forward *f, const cw_atom *atom)
{
    cw_run atoms = f->model->facts[atom->fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id other = f->model->fact_atoms[atoms.first + i];
        if (f->model->atoms[other].kind != CW_ATOM_VALUE)
            could_hold(f, other);
    }
}

static uint32_t times_met(const cw_model *model, const cw_rule *rule, cw_atom_id atom)
{
    uint32_t times = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &model->premises[rule->premises.first + i];
        times += premise->atom == atom && !premise->absent ? 1 : 0;
    }
    return times;
}

static void drain_forward(forward *f)
{
    while (f->atoms.count > 0) {
        cw_atom_id id = f->atoms.items[--f->atoms.count];
        const cw_atom *atom = &f->model->atoms[id];
        if (atom->kind == CW_ATOM_VALUE)
            value_could(f, atom);
        for (uint32_t i = 0; i < atom->used_by.count; i++) {
            cw_rule_id r = f->model->uses[atom->used_by.first + i];
            const cw_rule *rule = &f->model->rules[r];
            if (f->met != NULL)
                f->met[r] += times_met(f->model, rule, id);
            if (f->met == NULL || f->met[r] >= rule->need)
                could_hold(f, rule->head);
        }
    }
}

static bool input_could(const forward *f, cw_fact_id fact)
{
    if (f->reach->values[fact])
        return true;
    cw_run atoms = f->model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) { /* counts that rules conclude */
        cw_atom_id atom = f->model->fact_atoms[atoms.first + i];
        if (f->model->atoms[atom].kind == CW_ATOM_VALUE && f->reach->atoms[atom])
            return true;
    }
    return false;
}

static bool formula_could(const forward *f, cw_rule_id id)
{
    const cw_rule *rule = &f->model->rules[id];
    const uint32_t *inputs = NULL;
    size_t count = cw_formula_inputs(rule->formula, &inputs), met = 0;
    for (size_t i = 0; i < count; i++)
        met += input_could(f, inputs[i]) ? 1 : 0;
    if (f->met == NULL) /* one input suffices: whatever else holds */
        return met > 0;
    return met == count && f->met[id] >= rule->need;
}

static bool known_number(const cw_chain *chain, cw_fact_id fact)
{
    double number = 0, error = 0;
    uint32_t value = 0;
    cw_kind kind = cw_chain_model(chain)->facts[fact].kind;
    if (kind == CW_MEASURE)
        return cw_chain_number(chain, fact, &number, &error) == CW_KNOWN;
    return kind == CW_COUNT && cw_chain_value(chain, fact, &value) == CW_KNOWN;
}

/* What holds now, and rules that need only absences. */
static void start_forward(forward *f)
{
    const cw_model *model = f->model;
    for (uint32_t i = 1; i <= model->facts_count; i++)
        f->reach->values[i] = known_number(f->chain, i);
    for (uint32_t i = 1; i <= model->rules_count; i++) {
        const cw_rule *rule = &model->rules[i];
        for (uint32_t p = 0; p < rule->premises.count; p++) {
            const cw_premise *premise = &model->premises[rule->premises.first + p];
            f->met[i] += premise->absent && cw_chain_truth(f->chain, premise->atom) != CW_YES ? 1 : 0;
        }
        if (f->met[i] >= rule->need)
            could_hold(f, rule->head);
    }
    for (uint32_t i = 1; i <= model->atoms_count; i++)
        if (cw_chain_truth(f->chain, i) != CW_NO)
            could_hold(f, i);
}

/* Checks that became possible, and formulas all of whose inputs did. True when there was anything new. */
static bool extend(const ask_call *call, forward *f, uint32_t places)
{
    const cw_model *model = f->model;
    bool more = false;
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        const cw_check *check = &model->checks[i];
        if (f->reach->checks[i] || (places != 0 && (check->places & places) == 0) ||
            (check->only_if != 0 && !f->reach->atoms[check->only_if]) ||
            !(f->left_open_too ? ask_unknown : ask_unanswered)(f->chain, i, call->limits->stage))
            continue;
        f->reach->checks[i] = f->reach->values[check->fact] = more = true;
        fact_could(f, check->fact);
    }
    for (uint32_t i = 0; i < call->asker->measuring_count; i++) {
        cw_rule_id rule = call->asker->measuring[i];
        cw_fact_id measure = model->rules[rule].measure;
        if (f->reach->values[measure] || !formula_could(f, rule))
            continue;
        f->reach->values[measure] = more = true;
        fact_could(f, measure);
    }
    return more;
}

static cw_status forward_new(const cw_model *model, cw_arena *arena, ask_reach *reach, forward *f)
{
    size_t atoms = (size_t)model->atoms_count + 1;
    *reach = (ask_reach){CW_NEW_ARRAY(arena, bool, atoms),
                         CW_NEW_ARRAY(arena, bool, (size_t)model->checks_count + 1),
                         CW_NEW_ARRAY(arena, bool, (size_t)model->facts_count + 1)};
    *f = (forward){model, NULL, reach, {CW_NEW_ARRAY(arena, uint32_t, atoms), 0}, NULL, false};
    return reach->atoms == NULL || reach->checks == NULL || reach->values == NULL || f->atoms.items == NULL
               ? CW_NO_MEMORY
               : CW_OK;
}

cw_status ask_reach_new(ask_call *call, const cw_chain *chain, uint32_t places, bool left_open_too,
                        cw_arena *arena, ask_reach *out)
{
    forward f;
    cw_status status = forward_new(call->asker->model, arena, out, &f);
    if (status != CW_OK)
        return status;
    f.chain = chain;
    f.left_open_too = left_open_too;
    f.met = CW_NEW_ARRAY(arena, uint32_t, (size_t)f.model->rules_count + 1);
    if (f.met == NULL)
        return CW_NO_MEMORY;
    start_forward(&f);
    do
        drain_forward(&f);
    while (extend(call, &f, places));
    return CW_OK;
}

cw_status ask_forward(const cw_asker *asker, cw_check_id check, cw_arena *arena, bool **out)
{
    forward f;
    ask_reach reach;
    cw_status status = forward_new(asker->model, arena, &reach, &f);
    if (status != CW_OK)
        return status;
    reach.values[asker->model->checks[check].fact] = true;
    fact_could(&f, asker->model->checks[check].fact);
    bool more = true;
    while (more) {
        more = false;
        drain_forward(&f);
        for (uint32_t i = 0; i < asker->measuring_count; i++) {
            cw_fact_id measure = asker->model->rules[asker->measuring[i]].measure;
            if (reach.values[measure] || !formula_could(&f, asker->measuring[i]))
                continue;
            reach.values[measure] = more = true;
            fact_could(&f, measure);
        }
    }
    *out = reach.atoms;
    return CW_OK;
}
