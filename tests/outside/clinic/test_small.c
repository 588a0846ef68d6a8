/* Two small networks of the textbooks. Both have one table entry that is no noisy-OR: two causes together do
 * slightly less (alarm: 0.95, not 0.957) or more (lawn: 0.99, not 0.98) than independent ones would. That
 * entry is put in over the states, each supposed in turn; everything else is the engine's. */
#include "outside/outside.h"
#include <math.h>

static const char *const no_yes[] = {"no", "yes"};

static double supposed(const char *pack, const int state[3], bool calls)
{
    bench b = bench_new(outside_compile(pack));
    bench_answer(&b, "burglary_there", no_yes[state[0]]);
    bench_answer(&b, "quake_there", no_yes[state[1]]);
    if (state[2] >= 0)
        bench_answer(&b, "alarm_there", no_yes[state[2]]);
    if (calls) {
        bench_answer(&b, "john", "yes");
        bench_answer(&b, "mary", "yes");
    }
    const double probability = bench_causes(&b).evidence_probability;
    bench_free(&b);
    return probability;
}

/* P(burglary | both call) = 0.284172; printed as 0.284. */
Test(small, burglar_alarm)
{
    static const double rings[2][2] = {{0.001, 0.29}, {0.94, 0.95}};
    char *pack = outside_read("clinic/alarm/pack.yaml");
    double all = 0, burglary = 0;
    for (int bits = 0; bits < 8; bits++) {
        const int state[] = {bits & 1, bits >> 1 & 1, bits >> 2}, open[] = {state[0], state[1], -1};
        const double table_says = state[2] ? rings[state[0]][state[1]] : 1 - rings[state[0]][state[1]];
        const double engine_says = supposed(pack, state, false) / supposed(pack, open, false);
        if (state[0] + state[1] < 2)
            cr_assert_float_eq(engine_says, table_says, 1e-12);
        else
            cr_assert_gt(fabs(engine_says - table_says), 0.007);
        const double joint = supposed(pack, state, true) / engine_says * table_says;
        all += joint;
        burglary += state[0] ? joint : 0;
    }
    cr_assert_float_eq(burglary / all, 0.284172, 5e-7);
    free(pack);
}

/* P(rain | sprinkler off) = 0.292035, P(rain | wet) = 0.357688 (printed as 35.77 %). */
Test(small, lawn)
{
    static const double wet[2][2] = {{0, 0.9}, {0.8, 0.99}}; /* [rain][sprinkler] */
    char *pack = outside_read("clinic/lawn/pack.yaml");
    double all_off = 0, rain_off = 0, all_wet = 0, rain_wet = 0;
    for (int bits = 0; bits < 4; bits++) {
        const int rain = bits & 1, runs = bits >> 1;
        bench b = bench_new(outside_compile(pack));
        bench_answer(&b, "rain", no_yes[rain]);
        bench_answer(&b, "sprinkler", no_yes[runs]);
        const double joint = (rain ? 0.2 : 0.8) * bench_causes(&b).evidence_probability;
        bench_free(&b);
        all_off += runs ? 0 : joint;
        rain_off += rain && !runs ? joint : 0;
        all_wet += joint * wet[rain][runs];
        rain_wet += rain ? joint * wet[rain][runs] : 0;
    }
    cr_assert_float_eq(rain_off / all_off, 0.292035, 5e-7);
    cr_assert_float_eq(rain_wet / all_wet, 0.357688, 5e-7);
    free(pack);
}
