/* The units of the packs, and the check `unit` that nobody declares: which of them is in hand. */
#include "checker/inside.h"

#include <string.h>

static void read_units(checker *c, const tree *map, size_t above)
{
    for (size_t i = 0; map != NULL && i < map->count; i++) {
        c->units = ck_grow(c->units, c->unit_count, sizeof *c->units);
        c->units[c->unit_count++] = (listed_unit){map->keys[i]->text, map->items[i], above};
        size_t self = c->unit_count;
        read_units(c, ck_tree_get(map->items[i], "frames"), self);
        read_units(c, ck_tree_get(map->items[i], "versions"), self);
    }
}

void ck_units_read(checker *c)
{
    static const bound nothing;
    for (size_t i = 0; i < c->root_count; i++)
        read_units(c, ck_tree_get(c->roots[i], "units"), 0);
    fact *f = ck_new_fact(c, "unit", &nothing);
    f->check = true;
    f->kind = FACT_UNIT;
}

static size_t find(const checker *c, const char *name)
{
    size_t i = 0;
    while (i < c->unit_count && strcmp(c->units[i].name, name) != 0)
        i++;
    return i;
}

/* By name, else by title. */
bool ck_unit_choose(const checker *c, const char *text, const char **name)
{
    size_t i = find(c, text);
    *name = "not_listed";
    if (strcmp(text, *name) == 0)
        return true;
    if (i == c->unit_count)
        for (i = 0; i < c->unit_count && strcmp(ck_tree_word(c->units[i].body, "title"), text) != 0;)
            i++;
    if (i < c->unit_count)
        *name = c->units[i].name;
    return i < c->unit_count;
}

static bool stands_below(const checker *c, const char *low, const char *high)
{
    for (size_t i = find(c, low); i < c->unit_count; i = c->units[i].above - 1)
        if (strcmp(c->units[i].name, high) == 0)
            return true;
        else if (c->units[i].above == 0)
            return false;
    return false;
}

checker_truth ck_unit_truth(const checker *c, const char *in_hand, const char *asked)
{
    if (strcmp(in_hand, asked) == 0 || stands_below(c, in_hand, asked))
        return CHECKER_YES;
    return stands_below(c, asked, in_hand) ? CHECKER_DOUBTFUL : CHECKER_NO;
}

checker_truth ck_unit_test(const checker *c, const fact *f, const tree *test)
{
    if (f->answer.kind != CHECKER_CHOICE)
        return CHECKER_NO;
    if (test->kind == TREE_WORD && strcmp(test->text, "known") == 0)
        return CHECKER_YES;
    if (test->kind == TREE_WORD && strncmp(test->text, "not ", 4) == 0)
        return CHECKER_YES - ck_unit_truth(c, f->answer.value, test->text + 4);
    if (test->kind == TREE_WORD)
        return ck_unit_truth(c, f->answer.value, test->text);
    checker_truth out = CHECKER_NO;
    for (size_t i = 0; i < test->count; i++) {
        checker_truth one = ck_unit_truth(c, f->answer.value, test->items[i]->text);
        out = one > out ? one : out;
    }
    return out;
}

/* The first that says something of a fact, from the unit upward, is the one that counts. */
static bool said_below(const checker *c, size_t from, size_t to, const char *name)
{
    for (size_t i = from; i != to; i = c->units[i].above - 1)
        if (ck_tree_get(ck_tree_get(c->units[i].body, "data"), name) != NULL)
            return true;
    return false;
}

static void conclude(void *context, const char *name, const char *text)
{
    const checker *c = context;
    fact *f = ck_find_fact(c, name);
    source made = {FROM_UNIT, CHECKER_YES, 0, 0};
    if (f == NULL)
        ck_die("no fact %s", name);
    if (f->kind != FACT_MEASURE) {
        f->truths[ck_find_value(f, text)] = CHECKER_YES;
        return;
    }
    const char *bare = ck_tree_word(f->body, "unit");
    double tolerance = 0;
    if (!(strstr(text, "+/-") != NULL ? ck_quantity_tolerance(text, bare, &made.number, &tolerance)
                                      : ck_quantity_read(text, bare, &made.number)))
        ck_die("%s: no figure in '%s'", name, text);
    made.error = tolerance / 2;
    f->sources = ck_grow(f->sources, f->source_count, sizeof *f->sources);
    f->sources[f->source_count++] = made;
}

void ck_unit_says(const checker *c, unit_visit *visit, void *context)
{
    const fact *which = ck_find_fact(c, "unit");
    size_t in_hand = which->answer.kind == CHECKER_CHOICE ? find(c, which->answer.value) : c->unit_count;
    for (size_t at = in_hand; at < c->unit_count; at = c->units[at].above - 1) {
        const tree *data = ck_tree_get(c->units[at].body, "data");
        for (size_t i = 0; data != NULL && i < data->count; i++)
            if (!said_below(c, in_hand, at, data->keys[i]->text))
                visit(context, data->keys[i]->text, data->items[i]->text);
    }
}

void ck_unit_data(checker *c)
{
    ck_unit_says(c, conclude, c);
}
