/* Large packs read and checked, beside a bare libyaml event loop over the same files. */
#include "bench.h"
#include "files.h"
#include "workload.h"

static bool measure_once(pack_files *files, const char *folder, bench_point *point)
{
    cw_pack *pack = NULL;
    const double begin = bench_now();
    bool done = files_parse(files);
    const double middle = bench_now();
    done = done && bench_open(NULL, &folder, 1, &pack);
    bench_best(&point->base, middle - begin);
    bench_best(&point->ours, bench_now() - middle);
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
static bool measure(bench *b, bench_row *row, bool (*write)(unsigned items, char *folder),
                    const unsigned *sizes)
{
    bool done = true;
    for (; row->count < BENCH_SIZES && done; row->count++) {
        bench_point *point = &row->points[row->count];
        char folder[FOLDER_ROOM] = "";
        pack_files files = {.count = 0};
        point->items = sizes[row->count];
        done = write(sizes[row->count], folder) && files_add(&files, folder);
        for (unsigned i = 0; i < b->runs / 4 + 1 && done; i++)
            done = measure_once(&files, folder, point);
        done = done && measure_memory(folder, point);
        files_free(&files);
        workload_remove(folder);
    }
    return done && bench_add(b, row);
}

bool bench_load(bench *b)
{
    static const char beside[] = "libyaml alone, every event of the same files";
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
    return measure(b, &catalogue, workload_catalogue, families) && measure(b, &pack, workload_rules, rules);
}
