#include "bench/trace_inside.h"
#include <assert.h>
#include <math.h>

#define POOR 0.0 /* misfit from which on a coarser look for the base is worth it */

static const struct {
    const char *name, *title;
} states[] = {
#define CW_TRACE(name, title, line) {#name, title},
#include "bench/trace.def"
#undef CW_TRACE
    {"unclear", "it cannot be told"},
};

const char *cw_trace_name(cw_trace_state state)
{
    assert((unsigned)state <= CW_TRACE_unclear);
    return states[state].name;
}

const char *cw_trace_title(cw_trace_state state)
{
    assert((unsigned)state <= CW_TRACE_unclear);
    return states[state].title;
}

static bool sound(const double *time, const double *volts, size_t count, const cw_trace_setup *setup)
{
    if (time == NULL || volts == NULL || setup == NULL || count < CW_TRACE_LEAST)
        return false;
    for (size_t i = 0; i < count; i++)
        if (!isfinite(time[i]) || !isfinite(volts[i]) || (i > 0 && time[i] <= time[i - 1]))
            return false;
    if (!isnan(setup->frequency))
        return setup->frequency > 0 && isfinite(setup->frequency) && setup->share >= 0 && setup->share < 0.5;
    return setup->low > 0 && setup->low < setup->high && isfinite(setup->high);
}

static void measure(const double *volts, size_t count, cw_trace_reading *out)
{
    double low = volts[0], high = volts[0], sum = 0, squares = 0;
    for (size_t i = 0; i < count; i++) {
        low = fmin(low, volts[i]);
        high = fmax(high, volts[i]);
        sum += volts[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++)
        squares += (volts[i] - sum) * (volts[i] - sum) / (double)count;
    out->mean = sum;
    out->rms = sqrt(squares);
    out->peak_to_peak = high - low;
}

cw_status cw_trace_read(cw_arena *arena, const double *time, const double *volts, size_t count,
                        const cw_trace_setup *setup, cw_trace_reading *out)
{
    static const double explains[] = {0.998, 0.97};
    if (out == NULL || !sound(time, volts, count, setup))
        return CW_BAD_CALL;
    *out = (cw_trace_reading){.state = CW_TRACE_unclear, .frequency = NAN, .doubt = CW_TRACE_NO_LINES};
    measure(volts, count, out);
    for (size_t i = 0; i < sizeof explains / sizeof *explains; i++) {
        trace_lines lines;
        cw_trace_reading reading = *out;
        cw_status status = trace_find_lines(arena, time, volts, count, setup, explains[i], &lines);
        if (status != CW_OK)
            return status;
        trace_weigh(&lines, setup, time[count - 1] - time[0], &reading);
        if (i == 0 || trace_misfit(&reading) < trace_misfit(out))
            *out = reading;
        if (trace_misfit(out) < POOR)
            break;
    }
    return CW_OK;
}
