#include "corewright/signal.h"
#include "bench/belt.h"
#include "bench/hearing.h"
#include "bench/shape.h"
#include "bench/trace.h"
#include <assert.h>
#include <math.h>

static_assert((int)CW_SCOPE_ORDERS == (int)CW_TRACE_ORDERS, "the orders of both headers are the same");

static cw_arena *new_arena(const cw_settings *settings)
{
    if (settings == NULL || settings->resize == NULL)
        return cw_arena_new(&cw_system_allocator);
    cw_allocator allocator = {settings->resize, settings->context};
    return cw_arena_new(&allocator);
}

cw_status cw_balls_of(const char *bearing, cw_balls *out, bool *published)
{
    if (bearing == NULL || out == NULL || published == NULL)
        return CW_BAD_CALL;
    const cw_bearing_size *size = cw_bearing_find(bearing);
    if (size == NULL)
        return CW_NOT_FOUND;
    cw_bearing_shape shape = cw_bearing_shape_of(size, published);
    *out = (cw_balls){shape.balls, shape.ball, shape.pitch, shape.contact_angle};
    return CW_OK;
}

double cw_belt_passing(double length, double diameter, double rotor)
{
    return cw_belt_frequency(diameter, CW_BELT_LINE, rotor, length);
}

/* Of a result: the arena that owns it stands first, so that free finds it. */
typedef struct owned_sound {
    cw_sound sound;
    cw_arena *arena;
} owned_sound;

static cw_bearing_shape shape_of(const cw_balls *balls)
{
    return (cw_bearing_shape){balls->balls, balls->ball, balls->pitch, balls->contact_angle};
}

static cw_lines lines_of(const cw_spectrum *spectrum)
{
    return (cw_lines){spectrum->amplitude, spectrum->count, spectrum->step};
}

static cw_status tell(cw_arena *arena, const cw_hearing *heard, double seconds, cw_sound **out)
{
    owned_sound *owned = CW_NEW(arena, owned_sound);
    cw_sound_tone *tones = CW_NEW_ARRAY(arena, cw_sound_tone, heard->count);
    if (owned == NULL || tones == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < heard->count; i++) {
        const cw_heard *h = &heard->heard[i];
        tones[i] = (cw_sound_tone){cw_tone_name(h->kind),
                                   cw_tone_what(h->kind),
                                   h->expected,
                                   h->frequency,
                                   h->order,
                                   h->score,
                                   h->above,
                                   h->multiples,
                                   h->swells,
                                   h->low,
                                   h->high,
                                   h->fault};
    }
    owned->arena = arena;
    owned->sound = (cw_sound){cw_sounding_name(heard->source),
                              cw_sounding_what(heard->source),
                              heard->chief < heard->count ? &tones[heard->chief] : NULL,
                              tones,
                              heard->count,
                              lines_of(&heard->plain),
                              lines_of(&heard->envelope),
                              heard->low,
                              heard->high,
                              heard->rotor,
                              seconds};
    *out = &owned->sound;
    return CW_OK;
}

cw_status cw_listen(const cw_settings *settings, const double *samples, size_t count, double rate,
                    const cw_listen_setup *setup, cw_sound **out)
{
    if (setup == NULL || out == NULL || !(setup->ratio > 0) || !(setup->speed > 0))
        return CW_BAD_CALL;
    cw_arena *arena = new_arena(settings);
    if (arena == NULL)
        return CW_NO_MEMORY;
    cw_bearing_shape front = shape_of(&setup->front), rear = shape_of(&setup->rear);
    cw_tone_machine machine = {.rotor = setup->speed * setup->ratio,
                               .ratio = setup->ratio,
                               .belt = setup->belt,
                               .poles = setup->poles,
                               .slots = setup->slots,
                               .blades = setup->blades,
                               .front = front.balls > 0 ? &front : NULL,
                               .rear = rear.balls > 0 ? &rear : NULL,
                               .speed_share = setup->speed_share,
                               .resolution = 1};
    cw_hearing heard;
    cw_status status = cw_hearing_take(arena, samples, count, rate, &machine, &heard);
    if (status == CW_OK)
        status = tell(arena, &heard, (double)count / rate, out);
    if (status != CW_OK)
        cw_arena_free(arena);
    return status;
}

void cw_sound_free(cw_sound *sound)
{
    if (sound != NULL)
        cw_arena_free(((owned_sound *)(void *)sound)->arena);
}

static const char *doubt_text(cw_trace_doubt doubt)
{
    switch (doubt) {
    case CW_TRACE_SURE:
        return "";
    case CW_TRACE_NO_LINES:
        return "nothing in the trace repeats above the noise";
    case CW_TRACE_FEW_PERIODS:
        return "the trace holds fewer than three electrical periods";
    case CW_TRACE_LIKE_NONE:
        return "the wave looks like none of the states known";
    case CW_TRACE_EITHER_WAY:
        return "with the clips the other way round it would be another fault; couple the scope to DC, or "
               "make sure "
               "that the tip is on the output post";
    case CW_TRACE_LIKE_TWO:
        break;
    }
    return "two states fit nearly alike; the speed (--rpm) may settle it";
}

cw_status cw_scope(const cw_settings *settings, const double *time, const double *volts, size_t count,
                   const cw_scope_setup *setup, cw_ripple *out)
{
    if (setup == NULL || out == NULL)
        return CW_BAD_CALL;
    cw_arena *arena = new_arena(settings);
    if (arena == NULL)
        return CW_NO_MEMORY;
    cw_trace_setup inner = {setup->frequency, setup->speed_share, CW_SCOPE_LOW, CW_SCOPE_HIGH};
    cw_trace_reading r;
    cw_status status = cw_trace_read(arena, time, volts, count, &inner, &r);
    cw_arena_free(arena);
    if (status != CW_OK)
        return status;
    bool lines = !isnan(r.frequency);
    *out = (cw_ripple){.state = cw_trace_name(r.state),
                       .says = cw_trace_title(r.state),
                       .doubt = doubt_text(r.doubt),
                       .likeliest = lines ? cw_trace_name(r.first) : "",
                       .next = lines ? cw_trace_name(r.second) : "",
                       .odds = lines ? exp((r.misfit[r.second] - r.misfit[r.first]) / 2) : 1,
                       .frequency = r.frequency,
                       .noise = r.noise,
                       .lean = r.lean,
                       .mean = r.mean,
                       .rms = r.rms,
                       .peak_to_peak = r.peak_to_peak,
                       .periods = r.periods};
    for (int n = 0; n <= CW_SCOPE_ORDERS; n++)
        out->amplitude[n] = r.amplitude[n];
    return CW_OK;
}
