#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TOP = 5 };

void report_paragraphs(const char *const *paragraphs, size_t count)
{
    for (size_t i = 0; i < count; i++)
        screen_words("  ", paragraphs[i]);
}

static void bar(const char *name, double probability, double low, double high)
{
    char buffer[16];
    char spread[48];
    const char *shown = screen_chance(probability, buffer);
    if (high - low > 0.01) {
        snprintf(spread, sizeof spread, "%.0f-%.0f %%", low * 100, high * 100);
        shown = spread;
    }
    screen_bar(name, probability, shown);
}

/* Units and "not listed" in one order, then what is left. */
static void top_units(const cw_ranking *ranking)
{
    size_t shown = 0;
    double rest = 1 - ranking->not_listed;
    bool told = false;
    for (; shown < ranking->count && shown < TOP; shown++) {
        const cw_line *line = &ranking->lines[shown];
        if (!told && ranking->not_listed > line->probability) {
            bar("in no list", ranking->not_listed, 0, 0);
            told = true;
        }
        if (shown > 0 && line->probability < 0.005)
            break;
        bar(line->title, line->probability, line->low, line->high);
        rest -= line->probability;
    }
    char others[40];
    snprintf(others, sizeof others, "%zu others together", ranking->count - shown);
    if (shown < ranking->count && rest > 0.0005)
        bar(others, rest, 0, 0);
    if (!told)
        bar("in no list", ranking->not_listed, 0, 0);
}

static void top_causes(const cw_ranking *ranking)
{
    for (size_t i = 0; i < ranking->count && i < TOP; i++) {
        if (i > 0 && ranking->lines[i].probability < 0.005)
            break;
        bar(ranking->lines[i].title, ranking->lines[i].probability, ranking->lines[i].low,
            ranking->lines[i].high);
    }
    bar("no fault in the unit itself", ranking->no_fault, 1 - ranking->unit_at_fault_high,
        1 - ranking->unit_at_fault_low);
}

cw_status report_top(cw_session *session)
{
    const cw_ranking *ranking;
    cw_status status = cw_session_ranking(session, 0, &ranking);
    if (status != CW_OK || ranking->stopped)
        return status;
    if (!ranking->possible)
        screen_tone(TONE_ALARM, "  ",
                    "The answers together fit nothing the packs know: one of them is wrong.");
    if (ranking->of_units)
        top_units(ranking);
    else
        top_causes(ranking);
    return CW_OK;
}

/* "a; b; c"; the caller frees it. NULL when memory fails. */
static char *join(const char *const *items, size_t count)
{
    size_t size = 1;
    for (size_t i = 0; i < count; i++)
        size += strlen(items[i]) + 2;
    char *joined = calloc(size, 1);
    size_t at = 0;
    for (size_t i = 0; joined != NULL && i < count; i++)
        at += (size_t)snprintf(joined + at, size - at, "%s%s", i > 0 ? "; " : "", items[i]);
    return joined;
}

bool report_hangs_on_unit(const cw_fact_info *fact)
{
    for (size_t i = 0; fact != NULL && fact->doubtful && i < fact->from_count; i++)
        if (fact->from_facts[i] != NULL && strcmp(fact->from_facts[i], "unit") == 0)
            return true;
    return false;
}

static void list_fact(const cw_fact_info *fact)
{
    const char *state = fact->contested              ? " (in dispute)"
                        : report_hangs_on_unit(fact) ? " (if it is that version)"
                        : fact->doubtful             ? " (too near a limit to call)"
                                                     : "";
    char *from = join(fact->from, fact->from_count);
    screen_say("   - ", "%s: %s%s, from %s", fact->title, fact->shown, state, from != NULL ? from : "");
    free(from);
}

cw_status report_list(cw_session *session)
{
    const cw_given *given;
    size_t count;
    cw_status status = cw_session_answers(session, &given, &count);
    if (status != CW_OK)
        return status;
    screen_words("", count > 0 ? "Told so far:" : "Nothing has been told so far.");
    for (size_t i = 0; i < count; i++) {
        char number[32];
        snprintf(number, sizeof number, "%4zu ", i + 1);
        screen_say(number, "%s: %s%s%s%s", given[i].title, given[i].shown, given[i].tool != NULL ? " (" : "",
                   given[i].tool != NULL ? given[i].tool : "", given[i].tool != NULL ? ")" : "");
    }
    const cw_fact_info *facts;
    status = cw_session_facts(session, &facts, &count);
    if (status == CW_OK && count > 0)
        screen_words("", "What follows from it:");
    for (size_t i = 0; status == CW_OK && i < count; i++)
        list_fact(&facts[i]);
    return status;
}

cw_status report_conflicts(cw_session *session)
{
    const cw_conflict_info *conflicts;
    size_t count;
    cw_status status = cw_session_conflicts(session, &conflicts, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++) {
        screen_tone(TONE_ALARM, "! ", "Two things that cannot both be:");
        for (size_t k = 0; k < conflicts[i].side_count; k++) {
            const cw_conflict_side *side = &conflicts[i].sides[k];
            screen_say("  ", "%s %s: %s", k == 0 ? "On one side" : "On the other", conflicts[i].title,
                       side->value);
            for (size_t j = 0; j < side->proof_count; j++)
                screen_words("     ", side->proof[j]);
        }
        screen_say("  ",
                   "Until that is settled, %s counts neither way. Look again at the readings above and put "
                   "right the "
                   "wrong one (change, and its name).",
                   conflicts[i].title);
    }
    return status;
}

void report_check_cautions(const cw_check_info *check)
{
    for (size_t i = 0; i < check->caution_count; i++)
        screen_tone(TONE_ALARM, "   ! ", check->cautions[i]->say);
}

void report_alike(const cw_next *next)
{
    for (size_t i = 0; i < next->alike_count; i++) {
        const cw_alike *group = &next->alike[i];
        screen_words("  ", "With what may be done here these cannot be told apart:");
        for (size_t k = 0; k < group->count; k++)
            screen_words("    - ", group->titles[k]);
        char minutes[40];
        if (group->tells != NULL)
            screen_say("  ", "The cheapest check that would: %s (%s, %s). %s", group->tells->title,
                       group->tells_place, screen_minutes(group->tells_minutes, minutes), group->tells->ask);
        else
            screen_words("  ", "No check in the packs would tell them apart.");
    }
}
