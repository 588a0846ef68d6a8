/* The unit in standard terms for people: to order parts by, and to begin a new family from. */
#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <string.h>

/* Below this share a swap is not worth a line. */
#define WORTH_TELLING 0.03

static void say_sides(const cw_conflict_info *conflict)
{
    for (size_t i = 0; conflict != NULL && i < conflict->side_count; i++) {
        const cw_conflict_side *side = &conflict->sides[i];
        screen_say("      - ", "%s: %s", side->value, side->because != NULL ? side->because : "told so.");
        if (side->because != NULL && side->proof_count > 0)
            screen_words("        ", side->proof[0]);
    }
}

/* A reading may stand there twice: asked for, and read by a formula. */
static bool said_before(const cw_fact_info *why, size_t at)
{
    for (size_t i = 0; i < at; i++)
        if (!why->from_absent[i] && strcmp(why->from[i], why->from[at]) == 0)
            return true;
    return false;
}

/* What is there counts as its ground; of what is not there, the rule's own words tell. */
static void say_rule(const cw_fact_info *why)
{
    char from[600] = "";
    size_t at = 0;
    for (size_t i = 0; i < why->from_count && at < sizeof from; i++)
        if (!why->from_absent[i] && !said_before(why, i))
            at += (size_t)snprintf(from + at, sizeof from - at, "%s%s", at > 0 ? "; " : "", why->from[i]);
    screen_say("      ", "%s%s%s (%s)", from, at > 0 ? ". " : "", why->because, why->source);
}

static void say_line(const cw_description_line *line)
{
    const char *doubt = line->doubtful ? " (too near a limit to call; measure again)" : "";
    if (line->by == CW_KNOWN_BY_CONFLICT) {
        screen_tone(TONE_ALARM, "    ", line->title);
        screen_say("      ", "In dispute, and not settled here: %s", line->shown);
        say_sides(line->conflict);
        return;
    }
    const char *told = line->by == CW_KNOWN_BY_ANSWER ? " [told]" : "";
    screen_say("    ", "%s: %s%s%s%s", line->title, line->shown, told, doubt,
               line->contested ? " (rests on something in dispute)" : "");
    if (line->why != NULL)
        say_rule(line->why);
}

static bool swap_seen(const cw_description_heading *heading, size_t line, size_t swap)
{
    const cw_check_info *check = heading->lines[line].swaps[swap].check;
    for (size_t i = 0; i <= line; i++)
        for (size_t k = 0; k < (i < line ? heading->lines[i].swap_count : swap); k++)
            if (heading->lines[i].swaps[k].check == check)
                return true;
    return false;
}

/* What under this heading may be another unit's: each look once, the likeliest share named. */
static void say_swaps(const cw_description_heading *heading)
{
    char names[600] = "";
    size_t at = 0;
    double most = 0;
    for (size_t i = 0; i < heading->count; i++)
        for (size_t k = 0; k < heading->lines[i].swap_count; k++) {
            const cw_swap_risk *swap = &heading->lines[i].swaps[k];
            if (swap->share < WORTH_TELLING || swap_seen(heading, i, k) || at >= sizeof names)
                continue;
            at += (size_t)snprintf(names + at, sizeof names - at, "%s%s (%.0f of 100)", at > 0 ? ", " : "",
                                   swap->check->title, swap->share * 100);
            most = swap->share > most ? swap->share : most;
        }
    if (at > 0)
        screen_say("    ! ", "May have been changed by an earlier rebuild or an owner: %s.%s", names,
                   most >= 0.1 ? " Compare with what the vehicle calls for before you order." : "");
}

static void say_heading(const cw_description_heading *heading)
{
    size_t known = 0;
    for (size_t i = 0; i < heading->count; i++)
        known += heading->lines[i].by != CW_KNOWN_BY_NOTHING;
    if (known == 0)
        return;
    screen_tone(TONE_STRONG, "  ", heading->title);
    for (size_t i = 0; i < heading->count; i++)
        if (heading->lines[i].by != CW_KNOWN_BY_NOTHING)
            say_line(&heading->lines[i]);
    say_swaps(heading);
}

/* The n-th line of all, NULL past the end. */
static const cw_description_line *line_at(const cw_description *all, size_t n)
{
    for (size_t i = 0; i < all->count; n -= all->headings[i++].count)
        if (n < all->headings[i].count)
            return &all->headings[i].lines[n];
    return NULL;
}

static bool same_look(const cw_description_line *a, const cw_description_line *b)
{
    return a->teller_count > 0 && b->teller_count > 0 && a->tellers[0].check == b->tellers[0].check &&
           a->untold == b->untold;
}

/* Lines that one look would tell are told together. */
static void say_missing(const cw_description *all, size_t from)
{
    const cw_description_line *first = line_at(all, from), *other;
    char names[600] = "", minutes[40];
    for (size_t i = 0; i < from; i++)
        if (same_look(line_at(all, i), first))
            return;
    const cw_teller *look = &first->tellers[0];
    size_t at = 0;
    for (size_t i = from; (other = line_at(all, i)) != NULL && at < sizeof names; i++)
        if (same_look(other, first) && strcmp(other->title, look->check->title) != 0)
            at += (size_t)snprintf(names + at, sizeof names - at, "%s%s", at > 0 ? "; " : ": for ",
                                   other->title);
    screen_say("    - ", "%s (%s, %s%s)%s", look->check->title, look->place,
               screen_minutes(look->minutes, minutes), first->untold ? "; was left open" : "", names);
}

cw_status report_description(cw_session *session)
{
    const cw_description *all;
    cw_status status = cw_session_description(session, &all);
    if (status != CW_OK || all->known + all->missing == 0)
        return status;
    screen_line();
    screen_rule("Description, to order parts by");
    for (size_t i = 0; i < all->count; i++)
        say_heading(&all->headings[i]);
    if (all->missing > 0)
        screen_words("  ", "Not known, and the cheapest look that would tell:");
    const cw_description_line *line;
    for (size_t i = 0; (line = line_at(all, i)) != NULL; i++)
        if (line->teller_count > 0)
            say_missing(all, i);
    return CW_OK;
}
