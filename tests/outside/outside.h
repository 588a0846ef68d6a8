/* For checks from outside: tables read, packs compiled, answers ranked. */
#ifndef CW_TESTS_OUTSIDE_H
#define CW_TESTS_OUTSIDE_H

#include "base/text.h"
#include "pack/pack.h"
#include "rank/causes.h"
#include "rank/identity.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* -- Tables -- */

typedef struct table { /* cells of a comma-separated file without quotes; row 0 is the heading */
    char *text;
    char **cells;
    size_t rows, columns;
} table;

static inline char *outside_read(const char *path)
{
    char full[512];
    snprintf(full, sizeof full, "%s/tests/outside/%s", CW_SOURCE_DIR, path);
    FILE *file = fopen(full, "rb");
    cr_assert_not_null(file, "cannot read %s", full);
    char *text = calloc(1, 1u << 20);
    cr_assert_lt(fread(text, 1, 1u << 20, file), 1u << 20);
    fclose(file);
    return text;
}

static inline table table_read(const char *path)
{
    table t = {.text = outside_read(path), .columns = 1};
    for (const char *c = t.text; *c != '\n'; c++)
        t.columns += *c == ',';
    for (const char *c = t.text; *c != '\0'; c++)
        t.rows += *c == '\n';
    t.cells = calloc(t.rows * t.columns, sizeof *t.cells);
    char *at = t.text;
    for (size_t i = 0; i < t.rows * t.columns; i++) {
        t.cells[i] = at;
        at += strcspn(at, ",\r\n");
        while (*at == '\r')
            *at++ = '\0';
        *at++ = '\0';
    }
    return t;
}

static inline const char *table_cell(const table *t, size_t row, size_t column)
{
    return t->cells[row * t->columns + column];
}

static inline size_t table_column(const table *t, const char *name)
{
    for (size_t column = 0; column < t->columns; column++)
        if (strcmp(table_cell(t, 0, column), name) == 0)
            return column;
    cr_assert_fail("no column %s", name);
    return 0;
}

static inline void table_free(table *t)
{
    free(t->text);
    free(t->cells);
}

/* -- Packs -- */

/* One file in memory; shows the messages when it does not compile. */
static inline cw_model *outside_compile(const char *text)
{
    const cw_pack_file file = {"pack.yaml", text, strlen(text)};
    const cw_pack_text pack = {"memory", &file, 1};
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    cw_model *model = NULL;
    const cw_status status = cw_pack_compile(&cw_system_allocator, &pack, 1, sources, diags, &model);
    if (status != CW_OK) {
        cw_text out = CW_TEXT_INIT(&cw_system_allocator);
        for (size_t i = 0; i < cw_diags_count(diags); i++)
            cw_diag_render(&out, sources, cw_diags_at(diags, i));
        cr_log_error("%s", cw_text_get(&out));
        cw_text_dispose(&out);
    }
    cr_assert_eq(status, CW_OK);
    cw_diags_free(diags);
    cw_sources_free(sources);
    return model;
}

/* A job in hand: one chain, what it gives. */
typedef struct bench {
    cw_model *model;
    cw_chain *chain;
    cw_arena *arena;
} bench;

static inline bench bench_new(cw_model *model)
{
    bench b = {model, NULL, cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &b.chain), CW_OK);
    return b;
}

static inline void bench_free(bench *b)
{
    cw_chain_free(b->chain);
    cw_arena_free(b->arena);
    cw_model_free(b->model);
}

static inline void bench_answer(bench *b, const char *check, const char *value)
{
    const cw_fact_id fact = cw_model_fact(b->model, check);
    cr_assert_neq(fact, 0u, "no check %s", check);
    const cw_answer answer = {.fact = fact, .value = cw_fact_value(b->model, fact, value)};
    cr_assert_neq(answer.value, UINT32_MAX, "%s cannot be %s", check, value);
    cr_assert_eq(cw_chain_answer(b->chain, &answer), CW_OK);
}

static inline void bench_measure(bench *b, const char *check, double value)
{
    const cw_fact_id fact = cw_model_fact(b->model, check);
    const cw_fact *about = &b->model->facts[fact];
    const cw_tool *tool = &b->model->tools[b->model->checks[about->check].tools.first];
    const cw_answer answer = {.fact = fact, .number = cw_to_base(about->unit, value), .error = tool->error};
    cr_assert_eq(cw_chain_answer(b->chain, &answer), CW_OK);
}

static inline cw_causes bench_causes(bench *b)
{
    const cw_evidence *evidence;
    size_t count;
    cw_causes causes;
    cr_assert_eq(cw_evidence_collect(b->chain, CW_ABOUT_CAUSES, b->arena, &evidence, &count), CW_OK);
    cr_assert_eq(cw_causes_rank(b->chain, evidence, count, CW_CAUSES_STEPS, b->arena, &causes), CW_OK);
    return causes;
}

static inline double bench_cause(const bench *b, const cw_causes *causes, const char *name)
{
    for (uint32_t i = 0; i < causes->count; i++)
        if (strcmp(b->model->causes[causes->causes[i]].name, name) == 0)
            return causes->probability[i];
    cr_assert_fail("no cause %s", name);
    return 0;
}

static inline cw_identity bench_units(bench *b, const cw_identity_tables *tables)
{
    const cw_evidence *evidence;
    size_t count;
    cw_identity units;
    cr_assert_eq(cw_evidence_collect(b->chain, CW_ABOUT_UNITS, b->arena, &evidence, &count), CW_OK);
    cr_assert_eq(cw_identity_rank(tables, evidence, count, b->arena, &units), CW_OK);
    return units;
}

static inline double bench_unit(const bench *b, const cw_identity *units, const char *name)
{
    for (uint32_t i = 0; i < units->count; i++)
        if (strcmp(b->model->units[units->units[i]].name, name) == 0)
            return units->probability[i];
    cr_assert_fail("no unit %s", name);
    return 0;
}

/* -- R -- */

/* A comparison that cannot be made is a failure: nobody reads of skipped tests. */
static inline void outside_needs_r(const char *library)
{
    char command[100];
    snprintf(command, sizeof command, "Rscript --vanilla -e 'library(%s)' >/dev/null 2>&1", library);
    cr_assert_eq(system(command), 0,
                 "this test needs R and its %s (Debian packages 'r-base-core' and 'r-cran-%s')", library,
                 library);
}

/* Runs a script of this folder over a table of this folder; reads `count` numbers. */
static inline void outside_run_r(const char *script, const char *data, double *numbers, size_t count)
{
    char command[1200];
    snprintf(command, sizeof command, "Rscript --vanilla '%s/tests/outside/%s' '%s/tests/outside/%s'",
             CW_SOURCE_DIR, script, CW_SOURCE_DIR, data);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(fscanf(pipe, "%lf%*[,\n]", &numbers[i]), 1);
    cr_assert_eq(pclose(pipe), 0);
}

#endif
