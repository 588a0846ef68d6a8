/* Files for listen and scope, made by the tests. */
#ifndef CW_TESTS_TOOLS_SIGNALS_H
#define CW_TESTS_TOOLS_SIGNALS_H

#include <stddef.h>

/* A 16-bit WAV file; samples between -1 and 1, those of the channels in turn. */
void write_wav(const char *path, const double *samples, size_t frames, unsigned channels, unsigned rate);

/* Six-pulse ripple at an electrical frequency, or that with a pulse of one diode missing: the highest of the
 * line volts between three phases of 10 V peak. */
double six_pulse(double turn, int diode_open);

#endif
