#include "bench/hearing.h"
#include <assert.h>
#include <math.h>
#include <string.h>

static const struct {
    const char *name, *what;
} sources[] = {
#define CW_SOURCE(name, what) {#name, what},
#include "bench/source.def"
#undef CW_SOURCE
};

const char *cw_sounding_name(cw_sounding source)
{
    assert((unsigned)source < CW_SOURCE_COUNT);
    return sources[source].name;
}

const char *cw_sounding_what(cw_sounding source)
{
    assert((unsigned)source < CW_SOURCE_COUNT);
    return sources[source].what;
}

cw_sounding cw_sounding_of(cw_tone_kind kind)
{
    if (kind >= CW_TONE_front_cage && kind <= CW_TONE_rear_ball)
        return CW_SOURCE_bearing;
    switch (kind) {
    case CW_TONE_electrical:
    case CW_TONE_electrical_2:
    case CW_TONE_electrical_3:
        return CW_SOURCE_electrical;
    case CW_TONE_belt:
        return CW_SOURCE_belt;
    case CW_TONE_rotor:
        return CW_SOURCE_rotor;
    default:
        return CW_SOURCE_nothing;
    }
}

#define PIECE 0.7    /* s: a spectrum's pieces, short enough that some slip does not smear a series */
#define BAND 2500.0  /* Hz: wide enough for four multiples of a ball's passing */
#define LOWEST 500.0 /* Hz: below, engine and tyres are louder than anything that rings */
#define MOST_BANDS 64
#define SPACING 16 /* lines from one reading of the floor to the next */
#define AROUND 40  /* lines to either side that a floor is the median of */
#define CAP 3.0    /* of one multiple: 13 dB over its surroundings */
#define MULTIPLES 4
#define STANDS_OUT 1.4   /* of one multiple: 6 dB */
#define BY_CHANCE 3.3    /* sum that no envelope of noise in hundreds of recordings came near (2.6 at most) */
#define PLAIN_CHANCE 3.0 /* of one line in the plain spectrum: 13 dB */
#define ROTOR_CHANCE 8.0 /* every rotor hums once a turn: it takes a row of multiples to be a fault */
#define DRIFT 0.003      /* how far a multiple may stray from its place */

/* A spectrum's lines over their surroundings, as logarithms of power. */
typedef struct raised {
    double *lines;
    size_t count;
    double step;
} raised;

static cw_status raise_lines(cw_arena *arena, const cw_spectrum *spectrum, raised *out)
{
    double *lines = CW_NEW_ARRAY(arena, double, spectrum->count);
    if (lines == NULL)
        return CW_NO_MEMORY;
    double before = cw_spectrum_floor(spectrum, 0, AROUND), after = before;
    for (size_t k = 0; k < spectrum->count; k++) {
        if (k % SPACING == 0) {
            before = after;
            after = cw_spectrum_floor(spectrum, (double)(k + SPACING) * spectrum->step, AROUND);
            after = after > 0 ? after : before;
        }
        double floor = before + (after - before) * (double)(k % SPACING) / SPACING;
        double a = spectrum->amplitude[k];
        lines[k] = floor > 0 && a > 0 ? 2 * log(a / floor) : 0;
    }
    *out = (raised){lines, spectrum->count, spectrum->step};
    return CW_OK;
}

/* The highest line within the drift of a frequency. */
static double near(const raised *lines, double frequency)
{
    double reach = DRIFT * frequency + lines->step * 0.75;
    double from = ceil((frequency - reach) / lines->step), to = floor((frequency + reach) / lines->step);
    double best = 0;
    for (size_t k = (size_t)fmax(from, 1); k < lines->count && (double)k <= to; k++)
        best = fmax(best, lines->lines[k]);
    return best;
}

/* Sum over the multiples of a frequency. */
typedef struct row {
    double sum, loudest;
    unsigned seen, chief; /* multiples that stand out; the loudest of all */
} row;

/* A single tone is not capped: it is all the evidence there is, and may be loud. */
static row row_at(const raised *lines, double frequency, unsigned multiples)
{
    row out = {0, 0, 0, 1};
    for (unsigned n = 1; n <= multiples; n++) {
        double up = near(lines, frequency * n);
        out.sum += multiples > 1 ? fmin(up, CAP) : up;
        out.seen += up >= STANDS_OUT;
        if (up > out.loudest) {
            out.loudest = up;
            out.chief = n;
        }
    }
    return out;
}

/* The frequency within the tolerance whose row is highest; of equals the one nearest to where it should be.
 */
static cw_heard look(const raised *lines, const cw_spectrum *spectrum, const cw_tone *tone,
                     unsigned multiples, double chance)
{
    cw_heard best = {.kind = tone->kind,
                     .expected = tone->frequency,
                     .frequency = tone->frequency,
                     .score = -1,
                     .loudest = 1};
    double step = lines->step / MULTIPLES;
    for (size_t k = 0; (double)k * step <= 2 * tone->tolerance; k++) {
        double at = tone->frequency - tone->tolerance + (double)k * step;
        if (at < 2 * lines->step)
            continue;
        row found = row_at(lines, at, multiples);
        double score = found.sum / chance;
        bool nearer = fabs(at - tone->frequency) < fabs(best.frequency - tone->frequency);
        if (score < best.score - 1e-9 || (score < best.score + 1e-9 && !nearer))
            continue;
        best.score = score;
        best.frequency = at;
        best.above = found.loudest * 10 / log(10);
        best.multiples = found.seen;
        best.loudest = found.chief;
    }
    double at = best.frequency * best.loudest, reach = DRIFT * at + lines->step;
    best.amplitude = cw_spectrum_peak(spectrum, at - reach, at + reach).amplitude;
    return best;
}

/* How a kind is looked for: strikes swell the sound; currents hum. multiples 0: not at all. */
static unsigned way_to_look(cw_tone_kind kind, bool envelope, double *chance)
{
    cw_sounding source = cw_sounding_of(kind);
    *chance = envelope ? BY_CHANCE : source == CW_SOURCE_rotor ? ROTOR_CHANCE : PLAIN_CHANCE;
    if (envelope)
        return source == CW_SOURCE_bearing || source == CW_SOURCE_rotor || source == CW_SOURCE_belt
                   ? MULTIPLES
                   : 0;
    if (source == CW_SOURCE_bearing || source == CW_SOURCE_belt)
        return 0;
    return source == CW_SOURCE_rotor ? MULTIPLES : 1;
}

static void keep_better(cw_hearing *out, const cw_heard *heard)
{
    for (size_t i = 0; i < out->count; i++) {
        if (out->heard[i].kind != heard->kind)
            continue;
        if (heard->score > out->heard[i].score)
            out->heard[i] = *heard;
        return;
    }
    assert(out->count < CW_TONE_COUNT);
    out->heard[out->count++] = *heard;
}

/* Every kind's first tone, looked for in one spectrum. */
static void look_for_all(const raised *lines, const cw_spectrum *spectrum, const cw_tone *tones, size_t count,
                         const double *band, cw_hearing *out)
{
    for (size_t i = 0; i < count; i++) {
        double chance;
        unsigned multiples = way_to_look(tones[i].kind, band != NULL, &chance);
        if (tones[i].harmonic != 1 || multiples == 0)
            continue;
        cw_heard heard = look(lines, spectrum, &tones[i], multiples, chance);
        heard.swells = band != NULL;
        heard.low = band != NULL ? band[0] : 0;
        heard.high = band != NULL ? band[1] : 0;
        heard.order = heard.frequency / out->rotor;
        keep_better(out, &heard);
    }
}

/* Bands that overlap by half, from LOWEST to nearly half the rate; one alone where there is no room. */
static size_t list_bands(double rate, double (*out)[2])
{
    double top = rate / 2 * 0.97, low = top < LOWEST + BAND ? fmax(top - BAND, LOWEST / 5) : LOWEST;
    size_t count = 0;
    do {
        double high = fmin(low + BAND, top);
        out[count][0] = low;
        out[count++][1] = high;
        low += BAND / 2;
    } while (low + BAND <= top && count < MOST_BANDS);
    return count;
}

typedef struct listener {
    cw_arena *arena;
    cw_tone tones[CW_TONE_MOST];
    size_t tone_count;
    double best; /* score of the band whose envelope is kept */
} listener;

static cw_status hear_band(listener *in, const cw_bands *bands, const double *band, cw_hearing *out)
{
    double *envelope, rate;
    size_t count;
    cw_spectrum spectrum;
    raised lines;
    cw_status status = cw_bands_envelope(in->arena, bands, band[0], band[1], &envelope, &count, &rate);
    if (status == CW_OK)
        status = cw_spectrum_take(in->arena, envelope, count, rate, (size_t)(PIECE * rate), &spectrum);
    if (status == CW_OK)
        status = raise_lines(in->arena, &spectrum, &lines);
    if (status != CW_OK)
        return status;
    cw_hearing alone = {.rotor = out->rotor};
    look_for_all(&lines, &spectrum, in->tones, in->tone_count, band, &alone);
    double best = 0;
    for (size_t i = 0; i < alone.count; i++) {
        best = fmax(best, alone.heard[i].score);
        keep_better(out, &alone.heard[i]);
    }
    if (out->envelope.amplitude == NULL || best > in->best) {
        out->envelope = spectrum;
        out->low = band[0];
        out->high = band[1];
        in->best = best;
    }
    return CW_OK;
}

static void sort(cw_hearing *out)
{
    for (size_t i = 1; i < out->count; i++) {
        cw_heard kept = out->heard[i];
        size_t k = i;
        for (; k > 0 && out->heard[k - 1].score < kept.score; k--)
            out->heard[k] = out->heard[k - 1];
        out->heard[k] = kept;
    }
}

static const cw_heard *find(const cw_hearing *hearing, cw_tone_kind kind)
{
    for (size_t i = 0; i < hearing->count; i++)
        if (hearing->heard[i].kind == kind)
            return &hearing->heard[i];
    return NULL;
}

static bool heard_at_all(const cw_hearing *hearing, cw_tone_kind kind)
{
    const cw_heard *heard = find(hearing, kind);
    return heard != NULL && heard->score >= 1;
}

/* A knock once a turn: the whole row. */
static bool knocks(const cw_heard *rotor)
{
    return rotor->swells && rotor->score >= 1 && rotor->multiples == MULTIPLES;
}

/* Some tones of bearings lie close to whole turns, and a knock once a turn has all of these. */
static bool whole_turns(const cw_heard *heard, const cw_heard *rotor)
{
    double turns = heard->frequency / rotor->frequency;
    return fabs(turns - round(turns)) <= 2 * DRIFT * turns;
}

/* One multiple alone, and not the first, is rather one of another row's. */
static bool stray(const cw_heard *heard)
{
    return heard->multiples < 2 && heard->loudest > 1;
}

/* A flaw of an inner ring swells once a turn and so has neighbours whole turns below itself; with some
 * bearings these lie where a ball or the outer ring would be heard. */
static bool beside_inner(const cw_hearing *hearing, const cw_heard *heard)
{
    bool rear = heard->kind >= CW_TONE_rear_cage;
    const cw_heard *inner = find(hearing, rear ? CW_TONE_rear_inner : CW_TONE_front_inner);
    if (inner == heard || inner->score < 1 || stray(inner))
        return false;
    for (int turns = 1; turns <= 2; turns++) {
        double neighbour = inner->frequency - turns * hearing->rotor;
        if (fabs(heard->frequency - neighbour) <= 2 * hearing->plain.step + DRIFT * inner->frequency)
            return true;
    }
    return false;
}

/* Whether it speaks for its source, and is not what something else makes too: a flaw of an inner ring is loud
 * once a turn, when it passes under the load, and one of a ball once a turn of the cage. */
static bool counts(const cw_hearing *hearing, const cw_heard *heard)
{
    const cw_heard *ripple = find(hearing, CW_TONE_ripple), *rotor = find(hearing, CW_TONE_rotor);
    switch (heard->kind) {
    case CW_TONE_electrical:
    case CW_TONE_electrical_2:
    case CW_TONE_electrical_3: /* a good unit's currents are uneven a little; its ripple is louder */
        return ripple == NULL || heard->amplitude > ripple->amplitude;
    case CW_TONE_rotor:
        return !heard->swells || knocks(heard) ||
               !(heard_at_all(hearing, CW_TONE_front_inner) || heard_at_all(hearing, CW_TONE_rear_inner));
    case CW_TONE_front_cage:
        return !heard_at_all(hearing, CW_TONE_front_ball);
    case CW_TONE_rear_cage:
        return !heard_at_all(hearing, CW_TONE_rear_ball);
    default:
        break;
    }
    cw_sounding source = cw_sounding_of(heard->kind);
    if (source == CW_SOURCE_bearing && beside_inner(hearing, heard))
        return false;
    return source != CW_SOURCE_nothing &&
           !(source == CW_SOURCE_bearing && knocks(rotor) && whole_turns(heard, rotor));
}

/* A whole multiple of a row that stands higher is that row again. */
static bool another_row(const cw_hearing *hearing, size_t index)
{
    const cw_heard *heard = &hearing->heard[index];
    if (!heard->swells)
        return false;
    for (size_t i = 0; i < index; i++) {
        const cw_heard *higher = &hearing->heard[i];
        if (higher->fault && higher->swells && heard->frequency > 1.5 * higher->frequency &&
            whole_turns(heard, higher))
            return true;
    }
    return cw_sounding_of(heard->kind) == CW_SOURCE_bearing && stray(heard);
}

static void decide(cw_hearing *out)
{
    out->source = CW_SOURCE_nothing;
    out->chief = out->count;
    for (size_t i = 0; i < out->count && out->heard[i].score >= 1; i++) {
        out->heard[i].fault = counts(out, &out->heard[i]) && !another_row(out, i);
        if (!out->heard[i].fault || out->chief < out->count)
            continue;
        out->source = cw_sounding_of(out->heard[i].kind);
        out->chief = i;
    }
}

static bool sound(const double *signal, size_t count, double rate)
{
    if (signal == NULL || !(rate >= CW_HEARING_RATE && isfinite(rate)) ||
        (double)count < CW_HEARING_LEAST * rate)
        return false;
    bool alike = true;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(signal[i]))
            return false;
        alike = alike && signal[i] == signal[0];
    }
    return !alike;
}

cw_status cw_hearing_take(cw_arena *arena, const double *signal, size_t count, double rate,
                          const cw_tone_machine *machine, cw_hearing *out)
{
    listener in = {.arena = arena};
    cw_bands bands;
    raised lines;
    double list[MOST_BANDS][2];
    if (out == NULL || !sound(signal, count, rate))
        return CW_BAD_CALL;
    cw_status status = cw_tone_list(machine, in.tones, &in.tone_count);
    if (status != CW_OK)
        return status;
    *out = (cw_hearing){.rotor = machine->rotor / 60};
    status = cw_spectrum_take(arena, signal, count, rate, (size_t)(PIECE * rate), &out->plain);
    if (status == CW_OK)
        status = raise_lines(arena, &out->plain, &lines);
    if (status == CW_OK)
        status = cw_bands_take(arena, signal, count, rate, &bands);
    if (status != CW_OK)
        return status;
    look_for_all(&lines, &out->plain, in.tones, in.tone_count, NULL, out);
    size_t band_count = list_bands(rate, list);
    for (size_t i = 0; status == CW_OK && i < band_count; i++)
        status = hear_band(&in, &bands, list[i], out);
    if (status != CW_OK)
        return status;
    sort(out);
    decide(out);
    return CW_OK;
}
