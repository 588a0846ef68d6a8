/* Where libyaml gives up says little of what was meant: the slips that people make, seen from the bytes
 * around. */
#include "pack/yaml_inside.h"

#include <ctype.h>
#include <string.h>

static const char compare_help[] =
    "for 'more than' write 'above', for 'less than' write 'below': above 0.5 V";

static bool is(const char *problem, const char *words)
{
    return strcmp(problem, words) == 0;
}

/* The last byte on the line before `at` that is no blank, 0 where there is none. */
static char before(const char *text, size_t at)
{
    while (at > 0 && text[at - 1] == ' ')
        at--;
    return at > 0 && text[at - 1] != '\n' ? text[at - 1] : '\0';
}

/* The quote that the one at `end` closes: the last one before it, but for those written twice or behind a
 * '\\'. */
static uint32_t opened(const char *bytes, uint32_t end)
{
    const char quote = bytes[end];
    uint32_t at = end;
    while (at > 0) {
        at--;
        if (bytes[at] != quote)
            continue;
        if (quote == '\'' && at > 0 && bytes[at - 1] == quote)
            at--;
        else if (quote == '\'' || at == 0 || bytes[at - 1] != '\\')
            return at;
    }
    return end;
}

void yaml_meant(const yaml_text *text, uint32_t at, const char *problem, const char **message,
                const char **help, uint32_t *opens)
{
    char here = at < text->size ? text->bytes[at] : '\0';
    char last = at > 0 && at <= text->size ? text->bytes[at - 1] : '\0';
    if (is(problem, "found character that cannot start any token") && here == '>')
        *help = compare_help;
    if (is(problem, "did not find expected comment or line break") && before(text->bytes, at) == '>') {
        *message = "a '>' here begins a text block, and nothing may follow it on its line";
        *help = compare_help;
    }
    bool left_over = is(problem, "did not find expected key") ||
                     is(problem, "did not find expected ',' or '}'") ||
                     is(problem, "did not find expected ',' or ']'");
    if (!left_over || (last != '\'' && last != '"') || !isgraph((unsigned char)here))
        return;
    const uint32_t opening = opened(text->bytes, at - 1);
    const bool several = memchr(text->bytes + opening, '\n', at - opening) != NULL;
    if (several)
        *opens = opening;
    *message = last == '\'' ? "the text in single quotes ends right before this"
                            : "the text in double quotes ends right before this";
    *help = several ? "it goes over several lines: close the quotes where it is to end"
            : last == '\''
                ? "write an apostrophe in it twice, as in 'don''t', or put the text into double quotes"
                : "write \\\" for a quote in it, or put the text into single quotes";
}

const char *yaml_escape(char byte)
{
    static const struct {
        char byte;
        const char *said;
    } escapes[] = {{'\a', "\\a"}, {'\b', "\\b"}, {'\v', "\\v"}, {'\f', "\\f"}, {'\x1b', "\\e"}};
    for (size_t i = 0; i < sizeof escapes / sizeof escapes[0]; i++)
        if (escapes[i].byte == byte)
            return escapes[i].said;
    return "\\x..";
}
