/* The chest clinic (Lauritzen & Spiegelhalter 1988): all ten rows of posteriors, to what is printed of them.
 *
 * What the pack says exactly:
 *   - tuberculosis, cancer and bronchitis, and how a visit to Asia and smoking change their odds (`shifts`);
 *   - "either" is an OR: a cause that never comes by itself and that the two lead to with certainty;
 *   - the X-ray sees "either": 0.98 with, 0.05 without, which is a noisy-OR of one cause.
 * What it does not say, and the test puts together from what it does:
 *   - Whether the patient smokes or has been in Asia is a circumstance: answered or not, never inferred. A
 * pack has no causes behind circumstances and need not: nobody asks an alternator how it was driven. The sum
 * over the unanswered ones weighs each way by its share times the probability that the engine gives to the
 * evidence.
 *   - Shortness of breath with both "either" and bronchitis is 0.9 in the table; the noisy-OR that fits the
 * other three entries makes it 1 - 0.9 * 1/3 * 2/9 = 0.933. In a noisy-OR causes never stand in each other's
 * way. For signs of faults that is what we want; the table is put in over the four states, each supposed in
 * turn. */
#include "outside/outside.h"

typedef struct sums {
    double evidence, asia, smoke, tub, lung, bronc, either, xray, dysp;
} sums;

/* Chance of shortness of breath: asia-cpt.csv. */
static const double breathless[2][2] = {{0.1, 0.8}, {0.7, 0.9}}; /* [either][bronc] */
static const double share_asia[2] = {0.99, 0.01}, share_smoke[2] = {0.5, 0.5};
static const char *const no_yes[] = {"no", "yes"};

/* What the row says of a node: 0, 1, or -1 for nothing. */
static int told(const char *row, const char *node)
{
    char text[32];
    for (int value = 0; value < 2; value++) {
        snprintf(text, sizeof text, "%s=%s", node, no_yes[value]);
        if (strstr(row, text) != NULL)
            return value;
    }
    return -1;
}

/* One way that everything unsaid could be: circumstances, the X-ray, the two states, breath. */
typedef struct way {
    int asia, smoke, xray, either, bronc, dysp;
} way;

static void add_way(const char *pack, way w, sums *out)
{
    bench b = bench_new(outside_compile(pack));
    bench_answer(&b, "asia", no_yes[w.asia]);
    bench_answer(&b, "smoke", no_yes[w.smoke]);
    bench_answer(&b, "xray", no_yes[w.xray]);
    bench_answer(&b, "either_there", no_yes[w.either]);
    bench_answer(&b, "bronc_there", no_yes[w.bronc]);
    const cw_causes causes = bench_causes(&b);
    const double breath = breathless[w.either][w.bronc];
    const double weight = share_asia[w.asia] * share_smoke[w.smoke] * causes.evidence_probability *
                          (w.dysp ? breath : 1 - breath);
    cr_assert_float_eq(bench_cause(&b, &causes, "either"), w.either, 1e-12);
    cr_assert_float_eq(bench_cause(&b, &causes, "bronc"), w.bronc, 1e-12);
    out->evidence += weight;
    out->asia += weight * w.asia;
    out->smoke += weight * w.smoke;
    out->xray += weight * w.xray;
    out->dysp += weight * w.dysp;
    out->tub += weight * bench_cause(&b, &causes, "tub");
    out->lung += weight * bench_cause(&b, &causes, "lung");
    out->bronc += weight * bench_cause(&b, &causes, "bronc");
    out->either += weight * bench_cause(&b, &causes, "either");
    bench_free(&b);
}

static sums sum_up(const char *pack, const char *row)
{
    const int asia = told(row, "asia"), smoke = told(row, "smoke"), xray = told(row, "xray"),
              dysp = told(row, "dysp");
    sums out = {0};
    for (int bits = 0; bits < 64; bits++) {
        const way w = {bits & 1, bits >> 1 & 1, bits >> 2 & 1, bits >> 3 & 1, bits >> 4 & 1, bits >> 5 & 1};
        if ((asia < 0 || asia == w.asia) && (smoke < 0 || smoke == w.smoke) && (xray < 0 || xray == w.xray) &&
            (dysp < 0 || dysp == w.dysp))
            add_way(pack, w, &out);
    }
    return out;
}

Test(clinic, all_ten_rows)
{
    char *pack = outside_read("clinic/pack/pack.yaml");
    table want = table_read("clinic/asia-posteriors.csv");
    cr_assert_eq(want.rows, 11u);
    for (size_t row = 1; row < want.rows; row++) {
        const sums got = sum_up(pack, table_cell(&want, row, 0));
        const struct {
            const char *node;
            double sum;
        } nodes[] = {{"asia", got.asia},   {"tub", got.tub},       {"smoke", got.smoke}, {"lung", got.lung},
                     {"bronc", got.bronc}, {"either", got.either}, {"xray", got.xray},   {"dysp", got.dysp}};
        cr_assert_float_eq(got.evidence, atof(table_cell(&want, row, 1)), 1e-9);
        for (size_t i = 0; i < 8; i++) {
            const double printed = atof(table_cell(&want, row, table_column(&want, nodes[i].node)));
            cr_assert_float_eq(nodes[i].sum / got.evidence, printed, 1e-9, "%s given %s", nodes[i].node,
                               table_cell(&want, row, 0));
        }
    }
    table_free(&want);
    free(pack);
}

/* Where the pack is whole the engine answers by itself: circumstances known, breath not asked. */
Test(clinic, known_circumstances_need_no_help)
{
    char *pack = outside_read("clinic/pack/pack.yaml");
    for (int bits = 0; bits < 16; bits++) {
        const int asia = bits & 1, smoke = bits >> 1 & 1, asked = bits >> 2 & 1, shows = bits >> 3 & 1;
        char row[64];
        snprintf(row, sizeof row, asked ? "asia=%s smoke=%s xray=%s" : "asia=%s smoke=%s", no_yes[asia],
                 no_yes[smoke], no_yes[shows]);
        const sums want = sum_up(pack, row);
        bench b = bench_new(outside_compile(pack));
        bench_answer(&b, "asia", no_yes[asia]);
        bench_answer(&b, "smoke", no_yes[smoke]);
        if (asked)
            bench_answer(&b, "xray", no_yes[shows]);
        const cw_causes causes = bench_causes(&b);
        cr_assert_float_eq(bench_cause(&b, &causes, "tub"), want.tub / want.evidence, 1e-12);
        cr_assert_float_eq(bench_cause(&b, &causes, "lung"), want.lung / want.evidence, 1e-12);
        cr_assert_float_eq(bench_cause(&b, &causes, "bronc"), want.bronc / want.evidence, 1e-12);
        cr_assert_float_eq(bench_cause(&b, &causes, "either"), want.either / want.evidence, 1e-12);
        bench_free(&b);
    }
    free(pack);
}

/* Printed: before any evidence, and P(asia, dysp). */
Test(clinic, printed_figures)
{
    char *pack = outside_read("clinic/pack/pack.yaml");
    const sums before = sum_up(pack, ""), both = sum_up(pack, "asia=yes dysp=yes");
    cr_assert_float_eq(before.evidence, 1, 1e-12);
    cr_assert_float_eq(before.tub, 0.0104, 1e-12);
    cr_assert_float_eq(before.lung, 0.055, 1e-12);
    cr_assert_float_eq(before.bronc, 0.45, 1e-12);
    cr_assert_float_eq(both.evidence, 0.004501375, 1e-12);
    free(pack);
}
