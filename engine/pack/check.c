/* Checks, apart from the kind of their answers (choices.c): where, how long, when, with what. */
#include "pack/inside.h"

#include <string.h>

static bool read_word_set(compiler *c, const cw_node *node, const char *what, bool places, uint32_t *mask)
{
    const cw_node *items;
    size_t count;
    if (!read_list(c, node, what, &items, &count))
        return false;
    if (count == 0)
        help(c, complain(c, WRONG_SHAPE, node->span, "'%s' is empty", what),
             "name at least one, as 'place: counter'");
    for (size_t i = 0; i < count; i++) {
        cw_where where;
        cw_stage stage;
        if (read_text(c, &items[i], what) == NULL)
            continue;
        if (places ? cw_where_find(items[i].text, &where) : cw_stage_find(items[i].text, &stage)) {
            *mask |= 1U << (places ? (uint32_t)where : (uint32_t)stage);
            continue;
        }
        cw_diag *diag = complain(c, BAD_WORD, items[i].span, "'%s' is not a %s", items[i].text,
                                 places ? "place" : "stage");
        cw_nearest nearest = cw_nearest_start(items[i].text);
        for (int k = 0; k < (places ? (int)CW_WHERE_COUNT : (int)CW_STAGE_COUNT); k++)
            cw_nearest_try(&nearest, places ? cw_where_name((cw_where)k) : cw_stage_name((cw_stage)k));
        const char *several = meant_list(c, items[i].text);
        if (several != NULL)
            help(c, diag, "write several in brackets, with commas: %s", several);
        else if (nearest.best != NULL)
            help_nearest(c, diag, &nearest);
        else
            help(c, diag,
                 places ? "places are: counter, vehicle, bench, teardown"
                        : "stages are: identify, triage, teardown, proof");
    }
    return true;
}

/* One figure, or a map of tool to figure, in their order. */
static void read_tools(compiler *c, check_def *check)
{
    const cw_node *node = check->fields[key_check_reading_error];
    const fact_def *fact = check->fact;
    if (node == NULL || fact->kind != CW_MEASURE || !fact->whole)
        return;
    bool map = node->kind == CW_NODE_MAP;
    size_t count = map ? node->size : 1;
    if (map && count == 0)
        help(c, complain(c, WRONG_SHAPE, node->span, "'reading_error' names no tool"),
             "write one error for all, or one for each tool: {tape: 1.5 mm, caliper: 0.2 mm}");
    cw_tool *tools = take(c, count, sizeof *tools);
    for (size_t i = 0; i < count && tools != NULL; i++) {
        const cw_node *figure = map ? cw_node_item(node, i) : node;
        cw_tool *tool = &tools[check->tool_count];
        tool->name = map ? cw_node_key(node, i)->text : "";
        if (map && !value_is_valid(cw_node_key(node, i)->text, cw_node_key(node, i)->size)) {
            cw_diag *diag = complain(c, BAD_NAME, cw_node_key(node, i)->span, "'%s' cannot name a tool",
                                     cw_node_key(node, i)->text);
            help(c, diag, "a name is made of small letters, digits and '_'");
        }
        if (read_spread(c, figure, fact->dimension, fact->at->name, &tool->error))
            check->tool_count++;
    }
    check->tools = tools;
}

static void read_check_body(compiler *c, check_def *check)
{
    const cw_node *const *fields = check->fields;
    fact_def *fact = check->fact;
    cw_check *out = &check->check;
    out->ask = read_optional_text(c, fields[key_check_ask], "ask");
    out->how = read_optional_text(c, fields[key_check_how], "how");
    out->picture = read_optional_text(c, fields[key_check_picture], "picture");
    out->source = read_optional_text(c, fields[key_check_source], "source");
    if (fields[key_check_place] != NULL)
        read_word_set(c, fields[key_check_place], "place", true, &out->places);
    if (fields[key_check_stages] != NULL)
        check->stages_given = read_word_set(c, fields[key_check_stages], "stages", false, &out->stages);
    if (fields[key_check_minutes] != NULL)
        read_number(c, fields[key_check_minutes], "minutes", &out->minutes);
    if (fields[key_check_swapped] != NULL)
        read_swapped(c, fields[key_check_swapped], check);
    if (fields[key_check_lasting] != NULL)
        check->lasting_given = read_yes(c, fields[key_check_lasting], "lasting", &out->lasting);
    out->blunders = leading_pack(c)->blunders;
    if (fields[key_check_blunders] != NULL)
        read_frequency(c, fields[key_check_blunders], &out->blunders);
    read_tools(c, check);
    read_names(c, fields[key_check_cautions], SECTION_cautions, "cautions", &check->cautions,
               &check->caution_count);
    check->scope = scope_of(&fact->each);
    if (fields[key_check_only_if] != NULL)
        check->only_if = read_condition(c, &check->scope, fields[key_check_only_if], &check->mentions);
    if (fields[key_check_first_while] != NULL)
        check->first_while =
            read_condition(c, &check->scope, fields[key_check_first_while], &check->mentions);
}

void read_checks(compiler *c)
{
    for (size_t i = 0; i < c->facts.count && !c->no_memory; i++) {
        fact_def *fact = fact_at(c, i);
        if (fact->check != NULL && fact->kind != CW_WHICH_UNIT && fact->at->body->kind == CW_NODE_MAP)
            read_check_body(c, fact->check);
    }
}

static void emit_check(compiler *c, check_def *check)
{
    const fact_def *fact = check->fact;
    cw_caution_id *cautions = take(c, check->caution_count, sizeof *cautions);
    for (uint32_t i = 0; i < check->caution_count && cautions != NULL; i++)
        cautions[i] = check->cautions[i] + 1;
    uint32_t bindings[MOST_BOUND];
    for (uint32_t i = 0; i < fact->each.ground && !c->no_memory; i++) {
        cw_check made = check->check;
        choose_things(c, &fact->each, i, bindings);
        made.name = ground_name(c, fact->at->name, &fact->each, i);
        made.fact = fact->first + i;
        made.title = ground_text(c, fact->title, &fact->each, i);
        made.ask = ground_text(c, made.ask, &fact->each, i);
        made.how = ground_text(c, made.how, &fact->each, i);
        made.range = fact->range;
        made.span = fact->at->key->span;
        if (check->only_if != NULL)
            made.only_if = ground_atom(c, check->only_if, bindings, 0);
        if (check->first_while != NULL)
            made.first_while = ground_atom(c, check->first_while, bindings, 0);
        if (!c->no_memory && !c->too_many_rules &&
            cw_builder_check(c->builder, &made, check->tools, check->tool_count, cautions,
                             check->caution_count) == 0)
            c->no_memory = true;
    }
}

void emit_checks(compiler *c)
{
    for (size_t i = 0; i < c->facts.count; i++)
        if (fact_at(c, i)->check != NULL && !c->no_memory && !c->too_many_rules)
            emit_check(c, fact_at(c, i)->check);
}
