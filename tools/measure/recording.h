/* A sound file, read whole; the only file that knows libsndfile. */
#ifndef TOOLS_MEASURE_RECORDING_H
#define TOOLS_MEASURE_RECORDING_H

#include <stddef.h>

#define RECORDING_MOST 60.0   /* s that are read */
#define RECORDING_LEAST 1.0   /* s */
#define RECORDING_RATE 4000.0 /* samples a second, at least */

typedef struct recording {
    double *samples; /* the louder channel, full scale 1; owned */
    size_t count;
    double rate;
    unsigned channels, taken; /* how many there are; which was taken, from 1 */
    double left_out;          /* s behind RECORDING_MOST */
} recording;

/* EXIT_DONE, or a message on standard error and EXIT_WRONG (no sound file, too short, too slow, silent,
 * clipped) or EXIT_FAILED. */
int recording_read(const char *path, recording *out);
void recording_free(recording *sound);

#endif
