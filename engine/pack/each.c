/* Things that come several times, and what exists once for each of them. */
#include "pack/inside.h"

#include <string.h>

const thing_kind *kind_at(const compiler *c, uint32_t kind)
{
    return CW_VEC_AT(&c->kinds, thing_kind, kind);
}

const char *thing_name(const compiler *c, uint32_t kind, uint32_t thing)
{
    return cw_names_text(kind_at(c, kind)->names, thing + 1);
}

static bool add_thing(compiler *c, thing_kind *kind, cw_names *names, const cw_node *node)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "the name of a thing belongs here"),
             "write it alone, as 'd1'");
        return false;
    }
    if (!value_is_valid(node->text, node->size)) {
        cw_diag *diag = complain(c, BAD_NAME, node->span, "'%s' cannot name a thing", node->text);
        help(c, diag, "a name is made of small letters, digits and '_'");
        return false;
    }
    uint32_t before = cw_names_count(names);
    uint32_t number = cw_names_add(names, node->text, node->size);
    if (number == 0)
        c->no_memory = true;
    else if (number <= before)
        help(c,
             complain(c, NAME_TAKEN, node->span, "'%s' stands twice among the things of '%s'", node->text,
                      kind->at->name),
             "take one of the two out");
    return number > before;
}

static void read_kind_of_thing(compiler *c, const entry *at)
{
    thing_kind *kind = append(c, &c->kinds);
    cw_names *names = cw_names_new(c->arena);
    if (kind == NULL || names == NULL) {
        c->no_memory = true;
        return;
    }
    *kind = (thing_kind){at, names, 0};
    if (at->body->kind != CW_NODE_LIST || at->body->size == 0) {
        cw_diag *diag = complain(c, WRONG_SHAPE,
                                 at->body->span.end > at->body->span.start ? at->body->span : at->key->span,
                                 "'%s' is a list of things with at least one in it", at->name);
        help(c, diag, "write '%s: [first, second]'", at->name);
        return;
    }
    if (at->body->size > MOST_THINGS) {
        help(c,
             complain(c, TOO_MANY, at->key->span, "'%s' has %d things; at most %d are allowed", at->name,
                      at->body->size, MOST_THINGS),
             "name those that are measured one by one");
        return;
    }
    bool good = true;
    for (size_t i = 0; i < at->body->size; i++)
        good &= add_thing(c, kind, names, cw_node_item(at->body, i));
    if (good)
        kind->count = cw_names_count(names);
}

void read_things(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_things].count && !c->no_memory; i++)
        read_kind_of_thing(c, CW_VEC_AT(&c->entries[SECTION_things], entry, i));
}

bool read_each(compiler *c, const cw_node *node, each_spec *out)
{
    *out = (each_spec){.ground = 1};
    if (node == NULL)
        return true;
    const uint32_t *kinds;
    uint32_t count;
    if (!read_names(c, node, SECTION_things, "each", &kinds, &count))
        return false;
    if (count > MOST_KINDS || count == 0) {
        help(c, complain(c, TOO_MANY, node->span, "'each' names from one to %d kinds of things", MOST_KINDS),
             "name fewer kinds, or write two rules");
        return false;
    }
    uint64_t ground = 1;
    for (uint32_t i = 0; i < count; i++) {
        for (uint32_t k = 0; k < i; k++) {
            if (kinds[k] != kinds[i])
                continue;
            help(c,
                 complain(c, EACH_MISMATCH, node->span, "'each' names '%s' twice",
                          kind_at(c, kinds[i])->at->name),
                 "take one of the two out");
            return false;
        }
        out->kinds[i] = kinds[i];
        ground *= kind_at(c, kinds[i])->count;
    }
    if (ground > MOST_RULES) {
        help(c,
             complain(c, TOO_MANY, node->span, "this would be done %llu times; at most %d are allowed",
                      (unsigned long long)ground, MOST_RULES),
             "name fewer kinds of things in 'each'");
        return false;
    }
    out->count = count;
    out->ground = (uint32_t)ground;
    return ground > 0; /* 0: the list of things is wrong, which has been said */
}

scope_def scope_of(const each_spec *each)
{
    scope_def scope = {.count = each->count};
    memcpy(scope.kinds, each->kinds, each->count * sizeof each->kinds[0]);
    return scope;
}

/* The last kind runs fastest. */
void choose_things(const compiler *c, const each_spec *each, uint32_t ground, uint32_t *chosen)
{
    for (uint32_t i = each->count; i-- > 0;) {
        uint32_t count = kind_at(c, each->kinds[i])->count;
        chosen[i] = ground % count;
        ground /= count;
    }
}

const char *ground_name(compiler *c, const char *name, const each_spec *each, uint32_t ground)
{
    if (each->count == 0)
        return name;
    uint32_t chosen[MOST_KINDS];
    choose_things(c, each, ground, chosen);
    const char *made = name;
    for (uint32_t i = 0; i < each->count && made != NULL; i++)
        made = cw_arena_format(c->arena, "%s%c%s%s", made, i == 0 ? '[' : ',',
                               thing_name(c, each->kinds[i], chosen[i]), i + 1 == each->count ? "]" : "");
    if (made == NULL)
        c->no_memory = true;
    return made;
}

static void replace(compiler *c, cw_text *out, const char *text, const each_spec *each,
                    const uint32_t *chosen)
{
    while (*text != '\0') {
        const char *brace = strchr(text, '{');
        if (brace == NULL)
            break;
        cw_text_add_bytes(out, text, (size_t)(brace - text));
        text = brace;
        uint32_t i = 0;
        for (; i < each->count; i++) {
            const char *kind = kind_at(c, each->kinds[i])->at->name;
            size_t size = strlen(kind);
            if (strncmp(brace + 1, kind, size) != 0 || brace[1 + size] != '}')
                continue;
            cw_text_add(out, thing_name(c, each->kinds[i], chosen[i]));
            text = brace + size + 2;
            break;
        }
        if (i == each->count) {
            cw_text_add(out, "{");
            text++;
        }
    }
    cw_text_add(out, text);
}

const char *ground_text(compiler *c, const char *text, const each_spec *each, uint32_t ground)
{
    if (text == NULL || each->count == 0 || strchr(text, '{') == NULL)
        return text;
    uint32_t chosen[MOST_KINDS];
    choose_things(c, each, ground, chosen);
    cw_text made = CW_TEXT_INIT(c->allocator);
    replace(c, &made, text, each, chosen);
    const char *copy = made.status == CW_OK ? cw_arena_text(c->arena, cw_text_get(&made), made.size) : NULL;
    cw_text_dispose(&made);
    if (copy == NULL)
        c->no_memory = true;
    return copy;
}
