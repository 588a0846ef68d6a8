/* corewright listen: what it hears in files of several shapes, what it refuses. */
#include "run.h"
#include "signals.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PI 3.14159265358979323846
enum { RATE = 16000, FRAMES = 5 * RATE };

/* Strikes `times` a turn of a rotor at 50 turns a second, ringing at 3 kHz, in noise; in the last of the
 * channels. */
static void write_strikes(const char *path, double times, unsigned channels)
{
    static double samples[FRAMES * 2];
    random_state random = random_start(7);
    memset(samples, 0, sizeof samples);
    for (double at = 0.001; at < 5; at += 1 / (50 * times))
        for (size_t i = (size_t)ceil(at * RATE); i < FRAMES && (double)i < at * RATE + 150; i++) {
            double since = (double)i / RATE - at;
            samples[i * channels + channels - 1] += 0.4 * exp(-since / 1e-3) * sin(2 * PI * 3000 * since);
        }
    for (size_t i = 0; i < FRAMES; i++)
        samples[i * channels + channels - 1] += random_between(&random, -0.3, 0.3);
    write_wav(path, samples, FRAMES, channels, RATE);
}

static void expect(outcome ran, int status, const char *out, const char *err)
{
    cr_expect_eq(ran.status, status, "status %d\n%s\n%s", ran.status, ran.out, ran.err);
    cr_expect_not_null(strstr(ran.out, out), "\"%s\" is not in:\n%s", out, ran.out);
    cr_expect_not_null(strstr(ran.err, err), "\"%s\" is not in:\n%s", err, ran.err);
    if (status != 0)
        cr_expect_str_empty(ran.out);
    ran_free(&ran);
}

#define LISTEN(...) RUN(NULL, "listen", "--rpm", "1200", "--ratio", "2.5", __VA_ARGS__)

Test(listen, names_the_part, .init = folder_enter, .fini = folder_leave)
{
    write_strikes("outer.wav", 3.0531, 1); /* of a 6203 */
    write_strikes("inner.wav", 5.4152, 2); /* of a 6205, in the second of two channels */
    expect(LISTEN("outer.wav"), 0, "it speaks for a bearing: pulley-end bearing: outer ring.", "");
    expect(LISTEN("outer.wav"), 0, "sound_source: bearing", "");
    expect(LISTEN("outer.wav"), 0, "pulley-end bearing 6203 (assumed): 8 balls of 6.746 mm", "");
    expect(LISTEN("inner.wav", "--bearing", "6205", "--rear-bearing", "6303"), 0,
           "pulley-end bearing: inner ring.", "");
    /* a ball of the 6003 assumed has the same tone within a percent: neither is kept back */
    expect(LISTEN("inner.wav", "--bearing", "6205"), 0, "As well it could be", "");
    expect(LISTEN("inner.wav", "--bearing", "9,7.94,39.04", "--rear-bearing", "6303"), 0,
           "pulley-end bearing: inner ring.", "");
    expect(LISTEN("inner.wav", "--bearing", "6205", "--json"), 0, "\"value\": \"bearing\"", "");
}

Test(listen, a_knock_once_a_turn_is_no_bearing, .init = folder_enter, .fini = folder_leave)
{
    write_strikes("knock.wav", 1, 1);
    expect(LISTEN("knock.wav"), 0, "sound_source: rotor", "");
}

Test(listen, draws_and_keeps, .init = folder_enter, .fini = folder_leave)
{
    write_strikes("outer.wav", 3.0531, 1);
    expect(LISTEN("outer.wav", "--svg", "o.svg", "--case", "o.yaml"), 0, "Kept in o.yaml", "");
    cr_expect_eq(access("o.svg", F_OK), 0);
    expect(LISTEN("outer.wav", "--case", "o.yaml"), 2, "", "help: name a new file");
    expect(LISTEN("outer.wav", "--svg", "/nowhere/o.svg", "--json"), 3, "", "/nowhere/o.svg: ");
    expect(RUN(NULL, "triage", "--case", "o.yaml", "--packs", CW_SOURCE_DIR "/rules/charging-basics"), 0,
           "Drive-end bearing", "");
}

Test(listen, what_is_no_good_recording_is_refused, .init = folder_enter, .fini = folder_leave)
{
    static double samples[FRAMES];
    FILE *file = fopen("text.wav", "w");
    fputs("this is no sound at all, whatever its name says", file);
    fclose(file);
    fclose(fopen("empty.wav", "w"));
    write_wav("silent.wav", samples, FRAMES, 1, RATE);
    write_wav("short.wav", samples, RATE / 2, 1, RATE);
    write_wav("slow.wav", samples, FRAMES, 1, 2000);
    for (size_t i = 0; i < FRAMES; i++)
        samples[i] = 3 * sin((double)i * 0.05);
    write_wav("clipped.wav", samples, FRAMES, 1, RATE);
    for (size_t i = 0; i < FRAMES; i++)
        samples[i] = sin((double)i * 0.05);
    write_wav("full.wav", samples, FRAMES, 1, RATE);
    expect(LISTEN("text.wav"), 2, "", "corewright: error: text.wav: not a recording that can be read");
    expect(LISTEN("empty.wav"), 2, "", "corewright: error: empty.wav: the file is empty");
    expect(LISTEN("silent.wav"), 2, "", "corewright: error: silent.wav: silence");
    expect(LISTEN("short.wav"), 2, "", "corewright: error: short.wav: shorter than a second");
    expect(LISTEN("slow.wav"), 2, "", "corewright: error: slow.wav: fewer than 4000 samples a second");
    expect(LISTEN("clipped.wav"), 2, "", "corewright: error: clipped.wav: clipped");
    expect(LISTEN("nowhere.wav"), 2, "", "corewright: error: nowhere.wav: No such file");
    expect(LISTEN("full.wav"), 0, "sound_source: ", "");
}

Test(listen, what_the_call_lacks_is_said, .init = folder_enter, .fini = folder_leave)
{
    write_strikes("outer.wav", 3.0531, 1);
    expect(RUN(NULL, "listen", "outer.wav", "--rpm", "1200"), 2, "", "listen wants --ratio R");
    expect(RUN(NULL, "listen", "--rpm", "1200", "--ratio", "2"), 2, "", "listen wants one file");
    expect(LISTEN("outer.wav", "--bearing", "9999"), 2, "", "no table here has a bearing '9999'");
    expect(LISTEN("outer.wav", "--bearing", "8,30,28"), 2, "", "'8,30,28' is no bearing");
    expect(LISTEN("outer.wav", "--belt", "1000"), 2, "", "--belt and --pulley belong together");
    expect(RUN(NULL, "listen", "outer.wav", "--rpm", "nan", "--ratio", "2"), 2, "",
           "--rpm wants a plain number");
}
