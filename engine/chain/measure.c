/* Numbers of measured facts: the answer, and the formulas of rules that hold. A fact may have several
 * sources; its bands hold as far as one of them says. */
#include "chain/inside.h"

#include <assert.h>
#include <math.h>

uint32_t chain_formula_of(const cw_chain *chain, cw_rule_id rule)
{
    const cw_rule_id *rules = chain->index.rule_of;
    uint32_t low = 0, high = chain->index.formulas - 1;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (rules[middle] < rule)
            low = middle + 1;
        else
            high = middle;
    }
    assert(rules[low] == rule);
    return low;
}

uint32_t chain_source_rank(const cw_chain *chain, uint32_t formula)
{
    return chain_rule_rank(chain, chain->index.rule_of[formula]);
}

void chain_source_changed(cw_chain *chain, uint32_t formula, uint32_t before, const chain_formula *was)
{
    const cw_model *model = chain->model;
    const chain_formula *is = &chain->formula[formula];
    uint32_t after = chain_source_rank(chain, formula);
    if (before == NEVER && after == NEVER)
        return;
    cw_fact_id fact = model->rules[chain->index.rule_of[formula]].measure;
    cw_run atoms = model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id id = model->fact_atoms[atoms.first + i];
        const cw_atom *atom = &model->atoms[id];
        if (atom->kind == CW_ATOM_BAND)
            chain_support_changed(chain, id, chain_band_rank(atom, before, was->number, was->error),
                                  chain_band_rank(atom, after, is->number, is->error));
        else if (atom->kind == CW_ATOM_KNOWN)
            chain_support_changed(chain, id, before, after);
    }
    chain->steps += atoms.count;
    chain_settle_later(chain, fact);
}

/* The number of a count, as long as it can only be one; *rank is that of its value. */
static bool read_count(const cw_chain *chain, cw_fact_id id, double *number, uint32_t *rank)
{
    const cw_model *model = chain->model;
    const cw_fact *fact = &model->facts[id];
    *number = model->values[fact->values.first + chain->pick[id]].number;
    *rank = chain_given(chain, id) != NULL ? 0 : NEVER;
    for (uint32_t i = 0; i < fact->atoms.count; i++) {
        cw_atom_id atom = model->fact_atoms[fact->atoms.first + i];
        if (model->atoms[atom].kind != CW_ATOM_VALUE || chain->atom[atom].rank == NEVER)
            continue;
        if (model->atoms[atom].value == chain->pick[id])
            *rank = chain->atom[atom].rank < *rank ? chain->atom[atom].rank : *rank;
        else if (chain->known[id] == CW_DOUBTFUL_FACT)
            return false;
    }
    return true;
}

/* A formula is worked out when everything it names is known; nothing is worked out from a conflict. */
static bool read_input(const cw_chain *chain, uint32_t formula, cw_fact_id fact, double *number,
                       double *error, uint32_t *rank)
{
    *error = 0;
    if (chain->known[fact] != CW_KNOWN && chain->known[fact] != CW_DOUBTFUL_FACT)
        return false;
    if (chain->model->facts[fact].kind == CW_STAMPED) {
        *number = chain->read[formula];
        *rank = 0;
        return !isnan(*number);
    }
    if (chain_is_finite(&chain->model->facts[fact]))
        return read_count(chain, fact, number, rank);
    if (chain->pick[fact] == NEVER) {
        const cw_answer *answer = chain_given(chain, fact);
        *number = answer->number;
        *error = answer->error;
        *rank = 0;
        return true;
    }
    *number = chain->formula[chain->pick[fact]].number;
    *error = chain->formula[chain->pick[fact]].error;
    *rank = chain_source_rank(chain, chain->pick[fact]);
    return true;
}

static chain_formula work_out(const cw_chain *chain, uint32_t id)
{
    const cw_formula *formula = chain->model->rules[chain->index.rule_of[id]].formula;
    const chain_formula cannot = {.inputs = NEVER};
    const uint32_t *inputs;
    size_t count = cw_formula_inputs(formula, &inputs);
    double *values = chain->scratch->values, *errors = chain->scratch->errors;
    chain_formula out = {.inputs = 0};
    for (size_t i = 0; i < count; i++) {
        uint32_t rank;
        if (!read_input(chain, id, inputs[i], &values[i], &errors[i], &rank))
            return cannot;
        out.inputs = rank > out.inputs ? rank : out.inputs;
    }
    return cw_formula_value(formula, values, errors, &out.number, &out.error) ? out : cannot;
}

void chain_formula_work_out(cw_chain *chain, uint32_t formula)
{
    cw_rule_id rule = chain->index.rule_of[formula];
    chain_formula was = chain->formula[formula], is = work_out(chain, formula);
    chain->steps++;
    if (was.inputs == is.inputs && was.number == is.number && was.error == is.error)
        return;
    uint32_t before = chain_rule_rank(chain, rule);
    chain->formula[formula] = is;
    chain_source_changed(chain, formula, before, &was);
}

bool cw_chain_worked_out(const cw_chain *chain, cw_rule_id rule, double *number, double *error)
{
    if (rule == 0 || rule > chain->model->rules_count || chain->model->rules[rule].measure == 0)
        return false;
    const chain_formula *formula = &chain->formula[chain_formula_of(chain, rule)];
    *number = formula->number;
    *error = formula->error;
    return formula->inputs != NEVER;
}

typedef struct source {
    double number, error;
    uint32_t rank;
} source;

/* The i-th source: the answer first (NEVER rank when there is none), then the formulas. */
static source source_at(const cw_chain *chain, cw_fact_id fact, uint32_t i)
{
    if (i == 0) {
        const cw_answer *answer = chain_given(chain, fact);
        if (answer == NULL)
            return (source){.rank = NEVER};
        return (source){answer->number, answer->error, 0};
    }
    uint32_t formula = chain->index.sources.items[chain->index.sources.start[fact] + i - 1];
    const chain_formula *outcome = &chain->formula[formula];
    return (source){outcome->number, outcome->error, chain_source_rank(chain, formula)};
}

static bool disagree(source a, source b)
{
    double apart = fabs(a.number - b.number), size = fmax(fabs(a.number), fabs(b.number));
    return apart > 2 * hypot(a.error, b.error) && apart > 1e-9 * size;
}

/* Nearest to the answers; at a tie the most exact, then the smallest: never the order of rules. */
static bool better(source a, source b)
{
    if (a.rank != b.rank)
        return a.rank < b.rank;
    return a.error != b.error ? a.error < b.error : a.number < b.number;
}

cw_known chain_settle_number(const cw_chain *chain, cw_fact_id fact, uint32_t *pick)
{
    const chain_list *sources = &chain->index.sources;
    uint32_t count = sources->start[fact + 1] - sources->start[fact] + 1;
    source best = {.rank = NEVER};
    bool conflict = false;
    *pick = NEVER;
    for (uint32_t i = 0; i < count; i++) {
        source one = source_at(chain, fact, i);
        for (uint32_t j = 0; j < i && !conflict && one.rank < MAYBE; j++) {
            source other = source_at(chain, fact, j);
            conflict = other.rank < MAYBE && disagree(one, other);
        }
        if (one.rank == NEVER || !better(one, best))
            continue;
        best = one;
        *pick = i == 0 ? NEVER : sources->items[sources->start[fact] + i - 1];
    }
    return conflict            ? CW_CONFLICT
           : best.rank < MAYBE ? CW_KNOWN
           : best.rank < NEVER ? CW_DOUBTFUL_FACT
                               : CW_UNKNOWN;
}

cw_known cw_chain_number(const cw_chain *chain, cw_fact_id fact, double *number, double *error)
{
    if (fact == 0 || fact > chain->model->facts_count || chain->model->facts[fact].kind != CW_MEASURE ||
        chain->known[fact] == CW_UNKNOWN)
        return CW_UNKNOWN;
    uint32_t pick = chain->pick[fact];
    *number = pick == NEVER ? chain_given(chain, fact)->number : chain->formula[pick].number;
    *error = pick == NEVER ? chain_given(chain, fact)->error : chain->formula[pick].error;
    return (cw_known)chain->known[fact];
}
