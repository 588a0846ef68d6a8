/* Whether a value can be right, as far as it can be said before the loader reads it. */
#include "begin/begin.h"
#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_WORDS = 4096, NAME_MOST = 64, ITEM = 100 };

static bool wrong(const begin_question *question, const char *value, const char *what)
{
    fprintf(stderr, "corewright: error: %s=%s: %s\n", question->key, value, what);
    return false;
}

static bool did_you_mean(const char *near)
{
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    return false;
}

static bool is_name(const char *text)
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

static bool is_part(const begin *all, const begin_question *question, const char *name)
{
    cw_part_entry part;
    size_t count = 0;
    for (; cw_pack_part_at(all->pack, count, &part); count++)
        if (strcmp(part.name, name) == 0)
            return true;
    const char **names = calloc(count + 1, sizeof *names);
    for (size_t i = 0; names != NULL && cw_pack_part_at(all->pack, i, &part); i++)
        names[i] = part.name;
    wrong(question, name, "no part has this name");
    return did_you_mean(nearest_of(name, names, count));
}

static bool is_one_of(const begin_question *question, const char *name, const char *(*at)(size_t),
                      const char *what)
{
    const char *words[16];
    size_t count = 0;
    while (count < 16 && (words[count] = at(count)) != NULL)
        if (strcmp(words[count++], name) == 0)
            return true;
    wrong(question, name, what);
    return did_you_mean(cw_nearest_word(name, words, count));
}

static const char *answer_at(size_t index)
{
    static const char *const answers[] = {"yes_or_no", "choice", "count", "measure", "text"};
    return index < sizeof answers / sizeof *answers ? answers[index] : NULL;
}

static bool is_item(const begin *all, const begin_question *question, const char *item)
{
    switch (question->form) {
    case FORM_PLACES:
        return is_one_of(question, item, cw_place_at, "there is no such place");
    case FORM_STAGES:
        return is_one_of(question, item, cw_stage_at, "there is no such stage");
    case FORM_ANSWER:
        return is_one_of(question, item, answer_at, "no check gives such an answer");
    default:
        return is_part(all, question, item);
    }
}

/* One or several, commas between. */
static bool are_items(const begin *all, const begin_question *question, const char *value)
{
    bool good = true;
    while (*value != '\0' && good) {
        char item[ITEM];
        size_t size = strcspn(value, ","), from = strspn(value, " ");
        size_t end = size;
        while (end > from && value[end - 1] == ' ')
            end--;
        if (from >= end || end - from >= sizeof item)
            return wrong(question, value, "a name is wanted between the commas");
        memcpy(item, value + from, end - from);
        item[end - from] = '\0';
        good = is_item(all, question, item);
        value += size + (value[size] == ',');
    }
    return good;
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
    wrong(question, text, "this is none of its values");
    return did_you_mean(cw_nearest_word(text, words, count));
}

static bool is_sign(const begin *all, const begin_question *question, const char *value)
{
    const char *colon = strstr(value, ": "), *near = NULL;
    char name[ITEM];
    if (colon == NULL || colon == value || (size_t)(colon - value) >= sizeof name)
        return wrong(question, value, "CHECK: VALUE is wanted, as 'bolt_count: 4'");
    memcpy(name, value, (size_t)(colon - value));
    name[colon - value] = '\0';
    size_t fact = begin_fact(all->pack, name, &near);
    if (fact == SIZE_MAX) {
        wrong(question, name, "no check or fact has this name");
        return did_you_mean(near);
    }
    return is_value(all, question, fact, colon + 2);
}

static bool is_number(const char *value)
{
    char *end;
    return isdigit((unsigned char)value[0]) && strtod(value, &end) > 0 && *end == '\0';
}

static bool fits_form(const begin *all, const begin_question *question, const char *value)
{
    switch (question->form) {
    case FORM_NAME:
        return is_name(value)
                   ? !begin_taken(all, value, all->kind == BEGIN_FAMILY)
                   : wrong(question, value, "a name is small letters, digits and _, a letter first");
    case FORM_FREQUENCY:
        return begin_is_frequency(value) ||
               wrong(question, value, "wanted is 3 of 100, 3 %, or a word of the scale");
    case FORM_WHOLE:
        return (is_number(value) && value[strspn(value, "0123456789")] == '\0') ||
               wrong(question, value, "a whole number from 1 is wanted");
    case FORM_NUMBER:
        return is_number(value) || wrong(question, value, "a number above 0 is wanted");
    case FORM_PART:
    case FORM_ANSWER:
        return is_item(all, question, value);
    case FORM_PARTS:
    case FORM_PLACES:
    case FORM_STAGES:
        return are_items(all, question, value);
    case FORM_SIGN:
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
        return wrong(question, value, "something is wanted here");
    if (strlen(value) > MOST_WORDS)
        return wrong(question, "...", "this is longer than 4096 bytes");
    for (const char *at = value; *at != '\0'; at++) {
        if ((unsigned char)*at < ' ' || *at == 0x7f)
            return wrong(question, value, "one line without tabs is wanted");
    }
    return fits_form(all, question, value);
}
