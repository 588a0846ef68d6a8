#include "bench/belt.h"
#include "bench/near.h"

/* Six ribs over 21.4 mm are 3.567 mm a rib: PK. */
Test(belt, profile_by_pitch)
{
    cr_assert_str_eq(cw_belt_profile_of(21.4e-3 / 6)->name, "PK");
    cr_assert_str_eq(cw_belt_profile_of(1.5e-3)->name, "PH");
    cr_assert_null(cw_belt_profile_of(3e-3));
    cr_assert_null(cw_belt_profile_of(0));
    cr_assert_null(cw_belt_profile_of(NAN));
    for (size_t i = 0; cw_belt_profile_at(i) != NULL; i++)
        cr_assert_eq(cw_belt_profile_of(cw_belt_profile_at(i)->pitch), cw_belt_profile_at(i));
    cr_assert_null(cw_belt_profile_at(5));
}

/* Effective 180 and 60 mm: pitch 184 and 64, so 2.875 and not 3. */
Test(belt, ratio_by_pitch_diameters)
{
    NEAR(cw_pulley_ratio(180e-3, 60e-3, CW_BELT_LINE), 2.875, 1e-12);
    NEAR(cw_pulley_ratio(180e-3, 60e-3, 0), 3, 1e-12);
    cr_assert(isnan(cw_pulley_ratio(0, 60e-3, CW_BELT_LINE)));
    cr_assert(isnan(cw_pulley_ratio(180e-3, -1, CW_BELT_LINE)));
    NEAR(cw_effective_diameter(60.99e-3), 60e-3, 1e-12);
}

/* A pitch circle of 64 mm at 6000 rpm runs pi x 0.064 x 100 = 20.106 m/s; over 1.697 m that is 11.848 a
 * second. */
Test(belt, comes_round)
{
    NEAR(cw_belt_frequency(60e-3, CW_BELT_LINE, 6000, 1.697), 11.8481, 1e-5);
    cr_assert(isnan(cw_belt_frequency(60e-3, CW_BELT_LINE, 6000, 0)));
}
