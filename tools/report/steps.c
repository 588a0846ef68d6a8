#include "report/steps.h"
#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool steps_wait_for_unit(const cw_step_info *step)
{
    for (size_t i = 0; i < step->tell_count; i++)
        if (strcmp(step->tells[i]->name, "unit") == 0)
            return true;
    return false;
}

static void say_part(const cw_step_info *step)
{
    const char *doubt = step->doubtful ? " (in doubt: measure again first)" : "";
    if (step->verdict == NULL)
        return;
    if (step->fitted != NULL)
        screen_say("   ", "New: %s%s", step->fitted, doubt);
    else
        screen_say("   ", "%s: %s%s", step->part_title,
                   strcmp(step->verdict, "rework") == 0 ? "reworked" : "the old one goes in again", doubt);
}

static void say_condition(const cw_step_info *step)
{
    if (!step->perhaps)
        return;
    screen_say("   ", "Only if: %s", step->condition);
    for (size_t i = 0; i < step->tell_count && i < 3; i++)
        screen_say("   ", "%s %s", i == 0 ? "That is told by:" : "or by:", step->tells[i]->title);
    if (step->instead_of_title != NULL)
        screen_say("   ", "Then in place of: %s", step->instead_of_title);
}

void report_step(const cw_step_info *step)
{
    for (size_t i = 0; i < step->caution_count; i++)
        screen_tone(TONE_ALARM, "   ! ", step->cautions[i]->say);
    say_condition(step);
    say_part(step);
    screen_tone(TONE_STRONG, "   ", step->action);
    if (step->tool != NULL)
        screen_say("   ", "With: %s", step->tool);
    if (step->figure != NULL)
        screen_say("   ", "Figure: %s", step->figure);
    if (step->picture != NULL)
        screen_say("   ", "Drawing: %s", step->picture);
}

static void say_comebacks(const cw_step_info *step)
{
    char *titles = NULL;
    size_t size;
    FILE *memory = step->comeback_count > 0 ? open_memstream(&titles, &size) : NULL;
    if (memory == NULL)
        return;
    for (size_t i = 0; i < step->comeback_count; i++)
        fprintf(memory, "%s%s", i > 0 ? "; " : "", step->comes_back_as[i].title);
    if (fclose(memory) == 0)
        screen_say("   ", "It comes back as: %s", titles);
    free(titles);
}

void report_mistake(const cw_step_info *step)
{
    if (step->mistake == NULL)
        screen_words("   ", "The packs tell of no mistake here.");
    else
        screen_say("   ", "Mistake: %s", step->mistake);
    say_comebacks(step);
    if (step->because != NULL)
        screen_words("   ", step->because);
    screen_say("   ", "Source: %s", step->source);
}

static cw_status say_unit(cw_session *session)
{
    const cw_given *given;
    size_t count;
    cw_status status = cw_session_answers(session, &given, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++)
        if (strcmp(given[i].check, "unit") == 0)
            screen_say("", "%s: %s", given[i].title, given[i].shown);
    return status;
}

static cw_status say_cautions(cw_session *session)
{
    const cw_caution_info *const *cautions;
    size_t count;
    cw_status status = cw_session_cautions(session, &cautions, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++)
        screen_tone(TONE_ALARM, "! ", cautions[i]->say);
    return status;
}

cw_status report_steps_head(cw_session *session, const cw_steps *steps)
{
    cw_status status = report_conflicts(session);
    if (status == CW_OK)
        status = say_unit(session);
    if (status == CW_OK)
        status = say_cautions(session);
    if (status != CW_OK)
        return status;
    if (steps->stopped) {
        screen_words("", "Here the advice ends.");
        return CW_OK;
    }
    size_t waiting = 0;
    for (size_t i = 0; i < steps->count; i++)
        waiting += steps_wait_for_unit(&steps->list[i]);
    if (waiting > 0)
        screen_say("",
                   "Which unit it is was not told: %zu more step%s to certain units. Say which: --unit NAME",
                   waiting, waiting == 1 ? " belongs" : "s belong");
    if (steps->count == 0)
        screen_words("", "The packs hold no steps of assembly.");
    return CW_OK;
}

cw_status report_steps(cw_session *session, const cw_steps *steps)
{
    screen_rule("Putting it together");
    cw_status status = report_steps_head(session, steps);
    if (status == CW_OK && steps->count > 0)
        screen_words("", "A caution stands before its step. Local codes and licensed practice come first.");
    size_t number = 0;
    for (size_t i = 0; status == CW_OK && i < steps->count; i++) {
        const cw_step_info *step = &steps->list[i];
        if (steps_wait_for_unit(step))
            continue;
        char head[32];
        screen_line();
        snprintf(head, sizeof head, "[ ] %zu. ", ++number);
        screen_tone(TONE_STRONG, head, step->title);
        report_step(step);
        if (step->mistake != NULL)
            report_mistake(step);
    }
    return status;
}
