/* Parts with their prices, and cautions. */
#include "pack/inside.h"

#include <string.h>

static const char *const where_words[] = {"unit", "vehicle", "installation"};

static void read_where(compiler *c, const cw_node *node, cw_part *part)
{
    if (read_text(c, node, "where") == NULL)
        return;
    cw_nearest nearest = cw_nearest_start(node->text);
    for (int i = 0; i < 3; i++) {
        if (node_is(node, where_words[i])) {
            part->where = i == 0 ? CW_PART_UNIT : i == 1 ? CW_PART_VEHICLE : CW_PART_INSTALLATION;
            return;
        }
        cw_nearest_try(&nearest, where_words[i]);
    }
    cw_diag *diag = complain(c, BAD_WORD, node->span, "a part is not in '%s'", node->text);
    if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else
        help(c, diag, "'where' is unit, vehicle or installation");
}

static void read_apart(compiler *c, const cw_node *node, cw_part *part)
{
    int32_t number;
    if (node->kind != CW_NODE_SCALAR)
        help(c,
             complain(c, WRONG_SHAPE, node->span,
                      "'apart' is a whole number: the place in which the part comes off"),
             "write one number, as 'apart: 3'");
    else if (!read_whole(c, node, 0, node->size, "the place in which a part comes off", &number))
        return;
    else if (number < 1)
        help(c,
             complain(c, OUT_OF_RANGE, node->span, "the places in which parts come off are numbered from 1"),
             "write 'apart: 1' for what comes off first");
    else
        part->apart = (uint32_t)number;
}

static void tell_part_circle(compiler *c, const uint32_t *around, uint32_t count)
{
    const char **names = take(c, count, sizeof *names);
    cw_span *spans = take(c, count, sizeof *spans);
    for (uint32_t i = 0; i < count && names != NULL && spans != NULL; i++) {
        names[i] = c->parts[around[i]].name;
        spans[i] = c->parts[around[i]].span;
    }
    if (!c->no_memory)
        tell_names_around(c, CW_DIAG_REPLACE_CYCLE, "parts replace each other in a circle", names, spans,
                          count);
}

void read_parts(compiler *c)
{
    size_t count = c->entries[SECTION_parts].count;
    c->parts = take(c, count, sizeof *c->parts);
    uint32_t *next = take(c, count, sizeof *next);
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(&c->entries[SECTION_parts], entry, i);
        const cw_node *fields[keys_of_part];
        if (!read_fields(c, &shape_part, at->name, at->key->span, at->body, fields))
            continue;
        cw_part *part = &c->parts[i];
        part->name = at->name;
        part->title = read_optional_text(c, fields[key_part_title], "title");
        part->span = at->key->span;
        if (fields[key_part_where] != NULL)
            read_where(c, fields[key_part_where], part);
        if (fields[key_part_always] != NULL)
            read_yes(c, fields[key_part_always], "always", &part->always);
        if (fields[key_part_cost] != NULL)
            read_number(c, fields[key_part_cost], "cost", &part->cost);
        if (fields[key_part_apart] != NULL)
            read_apart(c, fields[key_part_apart], part);
        uint32_t by;
        if (fields[key_part_replaced_by] != NULL &&
            read_name(c, fields[key_part_replaced_by], SECTION_parts, &by)) {
            next[i] = by + 1;
            part->replaced_by = by + 1;
        }
    }
    if (!c->no_memory)
        find_replacement_circles(c, next, (uint32_t)count, tell_part_circle);
}

/* A price goes before the cost that the part itself says: the shop's own counts. */
void read_prices(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_prices].count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(&c->entries[SECTION_prices], entry, i);
        uint32_t part = find_entry(c, SECTION_parts, at->name, at->key->size);
        double price;
        if (part == UINT32_MAX)
            unknown_name(c, at->key->span, SECTION_parts, at->name);
        if (read_number(c, at->body, "price", &price) && part != UINT32_MAX)
            c->parts[part].cost = price;
    }
}

void emit_parts(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_parts].count && !c->no_memory; i++)
        if (cw_builder_part(c->builder, &c->parts[i]) == 0)
            c->no_memory = true;
}

static void read_halt(compiler *c, const cw_node *node, cw_halt *out)
{
    bool all = false;
    if (node_is(node, "work"))
        *out = CW_HALT_WORK;
    else if (node->kind == CW_NODE_SCALAR && !node_is(node, "yes") && !node_is(node, "no"))
        help(c, complain(c, BAD_WORD, node->span, "'stop' is yes, no or work, not '%s'", node->text),
             "'work' where the work must end, 'yes' where nothing more may be said either");
    else if (read_yes(c, node, "stop", &all) && all)
        *out = CW_HALT_ALL;
}

void read_cautions(compiler *c)
{
    size_t count = c->entries[SECTION_cautions].count;
    c->cautions = take(c, count, sizeof *c->cautions);
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(&c->entries[SECTION_cautions], entry, i);
        const cw_node *fields[keys_of_caution];
        cw_caution *caution = &c->cautions[i];
        caution->name = at->name;
        if (!read_fields(c, &shape_caution, at->name, at->key->span, at->body, fields))
            continue;
        caution->say = read_optional_text(c, fields[key_caution_say], "say");
        caution->source = read_optional_text(c, fields[key_caution_source], "source");
        if (fields[key_caution_stop] != NULL)
            read_halt(c, fields[key_caution_stop], &caution->stop);
    }
}

void emit_cautions(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_cautions].count && !c->no_memory; i++)
        if (cw_builder_caution(c->builder, &c->cautions[i]) == 0)
            c->no_memory = true;
}
