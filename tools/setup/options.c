#include "setup/options.h"
#include "corewright/corewright.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* MAYBE: a text behind '=' or none, which is "". */
typedef enum option_kind { FLAG, TEXT, LIST, MAYBE } option_kind;

typedef struct cli_option {
    const char *word;
    option_kind kind;
    const char *takes, *does;
    size_t field; /* offset in struct cli_options */
} cli_option;

static const cli_option table[] = {
#define OPTION(word, field, kind, takes, does) {word, kind, takes, does, offsetof(cli_options, field)},
#include "setup/option.def"
#undef OPTION
};
enum { COUNT = sizeof table / sizeof *table };

static const cli_option *find(const char *word, size_t size)
{
    for (size_t i = 0; i < COUNT; i++) {
        if (strlen(table[i].word) == size && memcmp(table[i].word, word, size) == 0)
            return &table[i];
    }
    return NULL;
}

static int unknown(const char *word, size_t size)
{
    const char *words[COUNT];
    char *copy = calloc(size + 1, 1);
    for (size_t i = 0; i < COUNT; i++)
        words[i] = table[i].word;
    if (copy != NULL)
        memcpy(copy, word, size);
    const char *near = copy != NULL ? cw_nearest_word(copy, words, COUNT) : NULL;
    fprintf(stderr, "corewright: error: there is no option %.*s\n", (int)size, word);
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    else
        fputs("help: corewright --help lists them\n", stderr);
    free(copy);
    return EXIT_WRONG;
}

static int add(text_list *list, const char *text)
{
    const char **items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (items == NULL) {
        fputs("corewright: error: out of memory\n", stderr);
        return EXIT_FAILED;
    }
    list->items = items;
    list->items[list->count++] = text;
    return EXIT_DONE;
}

static int set(cli_options *out, const cli_option *option, const char *value)
{
    char *field = (char *)out + option->field;
    if (option->kind == LIST)
        return add((text_list *)(void *)field, value);
    if (option->kind == TEXT || option->kind == MAYBE)
        memcpy(field, &value, sizeof value);
    else
        *(bool *)field = true;
    return EXIT_DONE;
}

/* --word value, --word=value, --flag, --maybe, --maybe=value. *i moves over a value that stands apart. */
static int read_option(int argc, char **argv, int *i, cli_options *out)
{
    const char *word = argv[*i];
    const char *equals = strchr(word, '=');
    size_t size = equals != NULL ? (size_t)(equals - word) : strlen(word);
    const cli_option *option = find(word, size);
    if (option == NULL)
        return unknown(word, size);
    if (option->kind == FLAG) {
        if (equals == NULL)
            return set(out, option, NULL);
        fprintf(stderr, "corewright: error: %s takes no value\n", option->word);
        return EXIT_WRONG;
    }
    if (option->kind == MAYBE)
        return set(out, option, equals != NULL ? equals + 1 : "");
    if (equals == NULL && *i + 1 >= argc) {
        fprintf(stderr, "corewright: error: %s wants %s behind it\n", option->word, option->takes);
        return EXIT_WRONG;
    }
    return set(out, option, equals != NULL ? equals + 1 : argv[++*i]);
}

int options_read(int argc, char **argv, cli_options *out)
{
    *out = (cli_options){.command = argc > 1 ? argv[1] : NULL};
    bool only_words = false;
    for (int i = 2; i < argc; i++) {
        int status;
        if (!only_words && strcmp(argv[i], "--") == 0) {
            only_words = true;
            continue;
        }
        if (!only_words && argv[i][0] == '-' && argv[i][1] != '\0')
            status = read_option(argc, argv, &i, out);
        else
            status = add(&out->rest, argv[i]);
        if (status != EXIT_DONE) {
            options_free(out);
            return status;
        }
    }
    return EXIT_DONE;
}

void options_free(cli_options *options)
{
    free(options->answers.items);
    free(options->places.items);
    free(options->packs.items);
    free(options->rest.items);
}

void options_print(void)
{
    for (size_t i = 0; i < COUNT; i++) {
        char head[40];
        const char *gap = table[i].kind == MAYBE ? "" : " ";
        snprintf(head, sizeof head, "  %s%s%s", table[i].word, gap, table[i].takes);
        screen_pair(head, 24, table[i].does);
    }
}
