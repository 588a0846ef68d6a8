/* A line from whoever is asked: ? explains, back takes the last answer back, Ctrl-C ends with nothing
 * written. */
#include "begin/ask.h"
#include "screen/input.h"
#include "screen/screen.h"
#include <ctype.h>
#include <string.h>

bool begin_is_over(got how)
{
    return how == GOT_END || how == GOT_STOPPED;
}

static got ended(input_end how)
{
    if (how == INPUT_STOPPED) {
        screen_words("", "Stopped. Nothing was written.");
        return GOT_STOPPED;
    }
    fputs("corewright: error: the answers end before all that is needed was told; nothing was written\n",
          stderr);
    return GOT_END;
}

/* Blanks around an answer are slips. */
static void keep_trimmed(char *out, const char *line)
{
    size_t from = strspn(line, " \t"), size = strlen(line + from);
    while (size > 0 && strchr(" \t", line[from + size - 1]) != NULL)
        size--;
    snprintf(out, LINE, "%.*s", (int)(size < LINE ? size : LINE - 1), line + from);
}

got begin_ask_line(const char *question, const char *explain, char *out)
{
    for (;;) {
        const char *line;
        screen_words("", question);
        input_end how = input_line("> ", &line);
        if (how != INPUT_LINE)
            return ended(how);
        keep_trimmed(out, line);
        if (strcmp(out, "?") == 0) {
            screen_words("  ", explain);
            continue;
        }
        if (strcmp(out, "back") == 0)
            return GOT_BACK;
        return out[0] == '\0' ? GOT_NOTHING : GOT_LINE;
    }
}

got begin_ask_yes(const char *question)
{
    char line[LINE];
    for (;;) {
        got how = begin_ask_line(
            question, "yes writes it; no ends here, and nothing is written; back takes the last answer back.",
            line);
        if (begin_is_over(how) || how == GOT_BACK)
            return how;
        if (how == GOT_LINE && (begin_same_letters(line, "yes") || begin_same_letters(line, "y")))
            return GOT_LINE;
        if (how == GOT_LINE && (begin_same_letters(line, "no") || begin_same_letters(line, "n"))) {
            screen_words("", "Nothing was written.");
            return GOT_NOTHING;
        }
        screen_words("", "yes, no or back?");
    }
}

bool begin_same_letters(const char *a, const char *b)
{
    for (; *a != '\0' && tolower((unsigned char)*a) == tolower((unsigned char)*b); a++)
        b++;
    return *a == '\0' && *b == '\0';
}

bool begin_has_letters(const char *text, const char *part)
{
    for (; *text != '\0'; text++) {
        size_t i = 0;
        while (part[i] != '\0' && tolower((unsigned char)text[i]) == tolower((unsigned char)part[i]))
            i++;
        if (part[i] == '\0')
            return true;
    }
    return false;
}
