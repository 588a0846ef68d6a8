/* What an earlier rebuild has swapped: `swapped: 20 of 100`, or with others: a name that checks share. */
#include "pack/inside.h"

/* The group of this name; 0 when memory fails. A new one has no node yet. */
static swap_def *group_of(compiler *c, const cw_node *with, uint32_t *number)
{
    uint32_t name = cw_names_add(c->names, with->text, with->size);
    c->no_memory |= name == 0;
    while (name != 0 && c->swap_numbers.count <= name)
        if (append(c, &c->swap_numbers) == NULL)
            return NULL;
    uint32_t *place = name == 0 ? NULL : CW_VEC_AT(&c->swap_numbers, uint32_t, name);
    if (place == NULL || (*place == 0 && append(c, &c->swaps) == NULL))
        return NULL;
    if (*place == 0)
        *place = (uint32_t)c->swaps.count;
    *number = *place;
    return CW_VEC_AT(&c->swaps, swap_def, *place - 1);
}

static void read_together(compiler *c, const cw_node *node, const cw_node *with, cw_check *out)
{
    if (read_text(c, with, "with") == NULL)
        return;
    if (!name_is_valid(with->text, with->size)) {
        bad_name(c, with, "swap");
        return;
    }
    swap_def *group = group_of(c, with, &out->swap_group);
    if (group == NULL)
        return;
    if (group->how_often == NULL)
        *group = (swap_def){node, out->swapped};
    if (group->swapped == out->swapped)
        return;
    cw_diag *diag = complain(c, SWAP_MISMATCH, node->span,
                             "checks swapped with '%s' must say the same frequency", with->text);
    cw_diag_second(c->diags, diag, group->how_often->span, "the first one is here");
}

void read_swapped(compiler *c, const cw_node *node, cw_check *out)
{
    if (node->kind != CW_NODE_MAP) {
        read_frequency(c, node, &out->swapped);
        return;
    }
    const cw_node *fields[keys_of_swap];
    read_fields(c, &shape_swap, NULL, node->span, node, fields);
    const cw_node *how_often = fields[key_swap_how_often], *with = fields[key_swap_with];
    if (how_often != NULL && read_frequency(c, how_often, &out->swapped) && with != NULL)
        read_together(c, how_often, with, out);
}
