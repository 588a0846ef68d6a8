/* One question: its words, what it takes, why it is asked, its cautions; then lines until one is an answer.
 */
#include "report/report.h"
#include "screen/screen.h"
#include "talk/inside.h"
#include <stdio.h>
#include <string.h>

static void show_choices(const cw_check_info *check)
{
    for (size_t i = 0; i < check->choice_count; i++) {
        char number[32];
        snprintf(number, sizeof number, "   %2zu  ", i + 1);
        screen_words(number, check->choices[i].title);
    }
}

static void show_kind(const cw_check_info *check)
{
    switch (check->kind) {
    case CW_ANSWER_YES_OR_NO:
        screen_words("   ", "yes or no");
        return;
    case CW_ANSWER_CHOICE:
        show_choices(check);
        return;
    case CW_ANSWER_COUNT:
        screen_say("   ", "a number from %ld to %ld", check->count_low, check->count_high);
        return;
    case CW_ANSWER_MEASURE:
        screen_say("   ", "%s to %s; other units are understood%s%s%s%s", check->range_low, check->range_high,
                   check->tool_count > 1 ? "; by " : "", check->tool_count > 1 ? check->tools[0] : "",
                   check->tool_count > 1 ? " if you do not say " : "",
                   check->tool_count > 1 ? check->tools[1] : "");
        return;
    case CW_ANSWER_UNIT:
        screen_words("   ", "a family, frame or version by its name or title, or: not listed");
        return;
    case CW_ANSWER_TEXT:
        screen_words("   ", "letters and figures as they stand there");
        return;
    }
}

static void show(talk_state *talk, const cw_check_info *check, const cw_next_check *next, const char *worth)
{
    char title[320];
    char minutes[40];
    screen_line();
    snprintf(title, sizeof title, "%zu. %s", ++talk->asked, check->title);
    screen_rule(title);
    const char *place = next != NULL ? next->place : check->place_count > 0 ? check->places[0] : "";
    screen_say("   ", "at: %s, %s", place,
               screen_minutes(next != NULL ? next->minutes : check->minutes, minutes));
    report_check_cautions(check);
    if (next != NULL && next->opens)
        screen_tone(TONE_ALARM, "   ", "This opens the unit, and that cannot be undone.");
    if (next != NULL)
        screen_tone(TONE_QUIET, "   ", next->why);
    if (worth != NULL)
        screen_tone(TONE_QUIET, "   ", worth);
    screen_tone(TONE_STRONG, "   ", check->ask);
    show_kind(check);
}

talk_turn talk_ask(talk_state *talk, const cw_check_info *check, const cw_next_check *next, const char *worth)
{
    show(talk, check, next, worth);
    const char *place = next != NULL ? next->place : check->place_count == 1 ? check->places[0] : NULL;
    const char *line = NULL;
    for (;;) {
        talk_turn turn = TURN_GO_ON;
        if (line == NULL)
            turn = talk_read("> ", &line);
        if (turn != TURN_GO_ON)
            return turn;
        const char *now = line;
        line = NULL;
        if (now[0] == '\0') {
            screen_words("  ", "An answer, or: ? why skip back change list done help");
            continue;
        }
        if (!talk_command(talk, now, check, next, &turn))
            turn = talk_give(talk, check, now, place, &line);
        if (turn != TURN_AGAIN)
            return turn;
    }
}
