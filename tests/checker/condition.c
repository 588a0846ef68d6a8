/* Conditions, walked on the text with three truths: no < doubtful < yes. */
#include "checker/inside.h"

#define PCRE2_CODE_UNIT_WIDTH 8
#include <math.h>
#include <pcre2.h>
#include <stdlib.h>
#include <string.h>

static checker_truth weaker(checker_truth a, checker_truth b)
{
    return a < b ? a : b;
}

static checker_truth stronger(checker_truth a, checker_truth b)
{
    return a > b ? a : b;
}

/* --- one fact --- */

static checker_truth within(double number, double error, double low, bool low_open, double high,
                            bool high_open)
{
    checker_truth above = number > low || (number == low && !low_open) ? CHECKER_YES : CHECKER_NO;
    checker_truth below = number < high || (number == high && !high_open) ? CHECKER_YES : CHECKER_NO;
    if (isfinite(low) && fabs(number - low) < error)
        above = CHECKER_DOUBTFUL;
    if (isfinite(high) && fabs(number - high) < error)
        below = CHECKER_DOUBTFUL;
    return weaker(above, below);
}

typedef struct limits {
    double low, high;
    bool low_open, high_open;
} limits;

/* "above 0.5 V", "at most 3", "12.2 V to 12.6 V" */
static bool read_limits(const char *text, limits *out)
{
    *out = (limits){-INFINITY, INFINITY, false, false};
    if (strncmp(text, "above ", 6) == 0)
        return out->low_open = true, ck_quantity_read(text + 6, NULL, &out->low);
    if (strncmp(text, "below ", 6) == 0)
        return out->high_open = true, ck_quantity_read(text + 6, NULL, &out->high);
    if (strncmp(text, "at least ", 9) == 0)
        return ck_quantity_read(text + 9, NULL, &out->low);
    if (strncmp(text, "at most ", 8) == 0)
        return ck_quantity_read(text + 8, NULL, &out->high);
    return ck_quantity_range(text, NULL, &out->low, &out->high);
}

static bool matches(const char *pattern, const char *text)
{
    int error;
    size_t offset;
    pcre2_code *code = pcre2_compile((PCRE2_SPTR)pattern, PCRE2_ZERO_TERMINATED,
                                     PCRE2_UTF | PCRE2_UCP | PCRE2_CASELESS, &error, &offset, NULL);
    if (code == NULL)
        ck_die("bad pattern %s", pattern);
    pcre2_match_data *data = pcre2_match_data_create_from_pattern(code, NULL);
    int found = pcre2_match(code, (PCRE2_SPTR)text, strlen(text), 0, 0, data, NULL);
    pcre2_match_data_free(data);
    pcre2_code_free(code);
    return found >= 0;
}

size_t ck_tested_values(const fact *f, const tree *test, size_t values[MAX_TESTED])
{
    size_t count = 0;
    limits band;
    if (test->kind == TREE_LIST) {
        for (size_t i = 0; i < test->count; i++)
            values[count++] = ck_find_value(f, test->items[i]->text);
        return count;
    }
    if (strcmp(test->text, "known") == 0) {
        for (size_t v = 0; v < f->value_count; v++)
            values[count++] = v;
    } else if (ck_find_value(f, test->text) < f->value_count) {
        values[count++] = ck_find_value(f, test->text);
    } else if (strncmp(test->text, "not ", 4) == 0) {
        for (size_t v = 0; v < f->value_count; v++)
            if (v != ck_find_value(f, test->text + 4))
                values[count++] = v;
    } else if (f->kind == FACT_COUNT && read_limits(test->text, &band)) {
        for (size_t v = 0; v < f->value_count; v++)
            if (within(f->first + (double)v, 0, band.low, band.low_open, band.high, band.high_open) ==
                CHECKER_YES)
                values[count++] = v;
    } else {
        ck_die("%s: cannot be tested with '%s'", f->name, test->text);
    }
    return count;
}

static checker_truth number_test(const fact *f, const tree *test)
{
    checker_truth out = CHECKER_NO;
    limits band = {-INFINITY, INFINITY, false, false};
    if (strcmp(test->text, "known") != 0 && !read_limits(test->text, &band))
        ck_die("%s: cannot be tested with '%s'", f->name, test->text);
    for (size_t s = 0; s < f->source_count; s++)
        out = stronger(out,
                       weaker(f->sources[s].truth, within(f->sources[s].number, f->sources[s].error, band.low,
                                                          band.low_open, band.high, band.high_open)));
    return out;
}

checker_truth ck_test_truth(const checker *c, const fact *f, const tree *test)
{
    if (f->kind == FACT_UNIT)
        return ck_unit_test(c, f, test);
    if (f->kind == FACT_MEASURE)
        return number_test(f, test);
    if (f->kind == FACT_TEXT) {
        const char *pattern = ck_tree_word(test, "like");
        if (f->answer.kind != CHECKER_TEXT)
            return CHECKER_NO;
        return pattern == NULL || matches(pattern, f->answer.value) ? CHECKER_YES : CHECKER_NO;
    }
    size_t values[MAX_TESTED], count = ck_tested_values(f, test, values);
    checker_truth out = CHECKER_NO;
    for (size_t i = 0; i < count; i++)
        out = stronger(out, f->truths[values[i]]);
    return out;
}

static bool disagree(const source *a, const source *b)
{
    double apart = fabs(a->number - b->number);
    return apart > 2 * sqrt(a->error * a->error + b->error * b->error) &&
           apart > 1e-9 * fmax(fabs(a->number), fabs(b->number));
}

/* The answer first, else the first sure source, else the first doubtful one. (Which of several agreeing
 * formulas counts depends on how near the answers they are; no formula of a pack here reads such a fact.) */
checker_known ck_settle_number(const fact *f, double *number, double *error, checker_truth *truth)
{
    const source *best = NULL;
    bool conflict = false;
    for (size_t i = 0; i < f->source_count; i++) {
        const source *a = &f->sources[i];
        for (size_t j = 0; j < i; j++)
            conflict |=
                a->truth == CHECKER_YES && f->sources[j].truth == CHECKER_YES && disagree(a, &f->sources[j]);
        if (a->truth > CHECKER_NO && (best == NULL || a->truth > best->truth))
            best = a;
    }
    if (best == NULL)
        return CHECKER_UNKNOWN;
    *number = best->number;
    *error = best->error;
    *truth = best->truth;
    return conflict ? CHECKER_CONFLICT : best->truth == CHECKER_YES ? CHECKER_KNOWN : CHECKER_MAYBE;
}

/* --- groups --- */

static member group_member(const char *key, const tree *node)
{
    if (strcmp(key, "all") == 0)
        return (member){.form = COND_ALL, .node = node};
    if (strcmp(key, "any") == 0)
        return (member){.form = COND_ANY, .need = 1, .node = node};
    if (strcmp(key, "none") == 0)
        return (member){.form = COND_NONE, .node = node};
    if (strncmp(key, "some ", 5) == 0)
        return (member){.form = COND_ANY, .need = 1, .node = node, .thing_kind = key + 5};
    if (strncmp(key, "every ", 6) == 0)
        return (member){.form = COND_ALL, .node = node, .thing_kind = key + 6};
    if (strncmp(key, "no ", 3) == 0)
        return (member){.form = COND_NONE, .node = node, .thing_kind = key + 3};
    if (strncmp(key, "at least ", 9) == 0)
        return (member){.form = COND_ANY,
                        .need = (size_t)atoi(key + 9),
                        .node = node,
                        .thing_kind = strchr(key + 9, ' ') + 1};
    return (member){.form = COND_TEST, .node = node, .fact = key};
}

member ck_member_at(const tree *condition, size_t i)
{
    if (condition->kind == TREE_MAP)
        return group_member(condition->keys[i]->text, condition->items[i]);
    return (member){.form = COND_ALL, .node = condition->items[i]};
}

void ck_member_parts(const checker *c, const member *group, const bound *in, part_visit *visit, void *context)
{
    if (group->thing_kind == NULL) {
        for (size_t i = 0; i < group->node->count; i++) {
            member part = ck_member_at(group->node, i);
            visit(context, &part, NULL, in);
        }
        return;
    }
    const kind_of_thing *kind = ck_find_kind(c, group->thing_kind);
    for (size_t t = 0; t < kind->things->count; t++) {
        bound inner = *in;
        inner.bindings[inner.count++] = (binding){kind->name, kind->things->items[t]->text};
        visit(context, NULL, group->node, &inner);
    }
}

typedef struct tally {
    const checker *c;
    size_t parts, yes, maybe; /* maybe: doubtful or yes */
} tally;

static void count_part(void *context, const member *part, const tree *condition, const bound *in)
{
    tally *t = context;
    checker_truth truth =
        part != NULL ? ck_member_truth(t->c, part, in) : ck_condition_truth(t->c, condition, in);
    t->parts++;
    t->yes += truth == CHECKER_YES;
    t->maybe += truth >= CHECKER_DOUBTFUL;
}

checker_truth ck_member_truth(const checker *c, const member *m, const bound *in)
{
    if (m->form == COND_TEST)
        return ck_test_truth(c, ck_resolve(c, m->fact, in), m->node);
    tally t = {.c = c};
    ck_member_parts(c, m, in, count_part, &t);
    if (m->form == COND_NONE)
        return t.maybe == 0 ? CHECKER_YES : t.yes == 0 ? CHECKER_DOUBTFUL : CHECKER_NO;
    size_t need = m->form == COND_ALL ? t.parts : m->need;
    return t.yes >= need ? CHECKER_YES : t.maybe >= need ? CHECKER_DOUBTFUL : CHECKER_NO;
}

checker_truth ck_condition_truth(const checker *c, const tree *condition, const bound *in)
{
    checker_truth out = CHECKER_YES;
    for (size_t i = 0; i < condition->count; i++) {
        member m = ck_member_at(condition, i);
        out = weaker(out, ck_member_truth(c, &m, in));
    }
    return out;
}
