/* Asking for what begin needs: one question at a time, ? explains, Ctrl-C ends with nothing written. */
#include "begin/ask.h"
#include "screen/input.h"
#include "screen/screen.h"
#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_SHOWN = 24 };

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

/* A line into `out`, of LINE bytes; ? explains and asks again. */
got begin_ask_line(const char *question, const char *explain, char *out)
{
    for (;;) {
        const char *line;
        screen_words("", question);
        input_end how = input_line("> ", &line);
        if (how != INPUT_LINE)
            return ended(how);
        if (strcmp(line, "?") == 0) {
            screen_words("  ", explain);
            continue;
        }
        snprintf(out, LINE, "%.*s", LINE - 1, line);
        return line[0] == '\0' ? GOT_NOTHING : GOT_LINE;
    }
}

bool begin_ask_yes(const char *question)
{
    char line[LINE];
    for (;;) {
        got how = begin_ask_line(question, "yes writes it; no ends here, and nothing is written.", line);
        if (begin_is_over(how))
            return false;
        if (how == GOT_LINE && (strcmp(line, "yes") == 0 || strcmp(line, "y") == 0))
            return true;
        if (how == GOT_LINE && (strcmp(line, "no") == 0 || strcmp(line, "n") == 0)) {
            screen_words("", "Nothing was written.");
            return false;
        }
        screen_words("", "yes or no?");
    }
}

bool begin_same_letters(const char *a, const char *b)
{
    for (; *a != '\0' && tolower((unsigned char)*a) == tolower((unsigned char)*b); a++)
        b++;
    return *a == '\0' && *b == '\0';
}

static bool has_letters(const char *text, const char *part)
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

static bool part_named(const cw_pack *pack, size_t index, const char **name, const char **title)
{
    cw_part_entry part;
    if (!cw_pack_part_at(pack, index, &part))
        return false;
    *name = part.name;
    *title = part.title;
    return true;
}

/* The one of that name or title, or the only one that has these letters: its index. Else those that have them
 * are listed, or it is said that none has. */
size_t begin_look_up(const cw_pack *pack, begin_named at, const char *words)
{
    const char *name, *title;
    size_t found = SIZE_MAX, count = 0;
    for (size_t i = 0; at(pack, i, &name, &title); i++) {
        if (begin_same_letters(name, words) || begin_same_letters(title, words))
            return i;
        if (has_letters(name, words) || has_letters(title, words)) {
            found = i;
            count++;
        }
    }
    if (count == 1)
        return found;
    if (count == 0)
        screen_say("  ", "Nothing here is called %s.", words);
    for (size_t i = 0, shown = 0; count > 1 && shown <= MOST_SHOWN && at(pack, i, &name, &title); i++) {
        if (!has_letters(name, words) && !has_letters(title, words))
            continue;
        if (shown++ == MOST_SHOWN)
            screen_say("  ", "... and %zu more", count - MOST_SHOWN);
        else
            screen_pair(name, 26, title);
    }
    return SIZE_MAX;
}

/* A part by its name or its title. */
static bool name_part(const begin *all, char *line)
{
    const char *name, *title;
    size_t at = begin_look_up(all->pack, part_named, line);
    if (at == SIZE_MAX || !part_named(all->pack, at, &name, &title))
        return false;
    snprintf(line, LINE, "%s", name);
    return true;
}

/* One good answer to a question, taken down. */
static got ask_one(begin *all, const begin_question *question)
{
    char line[LINE], sign[LINE];
    screen_line();
    for (;;) {
        got how = begin_ask_line(question->ask, question->explain, line);
        if (how == GOT_END)
            fprintf(stderr, "help: as a word of the command it is: %s=\n", question->key);
        if (begin_is_over(how) || (how == GOT_NOTHING && question->need != NEED_MUST))
            return how;
        if (how == GOT_NOTHING)
            continue;
        if (question->form == FORM_SIGN && strstr(line, ": ") == NULL) {
            how = begin_ask_sign(all, line, sign);
            if (begin_is_over(how))
                return how;
            if (how == GOT_NOTHING)
                continue;
            memcpy(line, sign, sizeof line);
        }
        if (question->form == FORM_PART && !name_part(all, line))
            continue;
        if (!begin_check_value(all, question, line))
            continue;
        if (begin_add(all, question->key, line))
            return GOT_LINE;
        explain_status(CW_NO_MEMORY, "begin", NULL);
        return GOT_END;
    }
}

/* Those that only one kind of answer needs. */
static bool is_wanted(const begin *all, const begin_question *question)
{
    const char *answer = begin_value(all, 0, "answer");
    return question->only == NULL || (answer != NULL && strcmp(answer, question->only) == 0);
}

static got ask_version(begin *all)
{
    for (size_t i = 0; i < begin_question_count; i++) {
        const begin_question *question = &begin_questions[i];
        if (question->kind != all->kind || !question->of_version)
            continue;
        got how = ask_one(all, question);
        while (how == GOT_LINE && question->need == NEED_ANY)
            how = ask_one(all, question);
        if (begin_is_over(how))
            return how;
    }
    return GOT_LINE;
}

static got ask_again(begin *all, const begin_question *question)
{
    got how = ask_one(all, question);
    bool version = strcmp(question->key, "version") == 0;
    while (how == GOT_NOTHING && version && begin_version(all, 0) == all->count)
        how = ask_one(all, question); /* there is at least one */
    if (how == GOT_LINE && version)
        how = ask_version(all);
    return how;
}

/* Whether the question is open: everything for whoever sits there, else only what must be told. */
static bool is_open(const begin *all, const begin_question *question)
{
    if (question->kind != all->kind || question->of_version || !is_wanted(all, question))
        return false;
    if (strcmp(question->key, "version") == 0)
        return all->asked || begin_version(all, 0) == all->count;
    return (all->asked || question->need == NEED_MUST) && begin_value(all, 0, question->key) == NULL;
}

/* Titles of versions that came from the command line without one. */
static got ask_titles(begin *all)
{
    for (size_t at = begin_version(all, 0); at < all->count; at = begin_version(all, at + 1)) {
        if (begin_value(all, at, "title") != NULL)
            continue;
        fprintf(stderr, "corewright: error: version=%s: a title= is wanted behind it\n",
                all->words[at].value);
        return GOT_END;
    }
    return GOT_LINE;
}

int begin_ask(begin *all)
{
    all->asked = all->count == 0;
    if (all->asked) {
        screen_words(
            "", "One question at a time. ? explains it, Enter leaves out what may be left out, Ctrl-C ends; "
                "nothing is written before the end.");
    }
    for (size_t i = 0; i < begin_question_count; i++) {
        const begin_question *question = &begin_questions[i];
        if (!is_open(all, question))
            continue;
        got how = ask_again(all, question);
        while (how == GOT_LINE && question->need == NEED_ANY && all->asked)
            how = ask_again(all, question);
        if (begin_is_over(how))
            return how == GOT_STOPPED ? EXIT_NEGATIVE : EXIT_WRONG;
    }
    return begin_is_over(ask_titles(all)) ? EXIT_WRONG : EXIT_DONE;
}
