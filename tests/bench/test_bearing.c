#include "bench/bearing.h"
#include "bench/near.h"
#include "support/random.h"
#include <string.h>

Test(bearing, by_designation)
{
    const char *ways[] = {"6203", "6203-2RS", "6203 2RS C3", " 6203", "x-6203/c3", "6203ZZ"};
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        const cw_bearing_size *size = cw_bearing_find(ways[i]);
        cr_assert_not_null(size, "%s", ways[i]);
        cr_assert_str_eq(size->name, "6203");
        NEAR(size->bore, 17e-3, 1e-12);
        NEAR(size->outside, 40e-3, 1e-12);
        NEAR(size->width, 12e-3, 1e-12);
    }
    const char *none[] = {"", "6207", "62", "16003", "62033", "bearing", "6"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        cr_assert_null(cw_bearing_find(none[i]), "%s", none[i]);
}

/* The bore code in the last two figures says what the table says; series differ in outside and width only
 * upward. */
Test(bearing, table_agrees_with_its_codes)
{
    const cw_bearing_size *size;
    size_t count = 0;
    for (; (size = cw_bearing_at(count)) != NULL; count++) {
        unsigned code = (unsigned)(size->name[2] - '0') * 10 + (unsigned)(size->name[3] - '0');
        NEAR(size->bore, cw_bearing_bore(code), 1e-12);
        cr_assert_gt(size->outside, size->bore);
    }
    cr_assert_eq(count, 21);
    NEAR(cw_bearing_bore(0), 10e-3, 1e-12);
    NEAR(cw_bearing_bore(4), 20e-3, 1e-12);
    NEAR(cw_bearing_bore(96), 480e-3, 1e-12);
    cr_assert(isnan(cw_bearing_bore(97)));
}

Test(bearing, by_dimensions)
{
    const cw_bearing_size *found[3];
    cr_assert_eq(cw_bearing_match(17e-3, 40e-3, 12e-3, 0, found, 3), 1);
    cr_assert_str_eq(found[0]->name, "6203");
    cr_assert_eq(cw_bearing_match(17.2e-3, 39.9e-3, NAN, 0.5e-3, found, 3), 1);
    cr_assert_str_eq(found[0]->name, "6203");
    cr_assert_eq(cw_bearing_match(17e-3, NAN, NAN, 0.1e-3, found, 3), 3); /* 6003, 6203, 6303 */
    cr_assert_str_eq(found[2]->name, "6303");
    cr_assert_eq(cw_bearing_match(NAN, NAN, NAN, 0, found, 2), 21);
    cr_assert_eq(cw_bearing_match(17e-3, 40e-3, 14e-3, 0.5e-3, found, 3), 0);
    /* 6005 and 6204 share the outside, not the bore. */
    cr_assert_eq(cw_bearing_match(NAN, 47e-3, 14e-3, 0, found, 3), 2);
    cr_assert_str_eq(found[0]->name, "6204");
    cr_assert_str_eq(found[1]->name, "6303");
}

/* By hand, 8 balls, ball a quarter of the pitch: cage .375, outer 3, inner 5, ball 2 (1 - 1/16) = 1.875. */
Test(bearing, tones)
{
    cw_bearing_shape shape = {8, 1, 4, 0};
    cw_bearing_tones tones;
    cr_assert_eq(cw_bearing_listen(&shape, &tones), CW_OK);
    NEAR(tones.cage, 0.375, 1e-12);
    NEAR(tones.outer, 3, 1e-12);
    NEAR(tones.inner, 5, 1e-12);
    NEAR(tones.ball, 1.875, 1e-12);
    shape.contact_angle = 60; /* half of it counts: lean 1/8 */
    cr_assert_eq(cw_bearing_listen(&shape, &tones), CW_OK);
    NEAR(tones.outer, 3.5, 1e-12);
}

Test(bearing, outer_and_inner_make_the_balls)
{
    random_state random = random_start(9);
    for (int round = 0; round < 500; round++) {
        cw_bearing_shape shape = {3 + random_below(&random, 20), random_between(&random, 1, 5),
                                  random_between(&random, 6, 60), random_between(&random, 0, 40)};
        cw_bearing_tones tones;
        cr_assert_eq(cw_bearing_listen(&shape, &tones), CW_OK);
        NEAR(tones.outer + tones.inner, shape.balls, 1e-12);
        NEAR(tones.outer, shape.balls * tones.cage, 1e-12);
        cr_assert_gt(tones.inner, tones.outer);
        /* A ball rolls on the outer ring: pitch and lean give its turns by the cage's. */
        double lean = 1 - 2 * tones.cage;
        NEAR(tones.ball, tones.cage * (1 + lean) * shape.pitch / shape.ball, 1e-9);
    }
}

Test(bearing, no_such_bearing)
{
    cw_bearing_tones tones;
    cw_bearing_shape good = {8, 1, 4, 0};
    cw_bearing_shape bad[] = {good, good, good, good};
    bad[0].balls = 2;
    bad[1].ball = 4;
    bad[2].ball = 0;
    bad[3].contact_angle = 90;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_assert_eq(cw_bearing_listen(&bad[i], &tones), CW_BAD_CALL, "%zu", i);
    cr_assert_eq(cw_bearing_listen(NULL, &tones), CW_BAD_CALL);
}
