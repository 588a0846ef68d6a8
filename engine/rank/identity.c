#include "rank/identity.h"

#include "rank/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LOG_2PI 1.837877066409345483560659

/* What is fixed for one fact. */
typedef struct fact_table {
    uint32_t average; /* finite: first of its entries in tables->averages */
    double swapped, blunders;
    double width;      /* measures: of the range */
    uint32_t patterns; /* stamped: first of its entries in tables->patterns */
    uint32_t pattern_count;
} fact_table;

struct cw_identity_tables {
    cw_allocator allocator;
    const cw_model *model;
    fact_table *facts;  /* by id */
    double *averages;   /* seen-weighted mean over the versions with a sign */
    double *weights;    /* by fact: seen of those versions; only while averages are made */
    uint32_t *patterns; /* known patterns of each stamped fact, each once */
    size_t average_count, pattern_room;
    double seen; /* of all versions */
    uint32_t versions;
};

/* The versions' weights: `seen`, or all alike where none was ever seen. */
static double seen_of(const cw_identity_tables *tables, cw_unit_id unit)
{
    return tables->seen > 0 ? tables->model->units[unit].seen : 1;
}

static const cw_sign *sign_of(const cw_model *model, cw_unit_id unit, cw_fact_id fact)
{
    return unit == 0 ? NULL : rank_sign(model, model->units[unit].signs, fact);
}

/* -- Tables -- */

static void average_sign(cw_identity_tables *tables, cw_unit_id unit, const cw_sign *sign)
{
    const double seen = seen_of(tables, unit);
    double *average = &tables->averages[tables->facts[sign->fact].average];
    for (uint32_t v = 0; v < tables->model->facts[sign->fact].values.count; v++)
        average[v] += seen * sign->chances[v];
    tables->weights[sign->fact] += seen;
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
        const cw_sign *sign = sign_of(model, unit, fact);
        if (sign != NULL && sign->kind == CW_SIGN_NORMAL) {
            low = fmin(low, sign->mean - 4 * sign->sd);
            high = fmax(high, sign->mean + 4 * sign->sd);
        }
    }
    return high > low ? high - low : 1;
}

static void fill_fact(cw_identity_tables *tables, cw_fact_id id)
{
    const cw_model *model = tables->model;
    const cw_fact *fact = &model->facts[id];
    fact_table *table = &tables->facts[id];
    if (fact->check != 0) {
        table->swapped = model->checks[fact->check].swapped;
        table->blunders = model->checks[fact->check].blunders;
    }
    if (fact->kind == CW_MEASURE)
        table->width = width_of(model, id);
    double *average = &tables->averages[table->average];
    for (uint32_t v = 0; v < fact->values.count; v++)
        average[v] = tables->weights[id] > 0 ? average[v] / tables->weights[id] : 1.0 / fact->values.count;
}

static void add_pattern(cw_identity_tables *tables, fact_table *table, uint32_t pattern)
{
    for (uint32_t i = 0; i < table->pattern_count; i++)
        if (tables->patterns[table->patterns + i] == pattern)
            return;
    tables->patterns[table->patterns + table->pattern_count++] = pattern;
}

/* Two walks over the signs: room for each fact's patterns, then the patterns. */
static void fill_patterns(cw_identity_tables *tables)
{
    const cw_model *model = tables->model;
    for (int walk = 0; walk < 2; walk++) {
        for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
            for (uint32_t i = 0; i < model->units[unit].signs.count; i++) {
                const cw_sign *sign = &model->signs[model->units[unit].signs.first + i];
                fact_table *table = &tables->facts[sign->fact];
                for (uint32_t p = 0; sign->kind == CW_SIGN_PATTERNS && p < sign->patterns.count; p++) {
                    if (walk == 0)
                        table->pattern_count++;
                    else
                        add_pattern(tables, table, model->pattern_lists[sign->patterns.first + p]);
                }
            }
        uint32_t first = 0;
        for (cw_fact_id id = 1; walk == 0 && id <= model->facts_count; id++) {
            tables->facts[id].patterns = first;
            first += tables->facts[id].pattern_count;
            tables->facts[id].pattern_count = 0;
        }
    }
}

static void fill(cw_identity_tables *tables)
{
    const cw_model *model = tables->model;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
        for (uint32_t i = 0; model->units[unit].version && i < model->units[unit].signs.count; i++) {
            const cw_sign *sign = &model->signs[model->units[unit].signs.first + i];
            if (sign->kind == CW_SIGN_VALUES)
                average_sign(tables, unit, sign);
        }
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        fill_fact(tables, id);
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
        tables->versions++;
        tables->seen += model->units[unit].seen;
        for (uint32_t i = 0; i < model->units[unit].signs.count; i++)
            tables->pattern_room += model->signs[model->units[unit].signs.first + i].patterns.count;
    }
}

cw_status cw_identity_tables_new(const cw_model *model, const cw_allocator *allocator,
                                 cw_identity_tables **out)
{
    bool failed = false;
    cw_identity_tables *tables = rank_take(allocator, 0, sizeof *tables, &failed);
    if (failed)
        return CW_NO_MEMORY;
    tables->allocator = *allocator;
    tables->model = model;
    tables->facts = rank_take(allocator, model->facts_count, sizeof *tables->facts, &failed);
    tables->weights = rank_take(allocator, model->facts_count, sizeof *tables->weights, &failed);
    if (!failed)
        measure(tables);
    tables->averages = rank_take(allocator, tables->average_count, sizeof *tables->averages, &failed);
    tables->patterns = rank_take(allocator, tables->pattern_room, sizeof *tables->patterns, &failed);
    if (failed) {
        cw_identity_tables_free(tables);
        return CW_NO_MEMORY;
    }
    fill(tables);
    *out = tables;
    return CW_OK;
}

void cw_identity_tables_free(cw_identity_tables *tables)
{
    if (tables == NULL)
        return;
    const cw_allocator allocator = tables->allocator;
    rank_give(&allocator, tables->facts, tables->model->facts_count, sizeof *tables->facts);
    rank_give(&allocator, tables->weights, tables->model->facts_count, sizeof *tables->weights);
    rank_give(&allocator, tables->averages, tables->average_count, sizeof *tables->averages);
    rank_give(&allocator, tables->patterns, tables->pattern_room, sizeof *tables->patterns);
    rank_give(&allocator, tables, 0, sizeof *tables);
}

/* -- Likelihoods, as logarithms -- */

static double mixed(const fact_table *table, double own, double swapped_in, double blunder)
{
    return (1 - table->blunders) * ((1 - table->swapped) * own + table->swapped * swapped_in) +
           table->blunders * blunder;
}

static double value_chance(const cw_identity_tables *tables, cw_fact_id fact, uint32_t value, cw_unit_id unit)
{
    const fact_table *table = &tables->facts[fact];
    const double n = tables->model->facts[fact].values.count;
    const double average = tables->averages[table->average + value];
    const cw_sign *sign = sign_of(tables->model, unit, fact);
    double own = unit == 0 ? average / 2 + 1 / (2 * n) : average;
    if (sign != NULL)
        own = sign->chances[value];
    return mixed(table, own, average, 1 / n);
}

/* Far out a density is too small for a double; alone, it has a logarithm all the same. */
static double log_measured(const cw_identity_tables *tables, const cw_evidence *evidence, cw_unit_id unit)
{
    const fact_table *table = &tables->facts[evidence->fact];
    const cw_sign *sign = sign_of(tables->model, unit, evidence->fact);
    if (sign == NULL)
        return -log(table->width);
    const double least = 1e-9 * table->width; /* an exact reading of an exact size is a density, too */
    const double variance = fmax(sign->sd * sign->sd + evidence->error * evidence->error, least * least);
    const double off = evidence->number - sign->mean;
    const double own = -0.5 * (LOG_2PI + log(variance) + off * off / variance);
    if (table->swapped <= 0 && table->blunders <= 0)
        return own;
    return log(mixed(table, exp(own), 1 / table->width, 1 / table->width));
}

/* Whether a pattern matches; one that runs out of steps does not (the chain has refused such texts). */
static bool matches(const cw_model *model, uint32_t pattern, const char *text)
{
    bool matched = false;
    return cw_pattern_match(model->patterns[pattern], text, strlen(text), &matched, NULL, NULL) == CW_OK &&
           matched;
}

/* c of the header: how likely a text is that the unit itself does not explain. */
static double stranger(const cw_identity_tables *tables, const cw_evidence *evidence)
{
    const fact_table *table = &tables->facts[evidence->fact];
    for (uint32_t i = 0; i < table->pattern_count; i++)
        if (matches(tables->model, tables->patterns[table->patterns + i], evidence->text))
            return 0.01;
    return 0.99;
}

static double text_chance(const cw_identity_tables *tables, const cw_evidence *evidence, cw_unit_id unit,
                          double c)
{
    const cw_model *model = tables->model;
    const cw_sign *sign = sign_of(model, unit, evidence->fact);
    double own = c;
    if (sign != NULL) {
        double best = 0, sum = 0;
        for (uint32_t i = 0; i < sign->patterns.count; i++) {
            sum += sign->chances[i];
            if (sign->chances[i] > best &&
                matches(model, model->pattern_lists[sign->patterns.first + i], evidence->text))
                best = sign->chances[i];
        }
        own = best > 0 ? best : (sum < 1 ? (1 - sum) * c : 0);
    }
    return mixed(&tables->facts[evidence->fact], own, c, 0.5);
}

/* c: of stranger(), for texts only. */
static double log_likelihood(const cw_identity_tables *tables, const cw_evidence *evidence, cw_unit_id unit,
                             double c)
{
    if (evidence->text != NULL)
        return log(text_chance(tables, evidence, unit, c));
    if (tables->model->facts[evidence->fact].values.count == 0)
        return log_measured(tables, evidence, unit);
    return log(value_chance(tables, evidence->fact, evidence->value, unit));
}

double cw_identity_likelihood(const cw_identity_tables *tables, const cw_evidence *evidence, cw_unit_id unit)
{
    const double c = evidence->text != NULL ? stranger(tables, evidence) : 0;
    return exp(log_likelihood(tables, evidence, unit, c));
}

void cw_identity_log_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, double *logs)
{
    const double c = evidence->text != NULL ? stranger(tables, evidence) : 0;
    size_t count = 0;
    logs[count++] = log_likelihood(tables, evidence, 0, c);
    for (cw_unit_id unit = 1; unit <= tables->model->units_count; unit++)
        if (tables->model->units[unit].version)
            logs[count++] = log_likelihood(tables, evidence, unit, c);
}

void cw_identity_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, double *out)
{
    const cw_model *model = tables->model;
    const bool finite = evidence->text == NULL && model->facts[evidence->fact].values.count > 0;
    const double c = evidence->text != NULL ? stranger(tables, evidence) : 0;
    size_t count = 0;
    for (cw_unit_id unit = 0; unit <= model->units_count; unit++) {
        if (unit != 0 && !model->units[unit].version)
            continue;
        out[count++] = finite ? value_chance(tables, evidence->fact, evidence->value, unit)
                              : exp(log_likelihood(tables, evidence, unit, c));
    }
}

void cw_identity_chances(const cw_identity_tables *tables, cw_fact_id fact, cw_unit_id unit, double *chances)
{
    for (uint32_t v = 0; v < tables->model->facts[fact].values.count; v++)
        chances[v] = value_chance(tables, fact, v, unit);
}

/* -- Ranking -- */

typedef struct line {
    cw_unit_id unit; /* 0: not listed */
    double prior, log, probability, seen;
} line;

/* By the logarithm first: it still tells apart what is 0 as a double. */
static int by_probability(const void *a, const void *b)
{
    const line *left = a, *right = b;
    if (left->log != right->log)
        return left->log > right->log ? -1 : 1;
    if (left->probability != right->probability)
        return left->probability > right->probability ? -1 : 1;
    if (left->seen != right->seen)
        return left->seen > right->seen ? -1 : 1;
    return left->unit < right->unit ? -1 : left->unit > right->unit;
}

/* Line 0 is "not listed", the versions follow. */
static void start_lines(const cw_identity_tables *tables, line *lines)
{
    const cw_model *model = tables->model;
    const double seen = tables->seen > 0 ? tables->seen : tables->versions;
    const double not_listed = tables->versions > 0 ? model->not_listed : 1;
    size_t count = 0;
    lines[count++] = (line){.unit = 0, .prior = not_listed};
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
        if (model->units[unit].version)
            lines[count++] = (line){.unit = unit,
                                    .prior = (1 - not_listed) * seen_of(tables, unit) / seen,
                                    .seen = model->units[unit].seen};
    for (size_t i = 0; i < count; i++)
        lines[i].log = log(lines[i].prior);
}

static void weigh(const cw_identity_tables *tables, const cw_evidence *evidence, line *lines, size_t count)
{
    const double c = evidence->text != NULL ? stranger(tables, evidence) : 0;
    for (size_t i = 0; i < count; i++)
        if (lines[i].log > -INFINITY)
            lines[i].log += log_likelihood(tables, evidence, lines[i].unit, c);
}

/* Evidence that rules everything out leaves the shares as they were. */
static void normalise(line *lines, size_t count)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < count; i++)
        if (lines[i].log > most)
            most = lines[i].log;
    for (size_t i = 0; i < count; i++) {
        lines[i].probability = most > -INFINITY ? exp(lines[i].log - most) : lines[i].prior;
        sum += lines[i].probability;
    }
    for (size_t i = 0; i < count; i++)
        lines[i].probability /= sum;
}

cw_status cw_identity_rank(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                           cw_arena *arena, cw_identity *out)
{
    const size_t versions = tables->versions;
    line *lines = CW_NEW_ARRAY(arena, line, versions + 1);
    cw_unit_id *units = CW_NEW_ARRAY(arena, cw_unit_id, versions);
    double *probability = CW_NEW_ARRAY(arena, double, versions);
    if (lines == NULL || units == NULL || probability == NULL)
        return CW_NO_MEMORY;
    start_lines(tables, lines);
    for (size_t i = 0; i < count; i++)
        if (evidence[i].yields_to == 0)
            weigh(tables, &evidence[i], lines, versions + 1);
    normalise(lines, versions + 1);
    qsort(lines + 1, versions, sizeof *lines, by_probability);
    for (size_t i = 0; i < versions; i++) {
        units[i] = lines[i + 1].unit;
        probability[i] = lines[i + 1].probability;
    }
    *out = (cw_identity){(uint32_t)versions, units, probability, lines[0].probability};
    return CW_OK;
}

double cw_identity_below(const cw_model *model, const cw_identity *identity, cw_unit_id unit)
{
    double sum = 0;
    for (uint32_t i = 0; i < identity->count; i++)
        for (cw_unit_id id = identity->units[i]; id != 0; id = model->units[id].parent)
            if (id == unit)
                sum += identity->probability[i];
    return sum;
}
