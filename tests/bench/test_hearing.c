/* Sounds made here: strikes of each part, hums of currents, noise; and what is inside a bearing. */
#include "bench/hearing.h"
#include "bench/shape.h"
#include "near.h"
#include "support/failing.h"
#include "support/random.h"
#include <string.h>

#define PI 3.14159265358979323846
#define RATE 16000.0
#define TURNS 50.0 /* a second */
enum { COUNT = 4 * 16000 };
static double sound[COUNT];

static cw_tone_machine machine(const cw_bearing_shape *front, const cw_bearing_shape *rear)
{
    return (cw_tone_machine){TURNS * 60, 2.5, NAN, 12, 36, 0, front, rear, 0.015, 1};
}

static void noise(double size)
{
    random_state random = random_start(11);
    for (size_t i = 0; i < COUNT; i++)
        sound[i] = random_between(&random, -size, size);
}

static void strike(double times_a_turn)
{
    for (double at = 0.0013; at * RATE < COUNT; at += 1 / (TURNS * times_a_turn))
        for (size_t i = (size_t)ceil(at * RATE); i < COUNT && (double)i < at * RATE + 120; i++) {
            double since = (double)i / RATE - at;
            sound[i] += exp(-since / 1e-3) * sin(2 * PI * 3500 * since);
        }
}

static void hum(double size, double order)
{
    for (size_t i = 0; i < COUNT; i++)
        sound[i] += size * sin(2 * PI * order * TURNS * (double)i / RATE);
}

static cw_hearing hear(cw_arena *arena, const cw_tone_machine *unit)
{
    cw_hearing out;
    cr_assert_eq(cw_hearing_take(arena, sound, COUNT, RATE, unit, &out), CW_OK);
    return out;
}

Test(hearing, each_part_of_each_bearing)
{
    bool published;
    cw_bearing_shape front = cw_bearing_shape_of(cw_bearing_find("6205"), &published);
    cw_bearing_shape rear = {7, 6.35, 26, 0};
    const cw_bearing_shape *shapes[] = {&front, &rear};
    cw_tone_machine unit = machine(&front, &rear);
    for (int end = 0; end < 2; end++) {
        cw_bearing_tones tones;
        cr_assert_eq(cw_bearing_listen(shapes[end], &tones), CW_OK);
        double orders[] = {tones.outer, tones.inner, tones.ball * 2};
        for (int part = 0; part < 3; part++) {
            cw_arena *arena = cw_arena_new(&cw_system_allocator);
            cw_tone_kind kind = (end == 0 ? CW_TONE_front_outer : CW_TONE_rear_outer) + (unsigned)part;
            noise(0.5);
            strike(orders[part]);
            cw_hearing heard = hear(arena, &unit);
            cr_expect_eq(heard.source, CW_SOURCE_bearing);
            cr_assert_lt(heard.chief, heard.count);
            cr_expect_eq(heard.heard[heard.chief].kind, kind, "%s read as %s", cw_tone_name(kind),
                         cw_tone_name(heard.heard[heard.chief].kind));
            NEAR(heard.heard[heard.chief].order, orders[part], 5e-3);
            cw_arena_free(arena);
        }
    }
}

Test(hearing, a_knock_once_a_turn_is_the_rotor)
{
    bool published;
    cw_bearing_shape front = cw_bearing_shape_of(cw_bearing_find("6203"), &published);
    cw_tone_machine unit = machine(&front, NULL);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    noise(0.5);
    strike(1); /* has lines at 3, 4 and 5 turns, where 6203 has its outer ring, ball and inner ring */
    cr_expect_eq(hear(arena, &unit).source, CW_SOURCE_rotor);
    cw_arena_free(arena);
}

Test(hearing, currents_hum_and_good_ones_ripple)
{
    cw_tone_machine unit = machine(NULL, NULL);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    noise(0.3);
    hum(0.5, 36);
    hum(0.1, 6);
    cr_expect_eq(hear(arena, &unit).source, CW_SOURCE_nothing);
    hum(0.9, 6);
    cw_hearing heard = hear(arena, &unit);
    cr_expect_eq(heard.source, CW_SOURCE_electrical);
    cr_expect_eq(heard.heard[heard.chief].kind, CW_TONE_electrical);
    NEAR(heard.heard[heard.chief].frequency, 300, 5e-3);
    NEAR(heard.heard[heard.chief].amplitude, 1, 0.05);
    cw_arena_free(arena);
}

Test(hearing, noise_speaks_for_nothing)
{
    bool published;
    cw_bearing_shape front = cw_bearing_shape_of(cw_bearing_find("6203"), &published);
    cw_tone_machine unit = machine(&front, &front);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    noise(1);
    cw_hearing heard = hear(arena, &unit);
    cr_expect_eq(heard.source, CW_SOURCE_nothing);
    cr_expect_eq(heard.chief, heard.count);
    cw_arena_free(arena);
}

Test(hearing, bad_calls_are_told)
{
    cw_tone_machine unit = machine(NULL, NULL), still = unit;
    cw_hearing out;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    noise(1);
    still.rotor = 0;
    cr_expect_eq(cw_hearing_take(arena, sound, COUNT, RATE, &still, &out), CW_BAD_CALL);
    cr_expect_eq(cw_hearing_take(arena, sound, 15999, RATE, &unit, &out), CW_BAD_CALL);
    cr_expect_eq(cw_hearing_take(arena, sound, COUNT, 3999, &unit, &out), CW_BAD_CALL);
    memset(sound, 0, sizeof sound);
    cr_expect_eq(cw_hearing_take(arena, sound, COUNT, RATE, &unit, &out), CW_BAD_CALL);
    sound[5] = INFINITY;
    cr_expect_eq(cw_hearing_take(arena, sound, COUNT, RATE, &unit, &out), CW_BAD_CALL);
    cw_arena_free(arena);
}

Test(hearing, memory_may_fail_anywhere)
{
    bool published;
    cw_bearing_shape front = cw_bearing_shape_of(cw_bearing_find("6203"), &published);
    cw_tone_machine unit = machine(&front, NULL);
    noise(1);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        cw_hearing out;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        cw_status status =
            arena != NULL ? cw_hearing_take(arena, sound, 17000, RATE, &unit, &out) : CW_NO_MEMORY;
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        if (!memory.refused)
            break;
    }
}

/* Balls of common bearings from memory; multiples of 6203 and 6205 as a public data set prints them. */
Test(shape, balls_are_those_that_are_there)
{
    static const struct {
        const char *name;
        unsigned balls;
        double ball; /* mm */
    } real[] = {{"6003", 10, 4.762}, {"6201", 7, 5.953}, {"6202", 8, 5.953},
                {"6203", 8, 6.746},  {"6204", 8, 7.938}, {"6205", 9, 7.94},
                {"6206", 9, 9.525},  {"6302", 7, 7.938}, {"6303", 7, 8.731}};
    for (size_t i = 0; i < sizeof real / sizeof *real; i++) {
        bool published;
        cw_bearing_shape shape = cw_bearing_shape_of(cw_bearing_find(real[i].name), &published);
        cr_expect_eq(shape.balls, real[i].balls, "%s: %u", real[i].name, shape.balls);
        NEAR(shape.ball, real[i].ball, 0.02);
        cr_expect_eq(published, real[i].name[3] == '3' ? strcmp(real[i].name, "6203") == 0
                                                       : strcmp(real[i].name, "6205") == 0);
    }
    bool published;
    cw_bearing_tones tones;
    cw_bearing_shape shape = cw_bearing_shape_of(cw_bearing_find("6203"), &published);
    cr_assert_eq(cw_bearing_listen(&shape, &tones), CW_OK);
    NEAR(tones.outer, 3.0530, 4e-4);
    NEAR(tones.inner, 4.9469, 4e-4);
    cr_expect_eq(cw_bearing_shape_of(NULL, &published).balls, 0);
}
