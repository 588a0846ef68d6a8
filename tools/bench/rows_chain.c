/* Chaining to fixpoint: rules of two premises, a million of them. Ours keeps doubt, absence, reasons and the
 * way back for each; the bare loop keeps a counter. The grounder reads the same program as text and writes
 * what follows; ours reads it as YAML. */
#include "bench.h"
#include "counting.h"
#include "process.h"
#include "workload.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { CHAIN_RUNS = 5 };

typedef struct chain_rows {
    bench_row fixpoint, grounder, image, touch;
} chain_rows;

static bool all_known(size_t least, size_t known)
{
    if (known >= least)
        return true;
    fprintf(stderr, "cw_bench: %zu facts instead of %zu\n", known, least);
    return false;
}

/* Both answers, the second of which starts everything; then the way back for the next run. */
static bool run_ours(cw_session *session, double *best)
{
    const double begin = bench_now();
    const bool done = bench_give(session, "power", "yes") && bench_give(session, "start", "yes");
    bench_best(best, bench_now() - begin);
    return done && cw_session_withdraw(session, "start") == CW_OK &&
           cw_session_withdraw(session, "power") == CW_OK;
}

static bool run_bare(counting *bare, double *best)
{
    counting_reset(bare);
    const double begin = bench_now();
    const uint32_t known = counting_run(bare);
    bench_best(best, bench_now() - begin);
    return known == bare->atoms;
}

static bool measure_fixpoint(cw_session *session, unsigned rules, bench_point *point)
{
    counting bare;
    if (!counting_new(rules, &bare))
        return false;
    bool done = true;
    for (int i = 0; i < CHAIN_RUNS && done; i++)
        done = run_bare(&bare, &point->base) && run_ours(session, &point->ours);
    counting_free(&bare);
    return done;
}

/* One more answer, which 100 rules wait for. */
static bool answer_side(void *session)
{
    return bench_give(session, "side", "yes");
}

static bool measure_touch(cw_session *session, double *instructions)
{
    return bench_give(session, "power", "yes") && bench_give(session, "start", "yes") &&
           answer_side(session) && cw_session_withdraw(session, "side") == CW_OK &&
           process_count(answer_side, session, instructions);
}

/* Both answers to an open pack, and the list of what follows. */
static bool derive(const cw_pack *pack, cw_session **session, size_t *known)
{
    const cw_fact_info *facts = NULL;
    return cw_session_new(pack, "triage", session) == CW_OK && bench_give(*session, "power", "yes") &&
           bench_give(*session, "start", "yes") && cw_session_facts(*session, &facts, known) == CW_OK;
}

/* Text in, facts out. */
static bool measure_whole(unsigned rules, const char *folder, const char *program, chain_rows *rows,
                          bench_point *fixpoint)
{
    bench_row *row = &rows->grounder;
    bench_point *point = &row->points[row->count];
    bench_memory memory = {0};
    const cw_settings settings = bench_counted(&memory);
    cw_pack *pack = NULL;
    cw_session *session = NULL;
    size_t known = 0;
    const double begin = bench_now();
    bool done = bench_open(&settings, &folder, 1, &pack) && derive(pack, &session, &known);
    point->ours = bench_now() - begin;
    done = done && all_known(rules, known) && cw_session_withdraw(session, "start") == CW_OK &&
           cw_session_withdraw(session, "power") == CW_OK && measure_fixpoint(session, rules, fixpoint);
    point->peak = fixpoint->peak = memory.peak;
    const bool last = row->count == BENCH_SIZES - 1;
    if (done && (row->count == 0 || last))
        done = measure_touch(session, last ? &rows->touch.points[0].ours : &rows->touch.points[0].base);
    cw_session_free(session);
    cw_pack_free(pack);
    const process_end end = done ? process_run("gringo", program, &point->base) : PROCESS_DONE;
    if (end == PROCESS_MISSING)
        row->left_out = "gringo not installed";
    return done && end != PROCESS_FAILED;
}

/* The compiled image in, facts out; compiling it is not counted, and the grounder has no such form. */
static bool measure_image(unsigned rules, const char *folder, bench_point *point)
{
    bench_memory memory = {0};
    const cw_settings settings = bench_counted(&memory);
    cw_pack *pack = NULL;
    cw_session *session = NULL;
    size_t known = 0;
    if (cw_pack_write_image(NULL, &folder, 1, NULL, NULL) != CW_OK)
        return bench_failed(folder, CW_CANNOT_WRITE);
    const double begin = bench_now();
    bool done = cw_pack_open(&settings, &folder, 1, NULL, &pack) == CW_OK && cw_pack_from_image(pack) &&
                derive(pack, &session, &known);
    point->ours = bench_now() - begin;
    point->peak = memory.peak;
    done = done && all_known(rules, known);
    cw_session_free(session);
    cw_pack_free(pack);
    return done;
}

static bool measure(unsigned rules, chain_rows *rows)
{
    char folder[FOLDER_ROOM] = "", program[] = "/tmp/cw_bench-program-XXXXXX";
    bench_point *fixpoint = &rows->fixpoint.points[rows->fixpoint.count];
    bench_point *image = &rows->image.points[rows->image.count];
    image->items = fixpoint->items = rows->grounder.points[rows->grounder.count].items = rules;
    const int file = mkstemp(program);
    bool done = file >= 0 && close(file) == 0 && workload_chain(rules, folder, program) &&
                measure_whole(rules, folder, program, rows, fixpoint) && measure_image(rules, folder, image);
    image->base = rows->grounder.points[rows->grounder.count].base;
    rows->image.left_out = rows->grounder.left_out;
    if (file >= 0)
        unlink(program);
    workload_remove(folder);
    rows->fixpoint.count++;
    rows->grounder.count++;
    rows->image.count++;
    return done;
}

bool bench_chain(bench *b)
{
    static const unsigned sizes[BENCH_SIZES] = {10000, 100000, 1000000};
    chain_rows rows = {
        .fixpoint = {.name = "chain",
                     .work = "1,000,000 rules of two premises to fixpoint",
                     .baseline = "a bare counting loop over flat arrays, the same derivation",
                     .unit = "ms",
                     .kind = BENCH_AT_MOST,
                     .goal = 1.5},
        .grounder = {.name = "chain_text",
                     .work = "the same from YAML to a list of facts",
                     .baseline = "gringo on the same program",
                     .unit = "ms",
                     .kind = BENCH_FASTER,
                     .goal = 20},
        .image = {.name = "chain_image",
                  .work = "the same from a compiled image to a list of facts",
                  .baseline = "gringo on the same program as text: it reads no compiled form",
                  .unit = "ms",
                  .kind = BENCH_FASTER,
                  .goal = 20},
        .touch = {.name = "touch",
                  .work = "one more answer, 100 rules touched, of 1,000,000",
                  .baseline = "the same of 10,000 rules",
                  .unit = "instructions",
                  .kind = BENCH_EQUAL,
                  .goal = 0.1,
                  .count = 1},
    };
    bool done = true;
    for (int i = 0; i < BENCH_SIZES && done; i++)
        done = measure(sizes[i], &rows);
    return done && bench_add(b, &rows.fixpoint) && bench_add(b, &rows.grounder) &&
           bench_add(b, &rows.image) && bench_add(b, &rows.touch);
}
