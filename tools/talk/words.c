/* The customer's own words come first. What they suggest is put to the person, who takes all, some or none.
 */
#include "screen/screen.h"
#include "talk/inside.h"
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* A suggestion that outlives the changes of the session. */
typedef struct guess {
    char *check, *answer, *say;
    bool right;
    bool joined; /* said by the same words as the one before: shown and confirmed with it */
} guess;

typedef struct guesses {
    guess *items;
    size_t count;
} guesses;

static void guesses_free(guesses *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].check);
        free(list->items[i].answer);
        free(list->items[i].say);
    }
    free(list->items);
}

static cw_status guesses_make(cw_session *session, const char *words, guesses *out)
{
    const cw_hint_info *hints;
    size_t count;
    *out = (guesses){NULL, 0};
    cw_status status = cw_session_hints(session, words, &hints, &count);
    if (status != CW_OK || count == 0)
        return status;
    out->items = calloc(count, sizeof *out->items);
    if (out->items == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        guess *one = &out->items[out->count++];
        *one = (guess){.check = strdup(hints[i].check),
                       .answer = strdup(hints[i].answer),
                       .say = strdup(hints[i].say),
                       .joined = i > 0 && strcmp(hints[i].say, hints[i - 1].say) == 0};
        if (one->check == NULL || one->answer == NULL || one->say == NULL)
            return CW_NO_MEMORY;
    }
    return CW_OK;
}

/* Takes the n-th line of the list, from 1, as right or not; false when there is no such line. */
static bool mark(guesses *list, size_t line, bool right)
{
    size_t at = 0;
    bool found = false;
    for (size_t i = 0; i < list->count; i++) {
        at += list->items[i].joined ? 0 : 1;
        if (at == line) {
            list->items[i].right = right;
            found = true;
        }
    }
    return found;
}

static void mark_all(guesses *list, bool right)
{
    for (size_t i = 0; i < list->count; i++)
        list->items[i].right = right;
}

/* "1 3" or "1,3": these are right. False when it is anything else. */
static bool mark_numbers(guesses *list, const char *line)
{
    mark_all(list, false);
    while (*line != '\0') {
        if (*line == ' ' || *line == ',') {
            line++;
            continue;
        }
        char *end;
        unsigned long number = isdigit((unsigned char)*line) ? strtoul(line, &end, 10) : 0;
        if (number == 0 || !mark(list, number, true))
            return false;
        line = end;
    }
    return true;
}

static bool is_one_of(const char *line, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcasecmp(line, words[i]) == 0)
            return true;
    }
    return false;
}

/* One line of the list. *rest is cleared when the person wants no more of them. */
static talk_turn ask_one(guesses *list, size_t line, const char *say, bool *rest)
{
    static const char *const open[] = {"skip", "can't tell", "cant tell", "don't know", "?"};
    char question[400];
    snprintf(question, sizeof question, "So %s?", say);
    for (;;) {
        const char *other = NULL;
        talk_turn turn = talk_confirm(question, &other);
        if (turn == TURN_GO_ON)
            mark(list, line, true);
        if (turn != TURN_AGAIN)
            return turn;
        *rest = other == NULL || strcasecmp(other, "done") != 0;
        if (other == NULL || !*rest || is_one_of(other, open, sizeof open / sizeof *open))
            return TURN_GO_ON;
        screen_words("  ", "y or n; skip leaves it out, done leaves out the rest.");
    }
}

static talk_turn one_by_one(guesses *list)
{
    size_t line = 0;
    bool rest = true;
    mark_all(list, false);
    for (size_t i = 0; i < list->count && rest; i++) {
        if (list->items[i].joined)
            continue;
        talk_turn turn = ask_one(list, ++line, list->items[i].say, &rest);
        if (turn != TURN_GO_ON)
            return turn;
    }
    return TURN_GO_ON;
}

static void show_guesses(const guesses *list)
{
    size_t line = 0;
    screen_words("  ", "That sounds like:");
    for (size_t i = 0; i < list->count; i++) {
        char number[32];
        if (list->items[i].joined)
            continue;
        snprintf(number, sizeof number, "   %2zu  ", ++line);
        screen_words(number, list->items[i].say);
    }
    screen_words("  ", "Is it so? y for all of it, n for none, the numbers of those that are right (1 3), or "
                       "Enter to go through them one by one.");
}

static talk_turn choose(guesses *list)
{
    show_guesses(list);
    for (;;) {
        const char *line;
        talk_turn turn = talk_read("> ", &line);
        if (turn != TURN_GO_ON)
            return turn;
        bool all = strcasecmp(line, "y") == 0 || strcasecmp(line, "yes") == 0;
        if (line[0] == '\0')
            return one_by_one(list);
        if (all || strcasecmp(line, "n") == 0 || strcasecmp(line, "no") == 0) {
            mark_all(list, all);
            return TURN_GO_ON;
        }
        if (mark_numbers(list, line))
            return TURN_GO_ON;
        screen_words("  ", "y, n, numbers of the list, or Enter.");
    }
}

static talk_turn take(talk_state *talk, const guesses *list)
{
    talk_turn turn = TURN_GO_ON;
    for (size_t i = 0; turn == TURN_GO_ON && i < list->count; i++) {
        const cw_check_info *check = cw_pack_check(talk->pack, list->items[i].check, NULL);
        const char *other;
        if (!list->items[i].right || check == NULL)
            continue;
        turn = talk_give(talk, check, list->items[i].answer, NULL, &other);
        turn = turn == TURN_AGAIN ? TURN_GO_ON : turn;
    }
    return turn;
}

static talk_turn confirm_words(talk_state *talk)
{
    guesses list;
    cw_status status = guesses_make(talk->session, talk->complaint, &list);
    talk_turn turn = TURN_GO_ON;
    if (status == CW_BAD_INPUT)
        screen_words("  ", "These words cannot be read: they are not UTF-8.");
    else if (status != CW_OK)
        turn = talk_status(talk, status);
    else if (list.count == 0)
        screen_words("  ", "Nothing in these words is known to the packs; on with the questions.");
    else
        turn = choose(&list);
    if (turn == TURN_GO_ON)
        turn = take(talk, &list);
    guesses_free(&list);
    return turn;
}

talk_turn talk_words(talk_state *talk)
{
    const char *line = talk->setup->options->words;
    bool triage = strcmp(cw_session_stage(talk->session), "triage") == 0;
    const char *from = talk->setup->carried.from;
    bool from_bench = from != NULL && strcmp(from, "proof") == 0; /* no customer has seen it yet */
    if (line == NULL && (!triage || talk->complaint != NULL || from_bench))
        return TURN_GO_ON;
    if (line == NULL) {
        screen_tone(TONE_STRONG, "", "What does the customer say? In free words; just Enter to go on.");
        talk_turn turn = talk_read("> ", &line);
        if (turn != TURN_GO_ON)
            return turn;
    }
    if (line[0] == '\0')
        return TURN_GO_ON;
    free(talk->complaint);
    talk->complaint = strdup(line);
    if (talk->complaint == NULL)
        return talk_status(talk, CW_NO_MEMORY);
    talk_save(talk);
    return confirm_words(talk);
}
