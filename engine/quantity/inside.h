/* What the files of this room share and nobody else sees. */
#ifndef CW_QUANTITY_INSIDE_H
#define CW_QUANTITY_INSIDE_H

#include "quantity/exact.h"

typedef struct cw_unit {
    cw_unit_info info; /* first: the pointers handed out point here */
    uint64_t n, d;     /* base = (value + hundredths / 100) * n / d */
    uint32_t hundredths;
    bool cased;
    const char *spellings; /* parted by '|' */
} cw_unit;

/* A unit as written, made plain: ASCII, one blank between words (unit.def says what is replaced). start[i]
 * and start[i + 1] bound the bytes of the source that character i stands for. */
#define CW_PLAIN_MAX 48
typedef struct cw_plain {
    char text[CW_PLAIN_MAX + 1];
    size_t start[CW_PLAIN_MAX + 1];
    size_t size;
} cw_plain;
/* Reads as much as fits. */
cw_plain cw_plain_read(const char *text, size_t size);
/* wanted NULL: any dimension. The longest beginning of the text, up to a word's end, that is a unit; its
 * length in plain characters in *used. NULL if there is none. */
const cw_unit_info *cw_plain_unit(const cw_plain *plain, const cw_dimension *wanted, size_t *used);

/* The first unit with this very symbol; NULL if there is none. */
const cw_unit_info *cw_symbol_find(const char *text, size_t size);

/* A number at the beginning of a text. */
typedef struct cw_number {
    double value;
    double grouped;   /* see cw_parsed */
    cw_ratio ratio;   /* the same, exactly, if exact */
    bool exact;       /* at most 19 digits */
    const char *unit; /* "V" of 14V4, else NULL */
    size_t end;       /* bytes read */
    cw_reading_error error;
    size_t at, length;
} cw_number;
cw_number cw_number_read(const char *text, size_t size);

/* Everything that people write; wanted NULL: any dimension. */
cw_parsed cw_long_read(const char *text, size_t size, const cw_dimension *wanted);
/* The same for what is written the commonest way; false for anything else, well written or not. */
bool cw_short_read(const char *text, size_t size, const cw_dimension *wanted, cw_parsed *out);

/* Length in bytes of the blank that starts here, 0 if none does: ASCII blanks, no-break and thin ones. */
size_t cw_blank_length(const char *text, size_t size);
size_t cw_skip_blanks(const char *text, size_t size, size_t from);
/* Offset of the end of the word that starts at from. */
size_t cw_word_end(const char *text, size_t size, size_t from);

/* The decimal written out: 0.0012, 12.5, 1.2e-07. */
void cw_print_digits(cw_text *out, bool negative, const cw_digits *digits);
/* To that many digits (0 or fewer: 0 or 1 digit by rounding the first), half up; zeros at the end stripped.
 */
cw_digits cw_digits_cut(const cw_digits *digits, int count);

#endif
