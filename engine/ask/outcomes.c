/* The answers that a check can give. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

static cw_status values_of(cw_asker *asker, cw_fact_id fact, ask_outcome **out, uint32_t *count)
{
    *count = asker->model->facts[fact].values.count;
    *out = CW_NEW_ARRAY(asker->check, ask_outcome, *count);
    for (uint32_t i = 0; *out != NULL && i < *count; i++)
        (*out)[i].answer = (cw_answer){.fact = fact, .value = i};
    return *out == NULL ? CW_NO_MEMORY : CW_OK;
}

/* A reading in the middle of the piece, as far as the range goes. */
static double reading(double low, double high, cw_interval range)
{
    low = fmax(low, range.low);
    high = fmin(high, range.high);
    if (isinf(low) && isinf(high))
        return 0;
    if (isinf(low))
        return high - 1;
    return isinf(high) ? low + 1 : low + (high - low) / 2;
}

static cw_status pieces_of(cw_asker *asker, const cw_chain *chain, cw_check_id id, cw_about about,
                           ask_outcome **out, uint32_t *count)
{
    const cw_check *check = &asker->model->checks[id];
    double *cuts = NULL;
    cw_status status = ask_cuts(asker, chain, id, about, &cuts, count);
    if (status != CW_OK)
        return status;
    uint32_t cut_count = (*count)++;
    *out = CW_NEW_ARRAY(asker->check, ask_outcome, *count);
    for (uint32_t i = 0; *out != NULL && i < *count; i++) {
        double low = i == 0 ? -INFINITY : cuts[i - 1], high = i == cut_count ? INFINITY : cuts[i];
        double error = check->tools.count == 0 ? 0 : asker->model->tools[check->tools.first].error;
        (*out)[i] = (ask_outcome){
            {.fact = check->fact, .number = reading(low, high, check->range), .error = error}, low, high};
    }
    return *out == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Patterns that rules or units look for in the text: marks them by number. */
static void mark_patterns(const cw_asker *asker, cw_fact_id fact, bool *spoken)
{
    const cw_model *model = asker->model;
    cw_run atoms = model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        const cw_atom *atom = &model->atoms[model->fact_atoms[atoms.first + i]];
        if (atom->kind == CW_ATOM_LIKE)
            spoken[atom->value] = true;
    }
    for (uint32_t i = 0; i < asker->measuring_count; i++) {
        const cw_rule *rule = &model->rules[asker->measuring[i]];
        const uint32_t *inputs;
        if (rule->reading != NULL && cw_formula_inputs(rule->formula, &inputs) == 1 && inputs[0] == fact)
            spoken[rule->reading->pattern] = true;
    }
    for (uint32_t h = 1; h < asker->hypothesis_count; h++) {
        const cw_sign *sign = ask_unit_sign(model, asker->hypotheses[h], fact);
        for (uint32_t i = 0; sign != NULL && i < sign->patterns.count; i++)
            spoken[model->pattern_lists[sign->patterns.first + i]] = true;
    }
}

/* Ranking cannot say that memory failed while a pattern was compiled. */
static cw_status ready_patterns(const cw_model *model, const bool *spoken)
{
    cw_status status = CW_OK;
    for (uint32_t i = 1; i <= model->patterns_count && status == CW_OK; i++)
        if (spoken[i])
            status = cw_pattern_ready(model->patterns[i]);
    return status;
}

/* A text that none of them matches, NULL if each of those tried is. */
static cw_status unlike(const cw_asker *asker, const bool *spoken, const char **out)
{
    static const char *const plain[] = {"-", "0", "zz", "#", "~~ ~~"};
    *out = NULL;
    for (size_t t = 0; t < sizeof plain / sizeof *plain && *out == NULL; t++) {
        bool matched = false;
        for (uint32_t i = 1; i <= asker->model->patterns_count && !matched; i++) {
            if (!spoken[i])
                continue;
            cw_status status =
                cw_pattern_match(asker->model->patterns[i], plain[t], strlen(plain[t]), &matched, NULL, NULL);
            if (status == CW_NO_MEMORY)
                return status;
        }
        if (!matched)
            *out = plain[t];
    }
    return CW_OK;
}

/* The pattern's text, made the first time; "" when none was found. NULL when memory fails. */
static const char *sample_of(cw_asker *asker, uint32_t pattern)
{
    char text[CW_ANSWER_MAX_TEXT + 1];
    bool found = false;
    if (asker->samples[pattern] == NULL &&
        ask_sample(asker->model->patterns[pattern], text, sizeof text, &found) == CW_OK)
        asker->samples[pattern] = found ? cw_arena_text(asker->fixed, text, strlen(text)) : "";
    return asker->samples[pattern];
}

static bool among(const ask_outcome *outcomes, uint32_t count, const char *text)
{
    for (uint32_t i = 0; i < count; i++)
        if (strcmp(outcomes[i].answer.text, text) == 0)
            return true;
    return false;
}

static cw_status texts_of(cw_asker *asker, cw_fact_id fact, ask_outcome **out, uint32_t *count)
{
    size_t patterns = asker->model->patterns_count;
    bool *spoken = CW_NEW_ARRAY(asker->check, bool, patterns + 1);
    *out = CW_NEW_ARRAY(asker->check, ask_outcome, patterns + 1);
    *count = 0;
    if (spoken == NULL || *out == NULL)
        return CW_NO_MEMORY;
    mark_patterns(asker, fact, spoken);
    const char *none = NULL;
    cw_status status = ready_patterns(asker->model, spoken);
    if (status == CW_OK)
        status = unlike(asker, spoken, &none);
    if (none != NULL)
        (*out)[(*count)++].answer = (cw_answer){.fact = fact, .text = none};
    for (uint32_t i = 1; i <= patterns && status == CW_OK; i++) {
        const char *text = spoken[i] ? sample_of(asker, i) : "";
        if (text == NULL)
            status = CW_NO_MEMORY;
        else if (text[0] != '\0' && !among(*out, *count, text))
            (*out)[(*count)++].answer = (cw_answer){.fact = fact, .text = text};
    }
    return status;
}

cw_status ask_outcomes(cw_asker *asker, const cw_chain *chain, cw_check_id check, cw_about about,
                       const ask_outcome **out, uint32_t *count)
{
    cw_fact_id fact = asker->model->checks[check].fact;
    ask_outcome *made = NULL;
    cw_status status = CW_OK;
    switch (asker->model->facts[fact].kind) {
    case CW_MEASURE:
        status = pieces_of(asker, chain, check, about, &made, count);
        break;
    case CW_STAMPED:
        status = texts_of(asker, fact, &made, count);
        break;
    case CW_YES_OR_NO:
    case CW_CHOICE:
    case CW_COUNT:
        status = values_of(asker, fact, &made, count);
        break;
    case CW_WHICH_UNIT: /* never asked: the ranking of units is for finding it */
        *count = 0;
        break;
    }
    *out = made;
    return status;
}
