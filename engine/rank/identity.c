#include "rank/identity.h"

#include "rank/inside.h"

#include <math.h>
#include <stdlib.h>

/* -- Likelihoods, as logarithms -- */

double cw_identity_swapped(const cw_identity_tables *tables, cw_fact_id fact)
{
    return tables->facts[fact].swapped;
}

/* Whether two pieces share one swap. */
bool rank_swapped_together(const cw_identity_tables *tables, const cw_evidence *a, const cw_evidence *b)
{
    const uint32_t group = tables->facts[a->fact].swap_group;
    return group != 0 && tables->facts[b->fact].swap_group == group;
}

bool rank_opens_group(const cw_identity_tables *tables, const cw_evidence *evidence, size_t at)
{
    for (size_t i = 0; i < at; i++)
        if (evidence[i].yields_to == 0 && rank_swapped_together(tables, &evidence[at], &evidence[i]))
            return false;
    return evidence[at].yields_to == 0;
}

static double log_sum(double a, double b)
{
    const double most = fmax(a, b);
    return most > -INFINITY ? most + log1p(exp(-fabs(a - b))) : most;
}

/* The sum over both states of the swap. For a unit in no catalogue it makes no odds. */
static void sum_out(double share, const cw_identity_tables *tables, double average, double *logs,
                    double *swapped)
{
    if (swapped != NULL)
        swapped[0] = 0;
    for (uint32_t i = 1; i <= tables->versions; i++) {
        double gone = -INFINITY;
        if (share > 0) {
            gone = log(share) + average;
            logs[i] = log_sum(log1p(-share) + logs[i], gone);
        }
        if (swapped != NULL)
            swapped[i] = logs[i] > -INFINITY ? exp(gone - logs[i]) : share;
    }
}

bool cw_identity_log_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                                 size_t at, double *logs, double *swapped, double *room)
{
    if (!rank_opens_group(tables, evidence, at))
        return false;
    double average = 0, piece = 0;
    rank_shown_logs(tables, &evidence[at], logs, &average);
    for (size_t k = at + 1; k < count; k++) {
        if (evidence[k].yields_to != 0 || !rank_swapped_together(tables, &evidence[at], &evidence[k]))
            continue;
        rank_shown_logs(tables, &evidence[k], room, &piece);
        average += piece;
        for (uint32_t i = 0; i <= tables->versions; i++)
            logs[i] += room[i];
    }
    sum_out(tables->facts[evidence[at].fact].swapped, tables, average, logs, swapped);
    return true;
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
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_unit_id unit = tables->listed[i];
        lines[count++] = (line){.unit = unit,
                                .prior = (1 - not_listed) * rank_seen(tables, unit) / seen,
                                .seen = model->units[unit].seen};
    }
    for (size_t i = 0; i < count; i++)
        lines[i].log = log(lines[i].prior);
}

static void weigh(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count, line *lines,
                  double *logs, double *room)
{
    for (size_t at = 0; at < count; at++)
        if (cw_identity_log_likelihoods(tables, evidence, count, at, logs, NULL, room))
            for (size_t i = 0; i <= tables->versions; i++)
                lines[i].log += logs[i];
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
    double *logs = CW_NEW_ARRAY(arena, double, versions + 1),
           *room = CW_NEW_ARRAY(arena, double, versions + 1);
    if (lines == NULL || units == NULL || probability == NULL || logs == NULL || room == NULL)
        return CW_NO_MEMORY;
    start_lines(tables, lines);
    weigh(tables, evidence, count, lines, logs, room);
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
