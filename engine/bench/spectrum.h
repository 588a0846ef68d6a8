/* What a sampled signal is made of: lines of a spectrum calibrated so that a steady tone reads its own
 * amplitude, and the envelope of a band, which shows how often something strikes.
 *
 * Everything is made in the caller's arena. The work is done by FFTW, whose planner is shared by the whole
 * program: calls of this header must not overlap between threads. */
#ifndef CW_BENCH_SPECTRUM_H
#define CW_BENCH_SPECTRUM_H

#include "base/arena.h"
#include "corewright/status.h"
#include <stddef.h>

typedef struct cw_spectrum {
    double *amplitude; /* peak amplitude of a tone on that line, in the signal's unit */
    size_t count;      /* lines, from 0 Hz to half the rate */
    double step;       /* Hz between lines */
    size_t pieces;     /* pieces of the signal that were averaged (their powers) */
} cw_spectrum;

#define CW_SPECTRUM_LEAST 16 /* samples in a piece, at least */

/* Pieces of `piece` samples, each overlapping the next by half, without their means, under a Hann window;
 * their powers averaged (Welch, IEEE Trans. Audio Electroacoust. 15, 1967). piece is cut to count when it is
 * longer, so SIZE_MAX takes the whole signal at once. CW_BAD_CALL for fewer than CW_SPECTRUM_LEAST samples or
 * a rate not above 0; CW_NO_MEMORY. */
cw_status cw_spectrum_take(cw_arena *arena, const double *signal, size_t count, double rate, size_t piece,
                           cw_spectrum *out);

typedef struct cw_peak {
    double frequency, amplitude; /* of the tone, read between the lines */
    double floor;                /* median of the lines around it */
} cw_peak;

/* The highest line from low to high Hz, whether or not it stands out. frequency and amplitude follow from it
 * and the higher of its neighbours, exactly for one steady tone under a Hann window (Grandke, IEEE Trans.
 * Instrum. Meas. 32, 1983). frequency is NAN when no line lies there. */
cw_peak cw_spectrum_peak(const cw_spectrum *spectrum, double low, double high);
/* Median of the lines within `lines` to either side of a frequency, at most 100. */
double cw_spectrum_floor(const cw_spectrum *spectrum, double frequency, size_t lines);

/* A signal's whole transform, from which bands are cut. */
typedef struct cw_bands {
    double (*lines)[2]; /* real, imaginary */
    size_t count;       /* lines */
    size_t samples;     /* transformed: the signal without an end of at most a few percent */
    double rate;
} cw_bands;

cw_status cw_bands_take(cw_arena *arena, const double *signal, size_t count, double rate, cw_bands *out);
/* The envelope (magnitude of the analytic signal: Hilbert) of what lies between low and high Hz, at a rate of
 * about their difference: fewer samples, nothing lost. CW_BAD_CALL when the band holds fewer than
 * CW_SPECTRUM_LEAST lines or reaches beyond half the rate. */
cw_status cw_bands_envelope(cw_arena *arena, const cw_bands *bands, double low, double high, double **out,
                            size_t *count, double *rate);

#endif
