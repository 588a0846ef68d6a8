/* What somebody meant by a text that cannot be taken as it stands: how to write it, for the help line. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

/* Other ways to compare, and those of the packs. Longer ones stand before those they begin with. */
static const struct {
    const char *said, *written;
} comparisons[] = {{">=", "at least"},      {"=>", "at least"},      {"<=", "at most"},
                   {"=<", "at most"},       {">", "above"},          {"<", "below"},
                   {"over ", "above"},      {"more than ", "above"}, {"greater than ", "above"},
                   {"less than ", "below"}, {"under ", "below"},     {"up to ", "at most"},
                   {"min ", "at least"},    {"max ", "at most"}};

const char *meant_comparison(compiler *c, const char *text)
{
    if (strncmp(text, "between ", 8) == 0) {
        const char *and = strstr(text, " and ");
        return and == NULL ? NULL
                           : cw_arena_format(c->arena, "%.*s to %s", (int)(and-text - 8), text + 8, and+5);
    }
    for (size_t i = 0; i < sizeof comparisons / sizeof comparisons[0]; i++) {
        size_t size = strlen(comparisons[i].said);
        if (strncmp(text, comparisons[i].said, size) == 0)
            return cw_arena_format(c->arena, "%s %s", comparisons[i].written,
                                   text + size + strspn(text + size, " "));
    }
    return NULL;
}

/* 6 out of 100, 6 in 100, 6/100, 6:100, 6,5 %, 0.6 */
const char *meant_frequency(compiler *c, const char *text)
{
    size_t size = strspn(text, "0123456789.");
    const char *end = text + size + strspn(text + size, " ");
    if (size == 0)
        return NULL;
    if (*end == '\0' && strncmp(text, "0.", 2) == 0 && (size == 3 || size == 4))
        return cw_arena_format(c->arena, "%ld %%", strtol(text + 2, NULL, 10) * (size == 3 ? 10 : 1));
    if (text[size] == ',' && text[size + 1] >= '0' && text[size + 1] <= '9' &&
        strchr(text + size + 1, ',') == NULL)
        return cw_arena_format(c->arena, "%.*s.%s", (int)size, text, text + size + 1);
    static const char *const between[] = {"out of ", "in ", "/", ":", "from "};
    for (size_t i = 0; i < sizeof between / sizeof between[0]; i++) {
        if (strncmp(end, between[i], strlen(between[i])) != 0)
            continue;
        const char *whole = end + strlen(between[i]);
        whole += strspn(whole, " ");
        if (whole[0] > '0' && whole[0] <= '9' && whole[strspn(whole, "0123456789")] == '\0')
            return cw_arena_format(c->arena, "%.*s of %s", (int)size, text, whole);
    }
    return NULL;
}

/* A number with something behind it: a unit, money, a comment. */
void help_number(compiler *c, cw_diag *diag, const char *text)
{
    size_t digits = strspn(text, "0123456789.");
    const char *behind = text + digits + strspn(text + digits, " ");
    if (digits == 0 || *behind == '\0' || *behind == ',')
        help(c, diag, "write it in digits, as 2.5");
    else if (*behind == '#')
        help(c, diag, "a comment begins with a blank before its '#'");
    else
        help(c, diag, "write the number alone, as '%.*s'", (int)digits, text);
}

/* What follows a '#' is no text. */
bool comment_cuts(const compiler *c, cw_span span)
{
    size_t size;
    const char *text = cw_source_text(c->sources, span.source, &size);
    size_t at = span.end;
    while (text != NULL && at < size && text[at] == ' ')
        at++;
    return text != NULL && at < size && text[at] == '#';
}

/* Several words that lack their brackets: "counter, vehicle". */
const char *meant_list(compiler *c, const char *text)
{
    if (strpbrk(text, ", ") == NULL)
        return NULL;
    const char *made = "[";
    while (made != NULL && *text != '\0') {
        size_t size = strcspn(text, ", ");
        made = cw_arena_format(c->arena, "%s%s%.*s", made, made[1] != '\0' ? ", " : "", (int)size, text);
        text += size;
        text += strspn(text, ", ");
    }
    return made == NULL ? NULL : cw_arena_format(c->arena, "%s]", made);
}
