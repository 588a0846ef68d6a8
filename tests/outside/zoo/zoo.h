/* The Zoo data as a lesson: 16 features, all yes or no but the legs (0, 2, 4, 5, 6, 8), seven classes. */
#ifndef CW_TESTS_ZOO_H
#define CW_TESTS_ZOO_H

#include "outside/learn.h"

enum { ZOO_ANIMALS = 101, ZOO_LEGS = 12 };

static inline lesson *zoo_lesson(void)
{
    static const char legs[] = "024568", no_yes[] = "01";
    table data = table_read("zoo/zoo.csv");
    lesson *of = calloc(1, sizeof *of);
    cr_assert_eq(data.rows, ZOO_ANIMALS + 1u);
    cr_assert_str_eq(table_cell(&data, 0, ZOO_LEGS + 1), "legs");
    of->rows = ZOO_ANIMALS;
    of->features = 16;
    of->classes = 7;
    for (size_t row = 0; row < of->rows; row++) {
        of->class_of[row] = (signed char)(atoi(table_cell(&data, row + 1, 17)) - 1);
        for (size_t f = 0; f < of->features; f++) {
            const char *values = f == ZOO_LEGS ? legs : no_yes;
            const char *at = strchr(values, table_cell(&data, row + 1, f + 1)[0]);
            cr_assert_not_null(at);
            of->values[f] = strlen(values);
            of->cell[row][f] = (signed char)(at - values);
        }
    }
    table_free(&data);
    return of;
}

#endif
