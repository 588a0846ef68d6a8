/* Cases to counts. */
#include "learn/inside.h"

#include <string.h>

static void *take(cw_learner *learner, size_t count, size_t size)
{
    return cw_arena_array(learner->arena, count + 1, size);
}

/* Facts of one `each` stand together and share a background. */
static void find_first_facts(cw_learner *learner)
{
    const cw_model *model = learner->model;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        const char *name = model->facts[fact].name, *bracket = strchr(name, '[');
        const size_t size = bracket == NULL ? 0 : (size_t)(bracket - name) + 1;
        const bool same = fact > 1 && size > 0 && strncmp(model->facts[fact - 1].name, name, size) == 0;
        learner->first_of[fact] = same ? learner->first_of[fact - 1] : fact;
    }
}

static cw_status find_links_into(cw_learner *learner)
{
    const cw_model *model = learner->model;
    uint32_t count = 0;
    for (cw_cause_id from = 1; from <= model->causes_count; from++)
        for (uint32_t i = 0; i < model->causes[from].leads_to.count; i++, count++)
            learner->into[model->links[model->causes[from].leads_to.first + i].to].count++;
    learner->links_into = take(learner, count, sizeof *learner->links_into);
    if (learner->links_into == NULL)
        return CW_NO_MEMORY;
    uint32_t first = 0;
    for (cw_cause_id to = 1; to <= model->causes_count; to++) {
        learner->into[to].first = first;
        first += learner->into[to].count;
        learner->into[to].count = 0;
    }
    for (cw_cause_id from = 1; from <= model->causes_count; from++)
        for (uint32_t i = 0; i < model->causes[from].leads_to.count; i++) {
            const uint32_t link = model->causes[from].leads_to.first + i;
            cw_run *into = &learner->into[model->links[link].to];
            learner->links_into[into->first + into->count++] = link;
        }
    return CW_OK;
}

static cw_status fill(cw_learner *learner)
{
    const cw_model *model = learner->model;
    learner->arena = cw_arena_new(&learner->allocator);
    if (learner->arena == NULL)
        return CW_NO_MEMORY;
    learner->names = cw_names_new(learner->arena);
    learner->first_of = take(learner, model->facts_count, sizeof *learner->first_of);
    learner->into = take(learner, model->causes_count, sizeof *learner->into);
    learner->present = take(learner, model->causes_count, sizeof *learner->present);
    learner->unclear = take(learner, model->causes_count, sizeof *learner->unclear);
    if (learner->names == NULL || learner->first_of == NULL || learner->into == NULL ||
        learner->present == NULL || learner->unclear == NULL)
        return CW_NO_MEMORY;
    find_first_facts(learner);
    return find_links_into(learner);
}

cw_status cw_learner_new(const cw_model *model, const cw_identity_tables *tables,
                         const cw_allocator *allocator, cw_learner **out)
{
    *out = NULL;
    cw_learner *learner = cw_allocate(allocator, sizeof *learner);
    if (learner == NULL)
        return CW_NO_MEMORY;
    *learner = (cw_learner){.allocator = *allocator, .model = model, .tables = tables};
    learner->rows = CW_VEC_INIT(&learner->allocator, row);
    learner->numbers = CW_VEC_INIT(&learner->allocator, uint32_t);
    learner->key = CW_VEC_INIT(&learner->allocator, uint32_t);
    if (fill(learner) != CW_OK) {
        cw_learner_free(learner);
        return CW_NO_MEMORY;
    }
    *out = learner;
    return CW_OK;
}

void cw_learner_free(cw_learner *learner)
{
    if (learner == NULL)
        return;
    cw_vec_dispose(&learner->rows);
    cw_vec_dispose(&learner->numbers);
    cw_vec_dispose(&learner->key);
    cw_arena_free(learner->arena);
    const cw_allocator allocator = learner->allocator;
    cw_release(&allocator, learner, sizeof *learner);
}

/* --- one row --- */

static cw_status add_number(cw_learner *learner, uint32_t number)
{
    uint32_t *place = cw_vec_add(&learner->key);
    if (place == NULL)
        return CW_NO_MEMORY;
    *place = number;
    return CW_OK;
}

static uint64_t bits_of(double number)
{
    union {
        double number;
        uint64_t bits;
    } both = {.number = number};
    return both.bits;
}

static cw_status begin(cw_learner *learner, row_kind kind, uint32_t about, cw_fact_id fact, uint32_t value,
                       double times)
{
    const uint64_t bits = bits_of(times);
    const uint32_t head[] = {kind, about, fact, value, (uint32_t)(bits >> 32), (uint32_t)bits};
    _Static_assert(sizeof head / sizeof *head == AT_MAKERS, "makers come behind the head");
    cw_status status = CW_OK;
    learner->key.count = 0;
    for (size_t i = 0; i < AT_MAKERS && status == CW_OK; i++)
        status = add_number(learner, head[i]);
    return status;
}

static row *new_row(cw_learner *learner)
{
    const size_t size = learner->key.count, first = learner->numbers.count;
    row *made = cw_vec_add(&learner->rows);
    if (made == NULL)
        return NULL;
    *made = (row){.first = (uint32_t)first, .size = (uint32_t)size};
    for (size_t i = 0; i < size; i++) {
        uint32_t *place = first + size > UINT32_MAX ? NULL : cw_vec_add(&learner->numbers);
        if (place == NULL) {
            learner->rows.count--;
            learner->numbers.count = first;
            return NULL;
        }
        *place = *CW_VEC_AT(&learner->key, uint32_t, i);
    }
    return made;
}

/* Counts the row once more; unit: see row. Once a row has a name and no place, nothing fits together any
 * more. */
static cw_status count_row(cw_learner *learner, uint32_t unit)
{
    if (learner->failed)
        return CW_NO_MEMORY;
    const uint32_t number =
        cw_names_add(learner->names, learner->key.items, learner->key.count * sizeof(uint32_t));
    learner->failed = number == 0 || (number > learner->rows.count && new_row(learner) == NULL);
    if (learner->failed)
        return CW_NO_MEMORY;
    row *counted = CW_VEC_AT(&learner->rows, row, number - 1);
    counted->unit = unit;
    counted->cases++;
    return CW_OK;
}

/* --- causes --- */

static bool counts(const cw_evidence *evidence)
{
    return evidence->yields_to == 0;
}

/* What circumstances do to the odds; false when they rule the cause out. */
static bool odds_of(const cw_model *model, const cw_chain *chain, const cw_cause *cause, double *times)
{
    *times = 1;
    for (uint32_t i = cause->shifts.first; i < cause->shifts.first + cause->shifts.count; i++)
        if (cw_chain_truth(chain, model->shifts[i].atom) == CW_YES)
            *times *= model->shifts[i].times;
    return cause->ruled_out == 0 || cw_chain_truth(chain, cause->ruled_out) != CW_YES;
}

static cw_status add_presence(cw_learner *learner, const cw_chain *chain, cw_cause_id id)
{
    const cw_model *model = learner->model;
    const cw_run into = learner->into[id];
    double times;
    if (learner->unclear[id] || !odds_of(model, chain, &model->causes[id], &times))
        return CW_OK;
    for (uint32_t i = into.first; i < into.first + into.count; i++) {
        const uint32_t link = learner->links_into[i];
        if (learner->unclear[model->links[link].from] && model->links[link].chance > 0)
            return CW_OK;
    }
    cw_status status = begin(learner, ROW_PRESENCE, id, 0, learner->present[id], times);
    if (status == CW_OK)
        status = add_number(learner, id);
    for (uint32_t i = into.first; i < into.first + into.count && status == CW_OK; i++) {
        const uint32_t link = learner->links_into[i];
        if (learner->present[model->links[link].from])
            status = add_number(learner, model->causes_count + 1 + link);
    }
    return status == CW_OK ? count_row(learner, 0) : status;
}

/* What kind of job came in: which causes were ruled out, or had other odds than usual. */
static cw_status add_came_in(cw_learner *learner, const cw_chain *chain)
{
    const cw_model *model = learner->model;
    cw_status status = begin(learner, ROW_PRESENCE, 0, 0, 0, 1);
    for (cw_cause_id id = 1; id <= model->causes_count && status == CW_OK; id++) {
        double times;
        if (!odds_of(model, chain, &model->causes[id], &times))
            times = 0;
        if (times != 1) {
            const uint64_t bits = bits_of(times);
            status = add_number(learner, id);
            status = status == CW_OK ? add_number(learner, (uint32_t)(bits >> 32)) : status;
            status = status == CW_OK ? add_number(learner, (uint32_t)bits) : status;
        }
    }
    return status == CW_OK ? count_row(learner, 0) : status;
}

/* All that was there is known, and the packs say that it can be. */
static bool is_whole(const cw_learner *learner, const cw_chain *chain)
{
    const cw_model *model = learner->model;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        double times;
        if (learner->unclear[id] ||
            (learner->present[id] && !odds_of(model, chain, &model->causes[id], &times)))
            return false;
    }
    return true;
}

/* Where a unit with nothing wrong is not brought in like any other, how many such there were says nothing;
 * and of the others only those count of which the whole is known, for a part says nothing of how often all
 * was well. */
static cw_status add_all_present(cw_learner *learner, const cw_chain *chain, size_t present_count)
{
    const bool chosen = learner->model->idle < 1;
    cw_status status = CW_OK;
    if (chosen && (present_count == 0 || !is_whole(learner, chain)))
        return CW_OK;
    if (chosen)
        status = add_came_in(learner, chain);
    for (cw_cause_id id = 1; id <= learner->model->causes_count && status == CW_OK; id++)
        status = add_presence(learner, chain, id);
    return status;
}

/* The sign of a cause on a fact, as 1 + its index; 0 = none. */
static uint32_t sign_on(const cw_model *model, cw_cause_id cause, cw_fact_id fact)
{
    const cw_run signs = model->causes[cause].signs;
    for (uint32_t i = signs.first; i < signs.first + signs.count; i++)
        if (model->signs[i].fact == fact)
            return i + 1;
    return 0;
}

static cw_status add_finding(cw_learner *learner, const cw_evidence *seen, const cw_cause_id *present,
                             size_t present_count, const cw_cause_id *unclear, size_t unclear_count)
{
    const cw_model *model = learner->model;
    if (model->facts[seen->fact].values.count == 0 || model->facts[seen->fact].cause_signs == 0)
        return CW_OK;
    for (size_t i = 0; i < unclear_count; i++)
        if (learner->unclear[unclear[i]] && sign_on(model, unclear[i], seen->fact) != 0)
            return CW_OK;
    cw_status status = begin(learner, ROW_FINDING, learner->first_of[seen->fact], 0, seen->value, 1);
    if (status == CW_OK)
        status = add_number(learner, 0);
    for (size_t i = 0; i < present_count && status == CW_OK; i++) {
        const uint32_t sign = sign_on(model, present[i], seen->fact);
        if (sign != 0 && learner->present[present[i]])
            status = add_number(learner, sign);
    }
    return status == CW_OK ? count_row(learner, 0) : status;
}

static void mark(bool *marks, const cw_cause_id *causes, size_t count, bool value)
{
    for (size_t i = 0; i < count; i++)
        marks[causes[i]] = value;
}

/* In order of id, each once: rows do not hang on the order of the label. */
static size_t in_order(cw_learner *learner, const cw_cause_id *causes, size_t count, cw_cause_id *out)
{
    size_t kept = 0;
    mark(learner->present, causes, count, true);
    for (cw_cause_id id = 1; id <= learner->model->causes_count && kept < count; id++)
        if (learner->present[id])
            out[kept++] = id;
    return kept;
}

cw_status cw_learner_add_causes(cw_learner *learner, const cw_chain *chain, const cw_evidence *evidence,
                                size_t evidence_count, const cw_cause_id *present, size_t present_count,
                                const cw_cause_id *unclear, size_t unclear_count)
{
    const size_t room = present_count * sizeof *present;
    cw_cause_id *ordered = present_count == 0 ? NULL : cw_allocate(&learner->allocator, room);
    if (ordered == NULL && present_count > 0)
        return CW_NO_MEMORY;
    const size_t count = in_order(learner, present, present_count, ordered);
    mark(learner->unclear, unclear, unclear_count, true);
    mark(learner->unclear, present, present_count, false);
    cw_status status = add_all_present(learner, chain, count);
    for (size_t i = 0; i < evidence_count && status == CW_OK; i++)
        if (counts(&evidence[i]))
            status = add_finding(learner, &evidence[i], ordered, count, unclear, unclear_count);
    mark(learner->present, present, present_count, false);
    mark(learner->unclear, unclear, unclear_count, false);
    if (ordered != NULL)
        cw_release(&learner->allocator, ordered, room);
    return status;
}

/* --- units --- */

static const cw_sign *unit_sign(const cw_model *model, cw_unit_id unit, cw_fact_id fact)
{
    const cw_run signs = model->units[unit].signs;
    for (uint32_t i = signs.first; i < signs.first + signs.count; i++)
        if (model->signs[i].fact == fact && model->signs[i].kind == CW_SIGN_VALUES)
            return &model->signs[i];
    return NULL;
}

static cw_unit_id said_by(const cw_sign *sign, cw_unit_id unit)
{
    return sign->said_by != 0 ? sign->said_by : unit;
}

static cw_status add_shown(cw_learner *learner, const cw_evidence *seen, const cw_unit_id *units,
                           size_t unit_count)
{
    const cw_sign *sign = unit_sign(learner->model, units[0], seen->fact);
    if (sign == NULL)
        return CW_OK;
    const cw_unit_id by = said_by(sign, units[0]);
    for (size_t i = 1; i < unit_count; i++) {
        const cw_sign *other = unit_sign(learner->model, units[i], seen->fact);
        if (other == NULL || said_by(other, units[i]) != by)
            return CW_OK;
    }
    cw_status status = begin(learner, ROW_UNIT_SHOWS, by, seen->fact, seen->value, 1);
    return status == CW_OK ? count_row(learner, units[0]) : status;
}

cw_status cw_learner_add_unit(cw_learner *learner, const cw_evidence *evidence, size_t evidence_count,
                              const cw_unit_id *units, size_t unit_count)
{
    cw_status status = unit_count == 0 ? CW_OK : begin(learner, ROW_UNIT, 0, 0, 0, 1);
    cw_unit_id last = 0;
    for (size_t n = 0; n < unit_count && status == CW_OK; n++) {
        cw_unit_id next = UINT32_MAX; /* the smallest above the last */
        for (size_t i = 0; i < unit_count; i++)
            if (units[i] > last && units[i] < next)
                next = units[i];
        if (next != UINT32_MAX)
            status = add_number(learner, last = next);
    }
    if (unit_count > 0 && status == CW_OK)
        status = count_row(learner, 0);
    for (size_t i = 0; i < evidence_count && unit_count > 0 && status == CW_OK; i++)
        if (counts(&evidence[i]))
            status = add_shown(learner, &evidence[i], units, unit_count);
    return status;
}
