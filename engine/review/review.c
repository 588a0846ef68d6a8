#include "review/search.h"

#include <string.h>

enum { PAIR_STEPS = 6000, ALL_STEPS = 20000000 };

void *review_take(reviewer *r, size_t count, size_t size)
{
    void *taken = cw_arena_array(r->arena, count, size);
    r->no_memory |= taken == NULL;
    return taken;
}

bool review_is_asked_for(const reviewer *r, cw_span span)
{
    return r->limits.sources == 0 || span.source <= r->limits.sources;
}

static bool said_before(const reviewer *r, cw_code code, cw_span span)
{
    for (size_t i = 0; i < cw_diags_count(r->diags); i++) {
        const cw_diag *diag = cw_diags_at(r->diags, i);
        if (diag->code == code && diag->span.source == span.source && diag->span.start == span.start)
            return true;
    }
    return false;
}

cw_diag *review_warn(reviewer *r, cw_code code, cw_span span, const char *format, ...)
{
    if (!review_is_asked_for(r, span) || said_before(r, code, span))
        return NULL;
    cw_text text = CW_TEXT_INIT(r->allocator);
    va_list arguments;
    va_start(arguments, format);
    cw_text_format_list(&text, format, arguments);
    va_end(arguments);
    r->no_memory |= text.status != CW_OK;
    cw_diag *diag =
        text.status == CW_OK ? cw_diags_add(r->diags, code, span, "%s", cw_text_get(&text)) : NULL;
    cw_text_dispose(&text);
    return diag;
}

bool review_is_written(const cw_model *model, const cw_rule *rule)
{
    if (rule->origin == 0 || (rule->head != 0 && model->atoms[rule->head].kind == CW_ATOM_STEP))
        return false;
    const char *name = model->origins[rule->origin].name;
    return name != NULL && strcmp(name, CW_UNIT_DATA) != 0;
}

/* Steps serve one condition each, so this ends after as many turns as conditions are nested. */
cw_rule_id review_user(const cw_model *model, cw_atom_id atom)
{
    while (atom != 0 && model->atoms[atom].used_by.count > 0) {
        cw_rule_id id = model->uses[model->atoms[atom].used_by.first];
        const cw_rule *rule = &model->rules[id];
        if (rule->head == 0 || model->atoms[rule->head].kind != CW_ATOM_STEP)
            return id;
        atom = rule->head;
    }
    return 0;
}

const char *review_quantity(reviewer *r, double base, const cw_unit_info *unit)
{
    cw_text text = CW_TEXT_INIT(r->allocator);
    cw_quantity_show(&text, base, 0, unit);
    const char *kept = text.status == CW_OK ? cw_arena_text(r->arena, cw_text_get(&text), text.size) : NULL;
    cw_text_dispose(&text);
    r->no_memory |= kept == NULL;
    return kept != NULL ? kept : "";
}

static void ask(reviewer *r, cw_atom_id atom)
{
    if (atom != 0)
        r->asked[atom] = true;
}

static void find_asked(reviewer *r)
{
    const cw_model *model = r->model;
    r->asked = review_take(r, (size_t)model->atoms_count + 1, sizeof *r->asked);
    if (r->asked == NULL)
        return;
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        ask(r, model->checks[i].only_if);
        ask(r, model->checks[i].first_while);
    }
    for (uint32_t i = 1; i <= model->facts_count; i++)
        ask(r, model->facts[i].only_if);
    for (uint32_t i = 1; i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        ask(r, cause->ruled_out);
        for (uint32_t k = 0; k < cause->shifts.count; k++)
            ask(r, model->shifts[cause->shifts.first + k].atom);
    }
    for (uint32_t i = 1; i <= model->assembly_steps_count; i++) {
        ask(r, model->assembly_steps[i].only_if);
        ask(r, model->assembly_steps[i].shows_when);
    }
}

static void begin_search(reviewer *r)
{
    r->steps = r->limits.steps;
    r->search = review_search_new(r);
}

static void end_search(reviewer *r)
{
    review_search_free(r->search);
    if (r->unfinished == 0 || r->no_memory)
        return;
    cw_diag *diag =
        review_warn(r, CW_DIAG_SEARCH_ENDED, (cw_span){0, 0, 0},
                    "the search for answers ended early: %u pair%s of rules or signs not looked through",
                    r->unfinished, r->unfinished == 1 ? "" : "s");
    advise(r, diag, "it goes %llu steps for a pair and %llu in all; what is said besides stands",
           (unsigned long long)r->limits.pair_steps, (unsigned long long)r->limits.steps);
}

cw_status cw_review(const cw_model *model, const cw_allocator *allocator, cw_review_limits limits,
                    cw_diags *diags)
{
    static void (*const parts[])(reviewer *) = {
        find_asked,   begin_search, review_shadows, review_limits, review_either_way, review_reads,
        review_signs, review_twice, review_care,    review_sense,  review_conflicts};
    reviewer r = {.model = model, .allocator = allocator, .limits = limits, .diags = diags};
    if (r.limits.pair_steps == 0)
        r.limits.pair_steps = PAIR_STEPS;
    if (r.limits.steps == 0)
        r.limits.steps = ALL_STEPS;
    r.arena = cw_arena_new(allocator);
    r.no_memory = r.arena == NULL;
    for (size_t i = 0; i < sizeof parts / sizeof *parts && !r.no_memory; i++)
        parts[i](&r);
    end_search(&r);
    cw_arena_free(r.arena);
    return r.no_memory || cw_diags_lost(diags) ? CW_NO_MEMORY : CW_OK;
}
