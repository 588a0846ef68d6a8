#include "print.h"

#include <stdio.h>

static const bench_point *judged(const bench_row *row)
{
    return &row->points[row->count - 1];
}

static bool has_ratio(const bench_row *row)
{
    return row->left_out == NULL && judged(row)->base > 0 && judged(row)->ours > 0;
}

/* As the goal is put: times the baseline, or times faster than it. */
static double ratio(const bench_row *row)
{
    const bench_point *at = judged(row);
    return row->kind == BENCH_FASTER ? at->base / at->ours : at->ours / at->base;
}

static bool met(const bench_row *row)
{
    const double r = ratio(row);
    return row->kind == BENCH_FASTER  ? r >= row->goal
           : row->kind == BENCH_EQUAL ? r <= 1 + row->goal && r >= 1 - row->goal
                                      : r <= row->goal;
}

/* Cost per item at the largest size for each at the smallest: 1 when it grows in step with the work. 0: only
 * one size. */
static double growth(const bench_row *row)
{
    const bench_point *first = row->points, *last = judged(row);
    if (row->left_out != NULL || row->count < 2 || first->ours <= 0 || first->items <= 0)
        return 0;
    return last->ours / first->ours / (last->items / first->items);
}

static void print_goal(const bench_row *row)
{
    static const char *const signs[] = {"", "<=", ">=", "+-"};
    if (row->kind == BENCH_NO_GOAL)
        printf(" %-14s", "");
    else
        printf(" %s %-5g %-5s", signs[row->kind], row->goal,
               row->left_out != NULL ? "?"
               : met(row)            ? "met"
                                     : "MISSED");
}

static void print_row(const bench_row *row)
{
    printf("%-60s", row->work);
    if (row->left_out != NULL) {
        printf(" %s\n", row->left_out);
        return;
    }
    const bench_point *at = judged(row);
    printf(" %12.3f", at->ours);
    if (has_ratio(row))
        printf(" %12.3f %8.2f", at->base, ratio(row));
    else
        printf(" %12s %8s", "", "");
    print_goal(row);
    if (growth(row) > 0)
        printf(" %6.2f", growth(row));
    else
        printf(" %6s", "");
    if (at->peak > 0)
        printf(" %8.1f", (double)at->peak / (1 << 20));
    putchar('\n');
}

void print_table(const bench *b)
{
    const char *baseline = "";
    for (size_t i = 0; i < b->row_count; i++) {
        const bench_row *row = &b->rows[i];
        if (row->baseline != baseline)
            printf("%sbeside: %-52s %12s %12s %8s %-14s %6s %8s\n", i == 0 ? "" : "\n", row->baseline,
                   row->unit, "beside", "ratio", " goal", "growth", "peak MiB");
        baseline = row->baseline;
        print_row(row);
    }
}

static void print_points(const bench_row *row)
{
    for (size_t i = 0; i < row->count; i++) {
        const bench_point *at = &row->points[i];
        printf("%s\n    {\"items\": %.0f, \"ours\": %.6f, \"base\": %.6f, \"peak_bytes\": %zu}",
               i == 0 ? "" : ",", at->items, at->ours, at->base, at->peak);
    }
}

static void print_json_row(const bench_row *row)
{
    static const char *const kinds[] = {"none", "at_most", "faster", "equal"};
    printf("  {\"name\": \"%s\", \"work\": \"%s\", \"baseline\": \"%s\", \"unit\": \"%s\",", row->name,
           row->work, row->baseline, row->unit);
    printf(" \"goal_kind\": \"%s\", \"goal\": %g,", kinds[row->kind], row->goal);
    if (row->left_out != NULL) {
        printf(" \"left_out\": \"%s\"}", row->left_out);
        return;
    }
    if (has_ratio(row))
        printf(" \"ratio\": %.4f,", ratio(row));
    if (has_ratio(row) && row->kind != BENCH_NO_GOAL)
        printf(" \"met\": %s,", met(row) ? "true" : "false");
    if (growth(row) > 0)
        printf(" \"growth\": %.4f,", growth(row));
    fputs(" \"sizes\": [", stdout);
    print_points(row);
    fputs("]}", stdout);
}

void print_json(const bench *b)
{
    puts("{\"rows\": [");
    for (size_t i = 0; i < b->row_count; i++) {
        print_json_row(&b->rows[i]);
        puts(i + 1 < b->row_count ? "," : "");
    }
    puts("]}");
}
