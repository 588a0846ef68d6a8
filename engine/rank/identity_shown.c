/* What each unit shows of a fact, as it was built and once swapped: `own`, avg and even of the header, then
 * blunders mixed in. Not listed comes first, the versions follow. */
#include "rank/inside.h"

#include <math.h>
#include <string.h>

#define LOG_2PI 1.837877066409345483560659

const cw_sign *rank_sign_at(const cw_identity_tables *tables, uint32_t version, cw_fact_id fact)
{
    return rank_sign(tables->model, tables->model->units[tables->listed[version]].signs, fact);
}

static double mixed(const rank_fact *table, double real, double even)
{
    return (1 - table->blunders) * real + table->blunders * even;
}

/* -- Values -- */

static double value_shown(const cw_identity_tables *tables, cw_fact_id fact, uint32_t value, cw_unit_id unit)
{
    const double average = tables->averages[tables->facts[fact].average + value];
    if (unit == 0)
        return average / 2 + 0.5 / tables->model->facts[fact].values.count;
    const cw_sign *sign = rank_sign(tables->model, tables->model->units[unit].signs, fact);
    return sign != NULL ? sign->chances[value] : average;
}

/* Returns even. */
static double values_shown(const cw_identity_tables *tables, const cw_evidence *e, double *own,
                           double *average)
{
    const rank_column *column = &tables->columns[e->fact];
    own[0] = value_shown(tables, e->fact, e->value, 0);
    *average = tables->averages[tables->facts[e->fact].average + e->value];
    for (uint32_t i = 0; i < tables->versions && column->count < tables->versions; i++)
        own[i + 1] = *average;
    for (uint32_t i = 0; i < column->count; i++)
        own[column->lines == NULL ? i + 1 : column->lines[i]] = column->built[column->kinds[i]][e->value];
    return 1.0 / tables->model->facts[e->fact].values.count;
}

/* -- Measures, as logarithms -- */

/* Of a normal distribution, between two limits; told from the tail they lie in, where little is left to lose.
 */
static double within(double low, double high, double sd)
{
    if (low > 0)
        return within(-high, -low, sd);
    return (erfc(-high / (sd * sqrt(2))) - erfc(-low / (sd * sqrt(2)))) / 2;
}

/* An exact reading of an exact size is a density, too, and needs a slope to be integrated over. */
static double variance_of(const cw_sign *sign, const cw_evidence *e, double width)
{
    const double least = 1e-9 * width;
    return fmax(sign->sd * sign->sd + e->error * e->error, least * least);
}

static double chance_between(const cw_sign *sign, const cw_evidence *e, double width)
{
    return within(e->low - sign->mean, e->high - sign->mean, sqrt(variance_of(sign, e, width)));
}

double rank_sign_log_density(const cw_sign *sign, const cw_evidence *e, double width)
{
    if (e->between)
        return log(chance_between(sign, e, width));
    const double variance = variance_of(sign, e, width);
    const double off = e->number - sign->mean;
    return -0.5 * (LOG_2PI + log(variance) + off * off / variance);
}

/* What is spread evenly over the range. */
double rank_even_measure(const cw_identity_tables *tables, const cw_evidence *e)
{
    const rank_fact *table = &tables->facts[e->fact];
    const cw_interval *range = &tables->model->checks[tables->model->facts[e->fact].check].range;
    if (!e->between || range->high <= range->low)
        return 1 / table->width;
    return fmax(fmin(e->high, range->high) - fmax(e->low, range->low), 0) / table->width;
}

/* The seen-weighted mean of those with a sign, whose logarithms stand in `own`. */
static double log_average(const cw_identity_tables *tables, const cw_evidence *e, const double *own,
                          double log_even)
{
    double most = -INFINITY, weight = 0, sum = 0;
    for (uint32_t i = 0; i < tables->versions; i++)
        if (rank_sign_at(tables, i, e->fact) != NULL) {
            most = fmax(most, own[i + 1]);
            weight += rank_seen(tables, tables->listed[i]);
        }
    if (weight <= 0 || most == -INFINITY)
        return weight <= 0 ? log_even : most;
    for (uint32_t i = 0; i < tables->versions; i++)
        if (rank_sign_at(tables, i, e->fact) != NULL)
            sum += rank_seen(tables, tables->listed[i]) * exp(own[i + 1] - most);
    return most + log(sum / weight);
}

static void measure_shown(const cw_identity_tables *tables, const cw_evidence *e, double *own,
                          double *average)
{
    const rank_fact *table = &tables->facts[e->fact];
    const double even = rank_even_measure(tables, e);
    const cw_sign *last = NULL; /* versions of one frame share its sizes: worked out once */
    double density = 0;
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_sign *sign = rank_sign_at(tables, i, e->fact);
        if (sign != NULL && (last == NULL || sign->mean != last->mean || sign->sd != last->sd))
            density = rank_sign_log_density(sign, e, table->width);
        own[i + 1] = sign != NULL ? density : 0;
        last = sign != NULL ? sign : last;
    }
    *average = log_average(tables, e, own, log(even));
    for (uint32_t i = 0; i < tables->versions; i++)
        if (rank_sign_at(tables, i, e->fact) == NULL)
            own[i + 1] = *average;
    own[0] = log(exp(*average) / 2 + even / 2);
    if (table->blunders <= 0)
        return;
    for (uint32_t i = 0; i <= tables->versions; i++)
        own[i] = log(mixed(table, exp(own[i]), even));
    *average = log(mixed(table, exp(*average), even));
}

/* The same of a reading between two limits, which is no density and needs no logarithms. Returns even. */
static double between_shown(const cw_identity_tables *tables, const cw_evidence *e, double *own,
                            double *average)
{
    const double even = rank_even_measure(tables, e);
    const cw_sign *last = NULL;
    double chance = 0, weight = 0, sum = 0;
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_sign *sign = rank_sign_at(tables, i, e->fact);
        own[i + 1] = -1;
        if (sign == NULL)
            continue;
        if (last == NULL || sign->mean != last->mean || sign->sd != last->sd)
            chance = chance_between(sign, e, tables->facts[e->fact].width);
        last = sign;
        own[i + 1] = chance;
        weight += rank_seen(tables, tables->listed[i]);
        sum += rank_seen(tables, tables->listed[i]) * chance;
    }
    *average = weight > 0 ? sum / weight : even;
    for (uint32_t i = 0; i < tables->versions; i++)
        if (own[i + 1] < 0)
            own[i + 1] = *average;
    own[0] = *average / 2 + even / 2;
    return even;
}

/* -- Texts -- */

/* Whether a pattern matches; one that runs out of steps does not (the chain has refused such texts). */
static bool matches(const cw_model *model, uint32_t pattern, const char *text)
{
    bool matched = false;
    return cw_pattern_match(model->patterns[pattern], text, strlen(text), &matched, NULL, NULL) == CW_OK &&
           matched;
}

/* c of the header: how likely a text is that the unit itself does not explain. */
double rank_stranger(const cw_identity_tables *tables, const cw_evidence *e)
{
    const rank_fact *table = &tables->facts[e->fact];
    for (uint32_t i = 0; i < table->pattern_count; i++)
        if (matches(tables->model, tables->patterns[table->patterns + i], e->text))
            return 0.01;
    return 0.99;
}

/* The chance of the likeliest pattern that matches; 0 if none does. */
double rank_text_shown(const cw_model *model, const cw_sign *sign, const char *text)
{
    double best = 0;
    for (uint32_t i = 0; i < sign->patterns.count; i++)
        if (sign->chances[i] > best && matches(model, model->pattern_lists[sign->patterns.first + i], text))
            best = sign->chances[i];
    return best;
}

/* What is left for texts that no pattern of the sign matches. */
static double unexplained(const cw_sign *sign)
{
    double sum = 0;
    for (uint32_t i = 0; i < sign->patterns.count; i++)
        sum += sign->chances[i];
    return sum < 1 ? 1 - sum : 0;
}

bool rank_same_texts(const cw_model *model, const cw_sign *a, const cw_sign *b)
{
    if (a->patterns.count != b->patterns.count)
        return false;
    for (uint32_t i = 0; i < a->patterns.count; i++)
        if (model->pattern_lists[a->patterns.first + i] != model->pattern_lists[b->patterns.first + i] ||
            a->chances[i] != b->chances[i])
            return false;
    return true;
}

static double texts_shown(const cw_identity_tables *tables, const cw_evidence *e, double *own,
                          double *average)
{
    const cw_sign *last = NULL; /* versions of one frame share its patterns: looked for once */
    double weight = 0, sum = 0, best = 0;
    bool known = false;
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_sign *sign = rank_sign_at(tables, i, e->fact);
        own[i + 1] = 0;
        if (sign == NULL)
            continue;
        if (last == NULL || !rank_same_texts(tables->model, sign, last))
            best = rank_text_shown(tables->model, sign, e->text);
        last = sign;
        own[i + 1] = best;
        known |= best > 0;
    }
    const double c = known ? 0.01 : rank_stranger(tables, e);
    own[0] = c;
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_sign *sign = rank_sign_at(tables, i, e->fact);
        if (own[i + 1] <= 0)
            own[i + 1] = sign != NULL ? unexplained(sign) * c : c;
        const double seen = sign != NULL ? rank_seen(tables, tables->listed[i]) : 0;
        weight += seen;
        sum += seen * own[i + 1];
    }
    *average = weight > 0 ? sum / weight : c;
    return 0.5;
}

/* -- All -- */

bool rank_is_measure(const cw_identity_tables *tables, const cw_evidence *e)
{
    return e->text == NULL && tables->model->facts[e->fact].values.count == 0;
}

void cw_identity_shown(const cw_identity_tables *tables, const cw_evidence *evidence, double *own,
                       double *average)
{
    const bool measure = rank_is_measure(tables, evidence);
    if (measure && !evidence->between) {
        measure_shown(tables, evidence, own, average);
        for (uint32_t i = 0; i <= tables->versions; i++)
            own[i] = exp(own[i]);
        *average = exp(*average);
        return;
    }
    const rank_fact *table = &tables->facts[evidence->fact];
    const double even = measure                  ? between_shown(tables, evidence, own, average)
                        : evidence->text != NULL ? texts_shown(tables, evidence, own, average)
                                                 : values_shown(tables, evidence, own, average);
    for (uint32_t i = 0; i <= tables->versions; i++)
        own[i] = mixed(table, own[i], even);
    *average = mixed(table, *average, even);
}

void rank_shown_logs(const cw_identity_tables *tables, const cw_evidence *evidence, double *own,
                     double *average)
{
    if (rank_is_measure(tables, evidence)) {
        measure_shown(tables, evidence, own, average);
        return;
    }
    cw_identity_shown(tables, evidence, own, average);
    for (uint32_t i = 0; i <= tables->versions; i++)
        own[i] = log(own[i]);
    *average = log(*average);
}

void cw_identity_chances(const cw_identity_tables *tables, cw_fact_id fact, cw_unit_id unit, double swapped,
                         double *chances)
{
    const rank_fact *table = &tables->facts[fact];
    const uint32_t count = tables->model->facts[fact].values.count;
    for (uint32_t v = 0; v < count; v++) {
        const double own = value_shown(tables, fact, v, unit);
        const double average = unit == 0 ? own : tables->averages[table->average + v];
        chances[v] = mixed(table, (1 - swapped) * own + swapped * average, 1.0 / count);
    }
}
