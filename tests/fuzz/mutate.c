#include "fuzz/mutate.h"
#include <stdlib.h>
#include <string.h>

/* Pieces that mean something to YAML, to the pack language or to a careless reader. */
static const char *const WORDS[] = {":",
                                    ": ",
                                    "- ",
                                    "\t",
                                    "{",
                                    "}",
                                    "[",
                                    "]",
                                    "&a ",
                                    "*a",
                                    "<<: *a",
                                    "? ",
                                    "| ",
                                    "> ",
                                    "'",
                                    "\"",
                                    "#",
                                    "%",
                                    "!!int ",
                                    "---\n",
                                    "...\n",
                                    "\r\n",
                                    "\xff",
                                    "\xc0\x80",
                                    "\xe2",
                                    "\xf0\x9f\x94\xa7",
                                    "\xef\xbb\xbf",
                                    "\\",
                                    "yes",
                                    "no",
                                    "none: ",
                                    "all: ",
                                    "any: ",
                                    "some diode: ",
                                    "not ",
                                    "above ",
                                    "below 3 V",
                                    "1e999",
                                    "-1",
                                    "0",
                                    "5 1/4\"",
                                    " to ",
                                    "+/-",
                                    "999999999999",
                                    "(a+)+$",
                                    "each: diode",
                                    "[d1]",
                                    "= a + b",
                                    "= bearing_number(17 mm, 40 mm, 12 mm)",
                                    "resistance_at_20(",
                                    "{read: plate, like: '(\\d+) A', unit: A}",
                                    "means: {CW: yes}",
                                    "is: is",
                                    "always"};
enum { WORD_COUNT = sizeof WORDS / sizeof *WORDS };

static char *splice(const char *text, size_t size, size_t at, size_t cut, const char *in, size_t in_size,
                    size_t *out)
{
    char *copy = malloc(size - cut + in_size + 1);
    memcpy(copy, text, at);
    memcpy(copy + at, in, in_size);
    memcpy(copy + at + in_size, text + at + cut, size - at - cut);
    *out = size - cut + in_size;
    copy[*out] = '\0';
    return copy;
}

static size_t line_start(const char *text, size_t at)
{
    while (at > 0 && text[at - 1] != '\n')
        at--;
    return at;
}

static size_t line_end(const char *text, size_t size, size_t at)
{
    while (at < size && text[at] != '\n')
        at++;
    return at < size ? at + 1 : size;
}

static char *once(random_state *random, const char *text, size_t size, size_t *out)
{
    size_t at = size > 0 ? random_below(random, (uint32_t)size) : 0;
    size_t left = size - at;
    size_t span = left > 0 ? 1 + random_below(random, (uint32_t)(left < 20 ? left : 20)) : 0;
    switch (random_below(random, 8)) {
    case 0: { /* one byte becomes another */
        char byte = (char)random_below(random, 256);
        return splice(text, size, at, left > 0, &byte, 1, out);
    }
    case 1: /* something is lost */
        return splice(text, size, at, span, "", 0, out);
    case 2: /* something stands twice */
        return splice(text, size, at, 0, text + at, span, out);
    case 3: { /* a line is lost */
        size_t from = line_start(text, at);
        return splice(text, size, from, line_end(text, size, at) - from, "", 0, out);
    }
    case 4: { /* a line stands elsewhere as well */
        size_t from = line_start(text, at);
        size_t to = line_start(text, size > 0 ? random_below(random, (uint32_t)size) : 0);
        return splice(text, size, to, 0, text + from, line_end(text, size, at) - from, out);
    }
    case 5: /* the end is missing */
        return splice(text, size, at, left, "", 0, out);
    case 6: { /* a slip of indentation */
        size_t from = line_start(text, at);
        return splice(text, size, from, 0, "    ", 1 + random_below(random, 4), out);
    }
    default: {
        const char *word = WORDS[random_below(random, WORD_COUNT)];
        return splice(text, size, at, 0, word, strlen(word), out);
    }
    }
}

char *mutate(random_state *random, const char *text, size_t text_size, size_t *size)
{
    char *now = once(random, text, text_size, size);
    for (uint32_t more = random_below(random, 3); more > 0; more--) {
        char *next = once(random, now, *size, size);
        free(now);
        now = next;
    }
    return now;
}
