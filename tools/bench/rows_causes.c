/* Causes at the scale published for a diagnostic system of internal medicine, beside inclusion-exclusion
 * written plainly (network.h). */
#include "bench.h"
#include "network.h"
#include "workload.h"

#include <stdio.h>
#include <stdlib.h>

static bool give(cw_session *session, unsigned finding, const char *value)
{
    char name[16];
    snprintf(name, sizeof name, "f%04u", finding);
    return bench_give(session, name, value);
}

static bool agree(const cw_ranking *ranking, const double *plain)
{
    for (size_t i = 0; i < ranking->count; i++) {
        const double off = ranking->lines[i].probability - plain[strtoul(ranking->lines[i].id + 1, NULL, 10)];
        if (!ranking->exact || off > 1e-9 || off < -1e-9) {
            fprintf(stderr, "cw_bench: %s is off by %g\n", ranking->lines[i].id, off);
            return false;
        }
    }
    return true;
}

/* The ranking with so many positive findings. `plain`: what it must be; NULL: it is timed. */
static bool rank(const cw_pack *pack, const network_found *found, unsigned positive, const double *plain,
                 double *best)
{
    cw_session *session = NULL;
    const cw_ranking *ranking = NULL;
    bool done = cw_session_new(pack, "triage", &session) == CW_OK;
    for (unsigned i = 0; i < positive && done; i++)
        done = give(session, found->positive[i], "yes");
    for (unsigned i = 0; i < NET_NEGATIVE && done; i++)
        done = give(session, found->negative[i], "no");
    const double begin = bench_now();
    done = done && cw_session_ranking(session, 0, &ranking) == CW_OK && ranking->exact;
    if (plain == NULL)
        bench_best(best, bench_now() - begin);
    else
        done = done && agree(ranking, plain);
    cw_session_free(session);
    return done;
}

static bool give_all(cw_session *session, const network_found *found)
{
    bool done = true;
    for (unsigned i = 0; i < NET_POSITIVE && done; i++)
        done = give(session, found->positive[i], "yes");
    for (unsigned i = 0; i < NET_NEGATIVE && done; i++)
        done = give(session, found->negative[i], "no");
    return done;
}

/* The last answer once more, then the posteriors alone, or the next check. */
static bool again(cw_session *session, const network_found *found, bool next, double *best)
{
    const cw_ranking *ranking = NULL;
    const cw_next *asked = NULL;
    char name[16];
    snprintf(name, sizeof name, "f%04u", found->positive[NET_POSITIVE - 1]);
    bool done = cw_session_withdraw(session, name) == CW_OK && bench_give(session, name, "yes");
    const double begin = bench_now();
    if (done && next)
        done = cw_session_next(session, &asked) == CW_OK && asked->count > 0 && !asked->cut_short;
    else if (done)
        done = cw_session_lines(session, &ranking) == CW_OK && ranking->exact;
    bench_best(best, bench_now() - begin);
    return done;
}

/* All answers of all checks at the counter tried, beside as many posteriors, one of which is timed. */
static bool next_check(bench *b, const cw_pack *pack, const network_found *found)
{
    static const char *const here = "counter";
    bench_row row = {.name = "next_causes",
                     .work = "next of 200 open checks in that network",
                     .baseline = "one posterior of ours x 400 answers",
                     .unit = "ms",
                     .kind = BENCH_FASTER,
                     .goal = 20,
                     .count = 1};
    cw_session *session = NULL;
    bool done = cw_session_new(pack, "triage", &session) == CW_OK && give_all(session, found) &&
                cw_session_places(session, &here, 1) == CW_OK;
    for (unsigned i = 0; i < b->runs / 4 + 2 && done; i++)
        done = again(session, found, false, &row.points[0].base) &&
               again(session, found, true, &row.points[0].ours);
    row.points[0].base *= 2 * NET_NEAR;
    cw_session_free(session);
    return done && bench_add(b, &row);
}

bool bench_causes(bench *b)
{
    static double plain[NET_CAUSES];
    bench_row row = {.name = "rank_causes",
                     .work = "570 causes x 4,075 findings ranked, with parts, sets, firmness",
                     .baseline = "inclusion-exclusion over 12 positive findings, plainly",
                     .unit = "ms",
                     .kind = BENCH_FASTER,
                     .goal = 10,
                     .count = 1};
    const network_found found = network_case();
    char folder[FOLDER_ROOM] = "";
    const char *folders = folder;
    bench_memory memory = {0};
    const cw_settings settings = bench_counted(&memory);
    cw_pack *pack = NULL;
    bool done = workload_network(folder) && bench_open(&settings, &folders, 1, &pack);
    network_plain(&found, 3, plain);
    done = done && rank(pack, &found, 3, plain, NULL);
    for (unsigned i = 0; i < b->runs / 4 + 1 && done; i++) {
        const double begin = bench_now();
        network_plain(&found, NET_POSITIVE, plain);
        bench_best(&row.points[0].base, bench_now() - begin);
        done = rank(pack, &found, NET_POSITIVE, NULL, &row.points[0].ours);
    }
    row.points[0].peak = memory.peak;
    done = done && bench_add(b, &row) && next_check(b, pack, &found);
    cw_pack_free(pack);
    workload_remove(folder);
    return done;
}
