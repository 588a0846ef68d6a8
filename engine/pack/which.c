/* The check `unit`: which unit is in hand. No pack declares it, every pack may speak of it; what can be said
 * of it are the units of the tree and not_listed. It is never asked, since finding it is what ranking units
 * is for. */
#include "pack/inside.h"

#include <string.h>

bool is_which_unit(const char *name)
{
    return strcmp(name, CW_UNIT_CHECK) == 0;
}

/* Stands among the checks like one that is written, with a body that nobody wrote. */
void declare_which_unit(compiler *c)
{
    cw_node *node = take(c, 1, sizeof *node);
    entry *made = node == NULL ? NULL : append(c, &c->entries[SECTION_checks]);
    if (made == NULL)
        return;
    node->kind = CW_NODE_SCALAR;
    node->text = CW_UNIT_CHECK;
    node->size = strlen(CW_UNIT_CHECK);
    *made = (entry){.name = CW_UNIT_CHECK, .key = node, .body = node};
}

void make_which_unit(compiler *c, fact_def *fact)
{
    check_def *check = take(c, 1, sizeof *check);
    if (check == NULL)
        return;
    check->fact = fact;
    check->mentions = CW_VEC_INIT(c->allocator, fact_def *);
    check->stages_given = true; /* none */
    check->check =
        (cw_check){.ask = "Which unit is in hand?",
                   .how = "Its name or title in the packs, as far down as it is known: a family will do. "
                          "Not listed, if it is in none.",
                   .places = (1U << CW_WHERE_COUNT) - 1,
                   .minutes = 1};
    fact->check = check;
    fact->title = "Unit in hand";
    fact->kind = CW_WHICH_UNIT;
    fact->context = true;
    fact->each.ground = 1;
    fact->whole = true;
    fact->used = true;
}

uint32_t read_unit_name(compiler *c, const cw_node *node, size_t at, size_t size)
{
    if (size == strlen(CW_NOT_LISTED_NAME) && memcmp(node->text + at, CW_NOT_LISTED_NAME, size) == 0)
        return CW_NOT_LISTED;
    uint32_t index = find_entry(c, SECTION_units, node->text + at, size);
    if (index != UINT32_MAX)
        return index + 1;
    const char *name = cw_arena_text(c->arena, node->text + at, size);
    if (name == NULL)
        c->no_memory = true;
    else
        unknown_name(c, spot(c, node, at, size), SECTION_units, name);
    return UINT32_MAX;
}

static bool keep_units(compiler *c, cond *test, const cw_node *items, size_t count, size_t at)
{
    uint32_t *units = take_passing(c, count, sizeof *units);
    bool good = units != NULL;
    for (size_t i = 0; i < count && units != NULL; i++) {
        if (items[i].kind != CW_NODE_SCALAR) {
            help(c, complain(c, WRONG_SHAPE, items[i].span, "a list of units holds single names"),
                 "write '[tern_90, plover]'");
            good = false;
            continue;
        }
        units[i] = read_unit_name(c, &items[i], at, items[i].size - at);
        good &= units[i] != UINT32_MAX;
    }
    test->test = CW_ATOM_UNIT;
    test->values = units;
    test->count = (uint32_t)count;
    return good;
}

bool read_unit_test(compiler *c, const cw_node *node, cond *test)
{
    static const char refusal[] = "not ";
    size_t size = sizeof refusal - 1;
    if (node->kind == CW_NODE_LIST && node->size > 0)
        return keep_units(c, test, cw_node_item(node, 0), node->size, 0);
    if (node->kind == CW_NODE_LIST) {
        help(c, complain(c, EMPTY_CONDITION, node->span, "a list of units with nothing in it"),
             "name at least one unit, or take the condition out");
        return false;
    }
    if (node->kind == CW_NODE_MAP) {
        cw_diag *diag =
            complain(c, WRONG_TEST, node->span, "'%s' cannot be tested with a map", CW_UNIT_CHECK);
        help(c, diag, "write a unit, a list of units, 'not' and a unit, '%s', or 'known'",
             CW_NOT_LISTED_NAME);
        return false;
    }
    test->refused = node->size > size && memcmp(node->text, refusal, size) == 0;
    return keep_units(c, test, node, 1, test->refused ? size : 0);
}
