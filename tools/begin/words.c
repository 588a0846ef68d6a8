/* What is to be written, as words KEY=VALUE, and whether a value can be right. */
#include "begin/begin.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

const begin_question begin_questions[] = {
#define QUESTION(kind, of_version, key, need, form, only, ask, explain)                                      \
    {kind, of_version, key, need, form, only, ask, explain},
#include "begin/question.def"
#undef QUESTION
};
const size_t begin_question_count = sizeof begin_questions / sizeof *begin_questions;

bool begin_add(begin *all, const char *key, const char *value)
{
    begin_word *words = realloc(all->words, (all->count + 1) * sizeof *words);
    if (words == NULL)
        return false;
    all->words = words;
    words[all->count] = (begin_word){strdup(key), strdup(value)};
    all->count++;
    return words[all->count - 1].key != NULL && words[all->count - 1].value != NULL;
}

void begin_drop_last(begin *all)
{
    begin_word *last = &all->words[--all->count];
    free(last->key);
    free(last->value);
}

void begin_free_words(begin *all)
{
    while (all->count > 0)
        begin_drop_last(all);
    free(all->words);
    free(all->past);
}

size_t begin_version(const begin *all, size_t from)
{
    while (from < all->count && strcmp(all->words[from].key, "version") != 0)
        from++;
    return from;
}

const char *begin_value(const begin *all, size_t from, const char *key)
{
    for (size_t i = from; i < all->count && (i == from || strcmp(all->words[i].key, "version") != 0); i++) {
        if (strcmp(all->words[i].key, key) == 0)
            return all->words[i].value;
    }
    return NULL;
}

const begin_question *begin_find_question(begin_kind kind, bool of_version, const char *key)
{
    for (size_t i = 0; i < begin_question_count; i++) {
        const begin_question *one = &begin_questions[i];
        if (one->kind == kind && one->of_version == of_version && strcmp(one->key, key) == 0)
            return one;
    }
    return NULL;
}

static int unknown_key(const begin *all, const char *key)
{
    const char *keys[64];
    size_t count = 0;
    for (size_t i = 0; i < begin_question_count && count < 64; i++)
        if (begin_questions[i].kind == all->kind)
            keys[count++] = begin_questions[i].key;
    const char *near = cw_nearest_word(key, keys, count);
    fprintf(stderr, "corewright: error: %s=: begin %s knows no such word\n", key,
            all->options->rest.items[0]);
    if (near != NULL) {
        fprintf(stderr, "help: did you mean '%s='?\n", near);
        return EXIT_WRONG;
    }
    fputs("help: one of:", stderr);
    for (size_t i = 0; i < count; i++)
        fprintf(stderr, " %s=", keys[i]);
    fputc('\n', stderr);
    return EXIT_WRONG;
}

static bool same_name(const begin *all, const char *value)
{
    for (size_t i = 0; i < all->count; i++) {
        const char *key = all->words[i].key;
        if ((strcmp(key, "name") == 0 || strcmp(key, "version") == 0) &&
            strcmp(all->words[i].value, value) == 0) /* NOLINT: every word has a value */
            return true;
    }
    return false;
}

/* A word of the family itself that was told behind a version moves before the first of them. */
static void move_to_family(begin *all)
{
    size_t at = begin_version(all, 0);
    begin_word word = all->words[all->count - 1];
    memmove(&all->words[at + 1], &all->words[at], (all->count - 1 - at) * sizeof word);
    all->words[at] = word;
}

static int take_pair(begin *all, const char *key, const char *value, bool in_version)
{
    const begin_question *question = begin_find_question(all->kind, in_version, key);
    if (question == NULL)
        question = begin_find_question(all->kind, false, key);
    if (question == NULL)
        return unknown_key(all, key);
    size_t from = question->of_version && all->count > 0 ? all->count : 0;
    while (from > 0 && question->of_version && strcmp(all->words[from - 1].key, "version") != 0)
        from--;
    if (question->need != NEED_ANY && begin_value(all, from, key) != NULL) {
        fprintf(stderr, "corewright: error: %s= is said twice\n", key);
        return EXIT_WRONG;
    }
    if (!begin_check_value(all, question, value))
        return EXIT_WRONG;
    if (question->form == FORM_NAME && same_name(all, value)) {
        fprintf(stderr, "corewright: error: %s=%s: the name is said twice\n", key, value);
        return EXIT_WRONG;
    }
    if (!begin_add(all, key, value))
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    if (in_version && !question->of_version && strcmp(key, "version") != 0)
        move_to_family(all);
    return EXIT_DONE;
}

int begin_take(begin *all)
{
    const text_list *rest = &all->options->rest;
    int worst = EXIT_DONE;
    bool in_version = false;
    for (size_t i = 2; i < rest->count; i++) {
        const char *equals = strchr(rest->items[i], '=');
        if (equals == NULL || equals == rest->items[i]) {
            fprintf(stderr, "corewright: error: %s: KEY=VALUE is wanted here\n", rest->items[i]);
            return EXIT_WRONG;
        }
        char *key = strndup(rest->items[i], (size_t)(equals - rest->items[i]));
        if (key == NULL)
            return explain_status(CW_NO_MEMORY, "begin", NULL);
        in_version = in_version || strcmp(key, "version") == 0;
        int status = take_pair(all, key, equals + 1, in_version);
        worst = status > worst ? status : worst;
        free(key);
    }
    return worst;
}

static void put_for_shell(const char *text, FILE *to)
{
    fputc('\'', to);
    for (; *text != '\0'; text++) {
        if (*text == '\'')
            fputs("'\\''", to);
        else
            fputc(*text, to);
    }
    fputc('\'', to);
}

void begin_print_command(const begin *all, FILE *to)
{
    fprintf(to, "corewright begin %s ", all->options->rest.items[0]);
    put_for_shell(all->folder, to);
    for (size_t i = 0; i < all->count; i++) {
        fprintf(to, " \\\n    %s=", all->words[i].key);
        put_for_shell(all->words[i].value, to);
    }
    if (all->options->corpus != NULL) {
        fputs(" \\\n    --corpus ", to);
        put_for_shell(all->options->corpus, to);
    }
    fputc('\n', to);
}
