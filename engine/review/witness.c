/* The forward half of the search: answers within what is wanted, given to the engine. */
#include "review/search_inside.h"

#include <math.h>

/* Where no formula stands between, the middle of what is wanted lies as far from every limit as it can. A
 * formula may need its readings elsewhere: each is then tried at several spots, in steps that do not keep
 * time with each other. */
enum { TRIES = 25, COST = 1 };

static double spot(uint32_t attempt, uint32_t i)
{
    static const double spots[] = {0.5, 0.1, 0.9, 0.3, 0.7};
    uint32_t shift = attempt / 5 * i;
    return spots[(attempt + shift) % 5];
}

static uint32_t lowest(const wanted_answer *want)
{
    uint32_t value = 0;
    while ((want->mask[value / 64] >> (value % 64) & 1) == 0)
        value++;
    return value;
}

static cw_unit_id a_version(const cw_model *model, const wanted_answer *want)
{
    if (!want->unit_set)
        return CW_NOT_LISTED;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
        if (model->units[unit].version && cw_unit_within(model, unit, want->unit))
            return unit;
    return want->unit;
}

static double best_error(const cw_model *model, const cw_check *check)
{
    double best = INFINITY;
    for (uint32_t i = 0; i < check->tools.count; i++)
        if (model->tools[check->tools.first + i].error < best)
            best = model->tools[check->tools.first + i].error;
    return isinf(best) ? 0 : best;
}

static cw_answer make_answer(const review_search *s, uint32_t i, uint32_t attempt)
{
    const cw_model *model = s->model;
    cw_fact_id id = s->wanted[i];
    const cw_fact *fact = &model->facts[id];
    const wanted_answer *want = &s->wants[id];
    cw_answer answer = {.fact = id};
    switch (fact->kind) {
    case CW_MEASURE:
        answer.number = want->band.low + (want->band.high - want->band.low) * spot(attempt, i);
        answer.error = best_error(model, &model->checks[fact->check]);
        break;
    case CW_STAMPED:
        answer.text = "X";
        break;
    case CW_WHICH_UNIT:
        answer.value = a_version(model, want);
        break;
    default:
        answer.value = lowest(want);
    }
    return answer;
}

enum { REASONS = 64 };

static bool concludes(const review_search *s, cw_rule_id rule)
{
    cw_reason reasons[REASONS];
    size_t count = cw_chain_reasons(s->chain, s->model->rules[rule].head, reasons, REASONS);
    for (size_t i = 0; i < count && i < REASONS; i++)
        if (reasons[i].rule == rule)
            return reasons[i].truth == CW_YES;
    return false;
}

static bool is_known(const review_search *s, cw_fact_id fact)
{
    uint32_t value;
    double number, error;
    return cw_chain_value(s->chain, fact, &value) == CW_KNOWN ||
           cw_chain_number(s->chain, fact, &number, &error) == CW_KNOWN ||
           cw_chain_text(s->chain, fact) != NULL;
}

/* Nothing that the two rest on is in dispute itself: what hangs on answers that contradict each other
 * elsewhere is no fault of these rules. */
static bool rests_on_firm_ground(const review_search *s)
{
    cw_fact_id *disputed = s->disputed;
    size_t count = cw_chain_conflicts(s->chain, disputed, s->model->facts_count);
    for (size_t i = 0; i < count; i++)
        for (uint32_t k = 0; k < s->wanted_count; k++)
            if (s->wanted[k] == disputed[i] && disputed[i] != s->quarrel)
                return false;
    return true;
}

static bool comes_about(const review_search *s)
{
    if (!rests_on_firm_ground(s))
        return false;
    return s->quarrel != 0 ? concludes(s, s->rules[0]) && concludes(s, s->rules[1])
                           : is_known(s, s->facts[0]) && is_known(s, s->facts[1]);
}

/* Nobody is asked what does not concern the unit. */
static bool all_are_asked(const review_search *s)
{
    for (uint32_t i = 0; i < s->wanted_count; i++) {
        const cw_check *check = &s->model->checks[s->model->facts[s->wanted[i]].check];
        if (is_answer(s, i) && check->only_if != 0 && cw_chain_truth(s->chain, check->only_if) != CW_YES)
            return false;
    }
    return true;
}

static bool try_once(review_search *s, uint32_t attempt)
{
    bool fine = true;
    for (uint32_t i = 0; i < s->wanted_count && fine; i++) {
        if (!is_answer(s, i))
            continue;
        const cw_answer answer = make_answer(s, i, attempt);
        cw_status status = cw_chain_answer(s->chain, &answer);
        s->r->no_memory |= status == CW_NO_MEMORY;
        fine = status == CW_OK;
    }
    return fine && comes_about(s) && all_are_asked(s);
}

static void take_back(review_search *s)
{
    for (uint32_t i = 0; i < s->wanted_count; i++)
        if (is_answer(s, i))
            (void)cw_chain_withdraw(s->chain, s->wanted[i]);
}

bool witness_holds(review_search *search)
{
    uint32_t tries = search->formulas ? TRIES : 1;
    bool found = false;
    for (uint32_t attempt = 0; attempt < tries && !found && search->steps <= search->limit; attempt++) {
        search->steps += (uint64_t)search->wanted_count * COST;
        found = try_once(search, attempt);
        if (!found)
            take_back(search);
    }
    return found;
}

static void add_answer(review_search *s, cw_text *text, cw_fact_id id)
{
    const cw_fact *fact = &s->model->facts[id];
    const cw_answer *answer = cw_chain_answered(s->chain, id);
    cw_text_format(text, "%s%s: ", text->size > 0 ? ", " : "", fact->name);
    switch (fact->kind) {
    case CW_MEASURE:
        cw_quantity_show(text, answer->number, answer->error, fact->unit);
        break;
    case CW_STAMPED:
        cw_text_add(text, answer->text);
        break;
    case CW_WHICH_UNIT:
        cw_text_add(text, answer->value == CW_NOT_LISTED ? CW_NOT_LISTED_NAME
                                                         : s->model->units[answer->value].name);
        break;
    default:
        cw_text_add(text, s->model->values[fact->values.first + answer->value].name);
    }
}

const char *witness_say(review_search *search)
{
    cw_text text = CW_TEXT_INIT(search->r->allocator);
    for (uint32_t i = 0; i < search->wanted_count; i++)
        if (is_answer(search, i))
            add_answer(search, &text, search->wanted[i]);
    const char *kept =
        text.status == CW_OK ? cw_arena_text(search->r->arena, cw_text_get(&text), text.size) : NULL;
    cw_text_dispose(&text);
    take_back(search);
    search->r->no_memory |= kept == NULL;
    return kept != NULL ? kept : "";
}
