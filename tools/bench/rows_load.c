/* Large packs read and checked, beside a bare libyaml event loop over the same files. */
#include "bench.h"
#include "files.h"
#include "workload.h"

/* `clock`: the same by the clock. */
static bool measure_once(pack_files *files, const char *folder, bench_point *point, bench_point *clock)
{
    cw_pack *pack = NULL;
    const double begin = bench_now(), clock_begin = bench_clock();
    bool done = files_parse(files);
    const double middle = bench_now(), clock_middle = bench_clock();
    done = done && bench_open(NULL, &folder, 1, &pack);
    bench_best(&point->base, middle - begin);
    bench_best(&point->ours, bench_now() - middle);
    bench_best(&clock->base, clock_middle - clock_begin);
    bench_best(&clock->ours, bench_clock() - clock_middle);
    cw_pack_free(pack);
    return done;
}

/* Apart: with an allocator of its own a pack is read by one thread alone. */
static bool measure_memory(const char *folder, bench_point *point)
{
    bench_memory memory = {0};
    const cw_settings settings = bench_counted(&memory);
    cw_pack *pack = NULL;
    const bool done = bench_open(&settings, &folder, 1, &pack);
    point->peak = memory.peak;
    cw_pack_free(pack);
    return done;
}

/* Fewer runs: each takes as long as all of a small pack's. */
static bool measure(bench *b, bench_row *row, bench_row *clock, bool (*write)(unsigned items, char *folder),
                    const unsigned *sizes)
{
    bool done = true;
    for (; row->count < BENCH_SIZES && done; clock->count = ++row->count) {
        bench_point *point = &row->points[row->count], *by_clock = &clock->points[row->count];
        char folder[FOLDER_ROOM] = "";
        pack_files files = {.count = 0};
        point->items = by_clock->items = sizes[row->count];
        done = write(sizes[row->count], folder) && files_add(&files, folder);
        for (unsigned i = 0; i < b->runs / 4 + 1 && done; i++)
            done = measure_once(&files, folder, point, by_clock);
        done = done && measure_memory(folder, point);
        files_free(&files);
        workload_remove(folder);
    }
    return done && bench_add(b, row) && bench_add(b, clock);
}

bool bench_load(bench *b)
{
    static const char beside[] = "libyaml alone, every event of the same files";
    static const char by_the_clock[] = "the same by the clock, its files read on all cores";
    static const unsigned families[] = {2500, 5000, 10000}, rules[] = {5000, 10000, 20000};
    bench_row catalogue = {.name = "load_catalogue",
                           .work = "10,000 families, 210,000 lines, read and checked",
                           .baseline = beside,
                           .unit = "ms",
                           .kind = BENCH_AT_MOST,
                           .goal = 1.6};
    bench_row pack = {.name = "load_rules",
                      .work = "20,000 rules, 100,000 lines, read and checked",
                      .baseline = beside,
                      .unit = "ms"};
    bench_row catalogue_clock = catalogue, pack_clock = pack;
    catalogue_clock.name = "load_catalogue_clock";
    pack_clock.name = "load_rules_clock";
    catalogue_clock.work = pack_clock.work = by_the_clock;
    return measure(b, &catalogue, &catalogue_clock, workload_catalogue, families) &&
           measure(b, &pack, &pack_clock, workload_rules, rules);
}
