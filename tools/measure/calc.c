/* calc: bench calculations. Without a name it lists them. */
#include "commands.h"
#include "corewright/corewright.h"
#include "screen/screen.h"
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void list_keys(const cw_calc *calc)
{
    const cw_calc_key *key;
    for (size_t i = 0; (key = cw_calc_key_at(calc, i)) != NULL; i++) {
        char head[40];
        char words[300];
        snprintf(head, sizeof head, "    %s", key->name);
        if (key->usual == NULL)
            snprintf(words, sizeof words, "%s: %s; must be given", key->means, key->takes);
        else if (*key->usual == '\0')
            snprintf(words, sizeof words, "%s: %s", key->means, key->takes);
        else
            snprintf(words, sizeof words, "%s: %s; usually %s", key->means, key->takes, key->usual);
        screen_pair(head, 20, words);
    }
}

static int list(void)
{
    const cw_calc *calc;
    screen_words(
        "",
        "corewright calc NAME KEY=VALUE... works out one of these. Quantities are written with their units, "
        "in quotes where there is a blank.");
    for (size_t i = 0; (calc = cw_calc_at(i)) != NULL; i++) {
        screen_line();
        screen_tone(TONE_STRONG, "", calc->name);
        screen_words("  ", calc->does);
        list_keys(calc);
        printf("  corewright calc %s %s\n", calc->name, calc->example); /* not wrapped: to be copied */
    }
    return EXIT_DONE;
}

static int print_json(const char *name, const cw_calc_result *result)
{
    json_t *lines = json_array();
    for (size_t i = 0; i < result->count; i++) {
        const cw_calc_line *line = &result->lines[i];
        json_t *one =
            json_pack("{s:s, s:s, s:s}", "name", line->name, "label", line->label, "words", line->words);
        if (!isnan(line->value)) {
            json_object_set_new(one, "value", json_real(line->value));
            json_object_set_new(one, "unit", json_string(line->unit));
        }
        json_array_append_new(lines, one);
    }
    json_t *whole = json_pack("{s:s, s:o}", "calculation", name, "lines", lines);
    if (result->note != NULL)
        json_object_set_new(whole, "note", json_string(result->note));
    bool written = whole != NULL && json_dumpf(whole, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) == 0;
    json_decref(whole);
    if (written) {
        putchar('\n');
        return EXIT_DONE;
    }
    fputs("corewright: error: out of memory\n", stderr);
    return EXIT_FAILED;
}

static void print_lines(const cw_calc_result *result)
{
    for (size_t i = 0; i < result->count; i++)
        screen_pair(result->lines[i].label, 44, result->lines[i].words);
    if (result->note != NULL) {
        screen_line();
        screen_tone(TONE_QUIET, "", result->note);
    }
}

int command_calc(const cli_options *options)
{
    if (options->rest.count == 0)
        return list();
    const char *name = options->rest.items[0];
    cw_calc_result result;
    cw_status status = cw_calc_run(name, options->rest.items + 1, options->rest.count - 1, &result);
    if (status == CW_NO_MEMORY) {
        fputs("corewright: error: out of memory\n", stderr);
        return EXIT_FAILED;
    }
    if (status != CW_OK) {
        fprintf(stderr, "corewright: error: %s\n", result.problem);
        if (*result.help != '\0')
            fprintf(stderr, "help: %s\n", result.help);
        return EXIT_WRONG;
    }
    if (options->json)
        return print_json(name, &result);
    print_lines(&result);
    return EXIT_DONE;
}
