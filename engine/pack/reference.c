/* Names of facts as conditions, conclusions, formulas and signs write them: diode_drop, diode_drop[d1]. */
#include "pack/inside.h"

#include <string.h>

static bool problem_is(compiler *c, reference_problem *problem, cw_code code, size_t at, size_t length,
                       const char *message, const char *help_text)
{
    if (message == NULL)
        c->no_memory = true;
    *problem = (reference_problem){code, at, length, message, help_text};
    return false;
}

static bool unknown_fact(compiler *c, const char *text, size_t size, reference_problem *problem)
{
    const char *name = cw_arena_text(c->arena, text, size);
    if (name == NULL)
        return problem_is(c, problem, CW_DIAG_UNKNOWN_NAME, 0, size, NULL, NULL);
    cw_nearest nearest = cw_nearest_start(name);
    for (size_t i = 0; i < c->facts.count; i++)
        cw_nearest_try(&nearest, fact_at(c, i)->at->name);
    const char *remedy = nearest.best != NULL ? cw_arena_format(c->arena, "did you mean '%s'?", nearest.best)
                         : strpbrk(name, " =") != NULL
                             ? "a ':' and a blank belong between the name and what is said of it"
                             : "declare it under 'checks:' or 'facts:', or take a name that is there";
    return problem_is(c, problem, CW_DIAG_UNKNOWN_NAME, 0, size,
                      cw_arena_format(c->arena, "no check or fact is named '%s'", name), remedy);
}

/* [d1] or [u,b1]: one thing for each kind, in their order. */
static bool read_things_named(compiler *c, const char *text, size_t size, size_t open, fact_ref *ref,
                              reference_problem *problem)
{
    const each_spec *each = &ref->fact->each;
    const char *name = ref->fact->at->name;
    if (text[size - 1] != ']')
        return problem_is(c, problem, CW_DIAG_EACH_MISMATCH, open, size - open, "the bracket is not closed",
                          "put ']' at its end");
    if (each->count == 0)
        return problem_is(c, problem, CW_DIAG_EACH_MISMATCH, open, size - open,
                          cw_arena_format(c->arena,
                                          "there is only one '%s', so nothing stands in brackets behind it",
                                          name),
                          cw_arena_format(c->arena, "write '%s' alone", name));
    size_t at = open + 1;
    for (uint32_t i = 0; i < each->count; i++) {
        size_t end = at;
        while (end < size && text[end] != ',' && text[end] != ']')
            end++;
        const thing_kind *kind = kind_at(c, each->kinds[i]);
        uint32_t thing = cw_names_find(kind->names, text + at, end - at);
        if (thing == 0)
            return problem_is(
                c, problem, CW_DIAG_UNKNOWN_NAME, at, end - at,
                cw_arena_format(c->arena, "'%.*s' is not a %s", (int)(end - at), text + at, kind->at->name),
                cw_arena_format(c->arena, "the first %s is '%s'", kind->at->name,
                                thing_name(c, each->kinds[i], 0)));
        ref->things[i] = thing - 1;
        bool last = i + 1 == each->count;
        if (end >= size || text[end] != (last ? ']' : ',') || (last && end + 1 != size))
            return problem_is(c, problem, CW_DIAG_EACH_MISMATCH, open, size - open,
                              cw_arena_format(c->arena, "'%s' needs %u name%s in the brackets", name,
                                              each->count, each->count == 1 ? "" : "s"),
                              cw_arena_format(c->arena, "write it as '%s'", ground_name(c, name, each, 0)));
        at = end + 1;
    }
    return true;
}

/* Without brackets: the things that are bound here, the innermost first. */
static bool bind(compiler *c, const scope_def *scope, size_t size, fact_ref *ref, reference_problem *problem)
{
    const each_spec *each = &ref->fact->each;
    for (uint32_t i = 0; i < each->count; i++) {
        uint32_t binding = scope->count;
        while (binding > 0 && scope->kinds[binding - 1] != each->kinds[i])
            binding--;
        if (binding == 0) {
            const char *name = ref->fact->at->name, *kind = kind_at(c, each->kinds[i])->at->name;
            return problem_is(
                c, problem, CW_DIAG_EACH_MISMATCH, 0, size,
                cw_arena_format(c->arena, "there is a '%s' for each %s, and it is not said which is meant",
                                name, kind),
                cw_arena_format(c->arena, "write '%s', or ask for 'some %s', 'every %s'",
                                ground_name(c, name, each, 0), kind, kind));
        }
        ref->things[i] = BOUND | (binding - 1);
    }
    return true;
}

bool resolve(compiler *c, const scope_def *scope, const char *text, size_t size, fact_ref *ref,
             reference_problem *problem)
{
    const char *bracket = memchr(text, '[', size);
    size_t open = bracket == NULL ? size : (size_t)(bracket - text);
    uint32_t index = find_entry(c, SECTION_checks, text, open);
    *problem = (reference_problem){0};
    if (index == UINT32_MAX)
        return unknown_fact(c, text, open, problem);
    *ref = (fact_ref){.fact = fact_at(c, index)};
    ref->fact->used = true;
    if (!ref->fact->whole)
        return false; /* it has been complained of already */
    return open < size ? read_things_named(c, text, size, open, ref, problem)
                       : bind(c, scope, size, ref, problem);
}

void tell_problem(compiler *c, const cw_node *node, size_t at, const reference_problem *problem)
{
    if (problem->message == NULL)
        return;
    if (problem->code == CW_DIAG_UNKNOWN_NAME && c->holes) {
        c->held_back = true;
        return;
    }
    cw_diag *diag = cw_diags_add(c->diags, problem->code, spot(c, node, at + problem->at, problem->length),
                                 "%s", problem->message);
    if (problem->help != NULL)
        help(c, diag, "%s", problem->help);
}

bool read_reference(compiler *c, const scope_def *scope, const cw_node *node, fact_ref *ref)
{
    reference_problem problem;
    if (resolve(c, scope, node->text, node->size, ref, &problem))
        return true;
    tell_problem(c, node, 0, &problem);
    return false;
}

uint32_t ground_of(const compiler *c, const fact_ref *ref, const uint32_t *bindings)
{
    const each_spec *each = &ref->fact->each;
    uint32_t ground = 0;
    for (uint32_t i = 0; i < each->count; i++) {
        uint32_t thing = ref->things[i];
        if ((thing & BOUND) != 0)
            thing = bindings[thing & ~BOUND];
        ground = ground * kind_at(c, each->kinds[i])->count + thing;
    }
    return ground;
}
