/* The first pass: every section of every file, its entries sorted by name, each name declared once. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

static const char *const section_keys[] = {
#define SECTION(key, what) #key,
#include "pack/section.def"
#undef SECTION
};
static const char *const section_words[] = {
#define SECTION(key, what) what,
#include "pack/section.def"
#undef SECTION
};

const char *section_key(section of)
{
    return section_keys[of];
}

uint32_t declare_name(compiler *c, section of, const char *name, size_t size, uint32_t index)
{
    uint32_t number = cw_names_add(c->names, name, size);
    cw_vec *map = &c->by_name[of];
    if (number == 0) {
        c->no_memory = true;
        return UINT32_MAX;
    }
    while (map->count <= number)
        if (append(c, map) == NULL)
            return UINT32_MAX;
    uint32_t *slot = CW_VEC_AT(map, uint32_t, number);
    if (*slot != 0)
        return *slot - 1;
    *slot = index + 1;
    return UINT32_MAX;
}

static int by_name(const void *a, const void *b)
{
    const entry *x = a, *y = b;
    int order = strcmp(x->name, y->name);
    if (order != 0)
        return order;
    /* Equal names: the one that stands first is the one that counts. */
    if (x->key->span.source != y->key->span.source)
        return x->key->span.source < y->key->span.source ? -1 : 1;
    return x->key->span.start < y->key->span.start ? -1 : x->key->span.start > y->key->span.start;
}

void sort_entries(entry *entries, size_t count)
{
    size_t sorted = 1;
    while (sorted < count && by_name(&entries[sorted - 1], &entries[sorted]) < 0)
        sorted++;
    if (sorted < count)
        qsort(entries, count, sizeof *entries, by_name);
}

/* The name with small letters, and '_' for blanks and hyphens; NULL when that makes none. */
static const char *mended_name(compiler *c, const cw_node *key)
{
    char *name = take(c, key->size + 1, 1);
    for (size_t i = 0; name != NULL && i < key->size; i++) {
        char at = key->text[i];
        name[i] = at == ' ' || at == '-' ? '_' : at >= 'A' && at <= 'Z' ? (char)(at + ('a' - 'A')) : at;
    }
    return name != NULL && name_is_valid(name, key->size) ? name : NULL;
}

void bad_name(compiler *c, const cw_node *key, const char *what)
{
    cw_diag *diag = complain(c, BAD_NAME, key->span, "'%s' cannot name a %s", key->text, what);
    const char *fixed = mended_name(c, key);
    help(c, diag,
         "%s%s%sa name is made of small letters, digits and '_', begins with a letter and has at most %d of "
         "them",
         fixed != NULL ? "write it '" : "", fixed != NULL ? fixed : "", fixed != NULL ? "': " : "",
         MOST_NAME);
}

static void name_taken(compiler *c, const cw_node *key, const char *what, const cw_node *first)
{
    cw_diag *diag = complain(c, NAME_TAKEN, key->span, "a %s named '%s' is already there", what, key->text);
    cw_diag_second(c->diags, diag, first->span, "first here");
    help(c, diag, "take another name, or take one of the two out");
}

/* Words that begin conditions cannot name facts. */
static bool is_reserved(const char *name)
{
    static const char *const reserved[] = {"all", "any", "none", "min", "max", "abs", "sqrt"};
    for (size_t i = 0; i < sizeof reserved / sizeof reserved[0]; i++)
        if (strcmp(reserved[i], name) == 0)
            return true;
    return false;
}

/* A whole section set in too far: everything below it is an entry of its own. */
static bool is_section_inside(compiler *c, section of, const cw_node *key, const cw_node *body)
{
    int named = 0;
    while (named < SECTION_COUNT && strcmp(section_keys[named], key->text) != 0)
        named++;
    if (named == SECTION_COUNT || body->kind != CW_NODE_MAP || body->size == 0)
        return false;
    for (size_t i = 0; i < body->size; i++)
        if (cw_node_item(body, i)->kind != CW_NODE_MAP)
            return false;
    help(c,
         complain(c, UNKNOWN_KEY, key->span, "'%s' is a section of a pack, and stands inside '%s' here",
                  key->text, section_keys[of]),
         "begin it in the first column, and what is below it two blanks further in");
    c->holes = true;
    return true;
}

static void collect_section(compiler *c, section of, const cw_node *map, uint32_t pack)
{
    if (!read_map(c, map, section_keys[of]))
        return;
    for (size_t i = 0; i < map->size; i++) {
        const cw_node *key = cw_node_key(map, i);
        bool fact = of == SECTION_checks || of == SECTION_facts;
        if (is_section_inside(c, of, key, cw_node_item(map, i)))
            continue;
        if (!name_is_valid(key->text, key->size)) {
            bad_name(c, key, section_words[of]);
            /* Where the right name is used it is not unknown: the message above says it all. */
            const char *mended = mended_name(c, key);
            entry *meant = mended != NULL && of != SECTION_facts && of != SECTION_units
                               ? append(c, &c->entries[of])
                               : NULL;
            if (meant != NULL)
                *meant = (entry){.name = mended, .key = key, .body = cw_node_item(map, i), .pack = pack};
            continue;
        }
        if (fact && is_reserved(key->text)) {
            cw_diag *diag =
                complain(c, BAD_NAME, key->span, "'%s' cannot name a %s", key->text, section_words[of]);
            help(c, diag, "conditions and formulas use this word");
            continue;
        }
        if (fact && is_which_unit(key->text)) {
            cw_diag *diag =
                complain(c, BAD_NAME, key->span, "'%s' cannot name a %s", key->text, section_words[of]);
            help(c, diag, "the check '%s' is there already: it says which unit is in hand", key->text);
            continue;
        }
        if (of == SECTION_rules && strcmp(key->text, CW_UNIT_DATA) == 0) {
            cw_diag *diag =
                complain(c, BAD_NAME, key->span, "'%s' cannot name a %s", key->text, section_words[of]);
            help(c, diag, "what units say under 'data' goes by this name");
            continue;
        }
        entry *made = append(c, &c->entries[of]);
        if (made == NULL)
            return;
        *made = (entry){.name = key->text, .key = key, .body = cw_node_item(map, i), .pack = pack};
    }
}

/* The section that was meant, or SECTION_COUNT. */
static section unknown_section(compiler *c, const cw_node *key)
{
    cw_diag *diag = complain(c, UNKNOWN_KEY, key->span, "'%s' is not a section of a pack", key->text);
    cw_nearest nearest = cw_nearest_start(key->text);
    for (int i = 0; i < SECTION_COUNT; i++)
        cw_nearest_try(&nearest, section_keys[i]);
    cw_nearest_try(&nearest, "pack");
    if (nearest.best != NULL) {
        help_nearest(c, diag, &nearest);
        int meant = 0;
        while (meant < SECTION_COUNT && strcmp(section_keys[meant], nearest.best) != 0)
            meant++;
        return (section)meant;
    }
    cw_text list = CW_TEXT_INIT(c->allocator);
    for (int i = 0; i < SECTION_COUNT; i++)
        cw_text_format(&list, ", %s", section_keys[i]);
    if (list.status == CW_OK)
        help(c, diag, "sections are: pack%s", cw_text_get(&list));
    else
        c->no_memory = true;
    cw_text_dispose(&list);
    return SECTION_COUNT;
}

/* sections: how many there were, of the book and learned. */
static void collect_file(compiler *c, const cw_node *root, uint32_t pack, size_t sections[2])
{
    for (size_t i = 0; i < root->size; i++) {
        int of = 0;
        while (of < SECTION_COUNT && !node_is(cw_node_key(root, i), section_keys[of]))
            of++;
        if (of == SECTION_COUNT && !node_is(cw_node_key(root, i), "pack"))
            of = (int)unknown_section(c, cw_node_key(root, i));
        if (of < SECTION_COUNT) {
            collect_section(c, (section)of, cw_node_item(root, i), pack);
            sections[is_learned((section)of)]++;
        }
    }
}

/* Drops entries whose name is taken. Units are declared when their tree is walked. */
static void declare_section(compiler *c, section of)
{
    cw_vec *entries = &c->entries[of];
    if (entries->count > 0)
        sort_entries(entries->items, entries->count);
    if (of == SECTION_units || of == SECTION_facts)
        return;
    size_t kept = 0;
    for (size_t i = 0; i < entries->count && !c->no_memory; i++) {
        entry *at = CW_VEC_AT(entries, entry, i);
        uint32_t first = declare_name(c, of, at->name, at->key->size, (uint32_t)kept);
        if (first != UINT32_MAX)
            name_taken(c, at->key, section_words[of], CW_VEC_AT(entries, entry, first)->key);
        else
            *CW_VEC_AT(entries, entry, kept++) = *at;
    }
    entries->count = kept;
}

/* Checks and facts share one name space: one array of both, by name, numbered through. */
static void declare_facts(compiler *c)
{
    cw_vec *checks = &c->entries[SECTION_checks], *facts = &c->entries[SECTION_facts];
    size_t count = checks->count + facts->count;
    entry *all = take(c, count, sizeof *all);
    fact_def *defs = take(c, count, sizeof *defs);
    if (all == NULL || defs == NULL)
        return;
    for (size_t i = 0; i < count; i++) {
        all[i] =
            i < checks->count ? *CW_VEC_AT(checks, entry, i) : *CW_VEC_AT(facts, entry, i - checks->count);
        all[i].is_check = i < checks->count;
    }
    sort_entries(all, count);
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        uint32_t first =
            declare_name(c, SECTION_checks, all[i].name, all[i].key->size, (uint32_t)c->facts.count);
        if (first != UINT32_MAX) {
            name_taken(c, all[i].key, fact_at(c, first)->at->is_check ? "check" : "fact",
                       fact_at(c, first)->at->key);
            continue;
        }
        fact_def **slot = append(c, &c->facts);
        if (slot == NULL)
            return;
        defs[i] = (fact_def){.at = &all[i]};
        *slot = &defs[i];
    }
}

void declare_all(compiler *c)
{
    for (uint32_t p = 0; p < c->packs.count; p++) {
        pack_def *pack = CW_VEC_AT(&c->packs, pack_def, p);
        size_t sections[2] = {0, 0};
        for (uint32_t i = 0; i < pack->root_count; i++)
            collect_file(c, pack->roots[i], p, sections);
        pack->learned = sections[false] == 0 && sections[true] > 0;
    }
    declare_which_unit(c);
    for (int of = 0; of < SECTION_COUNT && !c->no_memory; of++)
        if (of != SECTION_checks)
            declare_section(c, (section)of);
    if (!c->no_memory)
        declare_facts(c);
}
