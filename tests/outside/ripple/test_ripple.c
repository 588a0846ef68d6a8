/* scope names the state right on 98 of 100 waveforms that ngspice made, with noise, jitter and unknown speed.
 * The looks in engine/bench/trace.def were found on other bridges, drawn by another program from other seeds.
 */
#include "corewright/signal.h"
#include "waves.h"
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { BRIDGES = 100, CAPTURES = 5, SEED = 5077 };

typedef struct tally {
    int waves, right, wrong, unclear;
} tally;

static void judge(const wave *seen, const cw_scope_setup *setup, const char *truth, tally *out)
{
    cw_ripple ripple;
    cr_assert_eq(cw_scope(NULL, seen->time, seen->volts, seen->count, setup, &ripple), CW_OK);
    out->waves++;
    if (strcmp(ripple.state, truth) == 0)
        out->right++;
    else if (*ripple.doubt != '\0')
        out->unclear++;
    else
        out->wrong++;
    if (strcmp(ripple.state, truth) != 0)
        cr_log_info("%s at %.0f Hz read as %s at %.0f Hz (%s)", truth, seen->frequency, ripple.state,
                    ripple.frequency, ripple.doubt);
}

Test(ripple, the_state_of_random_bridges)
{
    static wave solved, seen;
    random_state random = random_start(SEED);
    tally blind = {0}, known = {0};
    for (int i = 0; i < BRIDGES; i++) {
        wave_solve(&random, i % WAVES_FAULTS, &solved);
        for (int k = 0; k < CAPTURES; k++) {
            wave_capture(&random, &solved, &seen);
            cw_scope_setup unknown = {NAN, 0},
                           told = {seen.frequency * random_between(&random, 0.98, 1.02), 0.03};
            judge(&seen, &unknown, wave_faults[i % WAVES_FAULTS], &blind);
            judge(&seen, &told, wave_faults[i % WAVES_FAULTS], &known);
        }
    }
    cr_log_info("unknown speed: %d of %d right, %d unclear; known: %d right, %d unclear", blind.right,
                blind.waves, blind.unclear, known.right, known.unclear);
    cr_expect_geq(blind.right, blind.waves * 98 / 100, "unknown speed: %d right, %d wrong, %d unclear of %d",
                  blind.right, blind.wrong, blind.unclear, blind.waves);
    cr_expect_geq(known.right, known.waves * 98 / 100, "known speed: %d right, %d wrong, %d unclear of %d",
                  known.right, known.wrong, known.unclear, known.waves);
}
