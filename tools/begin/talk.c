/* The questions one after the other, and back again: what comes next follows from the last question and
 * whether it was answered, so an answer can be taken back by forgetting it. */
#include "begin/ask.h"
#include "screen/screen.h"
#include <assert.h>
#include <stdlib.h>
#include <string.h>

/* Those that only one kind of answer needs. */
static bool is_wanted(const begin *all, const begin_question *question)
{
    const char *answer = begin_value(all, 0, "answer");
    return question->only == NULL || (answer != NULL && strcmp(answer, question->only) == 0);
}

static bool is_version(const begin_question *question)
{
    return strcmp(question->key, "version") == 0;
}

/* Whether the question is open: everything for whoever sits there, else only what must be told. */
static bool is_open(const begin *all, const begin_question *question)
{
    if (question->kind != all->kind || question->of_version || !is_wanted(all, question))
        return false;
    if (is_version(question))
        return all->asked || begin_version(all, 0) == all->count;
    return all->asked || (question->need == NEED_MUST && begin_value(all, 0, question->key) == NULL);
}

static const begin_question *first_open(const begin *all, size_t from)
{
    for (size_t i = from; i < begin_question_count; i++)
        if (is_open(all, &begin_questions[i]))
            return &begin_questions[i];
    return NULL;
}

/* The next question about a version, behind the one at `from`. */
static const begin_question *next_of_version(const begin *all, size_t from)
{
    for (size_t i = from; i < begin_question_count; i++)
        if (begin_questions[i].kind == all->kind && begin_questions[i].of_version)
            return &begin_questions[i];
    return NULL;
}

static const begin_question *next_question(const begin *all, const begin_question *last, bool told)
{
    if (last == NULL)
        return first_open(all, 0);
    size_t behind = (size_t)(last - begin_questions) + 1;
    if (is_version(last) && told)
        return next_of_version(all, 0);
    if (is_version(last) && begin_version(all, 0) == all->count)
        return last; /* there is at least one */
    if (last->need == NEED_ANY && told && !is_version(last))
        return last;
    if (last->of_version) {
        const begin_question *next = next_of_version(all, behind);
        if (next != NULL)
            return next;
        const begin_question *version = begin_find_question(all->kind, false, "version");
        return all->asked ? version : first_open(all, (size_t)(version - begin_questions) + 1);
    }
    return first_open(all, behind);
}

/* One good answer into `line`. */
static got ask_one(const begin *all, const begin_question *question, char *line)
{
    char sign[LINE];
    bool sign_wanted = question->form == FORM_SIGN || question->form == FORM_DATUM;
    screen_line();
    for (;;) {
        got how = begin_ask_line(question->ask, question->explain, line);
        if (how == GOT_END)
            fprintf(stderr, "help: as a word of the command it is: %s=\n", question->key);
        if (how == GOT_NOTHING && question->need == NEED_MUST)
            screen_words("  ", question->explain);
        else if (how != GOT_LINE)
            return how;
        if (how == GOT_NOTHING)
            continue;
        if (sign_wanted && strstr(line, ": ") == NULL) {
            how = begin_ask_sign(all, question, line, sign);
            if (begin_is_over(how))
                return how;
            if (how != GOT_LINE)
                continue;
            memcpy(line, sign, sizeof sign);
        }
        if (begin_pick(all, question, line) && begin_check_value(all, question, line))
            return GOT_LINE;
    }
}

static bool remember(begin *all, const begin_question *question, bool told)
{
    begin_step *past = realloc(all->past, (all->past_count + 1) * sizeof *past);
    if (past == NULL)
        return false;
    all->past = past;
    past[all->past_count++] = (begin_step){question, told};
    return true;
}

void begin_step_back(begin *all)
{
    if (all->past_count == 0) {
        screen_words("  ", "This is the first question.");
        return;
    }
    assert(all->past != NULL);
    begin_step last = all->past[--all->past_count];
    if (last.told)
        begin_drop_last(all);
    all->next = last.question;
}

/* Titles of versions that came from the command line without one. */
static bool have_titles(const begin *all)
{
    for (size_t at = begin_version(all, 0); at < all->count; at = begin_version(all, at + 1)) {
        if (begin_value(all, at, "title") != NULL)
            continue;
        fprintf(stderr, "corewright: error: version=%s: a title= is wanted behind it\n",
                all->words[at].value);
        return false;
    }
    return true;
}

int begin_ask(begin *all)
{
    char line[LINE];
    if (all->past == NULL && all->next == NULL) {
        all->asked = all->count == 0;
        all->next = next_question(all, NULL, false);
        if (all->asked)
            screen_words(
                "",
                "One question at a time. ? explains it, Enter leaves out what may be left out, back takes "
                "the last answer back, Ctrl-C ends; nothing is written before the end.");
    }
    while (all->next != NULL) {
        got how = ask_one(all, all->next, line);
        if (begin_is_over(how))
            return how == GOT_STOPPED ? EXIT_NEGATIVE : EXIT_WRONG;
        if (how == GOT_BACK) {
            begin_step_back(all);
            continue;
        }
        bool told = how == GOT_LINE;
        if ((told && !begin_add(all, all->next->key, line)) || !remember(all, all->next, told))
            return explain_status(CW_NO_MEMORY, "begin", NULL);
        all->next = next_question(all, all->next, told);
    }
    return have_titles(all) ? EXIT_DONE : EXIT_WRONG;
}

int begin_mend(begin *all, size_t index)
{
    char line[LINE];
    begin_word *word = &all->words[index];
    bool of_version = begin_version(all, 0) < index;
    const begin_question *question = begin_find_question(all->kind, of_version, word->key);
    if (question == NULL)
        question = begin_find_question(all->kind, false, word->key);
    screen_line();
    screen_say("", "So it cannot stand, and nothing was written yet. It was: %s. Once more:", word->value);
    got how = ask_one(all, question, line);
    while (how == GOT_NOTHING)
        how = ask_one(all, question, line);
    if (begin_is_over(how))
        return how == GOT_STOPPED ? EXIT_NEGATIVE : EXIT_WRONG;
    if (how == GOT_BACK) {
        begin_step_back(all);
        return begin_ask(all);
    }
    char *value = strdup(line);
    if (value == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    free(word->value);
    word->value = value;
    return EXIT_DONE;
}
