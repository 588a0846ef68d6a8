/* Asking for what begin needs: one question at a time, ? explains, Ctrl-C ends with nothing written. */
#include "begin.h"
#include "input.h"
#include "screen.h"
#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { LINE = 4200, MOST_SHOWN = 24 };

/* How an answer came in. */
typedef enum got {
    GOT_LINE,
    GOT_NOTHING,
    GOT_END,    /* the answers end, or memory does */
    GOT_STOPPED /* Ctrl-C */
} got;

static bool is_over(got how)
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
static got ask_line(const char *question, const char *explain, char *out)
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
        got how = ask_line(question, "yes writes it; no ends here, and nothing is written.", line);
        if (is_over(how))
            return false;
        if (how == GOT_LINE && (strcmp(line, "yes") == 0 || strcmp(line, "y") == 0))
            return true;
        if (how == GOT_LINE && (strcmp(line, "no") == 0 || strcmp(line, "n") == 0))
            return false;
        screen_words("", "yes or no?");
    }
}

static bool same_letters(const char *a, const char *b)
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

/* Something that has a name and a title. */
typedef bool (*named)(const cw_pack *pack, size_t index, const char **name, const char **title);

static bool part_named(const cw_pack *pack, size_t index, const char **name, const char **title)
{
    cw_part_entry part;
    if (!cw_pack_part_at(pack, index, &part))
        return false;
    *name = part.name;
    *title = part.title;
    return true;
}

static bool fact_named(const cw_pack *pack, size_t index, const char **name, const char **title)
{
    cw_fact_entry fact;
    if (!cw_pack_fact_at(pack, index, &fact))
        return false;
    *name = fact.name;
    *title = fact.title;
    return true;
}

/* The one of that name or title, or the only one that has these letters: its index. Else those that have them
 * are listed, or it is said that none has. */
static size_t look_up(const cw_pack *pack, named at, const char *words)
{
    const char *name, *title;
    size_t found = SIZE_MAX, count = 0;
    for (size_t i = 0; at(pack, i, &name, &title); i++) {
        if (same_letters(name, words) || same_letters(title, words))
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

/* The value's name for what somebody typed: a number of the list, a name, a title; NULL. */
static const char *value_for(const cw_pack *pack, size_t fact, const char *words)
{
    cw_choice_info value;
    char *end;
    long number = strtol(words, &end, 10);
    for (size_t i = 0; cw_pack_value_at(pack, fact, i, &value); i++)
        if (same_letters(value.name, words) || same_letters(value.title, words))
            return value.name;
    if (*end == '\0' && number > 0 && cw_pack_value_at(pack, fact, (size_t)number - 1, &value))
        return value.name;
    return NULL;
}

static got ask_frequency(const char *question, bool or_always, char *out)
{
    for (;;) {
        got how = ask_line(
            question,
            "A count, 17 of 20, a percentage, 85 %, or a word: always (98 of 100), usually (85), often "
            "(60), sometimes (30), rarely (8), never (1).",
            out);
        if (is_over(how) || (how == GOT_NOTHING && or_always) || (how == GOT_LINE && begin_is_frequency(out)))
            return how;
        screen_words(
            "  ", "Wanted is 17 of 20, 85 %, or one of: always, usually, often, sometimes, rarely, never.");
    }
}

static void list_values(const cw_pack *pack, size_t fact)
{
    cw_choice_info value;
    for (size_t i = 0; cw_pack_value_at(pack, fact, i, &value); i++) {
        char head[24];
        snprintf(head, sizeof head, "  %2zu  ", i + 1);
        screen_words(head, value.title);
    }
}

/* "value: how often" one behind the other, until Enter. */
static got ask_values(const begin *all, size_t fact, const char *name, char *sign)
{
    char line[LINE], often[LINE];
    size_t filled = (size_t)snprintf(sign, LINE, "%s: {", name);
    size_t count = 0;
    bool unit = all->kind == BEGIN_FAMILY;
    list_values(all->pack, fact);
    for (;;) {
        got how = ask_line(count == 0 ? "Which of these does it show?" : "And another one? (Enter: no more)",
                           "A number of the list, or the words themselves.", line);
        if (is_over(how))
            return how;
        if (how == GOT_NOTHING && count > 0)
            break;
        const char *value = how == GOT_LINE ? value_for(all->pack, fact, line) : NULL;
        if (value == NULL) {
            screen_words("  ", "A number of the list is wanted, or its words.");
            continue;
        }
        how = ask_frequency(unit ? "How often, of 100 such units? (Enter: always)"
                                 : "How often, of 100 jobs with this fault?",
                            unit && count == 0, often);
        if (is_over(how))
            return how;
        if (how == GOT_NOTHING) {
            snprintf(sign, LINE, "%s: %s", name, value);
            return GOT_LINE;
        }
        if (filled < LINE - 200)
            filled += (size_t)snprintf(sign + filled, LINE - filled, "%s%s: %.40s", count > 0 ? ", " : "",
                                       value, often);
        count++;
    }
    snprintf(sign + filled, LINE - filled, "}");
    return GOT_LINE;
}

static got ask_figure(const cw_check_info *check, const char *question, const char *explain, char *out)
{
    got how;
    do {
        how = ask_line(question, explain, out);
    } while (how == GOT_NOTHING || (how == GOT_LINE && !isdigit((unsigned char)out[0])));
    size_t size = strlen(out);
    if (how == GOT_LINE && check->unit[0] != '\0' && out[strspn(out, "0123456789., ")] == '\0' &&
        size < LINE - 40)
        snprintf(out + size, LINE - size, " %s", check->unit);
    return how;
}

static got ask_measure(const cw_check_info *check, const char *name, char *sign)
{
    char around[LINE], tolerance[LINE];
    got how = ask_figure(check, "How much does it measure when new?", "The figure with its unit, as 112 mm.",
                         around);
    if (how == GOT_LINE)
        how = ask_figure(check, "And how far do good ones differ from that, up or down?",
                         "The tolerance that holds 95 of 100 units, as 0.8 mm; not the error of the tape.",
                         tolerance);
    if (how == GOT_LINE)
        snprintf(sign, LINE, "%s: %.100s +/- %.100s", name, around, tolerance);
    return how;
}

static bool is_sign_of_patterns(char c)
{
    return strchr("\\^$.[]|()?*+{}'", c) != NULL;
}

/* How a stamped text begins, letters as they stand. */
static got ask_text(const char *name, char *sign)
{
    char line[LINE], often[LINE] = "always";
    got how;
    do {
        how = ask_line("How does what is stamped there begin?",
                       "The letters and figures that all of them begin with: T9. Finer patterns can be "
                       "written in the file.",
                       line);
    } while (how == GOT_NOTHING);
    if (how == GOT_LINE)
        how = ask_frequency("How often, of 100 such units? (Enter: always)", true, often);
    if (is_over(how))
        return how;
    size_t filled = (size_t)snprintf(sign, LINE, "%s: {like: '^", name);
    for (const char *at = line; *at != '\0' && filled < LINE - 200; at++)
        filled += (size_t)snprintf(sign + filled, LINE - filled, "%s%c%s",
                                   is_sign_of_patterns(*at) ? "\\" : "", *at, *at == '\'' ? "'" : "");
    snprintf(sign + filled, LINE - filled, "', how_often: %.60s}", how == GOT_NOTHING ? "always" : often);
    return GOT_LINE;
}

static got ask_sign(const begin *all, const char *words, char *sign)
{
    size_t at = look_up(all->pack, fact_named, words);
    cw_fact_entry fact;
    if (!cw_pack_fact_at(all->pack, at, &fact))
        return GOT_NOTHING;
    const cw_check_info *check = cw_pack_check(all->pack, fact.name, NULL);
    screen_tone(TONE_STRONG, "  ", fact.title);
    if (fact.value_count > 0)
        return ask_values(all, at, fact.name, sign);
    if (all->kind == BEGIN_FAMILY && fact.kind == CW_ANSWER_MEASURE && check != NULL)
        return ask_measure(check, fact.name, sign);
    if (all->kind == BEGIN_FAMILY && fact.kind == CW_ANSWER_TEXT)
        return ask_text(fact.name, sign);
    screen_words("  ", all->kind == BEGIN_CAUSE
                           ? "A reading is no sign of a fault: a rule concludes from it what is, and "
                             "that is the sign."
                           : "This is no sign of a unit.");
    return GOT_NOTHING;
}

/* A part by its name or its title. */
static bool name_part(const begin *all, char *line)
{
    const char *name, *title;
    size_t at = look_up(all->pack, part_named, line);
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
        got how = ask_line(question->ask, question->explain, line);
        if (is_over(how) || (how == GOT_NOTHING && question->need != NEED_MUST))
            return how;
        if (how == GOT_NOTHING)
            continue;
        if (question->form == FORM_SIGN && strstr(line, ": ") == NULL) {
            how = ask_sign(all, line, sign);
            if (is_over(how))
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
        if (is_over(how))
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
        if (is_over(how))
            return how == GOT_STOPPED ? EXIT_NEGATIVE : EXIT_WRONG;
    }
    return is_over(ask_titles(all)) ? EXIT_WRONG : EXIT_DONE;
}
