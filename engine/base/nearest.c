#include "base/nearest.h"
#include "base/text.h"
#include <stdint.h>
#include <string.h>

/* Longer words are near to nothing: their tables would not fit on the stack, and names end at 64. */
enum { LONGEST = 128 };

static uint32_t fold(uint32_t c)
{
    if (c >= 'A' && c <= 'Z')
        return c - 'A' + 'a';
    return c == '-' || c == ' ' ? '_' : c;
}

/* Code points, folded; false if there are too many. */
static bool unpack(const char *word, uint32_t out[LONGEST], size_t *count)
{
    size_t size = strlen(word);
    *count = 0;
    for (size_t i = 0; i < size; i += cw_utf8_length(word + i, size - i)) {
        if (*count == LONGEST)
            return false;
        out[(*count)++] = fold(cw_utf8_decode(word + i, size - i));
    }
    return true;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* One row of the table from the two rows above it; returns the row's least entry. */
static size_t next_row(const uint32_t *a, size_t i, const uint32_t *b, size_t b_count,
                       size_t rows[3][LONGEST + 1])
{
    const size_t *before = rows[(i + 1) % 3];
    const size_t *above = rows[(i + 2) % 3];
    size_t *row = rows[i % 3];
    row[0] = i;
    size_t lowest = i;
    for (size_t j = 1; j <= b_count; j++) {
        size_t change = above[j - 1] + (a[i - 1] != b[j - 1]);
        row[j] = least(change, least(above[j], row[j - 1]) + 1);
        if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
            row[j] = least(row[j], before[j - 2] + 1);
        lowest = least(lowest, row[j]);
    }
    return lowest;
}

size_t cw_edit_distance(const char *a, const char *b, size_t limit)
{
    uint32_t x[LONGEST];
    uint32_t y[LONGEST];
    size_t x_count;
    size_t y_count;
    if (!unpack(a, x, &x_count) || !unpack(b, y, &y_count))
        return limit + 1;
    size_t rows[3][LONGEST + 1];
    for (size_t j = 0; j <= y_count; j++)
        rows[0][j] = j;
    for (size_t i = 1; i <= x_count; i++) {
        /* The least of a row never falls from row to row: a swap reaches back two rows, but adds 1, and a
         * row's least is at most 1 above that of the row before. */
        if (next_row(x, i, y, y_count, rows) > limit)
            return limit + 1;
    }
    return least(rows[x_count % 3][y_count], limit + 1);
}

cw_nearest cw_nearest_start(const char *word)
{
    size_t count = 0;
    size_t size = strlen(word);
    for (size_t i = 0; i < size; i += cw_utf8_length(word + i, size - i))
        count++;
    return (cw_nearest){word, NULL, count < 6 ? 1 : count / 3};
}

void cw_nearest_try(cw_nearest *nearest, const char *candidate)
{
    size_t distance = cw_edit_distance(nearest->word, candidate, nearest->distance);
    if (distance > nearest->distance)
        return;
    if (nearest->best == NULL || distance < nearest->distance || strcmp(candidate, nearest->best) < 0)
        nearest->best = candidate;
    nearest->distance = distance;
}
