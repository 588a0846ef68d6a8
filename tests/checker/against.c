#include "checker/against.h"

#include <criterion/criterion.h>
#include <math.h>

void against_answer(cw_chain *chain, const checker *judge, const char *name)
{
    const cw_model *model = cw_chain_model(chain);
    cw_fact_id fact = cw_model_fact(model, name);
    checker_reading reading = checker_read(judge, name);
    cr_assert_neq(fact, 0u, "the engine knows no %s", name);
    cw_answer answer = {
        .fact = fact, .number = reading.number, .error = reading.error, .text = reading.value};
    switch (reading.kind) {
    case CHECKER_NOTHING:
        cr_assert_eq(cw_chain_withdraw(chain, fact), CW_OK);
        return;
    case CHECKER_CANT_TELL:
        answer.cant_tell = true;
        break;
    case CHECKER_CHOICE:
        answer.value = model->facts[fact].kind == CW_WHICH_UNIT ? cw_model_unit(model, reading.value)
                                                                : cw_fact_value(model, fact, reading.value);
        cr_assert_neq(answer.value, UINT32_MAX, "%s: the engine knows no %s", name, reading.value);
        break;
    case CHECKER_NUMBER:
    case CHECKER_TEXT:
        break;
    }
    cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK, "%s", name);
}

static cw_truth value_truth(const cw_chain *chain, cw_fact_id fact, uint32_t value)
{
    cw_atom_id atom = cw_fact_value_atom(cw_chain_model(chain), fact, value);
    const cw_answer *answer = cw_chain_answered(chain, fact);
    if (atom != 0)
        return cw_chain_truth(chain, atom);
    return answer != NULL && !answer->cant_tell && answer->value == value ? CW_YES : CW_NO;
}

static void against_values(const cw_chain *chain, const checker *judge, cw_fact_id id, const char *where)
{
    const cw_model *model = cw_chain_model(chain);
    const cw_fact *fact = &model->facts[id];
    int yes = 0, maybe = 0;
    for (uint32_t v = 0; v < fact->values.count; v++) {
        const char *value = model->values[fact->values.first + v].name;
        checker_truth want = checker_value(judge, fact->name, value);
        yes += want == CHECKER_YES;
        maybe += want == CHECKER_DOUBTFUL;
        cr_expect_eq((int)value_truth(chain, id, v), (int)want, "%s: %s = %s is %d, the checker says %d",
                     where, fact->name, value, (int)value_truth(chain, id, v), (int)want);
    }
    uint32_t value = 0;
    cw_known want = yes > 1 ? CW_CONFLICT : yes == 1 ? CW_KNOWN : maybe > 0 ? CW_DOUBTFUL_FACT : CW_UNKNOWN;
    cr_expect_eq(cw_chain_value(chain, id, &value), want, "%s: %s", where, fact->name);
}

static void against_number(const cw_chain *chain, const checker *judge, cw_fact_id id, const char *where)
{
    const char *name = cw_chain_model(chain)->facts[id].name;
    double number = 0, error = 0, want_number = 0, want_error = 0;
    cw_known known = cw_chain_number(chain, id, &number, &error);
    checker_known want = checker_number(judge, name, &want_number, &want_error);
    cr_expect_eq((int)known, (int)want, "%s: %s is %d, the checker says %d", where, name, (int)known,
                 (int)want);
    /* In a conflict any of the numbers may stand. */
    if (known != CW_UNKNOWN && want != CHECKER_UNKNOWN && want != CHECKER_CONFLICT)
        cr_expect(checker_has_source(judge, name, number, error),
                  "%s: %s = %.12g +- %.12g, the checker says %.12g +- %.12g", where, name, number, error,
                  want_number, want_error);
}

static void against_condition(const cw_chain *chain, cw_atom_id atom, checker_truth want, const char *where,
                              const char *name)
{
    cr_expect_eq((int)cw_chain_truth(chain, atom), (int)want,
                 "%s: the condition of %s is %d, the checker says %d", where, name,
                 (int)cw_chain_truth(chain, atom), (int)want);
}

static size_t against_conditions(const cw_chain *chain, const checker *judge, const char *where)
{
    const cw_model *model = cw_chain_model(chain);
    size_t seen = 0;
    for (uint32_t i = 1; i <= model->cautions_count; i++, seen++)
        if (model->cautions[i].atom != 0)
            cr_expect_eq((int)cw_chain_truth(chain, model->cautions[i].atom),
                         (int)checker_caution(judge, model->cautions[i].name), "%s: caution %s", where,
                         model->cautions[i].name);
    for (uint32_t i = 1; i <= model->checks_count; i++)
        if (model->checks[i].only_if != 0) {
            seen++;
            against_condition(chain, model->checks[i].only_if,
                              checker_condition(judge, "checks", model->checks[i].name, "only_if"), where,
                              model->checks[i].name);
        }
    for (uint32_t i = 1; i <= model->checks_count; i++)
        if (model->checks[i].first_while != 0) {
            seen++;
            against_condition(chain, model->checks[i].first_while,
                              checker_condition(judge, "checks", model->checks[i].name, "first_while"), where,
                              model->checks[i].name);
        }
    for (uint32_t i = 1; i <= model->causes_count; i++)
        if (model->causes[i].ruled_out != 0) {
            seen++;
            against_condition(chain, model->causes[i].ruled_out,
                              checker_condition(judge, "causes", model->causes[i].name, "ruled_out_by"),
                              where, model->causes[i].name);
        }
    return seen;
}

size_t against_all(const cw_chain *chain, const checker *judge, const char *where)
{
    const cw_model *model = cw_chain_model(chain);
    for (cw_fact_id f = 1; f <= model->facts_count; f++) {
        if (model->facts[f].kind == CW_MEASURE)
            against_number(chain, judge, f, where);
        else if (model->facts[f].kind != CW_STAMPED)
            against_values(chain, judge, f, where);
    }
    return model->facts_count + against_conditions(chain, judge, where);
}
