/* Units against naive Bayes on the Soybean data: each of 19 diseases a unit, 35 symptoms as signs, counts
 * with one added; what is unknown is left open. Figures: two other programs (README). */
#include "outside/soybean/soybean.h"

/* Posteriors of all units by name for one plant: class_N into whole[N], without_ROW into *without. */
static void classify(cw_model *model, const cw_identity_tables *tables, const lesson *soy, size_t row,
                     double *whole, double *without)
{
    bench b = bench_new(model);
    for (size_t f = 0; f < soy->features; f++) {
        char name[32], value[16];
        snprintf(name, sizeof name, "f%zu", f);
        snprintf(value, sizeof value, "v%d", soy->cell[row][f]);
        if (soy->cell[row][f] != UNKNOWN)
            bench_answer(&b, name, value);
    }
    const cw_identity units = bench_units(&b, tables);
    cr_assert_eq(units.not_listed, 0.0);
    *without = 0;
    for (uint32_t i = 0; i < units.count; i++) {
        const char *name = model->units[units.units[i]].name;
        const size_t number = (size_t)strtoul(strchr(name, '_') + 1, NULL, 10);
        if (name[0] == 'c')
            whole[number] = units.probability[i];
        else if (number == row)
            *without = units.probability[i];
    }
    cw_chain_free(b.chain);
    cw_arena_free(b.arena);
}

static size_t likeliest(const double *believed, size_t classes)
{
    size_t best = 0;
    for (size_t class = 1; class < classes; class ++)
        if (believed[class] > believed[best])
            best = class;
    return best;
}

/* Leaving a plant out changes one disease alone, so one pack serves for all 683: the diseases as counted on
 * all, and each once more without each of its plants. Those that are not to be compared do not change the
 * order of the rest. */
static cw_model *learn_leaving_out(const lesson *soy)
{
    static counts seen;
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    count_none(&seen, 1);
    count_rows(soy, &seen, 0, soy->rows);
    learn_classes(&text, soy, &seen);
    for (size_t row = 0; row < soy->rows; row++) {
        char name[32];
        snprintf(name, sizeof name, "without_%zu", row);
        count_row(soy, &seen, row, -1);
        learn_unit(&text, soy, &seen, (size_t)soy->class_of[row], name);
        count_row(soy, &seen, row, 1);
    }
    cw_model *model = outside_compile(cw_text_get(&text));
    cw_text_dispose(&text);
    return model;
}

Test(soybean, leaving_one_out_636_of_683)
{
    lesson *soy = soybean_lesson();
    cw_model *model = learn_leaving_out(soy);
    cw_identity_tables *tables;
    size_t right = 0;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    for (size_t row = 0; row < soy->rows; row++) {
        double believed[LEARN_CLASSES], without;
        classify(model, tables, soy, row, believed, &without);
        believed[soy->class_of[row]] = without;
        right += likeliest(believed, soy->classes) == (size_t)soy->class_of[row];
    }
    cr_expect_eq(right, 636u, "%zu", right);
    cw_identity_tables_free(tables);
    cw_model_free(model);
    free(soy);
}

Test(soybean, original_split_331_of_376)
{
    static counts seen;
    lesson *soy = soybean_lesson();
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    count_none(&seen, 1);
    count_rows(soy, &seen, 0, SOYBEAN_TAUGHT);
    learn_classes(&text, soy, &seen);
    cw_model *model = outside_compile(cw_text_get(&text));
    cw_text_dispose(&text);
    cw_identity_tables *tables;
    size_t right = 0;
    double bits = 0;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    for (size_t row = SOYBEAN_TAUGHT; row < soy->rows; row++) {
        double believed[LEARN_CLASSES], plainly[LEARN_CLASSES], without;
        const size_t truth = (size_t)soy->class_of[row];
        classify(model, tables, soy, row, believed, &without);
        learn_before(soy, &seen, plainly);
        for (size_t f = 0; f < soy->features; f++)
            learn_believe(soy, &seen, f, soy->cell[row][f], plainly);
        for (size_t class = 0; class < soy->classes; class ++)
            cr_assert_float_eq(believed[class], plainly[class], 1e-9);
        right += likeliest(believed, soy->classes) == truth;
        bits -= log2(believed[truth]);
    }
    cr_expect_eq(right, 331u, "%zu", right);
    cr_expect_float_eq(bits / (SOYBEAN_ROWS - SOYBEAN_TAUGHT), 0.700, 5e-4);
    cw_identity_tables_free(tables);
    cw_model_free(model);
    free(soy);
}
