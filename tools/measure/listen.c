/* listen: a recording of the running unit, and which part sounds. */
#include "commands.h"
#include "corewright/corewright.h"
#include "measure/finding.h"
#include "measure/plot.h"
#include "measure/recording.h"
#include "screen/screen.h"
#include "setup/number.h"
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { POLES = 12, SLOTS = 36, SHOWN = 8, MOST_MARKS = 12 };
#define FRONT "6203"
#define REAR "6003"
#define SPEED_SHARE 1.5   /* % */
#define SAME 0.01         /* share that two tones may lie apart and be one */
#define SHOWN_ORDERS 16.0 /* turns of the rotor across an envelope's plot */

typedef struct listen_call {
    const char *path, *front, *rear; /* bearings as named */
    bool front_published, rear_published;
    double speed_error, belt, pulley; /* %; mm */
    cw_listen_setup setup;
    recording sound;
    cw_sound *heard;
} listen_call;

/* "8,6.75,28.5" */
static bool read_inside(const char *text, cw_balls *out)
{
    double numbers[3];
    for (size_t i = 0; i < 3; i++) {
        char *end;
        numbers[i] = strtod(text, &end);
        if (end == text || *end != (i < 2 ? ',' : '\0'))
            return false;
        text = end + 1;
    }
    if (!(numbers[0] >= 3 && numbers[0] <= 50 && numbers[0] == floor(numbers[0])))
        return false;
    *out = (cw_balls){.balls = (unsigned)numbers[0], .ball = numbers[1], .pitch = numbers[2]};
    return out->ball > 0 && out->ball < out->pitch && out->pitch < 1000;
}

/* "6203", or "8,6.75,28.5": balls, ball and pitch in mm. */
static int read_bearing(const char *word, const char *text, cw_balls *out, bool *published)
{
    *published = true;
    if (strchr(text, ',') != NULL) {
        if (read_inside(text, out))
            return EXIT_DONE;
        fprintf(stderr, "corewright: error: %s: '%s' is no bearing\n", word, text);
        fputs("help: balls, diameter of a ball and of the circle of their centres in mm: 8,6.75,28.5\n",
              stderr);
        return EXIT_WRONG;
    }
    cw_status status = cw_balls_of(text, out, published);
    if (status == CW_OK)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: no table here has a bearing '%s'\n", word, text);
    fputs("help: give what is inside it: balls, diameter of a ball and of the circle of their centres in mm: "
          "8,6.75,28.5\n",
          stderr);
    return EXIT_WRONG;
}

static int read_numbers(const cli_options *options, listen_call *out)
{
    cw_listen_setup *setup = &out->setup;
    int status = number_read("--rpm", options->rpm, 50, 30000, &setup->speed);
    if (status == EXIT_DONE)
        status = number_read("--ratio", options->ratio, 0.2, 10, &setup->ratio);
    if (status == EXIT_DONE)
        status = number_read("--speed-error", options->speed_error, 0, 5, &out->speed_error);
    if (status == EXIT_DONE)
        status = number_poles(options->poles, &setup->poles);
    if (status == EXIT_DONE)
        status = number_count("--slots", options->slots, 3, 400, &setup->slots);
    if (status == EXIT_DONE)
        status = number_count("--blades", options->blades, 2, 40, &setup->blades);
    if (status == EXIT_DONE)
        status = number_read("--belt", options->belt, 300, 10000, &out->belt);
    if (status == EXIT_DONE)
        status = number_read("--pulley", options->pulley, 20, 300, &out->pulley);
    if (status == EXIT_DONE && isnan(out->belt) != isnan(out->pulley)) {
        fputs("corewright: error: --belt and --pulley belong together\n", stderr);
        status = EXIT_WRONG;
    }
    return status;
}

static int read_call(const cli_options *options, listen_call *out)
{
    *out = (listen_call){.front = options->bearing != NULL ? options->bearing : FRONT,
                         .rear = options->rear_bearing != NULL ? options->rear_bearing : REAR,
                         .speed_error = SPEED_SHARE,
                         .belt = NAN,
                         .pulley = NAN};
    out->setup = (cw_listen_setup){.speed = NAN, .ratio = NAN, .belt = NAN, .poles = POLES, .slots = SLOTS};
    if (options->rest.count != 1) {
        fputs("corewright: error: listen wants one file: a recording\n", stderr);
        return EXIT_WRONG;
    }
    if (options->rpm == NULL || options->ratio == NULL) {
        fprintf(stderr, "corewright: error: listen wants %s\n",
                options->rpm == NULL ? "--rpm N" : "--ratio R");
        fputs("help: the engine's speed, and the rotor's turns for one of the engine's (1 on the bench): "
              "every tone hangs "
              "on them\n",
              stderr);
        return EXIT_WRONG;
    }
    out->path = options->rest.items[0];
    int status = read_numbers(options, out);
    if (status == EXIT_DONE)
        status = read_bearing("--bearing", out->front, &out->setup.front, &out->front_published);
    if (status == EXIT_DONE)
        status = read_bearing("--rear-bearing", out->rear, &out->setup.rear, &out->rear_published);
    if (status != EXIT_DONE)
        return status;
    out->setup.speed_share = out->speed_error / 100;
    if (!isnan(out->belt))
        out->setup.belt =
            cw_belt_passing(out->belt / 1e3, out->pulley / 1e3, out->setup.speed * out->setup.ratio);
    return EXIT_DONE;
}

static int hear(listen_call *call)
{
    int exit_status = recording_read(call->path, &call->sound);
    if (exit_status != EXIT_DONE)
        return exit_status;
    cw_status status =
        cw_listen(NULL, call->sound.samples, call->sound.count, call->sound.rate, &call->setup, &call->heard);
    if (status == CW_OK)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: %s\n", call->path, cw_status_text(status));
    return status == CW_NO_MEMORY ? EXIT_FAILED : EXIT_WRONG;
}

static void print_bearing(const char *end, const char *name, const cw_balls *balls, bool published,
                          bool assumed)
{
    screen_say("  ", "%s bearing %s%s: %u balls of %.4g mm on a circle of %.4g mm%s", end, name,
               assumed ? " (assumed)" : "", balls->balls, balls->ball, balls->pitch,
               published ? "" : ", estimated from its outer dimensions");
}

static void print_assumptions(const cli_options *options, const listen_call *call)
{
    const cw_listen_setup *s = &call->setup;
    screen_say("", "The rotor turns at %.5g rpm (%.4g turns a second), within %g %%.", s->speed * s->ratio,
               s->speed * s->ratio / 60, call->speed_error);
    screen_say("  ", "poles %u%s, slots %u%s; %s", s->poles, options->poles == NULL ? " (assumed)" : "",
               s->slots, options->slots == NULL ? " (assumed)" : "",
               isnan(s->belt) ? "belt not known, so it was not listened for (--belt LENGTH --pulley DIAMETER)"
                              : "belt known");
    print_bearing("pulley-end", call->front, &s->front, call->front_published, options->bearing == NULL);
    print_bearing("ring-end", call->rear, &s->rear, call->rear_published, options->rear_bearing == NULL);
    screen_say("", "%.3g s at %.6g samples a second%s%s.", call->heard->seconds, call->sound.rate,
               call->sound.channels > 1 ? ", the louder channel" : "",
               call->sound.left_out > 0 ? ", the rest left out" : "");
    screen_line();
}

static void print_tone(const cw_sound_tone *tone)
{
    char head[40];
    char words[300];
    snprintf(head, sizeof head, "%8.1f Hz %8.2f x", tone->frequency, tone->order);
    if (tone->swells)
        snprintf(words, sizeof words,
                 "%s: %u of 4 multiples stand out, the best %.0f dB, in how %.0f to %.0f Hz swells%s",
                 tone->what, tone->multiples, tone->above, tone->low, tone->high,
                 tone->fault ? "" : "; not counted");
    else
        snprintf(words, sizeof words, "%s: %.0f dB over what is around it%s", tone->what, tone->above,
                 tone->fault ? "" : "; not counted");
    screen_pair(head, 24, words);
}

static void print_evidence(const listen_call *call)
{
    const cw_sound *heard = call->heard;
    size_t shown = 0;
    for (size_t i = 0; i < heard->count && shown < SHOWN && heard->tones[i].score >= 1; i++, shown++)
        print_tone(&heard->tones[i]);
    if (shown == 0)
        screen_words("", "No tone of the list stands out.");
    screen_line();
}

/* The spectrum that the finding rests on, in turns of the rotor. */
static int plot_sound(const cli_options *options, const listen_call *call, bool print)
{
    const cw_sound *heard = call->heard;
    bool swells = heard->chief == NULL || heard->chief->swells;
    const cw_lines *lines = swells ? &heard->envelope : &heard->plain;
    double *x = malloc(lines->count * sizeof *x), *y = malloc(lines->count * sizeof *y);
    int status = EXIT_DONE;
    if (x == NULL || y == NULL) {
        fputs("corewright: error: out of memory\n", stderr);
        status = EXIT_FAILED;
    } else {
        double top = 1e-300;
        for (size_t k = 1; k < lines->count; k++)
            top = fmax(top, lines->amplitude[k]);
        for (size_t k = 0; k < lines->count; k++) {
            x[k] = (double)k * lines->step / heard->rotor;
            y[k] = fmax(20 * log10(fmax(lines->amplitude[k], 1e-300) / top), -60);
        }
        plot_mark marks[MOST_MARKS];
        size_t count = 0;
        for (size_t i = 0; i < heard->count && count < MOST_MARKS; i++)
            if (heard->tones[i].score >= 1 && heard->tones[i].swells == swells)
                marks[count++] = (plot_mark){heard->tones[i].order, heard->tones[i].what};
        char title[200];
        snprintf(title, sizeof title,
                 swells ? "How the sound between %.0f and %.0f Hz swells" : "The sound's spectrum",
                 heard->low, heard->high);
        double reach = swells ? SHOWN_ORDERS : 1.3 * fmax(heard->chief->order, SLOTS);
        plot p = {title, "turns of the rotor",
                  "dB",  x + 1,
                  y + 1, lines->count - 1,
                  0,     fmin(reach, x[lines->count - 1]),
                  0,     0,
                  true,  marks,
                  count};
        plot_fit(&p);
        p.low = fmax(p.low, -60);
        if (print)
            plot_print(&p);
        if (options->svg != NULL)
            status = plot_save(&p, options->svg);
    }
    free(x);
    free(y);
    return status;
}

static json_t *tone_json(const cw_sound_tone *tone)
{
    json_t *out = json_pack("{s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:i, s:b, s:b}", "tone", tone->name, "what",
                            tone->what, "expected", tone->expected, "frequency", tone->frequency, "order",
                            tone->order, "score", tone->score, "decibels", tone->above, "multiples",
                            (int)tone->multiples, "swells", tone->swells, "counts", tone->fault);
    if (out != NULL && tone->swells)
        json_object_set_new(out, "band", json_pack("[f, f]", tone->low, tone->high));
    return out;
}

static int print_json(const listen_call *call)
{
    const cw_sound *heard = call->heard;
    json_t *tones = json_array();
    for (size_t i = 0; i < heard->count; i++)
        json_array_append_new(tones, tone_json(&heard->tones[i]));
    json_t *whole = json_pack("{s:s, s:s, s:f, s:f, s:f, s:o, s:[{s:s, s:s}]}", "source", heard->source,
                              "says", heard->says, "rotor", heard->rotor * 60, "seconds", heard->seconds,
                              "rate", call->sound.rate, "tones", tones, "answers", "check", "sound_source",
                              "value", heard->source);
    bool written = whole != NULL && json_dumpf(whole, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9)) == 0;
    json_decref(whole);
    if (written)
        putchar('\n');
    else
        fputs("corewright: error: out of memory\n", stderr);
    return written ? EXIT_DONE : EXIT_FAILED;
}

/* Tones of two parts can lie on one another: then both are named. */
static void print_verdict(const cw_sound *heard)
{
    const cw_sound_tone *chief = heard->chief;
    if (chief == NULL) {
        screen_say("So ", "it speaks for %s.", heard->says);
        return;
    }
    screen_say("So ", "it speaks for %s: %s.", heard->says, chief->what);
    for (size_t i = 0; i < heard->count; i++) {
        const cw_sound_tone *tone = &heard->tones[i];
        if (tone != chief && tone->fault && fabs(tone->frequency / chief->frequency - 1) < SAME)
            screen_say("   ", "As well it could be %s: their tones lie on one another.", tone->what);
    }
}

static int report(const cli_options *options, const listen_call *call)
{
    int status = finding_keep(options, "sound_source", call->heard->source, call->path);
    if (status != EXIT_DONE)
        return status;
    if (options->json) {
        status = plot_sound(options, call, false);
        return status == EXIT_DONE ? print_json(call) : status;
    }
    finding_caution(
        "the engine runs while this is recorded: hold no microphone near belt or fan, no loose sleeves or "
        "leads, stand out of the plane of rotation.");
    print_assumptions(options, call);
    print_evidence(call);
    status = plot_sound(options, call, true);
    screen_line();
    print_verdict(call->heard);
    screen_line();
    finding_print(options, "sound_source", call->heard->source);
    return status;
}

int command_listen(const cli_options *options)
{
    listen_call call;
    int status = read_call(options, &call);
    if (status != EXIT_DONE)
        return status;
    status = hear(&call);
    if (status == EXIT_DONE)
        status = report(options, &call);
    cw_sound_free(call.heard);
    recording_free(&call.sound);
    return status;
}
