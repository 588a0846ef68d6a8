#include "pack/yaml_inside.h"

#include <string.h>

typedef struct yaml_words {
    const char *libyaml;
    cw_code code;
    const char *message, *help;
} yaml_words;

static const yaml_words *words_for(const char *problem)
{
    static const yaml_words words[] = {
#define YAML_WORDS(libyaml, code, message, help) {libyaml, CW_DIAG_##code, message, help},
#include "pack/yaml_words.def"
#undef YAML_WORDS
    };
    size_t i = 0;
    while (words[i].libyaml != NULL && (problem == NULL || strcmp(words[i].libyaml, problem) != 0))
        i++;
    return &words[i];
}

/* Where libyaml began to read what it then could not finish, when that says more than the spot itself. */
static void add_beginning(const yaml_text *text, const yaml_problem *found, cw_diag *diag, uint32_t spot)
{
    static const struct {
        const char *context, *message;
    } beginnings[] = {{"while scanning a quoted scalar", "the quotes open here"},
                      {"while parsing a flow sequence", "the bracket opens here"},
                      {"while parsing a flow mapping", "the brace opens here"},
                      {"while parsing a block mapping", "the map begins here"},
                      {"while parsing a block collection", "the list begins here"}};
    const uint32_t start = found->context_at;
    for (size_t i = 0; found->context != NULL && i < sizeof beginnings / sizeof beginnings[0]; i++)
        if (strcmp(found->context, beginnings[i].context) == 0 && start != spot)
            cw_diag_second(text->diags, diag, (cw_span){text->source, start, start + 1}, "%s",
                           beginnings[i].message);
}

/* The line has a ':', and something that looks like a blank behind it, or nothing. */
static const char *no_colon_help(const yaml_text *text, uint32_t at, const char *usual)
{
    const char *line = text->bytes + at;
    const char *end = memchr(line, '\n', text->size - at);
    const char *colon = memchr(line, ':', (size_t)((end != NULL ? end : text->bytes + text->size) - line));
    if (colon == NULL)
        return usual;
    if (text->bytes + text->size - colon > 2 && memcmp(colon + 1, "\xC2\xA0", 2) == 0)
        return "behind the ':' stands a hard blank (no-break space): type an ordinary one";
    return "a blank belongs behind the ':'";
}

void yaml_tell_problem(const yaml_text *text, const yaml_problem *found)
{
    const bool no_colon =
        found->problem != NULL && strcmp(found->problem, "could not find expected ':'") == 0;
    /* Without one, the line before that on which libyaml gives up. */
    const uint32_t at = no_colon ? found->context_at : found->at;
    const yaml_words *words = words_for(found->problem);
    cw_code code = words->code;
    const char *message = words->message, *help = words->help;
    uint32_t opens = at;
    if (at < text->size && text->bytes[at] == '\t') {
        code = CW_DIAG_TAB;
        message = "a tab where blanks are needed";
        help = "set lines in with two blanks per level";
    } else if (found->problem != NULL)
        yaml_meant(text, at, found->problem, &message, &help, &opens);
    if (no_colon && code != CW_DIAG_TAB)
        help = no_colon_help(text, at, help);
    cw_span span = {text->source, at, at < text->size ? at + 1 : at};
    cw_diag *diag = cw_diags_add(text->diags, code, span, "%s", message);
    if (code != CW_DIAG_TAB && message == words->message)
        add_beginning(text, found, diag, at);
    if (opens != at)
        cw_diag_second(text->diags, diag, (cw_span){text->source, opens, opens + 1}, "the quotes open here");
    if (help != NULL)
        cw_diag_help(text->diags, diag, "%s", help);
}
