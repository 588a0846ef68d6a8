/* Learning by counting: from a table of things, their features and their class, a pack with each class a unit
 * and each feature a check. Something is added to each count, so that nothing is impossible for not having
 * been seen:
 *
 *     P(class) = (n + 1) / (N + classes),  P(value | class) = (n with value + a) / (n with a known value + a
 * values)
 *
 * With nothing unlisted and no blunders the engine's formula is then that of naive Bayes. */
#ifndef CW_TESTS_LEARN_H
#define CW_TESTS_LEARN_H

#include "outside/outside.h"
#include <math.h>

enum { LEARN_FEATURES = 35, LEARN_VALUES = 7, LEARN_CLASSES = 19, LEARN_ROWS = 700, UNKNOWN = -1 };

typedef struct lesson {
    size_t rows, features, classes;
    size_t values[LEARN_FEATURES];                /* how many each feature can have */
    signed char cell[LEARN_ROWS][LEARN_FEATURES]; /* number of the value, or UNKNOWN */
    signed char class_of[LEARN_ROWS];
} lesson;

typedef struct counts {
    int parts; /* 1 / parts is added: a above */
    int all[LEARN_CLASSES];
    int known[LEARN_CLASSES][LEARN_FEATURES];
    int with[LEARN_CLASSES][LEARN_FEATURES][LEARN_VALUES];
} counts;

/* Nothing counted yet. */
static inline void count_none(counts *in, int parts)
{
    memset(in, 0, sizeof *in);
    in->parts = parts;
}

/* by: 1 puts a row in, -1 takes it out. */
static inline void count_row(const lesson *of, counts *in, size_t row, int by)
{
    const int class = of->class_of[row];
    in->all[class] += by;
    for (size_t f = 0; f < of->features; f++) {
        const int value = of->cell[row][f];
        if (value == UNKNOWN)
            continue;
        in->known[class][f] += by;
        in->with[class][f][value] += by;
    }
}

static inline void count_rows(const lesson *of, counts *in, size_t from, size_t to)
{
    for (size_t row = from; row < to; row++)
        count_row(of, in, row, 1);
}

/* -- As a pack -- */

static inline void learn_begin(cw_text *out, const lesson *of)
{
    cw_text_add(out,
                "pack: {name: learnt, title: Learnt, version: 1, not_listed: 0 %, blunders: 0 %}\nchecks:\n");
    for (size_t f = 0; f < of->features; f++) {
        cw_text_format(out,
                       "  f%zu: {title: Feature, ask: What has it?, place: counter, minutes: 1,"
                       " source: counted, choices: [",
                       f);
        for (size_t v = 0; v < of->values[f]; v++)
            cw_text_format(out, "%sv%zu", v > 0 ? ", " : "", v);
        cw_text_add(out, "]}\n");
    }
    cw_text_add(out, "units:\n  thing:\n    title: Thing\n    source: counted\n    versions:\n");
}

static inline void learn_unit(cw_text *out, const lesson *of, const counts *in, size_t class,
                              const char *name)
{
    cw_text_format(out, "      %s:\n        title: Class\n        seen: %d\n        signs:\n", name,
                   in->all[class] + 1);
    for (size_t f = 0; f < of->features; f++) {
        cw_text_format(out, "          f%zu: {", f);
        for (size_t v = 0; v < of->values[f]; v++)
            cw_text_format(out, "%sv%zu: %d of %d", v > 0 ? ", " : "", v,
                           in->parts * in->with[class][f][v] + 1,
                           in->parts * in->known[class][f] + (int)of->values[f]);
        cw_text_add(out, "}\n");
    }
}

static inline void learn_classes(cw_text *out, const lesson *of, const counts *in)
{
    learn_begin(out, of);
    for (size_t class = 0; class < of->classes; class ++) {
        char name[32];
        snprintf(name, sizeof name, "class_%zu", class);
        learn_unit(out, of, in, class, name);
    }
}

/* -- The same sums, plainly -- */

/* Multiplies what is believed of the classes by the chance of the value; scaled to sum to 1. */
static inline void learn_believe(const lesson *of, const counts *in, size_t feature, int value,
                                 double *believed)
{
    double sum = 0;
    for (size_t class = 0; class < of->classes; class ++) {
        if (value != UNKNOWN)
            believed[class] *= (in->parts * in->with[class][feature][value] + 1.0) /
                               (in->parts * in->known[class][feature] + (double)of->values[feature]);
        sum += believed[class];
    }
    for (size_t class = 0; class < of->classes; class ++)
        believed[class] /= sum;
}

static inline void learn_before(const lesson *of, const counts *in, double *believed)
{
    for (size_t class = 0; class < of->classes; class ++)
        believed[class] = in->all[class] + 1.0;
    learn_believe(of, in, 0, UNKNOWN, believed);
}

static inline double learn_bits(const double *believed, size_t classes)
{
    double bits = 0;
    for (size_t i = 0; i < classes; i++)
        bits -= believed[i] > 0 ? believed[i] * log2(believed[i]) : 0;
    return bits;
}

/* The best fixed order, found step by step: next is the feature after which least is open, in bits, on
 * average over the rows learnt from (all but `without`). */
static inline void learn_order(const lesson *of, const counts *in, size_t from, size_t to, size_t without,
                               size_t *order)
{
    static double believed[LEARN_ROWS][LEARN_CLASSES];
    bool taken[LEARN_FEATURES] = {false};
    for (size_t row = from; row < to; row++)
        learn_before(of, in, believed[row]);
    for (size_t k = 0; k < of->features; k++) {
        double least = INFINITY;
        for (size_t f = 0; f < of->features; f++) {
            double open = 0;
            for (size_t row = from; !taken[f] && row < to; row++) {
                double after[LEARN_CLASSES];
                memcpy(after, believed[row], sizeof after);
                learn_believe(of, in, f, of->cell[row][f], after);
                open += row != without ? learn_bits(after, of->classes) : 0;
            }
            if (!taken[f] && open < least) {
                least = open;
                order[k] = f;
            }
        }
        taken[order[k]] = true;
        for (size_t row = from; row < to; row++)
            learn_believe(of, in, order[k], of->cell[row][order[k]], believed[row]);
    }
}

#endif
