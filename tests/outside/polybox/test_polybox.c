/* The five-part box of de Kleer & Williams 1987: README.md says what of it a pack can say. */
#include "outside/outside.h"

enum { PIECES = 5, SETS = 1 << PIECES };

static const char *const pieces[PIECES] = {"m1", "m2", "m3", "a1", "a2"};
static const struct {
    const char *check;
    double reading; /* mm, mm2: seen.yaml */
} readings[] = {{"in_a", 3}, {"in_b", 2},   {"in_c", 2},  {"in_d", 3},
                {"in_e", 3}, {"out_f", 10}, {"out_g", 12}};

/* The box as seen, the pieces outside the set proven sound. */
static bench box(const char *pack, unsigned suspects)
{
    bench b = bench_new(outside_compile(pack));
    char name[16];
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++)
        bench_measure(&b, readings[i].check, readings[i].reading);
    for (int piece = 0; piece < PIECES; piece++) {
        snprintf(name, sizeof name, "sound[%s]", pieces[piece]);
        if (!(suspects >> piece & 1))
            bench_answer(&b, name, "yes");
    }
    return b;
}

Test(polybox, posteriors_of_the_pieces)
{
    char *pack = outside_read("polybox/pack/pack.yaml");
    table want = table_read("polybox/posteriors.csv");
    bench b = box(pack, SETS - 1);
    const cw_causes causes = bench_causes(&b);
    cr_assert(causes.exact);
    for (size_t row = 1; row < want.rows; row++) {
        char name[16];
        snprintf(name, sizeof name, "%s_bad", table_cell(&want, row, 0));
        cr_assert_float_eq(bench_cause(&b, &causes, name), atof(table_cell(&want, row, 1)), 1e-12);
    }
    bench_free(&b);
    table_free(&want);
    free(pack);
}

/* explains[set], and the four smallest sets as published. */
static void read_explanations(bool *explains, bool *smallest)
{
    table t = table_read("polybox/explanations.csv");
    for (size_t row = 1; row < t.rows; row++) {
        unsigned set = 0;
        for (int piece = 0; piece < PIECES; piece++)
            set |= strstr(table_cell(&t, row, 0), pieces[piece]) != NULL ? 1u << piece : 0;
        explains[set] = true;
        smallest[set] = strcmp(table_cell(&t, row, 1), "yes") == 0;
    }
    table_free(&t);
}

/* What pieces can explain the readings among themselves; the smallest such sets are the minimal explanations.
 */
Test(polybox, twenty_seven_sets_and_the_four_smallest)
{
    char *pack = outside_read("polybox/pack/pack.yaml");
    bool explains[SETS] = {false}, smallest[SETS] = {false}, possible[SETS];
    int count = 0;
    read_explanations(explains, smallest);
    for (unsigned set = 0; set < SETS; set++) {
        bench b = box(pack, set);
        const cw_causes causes = bench_causes(&b);
        possible[set] = causes.evidence_probability > 0;
        cr_assert_eq(possible[set], explains[set]);
        cr_assert_eq(causes.exact, possible[set]);
        count += possible[set];
        bench_free(&b);
    }
    cr_assert_eq(count, 27);
    for (unsigned set = 0; set < SETS; set++) {
        bool minimal = possible[set];
        for (int piece = 0; piece < PIECES; piece++)
            minimal = minimal && !((set >> piece & 1) && possible[set & ~(1u << piece)]);
        cr_assert_eq(minimal, smallest[set]);
    }
    free(pack);
}
