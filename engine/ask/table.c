/* From tries to plain numbers: a few hypotheses, and how likely each answer of a check is under each of them.
 * Units exclude each other, so that is what their likelihoods say. Causes do not: what an answer says of one,
 * whatever else is wrong, is P(answer) * P(cause | answer) / P(cause). */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

static const double least_named = 0.005; /* less probable ones are not weighed one by one */
static const double most_open = 0.05;    /* units: what may be left outside the table */

/* The most probable first; of equal ones the one with the smaller number. */
static void find_named(const double *chance, uint32_t from, uint32_t to, uint32_t room, ask_table *out)
{
    for (uint32_t i = from; i < to; i++) {
        uint32_t at = out->named;
        while (at > 0 && chance[i] > chance[out->members[at - 1]])
            at--;
        if (chance[i] < least_named || at == room)
            continue;
        uint32_t last = out->named < room ? out->named++ : room - 1;
        memmove(&out->members[at + 1], &out->members[at], (last - at) * sizeof out->members[0]);
        out->members[at] = i;
    }
}

static void of_units(const ask_footing *f, uint32_t hypotheses, ask_table *out)
{
    double sum = 0;
    find_named(f->chance, 0, hypotheses, POLICY_HYPOTHESES, out);
    for (uint32_t i = 0; i < out->named; i++)
        sum += f->chance[out->members[i]];
    for (uint32_t i = 0; i < out->named; i++)
        out->chance[i] = f->chance[out->members[i]] / sum;
    out->held = sum;
    out->count = sum < 1 - most_open ? 0 : out->named;
}

/* Four sums at a time do not wait for each other. */
static double sum_of(const double *terms, uint32_t count)
{
    double sums[4] = {0};
    for (uint32_t i = 0; i < count; i++)
        sums[i % 4] += terms[i];
    return (sums[0] + sums[1]) + (sums[2] + sums[3]);
}

static double of_others(const double *by_cause, double sum, const ask_table *table)
{
    for (uint32_t i = 0; i < table->named; i++)
        sum -= by_cause[table->members[i]];
    return fmax(sum, 0);
}

static void of_causes(const ask_footing *f, uint32_t causes, ask_table *out)
{
    double named = 0;
    find_named(f->chance, 1, causes + 1, POLICY_HYPOTHESES - 2, out);
    for (uint32_t i = 0; i < out->named; i++)
        named += f->chance[out->members[i]];
    out->all = sum_of(f->chance + 1, causes);
    out->others = of_others(f->chance, out->all, out);
    double all = named + out->others, wrong = 1 - f->nothing;
    for (uint32_t i = 0; i < out->named; i++)
        out->chance[i] = wrong * f->chance[out->members[i]] / all;
    if (all > 0) {
        out->chance[out->named] = wrong * out->others / all;
        out->held = named / all;
    }
    out->chance[out->named + 1] = f->nothing;
    out->faults = wrong > 0 ? all / wrong : 0;
    out->count = out->named == 0 ? 0 : out->named + 2;
}

cw_status ask_table_new(ask_call *call, const ask_footing *f, size_t rows, ask_table *out)
{
    *out = (ask_table){.rows = CW_NEW_ARRAY(call->asker->call, ask_row, rows)};
    if (out->rows == NULL)
        return CW_NO_MEMORY;
    if (call->about == CW_ABOUT_UNITS)
        of_units(f, call->asker->hypothesis_count, out);
    else
        of_causes(f, call->asker->model->causes_count, out);
    return CW_OK;
}

static double ratio(double after, double before)
{
    return before > 0 ? after / before : 1;
}

static double sum_of_tried(const ask_table *table, const ask_footing *f, const cw_causes_tried *tried,
                           uint32_t causes)
{
    double sum = table->all;
    if (tried->moved == NULL)
        return sum_of(tried->by_cause + 1, causes);
    for (uint32_t i = 0; i < tried->moved_count; i++)
        sum += tried->by_cause[tried->moved[i]] - f->chance[tried->moved[i]];
    return sum;
}

void ask_table_given(const ask_call *call, const ask_footing *f, const cw_causes_tried *tried,
                     ask_class *class)
{
    const double *by_cause = tried->by_cause;
    const ask_table *table = call->table;
    if (table == NULL || table->count == 0)
        return;
    for (uint32_t i = 0; i < table->named; i++)
        class->given[i] = class->weight * ratio(by_cause[table->members[i]], f->chance[table->members[i]]);
    double others =
        of_others(by_cause, sum_of_tried(table, f, tried, call->asker->model->causes_count), table);
    class->given[table->named] = class->weight * ratio(others, table->others);
    class->given[table->named + 1] = class->weight * ratio(tried->nothing, f->nothing);
}

static double likelihood(const ask_call *call, const ask_table *table, const ask_class *class, uint32_t at)
{
    double chance = call->about == CW_ABOUT_UNITS ? class->moved[table->members[at]] : class->given[at];
    return class->new_evidence ? chance : chance * class->outcomes;
}

/* One column. The class that adds nothing gets what the others leave, at least its share of the answers, as
 * when bits are expected (gain.c). */
static void fill(const ask_call *call, const ask_table *table, const ask_weighed *weighed, uint32_t at,
                 double *chance)
{
    double sum = 0, idle = 0;
    for (uint32_t c = 0; c < weighed->class_count; c++) {
        const ask_class *class = &weighed->classes[c];
        if (class->same)
            idle += (double)class->outcomes / weighed->outcome_count;
        else
            sum += likelihood(call, table, class, at);
    }
    idle = idle > 0 ? fmax(idle, 1 - sum) : 0;
    for (uint32_t c = 0; c < weighed->class_count; c++) {
        const ask_class *class = &weighed->classes[c];
        double *to = &chance[c * table->count + at];
        if (class->same)
            *to = sum > 0 ? idle : 1;
        else if (sum > 0)
            *to = (1 - idle) * likelihood(call, table, class, at) / sum;
        else /* it cannot show any of these: none speaks for it or against */
            *to = idle > 0 ? 0 : 1.0 / weighed->class_count;
    }
}

/* A column of the units' table: what each shows by its signs. */
static void fill_column(const ask_call *call, const ask_table *table, cw_fact_id fact, double *shows,
                        double *chance)
{
    const cw_asker *asker = call->asker;
    const uint32_t values = asker->model->facts[fact].values.count;
    for (uint32_t at = 0; at < table->count; at++) {
        cw_identity_chances(asker->tables, fact, asker->hypotheses[table->members[at]],
                            cw_identity_swapped(asker->tables, fact), shows);
        for (uint32_t v = 0; v < values; v++)
            chance[v * table->count + at] = shows[v];
    }
}

cw_status ask_table_row(const ask_call *call, ask_table *table, cw_check_id check, const ask_weighed *weighed)
{
    const uint32_t values =
        weighed->column != 0 ? call->asker->model->facts[weighed->column].values.count : weighed->class_count;
    if (table->count == 0 || values == 0)
        return CW_OK;
    double *chance = CW_NEW_ARRAY(call->asker->call, double, (size_t)values * table->count);
    double *shows = CW_NEW_ARRAY(call->asker->check, double, values);
    if (chance == NULL || shows == NULL)
        return CW_NO_MEMORY;
    if (weighed->column != 0)
        fill_column(call, table, weighed->column, shows, chance);
    for (uint32_t at = 0; at < table->count && weighed->column == 0; at++)
        fill(call, table, weighed, at, chance);
    table->rows[table->row_count++] = (ask_row){check, values, chance};
    return CW_OK;
}
