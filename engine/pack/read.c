/* Small readers of nodes. What is wrong is told at the spot; the caller only learns that there is nothing to
 * be had. */
#include "pack/frequency.h"
#include "pack/inside.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SHAPE_BEGIN(shape, what) static const struct shape_key shape##_keys[] = {
#define KEY(shape, key, required) {#key, sizeof #key - 1, required},
#define SHAPE_END(shape)                                                                                     \
    }                                                                                                        \
    ;
#include "pack/shape.def"
#undef SHAPE_BEGIN
#undef KEY
#undef SHAPE_END
#define SHAPE_BEGIN(shape, what) const struct shape_def shape_##shape = {what, shape##_keys, keys_of_##shape};
#define KEY(shape, key, required)
#define SHAPE_END(shape)
#include "pack/shape.def"
#undef SHAPE_BEGIN
#undef KEY
#undef SHAPE_END

void *take(compiler *c, size_t count, size_t size)
{
    void *memory = cw_arena_array(c->arena, count, size);
    if (memory == NULL)
        c->no_memory = true;
    return memory;
}

void *take_passing(compiler *c, size_t count, size_t size)
{
    void *memory = cw_arena_array(c->passing != NULL ? c->passing : c->arena, count, size);
    if (memory == NULL)
        c->no_memory = true;
    return memory;
}

void *append(compiler *c, cw_vec *vec)
{
    void *item = cw_vec_add(vec);
    if (item == NULL)
        c->no_memory = true;
    return item;
}

bool node_is(const cw_node *node, const char *word)
{
    return node->kind == CW_NODE_SCALAR && strlen(word) == node->size &&
           memcmp(node->text, word, node->size) == 0;
}

cw_span spot(const compiler *c, const cw_node *node, size_t at, size_t length)
{
    size_t size;
    const char *text = cw_source_text(c->sources, node->span.source, &size);
    size_t quote = node->quoted ? 1 : 0;
    bool as_written = node->span.start + quote + node->size + quote == node->span.end &&
                      node->span.end <= size &&
                      memcmp(text + node->span.start + quote, node->text, node->size) == 0;
    if (!as_written || at > node->size)
        return node->span;
    size_t start = node->span.start + quote + at;
    size_t room = node->size - at;
    return (cw_span){node->span.source, (uint32_t)start, (uint32_t)(start + (length < room ? length : room))};
}

void help_nearest(compiler *c, cw_diag *diag, const cw_nearest *nearest)
{
    if (nearest->best != NULL)
        help(c, diag, "did you mean '%s'?", nearest->best);
}

static uint32_t find_key(const shape_def *shape, const cw_node *key)
{
    for (uint32_t i = 0; i < shape->count; i++)
        if (shape->keys[i].size == key->size && memcmp(shape->keys[i].name, key->text, key->size) == 0)
            return i;
    return UINT32_MAX;
}

/* A key without value inside braces is mostly the rest of a text that holds a comma. */
static bool is_rest_of_text(const cw_node *key, const cw_node *value)
{
    return value->kind == CW_NODE_SCALAR && !value->quoted && value->size == 0 &&
           memchr(key->text, ' ', key->size) != NULL;
}

static void help_keys(compiler *c, cw_diag *diag, const shape_def *shape, const char *before)
{
    cw_text list = CW_TEXT_INIT(c->allocator);
    for (uint32_t i = 0; i < shape->count; i++)
        cw_text_format(&list, "%s%s", i == 0 ? "" : ", ", shape->keys[i].name);
    if (list.status == CW_OK)
        help(c, diag, "%s%s", before, cw_text_get(&list));
    else
        c->no_memory = true;
    cw_text_dispose(&list);
}

/* The key that was meant, or UINT32_MAX. */
static uint32_t unknown_key(compiler *c, const shape_def *shape, const cw_node *key, const cw_node *value)
{
    cw_diag *diag = complain(c, UNKNOWN_KEY, key->span, "'%s' is not a key of %s", key->text, shape->what);
    if (is_rest_of_text(key, value)) {
        help(c, diag, "in braces a comma ends a text: put a text with a comma into quotes");
        return UINT32_MAX;
    }
    cw_nearest nearest = cw_nearest_start(key->text);
    for (uint32_t i = 0; i < shape->count; i++)
        cw_nearest_try(&nearest, shape->keys[i].name);
    if (nearest.best != NULL) {
        help_nearest(c, diag, &nearest);
        for (uint32_t i = 0; i < shape->count; i++)
            if (strcmp(shape->keys[i].name, nearest.best) == 0)
                return i;
    }
    help_keys(c, diag, shape, "its keys are: ");
    return UINT32_MAX;
}

static void missing_key(compiler *c, const shape_def *shape, const char *name, cw_span where, const char *key)
{
    static const char *const remedies[][2] = {
#define REMEDY(of, words) {of, words},
#include "pack/remedy.def"
#undef REMEDY
    };
    cw_diag *diag = name != NULL ? complain(c, MISSING_KEY, where, "'%s' lacks the key '%s'", name, key)
                                 : complain(c, MISSING_KEY, where, "%s needs the key '%s'", shape->what, key);
    size_t i = 0;
    while (i < sizeof remedies / sizeof remedies[0] && strcmp(remedies[i][0], key) != 0)
        i++;
    if (i < sizeof remedies / sizeof remedies[0])
        help(c, diag, "%s", remedies[i][1]);
    else
        help(c, diag, "add it, as '%s: ...'", key);
}

/* `name` and `where`: what to point at when a key is missing. Returns false only when there is no map at all.
 */
bool read_fields(compiler *c, const shape_def *shape, const char *name, cw_span where, const cw_node *body,
                 const cw_node **fields)
{
    uint64_t misspelt = 0; /* keys: one message is enough */
    memset(fields, 0, shape->count * sizeof *fields);
    if (body->kind != CW_NODE_MAP) {
        cw_diag *diag = complain(c, WRONG_SHAPE, body->span.end > body->span.start ? body->span : where,
                                 "%s is written as a map of keys", shape->what);
        help_keys(c, diag, shape, "put each on a line of its own below, or all into braces; its keys are: ");
        return false;
    }
    for (size_t i = 0; i < body->size; i++) {
        uint32_t key = find_key(shape, cw_node_key(body, i));
        if (key != UINT32_MAX) {
            fields[key] = cw_node_item(body, i);
            continue;
        }
        key = unknown_key(c, shape, cw_node_key(body, i), cw_node_item(body, i));
        misspelt |= key != UINT32_MAX ? (uint64_t)1 << key : 0;
    }
    for (uint32_t i = 0; i < shape->count; i++) {
        if (shape->keys[i].required && fields[i] == NULL && (misspelt >> i & 1) == 0)
            missing_key(c, shape, name, where, shape->keys[i].name);
    }
    return true;
}

const char *read_text(compiler *c, const cw_node *node, const char *what)
{
    if (node->kind != CW_NODE_SCALAR) {
        bool map = node->kind == CW_NODE_MAP;
        cw_diag *diag =
            complain(c, WRONG_SHAPE, node->span, "'%s' is a text, not a %s", what, map ? "map" : "list");
        help(c, diag,
             map ? "put a text that holds ': ' or begins with '{' into quotes"
                 : "write it without '- ' or brackets; put a text that begins with '[' into quotes");
        return NULL;
    }
    if (node->size == 0) {
        cw_diag *diag = complain(c, WRONG_SHAPE, node->span, "'%s' is empty", what);
        help(c, diag,
             comment_cuts(c, node->span) ? "what stands behind a '#' is a comment: put the text into quotes"
                                         : "write its text behind the ':', or take the key out");
        return NULL;
    }
    return node->text;
}

const char *read_optional_text(compiler *c, const cw_node *node, const char *what)
{
    return node == NULL ? NULL : read_text(c, node, what);
}

bool read_yes(compiler *c, const cw_node *node, const char *what, bool *out)
{
    if (node_is(node, "yes") || node_is(node, "no")) {
        *out = node_is(node, "yes");
        return true;
    }
    if (node->kind == CW_NODE_SCALAR)
        help(c, complain(c, BAD_WORD, node->span, "'%s' is yes or no, not '%s'", what, node->text),
             "write yes or no");
    else
        help(c, complain(c, WRONG_SHAPE, node->span, "'%s' is yes or no", what), "write yes or no");
    return false;
}

/* What people mean by a number that says no frequency. */
static const char *frequency_hint(const char *text)
{
    char *end;
    const char *of = strstr(text, " of ");
    if (text[0] == '-')
        return "nothing is seen less often than never: ";
    if (of != NULL && strtol(text, &end, 10) > strtol(of + 4, NULL, 10) && end == of)
        return "that is more than there are: ";
    if (strchr(text, '%') != NULL)
        return strtol(text, NULL, 10) > 100 ? "that is more than all: " : "";
    return text[0] >= '0' && text[0] <= '9' && of == NULL ? "of how many? " : "";
}

bool read_frequency(compiler *c, const cw_node *node, double *out)
{
    if (node->kind == CW_NODE_SCALAR && cw_frequency_parse(node->text, node->size, out))
        return true;
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "a frequency is a single word or number"),
             "write '17 of 20', '85 %%' or one of: always, usually, often, sometimes, rarely, never");
        return false;
    }
    cw_diag *diag = node->size > 0
                        ? complain(c, BAD_FREQUENCY, node->span, "'%s' does not say how often", node->text)
                        : complain(c, BAD_FREQUENCY, node->span, "it is not said how often");
    cw_nearest nearest = cw_nearest_start(node->text);
    for (size_t i = 0; cw_frequency_word_at(i) != NULL; i++)
        cw_nearest_try(&nearest, cw_frequency_word_at(i));
    const char *meant = meant_frequency(c, node->text);
    if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else if (meant != NULL)
        help(c, diag, "write '%s'", meant);
    else
        help(c, diag,
             "%swrite '17 of 20', '85 %%' or one of: always, usually, often, sometimes, rarely, never",
             frequency_hint(node->text));
    return false;
}

/* Digits with at most one point. A double holds 15 decimal digits exactly, so the quotient is rounded once.
 */
static bool parse_decimal(const char *text, size_t size, double *out)
{
    double digits = 0, down = 1;
    size_t count = 0, points = 0;
    for (size_t i = 0; i < size; i++) {
        if (text[i] == '.' && points++ == 0)
            continue;
        if (text[i] < '0' || text[i] > '9' || ++count > 15)
            return false;
        digits = digits * 10 + (text[i] - '0');
        down *= points > 0 ? 10 : 1;
    }
    *out = digits / down;
    return count > 0 && text[size - 1] != '.';
}

bool read_number(compiler *c, const cw_node *node, const char *what, double *out)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "'%s' is a number", what), "write one, as 2.5");
        return false;
    }
    const char *slash = memchr(node->text, '/', node->size);
    size_t size = slash == NULL ? node->size : (size_t)(slash - node->text);
    double number, divisor = 1;
    if (!parse_decimal(node->text, size, &number) ||
        (slash != NULL && !parse_decimal(slash + 1, node->size - size - 1, &divisor))) {
        cw_diag *diag = complain(c, BAD_NUMBER, node->span, "'%s' is a number, not '%s'", what, node->text);
        help_number(c, diag, node->text);
        return false;
    }
    if (divisor == 0 || number == 0) {
        help(c, complain(c, OUT_OF_RANGE, node->span, "'%s' must be above 0", what), "half of one is 0.5");
        return false;
    }
    *out = number / divisor;
    return true;
}

bool read_whole(compiler *c, const cw_node *node, size_t at, size_t size, const char *what, int32_t *out)
{
    int32_t number = 0;
    bool good = size > 0 && size <= 9;
    for (size_t i = at; good && i < at + size; i++) {
        good = node->text[i] >= '0' && node->text[i] <= '9';
        number = number * 10 + (node->text[i] - '0');
    }
    if (!good)
        help(c,
             complain(c, BAD_NUMBER, spot(c, node, at, size), "%s is a whole number, not '%.*s'", what,
                      (int)size, node->text + at),
             "write one in digits, without a point");
    *out = number;
    return good;
}

bool read_list(compiler *c, const cw_node *node, const char *what, const cw_node **items, size_t *count)
{
    *count = 0;
    if (node->kind == CW_NODE_MAP || (node->kind == CW_NODE_SCALAR && node->size == 0)) {
        bool map = node->kind == CW_NODE_MAP;
        cw_diag *diag =
            complain(c, WRONG_SHAPE, node->span, map ? "'%s' is a list, not a map" : "'%s' is empty", what);
        help(c, diag,
             map ? "write names alone, with commas in brackets" : "name at least one, or take the key out");
        return false;
    }
    if (node->kind == CW_NODE_LIST) {
        *items = node->entries;
        *count = node->size;
    } else {
        *items = node;
        *count = 1;
    }
    return true;
}

bool read_map(compiler *c, const cw_node *node, const char *what)
{
    if (node->kind == CW_NODE_MAP)
        return true;
    cw_diag *diag = complain(c, WRONG_SHAPE, node->span, "'%s' is a map", what);
    help(c, diag,
         node->kind == CW_NODE_LIST ? "write 'name: value' for each of them, without '- ' or brackets"
                                    : "write '{name: value}', or each on a line of its own below");
    return false;
}

uint32_t find_entry(const compiler *c, section of, const char *name, size_t size)
{
    uint32_t number = cw_names_find(c->names, name, size);
    const cw_vec *map = &c->by_name[of];
    return number == 0 || number >= map->count ? UINT32_MAX : *CW_VEC_AT(map, uint32_t, number) - 1;
}

static const char *what_is_in(section of)
{
    static const char *const names[] = {
#define SECTION(key, what) what,
#include "pack/section.def"
#undef SECTION
    };
    return names[of];
}

static void try_names(const compiler *c, section of, cw_nearest *nearest)
{
    if (of == SECTION_checks || of == SECTION_facts) {
        for (size_t i = 0; i < c->facts.count; i++)
            if (of == SECTION_facts || fact_at(c, i)->at->is_check)
                cw_nearest_try(nearest, fact_at(c, i)->at->name);
    } else if (of == SECTION_units) {
        for (size_t i = 0; i < c->units.count; i++)
            cw_nearest_try(nearest, CW_VEC_AT(&c->units, unit_def, i)->unit.name);
    } else {
        for (size_t i = 0; i < c->entries[of].count; i++)
            cw_nearest_try(nearest, CW_VEC_AT(&c->entries[of], entry, i)->name);
    }
}

/* of SECTION_facts: a check or a fact. Nothing is said while parts of the packs could not be read. */
void unknown_name(compiler *c, cw_span span, section of, const char *name)
{
    if (c->holes) {
        c->held_back = true;
        return;
    }
    cw_diag *diag = complain(c, UNKNOWN_NAME, span, "no %s is named '%s'",
                             of == SECTION_facts ? "check or fact" : what_is_in(of), name);
    cw_nearest nearest = cw_nearest_start(name);
    try_names(c, of, &nearest);
    if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else
        help(c, diag, "declare it under '%s:', or take a name that is there", section_key(of));
}

bool read_name(compiler *c, const cw_node *node, section of, uint32_t *index)
{
    if (node->kind != CW_NODE_SCALAR || node->size == 0) {
        help(c, complain(c, WRONG_SHAPE, node->span, "the name of a %s belongs here", what_is_in(of)),
             "write its name alone: small letters, digits and '_'");
        return false;
    }
    *index = find_entry(c, of, node->text, node->size);
    if (*index == UINT32_MAX)
        unknown_name(c, node->span, of, node->text);
    return *index != UINT32_MAX;
}

bool read_names(compiler *c, const cw_node *node, section of, const char *what, const uint32_t **indices,
                uint32_t *count)
{
    *count = 0;
    const cw_node *items;
    size_t size;
    if (node == NULL)
        return true;
    if (!read_list(c, node, what, &items, &size))
        return false;
    uint32_t *list = take(c, size, sizeof *list);
    if (list == NULL)
        return false;
    for (size_t i = 0; i < size; i++)
        if (read_name(c, &items[i], of, &list[*count]))
            ++*count;
    *indices = list;
    return *count == size;
}

static bool is_word(const char *text, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if (!((text[i] >= 'a' && text[i] <= 'z') || (text[i] >= '0' && text[i] <= '9') || text[i] == '_'))
            return false;
    return size > 0 && size <= MOST_NAME;
}

bool value_is_valid(const char *text, size_t size)
{
    return is_word(text, size);
}

bool name_is_valid(const char *text, size_t size)
{
    return is_word(text, size) && text[0] >= 'a';
}
