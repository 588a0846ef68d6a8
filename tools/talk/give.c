/* Answers in the conversation: given, asked about, taken back, kept. */
#include "screen/screen.h"
#include "talk/inside.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

talk_turn talk_status(talk_state *talk, cw_status status)
{
    if (status == CW_OK)
        return TURN_GO_ON;
    talk->exit_status = explain_status(status, "the session", NULL);
    return TURN_FAILED;
}

talk_turn talk_read(const char *prompt, const char **line)
{
    switch (input_line(prompt, line)) {
    case INPUT_LINE:
        return TURN_GO_ON;
    case INPUT_EOF:
        return TURN_EOF;
    case INPUT_STOPPED:
        return TURN_STOPPED;
    case INPUT_FAILED:
        break;
    }
    return TURN_EOF; /* a terminal that is gone */
}

talk_turn talk_confirm(const char *question, const char **other)
{
    static const char *const yes[] = {"y", "yes", "yep", "yeah", "right", "ok"};
    static const char *const no[] = {"n", "no", "nope", "wrong"};
    const char *line;
    screen_words("", question);
    talk_turn turn = talk_read("(y/n) > ", &line);
    if (turn != TURN_GO_ON)
        return turn;
    for (size_t i = 0; i < sizeof yes / sizeof *yes; i++) {
        if (strcasecmp(line, yes[i]) == 0)
            return TURN_GO_ON;
    }
    *other = line;
    for (size_t i = 0; i < sizeof no / sizeof *no; i++) {
        if (strcasecmp(line, no[i]) == 0)
            *other = NULL;
    }
    return TURN_AGAIN;
}

/* A job that cannot be kept is said once, goes on, and ends with the machine's failure. */
void talk_save(talk_state *talk)
{
    if (talk->exit_status == EXIT_FAILED)
        return;
    int status = setup_save(talk->setup, talk->complaint);
    if (status != EXIT_DONE)
        talk->exit_status = status;
}

static char *copy(const char *text)
{
    return text != NULL ? strdup(text) : NULL;
}

static void undo_free(undo_step *undo)
{
    free(undo->check);
    free(undo->value);
    free(undo->tool);
    free(undo->place);
}

/* What stands there now, to be put back by `back`. */
static bool remember(talk_state *talk, const cw_check_info *check, undo_step *out)
{
    const cw_given *given;
    size_t count;
    *out = (undo_step){.check = strdup(check->name), .number = talk->asked};
    if (out->check == NULL || cw_session_answers(talk->session, &given, &count) != CW_OK)
        return false;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(given[i].check, check->name) != 0)
            continue;
        out->value = strdup(given[i].value);
        out->tool = copy(given[i].tool);
        out->place = copy(given[i].place);
        return out->value != NULL;
    }
    return true;
}

static bool push(talk_state *talk, const undo_step *one)
{
    undo_step *undos = realloc(talk->undos, (talk->undo_count + 1) * sizeof *undos);
    if (undos == NULL)
        return false;
    talk->undos = undos;
    undos[talk->undo_count++] = *one;
    return true;
}

/* What was wrong with it. The choices stand above already, with their numbers. */
static void explain(const cw_check_info *check, const cw_messages *messages)
{
    for (size_t i = 0; i < cw_messages_count(messages); i++) {
        const cw_message *message = cw_messages_at(messages, i);
        screen_say("  ", "%s.", message->text);
        if (message->help != NULL && strncmp(message->help, "one of: ", 8) == 0 && check->choice_count > 0)
            screen_words("  ", "Say a number of the list or its words; or: skip");
        else if (message->help != NULL)
            screen_words("  ", message->help);
    }
}

/* What is left open where nothing stood changes nothing that would have to be shown again. */
static bool tells_something(const talk_state *talk, const undo_step *before)
{
    const cw_given *given;
    size_t count;
    if (before->value != NULL || cw_session_answers(talk->session, &given, &count) != CW_OK)
        return true;
    return count == 0 || !given[count - 1].cant_tell;
}

static talk_turn taken(talk_state *talk, undo_step *before, const char *place)
{
    if (tells_something(talk, before))
        talk->shown = false;
    if (!push(talk, before)) {
        undo_free(before);
        return talk_status(talk, CW_NO_MEMORY);
    }
    if (place != NULL)
        cw_session_here(talk->session, place);
    talk_save(talk);
    return TURN_GO_ON;
}

talk_turn talk_give(talk_state *talk, const cw_check_info *check, const char *text, const char *place,
                    const char **other)
{
    undo_step before;
    *other = NULL;
    if (!remember(talk, check, &before)) {
        undo_free(&before);
        return talk_status(talk, CW_NO_MEMORY);
    }
    cw_messages *messages;
    cw_status status = cw_session_answer(talk->session, check->name, text, NULL, place, &messages);
    if (status == CW_OK)
        return taken(talk, &before, place);
    undo_free(&before);
    explain(check, messages);
    cw_messages_free(messages);
    if (status == CW_NO_MEMORY)
        return talk_status(talk, status);
    const char *suggestion = cw_session_suggestion(talk->session);
    if (status != CW_UNCLEAR || suggestion == NULL)
        return TURN_AGAIN;
    char *meant = strdup(suggestion);
    char question[320];
    snprintf(question, sizeof question, "Take it as \"%s\"?", suggestion);
    talk_turn turn = talk_confirm(question, other);
    if (turn == TURN_GO_ON && meant != NULL)
        turn = talk_give(talk, check, meant, place, other);
    free(meant);
    return turn;
}

talk_turn talk_back(talk_state *talk)
{
    if (talk->undo_count == 0) {
        screen_words("  ", "There is no answer to take back.");
        return TURN_AGAIN;
    }
    undo_step *last = &talk->undos[talk->undo_count - 1];
    cw_status status;
    if (last->value == NULL)
        status = cw_session_withdraw(talk->session, last->check);
    else
        status = cw_session_answer(talk->session, last->check, last->value, last->tool, last->place, NULL);
    if (status != CW_OK)
        return talk_status(talk, status);
    talk->wanted = cw_pack_check(talk->pack, last->check, NULL);
    talk->shown = false;
    talk->asked = last->number > 0 ? last->number - 1 : 0; /* the question keeps its number */
    screen_say("  ", "Taken back: %s.", talk->wanted->title);
    undo_free(last);
    talk->undo_count--;
    talk_save(talk);
    return TURN_GO_ON;
}
