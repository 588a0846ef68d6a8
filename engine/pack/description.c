/* The description of a unit that no list has: headings, and which facts stand under each in which order. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

/* No fact is told twice; of one with things each is told by itself. The place in the list, or its count. */
static uint32_t place_of(const heading_def *heading, const fact_ref *ref)
{
    uint32_t at = 0;
    while (at < heading->count && (heading->facts[at].fact != ref->fact ||
                                   memcmp(heading->facts[at].things, ref->things, sizeof ref->things) != 0))
        at++;
    return at;
}

static bool told_before(compiler *c, const cw_node *node, const fact_ref *ref)
{
    for (size_t i = 0; i < c->headings.count; i++) {
        const heading_def *heading = CW_VEC_AT(&c->headings, heading_def, i);
        uint32_t at = place_of(heading, ref);
        if (at == heading->count)
            continue;
        cw_diag *diag = complain(c, NAME_TAKEN, node->span, "'%s' stands under '%s' already", node->text,
                                 heading->at->name);
        cw_diag_second(c->diags, diag, heading->names[at]->span, "first here");
        help(c, diag, "take it out under one of the two headings");
        return true;
    }
    return false;
}

static void read_heading_line(compiler *c, const cw_node *node, heading_def *heading, fact_ref *facts)
{
    static const scope_def nothing_bound;
    if (node->kind != CW_NODE_SCALAR || node->size == 0) {
        help(c, complain(c, WRONG_SHAPE, node->span, "the name of a check or fact belongs here"),
             "write it alone, as 'rotation'");
        return;
    }
    fact_ref *ref = &facts[heading->count];
    if (!read_reference(c, &nothing_bound, node, ref))
        return;
    if (told_before(c, node, ref))
        return;
    ref->fact->described = true;
    heading->names[heading->count++] = node;
}

static void read_listed(compiler *c, const cw_node *node, heading_def *heading)
{
    const cw_node *items;
    size_t count;
    if (!read_list(c, node, "facts", &items, &count))
        return;
    if (count == 0)
        help(c, complain(c, WRONG_SHAPE, node->span, "'facts' is empty"),
             "name the checks and facts that stand below this heading, or take it out");
    fact_ref *facts = take(c, count, sizeof *facts);
    heading->facts = facts;
    heading->names = take(c, count, sizeof *heading->names);
    for (size_t i = 0; i < count && facts != NULL && heading->names != NULL; i++)
        read_heading_line(c, &items[i], heading, facts);
}

void read_description(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_description].count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(&c->entries[SECTION_description], entry, i);
        const cw_node *fields[keys_of_heading];
        heading_def *heading = append(c, &c->headings);
        if (heading == NULL)
            return;
        *heading = (heading_def){.at = at};
        if (!read_fields(c, &shape_heading, at->name, at->key->span, at->body, fields))
            continue;
        heading->title = read_optional_text(c, fields[key_heading_title], "title");
        const cw_node *order = fields[key_heading_order];
        if (order != NULL && read_text(c, order, "order") != NULL)
            read_whole(c, order, 0, order->size, "'order'", &heading->order);
        if (fields[key_heading_facts] != NULL)
            read_listed(c, fields[key_heading_facts], heading);
    }
}

static int by_order(const void *a, const void *b)
{
    const heading_def *x = a, *y = b;
    return x->order != y->order ? (x->order < y->order ? -1 : 1) : strcmp(x->at->name, y->at->name);
}

void emit_description(compiler *c)
{
    size_t count = c->headings.count;
    if (count > 1)
        qsort(c->headings.items, count, sizeof(heading_def), by_order);
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        const heading_def *heading = CW_VEC_AT(&c->headings, heading_def, i);
        cw_fact_id *facts = take(c, heading->count, sizeof *facts);
        for (uint32_t k = 0; k < heading->count && facts != NULL; k++)
            facts[k] = heading->facts[k].fact->first + ground_of(c, &heading->facts[k], NULL);
        if (facts != NULL)
            cw_builder_heading(c->builder, heading->at->name, heading->title, facts, heading->count);
    }
}
