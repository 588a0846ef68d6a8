/* From tries to plain numbers: a few hypotheses, and how likely each answer of a check is under each of them.
 * Units exclude each other, so that is what their likelihoods say. Causes do not: what an answer says of one,
 * whatever else is wrong, is P(answer) * P(cause | answer) / P(cause); of two at once the same with both
 * ratios, as if the answer told of each by itself. */
#include "ask/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double least_named = 0.005; /* less probable ones are not weighed one by one */
static const double most_open = 0.05;    /* units: what may be left outside the table */
static const double likely = 0.15;       /* causes this probable may be true together */
static const double least_both = 0.03;   /* pairs less probable are not weighed by themselves */
enum { LIKELY = 4, UNITS_NAMED = 16, CAUSES_NAMED = POLICY_HYPOTHESES - 2 - ASK_BOTH };

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
    find_named(f->chance, 0, hypotheses, UNITS_NAMED, out);
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

/* -- Two causes at once -- */

static int by_chance(const void *a, const void *b)
{
    const cw_cause_pair *left = a, *right = b;
    if (left->given_one != right->given_one)
        return left->given_one > right->given_one ? -1 : 1;
    if (left->one != right->one)
        return left->one < right->one ? -1 : 1;
    return left->other < right->other ? -1 : left->other > right->other;
}

/* The pairs of likely causes whose repairs are known, by their place among the named; given_one is made what
 * both of them are, the likeliest pair first. */
static cw_status find_both(ask_call *call, const ask_footing *f, const ask_table *table, cw_cause_pair *pairs,
                           uint32_t *count)
{
    const cw_cause *causes = call->asker->model->causes;
    *count = 0;
    for (uint32_t b = 1; b < table->named && b < LIKELY; b++)
        for (uint32_t a = 0; a < b && f->chance[table->members[b]] >= likely; a++)
            if (causes[table->members[a]].minutes > 0 && causes[table->members[b]].minutes > 0)
                pairs[(*count)++] = (cw_cause_pair){table->members[a], table->members[b], 0};
    if (*count == 0 || call->steps >= call->max_steps)
        return CW_OK;
    const cw_status status = cw_causes_both(call->asker->causes, f->chain, f->evidence, f->count,
                                            call->max_steps - call->steps, pairs, *count, &call->steps);
    for (uint32_t i = 0; i < *count; i++)
        pairs[i].given_one *= f->chance[pairs[i].one];
    qsort(pairs, *count, sizeof *pairs, by_chance);
    return status;
}

static uint32_t place_of(const ask_table *table, cw_cause_id id)
{
    uint32_t at = 0;
    while (table->members[at] != id)
        at++;
    return at;
}

/* Takes from `left`, by named cause, what its pairs have; what they have stands in the table. */
static cw_status take_pairs(ask_call *call, const ask_footing *f, double *left, ask_table *out)
{
    cw_cause_pair pairs[LIKELY * (LIKELY - 1) / 2];
    uint32_t count = 0;
    const cw_status status =
        call->limits->stage == CW_TRIAGE ? find_both(call, f, out, pairs, &count) : CW_OK;
    for (uint32_t i = 0; i < count && out->pair_count < ASK_BOTH; i++) {
        const uint32_t one = place_of(out, pairs[i].one), other = place_of(out, pairs[i].other),
                       both = out->named + 2 + out->pair_count;
        const double share = fmin(pairs[i].given_one, fmin(left[one], left[other]));
        if (share < least_both)
            continue;
        left[one] -= share;
        left[other] -= share;
        out->chance[both] = share;
        out->pairs[out->pair_count++] = (policy_pair){both, one, other};
    }
    return status;
}

static cw_status of_causes(ask_call *call, const ask_footing *f, ask_table *out)
{
    const uint32_t causes = call->asker->model->causes_count;
    double named = 0;
    find_named(f->chance, 1, causes + 1, CAUSES_NAMED, out);
    for (uint32_t i = 0; i < out->named; i++)
        named += out->chance[i] = f->chance[out->members[i]];
    out->all = sum_of(f->chance + 1, causes);
    out->others = of_others(f->chance, out->all, out);
    out->held = named + out->others > 0 ? named / (named + out->others) : 0;
    const cw_status status = take_pairs(call, f, out->chance, out);
    double all = named + out->others;
    const double wrong = 1 - f->nothing;
    for (uint32_t i = 0; i < out->pair_count; i++)
        all -= out->chance[out->pairs[i].both]; /* it was counted with both of its causes */
    out->chance[out->named] = out->others;
    out->count = out->named == 0 ? 0 : out->named + 2 + out->pair_count;
    for (uint32_t i = 0; i < out->count; i++)
        out->chance[i] = all > 0 ? wrong * out->chance[i] / all : 0;
    out->chance[out->named + 1] = f->nothing;
    out->faults = wrong > 0 ? all / wrong : 0;
    return status;
}

cw_status ask_table_new(ask_call *call, const ask_footing *f, size_t rows, ask_table *out)
{
    *out = (ask_table){.rows = CW_NEW_ARRAY(call->asker->call, ask_row, rows)};
    if (out->rows == NULL)
        return CW_NO_MEMORY;
    if (call->about != CW_ABOUT_UNITS)
        return of_causes(call, f, out);
    of_units(f, call->asker->hypothesis_count, out);
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
    for (uint32_t i = 0; i < table->pair_count; i++) {
        const policy_pair *pair = &table->pairs[i];
        const cw_cause_id other = table->members[pair->other];
        class->given[pair->both] = class->given[pair->one] * ratio(by_cause[other], f->chance[other]);
    }
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
