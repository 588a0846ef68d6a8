#include "measure/recording.h"
#include "screen/exit.h"
#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { RUN = 3 };          /* samples alike at full scale that no sound makes */
#define CLIPPED_SHARE 5e-4 /* of the samples, in such runs: harm to a spectrum begins about here */
#define FULL 0.9           /* of full scale */
#define MOST_CHANNELS 64

static int wrong(const char *path, const char *what, const char *help)
{
    fprintf(stderr, "corewright: error: %s: %s\n", path, what);
    if (help != NULL)
        fprintf(stderr, "help: %s\n", help);
    return EXIT_WRONG;
}

static int out_of_memory(void)
{
    fputs("corewright: error: out of memory\n", stderr);
    return EXIT_FAILED;
}

/* What the file system has to say before the library looks. */
static int look_at_file(const char *path)
{
    struct stat about;
    if (stat(path, &about) != 0) {
        int reason = errno;
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(reason));
        return reason == ENOENT || reason == ENOTDIR ? EXIT_WRONG : EXIT_FAILED;
    }
    if (S_ISDIR(about.st_mode))
        return wrong(path, "a folder, not a recording", NULL);
    if (S_ISREG(about.st_mode) && about.st_size == 0)
        return wrong(path, "the file is empty", NULL);
    return EXIT_DONE;
}

static int check_shape(const char *path, const SF_INFO *info)
{
    if (info->channels > MOST_CHANNELS)
        return wrong(path, "more than 64 channels", NULL);
    if (info->samplerate < RECORDING_RATE)
        return wrong(path, "fewer than 4000 samples a second: what a bearing sounds like is lost",
                     "record at 44100 or 48000 a second");
    if ((double)info->frames < RECORDING_LEAST * info->samplerate)
        return wrong(path, "shorter than a second", "five seconds at a steady speed do well");
    return EXIT_DONE;
}

/* The channel with the most power. */
static unsigned loudest(const double *frames, size_t count, unsigned channels)
{
    double power[MOST_CHANNELS] = {0};
    unsigned best = 0;
    for (size_t i = 0; i < count; i++)
        for (unsigned c = 0; c < channels; c++)
            power[c] += frames[i * channels + c] * frames[i * channels + c];
    for (unsigned c = 1; c < channels; c++)
        if (power[c] > power[best])
            best = c;
    return best;
}

static bool clipped(const double *samples, size_t count)
{
    double most = 0;
    size_t run = 0, in_runs = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, fabs(samples[i]));
    for (size_t i = 0; i < count; i++) {
        run = fabs(samples[i]) == most && (run == 0 || samples[i] == samples[i - 1]) ? run + 1 : 0;
        in_runs += run == RUN ? RUN : run > RUN ? 1 : 0;
    }
    return most >= FULL && (double)in_runs > CLIPPED_SHARE * (double)count;
}

static int check_sound(const char *path, const recording *sound)
{
    bool alike = true;
    for (size_t i = 0; i < sound->count; i++) {
        if (!isfinite(sound->samples[i]))
            return wrong(path, "a sample is no number (NaN or infinite)", NULL);
        alike = alike && sound->samples[i] == sound->samples[0];
    }
    if (alike)
        return wrong(path, "silence: every sample is the same", "look at the microphone and its level");
    if (clipped(sound->samples, sound->count))
        return wrong(path, "clipped: the loudest parts are cut off flat, which puts tones there that are not",
                     "record again at a lower level or from further away");
    return EXIT_DONE;
}

static int read_frames(const char *path, SNDFILE *file, const SF_INFO *info, recording *out)
{
    double most = RECORDING_MOST * info->samplerate;
    size_t count = (double)info->frames > most ? (size_t)most : (size_t)info->frames;
    size_t channels = (size_t)info->channels;
    double *frames = malloc(count * channels * sizeof *frames);
    if (frames == NULL)
        return out_of_memory();
    sf_count_t got = sf_readf_double(file, frames, (sf_count_t)count);
    if ((double)got < RECORDING_LEAST * info->samplerate) {
        free(frames);
        return wrong(path, "cut off: it holds less than a second of the sound it promises", NULL);
    }
    unsigned taken = loudest(frames, (size_t)got, (unsigned)channels);
    for (size_t i = 0; i < (size_t)got; i++)
        frames[i] = frames[i * channels + taken];
    *out = (recording){frames,           (size_t)got,
                       info->samplerate, (unsigned)channels,
                       taken + 1,        fmax((double)info->frames - most, 0) / info->samplerate};
    return EXIT_DONE;
}

int recording_read(const char *path, recording *out)
{
    SF_INFO info = {0};
    *out = (recording){0};
    int exit_status = look_at_file(path);
    if (exit_status != EXIT_DONE)
        return exit_status;
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL) {
        char what[200];
        snprintf(what, sizeof what, "not a recording that can be read (%s)", sf_strerror(NULL));
        return wrong(path, what, "WAV, FLAC, AIFF and the like can");
    }
    exit_status = check_shape(path, &info);
    if (exit_status == EXIT_DONE)
        exit_status = read_frames(path, file, &info, out);
    sf_close(file);
    if (exit_status == EXIT_DONE)
        exit_status = check_sound(path, out);
    if (exit_status != EXIT_DONE)
        recording_free(out);
    return exit_status;
}

void recording_free(recording *sound)
{
    free(sound->samples);
    sound->samples = NULL;
}
