/* What kind of answer a check takes, or what values a fact has. */
#include "pack/inside.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *own_text(compiler *c, const cw_node *node, const char *what)
{
    return node->kind == CW_NODE_SCALAR && node->size == 0 ? NULL : read_text(c, node, what);
}

static void read_also(compiler *c, const cw_node *node, cw_value_spec *value)
{
    const cw_node *items;
    size_t count;
    if (node == NULL || !read_list(c, node, "also", &items, &count))
        return;
    const char **words = take(c, count, sizeof *words);
    if (words == NULL)
        return;
    for (size_t i = 0; i < count; i++) {
        words[value->also_count] = read_text(c, &items[i], "also");
        value->also_count += words[value->also_count] != NULL;
    }
    value->also = words;
}

/* `glow: glows dimly`, or `glow: {title: glows dimly, also: [faint, dim]}` */
static void read_choice(compiler *c, const cw_node *key, const cw_node *body, cw_value_spec *value)
{
    value->name = key->text;
    if (body == NULL)
        return;
    if (body->kind != CW_NODE_MAP) {
        value->title = own_text(c, body, key->text);
        return;
    }
    const cw_node *fields[keys_of_choice];
    if (!read_fields(c, &shape_choice, key->text, key->span, body, fields))
        return;
    value->title = read_optional_text(c, fields[key_choice_title], "title");
    read_also(c, fields[key_choice_also], value);
}

static bool check_choice(compiler *c, const cw_node *key, const cw_value_spec *values, uint32_t count)
{
    if (key->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, key->span, "a choice is a single word; titles go into a map"),
             "write '{glow: glows dimly}'");
        return false;
    }
    if (!value_is_valid(key->text, key->size) || strcmp(key->text, "known") == 0) {
        cw_diag *diag = complain(c, BAD_NAME, key->span, "'%s' cannot name a choice", key->text);
        help(c, diag,
             strcmp(key->text, "known") == 0
                 ? "'known' asks whether there is an answer at all"
                 : "use small letters, digits and '_'; what people read is its title");
        return false;
    }
    for (uint32_t i = 0; i < count; i++) {
        if (strcmp(values[i].name, key->text) != 0)
            continue;
        help(c, complain(c, NAME_TAKEN, key->span, "the choice '%s' stands twice", key->text),
             "take one of the two out");
        return false;
    }
    return true;
}

static bool read_choices(compiler *c, fact_def *fact, const cw_node *node)
{
    if (node->kind == CW_NODE_SCALAR || node->size < 2) {
        help(c,
             complain(c, WRONG_SHAPE,
                      node->size > 0 || node->kind != CW_NODE_SCALAR ? node->span : fact->at->key->span,
                      "'choices' is a list or a map of at least two choices"),
             "write them in brackets with commas, normal first: [off, glow, on]; one alone decides nothing");
        return false;
    }
    if (node->size > MOST_CHOICES) {
        help(c,
             complain(c, TOO_MANY, fact->at->key->span, "'%s' has %d choices; at most %d are allowed",
                      fact->at->name, node->size, MOST_CHOICES),
             "keep those that lead to different conclusions, or ask for the letters with 'text: yes'");
        return false;
    }
    cw_value_spec *values = take(c, node->size, sizeof *values);
    bool good = values != NULL;
    uint32_t count = 0;
    for (size_t i = 0; i < node->size && values != NULL; i++) {
        const cw_node *key = node->kind == CW_NODE_MAP ? cw_node_key(node, i) : cw_node_item(node, i);
        if (check_choice(c, key, values, count))
            read_choice(c, key, node->kind == CW_NODE_MAP ? cw_node_item(node, i) : NULL, &values[count++]);
        else
            good = false;
    }
    fact->kind = CW_CHOICE;
    fact->values = values;
    fact->value_count = count;
    return good;
}

static bool read_count(compiler *c, fact_def *fact, const cw_node *node)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "'count' is a range, as '0 to 12'"),
             "write the least and the most that there can be");
        return false;
    }
    const char *to = strstr(node->text, " to ");
    if (to == NULL) {
        cw_diag *diag =
            complain(c, BAD_NUMBER, node->span, "'%s' is not a range of whole numbers", node->text);
        help(c, diag, "write it as '0 to 12'");
        return false;
    }
    size_t first = (size_t)(to - node->text);
    int32_t low, high;
    bool good = read_whole(c, node, 0, first, "the lowest count", &low);
    if (!read_whole(c, node, first + 4, node->size - first - 4, "the highest count", &high) || !good)
        return false;
    if (low >= high) {
        help(c, complain(c, OUT_OF_RANGE, node->span, "the range stands upside down"),
             "write the lower end first");
        return false;
    }
    if (high - low >= MOST_COUNTS) {
        help(c,
             complain(c, TOO_MANY, node->span, "%d different counts; at most %d are allowed", high - low + 1,
                      MOST_COUNTS),
             "count what can be there: '0 to 12'; for more use 'measure: number'");
        return false;
    }
    uint32_t count = (uint32_t)(high - low) + 1;
    cw_value_spec *values = take(c, count, sizeof *values);
    for (uint32_t i = 0; i < count && values != NULL; i++) {
        values[i].number = low + (int32_t)i;
        values[i].name = cw_arena_format(c->arena, "%d", values[i].number);
        if (values[i].name == NULL)
            c->no_memory = true;
    }
    fact->kind = CW_COUNT;
    fact->values = values;
    fact->value_count = count;
    fact->range = (cw_interval){low, high, false, false};
    return values != NULL && !c->no_memory;
}

static bool read_dimension(compiler *c, const cw_node *node, cw_dimension *out)
{
    if (read_text(c, node, "measure") == NULL)
        return false;
    if (cw_dimension_find(node->text, out))
        return true;
    cw_diag *diag =
        complain(c, BAD_WORD, node->span, "'%s' is not a dimension that can be measured", node->text);
    cw_nearest nearest = cw_nearest_start(node->text);
    for (size_t i = 0; cw_dimension_at(i) != NULL; i++)
        cw_nearest_try(&nearest, cw_dimension_at(i));
    help_nearest(c, diag, &nearest);
    return false;
}

/* The unit that a bare number is taken for. */
const cw_unit_info *read_symbol(compiler *c, const fact_def *fact, const cw_node *node)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "'unit' is the symbol of a unit"),
             "write one, as mm, V or A");
        return NULL;
    }
    const cw_unit_info *unit = cw_unit_find_as(node->text, node->size, fact->dimension);
    if (unit == NULL) {
        cw_diag *diag = complain(c, BAD_QUANTITY, node->span, "'%s' is not a unit", node->text);
        cw_nearest nearest = cw_nearest_start(node->text);
        for (size_t i = 0; cw_unit_at(i) != NULL; i++)
            if (cw_dimension_equal(cw_unit_at(i)->dimension, fact->dimension))
                cw_nearest_try(&nearest, cw_unit_at(i)->symbol);
        if (nearest.best != NULL)
            help_nearest(c, diag, &nearest);
        else
            help_units(c, diag, fact->dimension);
        return NULL;
    }
    if (cw_dimension_equal(unit->dimension, fact->dimension))
        return unit;
    char have[64], want[64];
    cw_diag *diag = complain(c, DIMENSION, node->span, "'%s' is a unit of %s, but '%s' measures %s",
                             node->text, cw_dimension_name(unit->dimension, have, sizeof have),
                             fact->at->name, cw_dimension_name(fact->dimension, want, sizeof want));
    help_units(c, diag, fact->dimension);
    return NULL;
}

static bool need_key(compiler *c, const fact_def *fact, const cw_node *node, const char *key)
{
    if (node != NULL)
        return true;
    help(c,
         complain(c, MISSING_KEY, fact->at->key->span, "'%s' measures something and lacks the key '%s'",
                  fact->at->name, key),
         "a measure needs 'unit', 'range' and 'reading_error': how it is told, what is possible, how far off "
         "one reading is");
    return false;
}

static bool read_measure(compiler *c, fact_def *fact, const kind_nodes *nodes)
{
    fact->kind = CW_MEASURE;
    if (!read_dimension(c, nodes->measure, &fact->dimension))
        return false;
    bool plain = cw_dimension_equal(fact->dimension, (cw_dimension){0});
    bool good = plain && nodes->unit == NULL ? true : need_key(c, fact, nodes->unit, "unit");
    if (good && nodes->unit != NULL) {
        fact->unit = read_symbol(c, fact, nodes->unit);
        good = fact->unit != NULL;
    }
    if (!fact->at->is_check)
        return good;
    bool errors = need_key(c, fact, nodes->reading_error, "reading_error");
    if (!need_key(c, fact, nodes->range, "range"))
        return false;
    return read_range(c, nodes->range, fact->dimension, fact->at->name, &fact->range) && good && errors;
}

static bool read_yes_or_no(compiler *c, fact_def *fact)
{
    cw_value_spec *values = take(c, 2, sizeof *values);
    if (values == NULL)
        return false;
    values[0].name = "no";
    values[1].name = "yes";
    fact->kind = CW_YES_OR_NO;
    fact->values = values;
    fact->value_count = 2;
    return true;
}

/* At most one key says what kind it is. */
static bool only_one(compiler *c, const kind_nodes *nodes)
{
    const cw_node *kinds[] = {nodes->choices, nodes->count, nodes->measure, nodes->text};
    const char *names[] = {"choices", "count", "measure", "text"};
    const cw_node *found = NULL;
    const char *name = NULL;
    for (int i = 0; i < 4; i++) {
        if (kinds[i] == NULL)
            continue;
        if (found != NULL) {
            help(c,
                 complain(c, WRONG_SHAPE, kinds[i]->span,
                          "'%s' beside '%s': only one of them says what answer there is", names[i], name),
                 "take one of the two out");
            return false;
        }
        found = kinds[i];
        name = names[i];
    }
    return true;
}

static void refuse(compiler *c, const cw_node *node, const char *key, const char *why)
{
    if (node != NULL)
        help(c, complain(c, WRONG_TEST, node->span, "'%s' means nothing here: %s", key, why),
             "take '%s' out, or say with 'measure' what is measured", key);
}

static void put_first(fact_def *fact, uint32_t normal)
{
    cw_value_spec *values = (cw_value_spec *)fact->values;
    cw_value_spec first = values[normal];
    memmove(&values[1], &values[0], normal * sizeof *values);
    values[0] = first;
}

static bool read_normal(compiler *c, fact_def *fact, const kind_nodes *nodes)
{
    if (nodes->normal != NULL) {
        if (nodes->normal->kind != CW_NODE_SCALAR) {
            help(c, complain(c, WRONG_SHAPE, nodes->normal->span, "'normal' is one value"),
                 "name the one that is there when nothing is wrong");
            return false;
        }
        uint32_t normal = read_value(c, fact, nodes->normal, 0, nodes->normal->size);
        if (normal == UINT32_MAX)
            return false;
        put_first(fact, normal);
    }
    if (nodes->background == NULL)
        return true;
    double *background = take(c, fact->value_count, sizeof *background);
    fact->background = background;
    return background != NULL && read_distribution(c, fact, nodes->background, 0, background);
}

bool read_kind(compiler *c, fact_def *fact, const kind_nodes *nodes)
{
    if (!only_one(c, nodes))
        return false;
    bool text = false;
    if (nodes->text != NULL && !read_yes(c, nodes->text, "text", &text))
        return false;
    bool good;
    if (nodes->measure != NULL)
        good = read_measure(c, fact, nodes);
    else if (nodes->choices != NULL)
        good = read_choices(c, fact, nodes->choices);
    else if (nodes->count != NULL)
        good = read_count(c, fact, nodes->count);
    else if (text)
        fact->kind = CW_STAMPED, good = true;
    else
        good = read_yes_or_no(c, fact);
    if (nodes->measure == NULL) {
        refuse(c, nodes->unit, "unit", "nothing is measured");
        refuse(c, nodes->range, "range", "nothing is measured");
        refuse(c, nodes->reading_error, "reading_error", "nothing is measured");
    }
    if (!is_finite(fact)) {
        refuse(c, nodes->normal, "normal", "there are no values to choose from");
        refuse(c, nodes->background, "background", "there are no values to choose from");
        return good;
    }
    return good && read_normal(c, fact, nodes);
}
