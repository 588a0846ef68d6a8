#include "outside/asp/export.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct writer {
    const checker *judge;
    char *text;
    size_t size, room;
    unsigned helpers;
} writer;

static void put(writer *w, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void put(writer *w, const char *format, ...)
{
    va_list arguments;
    if (w->size + 2000 > w->room) {
        w->room = 2 * w->room + 4000;
        w->text = realloc(w->text, w->room);
        if (w->text == NULL)
            ck_die("no memory");
    }
    va_start(arguments, format);
    w->size += (size_t)vsnprintf(w->text + w->size, w->room - w->size, format, arguments);
    va_end(arguments);
}

static unsigned write_member(writer *w, const member *m, const bound *in);
static unsigned write_condition(writer *w, const tree *condition, const bound *in);

static unsigned write_test(writer *w, const member *m, const bound *in)
{
    const fact *f = ck_resolve(w->judge, m->fact, in);
    unsigned id = w->helpers++;
    if (f->kind == FACT_MEASURE || f->kind == FACT_TEXT || f->kind == FACT_UNIT) {
        checker_truth truth = ck_test_truth(w->judge, f, m->node);
        if (truth == CHECKER_YES)
            put(w, "yc(%u). ", id);
        if (truth >= CHECKER_DOUBTFUL)
            put(w, "mc(%u).\n", id);
        return id;
    }
    size_t values[MAX_TESTED], count = ck_tested_values(f, m->node, values);
    for (size_t i = 0; i < count; i++) {
        const char *value = f->values[values[i]];
        put(w, "yc(%u) :- y(\"%s=%s\"). mc(%u) :- m(\"%s=%s\").\n", id, f->name, value, id, f->name, value);
    }
    return id;
}

typedef struct part_list {
    writer *w;
    unsigned ids[1100];
    size_t count;
} part_list;

static void write_part(void *context, const member *part, const tree *condition, const bound *in)
{
    part_list *list = context;
    unsigned id = part != NULL ? write_member(list->w, part, in) : write_condition(list->w, condition, in);
    list->ids[list->count++] = id;
}

/* "yc(9) :- yc(4), yc(7)." and the like; a group without parts does not come up. */
static void write_all(writer *w, char grade, unsigned id, const part_list *parts)
{
    put(w, "%cc(%u)", grade, id);
    for (size_t i = 0; i < parts->count; i++)
        put(w, "%s%cc(%u)", i == 0 ? " :- " : ", ", grade, parts->ids[i]);
    put(w, ".\n");
}

static void write_none(writer *w, char grade, unsigned id, const part_list *parts)
{
    put(w, "%cc(%u)", grade, id);
    for (size_t i = 0; i < parts->count; i++)
        put(w, "%s%cc(%u)", i == 0 ? " :- not " : ", not ", grade == 'y' ? 'm' : 'y', parts->ids[i]);
    put(w, ".\n");
}

static void write_at_least(writer *w, char grade, unsigned id, size_t need, const part_list *parts)
{
    put(w, "%cc(%u) :- %zu <= #count { ", grade, id, need);
    for (size_t i = 0; i < parts->count; i++)
        put(w, "%s%u : %cc(%u)", i == 0 ? "" : "; ", parts->ids[i], grade, parts->ids[i]);
    put(w, " }.\n");
}

static unsigned write_member(writer *w, const member *m, const bound *in)
{
    if (m->form == COND_TEST)
        return write_test(w, m, in);
    part_list parts = {.w = w};
    unsigned id = w->helpers++;
    ck_member_parts(w->judge, m, in, write_part, &parts);
    for (int i = 0; i < 2; i++) {
        char grade = "ym"[i];
        if (m->form == COND_ALL)
            write_all(w, grade, id, &parts);
        else if (m->form == COND_NONE)
            write_none(w, grade, id, &parts);
        else
            write_at_least(w, grade, id, m->need, &parts);
    }
    return id;
}

static unsigned write_condition(writer *w, const tree *condition, const bound *in)
{
    part_list parts = {.w = w};
    unsigned id = w->helpers++;
    for (size_t i = 0; i < condition->count; i++) {
        member m = ck_member_at(condition, i);
        parts.ids[parts.count++] = write_member(w, &m, in);
    }
    write_all(w, 'y', id, &parts);
    write_all(w, 'm', id, &parts);
    return id;
}

static void write_rule(writer *w, const ground_rule *rule)
{
    unsigned id = write_condition(w, ck_tree_get(rule->body, "if"), &rule->scope);
    const tree *then = ck_tree_get(rule->body, "then");
    for (size_t i = 0; then != NULL && i < then->count; i++) {
        const fact *f = ck_resolve(w->judge, then->keys[i]->text, &rule->scope);
        const tree *value = then->items[i];
        for (size_t v = 0; f->kind != FACT_MEASURE && v < f->value_count; v++)
            if (ck_is_reading(value) ? ck_reads_value(w->judge, f, value, &rule->scope, v)
                                     : strcmp(f->values[v], value->text) == 0)
                put(w, "y(\"%s=%s\") :- yc(%u). m(\"%s=%s\") :- mc(%u).\n", f->name, f->values[v], id,
                    f->name, f->values[v], id);
    }
}

static void write_datum(void *context, const char *name, const char *text)
{
    writer *w = context;
    if (ck_find_fact(w->judge, name)->kind != FACT_MEASURE)
        put(w, "y(\"%s=%s\"). m(\"%s=%s\").\n", name, text, name, text);
}

char *export_program(const checker *judge)
{
    writer w = {.judge = judge};
    for (size_t r = 0; r < judge->rule_count; r++)
        write_rule(&w, &judge->rules[r]);
    for (size_t i = 0; i < judge->fact_count; i++) {
        const fact *f = &judge->facts[i];
        if (f->answer.kind == CHECKER_CHOICE && f->kind != FACT_UNIT)
            put(&w, "y(\"%s=%s\"). m(\"%s=%s\").\n", f->name, f->answer.value, f->name, f->answer.value);
    }
    ck_unit_says(judge, write_datum, &w);
    put(&w, "#defined yc/1. #defined mc/1. #defined y/1. #defined m/1.\n#show y/1. #show m/1.\n");
    return w.text;
}
