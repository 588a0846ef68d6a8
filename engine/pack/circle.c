/* Circles, told as people follow them: a -> b -> a. */
#include "pack/inside.h"

#include <string.h>

/* Where the circle begins so that it reads the same whatever order it was found in: at the first name. */
static uint32_t first_of(const char *const *names, uint32_t count)
{
    uint32_t first = 0;
    for (uint32_t i = 1; i < count; i++)
        if (strcmp(names[i], names[first]) < 0)
            first = i;
    return first;
}

void tell_names_around(compiler *c, cw_code code, const char *what, const char *const *names,
                       const cw_span *spans, uint32_t count)
{
    static const struct {
        cw_code code;
        const char *words;
    } remedies[] = {{CW_DIAG_ABSENCE_CYCLE,
                     "let one of them go by the readings themselves, not by what the circle concludes"},
                    {CW_DIAG_CAUSE_CYCLE, "take one 'leads_to' of the circle out"},
                    {CW_DIAG_STEP_CYCLE, "take one 'after' or 'before' of the circle out"},
                    {CW_DIAG_REPLACE_CYCLE, "the newest one has no 'replaced_by'"},
                    {CW_DIAG_PACK_CYCLE, "the most general pack needs no other"}};
    uint32_t first = first_of(names, count);
    cw_text words = CW_TEXT_INIT(c->allocator);
    for (uint32_t i = 0; i <= count; i++)
        cw_text_format(&words, "%s%s", i == 0 ? "" : " -> ", names[(first + i) % count]);
    if (words.status != CW_OK)
        c->no_memory = true;
    cw_diag *diag = cw_diags_add(c->diags, code, spans[first], "%s: %s", what, cw_text_get(&words));
    if (count > 1)
        cw_diag_second(c->diags, diag, spans[(first + 1) % count], "the next one of the circle");
    for (size_t i = 0; i < sizeof remedies / sizeof remedies[0]; i++)
        if (remedies[i].code == code)
            help(c, diag, "%s", remedies[i].words);
    cw_text_dispose(&words);
}

void tell_circles(compiler *c, const cw_circle *circle)
{
    for (; circle != NULL && !c->no_memory; circle = circle->next) {
        uint32_t count = circle->origin_count + circle->cause_count;
        const char **names = take(c, count, sizeof *names);
        cw_span *spans = take(c, count, sizeof *spans);
        if (names == NULL || spans == NULL || count == 0)
            return;
        for (uint32_t i = 0; i < circle->origin_count; i++) {
            const rule_def *rule = *CW_VEC_AT(&c->origin_rules, rule_def *, circle->origins[i]);
            names[i] = rule->at->name;
            spans[i] = rule->at->key->span;
        }
        for (uint32_t i = 0; i < circle->cause_count; i++) {
            const cause_def *cause = CW_VEC_AT(&c->causes, cause_def, circle->causes[i] - 1);
            names[i] = cause->at->name;
            spans[i] = cause->at->key->span;
        }
        if (circle->cause_count > 0)
            tell_names_around(c, CW_DIAG_CAUSE_CYCLE, "causes lead to each other in a circle", names, spans,
                              count);
        else
            tell_names_around(c, CW_DIAG_ABSENCE_CYCLE,
                              "rules run in a circle through an absence or a formula", names, spans, count);
    }
}

void find_replacement_circles(compiler *c, const uint32_t *next, uint32_t count, tell_circle visit)
{
    uint32_t *mark = take(c, count, sizeof *mark), *around = take(c, count, sizeof *around);
    for (uint32_t i = 0; i < count && mark != NULL && around != NULL; i++) {
        uint32_t at = i + 1, length = 0;
        for (; at != 0 && mark[at - 1] == 0; at = next[at - 1])
            mark[at - 1] = i + 1;
        if (at == 0 || mark[at - 1] != i + 1)
            continue; /* an end, or where an earlier walk went */
        for (uint32_t stop = at; length == 0 || at != stop; at = next[at - 1])
            around[length++] = at - 1;
        visit(c, around, length);
    }
}
