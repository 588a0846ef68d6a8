/* Signs: how often a unit or a cause shows what. Kept in order of their facts, so that inheriting is merging.
 */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

static uint64_t order_of(const sign_def *sign)
{
    return (uint64_t)sign->fact->number + sign->ground;
}

static bool refuse_sign(compiler *c, const cw_node *key, const char *why)
{
    cw_diag *diag = complain(c, WRONG_TEST, key->span, "'%s' cannot be a sign here", key->text);
    help(c, diag, "%s", why);
    return false;
}

static bool may_be_sign(compiler *c, const cw_node *key, const fact_def *fact, sign_owner owner)
{
    if (fact->verdict_on != 0) {
        cw_diag *diag = complain(c, VERDICT_AS_SIGN, key->span, "'%s' cannot be a sign", key->text);
        help(c, diag, "it is a verdict on a part; the readings behind it can be signs");
        return false;
    }
    if (fact->proof != 0) {
        cw_diag *diag = complain(c, PROOF_AS_OTHER, key->span, "'%s' cannot be a sign", key->text);
        help(c, diag, "it is a line of the proof sheet; the readings behind it can be signs");
        return false;
    }
    if (fact->kind == CW_WHICH_UNIT)
        return refuse_sign(c, key, "signs are for finding which unit it is; conditions can go by it");
    if (fact->context)
        return refuse_sign(c, key, "its check says 'context: yes', so it never counts as a sign");
    if (owner == SIGN_OF_UNIT && fact->kind == CW_MEASURE && !fact->at->is_check)
        return refuse_sign(c, key,
                           "a measured sign of a unit is the answer of a check, not what rules work out");
    if (owner == SIGN_OF_CAUSE && !is_finite(fact))
        return refuse_sign(c, key,
                           "a cause shows in facts with values; let a rule conclude one from the reading");
    if (owner == SIGN_OF_CAUSE && fact->implicit && fact->kind == CW_CHOICE)
        return refuse_sign(c, key, "declare it under facts, with its choices in order from normal to worst");
    return true;
}

static bool read_finite_sign(compiler *c, const cw_node *value, sign_owner owner, sign_def *sign)
{
    const fact_def *fact = sign->fact;
    double *chances = take(c, fact->value_count, sizeof *chances);
    if (chances == NULL)
        return false;
    sign->sign.kind = CW_SIGN_VALUES;
    sign->sign.chances = chances;
    uint32_t rest_to = owner == SIGN_OF_CAUSE ? 0 : UINT32_MAX;
    if (value->kind != CW_NODE_SCALAR)
        return read_distribution(c, fact, value, rest_to, chances);
    uint32_t only = read_value(c, fact, value, 0, value->size);
    if (only == UINT32_MAX)
        return false;
    static const double always = 0.98;
    for (uint32_t i = 0; i < fact->value_count; i++)
        chances[i] = rest_to == 0 ? (i == 0 ? 1 - always : 0) : (1 - always) / (fact->value_count - 1);
    chances[only] = only == rest_to ? 1 : always;
    return true;
}

static bool read_measured_sign(compiler *c, const cw_node *value, sign_def *sign)
{
    const fact_def *fact = sign->fact;
    const char *name = fact->at->name;
    sign->sign.kind = CW_SIGN_NORMAL;
    if (value->kind == CW_NODE_LIST) {
        help(c,
             complain(c, WRONG_SHAPE, value->span,
                      "'%s' is measured: write '112 mm +/- 0.8 mm' or a map of 'around' and 'sd'", name),
             "a single figure with how far good ones differ from it");
        return false;
    }
    if (value->kind == CW_NODE_MAP) {
        const cw_node *fields[keys_of_around];
        read_fields(c, &shape_around, NULL, value->span, value, fields);
        const cw_node *around = fields[key_around_around], *sd = fields[key_around_sd];
        if (around == NULL || sd == NULL)
            return false;
        if (around->kind != CW_NODE_SCALAR) {
            help(c, complain(c, WRONG_SHAPE, around->span, "'around' is a single figure"),
                 "write it with its unit, as 'around: 112 mm'");
            return false;
        }
        bool good = read_quantity(c, around, 0, around->size, fact->dimension, name, &sign->sign.mean);
        if (!read_spread(c, sd, fact->dimension, name, &sign->sign.sd) || !good)
            return false;
    } else {
        double tolerance;
        if (!read_tolerance(c, value, fact->dimension, name, &sign->sign.mean, &tolerance))
            return false;
        sign->sign.sd = tolerance / 2; /* it holds 95 of 100 */
    }
    if (sign->sign.mean >= fact->range.low && sign->sign.mean <= fact->range.high)
        return true;
    cw_diag *diag = complain(c, OUT_OF_RANGE, value->span, "this lies outside the range of '%s'", name);
    cw_diag_second(c->diags, diag, range_span(fact), "its range is said here");
    if (value->kind == CW_NODE_SCALAR)
        help_range(c, diag, fact, value);
    return false;
}

static bool read_marking(compiler *c, const cw_node *node, uint32_t *pattern, double *chance)
{
    const cw_node *fields[keys_of_marking];
    if (!read_fields(c, &shape_marking, NULL, node->span, node, fields))
        return false;
    bool good =
        fields[key_marking_how_often] != NULL && read_frequency(c, fields[key_marking_how_often], chance);
    if (fields[key_marking_like] == NULL)
        return false;
    *pattern = read_pattern(c, fields[key_marking_like]);
    return good && *pattern != 0;
}

static bool read_stamped_sign(compiler *c, const cw_node *value, sign_def *sign)
{
    bool list = value->kind == CW_NODE_LIST;
    uint32_t count = list ? (uint32_t)value->size : 1;
    if (count == 0) {
        help(c, complain(c, WRONG_SHAPE, value->span, "a list of patterns with nothing in it"),
             "write one, as {like: '^T9', how_often: often}, or take the sign out");
        return false;
    }
    uint32_t *patterns = take(c, count, sizeof *patterns);
    double *chances = take(c, count, sizeof *chances);
    if (patterns == NULL || chances == NULL)
        return false;
    bool good = true;
    for (uint32_t i = 0; i < count; i++)
        good &= read_marking(c, list ? cw_node_item(value, i) : value, &patterns[i], &chances[i]);
    sign->sign.kind = CW_SIGN_PATTERNS;
    sign->sign.chances = chances;
    sign->patterns = patterns;
    sign->pattern_count = count;
    return good;
}

static const sign_def *read_sign(compiler *c, const cw_node *key, const cw_node *value, sign_owner owner,
                                 const char *source)
{
    static const scope_def nothing_bound;
    fact_ref ref;
    if (!read_reference(c, &nothing_bound, key, &ref) || !may_be_sign(c, key, ref.fact, owner))
        return NULL;
    sign_def *sign = take(c, 1, sizeof *sign);
    if (sign == NULL)
        return NULL;
    sign->fact = ref.fact;
    sign->ground = ground_of(c, &ref, NULL);
    sign->sign.source = source;
    sign->sign.span = key->span;
    if (owner == SIGN_OF_UNIT) {
        ref.fact->unit_sign = true;
        sign->sign.said_by = (cw_unit_id)c->units.count + 1; /* a unit is numbered once it has been read */
    } else
        ref.fact->cause_sign = true;
    bool good = ref.fact->kind == CW_MEASURE   ? read_measured_sign(c, value, sign)
                : ref.fact->kind == CW_STAMPED ? read_stamped_sign(c, value, sign)
                                               : read_finite_sign(c, value, owner, sign);
    return good ? sign : NULL;
}

static int by_fact(const void *a, const void *b)
{
    uint64_t x = order_of(*(const sign_def *const *)a), y = order_of(*(const sign_def *const *)b);
    return (x > y) - (x < y);
}

/* What the unit says itself counts in place of what it inherits. */
static void merge(const sign_list *inherited, const sign_def **own, uint32_t own_count, sign_list *out)
{
    uint32_t i = 0, k = 0;
    while (i < inherited->count || k < own_count) {
        uint64_t theirs = i < inherited->count ? order_of(inherited->signs[i]) : UINT64_MAX;
        uint64_t ours = k < own_count ? order_of(own[k]) : UINT64_MAX;
        out->signs[out->count++] = ours <= theirs ? own[k] : inherited->signs[i];
        i += theirs <= ours;
        k += ours <= theirs;
    }
}

bool read_signs(compiler *c, const cw_node *node, sign_owner owner, const char *source,
                const sign_list *inherited, sign_list *out)
{
    *out = *inherited;
    if (node == NULL || !read_map(c, node, "signs"))
        return node == NULL;
    const sign_def **own = take(c, node->size, sizeof *own);
    if (own == NULL)
        return false;
    uint32_t count = 0;
    for (size_t i = 0; i < node->size && !c->no_memory; i++) {
        own[count] = read_sign(c, cw_node_key(node, i), cw_node_item(node, i), owner, source);
        count += own[count] != NULL;
    }
    if (count > 1)
        qsort(own, count, sizeof *own, by_fact);
    for (uint32_t i = 1; i < count; i++)
        if (by_fact(&own[i - 1], &own[i]) == 0)
            help(c, complain(c, DUPLICATE_KEY, own[i]->sign.span, "two signs on the same fact"),
                 "take one of the two out");
    out->signs = take(c, (size_t)inherited->count + count, sizeof *out->signs);
    out->count = 0;
    if (out->signs == NULL)
        return false;
    merge(inherited, own, count, out);
    return count == node->size;
}

const cw_sign_spec *sign_specs(compiler *c, const sign_list *signs)
{
    while (c->specs.count < signs->count)
        if (append(c, &c->specs) == NULL)
            return NULL;
    cw_sign_spec *specs = c->specs.items;
    for (uint32_t i = 0; i < signs->count; i++) {
        const sign_def *from = signs->signs[i];
        specs[i] = (cw_sign_spec){from->sign, from->patterns, from->pattern_count};
        specs[i].sign.fact = from->fact->first + from->ground;
    }
    return specs;
}
