/* Units against naive Bayes on the Zoo data: each class a unit, 16 features as signs, counts with one added.
 * With nothing unlisted and no blunders the engine's formula is that of naive Bayes, so figures and
 * posteriors must be equal. */
#include "outside/outside.h"

enum { CLASSES = 7, ANIMALS = 101, FIRST = 1, FEATURES = 16 };

static bool is_legs(const table *zoo, size_t column)
{
    return strcmp(table_cell(zoo, 0, column), "legs") == 0;
}

/* The values a feature can have, as many as there are. */
static size_t values_of(const table *zoo, size_t column, const char *const **values)
{
    static const char *const no_yes[] = {"0", "1"}, *const legs[] = {"0", "2", "4", "5", "6", "8"};
    *values = is_legs(zoo, column) ? legs : no_yes;
    return is_legs(zoo, column) ? 6 : 2;
}

static bool is_class(const table *zoo, size_t row, int class)
{
    return atoi(table_cell(zoo, row, table_column(zoo, "type"))) == class;
}

static int count_rows(const table *zoo, size_t without, int class, size_t column, const char *value)
{
    int count = 0;
    for (size_t row = 1; row < zoo->rows; row++)
        count += row != without && is_class(zoo, row, class) &&
                 (value == NULL || strcmp(table_cell(zoo, row, column), value) == 0);
    return count;
}

static void write_checks(cw_text *out, const table *zoo)
{
    cw_text_add(out, "checks:\n");
    for (size_t column = FIRST; column < FIRST + FEATURES; column++)
        cw_text_format(out,
                       "  %s: {title: Feature, ask: What has it?, place: counter, minutes: 1, source: zoo,"
                       " choices: [%s]}\n",
                       table_cell(zoo, 0, column),
                       is_legs(zoo, column) ? "'0', '2', '4', '5', '6', '8'" : "'0', '1'");
}

static void write_class(cw_text *out, const table *zoo, size_t without, int class, int added)
{
    const int animals = count_rows(zoo, without, class, 0, NULL);
    cw_text_format(out, "      class_%d:\n        title: Class\n        seen: %d\n        signs:\n", class,
                   animals + added);
    for (size_t column = FIRST; column < FIRST + FEATURES; column++) {
        const char *const *values;
        const size_t count = values_of(zoo, column, &values);
        cw_text_format(out, "          %s: {", table_cell(zoo, 0, column));
        for (size_t v = 0; v < count; v++)
            cw_text_format(out, "%s'%s': %d of %d", v > 0 ? ", " : "", values[v],
                           count_rows(zoo, without, class, column, values[v]) + 1, animals + (int)count);
        cw_text_add(out, "}\n");
    }
}

/* `added` to each class in its share; one animal left out (0 = none). */
static cw_model *learn(const table *zoo, size_t without, int added)
{
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&out, "pack: {name: zoo, title: Zoo, version: 1, not_listed: 0 %, blunders: 0 %}\n");
    write_checks(&out, zoo);
    cw_text_add(&out, "units:\n  animal:\n    title: Animal\n    source: zoo\n    versions:\n");
    for (int class = 1; class <= CLASSES; class ++)
        write_class(&out, zoo, without, class, added);
    cw_model *model = outside_compile(cw_text_get(&out));
    cw_text_dispose(&out);
    return model;
}

/* Posteriors of the classes for one animal. */
static void classify(const table *zoo, size_t row, cw_model *model, double *posterior)
{
    bench b = bench_new(model);
    cw_identity_tables *tables;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    for (size_t column = FIRST; column < FIRST + FEATURES; column++)
        bench_answer(&b, table_cell(zoo, 0, column), table_cell(zoo, row, column));
    const cw_identity units = bench_units(&b, tables);
    cr_assert_eq(units.not_listed, 0.0);
    for (int class = 1; class <= CLASSES; class ++) {
        char name[24];
        snprintf(name, sizeof name, "class_%d", class);
        posterior[class - 1] = bench_unit(&b, &units, name);
    }
    cw_identity_tables_free(tables);
    cw_chain_free(b.chain);
    cw_arena_free(b.arena);
}

static void classify_from_the_others(const table *zoo, size_t row, int added, double *posterior)
{
    cw_model *model = learn(zoo, row, added);
    classify(zoo, row, model, posterior);
    cw_model_free(model);
}

static int likeliest(const double *posterior)
{
    int best = 0;
    for (int class = 1; class < CLASSES; class ++)
        if (posterior[class] > posterior[best])
            best = class;
    return best + 1;
}

Test(zoo, ninety_five_of_a_hundred_and_one)
{
    table zoo = table_read("zoo/zoo.csv");
    int right = 0;
    for (size_t row = 1; row < zoo.rows; row++) {
        double posterior[CLASSES];
        classify_from_the_others(&zoo, row, 1, posterior);
        right += is_class(&zoo, row, likeliest(posterior));
    }
    cr_assert_eq(right, 95);
    table_free(&zoo);
}

Test(zoo, all_right_when_trained_on_all)
{
    table zoo = table_read("zoo/zoo.csv");
    cw_model *model = learn(&zoo, 0, 1);
    for (size_t row = 1; row < zoo.rows; row++) {
        double posterior[CLASSES];
        classify(&zoo, row, model, posterior);
        cr_assert(is_class(&zoo, row, likeliest(posterior)));
    }
    cw_model_free(model);
    table_free(&zoo);
}

Test(zoo, posteriors_equal_those_of_r)
{
    outside_needs_r("e1071");
    table zoo = table_read("zoo/zoo.csv");
    double want[ANIMALS * CLASSES];
    cr_assert_eq(zoo.rows, ANIMALS + 1u);
    outside_run_r("zoo/zoo.R", "zoo/zoo.csv", want, ANIMALS * CLASSES);
    for (size_t row = 1; row < zoo.rows; row++) {
        double posterior[CLASSES];
        classify_from_the_others(&zoo, row, 0, posterior);
        for (size_t class = 0; class < CLASSES; class ++)
            cr_assert_float_eq(posterior[class], want[(row - 1) * CLASSES + class], 1e-9);
    }
    table_free(&zoo);
}
