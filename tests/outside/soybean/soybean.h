/* The Soybean data as a lesson: rows 1 to 307 are the original training file, 308 to 683 the original test
 * file. */
#ifndef CW_TESTS_SOYBEAN_H
#define CW_TESTS_SOYBEAN_H

#include "outside/learn.h"

enum { SOYBEAN_TAUGHT = 307, SOYBEAN_ROWS = 683 };

/* Number of the word in a list "a|b|c"; UNKNOWN when it is not there. *count: words in the list. */
static inline int soybean_word(const char *list, const char *word, size_t *count)
{
    int found = UNKNOWN;
    *count = 0;
    for (const char *at = list; *at != '\0'; (*count)++) {
        const size_t size = strcspn(at, "|");
        if (size == strlen(word) && strncmp(at, word, size) == 0)
            found = (int)*count;
        at += size + (at[size] == '|');
    }
    return found;
}

static inline lesson *soybean_lesson(void)
{
    table data = table_read("soybean/soybean.csv"), values = table_read("soybean/values.csv");
    lesson *of = calloc(1, sizeof *of);
    cr_assert_eq(data.rows, SOYBEAN_ROWS + 1u);
    of->rows = SOYBEAN_ROWS;
    of->features = data.columns - 1;
    cr_assert_eq(of->features, 35u);
    for (size_t column = 0; column <= of->features; column++) {
        cr_assert_str_eq(table_cell(&data, 0, column), table_cell(&values, column + 1, 0));
        for (size_t row = 0; row < of->rows; row++) {
            const char *word = table_cell(&data, row + 1, column);
            size_t count;
            const int value = soybean_word(table_cell(&values, column + 1, 1), word, &count);
            cr_assert((value == UNKNOWN) == (strcmp(word, "?") == 0), "%s", word);
            if (column < of->features) {
                of->cell[row][column] = (signed char)value;
                of->values[column] = count;
            } else {
                of->class_of[row] = (signed char)value;
                of->classes = count;
            }
        }
    }
    cr_assert_eq(of->classes, 19u);
    table_free(&data);
    table_free(&values);
    return of;
}

#endif
