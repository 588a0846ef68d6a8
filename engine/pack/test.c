/* Tests of one fact: what stands behind its name in a condition. */
#include "pack/inside.h"

#include <math.h>
#include <string.h>

typedef struct comparison {
    const char *word; /* with the blank behind it */
    bool above, open;
} comparison;

static const comparison comparisons[] = {
    {"above ", true, true}, {"below ", false, true}, {"at least ", true, false}, {"at most ", false, false}};

static bool wrong_test(compiler *c, const cw_node *node, const fact_def *fact)
{
    const char *ways = fact->kind == CW_MEASURE ? "'above 0.5', 'below 0.5', 'at least 0.5', 'at most 0.5', "
                                                  "'0.5 to 0.7', each with units, or 'known'"
                       : fact->kind == CW_STAMPED
                           ? "'{like: pattern}' or 'known'"
                           : "a value, a list of values, 'not' and a value, or 'known'";
    cw_diag *diag;
    if (node->kind == CW_NODE_SCALAR)
        diag = complain(c, WRONG_TEST, node->span, "'%s' is not a test that '%s' can be put to", node->text,
                        fact->at->name);
    else
        diag = complain(c, WRONG_TEST, node->span, "'%s' cannot be tested with a %s", fact->at->name,
                        node->kind == CW_NODE_MAP ? "map" : "list");
    const char *meant = node->kind == CW_NODE_SCALAR ? meant_comparison(c, node->text) : NULL;
    if (meant != NULL && (fact->kind == CW_MEASURE || fact->kind == CW_COUNT))
        help(c, diag, "write '%s'", meant);
    else
        help(c, diag, "write %s", ways);
    return false;
}

/* "above 0.5 V": fills the interval. `number` 1 when the comparison was recognised and read, 0 when it is
 * none. */
static int read_comparison(compiler *c, const cw_node *node, const fact_def *fact, cw_interval *band)
{
    for (size_t i = 0; i < sizeof comparisons / sizeof comparisons[0]; i++) {
        const comparison *to = &comparisons[i];
        size_t size = strlen(to->word);
        if (node->size <= size || memcmp(node->text, to->word, size) != 0)
            continue;
        double limit;
        cw_dimension wanted = fact->kind == CW_MEASURE ? fact->dimension : (cw_dimension){0};
        if (!read_quantity(c, node, size, node->size - size, wanted, fact->at->name, &limit))
            return -1;
        *band = to->above ? (cw_interval){limit, INFINITY, to->open, false}
                          : (cw_interval){-INFINITY, limit, false, to->open};
        return 1;
    }
    if (strstr(node->text, " to ") == NULL)
        return 0;
    cw_dimension wanted = fact->kind == CW_MEASURE ? fact->dimension : (cw_dimension){0};
    return read_range(c, node, wanted, fact->at->name, band) ? 1 : -1;
}

static bool keep_values(compiler *c, cond *test, const uint32_t *values, uint32_t count)
{
    uint32_t *copy = take_passing(c, count, sizeof *copy);
    if (copy == NULL)
        return false;
    memcpy(copy, values, count * sizeof *copy);
    test->test = CW_ATOM_VALUE;
    test->values = copy;
    test->count = count;
    return true;
}

static bool inside(cw_interval band, double number)
{
    return cw_interval_holds(band, number, 0) == CW_YES;
}

static bool read_counts(compiler *c, const cw_node *node, cond *test)
{
    const fact_def *fact = test->ref.fact;
    cw_interval band;
    int found = read_comparison(c, node, fact, &band);
    if (found < 0)
        return false;
    if (found == 0)
        return wrong_test(c, node, fact);
    uint32_t values[MOST_COUNTS], count = 0;
    for (uint32_t i = 0; i < fact->value_count; i++)
        if (inside(band, fact->values[i].number))
            values[count++] = i;
    return keep_values(c, test, values, count);
}

static bool read_not(compiler *c, const cw_node *node, size_t at, cond *test)
{
    const fact_def *fact = test->ref.fact;
    uint32_t refused = read_value(c, fact, node, at, node->size - at);
    if (refused == UINT32_MAX)
        return false;
    uint32_t values[MOST_COUNTS], count = 0;
    for (uint32_t i = 0; i < fact->value_count; i++)
        if (i != refused)
            values[count++] = i;
    return keep_values(c, test, values, count);
}

static bool read_value_list(compiler *c, const cw_node *node, cond *test)
{
    if (node->size == 0) {
        help(c, complain(c, EMPTY_CONDITION, node->span, "a list of values with nothing in it"),
             "name at least one value, or take the condition out");
        return false;
    }
    uint32_t values[MOST_COUNTS], count = 0;
    bool good = true;
    for (size_t i = 0; i < node->size; i++) {
        const cw_node *item = cw_node_item(node, i);
        if (item->kind != CW_NODE_SCALAR) {
            help(c, complain(c, WRONG_SHAPE, item->span, "a list of values holds single values"),
                 "write '[low, none]'");
            good = false;
            continue;
        }
        uint32_t value = read_value(c, test->ref.fact, item, 0, item->size);
        good &= value != UINT32_MAX;
        bool known = value == UINT32_MAX;
        for (uint32_t k = 0; k < count; k++)
            known |= values[k] == value;
        if (!known)
            values[count++] = value;
    }
    return good && keep_values(c, test, values, count);
}

static bool read_finite_test(compiler *c, const cw_node *node, cond *test)
{
    const fact_def *fact = test->ref.fact;
    if (node->kind == CW_NODE_LIST)
        return read_value_list(c, node, test);
    if (node->kind == CW_NODE_MAP)
        return wrong_test(c, node, fact);
    if (node->size > 4 && memcmp(node->text, "not ", 4) == 0)
        return read_not(c, node, 4, test);
    uint32_t value = find_value(fact, node->text, node->size);
    if (value == UINT32_MAX && memchr(node->text, ' ', node->size) != NULL)
        return fact->kind == CW_COUNT ? read_counts(c, node, test) : wrong_test(c, node, fact);
    if (value == UINT32_MAX)
        value = read_value(c, fact, node, 0, node->size);
    return value != UINT32_MAX && keep_values(c, test, &value, 1);
}

static bool read_measure_test(compiler *c, const cw_node *node, cond *test)
{
    if (node->kind != CW_NODE_SCALAR)
        return wrong_test(c, node, test->ref.fact);
    test->test = CW_ATOM_BAND;
    int found = read_comparison(c, node, test->ref.fact, &test->band);
    return found == 0 ? wrong_test(c, node, test->ref.fact) : found > 0;
}

static bool read_likeness(compiler *c, const cw_node *node, cond *test)
{
    if (node->kind != CW_NODE_MAP)
        return wrong_test(c, node, test->ref.fact);
    const cw_node *fields[keys_of_likeness];
    read_fields(c, &shape_likeness, NULL, node->span, node, fields);
    if (fields[key_likeness_like] == NULL)
        return false;
    test->test = CW_ATOM_LIKE;
    test->pattern = read_pattern(c, fields[key_likeness_like]);
    return test->pattern != 0;
}

bool read_test(compiler *c, const cw_node *node, cond *test)
{
    if (node_is(node, "known")) {
        test->test = CW_ATOM_KNOWN;
        return true;
    }
    if (test->ref.fact->kind == CW_WHICH_UNIT)
        return read_unit_test(c, node, test);
    if (test->ref.fact->kind == CW_MEASURE)
        return read_measure_test(c, node, test);
    if (test->ref.fact->kind == CW_STAMPED)
        return read_likeness(c, node, test);
    return read_finite_test(c, node, test);
}
