#include "bench/near.h"
#include "bench/tone.h"
#include "support/random.h"
#include <string.h>

static const cw_bearing_shape front = {8, 1, 4, 0}; /* cage .375, outer 3, inner 5, ball 1.875 */

/* 3000 rpm: rotor 50 Hz; ratio 2.5: crank 20; 12 poles: 300 Hz. */
static cw_tone_machine machine(void)
{
    return (cw_tone_machine){.rotor = 3000,
                             .ratio = 2.5,
                             .belt = 6,
                             .poles = 12,
                             .slots = 36,
                             .blades = 11,
                             .front = &front,
                             .speed_share = 0.005,
                             .resolution = 1};
}

static const cw_tone *find(const cw_tone *tones, size_t count, cw_tone_kind kind, unsigned harmonic)
{
    for (size_t i = 0; i < count; i++)
        if (tones[i].kind == kind && tones[i].harmonic == harmonic)
            return &tones[i];
    return NULL;
}

Test(tone, where_each_lies)
{
    cw_tone_machine m = machine();
    cw_tone tones[CW_TONE_MOST];
    size_t count;
    cr_assert_eq(cw_tone_list(&m, tones, &count), CW_OK);
    static const struct {
        cw_tone_kind kind;
        unsigned harmonic;
        double at;
    } wanted[] = {
        {CW_TONE_crank, 1, 20},         {CW_TONE_belt, 2, 12},          {CW_TONE_rotor, 1, 50},
        {CW_TONE_fan, 1, 550},          {CW_TONE_slot, 1, 1800},        {CW_TONE_electrical, 1, 300},
        {CW_TONE_electrical_2, 1, 600}, {CW_TONE_electrical_3, 1, 900}, {CW_TONE_ripple, 1, 1800},
        {CW_TONE_front_cage, 1, 18.75}, {CW_TONE_front_outer, 2, 300},  {CW_TONE_front_inner, 1, 250},
        {CW_TONE_front_ball, 1, 187.5}};
    for (size_t i = 0; i < sizeof wanted / sizeof *wanted; i++) {
        const cw_tone *tone = find(tones, count, wanted[i].kind, wanted[i].harmonic);
        cr_assert_not_null(tone, "%s", cw_tone_name(wanted[i].kind));
        NEAR(tone->frequency, wanted[i].at, 1e-12);
    }
    cr_assert_null(find(tones, count, CW_TONE_rear_outer, 1));
    for (size_t i = 1; i < count; i++)
        cr_assert_leq(tones[i - 1].frequency, tones[i].frequency);
    /* Bound to the shaft: speed and resolution; a bearing slips two percent more. */
    NEAR(find(tones, count, CW_TONE_rotor, 1)->tolerance, 50 * 0.005 + 1, 1e-12);
    NEAR(find(tones, count, CW_TONE_front_inner, 1)->tolerance, 250 * 0.025 + 1, 1e-12);
}

/* 36 slots and 12 poles: 1800 Hz may be either, and both are said. 150 Hz: the rotor's third, the outer ring.
 */
Test(tone, shared_tones_are_all_given)
{
    cw_tone_machine m = machine();
    cw_tone tones[CW_TONE_MOST], found[CW_TONE_MOST];
    size_t count;
    cr_assert_eq(cw_tone_list(&m, tones, &count), CW_OK);
    size_t some = cw_tone_match(tones, count, 1800, found);
    cr_assert_not_null(find(found, some, CW_TONE_slot, 1));
    cr_assert_not_null(find(found, some, CW_TONE_ripple, 1));
    some = cw_tone_match(tones, count, 150.5, found);
    cr_assert_not_null(find(found, some, CW_TONE_rotor, 3));
    cr_assert_not_null(find(found, some, CW_TONE_front_outer, 1));
    cr_assert_eq(cw_tone_match(tones, count, 1200, found), 0);
}

/* Against the slow way: every tone by its tolerance, best first. */
Test(tone, match_is_what_lies_within)
{
    random_state random = random_start(10);
    cw_tone_machine m = machine();
    cw_tone tones[CW_TONE_MOST], found[CW_TONE_MOST];
    size_t count;
    cr_assert_eq(cw_tone_list(&m, tones, &count), CW_OK);
    for (int round = 0; round < 2000; round++) {
        double at = random_between(&random, 1, 2500);
        size_t some = cw_tone_match(tones, count, at, found), within = 0;
        for (size_t i = 0; i < count; i++) {
            bool in = fabs(tones[i].frequency - at) <= tones[i].tolerance;
            within += in;
            cr_assert_eq(find(found, some, tones[i].kind, tones[i].harmonic) != NULL, in);
        }
        cr_assert_eq(some, within);
        for (size_t i = 1; i < some; i++)
            cr_assert_leq(fabs(found[i - 1].frequency - at) / found[i - 1].tolerance,
                          fabs(found[i].frequency - at) / found[i].tolerance);
    }
}

Test(tone, what_is_not_known_gives_no_tone)
{
    cw_tone_machine m = {.rotor = 3000, .ratio = NAN, .belt = NAN, .speed_share = 0.01, .resolution = 1};
    cw_tone tones[CW_TONE_MOST];
    size_t count;
    cr_assert_eq(cw_tone_list(&m, tones, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(tones[i].kind, CW_TONE_rotor);
    cr_assert_eq(count, 4);
}

Test(tone, everything_known_fits)
{
    cw_tone_machine m = machine();
    cw_tone tones[CW_TONE_MOST];
    size_t count;
    m.rear = &front;
    cr_assert_eq(cw_tone_list(&m, tones, &count), CW_OK);
    for (unsigned kind = 0; kind < CW_TONE_COUNT; kind++) {
        cr_assert_not_null(find(tones, count, (cw_tone_kind)kind, 1));
        cr_assert_gt(strlen(cw_tone_what((cw_tone_kind)kind)), 0);
    }
}

Test(tone, numbers_out_of_bounds_are_refused)
{
    cw_bearing_shape broken = {2, 1, 4, 0};
    cw_tone tones[CW_TONE_MOST];
    size_t count;
    cw_tone_machine bad[6];
    for (int i = 0; i < 6; i++)
        bad[i] = machine();
    bad[0].rotor = 0;
    bad[1].ratio = -1;
    bad[2].speed_share = -0.1;
    bad[3].resolution = NAN;
    bad[4].poles = 7;
    bad[5].rear = &broken;
    for (int i = 0; i < 6; i++)
        cr_assert_eq(cw_tone_list(&bad[i], tones, &count), CW_BAD_CALL, "%d", i);
    cr_assert_eq(cw_tone_list(NULL, tones, &count), CW_BAD_CALL);
}
