/* An entry as YAML, set in, quoted and ordered like its neighbours. */
#include "begin/begin.h"
#include <stdlib.h>
#include <string.h>

enum { MOST_FIELDS = 24 };

/* One key with everything below it. */
typedef struct field {
    const char *key;
    char *text; /* owned; whole lines */
    size_t size;
} field;

typedef struct composer {
    const begin *all;
    const begin_layout *layout;
    FILE *out;
    field fields[MOST_FIELDS];
    size_t count;
    bool failed;
} composer;

static void blanks(const composer *to, size_t level)
{
    fprintf(to->out, "%*s", (int)(to->layout->entry + level * to->layout->step), "");
}

static void comment(const composer *to, size_t level, const char *words)
{
    blanks(to, level);
    fprintf(to->out, "# %s\n", words);
}

/* As the eye counts, near enough: bytes that continue a character take no room. */
static size_t width_of(const char *text, size_t size)
{
    size_t width = 0;
    for (size_t i = 0; i < size; i++)
        width += ((unsigned char)text[i] & 0xc0) != 0x80;
    return width;
}

/* Whether YAML takes the words for what they are without quotes. */
static bool is_plain(const char *text)
{
    size_t size = strlen(text);
    if (strchr("-?:,[]{}#&*!|>'\"%@`~= ", text[0]) != NULL || text[size - 1] == ' ' || text[size - 1] == ':')
        return false;
    return strstr(text, ": ") == NULL && strstr(text, " #") == NULL && strcmp(text, "null") != 0;
}

static void put_quoted(const composer *to, const char *text)
{
    char quote = to->layout->quote;
    if (strchr(text, quote) != NULL && strchr(text, quote == '"' ? '\'' : '"') == NULL)
        quote = quote == '"' ? '\'' : '"';
    if (quote == '"' && strchr(text, '\\') != NULL)
        quote = '\'';
    fputc(quote, to->out);
    for (; *text != '\0'; text++) {
        if (*text == quote)
            fputs(quote == '"' ? "\\" : "'", to->out);
        fputc(*text, to->out);
    }
    fputc(quote, to->out);
}

static void put_scalar(const composer *to, const char *text)
{
    if (is_plain(text))
        fputs(text, to->out);
    else
        put_quoted(to, text);
}

/* Long words, folded: read back they are one line again. */
static void put_folded(const composer *to, size_t level, const char *text)
{
    size_t edge = to->layout->entry + level * to->layout->step, at = 0;
    while (*text != '\0') {
        size_t size = strcspn(text, " "), wide = width_of(text, size);
        if (at > 0 && at + 1 + wide <= LAYOUT_WIDTH) {
            fputc(' ', to->out);
            at++;
        } else {
            if (at > 0)
                fputc('\n', to->out);
            blanks(to, level);
            at = edge;
        }
        fwrite(text, 1, size, to->out);
        at += wide;
        text += size;
        text += strspn(text, " ");
    }
    fputc('\n', to->out);
}

static void put_words(const composer *to, size_t level, const char *key, const char *text)
{
    size_t edge = to->layout->entry + level * to->layout->step;
    blanks(to, level);
    if (edge + strlen(key) + 2 + width_of(text, strlen(text)) > LAYOUT_WIDTH && strchr(text, ' ') != NULL) {
        fprintf(to->out, "%s: >-\n", key);
        put_folded(to, level + 1, text);
        return;
    }
    fprintf(to->out, "%s: ", key);
    put_scalar(to, text);
    fputc('\n', to->out);
}

static void open_field(composer *to, const char *key)
{
    field *one = &to->fields[to->count];
    *one = (field){.key = key};
    to->out = open_memstream(&one->text, &one->size);
    to->failed = to->failed || to->out == NULL;
}

static void close_field(composer *to)
{
    if (to->out == NULL)
        return;
    to->failed = ferror(to->out) != 0 || to->failed;
    to->failed = fclose(to->out) != 0 || to->failed;
    to->out = NULL;
    to->count++;
}

/* A text for people, or with `raw` as it is to stand. */
static void add_value(composer *to, const char *key, const char *value, bool raw, const char *remark)
{
    if (value == NULL || to->count == MOST_FIELDS || to->failed)
        return;
    open_field(to, key);
    if (to->out != NULL && remark != NULL)
        comment(to, 1, remark);
    if (to->out != NULL && raw) {
        blanks(to, 1);
        fprintf(to->out, "%s: %s\n", key, value);
    } else if (to->out != NULL) {
        put_words(to, 1, key, value);
    }
    close_field(to);
}

/* [a, b]: what was told with commas, or with its brackets. */
static void add_list(composer *to, const char *key, const char *value, bool one_alone)
{
    char line[400];
    if (value == NULL)
        return;
    bool plain = strchr("[{", value[0]) != NULL || (one_alone && strchr(value, ',') == NULL);
    snprintf(line, sizeof line, plain ? "%s" : "[%s]", value);
    add_value(to, key, strlen(value) + 3 < sizeof line ? line : value, true, NULL);
}

/* Signs or data from a word on, up to the next version: each is a line of the map below `key`. */
static void put_lines(const composer *to, size_t level, size_t from, const char *word, const char *key,
                      const char *remark)
{
    const begin *all = to->all;
    if (begin_value(all, from, word) == NULL)
        return;
    blanks(to, level);
    fprintf(to->out, "%s:\n", key);
    if (remark != NULL)
        comment(to, level + 1, remark);
    for (size_t i = from; i < all->count && (i == from || strcmp(all->words[i].key, "version") != 0); i++) {
        if (strcmp(all->words[i].key, word) != 0)
            continue;
        blanks(to, level + 1);
        fprintf(to->out, "%s\n", all->words[i].value);
    }
}

static void add_lines(composer *to, const char *word, const char *key, const char *remark)
{
    if (begin_value(to->all, 0, word) == NULL || to->failed)
        return;
    open_field(to, key);
    if (to->out != NULL)
        put_lines(to, 1, 0, word, key, remark);
    close_field(to);
}

static void put_version(const composer *to, size_t from)
{
    const begin *all = to->all;
    const char *seen = begin_value(all, from, "seen");
    blanks(to, 2);
    fprintf(to->out, "%s:\n", all->words[from].value);
    put_words(to, 3, "title", begin_value(all, from, "title"));
    put_lines(to, 3, from, "data", "data", NULL);
    if (seen != NULL) {
        blanks(to, 3);
        fprintf(to->out, "seen: %s\n", seen);
    }
    put_lines(to, 3, from, "sign", "signs", NULL);
}

static void add_versions(composer *to)
{
    const begin *all = to->all;
    open_field(to, "versions");
    if (to->out != NULL) {
        blanks(to, 1);
        fputs("versions:\n", to->out);
        comment(to, 2, "seen: how many of the cores that this shop remembers were this one; default 1");
        for (size_t i = begin_version(all, 0); i < all->count; i = begin_version(all, i + 1))
            put_version(to, i);
    }
    close_field(to);
}

static void put_steps(const composer *to)
{
    const begin *all = to->all;
    if (begin_value(all, 0, "step") == NULL)
        return;
    blanks(to, 2);
    fputs("steps:\n", to->out);
    for (size_t i = 0; i < all->count; i++) {
        if (strcmp(all->words[i].key, "step") != 0)
            continue;
        blanks(to, 3);
        fputs("- ", to->out);
        put_scalar(to, all->words[i].value);
        fputc('\n', to->out);
    }
}

static void put_plan(const composer *to)
{
    static const char *const keys[] = {"minutes", "replace", "look_also"};
    blanks(to, 1);
    fputs("plan:\n", to->out);
    for (size_t i = 0; i < 3; i++) {
        const char *value = begin_value(to->all, 0, keys[i]);
        if (value != NULL) {
            blanks(to, 2);
            fprintf(to->out, i == 0 ? "%s: %s\n" : "%s: [%s]\n", keys[i], value);
        } else if (i == 0) {
            comment(to, 2, "minutes: all of the repair; without it it is not weighed");
        }
    }
    put_steps(to);
}

static void add_plan(composer *to)
{
    const begin *all = to->all;
    if (begin_value(all, 0, "minutes") == NULL && begin_value(all, 0, "replace") == NULL &&
        begin_value(all, 0, "look_also") == NULL && begin_value(all, 0, "step") == NULL)
        return;
    open_field(to, "plan");
    if (to->out != NULL)
        put_plan(to);
    close_field(to);
}

static void add_family(composer *to)
{
    add_value(to, "title", begin_value(to->all, 0, "title"), false, NULL);
    add_lines(to, "data", "data", NULL);
    add_value(to, "source", begin_value(to->all, 0, "source"), false, NULL);
    add_value(to, "notes", begin_value(to->all, 0, "notes"), false, NULL);
    add_lines(
        to, "sign", "signs",
        "What all versions show. A bare value means always; what is not named looks like the average unit.");
    add_versions(to);
}

static void add_version(composer *to)
{
    add_value(to, "title", begin_value(to->all, 0, "title"), false, NULL);
    add_lines(to, "data", "data", NULL);
    add_value(to, "seen", begin_value(to->all, 0, "seen"), true, NULL);
    add_lines(to, "sign", "signs",
              "Its own; what all of the family show is handed down, unless it is said here.");
    add_value(to, "notes", begin_value(to->all, 0, "notes"), false, NULL);
}

static void add_cause(composer *to)
{
    add_value(to, "title", begin_value(to->all, 0, "title"), false, NULL);
    add_value(to, "part", begin_value(to->all, 0, "part"), true, NULL);
    add_value(to, "seen", begin_value(to->all, 0, "seen"), true,
              "a first guess, until closed jobs say better");
    add_lines(to, "sign", "signs", "how often this alone makes it so; what is left is the normal value");
    add_plan(to);
    add_value(to, "because", begin_value(to->all, 0, "because"), false, NULL);
    add_value(to, "source", begin_value(to->all, 0, "source"), false, NULL);
}

static bool are_names(const char *choices)
{
    char item[400];
    while (begin_next_item(&choices, item, sizeof item))
        if (item[strspn(item, "abcdefghijklmnopqrstuvwxyz0123456789_")] != '\0')
            return false;
    return true;
}

/* [off, on]; or for what people read, each with a name made of it. */
static void add_choices(composer *to, const char *choices)
{
    char item[400], name[64];
    if (choices == NULL || strchr("[{", choices[0]) != NULL || are_names(choices)) {
        add_list(to, "choices", choices, false);
        return;
    }
    open_field(to, "choices");
    if (to->out != NULL) {
        blanks(to, 1);
        fputs("choices:\n", to->out);
        while (begin_next_item(&choices, item, sizeof item)) {
            begin_name_of(item, name, sizeof name);
            put_words(to, 2, name, item);
        }
    }
    close_field(to);
}

static void add_check(composer *to)
{
    static const char *const plain[] = {"count", "measure", "unit", "range", "reading_error"};
    const begin *all = to->all;
    const char *answer = begin_value(all, 0, "answer");
    add_value(to, "title", begin_value(all, 0, "title"), false, NULL);
    add_value(to, "ask", begin_value(all, 0, "ask"), false, NULL);
    add_value(to, "how", begin_value(all, 0, "how"), false, NULL);
    add_choices(to, begin_value(all, 0, "choices"));
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
        add_value(to, plain[i], begin_value(all, 0, plain[i]), true,
                  strcmp(plain[i], "reading_error") == 0 ? "one standard deviation of a careful reading"
                                                         : NULL);
    add_value(to, "text", answer != NULL && strcmp(answer, "text") == 0 ? "yes" : NULL, true, NULL);
    add_list(to, "place", begin_value(all, 0, "place"), true);
    add_value(to, "minutes", begin_value(all, 0, "minutes"), true, NULL);
    add_list(to, "stages", begin_value(all, 0, "stages"), false);
    add_list(to, "cautions", begin_value(all, 0, "cautions"), false);
    add_value(to, "source", begin_value(all, 0, "source"), false, NULL);
}

static size_t place_beside(const begin_layout *layout, const char *key)
{
    for (size_t i = 0; i < layout->keys; i++)
        if (strcmp(layout->key[i], key) == 0)
            return i;
    return LAYOUT_KEYS;
}

/* What the neighbour has stands in its order; what it has not stays behind all that came before it. */
static void order_fields(composer *to)
{
    size_t place[MOST_FIELDS], last = 0;
    for (size_t i = 0; i < to->count; i++) {
        place[i] = place_beside(to->layout, to->fields[i].key);
        if (place[i] == LAYOUT_KEYS)
            place[i] = last;
        last = place[i] > last ? place[i] : last;
    }
    for (size_t i = 1; i < to->count; i++) { /* by insertion, so that equal ones keep their order */
        field one = to->fields[i];
        size_t at = place[i], k = i;
        for (; k > 0 && place[k - 1] > at; k--) {
            to->fields[k] = to->fields[k - 1];
            place[k] = place[k - 1];
        }
        to->fields[k] = one;
        place[k] = at;
    }
}

static char *join(composer *to)
{
    char *made = NULL;
    size_t size;
    to->out = open_memstream(&made, &size);
    if (to->out == NULL)
        return NULL;
    blanks(to, 0);
    fprintf(to->out, "%s:\n", begin_value(to->all, 0, "name"));
    for (size_t i = 0; i < to->count; i++)
        fputs(to->fields[i].text, to->out);
    bool broken = ferror(to->out) != 0;
    if (fclose(to->out) != 0 || broken || to->failed) {
        free(made);
        return NULL;
    }
    return made;
}

char *begin_compose(const begin *all, const begin_layout *layout)
{
    composer to = {.all = all, .layout = layout};
    static void (*const add[BEGIN_KINDS])(composer *) = {add_family, add_version, add_cause, add_check};
    add[all->kind](&to);
    order_fields(&to);
    char *made = to.failed ? NULL : join(&to);
    for (size_t i = 0; i < to.count; i++)
        free(to.fields[i].text);
    return made;
}
