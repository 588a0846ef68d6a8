#include "bench/near.h"
#include "bench/winding.h"

#define C(degrees) ((degrees) + 273.15)

/* IEC 60028: 0.017241 ohm mm2/m at 20 degC, 0.00393 a kelvin; at 90 degC 1.2751 times that. */
Test(winding, copper)
{
    NEAR(cw_copper_resistivity(C(20)), 1.7241e-8, 1e-12);
    NEAR(cw_copper_resistivity(C(90)), 1.7241e-8 * 1.2751, 1e-9);
    NEAR(1 / cw_copper_resistivity(C(20)), 58e6, 1e-4); /* 58 MS/m */
    cr_assert(isnan(cw_copper_resistivity(C(-240))));
}

/* The example an instrument's manual prints: 200 mohm at 20 degC, later 210 mohm in air of 25 degC: 7.75
 * K, 32.75. (It takes 235: 210 / 200 x 255 - 260 = 7.75. With 234.5: 1.05 x 254.5 - 259.5 = 7.725.) */
Test(winding, rise_by_resistance)
{
    cr_assert_leq(fabs(cw_winding_rise(0.2, C(20), 0.21, C(25)) - 7.75), 0.03);
    NEAR(cw_winding_rise(0.2, C(20), 0.21, C(25)), 7.725, 1e-9);
    NEAR(cw_winding_temperature(0.2, C(20), 0.21), C(32.725), 1e-9);
    cr_assert(isnan(cw_winding_temperature(0, C(20), 0.21)));
    cr_assert(isnan(cw_winding_temperature(0.2, 0, 0.21)));
}

/* 3 ohm at 20 degC is 3 x 334.5 / 254.5 at 100 degC; back again it is 3. */
Test(winding, resistance_at_a_temperature)
{
    NEAR(cw_resistance_at(3, C(20), C(100)), 3 * 334.5 / 254.5, 1e-12);
    NEAR(cw_resistance_at(cw_resistance_at(3, C(20), C(100)), C(100), C(20)), 3, 1e-12);
    cr_assert(isnan(cw_resistance_at(3, C(-234.5), C(20))));
    /* The two rules for copper agree near 20 degC: 1 / 254.5 = 0.003929. */
    NEAR(cw_resistance_at(1, C(20), C(80)), cw_copper_resistivity(C(80)) / cw_copper_resistivity(C(20)),
         2e-4);
}

/* 12 V over 3 ohm are 4 A; hot, over 3.943 ohm, 3.0433 A; brushes that take 1 V leave 11. */
Test(winding, rotor_current)
{
    NEAR(cw_rotor_current(12, 3, C(20), 0), 4, 1e-12);
    NEAR(cw_rotor_current(12, 3, C(100), 0), 4 * 254.5 / 334.5, 1e-12);
    NEAR(cw_rotor_current(12, 3, C(20), 1), 11.0 / 3, 1e-12);
    cr_assert_eq(cw_rotor_current(0.5, 3, C(20), 1), 0);
    cr_assert(isnan(cw_rotor_current(12, 0, C(20), 0)));
    cr_assert(isnan(cw_rotor_current(12, 3, C(20), -1)));
}

/* A rotor that should have 3 ohm and has 2.7 lacks a tenth of its turns; measured warm it is corrected first.
 */
Test(winding, turns_shorted)
{
    NEAR(cw_turns_shorted(2.7, C(20), 3), 0.1, 1e-12);
    NEAR(cw_turns_shorted(2.7 * 274.5 / 254.5, C(40), 3), 0.1, 1e-12);
    NEAR(cw_turns_shorted(3.3, C(20), 3), -0.1, 1e-12);
    cr_assert(isnan(cw_turns_shorted(2.7, C(20), 0)));
}

/* 2.30 V a cell at 25 degC becomes 2.27 at 35 (printed); a regulator with 14.4 V at 20 degC and -10 mV/K
 * has 13.8 at 80, within the band a workshop manual prints (12.9 to 14.1). */
Test(winding, set_point)
{
    NEAR(cw_set_point(2.30, C(25), -3e-3, C(35)), 2.27, 1e-12);
    NEAR(cw_set_point(14.4, C(20), -10e-3, C(80)), 13.8, 1e-12);
}
