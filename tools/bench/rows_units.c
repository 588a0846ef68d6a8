/* The next question among many versions: everything from an answer to the check that is asked next, beside
 * one multiply-and-add for each cell of the table of chances, laid out densely. */
#include "bench.h"
#include "workload.h"

#include <stdlib.h>

enum { UNITS_RUNS = 7, GIVEN = 3 };

typedef struct dense {
    size_t versions;
    double *table;  /* by check, choice, version */
    double *chance; /* by version */
    double sum;     /* so that the pass is not left out */
} dense;

static void dense_free(dense *d)
{
    free(d->table);
    free(d->chance);
}

static bool dense_new(unsigned versions, dense *out)
{
    const size_t cells = (size_t)versions * UNITS_CHECKS * UNITS_CHOICES;
    *out = (dense){versions, malloc(cells * sizeof(double)), malloc(versions * sizeof(double)), 0};
    if (out->table == NULL || out->chance == NULL) {
        dense_free(out);
        bench_failed("table", CW_NO_MEMORY);
        return false;
    }
    double *cell = out->table;
    for (unsigned c = 0; c < UNITS_CHECKS; c++)
        for (unsigned k = 0; k < UNITS_CHOICES; k++)
            for (unsigned v = 0; v < versions; v++)
                *cell++ = units_shows(v, c, k) / 100.0;
    for (unsigned v = 0; v < versions; v++)
        out->chance[v] = 1.0 / versions;
    return true;
}

/* Eight sums at once, since one alone would wait for each addition. */
static double weigh(const double *row, const double *chance, size_t count)
{
    double sums[8] = {0};
    size_t v = 0;
    for (; v + 8 <= count; v += 8)
        for (size_t i = 0; i < 8; i++)
            sums[i] += row[v + i] * chance[v + i];
    for (; v < count; v++)
        sums[0] += row[v] * chance[v];
    return sums[0] + sums[1] + sums[2] + sums[3] + sums[4] + sums[5] + sums[6] + sums[7];
}

static void run_dense(dense *d, double *best)
{
    const double begin = bench_now();
    for (size_t r = 0; r < (size_t)UNITS_CHECKS * UNITS_CHOICES; r++)
        d->sum += weigh(d->table + r * d->versions, d->chance, d->versions);
    bench_best(best, bench_now() - begin);
}

/* The last answer once more, and the question that comes of it. */
static bool run_ours(cw_session *session, const char *check, double *best)
{
    const cw_next *next = NULL;
    const double begin = bench_now();
    const bool done = bench_give(session, check, "a") && cw_session_next(session, &next) == CW_OK;
    bench_best(best, bench_now() - begin);
    if (done && (next->count == 0 || next->cut_short))
        return bench_failed("next question", CW_LIMIT);
    return done && cw_session_withdraw(session, check) == CW_OK;
}

static bool measure_pack(const cw_pack *pack, unsigned versions, bench_point *point)
{
    static const char *const given[GIVEN] = {"c010", "c011", "c012"};
    cw_session *session = NULL;
    dense table;
    if (!dense_new(versions, &table))
        return false;
    bool done = cw_session_new(pack, "identify", &session) == CW_OK;
    for (int i = 0; i < GIVEN - 1 && done; i++)
        done = bench_give(session, given[i], "a");
    for (int i = 0; i < UNITS_RUNS && done; i++) {
        run_dense(&table, &point->base);
        done = run_ours(session, given[GIVEN - 1], &point->ours);
    }
    cw_session_free(session);
    done = done && table.sum > 0;
    dense_free(&table);
    return done;
}

bool bench_units(bench *b)
{
    static const unsigned sizes[BENCH_SIZES] = {25000, 50000, 100000};
    bench_row row = {.name = "next_units",
                     .work = "next question, 100,000 versions x 200 checks x 4 answers",
                     .baseline = "one dense multiply-and-add pass over the same table",
                     .unit = "ms",
                     .kind = BENCH_AT_MOST,
                     .goal = 1.5};
    bool done = true;
    for (; row.count < BENCH_SIZES && done; row.count++) {
        bench_point *point = &row.points[row.count];
        char folder[FOLDER_ROOM] = "";
        const char *folders = folder;
        bench_memory memory = {0};
        const cw_settings settings = bench_counted(&memory);
        cw_pack *pack = NULL;
        point->items = sizes[row.count];
        done = workload_units(sizes[row.count], folder) && bench_open(&settings, &folders, 1, &pack) &&
               measure_pack(pack, sizes[row.count], point);
        point->peak = memory.peak;
        cw_pack_free(pack);
        workload_remove(folder);
    }
    return done && bench_add(b, &row);
}
