/* Measured units against Gaussian naive Bayes on the penguins: each species a unit, four sizes with the mean
 * and the standard deviation of its kind (n - 1), readings without error. */
#include "outside/outside.h"
#include <math.h>

enum { SPECIES = 3, SIZES = 4, BIRDS = 342 };

static const char *const species[SPECIES] = {"Adelie", "Chinstrap", "Gentoo"};
static const struct {
    const char *column, *check, *dimension, *unit;
} sizes[SIZES] = {{"bill_length_mm", "bill_length", "length", "mm"},
                  {"bill_depth_mm", "bill_depth", "length", "mm"},
                  {"flipper_length_mm", "flipper", "length", "mm"},
                  {"body_mass_g", "body_mass", "mass", "g"}};

typedef struct bird {
    int species;
    double sizes[SIZES];
} bird;

static size_t read_birds(bird *birds)
{
    table t = table_read("penguins/penguins.csv");
    size_t count = 0;
    for (size_t row = 1; row < t.rows; row++) {
        if (strcmp(table_cell(&t, row, table_column(&t, sizes[0].column)), "NA") == 0)
            continue;
        bird *next = &birds[count++];
        for (int s = 0; s < SPECIES; s++)
            if (strcmp(table_cell(&t, row, table_column(&t, "species")), species[s]) == 0)
                next->species = s;
        for (int i = 0; i < SIZES; i++)
            next->sizes[i] = atof(table_cell(&t, row, table_column(&t, sizes[i].column)));
    }
    table_free(&t);
    return count;
}

static void moments(const bird *birds, size_t count, size_t without, int kind, int size, int *n, double *mean,
                    double *sd)
{
    double sum = 0, squares = 0;
    *n = 0;
    for (size_t i = 0; i < count; i++)
        if (i != without && birds[i].species == kind) {
            sum += birds[i].sizes[size];
            ++*n;
        }
    *mean = sum / *n;
    for (size_t i = 0; i < count; i++)
        if (i != without && birds[i].species == kind)
            squares += (birds[i].sizes[size] - *mean) * (birds[i].sizes[size] - *mean);
    *sd = sqrt(squares / (*n - 1));
}

static cw_model *learn(const bird *birds, size_t count, size_t without)
{
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(
        &out,
        "pack: {name: penguins, title: Penguins, version: 1, not_listed: 0 %, blunders: 0 %}\nchecks:\n");
    for (int i = 0; i < SIZES; i++)
        cw_text_format(&out,
                       "  %s: {title: Size, ask: How large?, place: counter, minutes: 1, source: penguins,"
                       " measure: %s, unit: %s, range: 1 %s to 10000 %s, reading_error: 0.0000001 %s}\n",
                       sizes[i].check, sizes[i].dimension, sizes[i].unit, sizes[i].unit, sizes[i].unit,
                       sizes[i].unit);
    cw_text_add(&out, "units:\n  penguin:\n    title: Penguin\n    source: penguins\n    versions:\n");
    for (int kind = 0; kind < SPECIES; kind++) {
        int n;
        double mean, sd;
        moments(birds, count, without, kind, 0, &n, &mean, &sd);
        cw_text_format(&out, "      kind_%d:\n        title: Kind\n        seen: %d\n        signs:\n", kind,
                       n);
        for (int i = 0; i < SIZES; i++) {
            moments(birds, count, without, kind, i, &n, &mean, &sd);
            cw_text_format(&out, "          %s: {around: %.17g %s, sd: %.17g %s}\n", sizes[i].check, mean,
                           sizes[i].unit, sd, sizes[i].unit);
        }
    }
    cw_model *model = outside_compile(cw_text_get(&out));
    cw_text_dispose(&out);
    return model;
}

/* Posteriors of one bird, learned from the others. */
static void classify(const bird *birds, size_t count, size_t left_out, double *posterior)
{
    bench b = bench_new(learn(birds, count, left_out));
    cw_identity_tables *tables;
    cr_assert_eq(cw_identity_tables_new(b.model, &cw_system_allocator, &tables), CW_OK);
    for (int i = 0; i < SIZES; i++)
        bench_measure(&b, sizes[i].check, birds[left_out].sizes[i]);
    const cw_identity units = bench_units(&b, tables);
    for (int kind = 0; kind < SPECIES; kind++) {
        char name[24];
        snprintf(name, sizeof name, "kind_%d", kind);
        posterior[kind] = bench_unit(&b, &units, name);
    }
    cw_identity_tables_free(tables);
    bench_free(&b);
}

static int likeliest(const double *posterior)
{
    int best = 0;
    for (int kind = 1; kind < SPECIES; kind++)
        if (posterior[kind] > posterior[best])
            best = kind;
    return best;
}

Test(penguins, three_hundred_and_thirty_two)
{
    bird birds[BIRDS + 2];
    const size_t count = read_birds(birds);
    cr_assert_eq(count, (size_t)BIRDS);
    int right = 0;
    for (size_t i = 0; i < count; i++) {
        double posterior[SPECIES];
        classify(birds, count, i, posterior);
        right += likeliest(posterior) == birds[i].species;
    }
    cr_assert_eq(right, 332);
}

Test(penguins, posteriors_equal_those_of_r)
{
    outside_needs_r("e1071");
    bird birds[BIRDS + 2];
    static double want[BIRDS * SPECIES];
    const size_t count = read_birds(birds);
    outside_run_r("penguins/penguins.R", "penguins/penguins.csv", want, BIRDS * SPECIES);
    for (size_t i = 0; i < count; i++) {
        double posterior[SPECIES];
        classify(birds, count, i, posterior);
        for (size_t kind = 0; kind < SPECIES; kind++)
            cr_assert_float_eq(posterior[kind], want[i * SPECIES + kind], 1e-9);
    }
}
