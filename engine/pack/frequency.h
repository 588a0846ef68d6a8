/* How often: "17 of 20", "85 %", or a word of the one scale (scale.def). */
#ifndef CW_PACK_FREQUENCY_H
#define CW_PACK_FREQUENCY_H

#include <stdbool.h>
#include <stddef.h>

/* False if it is none of the three; *out in [0, 1]. */
bool cw_frequency_parse(const char *text, size_t size, double *out);
const char *cw_frequency_word_at(size_t index); /* NULL past the end: for help */

#endif
