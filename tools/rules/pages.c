#include "rules/pages.h"
#include "corewright/corewright.h"
#include "screen/exit.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

const code_page *page_find(const char *code)
{
    for (size_t i = 0; i < code_page_count; i++)
        if (strcasecmp(code_pages[i].code, code) == 0)
            return &code_pages[i];
    return NULL;
}

/* E and W are easily mixed up: the same number under another letter is meant. */
static const char *same_number(const char *code)
{
    for (size_t i = 0; i < code_page_count; i++)
        if (strcmp(code_pages[i].code + 1, code) == 0 ||
            (code[0] != '\0' && strcmp(code_pages[i].code + 1, code + 1) == 0))
            return code_pages[i].code;
    return NULL;
}

static int unknown(const char *code)
{
    const char **words = calloc(code_page_count, sizeof *words);
    for (size_t i = 0; words != NULL && i < code_page_count; i++)
        words[i] = code_pages[i].code;
    const char *near = same_number(code);
    if (near == NULL && words != NULL)
        near = cw_nearest_word(code, words, code_page_count);
    fprintf(stderr, "corewright: error: no message has the code '%s'\n", code);
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    else
        fputs("help: the last chapter of rules/README.md lists them\n", stderr);
    free(words);
    return EXIT_WRONG;
}

/* One line of the page: headings stand out, examples stay as they are, all else is wrapped by paragraph. */
static void print_line(const char *line, size_t size, bool *example, char *paragraph, size_t room)
{
    bool fence = size >= 3 && strncmp(line, "```", 3) == 0;
    bool ends = fence || size == 0 || line[0] == '#' || *example;
    if (ends && paragraph[0] != '\0') {
        screen_words("", paragraph);
        screen_line();
        paragraph[0] = '\0';
    }
    if (fence) {
        if (*example)
            screen_line();
        *example = !*example;
    } else if (*example) {
        printf("    %.*s\n", (int)size, line);
    } else if (size > 0 && line[0] == '#') {
        size_t marks = strspn(line, "# ");
        snprintf(paragraph, room, "%.*s", (int)(size - marks), line + marks);
        screen_tone(TONE_STRONG, "", paragraph);
        screen_line();
        paragraph[0] = '\0';
    } else if (size > 0) {
        size_t filled = strlen(paragraph);
        snprintf(paragraph + filled, room - filled, "%s%.*s", filled > 0 ? " " : "", (int)size, line);
    }
}

static void print_page(const code_page *page)
{
    char paragraph[4000] = "";
    bool example = false;
    for (const char *line = page->text; *line != '\0';) {
        size_t size = strcspn(line, "\n");
        print_line(line, size, &example, paragraph, sizeof paragraph);
        line += size + (line[size] == '\n');
    }
    if (paragraph[0] != '\0')
        screen_words("", paragraph);
}

int page_explain(const char *code)
{
    const code_page *page = page_find(code);
    if (page == NULL)
        return unknown(code);
    print_page(page);
    return EXIT_DONE;
}
