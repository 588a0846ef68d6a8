#include "chain/lab.h"

#include <criterion/criterion.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORD = 64, MOST = 64 };

chain_lab lab_new(void)
{
    return (chain_lab){.builder = cw_builder_new(&cw_system_allocator), .allocator = &cw_system_allocator};
}

static cw_fact_id add_fact(chain_lab *lab, const char *name, const char *kind)
{
    cw_value_spec values[MOST] = {0};
    static const char *const numbers[] = {"1", "2", "3", "4", "5", "6", "7", "8", "9"};
    char words[256];
    uint32_t count = 0;
    cw_fact fact = {.name = name, .kind = CW_CHOICE};
    snprintf(words, sizeof words, "%s", kind);
    if (strcmp(kind, "measure") == 0) {
        fact.kind = CW_MEASURE;
    } else if (strcmp(kind, "text") == 0) {
        fact.kind = CW_STAMPED;
    } else if (strncmp(kind, "count ", 6) == 0) {
        fact.kind = CW_COUNT;
        for (int n = atoi(kind + 6); (int)count < n; count++)
            values[count] = (cw_value_spec){.name = numbers[count], .number = (int32_t)count + 1};
    } else {
        char *rest = NULL;
        for (char *word = strtok_r(words, " ", &rest); word != NULL; word = strtok_r(NULL, " ", &rest))
            values[count++].name = word;
    }
    return cw_builder_fact(lab->builder, &fact, values, count, NULL);
}

cw_fact_id lab_fact(chain_lab *lab, const char *name, const char *kind)
{
    return add_fact(lab, name, kind);
}

cw_fact_id lab_check(chain_lab *lab, const char *name, const char *kind)
{
    cw_fact_id fact = add_fact(lab, name, kind);
    cw_builder_check(lab->builder, &(cw_check){.name = name, .fact = fact, .ask = name, .title = name},
                     &(cw_tool){"eye", 0}, 1, NULL, 0);
    return fact;
}

cw_fact_id lab_find(const chain_lab *lab, const char *name)
{
    cw_fact_id fact =
        lab->model != NULL ? cw_model_fact(lab->model, name) : cw_builder_find_fact(lab->builder, name);
    cr_assert_neq(fact, 0u, "no fact %s", name);
    return fact;
}

static cw_atom_id step(chain_lab *lab, const char *name)
{
    uint32_t i = 0;
    while (i < LAB_STEPS && lab->steps[i] != 0 && strcmp(lab->step_names[i], name) != 0)
        i++;
    cr_assert_lt(i, (uint32_t)LAB_STEPS);
    if (lab->steps[i] == 0) {
        lab->steps[i] = cw_builder_step(lab->builder);
        snprintf(lab->step_names[i], sizeof lab->step_names[i], "%s", name);
    }
    return lab->steps[i];
}

static cw_interval read_band(const char *sign, const char **number)
{
    cw_interval band = {-INFINITY, INFINITY, false, false};
    bool closed = sign[1] == '=';
    *number = sign + (closed ? 2 : 1);
    if (*sign == '>') {
        band.low = strtod(*number, NULL);
        band.low_open = !closed;
    } else {
        band.high = strtod(*number, NULL);
        band.high_open = !closed;
    }
    return band;
}

static uint32_t value_number(chain_lab *lab, cw_fact_id fact, const char *name)
{
    uint32_t value = 0;
    if (lab->model != NULL)
        value = cw_fact_value(lab->model, fact, name);
    else
        while (strcmp(cw_builder_value_at(lab->builder, fact, value)->name, name) != 0)
            value++;
    cr_assert_neq(value, UINT32_MAX, "no value %s", name);
    return value;
}

static uint32_t make_pattern(chain_lab *lab, const char *text)
{
    cw_pattern *pattern;
    size_t offset;
    char message[80];
    cr_assert_eq(
        cw_pattern_new(lab->allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK);
    return cw_builder_pattern(lab->builder, pattern);
}

static cw_atom_id like_atom(chain_lab *lab, cw_fact_id fact, const char *text)
{
    return cw_builder_like_atom(lab->builder, fact, make_pattern(lab, text));
}

/* Among the finished model's atoms the one that says the same. */
static cw_atom_id find_atom(const chain_lab *lab, const cw_atom *like)
{
    cw_run atoms = lab->model->facts[like->fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id id = lab->model->fact_atoms[atoms.first + i];
        const cw_atom *atom = &lab->model->atoms[id];
        if (atom->kind == like->kind && atom->value == like->value && atom->band.low == like->band.low &&
            atom->band.high == like->band.high && atom->band.low_open == like->band.low_open &&
            atom->band.high_open == like->band.high_open)
            return id;
    }
    cr_assert_fail("no such atom");
    return 0;
}

cw_atom_id lab_atom(chain_lab *lab, const char *text)
{
    char name[WORD];
    size_t length = strcspn(text, "=?<>~");
    const char *rest = text + length;
    if (text[0] == '#')
        return step(lab, text + 1);
    snprintf(name, sizeof name, "%.*s", (int)length, text);
    cw_atom like = {.fact = lab_find(lab, name)};
    switch (*rest) {
    case '?':
        like.kind = CW_ATOM_KNOWN;
        return lab->model != NULL ? find_atom(lab, &like) : cw_builder_known_atom(lab->builder, like.fact);
    case '=':
        like.kind = CW_ATOM_VALUE;
        like.value = value_number(lab, like.fact, rest + 1);
        return lab->model != NULL ? find_atom(lab, &like)
                                  : cw_builder_value_atom(lab->builder, like.fact, like.value);
    case '~':
        return like_atom(lab, like.fact, rest + 1);
    default:
        like.kind = CW_ATOM_BAND;
        like.band = read_band(rest, &rest);
        return lab->model != NULL ? find_atom(lab, &like)
                                  : cw_builder_band_atom(lab->builder, like.fact, like.band);
    }
}

static uint32_t read_premises(chain_lab *lab, const char *text, cw_premise *premises)
{
    char copy[512], *rest = NULL;
    uint32_t count = 0;
    snprintf(copy, sizeof copy, "%s", text);
    for (char *word = strtok_r(copy, ", ", &rest); word != NULL; word = strtok_r(NULL, ", ", &rest)) {
        bool absent = word[0] == '~';
        premises[count++] = (cw_premise){lab_atom(lab, word + absent), absent};
    }
    return count;
}

static bool look_up(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    char word[WORD];
    snprintf(word, sizeof word, "%.*s", (int)size, name);
    *id = cw_builder_find_fact(context, word);
    *dimension = (cw_dimension){0};
    return *id != 0;
}

static cw_rule_id measure_rule(chain_lab *lab, const char *head, const cw_premise *premises, uint32_t count)
{
    char name[WORD];
    const char *text = strstr(head, " = ") + 3;
    snprintf(name, sizeof name, "%.*s", (int)(strstr(head, " = ") - head), head);
    cw_formula_problem problem;
    const cw_formula *formula = cw_formula_parse(cw_builder_arena(lab->builder), text, strlen(text), NULL,
                                                 look_up, lab->builder, &problem);
    cr_assert_not_null(formula, "%s: %s", text, problem.message);
    return cw_builder_measure_rule(lab->builder, lab_find(lab, name), formula, premises, count, lab->rules);
}

static uint32_t add_rule(chain_lab *lab, uint32_t need, const char *head, const char *text)
{
    cw_premise premises[MOST];
    uint32_t count = read_premises(lab, text, premises);
    lab->rules =
        cw_builder_origin(lab->builder, &(cw_origin){.name = head, .because = text, .source = "a test"});
    if (strstr(head, " = ") != NULL)
        measure_rule(lab, head, premises, count);
    else
        cw_builder_rule(lab->builder, lab_atom(lab, head), premises, count, need == UINT32_MAX ? count : need,
                        lab->rules);
    return lab->rules;
}

uint32_t lab_rule(chain_lab *lab, const char *head, const char *premises)
{
    return add_rule(lab, UINT32_MAX, head, premises);
}

uint32_t lab_at_least(chain_lab *lab, uint32_t need, const char *head, const char *premises)
{
    return add_rule(lab, need, head, premises);
}

uint32_t lab_reading(chain_lab *lab, const char *measure, const char *text, const char *pattern, double low,
                     double high, const char *premises)
{
    cw_premise read[MOST];
    cw_reading reading = {.pattern = make_pattern(lab, pattern), .unit = cw_unit_find("A", 1)};
    reading.dimension = reading.unit->dimension;
    reading.range = (cw_interval){low, high, false, false};
    const uint32_t count = read_premises(lab, premises, read);
    lab->rules = cw_builder_origin(lab->builder,
                                   &(cw_origin){.name = measure, .because = pattern, .source = "a test"});
    cw_builder_reading_rule(lab->builder, lab_find(lab, measure), &reading, lab_find(lab, text), read, count,
                            lab->rules);
    return lab->rules;
}

void lab_start(chain_lab *lab)
{
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(lab->builder, &lab->model, &circle), CW_OK);
    cw_builder_free(lab->builder);
    lab->builder = NULL;
    cr_assert_eq(cw_chain_new(lab->model, lab->allocator, &lab->chain), CW_OK);
}

void lab_end(chain_lab *lab)
{
    cw_chain_free(lab->chain);
    cw_model_free(lab->model);
}

cw_answer lab_read_answer(chain_lab *lab, const char *text)
{
    char name[WORD];
    const char *value = strchr(text, '=') + 1;
    snprintf(name, sizeof name, "%.*s", (int)(value - 1 - text), text);
    cw_answer answer = {.fact = lab_find(lab, name)};
    if (strcmp(value, "?") == 0) {
        answer.cant_tell = true;
        return answer;
    }
    switch (lab->model->facts[answer.fact].kind) {
    case CW_MEASURE:
        answer.number = strtod(value, NULL);
        if (strstr(value, "+-") != NULL)
            answer.error = strtod(strstr(value, "+-") + 2, NULL);
        break;
    case CW_STAMPED:
        answer.text = value;
        break;
    default:
        answer.value = value_number(lab, answer.fact, value);
    }
    return answer;
}

void lab_answer(chain_lab *lab, const char *text)
{
    cw_answer answer = lab_read_answer(lab, text);
    cr_assert_eq(cw_chain_answer(lab->chain, &answer), CW_OK);
}

void lab_withdraw(chain_lab *lab, const char *name)
{
    cr_assert_eq(cw_chain_withdraw(lab->chain, lab_find(lab, name)), CW_OK);
}

cw_truth lab_truth(chain_lab *lab, const char *atom)
{
    return cw_chain_truth(lab->chain, lab_atom(lab, atom));
}

const char *lab_reasons(chain_lab *lab, const char *atom, char *out, size_t size)
{
    cw_reason reasons[MOST];
    size_t count = cw_chain_reasons(lab->chain, lab_atom(lab, atom), reasons, MOST), used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        const char *doubt = reasons[i].truth == CW_YES ? "" : "?";
        int written = reasons[i].rule == 0
                          ? snprintf(out + used, size - used, "%sanswer%s", i > 0 ? " " : "", doubt)
                          : snprintf(out + used, size - used, "%s%u%s", i > 0 ? " " : "",
                                     lab->model->rules[reasons[i].rule].origin, doubt);
        used += (size_t)written;
    }
    return out;
}

const char *lab_readings(chain_lab *lab, const char *name, char *out, size_t size)
{
    cw_fact_id facts[MOST];
    size_t count = cw_chain_readings(lab->chain, lab_find(lab, name), facts, MOST), used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < count; i++)
        used += (size_t)snprintf(out + used, size - used, "%s%s", i > 0 ? " " : "",
                                 lab->model->facts[facts[i]].name);
    return out;
}
