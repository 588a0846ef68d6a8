/* Conditions, as they are written:
 *
 *   condition -> map of entries | list of conditions        all of them
 *   entry     -> ('all' | 'any' | 'none') : group
 *              | ('some' | 'every' | 'no' | 'at least N') kind : condition
 *              | fact : test
 *   group     -> list of conditions | map of entries        each one a part */
#include "pack/inside.h"

#include <string.h>

static cond *new_cond(compiler *c, cond_kind kind, uint32_t room)
{
    struct {
        cond cond;
        cw_premise premise;
    } *made = take_passing(c, 1, sizeof *made);
    const cond **parts = room == 0 ? NULL : take_passing(c, room, sizeof *parts);
    if (made == NULL || (room > 0 && parts == NULL))
        return NULL;
    made->cond.kind = kind;
    made->cond.parts = parts;
    made->cond.premise = &made->premise;
    return &made->cond;
}

static void add_part(cond *group, const cond *part)
{
    group->parts[group->count++] = part;
    group->bound |= part->bound;
}

static const cond *empty(compiler *c, const cw_node *node)
{
    help(c, complain(c, EMPTY_CONDITION, node->span, "a condition with nothing in it"),
         "say what must be so, as '{lamp: glow}', or take the empty one out");
    return NULL;
}

static void mention(compiler *c, cw_vec *mentions, fact_def *fact)
{
    fact_def **slot = append(c, mentions);
    if (slot != NULL)
        *slot = fact;
}

static const cond *read_test_entry(compiler *c, scope_def *scope, const cw_node *key, const cw_node *value,
                                   cw_vec *mentions)
{
    cond *test = new_cond(c, COND_TEST, 0);
    if (test == NULL || !read_reference(c, scope, key, &test->ref) || !read_test(c, value, test))
        return NULL;
    for (uint32_t i = 0; i < test->ref.fact->each.count; i++)
        if ((test->ref.things[i] & BOUND) != 0)
            test->bound |= (uint64_t)1 << (test->ref.things[i] & ~BOUND);
    mention(c, mentions, test->ref.fact);
    return test;
}

/* "some diode" and the like. Returns false when the key is not of this form. */
static bool split_quantifier(const cw_node *key, cond_kind *kind, size_t *number_at, size_t *number_size,
                             size_t *name_at)
{
    static const struct {
        const char *word;
        cond_kind kind;
    } words[] = {
        {"some ", COND_SOME}, {"every ", COND_EVERY}, {"no ", COND_NO}, {"at least ", COND_AT_LEAST}};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        size_t size = strlen(words[i].word);
        if (key->size <= size || memcmp(key->text, words[i].word, size) != 0)
            continue;
        *kind = words[i].kind;
        *number_at = *name_at = size;
        if (*kind == COND_AT_LEAST) {
            const char *blank = memchr(key->text + size, ' ', key->size - size);
            if (blank == NULL)
                return false;
            *name_at = (size_t)(blank - key->text) + 1;
            *number_size = *name_at - 1 - *number_at;
        }
        return true;
    }
    return false;
}

static bool read_need(compiler *c, const cw_node *key, size_t at, size_t size, const thing_kind *kind,
                      uint32_t *need)
{
    int32_t number;
    if (!read_whole(c, key, at, size, "how many", &number))
        return false;
    if (number < 1 || (uint32_t)number > kind->count) {
        help(c,
             complain(c, OUT_OF_RANGE, spot(c, key, at, size),
                      "there are %u of '%s', so 1 to %u can be asked for", kind->count, kind->at->name,
                      kind->count),
             "ask for no more than there are");
        return false;
    }
    *need = (uint32_t)number;
    return true;
}

static const cond *read_quantified(compiler *c, scope_def *scope, const cw_node *key, const cw_node *value,
                                   cw_vec *mentions)
{
    cond_kind kind = COND_SOME;
    size_t number_at = 0, number_size = 0, name_at = 0;
    if (!split_quantifier(key, &kind, &number_at, &number_size, &name_at)) {
        if (key->span.start >= 2 && comma_cuts(c, (cw_span){key->span.source, 0, key->span.start - 1}))
            return NULL; /* the other half of the number has been told of */
        cw_diag *diag = complain(c, BAD_WORD, key->span, "'%s' begins no condition", key->text);
        help(c, diag,
             "write 'some diode', 'every diode', 'no diode' or 'at least 2 diode', with a kind of thing");
        return NULL;
    }
    uint32_t thing = find_entry(c, SECTION_things, key->text + name_at, key->size - name_at);
    if (thing == UINT32_MAX) {
        unknown_name(c, spot(c, key, name_at, key->size - name_at), SECTION_things, key->text + name_at);
        return NULL;
    }
    cond *made = new_cond(c, kind, 1);
    if (made == NULL || kind_at(c, thing)->count == 0 ||
        (kind == COND_AT_LEAST && !read_need(c, key, number_at, number_size, kind_at(c, thing), &made->need)))
        return NULL;
    made->thing_kind = thing;
    made->binding = scope->count;
    scope->kinds[scope->count++] = thing;
    const cond *part = read_condition(c, scope, value, mentions);
    scope->count--;
    if (part == NULL)
        return NULL;
    add_part(made, part);
    made->bound &= ~((uint64_t)1 << made->binding);
    return made;
}

static const cond *read_entry(compiler *c, scope_def *scope, const cw_node *key, const cw_node *value,
                              cw_vec *mentions);

/* all, any, none: the entries of a map, or the members of a list, each for itself. */
static const cond *read_group(compiler *c, scope_def *scope, cond_kind kind, const cw_node *value,
                              cw_vec *mentions)
{
    if (value->kind == CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, value->span, "a list of conditions belongs here"),
             "begin each of them with '- ' on a line of its own");
        return NULL;
    }
    if (value->size == 0)
        return empty(c, value);
    cond *group = new_cond(c, kind, (uint32_t)value->size);
    bool good = group != NULL;
    for (size_t i = 0; i < value->size && group != NULL; i++) {
        const cond *part = value->kind == CW_NODE_MAP
                               ? read_entry(c, scope, cw_node_key(value, i), cw_node_item(value, i), mentions)
                               : read_condition(c, scope, cw_node_item(value, i), mentions);
        if (part != NULL)
            add_part(group, part);
        else
            good = false;
    }
    return good ? group : NULL;
}

static const cond *read_entry(compiler *c, scope_def *scope, const cw_node *key, const cw_node *value,
                              cw_vec *mentions)
{
    if (node_is(key, "all"))
        return read_group(c, scope, COND_ALL, value, mentions);
    if (node_is(key, "any"))
        return read_group(c, scope, COND_ANY, value, mentions);
    if (node_is(key, "none"))
        return read_group(c, scope, COND_NONE, value, mentions);
    if (memchr(key->text, ' ', key->size) != NULL)
        return read_quantified(c, scope, key, value, mentions);
    return read_test_entry(c, scope, key, value, mentions);
}

const cond *read_condition(compiler *c, scope_def *scope, const cw_node *node, cw_vec *mentions)
{
    if (node->kind == CW_NODE_SCALAR) {
        cw_diag *diag = complain(c, WRONG_SHAPE, node->span, "a condition is a map or a list");
        help(c, diag, "write '{fact: value}'");
        return NULL;
    }
    return read_group(c, scope, COND_ALL, node, mentions);
}
