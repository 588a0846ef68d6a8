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

static void read_together(compiler *c, const cw_node *node, const cw_node *with, check_def *check)
{
    cw_check *out = &check->check;
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
        *group = (swap_def){node, with, check->fact, out->swapped, 0};
    group->members += check->fact->each.ground;
    if (group->swapped == out->swapped)
        return;
    cw_diag *diag = complain(c, SWAP_MISMATCH, node->span,
                             "checks swapped with '%s' must say the same frequency", with->text);
    cw_diag_second(c->diags, diag, group->how_often->span, "the first one is here");
    help(c, diag,
         "they go along in one piece, so one is swapped as often as the other: take one figure for both");
}

void read_swapped(compiler *c, const cw_node *node, check_def *check)
{
    cw_check *out = &check->check;
    if (node->kind != CW_NODE_MAP) {
        read_frequency(c, node, &out->swapped);
        return;
    }
    const cw_node *fields[keys_of_swap];
    read_fields(c, &shape_swap, NULL, node->span, node, fields);
    const cw_node *how_often = fields[key_swap_how_often], *with = fields[key_swap_with];
    if (how_often != NULL && read_frequency(c, how_often, &out->swapped) && with != NULL)
        read_together(c, how_often, with, check);
}

/* A name that stands by itself is most likely misspelt. Not told of packs only needed by another: what is
 * swapped with theirs may stand in one that is not loaded. */
void warn_swaps(compiler *c)
{
    for (size_t i = 0; i < c->swaps.count; i++) {
        const swap_def *alone = CW_VEC_AT(&c->swaps, swap_def, i);
        if (alone->members > 1 || !CW_VEC_AT(&c->packs, pack_def, alone->first->at->pack)->named)
            continue;
        cw_nearest nearest = cw_nearest_start(alone->with->text);
        for (size_t k = 0; k < c->swaps.count; k++)
            if (k != i)
                cw_nearest_try(&nearest, CW_VEC_AT(&c->swaps, swap_def, k)->with->text);
        cw_diag *diag = complain(c, SWAPPED_ALONE, alone->with->span, "no other check is swapped with '%s'",
                                 alone->with->text);
        if (nearest.best != NULL)
            help(c, diag, "did you mean '%s'?", nearest.best);
        else
            help(c, diag, "checks that are swapped together all name it; one by itself just says how often");
    }
}
