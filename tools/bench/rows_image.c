/* Packs opened from their compiled image: the image mapped and summed, every file of the packs read and
 * hashed. Beside: the same files, image and packs, read into memory and not looked at. */
#include "bench.h"
#include "files.h"
#include "workload.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { PATH_ROOM = FOLDER_ROOM + 32 };

static const char reading[] = "image and pack files read into memory";

static bool open_image(const char *path, const cw_settings *settings, cw_pack **out)
{
    const cw_status status = cw_pack_open(settings, &path, 1, NULL, out);
    return status == CW_OK || bench_failed(path, status);
}

static bool open_once(const pack_files *files, const char *path, bench_point *point)
{
    bench_memory memory = {0};
    const cw_settings settings = bench_counted(&memory);
    cw_pack *pack = NULL;
    const double begin = bench_now();
    bool done = files_read(files, path);
    const double middle = bench_now();
    done = done && open_image(path, &settings, &pack);
    bench_best(&point->base, middle - begin);
    bench_best(&point->ours, bench_now() - middle);
    point->peak = memory.peak;
    cw_pack_free(pack);
    return done;
}

/* -- The packs that ship -- */

typedef struct first {
    double question, whole; /* after the pack is open; from nothing */
} first;

static bool start(const char *path, const char *stage, first *best)
{
    cw_pack *pack = NULL;
    cw_session *session = NULL;
    const cw_next *next = NULL;
    const double begin = bench_now();
    if (!open_image(path, NULL, &pack))
        return false;
    const double opened = bench_now();
    cw_status status = cw_session_new(pack, stage, &session);
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    const double end = bench_now();
    const bool asked = status == CW_OK && next->count > 0;
    bench_best(&best->question, end - opened);
    bench_best(&best->whole, end - begin);
    cw_session_free(session);
    cw_pack_free(pack);
    return asked || bench_failed("no first question", status);
}

static bool add(bench *b, const char *name, const char *work, const char *baseline, double goal,
                bench_point point)
{
    return bench_add(b, &(bench_row){.name = name,
                                     .work = work,
                                     .baseline = baseline,
                                     .unit = "ms",
                                     .kind = BENCH_AT_MOST,
                                     .goal = goal,
                                     .points = {point},
                                     .count = 1});
}

static bool measure_shipped(bench *b, const char *path)
{
    static const char yaml[] = "libyaml alone, every event of the packs that ship";
    static const char one[] = "one millisecond";
    pack_files files = {.count = 0};
    bench_point opened = {0}, parsed = {0};
    first identify = {0}, triage = {0};
    bool done = cw_pack_write_image(NULL, b->folders, b->folder_count, path, NULL) == CW_OK;
    for (size_t i = 0; i < b->folder_count && done; i++)
        done = files_add(&files, b->folders[i]);
    for (unsigned i = 0; i < b->runs && done; i++) {
        const double begin = bench_now();
        done = files_parse(&files);
        bench_best(&parsed.base, bench_now() - begin);
        done = done && open_once(&files, path, &opened) && start(path, "identify", &identify) &&
               start(path, "triage", &triage);
    }
    files_free(&files);
    bench_point whole[2] = {parsed, parsed};
    whole[0].ours = identify.whole;
    whole[1].ours = triage.whole;
    return done && add(b, "image_open", "the packs that ship, opened from their image", reading, 3, opened) &&
           add(b, "image_first_identify", "session and first question, identify", one, 1,
               (bench_point){.ours = identify.question, .base = 1}) &&
           add(b, "image_first_triage", "session and first question, triage", one, 1,
               (bench_point){.ours = triage.question, .base = 1}) &&
           add(b, "image_identify", "start to first question from the image, identify", yaml, 2, whole[0]) &&
           add(b, "image_triage", "start to first check from the image, triage", yaml, 2, whole[1]);
}

/* -- A large catalogue -- */

static bool measure_catalogue(bench *b, const char *path)
{
    static const unsigned families[] = {2500, 5000, 10000};
    bench_row row = {.name = "image_catalogue",
                     .work = "10,000 families, opened from their image",
                     .baseline = reading,
                     .unit = "ms",
                     .kind = BENCH_AT_MOST,
                     .goal = 3};
    bool done = true;
    for (; row.count < BENCH_SIZES && done; row.count++) {
        char folder[FOLDER_ROOM] = "";
        const char *folders[] = {folder};
        pack_files files = {.count = 0};
        row.points[row.count].items = families[row.count];
        done = workload_catalogue(families[row.count], folder) && files_add(&files, folder) &&
               cw_pack_write_image(NULL, folders, 1, path, NULL) == CW_OK;
        for (unsigned i = 0; i < b->runs && done; i++)
            done = open_once(&files, path, &row.points[row.count]);
        files_free(&files);
        workload_remove(folder);
    }
    return done && bench_add(b, &row);
}

bool bench_image(bench *b)
{
    char folder[] = "/tmp/cw_bench-XXXXXX", path[PATH_ROOM];
    if (mkdtemp(folder) == NULL)
        return bench_failed(folder, CW_CANNOT_WRITE);
    snprintf(path, sizeof path, "%s/packs.image", folder);
    const bool done = measure_shipped(b, path) && measure_catalogue(b, path);
    remove(path);
    rmdir(folder);
    return done;
}
