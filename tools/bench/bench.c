/* cw_bench [--json] [--runs N] [--pack FOLDER]... [FAMILY]...: measures all families of rows or those named,
 * and prints each as a multiple of its baseline, with its goal. Exit status: 0, whether or not goals are met;
 * 2 when something could not be done. */
#include "bench.h"
#include "print.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct family {
    const char *name, *title;
    bool (*measure)(bench *b);
} family;

static const family families[] = {
#define BENCH_FAMILY(name, title) {#name, title, bench_##name},
#include "family.def"
#undef BENCH_FAMILY
};

enum { FAMILIES = sizeof families / sizeof *families };

bool bench_add(bench *b, const bench_row *row)
{
    bench_row *rows = realloc(b->rows, (b->row_count + 1) * sizeof *rows);
    if (rows == NULL)
        return bench_failed(row->name, CW_NO_MEMORY);
    b->rows = rows;
    b->rows[b->row_count++] = *row;
    return true;
}

static int usage(void)
{
    fputs("usage: cw_bench [--json] [--runs N] [--pack FOLDER]... [FAMILY]...\nfamilies:\n", stderr);
    for (int i = 0; i < FAMILIES; i++)
        fprintf(stderr, "  %-8s %s\n", families[i].name, families[i].title);
    return 2;
}

static bool choose(const char *name, bool *chosen)
{
    for (int i = 0; i < FAMILIES; i++)
        if (strcmp(families[i].name, name) == 0)
            return chosen[i] = true;
    return false;
}

static bool read_runs(const char *word, unsigned *runs)
{
    char *end = NULL;
    const unsigned long number = strtoul(word, &end, 10);
    *runs = (unsigned)number;
    return *end == '\0' && number >= 1 && number <= 100000;
}

/* False when the call is wrong. */
static bool read_call(int argc, char **argv, bench *b, bool *json, bool *chosen)
{
    bool right = true;
    for (int i = 1; i < argc && right; i++) {
        const bool more = i + 1 < argc;
        if (strcmp(argv[i], "--json") == 0)
            *json = true;
        else if (strcmp(argv[i], "--runs") == 0 && more)
            right = read_runs(argv[++i], &b->runs);
        else if (strcmp(argv[i], "--pack") == 0 && more && b->folder_count < BENCH_FOLDERS)
            b->folders[b->folder_count++] = argv[++i];
        else
            right = choose(argv[i], chosen);
    }
    return right;
}

int main(int argc, char **argv)
{
    bench b = {.runs = 30};
    bool json = false, chosen[FAMILIES] = {false}, done = true;
    if (!read_call(argc, argv, &b, &json, chosen))
        return usage();
    bool all = true;
    for (int i = 0; i < FAMILIES; i++)
        all = all && !chosen[i];
    if (b.folder_count == 0) {
        b.folders[b.folder_count++] = CW_SOURCE_RULES "/harbour-lane";
        b.folders[b.folder_count++] = CW_SOURCE_RULES "/charging-basics";
    }
    for (int i = 0; i < FAMILIES && done; i++)
        done = !(all || chosen[i]) || families[i].measure(&b);
    if (done && json)
        print_json(&b);
    else if (done)
        print_table(&b);
    free(b.rows);
    return done ? 0 : 2;
}
