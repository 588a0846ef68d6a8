#include "bench/tone.h"
#include "bench/output.h"
#include <assert.h>
#include <math.h>

static const struct {
    const char *name, *what;
    double wander;
    unsigned harmonics;
} kinds[] = {
#define CW_TONE(name, what, wander, harmonics) {#name, what, wander, harmonics},
#include "bench/tone.def"
#undef CW_TONE
};

/* NOLINTNEXTLINE(bugprone-macro-parentheses): one term of a sum */
#define CW_TONE(name, what, wander, harmonics) +(harmonics)
_Static_assert(0
#include "bench/tone.def"
                   <= CW_TONE_MOST,
               "a machine has no more tones than there is room for");
#undef CW_TONE

const char *cw_tone_name(cw_tone_kind kind)
{
    assert((unsigned)kind < CW_TONE_COUNT);
    return kinds[kind].name;
}

const char *cw_tone_what(cw_tone_kind kind)
{
    assert((unsigned)kind < CW_TONE_COUNT);
    return kinds[kind].what;
}

typedef struct tone_list {
    const cw_tone_machine *machine;
    cw_tone *tones;
    size_t count;
} tone_list;

/* A tone that is to lie at this many Hz, and its multiples; nothing when it is not known. */
static void add(tone_list *list, cw_tone_kind kind, double frequency)
{
    if (!(frequency > 0))
        return;
    double share = list->machine->speed_share + kinds[kind].wander;
    for (unsigned n = 1; n <= kinds[kind].harmonics; n++) {
        assert(list->count < CW_TONE_MOST);
        double at = frequency * n;
        list->tones[list->count++] = (cw_tone){kind, n, at, at * share + list->machine->resolution};
    }
}

/* The four tones of a bearing stand together in tone.def, beginning with the cage's. */
static cw_status add_bearing(tone_list *list, cw_tone_kind cage, const cw_bearing_shape *shape)
{
    cw_bearing_tones tones;
    double turns = list->machine->rotor / 60;
    if (shape == NULL)
        return CW_OK;
    cw_status status = cw_bearing_listen(shape, &tones);
    if (status != CW_OK)
        return status;
    add(list, cage, turns * tones.cage);
    add(list, cage + 1, turns * tones.outer);
    add(list, cage + 2, turns * tones.inner);
    add(list, cage + 3, turns * tones.ball * 2);
    return CW_OK;
}

static void sort(cw_tone *tones, size_t count, double at)
{
    for (size_t i = 1; i < count; i++) {
        cw_tone kept = tones[i];
        size_t k = i;
        double off = isnan(at) ? kept.frequency : fabs(kept.frequency - at) / kept.tolerance;
        for (; k > 0; k--) {
            const cw_tone *before = &tones[k - 1];
            if ((isnan(at) ? before->frequency : fabs(before->frequency - at) / before->tolerance) <= off)
                break;
            tones[k] = *before;
        }
        tones[k] = kept;
    }
}

cw_status cw_tone_list(const cw_tone_machine *machine, cw_tone *out, size_t *count)
{
    if (machine == NULL || out == NULL || count == NULL ||
        !(machine->rotor > 0 && isfinite(machine->rotor)) || machine->ratio <= 0 || machine->belt < 0 ||
        !(machine->speed_share >= 0 && machine->resolution >= 0) || machine->poles % 2 != 0)
        return CW_BAD_CALL;
    tone_list list = {.machine = machine, .tones = out};
    double turns = machine->rotor / 60;
    double electrical = machine->poles > 0 ? cw_electrical_frequency(machine->rotor, machine->poles) : NAN;
    add(&list, CW_TONE_crank, turns / machine->ratio);
    add(&list, CW_TONE_belt, machine->belt);
    add(&list, CW_TONE_rotor, turns);
    add(&list, CW_TONE_fan, turns * machine->blades);
    add(&list, CW_TONE_slot, turns * machine->slots);
    add(&list, CW_TONE_electrical, electrical);
    add(&list, CW_TONE_electrical_2, electrical * 2);
    add(&list, CW_TONE_electrical_3, electrical * 3);
    add(&list, CW_TONE_ripple, electrical * 6);
    cw_status status = add_bearing(&list, CW_TONE_front_cage, machine->front);
    if (status == CW_OK)
        status = add_bearing(&list, CW_TONE_rear_cage, machine->rear);
    if (status != CW_OK)
        return status;
    sort(out, list.count, NAN);
    *count = list.count;
    return CW_OK;
}

size_t cw_tone_match(const cw_tone *tones, size_t count, double frequency, cw_tone *out)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        if (fabs(tones[i].frequency - frequency) <= tones[i].tolerance && tones[i].tolerance > 0)
            out[found++] = tones[i];
    sort(out, found, frequency);
    return found;
}
