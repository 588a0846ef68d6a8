/* Formulas of conclusions: checked once as written, built once for every choice of things. */
#include "bench/rule.h"
#include "pack/inside.h"

#include <string.h>

typedef struct look_up {
    compiler *c;
    const scope_def *scope;
    const cw_node *node;
    const uint32_t *bindings; /* NULL while checking */
    cw_vec *mentions;         /* NULL while building */
    size_t at;                /* where the name that could not be used stands */
    reference_problem problem;
    bool told;
} look_up;

static bool find_input(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    look_up *look = context;
    compiler *c = look->c;
    fact_ref ref;
    look->at = (size_t)(name - look->node->text);
    if (!resolve(c, look->scope, name, size, &ref, &look->problem)) {
        look->told = true;
        return false;
    }
    if (ref.fact->kind != CW_MEASURE && ref.fact->kind != CW_COUNT) {
        look->told = true;
        look->problem = (reference_problem){
            CW_DIAG_WRONG_TEST, 0, size,
            cw_arena_format(c->arena, "'%s' is no number to calculate with", ref.fact->at->name),
            "formulas name measured facts and counts"};
        return false;
    }
    *dimension = ref.fact->kind == CW_MEASURE ? ref.fact->dimension : (cw_dimension){0};
    *id = look->bindings == NULL ? 1 : ref.fact->first + ground_of(c, &ref, look->bindings);
    if (look->mentions != NULL) {
        fact_def **slot = append(c, look->mentions);
        if (slot != NULL)
            *slot = ref.fact;
    }
    return true;
}

/* Behind the '=' and its blank. */
static size_t begin(const cw_node *node)
{
    size_t at = 1;
    while (at < node->size && node->text[at] == ' ')
        at++;
    return at;
}

static void tell_formula(compiler *c, const cw_node *node, size_t at, const cw_formula_problem *problem,
                         const look_up *look)
{
    if (problem->error == CW_FORMULA_NO_MEMORY) {
        c->no_memory = true;
        return;
    }
    if (look->told) {
        tell_problem(c, node, look->at, &look->problem);
        return;
    }
    cw_code code = problem->error == CW_FORMULA_DIMENSION          ? CW_DIAG_DIMENSION
                   : problem->error == CW_FORMULA_UNKNOWN_FUNCTION ? CW_DIAG_UNKNOWN_NAME
                                                                   : CW_DIAG_BAD_FORMULA;
    cw_diag *diag = cw_diags_add(c->diags, code,
                                 spot(c, node, at + problem->at, problem->length > 0 ? problem->length : 1),
                                 "%s", problem->message);
    if (problem->help[0] != '\0')
        help(c, diag, "%s", problem->help);
    else if (problem->error == CW_FORMULA_DIMENSION)
        help(c, diag, "look for a factor that is missing: amps times ohms are volts");
    else
        help(
            c, diag,
            "a formula is made of names, figures with their unit, + - * / and brackets, as '= volts * amps'");
}

static cw_formula *parse(look_up *look, cw_arena *arena, cw_formula_problem *problem)
{
    size_t at = begin(look->node);
    return cw_formula_parse(arena, look->node->text + at, look->node->size - at, cw_bench_functions(),
                            find_input, look, problem);
}

bool check_formula(compiler *c, const scope_def *scope, const cw_node *node, const fact_def *result,
                   cw_vec *mentions)
{
    look_up look = {.c = c, .scope = scope, .node = node, .mentions = mentions};
    cw_formula_problem problem;
    cw_formula *formula = parse(&look, c->arena, &problem);
    if (formula == NULL) {
        tell_formula(c, node, begin(node), &problem, &look);
        return false;
    }
    cw_dimension have = cw_formula_dimension(formula);
    if (cw_dimension_equal(have, result->dimension))
        return true;
    char have_name[64], want_name[64];
    help(c,
         complain(c, DIMENSION, node->span, "this works out %s, but '%s' measures %s",
                  cw_dimension_name(have, have_name, sizeof have_name), result->at->name,
                  cw_dimension_name(result->dimension, want_name, sizeof want_name)),
         "look for a factor that is missing or one too many, or let the fact measure what comes out");
    return false;
}

const cw_formula *make_formula(compiler *c, const scope_def *scope, const cw_node *node,
                               const uint32_t *bindings)
{
    look_up look = {.c = c, .scope = scope, .node = node, .bindings = bindings};
    cw_formula_problem problem;
    cw_formula *formula = parse(&look, cw_builder_arena(c->builder), &problem);
    if (formula == NULL)
        c->no_memory = true; /* all else was found when it was checked */
    return formula;
}
