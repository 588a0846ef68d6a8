/* How often which value: frequencies over the values of one fact. */
#include "pack/inside.h"

#include <string.h>

/* Words of the scale are rounded; this much above 1 is still 1. */
static const double tolerance = 1e-9;

static bool too_much(compiler *c, const fact_def *fact, const cw_node *node, double sum)
{
    if (sum <= 1 + tolerance)
        return false;
    cw_text shown = CW_TEXT_INIT(c->allocator);
    cw_quantity_show(&shown, sum * 100, 0, NULL);
    cw_diag *diag =
        complain(c, FREQUENCY_SUM, node->span, "the frequencies of '%s' add up to %s %%, more than all",
                 fact->at->name, cw_text_get(&shown));
    help(c, diag,
         "only one of them is seen at a time: bring one down; one that is left out takes what is left");
    c->no_memory |= shown.status != CW_OK;
    cw_text_dispose(&shown);
    return true;
}

/* What is left goes to one value, or evenly to those not named; if all are named they are scaled up together.
 */
static void share_rest(const fact_def *fact, uint32_t rest_to, const bool *named, double sum, double *chances)
{
    uint32_t unnamed = 0;
    for (uint32_t i = 0; i < fact->value_count; i++)
        unnamed += !named[i];
    double rest = sum < 1 ? 1 - sum : 0;
    for (uint32_t i = 0; i < fact->value_count; i++) {
        if (rest_to != UINT32_MAX)
            chances[i] += i == rest_to ? rest : 0;
        else if (unnamed > 0)
            chances[i] += named[i] ? 0 : rest / unnamed;
        else
            chances[i] = sum > 0 ? chances[i] / sum : 1.0 / fact->value_count;
    }
    if (sum > 1)
        for (uint32_t i = 0; i < fact->value_count; i++)
            chances[i] /= sum;
}

static bool read_map_of_values(compiler *c, const fact_def *fact, const cw_node *node, bool *named,
                               double *sum, double *chances)
{
    bool good = true;
    for (size_t i = 0; i < node->size; i++) {
        const cw_node *key = cw_node_key(node, i);
        uint32_t value = read_value(c, fact, key, 0, key->size);
        double chance;
        if (!read_frequency(c, cw_node_item(node, i), &chance) || value == UINT32_MAX) {
            good = false;
            continue;
        }
        named[value] = true;
        chances[value] = chance;
        *sum += chance;
    }
    return good;
}

bool read_distribution(compiler *c, const fact_def *fact, const cw_node *node, uint32_t rest_to,
                       double *chances)
{
    bool named[MOST_COUNTS] = {false};
    double sum = 0;
    bool good = true;
    _Static_assert(MOST_COUNTS >= MOST_CHOICES, "room for every kind");
    if (node->kind == CW_NODE_MAP && node->size > 0) {
        good = read_map_of_values(c, fact, node, named, &sum, chances);
    } else if (node->kind == CW_NODE_SCALAR && fact->kind == CW_YES_OR_NO && rest_to == 0) {
        good = read_frequency(c, node, &chances[1]);
        named[1] = true;
        sum = chances[1];
    } else {
        cw_diag *diag =
            complain(c, WRONG_SHAPE, node->span, "'%s' wants a map of value to frequency", fact->at->name);
        help(c, diag, "as '{%s: 17 of 20}'", fact->values[fact->value_count - 1].name);
        return false;
    }
    if (!good || too_much(c, fact, node, sum))
        return false;
    share_rest(fact, rest_to, named, sum, chances);
    return true;
}
