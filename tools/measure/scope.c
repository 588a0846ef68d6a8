/* scope: the ripple of a scope's trace, and what it says of diodes and phases. */
#include "commands.h"
#include "corewright/corewright.h"
#include "measure/finding.h"
#include "measure/plot.h"
#include "measure/table.h"
#include "screen/screen.h"
#include "setup/number.h"
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { POLES = 12, SHOWN_ORDERS = 12 };
#define SPEED_SHARE 3.0 /* %, of a tachometer and a belt */
#define SHOWN_PERIODS 3.0
#define CLIPPED 0.25 /* of the samples at one end of the scale */

typedef struct scope_call {
    const char *path;
    double rate, rpm, ratio, speed_error; /* NAN: not given; %, share below */
    unsigned poles;
    trace_table trace;
    cw_ripple ripple;
    const char *answer; /* NULL when it cannot be told */
} scope_call;

static int read_call(const cli_options *options, scope_call *out)
{
    *out = (scope_call){.rate = 0, .rpm = NAN, .ratio = 1, .speed_error = SPEED_SHARE, .poles = POLES};
    if (options->rest.count != 1) {
        fputs("corewright: error: scope wants one file: a scope's CSV export\n", stderr);
        return EXIT_WRONG;
    }
    out->path = options->rest.items[0];
    int status = number_read("--rate", options->rate, 1, 1e9, &out->rate);
    if (status == EXIT_DONE)
        status = number_read("--rpm", options->rpm, 50, 30000, &out->rpm);
    if (status == EXIT_DONE)
        status = number_read("--ratio", options->ratio, 0.2, 10, &out->ratio);
    if (status == EXIT_DONE)
        status = number_read("--speed-error", options->speed_error, 0, 20, &out->speed_error);
    if (status == EXIT_DONE)
        status = number_poles(options->poles, &out->poles);
    return status;
}

/* Flat at one end for long: a quarter of all samples at the highest or lowest of many values. An open phase
 * on a battery rests low for long, but with noise on it. */
static bool clipped(const trace_table *trace)
{
    double low = INFINITY, high = -INFINITY;
    size_t at_low = 0, at_high = 0;
    for (size_t i = 0; i < trace->count; i++) {
        low = fmin(low, trace->volts[i]);
        high = fmax(high, trace->volts[i]);
    }
    for (size_t i = 0; i < trace->count; i++) {
        at_low += trace->volts[i] == low;
        at_high += trace->volts[i] == high;
    }
    double most = CLIPPED * (double)trace->count;
    return low < high && ((double)at_low > most || (double)at_high > most);
}

static int read_trace(scope_call *call)
{
    int status = table_read(call->path, call->rate, &call->trace);
    if (status != EXIT_DONE)
        return status;
    if (clipped(&call->trace)) {
        fprintf(stderr,
                "corewright: error: %s: clipped: a quarter of the samples lie at one end of the scale\n",
                call->path);
        fputs("help: couple the scope AC, or take more volts a division, and record again\n", stderr);
        return EXIT_WRONG;
    }
    cw_scope_setup setup = {NAN, call->speed_error / 100};
    if (!isnan(call->rpm))
        setup.frequency = call->rpm * call->ratio / 60 * call->poles / 2;
    cw_status done =
        cw_scope(NULL, call->trace.time, call->trace.volts, call->trace.count, &setup, &call->ripple);
    if (done != CW_OK) {
        fprintf(stderr, "corewright: error: %s: %s\n", call->path, cw_status_text(done));
        return done == CW_NO_MEMORY ? EXIT_FAILED : EXIT_WRONG;
    }
    call->answer = *call->ripple.doubt == '\0' ? call->ripple.state : NULL;
    return EXIT_DONE;
}

static void print_assumptions(const scope_call *call)
{
    if (isnan(call->rpm)) {
        screen_say(
            "",
            "Assumed: the speed is not known, so it was found in the trace itself, an electrical frequency "
            "of %g to %g Hz being usual.",
            CW_SCOPE_LOW, CW_SCOPE_HIGH);
        return;
    }
    screen_say("", "Assumed%s: %u poles, so %.4g Hz electrical at %g rpm and ratio %g, within %g %%.", "",
               call->poles, call->rpm * call->ratio / 60 * call->poles / 2, call->rpm, call->ratio,
               call->speed_error);
}

static void print_evidence(const scope_call *call)
{
    const cw_ripple *r = &call->ripple;
    screen_say("", "%zu samples over %.4g ms; mean %.3f V, ripple %.4g V rms, %.4g V from peak to peak.",
               call->trace.count, (call->trace.time[call->trace.count - 1] - call->trace.time[0]) * 1e3,
               r->mean, r->rms, r->peak_to_peak);
    if (isnan(r->frequency))
        return;
    screen_say("",
               "Electrical frequency %.4g Hz: %.0f rpm of a rotor with %u poles; %.1f periods in the trace.",
               r->frequency, r->frequency * 120 / call->poles, call->poles, r->periods);
    screen_say("", "The wave leans %+.2f (below -0.4: round tops over sharp bottoms).", r->lean);
    double most = 0;
    for (int n = 1; n <= SHOWN_ORDERS; n++)
        most = fmax(most, r->amplitude[n]);
    for (int n = 1; n <= SHOWN_ORDERS; n++) {
        char name[40], shown[20];
        if (!(r->amplitude[n] > 0) || (r->amplitude[n] < 0.02 * most && n > 3 && n != 6))
            continue;
        snprintf(name, sizeof name, "%2d x  %.4g Hz", n, n * r->frequency);
        snprintf(shown, sizeof shown, "%.3g V", r->amplitude[n]);
        screen_bar(name, most > 0 ? r->amplitude[n] / most : 0, shown);
    }
}

static void print_verdict(const scope_call *call)
{
    const cw_ripple *r = &call->ripple;
    screen_line();
    if (call->answer != NULL) {
        screen_say("So ", "%s (next likeliest: %s, %.3g times less likely).", r->says, r->next,
                   fmin(r->odds, 1e6));
    } else if (*r->likeliest != '\0') {
        screen_say("So ", "%s: %s. Likeliest: %s, then %s.", r->says, r->doubt, r->likeliest, r->next);
    } else {
        screen_say("So ", "%s: %s.", r->says, r->doubt);
    }
    screen_line();
}

static int plot_trace(const cli_options *options, const scope_call *call, bool print)
{
    const trace_table *t = &call->trace;
    size_t last = t->count - 1;
    double span = t->time[last] - t->time[0];
    if (!isnan(call->ripple.frequency))
        span = fmin(span, SHOWN_PERIODS / call->ripple.frequency);
    double *ms = malloc(t->count * sizeof *ms);
    if (ms == NULL) {
        fputs("corewright: error: out of memory\n", stderr);
        return EXIT_FAILED;
    }
    for (size_t i = 0; i < t->count; i++)
        ms[i] = (t->time[i] - t->time[0]) * 1e3;
    char title[200];
    snprintf(title, sizeof title, "Ripple: %s", call->ripple.says);
    plot p = {title, "ms", "V", ms, t->volts, t->count, 0, span * 1e3, 0, 0, false, NULL, 0};
    plot_fit(&p);
    if (print)
        plot_print(&p);
    int status = options->svg != NULL ? plot_save(&p, options->svg) : EXIT_DONE;
    free(ms);
    return status;
}

static int print_json(const scope_call *call)
{
    const cw_ripple *r = &call->ripple;
    json_t *orders = json_array();
    for (int n = 1; n <= CW_SCOPE_ORDERS && !isnan(r->frequency); n++)
        if (r->amplitude[n] > 0)
            json_array_append_new(orders, json_pack("{s:i, s:f, s:f}", "order", n, "frequency",
                                                    n * r->frequency, "amplitude", r->amplitude[n]));
    json_t *answers = call->answer != NULL
                          ? json_pack("[{s:s, s:s}]", "check", "ripple_orders", "value", call->answer)
                          : json_array();
    json_t *whole =
        json_pack("{s:s, s:s, s:s, s:s, s:s, s:f, s:f, s:f, s:f, s:f, s:i, s:o, s:o}", "state", r->state,
                  "says", r->says, "doubt", r->doubt, "likeliest", r->likeliest, "next", r->next, "mean",
                  r->mean, "rms", r->rms, "peak_to_peak", r->peak_to_peak, "noise", r->noise, "lean", r->lean,
                  "samples", (int)call->trace.count, "orders", orders, "answers", answers);
    if (whole != NULL && !isnan(r->frequency))
        json_object_set_new(whole, "frequency", json_real(r->frequency));
    bool written = whole != NULL && json_dumpf(whole, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9)) == 0;
    json_decref(whole);
    if (written)
        putchar('\n');
    else
        fputs("corewright: error: out of memory\n", stderr);
    return written ? EXIT_DONE : EXIT_FAILED;
}

static int report(const cli_options *options, const scope_call *call)
{
    int status = finding_keep(options, "ripple_orders", call->answer, call->path);
    if (status != EXIT_DONE)
        return status;
    if (options->json) {
        status = plot_trace(options, call, false);
        return status == EXIT_DONE ? print_json(call) : status;
    }
    finding_caution(
        "a probe at the output post is at a live, unfused post beside a running engine: clip on with the "
        "battery's minus off, keep sleeves and leads off belt and fan, fuse the lead.");
    print_assumptions(call);
    print_evidence(call);
    screen_line();
    status = plot_trace(options, call, true);
    print_verdict(call);
    finding_print(options, "ripple_orders", call->answer);
    return status;
}

int command_scope(const cli_options *options)
{
    scope_call call;
    int status = read_call(options, &call);
    if (status != EXIT_DONE)
        return status;
    status = read_trace(&call);
    if (status == EXIT_DONE)
        status = report(options, &call);
    table_free(&call.trace);
    return status;
}
