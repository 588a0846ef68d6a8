#include "signals.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>

#define PI 3.14159265358979323846

static void put(FILE *file, uint32_t value, int bytes)
{
    for (int i = 0; i < bytes; i++)
        fputc((int)(value >> (8 * i) & 255), file);
}

void write_wav(const char *path, const double *samples, size_t frames, unsigned channels, unsigned rate)
{
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    uint32_t size = (uint32_t)(frames * channels * 2);
    fputs("RIFF", file);
    put(file, 36 + size, 4);
    fputs("WAVEfmt ", file);
    put(file, 16, 4);
    put(file, 1, 2);
    put(file, channels, 2);
    put(file, rate, 4);
    put(file, rate * channels * 2, 4);
    put(file, channels * 2, 2);
    put(file, 16, 2);
    fputs("data", file);
    put(file, size, 4);
    for (size_t i = 0; i < frames * channels; i++)
        put(file, (uint32_t)(int32_t)lround(fmax(fmin(samples[i], 1), -1) * 32767), 2);
    cr_assert_eq(fclose(file), 0);
}

double six_pulse(double turn, int diode_open)
{
    double high = -INFINITY, low = INFINITY;
    for (int k = 0; k < 3; k++) {
        double volts = 10 * sin(2 * PI * (turn - k / 3.0));
        if (k > 0 || !diode_open)
            high = fmax(high, volts);
        low = fmin(low, volts);
    }
    return high - low;
}
