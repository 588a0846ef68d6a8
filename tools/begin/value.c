/* Whether a value can be right, as far as it can be said before the loader reads it. */
#include "begin/ask.h"
#include "begin/begin.h"
#include "screen/screen.h"
#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_WORDS = 4096, NAME_MOST = 64, ITEM = 100 };

/* On the command line with the word it is about; who is asked sees that above. */
static bool wrong(const begin *all, const begin_question *question, const char *value, const char *what)
{
    if (all->asked)
        screen_say("  ", "%s: %s.", value, what);
    else
        fprintf(stderr, "corewright: error: %s=%s: %s\n", question->key, value, what);
    return false;
}

static bool did_you_mean(const begin *all, const char *near)
{
    if (near != NULL && all->asked)
        screen_say("  ", "Did you mean '%s'?", near);
    else if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    return false;
}

bool begin_is_name(const char *text)
{
    size_t size = strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789_");
    return text[size] == '\0' && size > 0 && size <= NAME_MOST && islower((unsigned char)text[0]);
}

static const char *const scale[] = {"always", "usually", "often", "sometimes", "rarely", "never"};

bool begin_is_frequency(const char *text)
{
    for (size_t i = 0; i < sizeof scale / sizeof *scale; i++)
        if (strcmp(text, scale[i]) == 0)
            return true;
    char *end;
    double part = strtod(text, &end), whole;
    if (end == text || !isdigit((unsigned char)text[0]))
        return false;
    end += strspn(end, " ");
    if (strcmp(end, "%") == 0)
        return part <= 100;
    if (strncmp(end, "of ", 3) != 0 || !isdigit((unsigned char)end[3]))
        return false;
    char *rest;
    whole = strtod(end + 3, &rest);
    return *rest == '\0' && part <= whole && whole > 0;
}

void begin_name_of(const char *words, char *name, size_t size)
{
    size_t filled = 0;
    for (; *words != '\0' && filled + 2 < size; words++) {
        if (isalnum((unsigned char)*words))
            name[filled++] = (char)tolower((unsigned char)*words);
        else if (filled > 0 && name[filled - 1] != '_' && words[1] != '\0')
            name[filled++] = '_';
    }
    while (filled > 0 && name[filled - 1] == '_')
        filled--;
    name[filled] = '\0';
}

/* In memory of its own, for as many as there are. */
static const char *nearest_of(const char *word, const char **words, size_t count)
{
    const char *near = words != NULL ? cw_nearest_word(word, words, count) : NULL;
    free(words);
    return near;
}

size_t begin_fact(const cw_pack *pack, const char *name, const char **nearest)
{
    cw_fact_entry fact;
    size_t count = 0;
    for (; cw_pack_fact_at(pack, count, &fact); count++)
        if (strcmp(fact.name, name) == 0)
            return count;
    const char **names = calloc(count + 1, sizeof *names);
    for (size_t i = 0; names != NULL && cw_pack_fact_at(pack, i, &fact); i++)
        names[i] = fact.name;
    *nearest = nearest_of(name, names, count);
    return SIZE_MAX;
}

static bool is_named(const begin *all, const begin_question *question, const char *word, begin_named at,
                     const char *what)
{
    const char *name, *title;
    size_t count = 0;
    for (; at(all, count, &name, &title); count++)
        if (strcmp(name, word) == 0)
            return true;
    const char **names = calloc(count + 1, sizeof *names);
    for (size_t i = 0; names != NULL && at(all, i, &name, &title); i++)
        names[i] = name;
    wrong(all, question, word, what);
    return did_you_mean(all, nearest_of(word, names, count));
}

static bool is_part(const begin *all, const begin_question *question, const char *name)
{
    return is_named(all, question, name, begin_part_named, "no part has this name");
}

static bool is_caution(const begin *all, const begin_question *question, const char *name)
{
    return is_named(all, question, name, begin_caution_named, "no caution has this name");
}

static bool is_one_of(const begin *all, const begin_question *question, const char *name,
                      const char *(*at)(size_t), const char *what)
{
    const char *words[16];
    size_t count = 0;
    while (count < 16 && (words[count] = at(count)) != NULL)
        if (strcmp(words[count++], name) == 0)
            return true;
    wrong(all, question, name, what);
    return did_you_mean(all, cw_nearest_word(name, words, count));
}

static const char *answer_at(size_t index)
{
    static const char *const answers[] = {"yes_or_no", "choice", "count", "measure", "text"};
    return index < sizeof answers / sizeof *answers ? answers[index] : NULL;
}

/* A choice by the name it has in the file, or by the words people read, of which the name is made. */
static bool is_choice(const begin *all, const begin_question *question, const char *words)
{
    for (const char *at = words; *at != '\0'; at++)
        if (isalnum((unsigned char)*at))
            return true;
    return wrong(all, question, words, "letters or digits are wanted here");
}

static bool is_item(const begin *all, const begin_question *question, const char *item)
{
    switch (question->form) {
    case FORM_PLACES:
        return is_one_of(all, question, item, cw_place_at, "there is no such place");
    case FORM_STAGES:
        return is_one_of(all, question, item, cw_stage_at, "there is no such stage");
    case FORM_ANSWER:
        return is_one_of(all, question, item, answer_at, "no check gives such an answer");
    case FORM_CAUTIONS:
        return is_caution(all, question, item);
    case FORM_CHOICES:
        return is_choice(all, question, item);
    default:
        return is_part(all, question, item);
    }
}

bool begin_next_item(const char **at, char *item, size_t size)
{
    size_t wide = strcspn(*at, ","), from = strspn(*at, " "), end = wide;
    if (**at == '\0')
        return false;
    while (end > from && (*at)[end - 1] == ' ')
        end--;
    if (from >= end || end - from >= size)
        return false;
    memcpy(item, *at + from, end - from);
    item[end - from] = '\0';
    *at += wide + ((*at)[wide] == ',');
    return true;
}

/* One or several, commas between. */
static bool are_items(const begin *all, const begin_question *question, const char *value)
{
    char item[ITEM];
    const char *at = value;
    while (begin_next_item(&at, item, sizeof item))
        if (!is_item(all, question, item))
            return false;
    return *at == '\0' || wrong(all, question, value, "a name is wanted between the commas");
}

/* A plain word behind the colon must be one of the fact's values; all else is for the loader. */
static bool is_value(const begin *all, const begin_question *question, size_t fact, const char *text)
{
    cw_choice_info value;
    const char *words[256];
    size_t count = 0;
    if (!isalnum((unsigned char)text[0]) ||
        text[strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789_")] != '\0')
        return true;
    for (; count < 256 && cw_pack_value_at(all->pack, fact, count, &value); count++) {
        if (strcmp(value.name, text) == 0)
            return true;
        words[count] = value.name;
    }
    if (count == 0)
        return true;
    wrong(all, question, text, "this is none of its values");
    return did_you_mean(all, cw_nearest_word(text, words, count));
}

static bool is_sign(const begin *all, const begin_question *question, const char *value)
{
    const char *colon = strstr(value, ": "), *near = NULL;
    char name[ITEM];
    if (colon == NULL || colon == value || (size_t)(colon - value) >= sizeof name)
        return wrong(all, question, value, "CHECK: VALUE is wanted, as 'bolt_count: 4'");
    memcpy(name, value, (size_t)(colon - value));
    name[colon - value] = '\0';
    size_t fact = begin_fact(all->pack, name, &near);
    if (fact == SIZE_MAX) {
        wrong(all, question, name, "no check or fact has this name");
        return did_you_mean(all, near);
    }
    return is_value(all, question, fact, colon + 2);
}

static bool unit_named(const cw_pack *pack, const char *name, cw_unit_entry *out)
{
    for (size_t i = 0; cw_pack_unit_at(pack, i, out); i++)
        if (strcmp(out->name, name) == 0)
            return true;
    return false;
}

bool begin_takes_versions(const cw_pack *pack, const char *name)
{
    cw_unit_entry below;
    for (size_t i = 0; cw_pack_unit_at(pack, i, &below); i++)
        if (below.above != NULL && strcmp(below.above, name) == 0 && below.version)
            return true;
    return false;
}

static bool frame_wanted(const begin *all, const char *name)
{
    cw_unit_entry below;
    if (all->asked)
        screen_words("  ", "It comes in frames; which one?");
    else
        fprintf(stderr, "help: it comes in frames, name one:");
    for (size_t i = 0; cw_pack_unit_at(all->pack, i, &below); i++) {
        if (below.above == NULL || strcmp(below.above, name) != 0)
            continue;
        if (all->asked)
            screen_pair(below.name, 26, below.title);
        else
            fprintf(stderr, " %s", below.name);
    }
    if (!all->asked)
        fputc('\n', stderr);
    return false;
}

static bool is_above(const begin *all, const begin_question *question, const char *name)
{
    cw_unit_entry unit;
    if (begin_takes_versions(all->pack, name))
        return true;
    if (unit_named(all->pack, name, &unit) && !unit.version) {
        wrong(all, question, name, "no version stands right below it");
        return frame_wanted(all, name);
    }
    if (unit_named(all->pack, name, &unit)) {
        wrong(all, question, name, "that is a version itself");
        return did_you_mean(all, unit.above);
    }
    size_t count = cw_pack_units(all->pack);
    const char **names = calloc(count + 1, sizeof *names);
    for (size_t i = 0; names != NULL && cw_pack_unit_at(all->pack, i, &unit); i++)
        names[i] = unit.name;
    wrong(all, question, name, "no family has this name");
    return did_you_mean(all, nearest_of(name, names, count));
}

static bool is_number(const char *value)
{
    char *end;
    return isdigit((unsigned char)value[0]) && strtod(value, &end) > 0 && *end == '\0';
}

static bool is_free_name(const begin *all, const begin_question *question, const char *value)
{
    char near[NAME_MOST + 1];
    if (begin_is_name(value))
        return !begin_taken(all, value, all->kind <= BEGIN_VERSION);
    wrong(all, question, value, "a name is small letters, digits and _, a letter first");
    begin_name_of(value, near, sizeof near);
    return did_you_mean(all, begin_is_name(near) ? near : NULL);
}

static bool fits_form(const begin *all, const begin_question *question, const char *value)
{
    switch (question->form) {
    case FORM_NAME:
        return is_free_name(all, question, value);
    case FORM_FREQUENCY:
        return begin_is_frequency(value) ||
               wrong(all, question, value, "wanted is 3 of 100, 3 %, or a word of the scale");
    case FORM_WHOLE:
        return (is_number(value) && value[strspn(value, "0123456789")] == '\0') ||
               wrong(all, question, value, "a whole number from 1 is wanted");
    case FORM_NUMBER:
        return is_number(value) || wrong(all, question, value, "a number above 0 is wanted");
    case FORM_PART:
    case FORM_ANSWER:
        return is_item(all, question, value);
    case FORM_PARTS:
    case FORM_PLACES:
    case FORM_STAGES:
    case FORM_CAUTIONS:
        return are_items(all, question, value);
    case FORM_CHOICES:
        return strchr("[{", value[0]) != NULL || are_items(all, question, value);
    case FORM_ABOVE:
        return is_above(all, question, value);
    case FORM_SIGN:
    case FORM_DATUM:
        return is_sign(all, question, value);
    case FORM_WORDS:
    case FORM_YAML:
        break;
    }
    return true;
}

bool begin_check_value(const begin *all, const begin_question *question, const char *value)
{
    if (value[strspn(value, " \t")] == '\0')
        return wrong(all, question, value, "something is wanted here");
    if (strlen(value) > MOST_WORDS)
        return wrong(all, question, "...", "this is longer than 4096 bytes");
    for (const char *at = value; *at != '\0'; at++) {
        if ((unsigned char)*at < ' ' || *at == 0x7f)
            return wrong(all, question, value, "one line without tabs is wanted");
    }
    return fits_form(all, question, value);
}
