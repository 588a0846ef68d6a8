/* What does not depend on evidence: averages of the catalogue, widths of ranges, known patterns. */
#include "rank/column.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>

double rank_seen(const cw_identity_tables *tables, cw_unit_id unit)
{
    return tables->seen > 0 ? tables->model->units[unit].seen : 1;
}

static void average_sign(const cw_identity_tables *tables, double *weights, cw_unit_id unit,
                         const cw_sign *sign)
{
    const double seen = rank_seen(tables, unit);
    double *average = &tables->averages[tables->facts[sign->fact].average];
    for (uint32_t v = 0; v < tables->model->facts[sign->fact].values.count; v++)
        average[v] += seen * sign->chances[v];
    weights[sign->fact] += seen;
}

/* A range that says nothing (a model made without the pack reader) is taken as what the units themselves
 * span. */
static double width_of(const cw_model *model, cw_fact_id fact)
{
    const cw_check *check = &model->checks[model->facts[fact].check];
    const double width = check->range.high - check->range.low;
    if (model->facts[fact].check != 0 && width > 0 && isfinite(width))
        return width;
    double low = INFINITY, high = -INFINITY;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        const cw_sign *sign = rank_sign(model, model->units[unit].signs, fact);
        if (sign != NULL && sign->kind == CW_SIGN_NORMAL) {
            low = fmin(low, sign->mean - 4 * sign->sd);
            high = fmax(high, sign->mean + 4 * sign->sd);
        }
    }
    return high > low ? high - low : 1;
}

static void fill_fact(const cw_identity_tables *tables, double weight, cw_fact_id id)
{
    const cw_model *model = tables->model;
    const cw_fact *fact = &model->facts[id];
    rank_fact *table = &tables->facts[id];
    if (fact->check != 0) {
        table->swapped = model->checks[fact->check].swapped;
        table->swap_group = model->checks[fact->check].swap_group;
        table->blunders = model->checks[fact->check].blunders;
    }
    if (fact->kind == CW_MEASURE)
        table->width = width_of(model, id);
    double *average = &tables->averages[table->average];
    for (uint32_t v = 0; v < fact->values.count; v++)
        average[v] = weight > 0 ? average[v] / weight : 1.0 / fact->values.count;
}

static int by_number(const void *a, const void *b)
{
    const uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return x < y ? -1 : x > y;
}

/* A catalogue has thousands of patterns for one fact, and each version under a frame has those of the frame.
 */
static void keep_each_once(cw_identity_tables *tables, rank_fact *table)
{
    uint32_t *patterns = tables->patterns + table->patterns, kept = 0;
    if (table->pattern_count > 1)
        qsort(patterns, table->pattern_count, sizeof *patterns, by_number);
    for (uint32_t i = 0; i < table->pattern_count; i++)
        if (kept == 0 || patterns[kept - 1] != patterns[i])
            patterns[kept++] = patterns[i];
    table->pattern_count = kept;
}

/* Two walks over the signs: room for each fact's patterns, then the patterns. */
static void fill_patterns(cw_identity_tables *tables)
{
    const cw_model *model = tables->model;
    for (int walk = 0; walk < 2; walk++) {
        for (uint32_t i = 0; i < tables->versions; i++) {
            const cw_run signs = model->units[tables->listed[i]].signs;
            for (uint32_t k = signs.first; k < signs.first + signs.count; k++) {
                const cw_sign *sign = &model->signs[k];
                rank_fact *table = &tables->facts[sign->fact];
                for (uint32_t p = 0; sign->kind == CW_SIGN_PATTERNS && p < sign->patterns.count; p++) {
                    if (walk > 0)
                        tables->patterns[table->patterns + table->pattern_count] =
                            model->pattern_lists[sign->patterns.first + p];
                    table->pattern_count++;
                }
            }
        }
        uint32_t first = 0;
        for (cw_fact_id id = 1; walk == 0 && id <= model->facts_count; id++) {
            tables->facts[id].patterns = first;
            first += tables->facts[id].pattern_count;
            tables->facts[id].pattern_count = 0;
        }
    }
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        keep_each_once(tables, &tables->facts[id]);
}

/* weights, by fact: seen of the versions with a sign on it. */
static void fill(cw_identity_tables *tables, double *weights)
{
    const cw_model *model = tables->model;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
        for (uint32_t i = 0; model->units[unit].version && i < model->units[unit].signs.count; i++) {
            const cw_sign *sign = &model->signs[model->units[unit].signs.first + i];
            if (sign->kind == CW_SIGN_VALUES)
                average_sign(tables, weights, unit, sign);
        }
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        fill_fact(tables, weights[id], id);
    fill_patterns(tables);
}

/* How many averages and patterns there are at most. */
static void measure(cw_identity_tables *tables)
{
    const cw_model *model = tables->model;
    for (cw_fact_id id = 1; id <= model->facts_count; id++) {
        tables->facts[id].average = (uint32_t)tables->average_count;
        tables->average_count += model->facts[id].values.count;
    }
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        if (!model->units[unit].version)
            continue;
        tables->listed[tables->versions++] = unit;
        tables->seen += model->units[unit].seen;
        for (uint32_t i = 0; i < model->units[unit].signs.count; i++)
            tables->pattern_room += model->signs[model->units[unit].signs.first + i].patterns.count;
    }
}

static cw_status make(cw_identity_tables *tables, cw_arena *arena, cw_arena *scratch)
{
    const cw_model *model = tables->model;
    const size_t facts = (size_t)model->facts_count + 1;
    double *weights = CW_NEW_ARRAY(scratch, double, facts);
    tables->facts = CW_NEW_ARRAY(arena, rank_fact, facts);
    tables->listed = CW_NEW_ARRAY(arena, cw_unit_id, (size_t)model->units_count + 1);
    if (weights == NULL || tables->facts == NULL || tables->listed == NULL)
        return CW_NO_MEMORY;
    measure(tables);
    tables->averages = CW_NEW_ARRAY(arena, double, tables->average_count);
    tables->patterns = CW_NEW_ARRAY(arena, uint32_t, tables->pattern_room);
    if (tables->averages == NULL || tables->patterns == NULL)
        return CW_NO_MEMORY;
    fill(tables, weights);
    return rank_columns_make(tables, arena, scratch) ? CW_OK : CW_NO_MEMORY;
}

cw_status cw_identity_tables_in(const cw_model *model, cw_arena *arena, cw_identity_tables **out)
{
    cw_arena *scratch = cw_arena_new(cw_arena_allocator(arena));
    cw_identity_tables *tables = scratch == NULL ? NULL : CW_NEW(arena, cw_identity_tables);
    cw_status status = CW_NO_MEMORY;
    if (tables != NULL) {
        tables->model = model;
        status = make(tables, arena, scratch);
    }
    cw_arena_free(scratch);
    if (status == CW_OK)
        *out = tables;
    return status;
}

static cw_status own(cw_arena *arena, cw_status status, cw_identity_tables *tables, cw_identity_tables **out)
{
    if (status != CW_OK) {
        cw_arena_free(arena);
        return status;
    }
    assert(tables != NULL);
    tables->own = arena;
    *out = tables;
    return CW_OK;
}

cw_status cw_identity_tables_new(const cw_model *model, const cw_allocator *allocator,
                                 cw_identity_tables **out)
{
    cw_arena *arena = cw_arena_new(allocator);
    cw_identity_tables *tables = NULL;
    const cw_status status = arena == NULL ? CW_NO_MEMORY : cw_identity_tables_in(model, arena, &tables);
    return own(arena, status, tables, out);
}

cw_status cw_identity_tables_over(const cw_identity_tables *kept, const cw_model *model,
                                  const cw_allocator *allocator, cw_identity_tables **out)
{
    cw_arena *arena = cw_arena_new(allocator);
    cw_identity_tables *tables = arena == NULL ? NULL : CW_NEW(arena, cw_identity_tables);
    if (tables != NULL) {
        *tables = *kept;
        tables->model = model;
    }
    return own(arena, tables == NULL ? CW_NO_MEMORY : CW_OK, tables, out);
}

void cw_identity_tables_places(const cw_identity_tables *tables, cw_places *places)
{
    places->visit(places, &tables->own, CW_OF_NO_MEANING);
    places->visit(places, &tables->model, CW_OF_NO_MEANING);
    places->visit(places, &tables->facts, CW_INTO_ARENA);
    places->visit(places, &tables->listed, CW_INTO_ARENA);
    places->visit(places, &tables->averages, CW_INTO_ARENA);
    places->visit(places, &tables->patterns, CW_INTO_ARENA);
    places->visit(places, &tables->columns, CW_INTO_ARENA);
    rank_columns_places(tables, places);
}

void cw_identity_tables_free(cw_identity_tables *tables)
{
    if (tables != NULL)
        cw_arena_free(tables->own);
}
