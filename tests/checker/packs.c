/* From trees to ground facts and rules. */
#include "checker/inside.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* --- files --- */

void *ck_room(size_t count, size_t size)
{
    void *items = calloc(count > 0 ? count : 1, size);
    if (items == NULL)
        ck_die("no memory");
    return items;
}

static void add_text(checker *c, char *text, size_t size, const char *name)
{
    c->texts = ck_grow(c->texts, c->text_count, sizeof *c->texts);
    c->texts[c->text_count++] = text;
    tree *root = ck_tree_read(text, size, name);
    if (root == NULL)
        return;
    c->roots = ck_grow(c->roots, c->root_count, sizeof *c->roots);
    c->roots[c->root_count++] = root;
}

static void add_file(checker *c, const char *path)
{
    FILE *file = fopen(path, "rb");
    struct stat about;
    if (file == NULL || stat(path, &about) != 0)
        ck_die("cannot read %s", path);
    char *text = calloc(1, (size_t)about.st_size + 1);
    if (text == NULL || fread(text, 1, (size_t)about.st_size, file) != (size_t)about.st_size)
        ck_die("cannot read %s", path);
    fclose(file);
    add_text(c, text, (size_t)about.st_size, path);
}

static void add_folder(checker *c, const char *folder)
{
    DIR *listing = opendir(folder);
    if (listing == NULL)
        ck_die("no folder %s", folder);
    for (struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        size_t length = strlen(entry->d_name);
        char path[1024];
        if (length < 6 || strcmp(entry->d_name + length - 5, ".yaml") != 0)
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        add_file(c, path);
    }
    closedir(listing);
}

static bool has_pack(const checker *c, const char *name)
{
    for (size_t i = 0; i < c->root_count; i++) {
        const char *is = ck_tree_word(ck_tree_get(c->roots[i], "pack"), "name");
        if (is != NULL && strcmp(is, name) == 0)
            return true;
    }
    return false;
}

/* Needed packs lie beside the folder, under their name. */
static void add_needed(checker *c, const char *folder)
{
    for (size_t i = 0; i < c->root_count; i++) {
        const tree *needs = ck_tree_get(ck_tree_get(c->roots[i], "pack"), "needs");
        for (size_t n = 0; needs != NULL && n < needs->count; n++) {
            char path[1024];
            if (has_pack(c, needs->items[n]->text))
                continue;
            snprintf(path, sizeof path, "%s/../%s", folder, needs->items[n]->text);
            add_folder(c, path);
        }
    }
}

checker *checker_open(const char *const *folders, size_t count)
{
    checker *c = calloc(1, sizeof *c);
    if (c == NULL)
        ck_die("no memory");
    for (size_t i = 0; i < count; i++)
        add_folder(c, folders[i]);
    for (size_t i = 0; i < count; i++)
        add_needed(c, folders[i]);
    ck_packs_read(c);
    ck_layers_find(c);
    checker_derive(c);
    return c;
}

checker *checker_open_text(const char *text)
{
    checker *c = calloc(1, sizeof *c);
    if (c == NULL)
        ck_die("no memory");
    add_text(c, ck_copy_text(text, strlen(text)), strlen(text), "pack");
    ck_packs_read(c);
    ck_layers_find(c);
    checker_derive(c);
    return c;
}

void checker_free(checker *c)
{
    for (size_t i = 0; i < c->root_count; i++)
        ck_tree_free(c->roots[i]);
    for (size_t i = 0; i < c->text_count; i++)
        free(c->texts[i]);
    for (size_t i = 0; i < c->fact_count; i++) {
        for (size_t v = 0; v < c->facts[i].value_count; v++)
            free(c->facts[i].values[v]);
        free(c->facts[i].values);
        free(c->facts[i].name);
        free(c->facts[i].text);
        free(c->facts[i].truths);
        free(c->facts[i].sources);
    }
    free(c->roots);
    free(c->texts);
    free(c->facts);
    free(c->kinds);
    for (size_t i = 0; i < c->rule_count; i++)
        free(c->rules[i].heads);
    free(c->rules);
    free(c->fact_table);
    free(c->fact_of_node);
    free(c->cautions);
    free(c->units);
    free(c->caution_truths);
    free(c->layers);
    free(c);
}

/* --- sections: every entry of a section in every file --- */

typedef void entry_visit(checker *c, const char *name, const tree *body);

static void each_entry(checker *c, const char *section, entry_visit *visit)
{
    for (size_t i = 0; i < c->root_count; i++) {
        const tree *map = ck_tree_get(c->roots[i], section);
        for (size_t e = 0; map != NULL && e < map->count; e++)
            visit(c, map->keys[e]->text, map->items[e]);
    }
}

static void add_kind(checker *c, const char *name, const tree *body)
{
    c->kinds = ck_grow(c->kinds, c->kind_count, sizeof *c->kinds);
    c->kinds[c->kind_count++] = (kind_of_thing){name, body};
}

const kind_of_thing *ck_find_kind(const checker *c, const char *name)
{
    for (size_t i = 0; i < c->kind_count; i++)
        if (strcmp(c->kinds[i].name, name) == 0)
            return &c->kinds[i];
    ck_die("no things of kind %s", name);
}

/* --- for each thing, or each pair of things --- */

typedef void scope_visit(checker *c, const bound *scope, void *context);

static void for_kinds(checker *c, const tree *each, size_t at, bound *scope, scope_visit *visit,
                      void *context)
{
    size_t count = each == NULL ? 0 : each->kind == TREE_LIST ? each->count : 1;
    if (at == count) {
        visit(c, scope, context);
        return;
    }
    const kind_of_thing *kind = ck_find_kind(c, each->kind == TREE_LIST ? each->items[at]->text : each->text);
    for (size_t t = 0; t < kind->things->count; t++) {
        scope->bindings[scope->count++] = (binding){kind->name, kind->things->items[t]->text};
        for_kinds(c, each, at + 1, scope, visit, context);
        scope->count--;
    }
}

static void for_each(checker *c, const tree *each, scope_visit *visit, void *context)
{
    bound scope = {.count = 0};
    for_kinds(c, each, 0, &scope, visit, context);
}

static char *ground_name(const char *base, const bound *scope)
{
    char name[512];
    size_t used = (size_t)snprintf(name, sizeof name, "%s", base);
    for (size_t i = 0; i < scope->count; i++)
        used += (size_t)snprintf(name + used, sizeof name - used, "%s%s", i == 0 ? "[" : ",",
                                 scope->bindings[i].thing);
    if (scope->count > 0)
        snprintf(name + used, sizeof name - used, "]");
    return ck_copy_text(name, strlen(name));
}

/* --- facts --- */

static void add_value(fact *f, const char *name)
{
    if (ck_find_value(f, name) < f->value_count)
        return;
    f->values = ck_grow(f->values, f->value_count, sizeof *f->values);
    f->values[f->value_count++] = ck_copy_text(name, strlen(name));
}

size_t ck_find_value(const fact *f, const char *name)
{
    size_t v = 0;
    while (v < f->value_count && strcmp(f->values[v], name) != 0)
        v++;
    return v;
}

static void add_counts(fact *f, const char *range)
{
    int low = atoi(range), high = atoi(strstr(range, " to ") + 4);
    f->kind = FACT_COUNT;
    f->first = low;
    for (int n = low; n <= high; n++) {
        char digits[16];
        snprintf(digits, sizeof digits, "%d", n);
        add_value(f, digits);
    }
}

static void add_declared_values(fact *f)
{
    const tree *choices = ck_tree_get(f->body, "choices");
    if (ck_tree_get(f->body, "measure") != NULL) {
        f->kind = FACT_MEASURE;
    } else if (ck_tree_get(f->body, "text") != NULL) {
        f->kind = FACT_TEXT;
    } else if (ck_tree_get(f->body, "count") != NULL) {
        add_counts(f, ck_tree_word(f->body, "count"));
    } else if (choices != NULL) {
        for (size_t i = 0; i < choices->count; i++)
            add_value(f, choices->kind == TREE_MAP ? choices->keys[i]->text : choices->items[i]->text);
    } else {
        add_value(f, "no");
        add_value(f, "yes");
    }
}

static size_t hash_of(const char *name)
{
    size_t hash = 5381;
    for (; *name != '\0'; name++)
        hash = hash * 33 ^ (unsigned char)*name;
    return hash;
}

/* The slot of the name, or the free one where it belongs. */
static size_t *fact_slot(const checker *c, const char *name)
{
    size_t at = hash_of(name) % c->fact_table_size;
    while (c->fact_table[at] != 0 && strcmp(c->facts[c->fact_table[at] - 1].name, name) != 0)
        at = (at + 1) % c->fact_table_size;
    return &c->fact_table[at];
}

static void enter_fact(checker *c, size_t index)
{
    if (2 * (index + 1) > c->fact_table_size) {
        free(c->fact_table);
        c->fact_table_size = 4 * (index + 16);
        c->fact_table = ck_room(c->fact_table_size, sizeof *c->fact_table);
        for (size_t i = 0; i < index; i++)
            *fact_slot(c, c->facts[i].name) = i + 1;
    }
    *fact_slot(c, c->facts[index].name) = index + 1;
}

fact *ck_find_fact(const checker *c, const char *name)
{
    size_t index = c->fact_table_size == 0 ? 0 : *fact_slot(c, name);
    return index == 0 ? NULL : &c->facts[index - 1];
}

fact *ck_new_fact(checker *c, const char *base, const bound *scope)
{
    c->facts = ck_grow(c->facts, c->fact_count, sizeof *c->facts);
    fact *f = &c->facts[c->fact_count++];
    *f = (fact){.name = ground_name(base, scope), .base = base};
    enter_fact(c, c->fact_count - 1);
    return f;
}

typedef struct declaration {
    const char *name;
    const tree *body;
    bool check;
} declaration;

static void declare_one(checker *c, const bound *scope, void *context)
{
    const declaration *of = context;
    fact *f = ck_new_fact(c, of->name, scope);
    f->body = of->body;
    f->check = of->check;
    add_declared_values(f);
}

static void declare_check(checker *c, const char *name, const tree *body)
{
    for_each(c, ck_tree_get(body, "each"), declare_one, &(declaration){name, body, true});
}

static void declare_fact(checker *c, const char *name, const tree *body)
{
    for_each(c, ck_tree_get(body, "each"), declare_one, &(declaration){name, body, false});
}

/* The kinds of things that a fact comes for. */
static const tree *each_of(const checker *c, const char *base)
{
    for (size_t i = 0; i < c->fact_count; i++)
        if (strcmp(c->facts[i].base, base) == 0)
            return ck_tree_get(c->facts[i].body, "each");
    return NULL;
}

static const char *bound_thing(const bound *scope, const char *kind)
{
    for (size_t i = scope->count; i > 0; i--)
        if (strcmp(scope->bindings[i - 1].kind, kind) == 0)
            return scope->bindings[i - 1].thing;
    return NULL;
}

fact *ck_resolve(const checker *c, const char *name, const bound *in)
{
    fact *f = ck_find_fact(c, name);
    if (f != NULL)
        return f;
    const tree *each = each_of(c, name);
    bound things = {.count = 0};
    if (each == NULL) /* only rules speak of it: it comes for what their `each` says, outermost first */
        things = *in;
    for (size_t i = 0; each != NULL && i < (each->kind == TREE_LIST ? each->count : 1); i++) {
        const char *kind = each->kind == TREE_LIST ? each->items[i]->text : each->text;
        things.bindings[things.count++] = (binding){kind, bound_thing(in, kind)};
    }
    for (;; things.count--) {
        char *ground = ground_name(name, &things);
        f = ck_find_fact(c, ground);
        free(ground);
        if (f != NULL)
            return f;
        if (things.count == 0)
            ck_die("no fact %s", name);
    }
}

/* --- rules --- */

bool ck_is_formula(const tree *node)
{
    return node->kind == TREE_WORD && node->text[0] == '=';
}

/* Facts that nobody declared: one for each binding of the rule, with the values that rules conclude. */
static void note_conclusions(checker *c, const ground_rule *rule)
{
    const tree *then = ck_tree_get(rule->body, "then");
    for (size_t i = 0; then != NULL && i < then->count; i++) {
        const char *name = then->keys[i]->text;
        fact *f = ck_find_fact(c, name);
        char *ground = ground_name(name, &rule->scope);
        if (f == NULL)
            f = ck_find_fact(c, ground);
        if (f == NULL && each_of(c, name) == NULL)
            f = ck_new_fact(c, name, &rule->scope);
        free(ground);
        if (f != NULL && f->body == NULL && !ck_is_reading(then->items[i]))
            add_value(f, then->items[i]->text);
    }
}

static void add_rule(checker *c, const bound *scope, void *context)
{
    const declaration *of = context;
    c->rules = ck_grow(c->rules, c->rule_count, sizeof *c->rules);
    c->rules[c->rule_count++] = (ground_rule){.body = of->body, .name = of->name, .scope = *scope};
}

static void declare_rule(checker *c, const char *name, const tree *body)
{
    for_each(c, ck_tree_get(body, "each"), add_rule, &(declaration){.name = name, .body = body});
}

static void declare_caution(checker *c, const char *name, const tree *body)
{
    (void)body;
    c->cautions = ck_grow(c->cautions, c->caution_count, sizeof *c->cautions);
    c->cautions[c->caution_count++] = name;
}

void ck_packs_read(checker *c)
{
    each_entry(c, "things", add_kind);
    ck_units_read(c);
    each_entry(c, "checks", declare_check);
    each_entry(c, "facts", declare_fact);
    each_entry(c, "rules", declare_rule);
    each_entry(c, "cautions", declare_caution);
    for (size_t i = 0; i < c->rule_count; i++)
        note_conclusions(c, &c->rules[i]);
    for (size_t i = 0; i < c->fact_count; i++) {
        c->facts[i].node = c->node_count;
        c->node_count += c->facts[i].value_count > 0 ? c->facts[i].value_count : 1;
        c->fact_of_node = realloc(c->fact_of_node, c->node_count * sizeof *c->fact_of_node);
        for (size_t n = c->facts[i].node; n < c->node_count; n++)
            c->fact_of_node[n] = i;
        c->facts[i].truths = ck_room(c->facts[i].value_count, sizeof *c->facts[i].truths);
    }
    c->caution_truths = ck_room(c->caution_count, sizeof *c->caution_truths);
    c->layers = ck_room(c->node_count + c->caution_count, sizeof *c->layers);
}
