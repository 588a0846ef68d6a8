/* The noisy-OR of lecture notes after Russell and Norvig: every printed chance of fever, and the posteriors.
 */
#include "outside/outside.h"

static const char *const illnesses[] = {"cold", "flu", "malaria"};
static const char *const seen[] = {"seen: 20 %", "seen: 10 %", "seen: 1 %"};

static void replace_in(cw_text *out, const char *text, const char *old, const char *fresh)
{
    const char *at = strstr(text, old);
    cr_assert_not_null(at, "the pack has no %s", old);
    cw_text_clear(out);
    cw_text_add_bytes(out, text, (size_t)(at - text));
    cw_text_add(out, fresh);
    cw_text_add(out, at + strlen(old));
}

/* The pack, made so that just these illnesses are present: P(fever) is then what the notes print. */
static double fever_given(const char *pack, const table *given, size_t row)
{
    char *text = strdup(pack);
    for (size_t i = 0; i < 3; i++) {
        const bool present = strcmp(table_cell(given, row, table_column(given, illnesses[i])), "yes") == 0;
        cw_text out = CW_TEXT_INIT(&cw_system_allocator);
        replace_in(&out, text, seen[i], present ? "seen: 100 %" : "seen: 0 %");
        free(text);
        text = strdup(cw_text_get(&out));
        cw_text_dispose(&out);
    }
    bench b = bench_new(outside_compile(text));
    bench_answer(&b, "fever", "yes");
    const double probability = bench_causes(&b).evidence_probability;
    bench_free(&b);
    free(text);
    return probability;
}

Test(fever, chance_by_set_of_illnesses)
{
    char *pack = outside_read("fever/pack/pack.yaml");
    table given = table_read("fever/given.csv");
    cr_assert_eq(given.rows, 9u);
    for (size_t row = 1; row < given.rows; row++) {
        const double want = atof(table_cell(&given, row, table_column(&given, "p_fever")));
        cr_assert_float_eq(fever_given(pack, &given, row), want, 1e-15);
    }
    table_free(&given);
    free(pack);
}

Test(fever, posteriors)
{
    char *pack = outside_read("fever/pack/pack.yaml");
    table want = table_read("fever/posteriors.csv");
    for (size_t row = 1; row < want.rows; row++) {
        bench b = bench_new(outside_compile(pack));
        const char *evidence = table_cell(&want, row, 0);
        if (*evidence != '\0')
            bench_answer(&b, "fever", strchr(evidence, '=') + 1);
        const cw_causes causes = bench_causes(&b);
        cr_assert(causes.exact);
        cr_assert_float_eq(causes.evidence_probability, atof(table_cell(&want, row, 1)), 1e-12);
        for (size_t i = 0; i < 3; i++)
            cr_assert_float_eq(bench_cause(&b, &causes, illnesses[i]), atof(table_cell(&want, row, 2 + i)),
                               1e-12);
        bench_free(&b);
    }
    table_free(&want);
    free(pack);
}
