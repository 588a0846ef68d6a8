/* The open unit for people: part by part, the parts list, and whether it may be closed. */
#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <string.h>

enum { MONEY = 76 }; /* the column that prices end in */

static bool is(const cw_work_part *part, const char *verdict)
{
    return strcmp(part->verdict, verdict) == 0;
}

static void list_measures(const cw_work_part *part)
{
    char minutes[40];
    for (size_t i = 0; i < part->measure_count; i++)
        screen_say("    - ", "%s (%s)", part->measure[i]->title,
                   screen_minutes(part->measure[i]->minutes, minutes));
}

static void say_why(const cw_fact_info *why)
{
    for (size_t i = 0; i < why->from_count; i++)
        screen_words("      ", why->from[i]);
    screen_say("      ", "%s (%s)", why->because, why->source);
}

static void say_part(const cw_work_part *part)
{
    const char *doubt = part->disputed                    ? ", in dispute: two things that cannot both be"
                        : report_hangs_on_unit(part->why) ? ", in doubt: it hangs on the version of the unit"
                        : part->doubtful ? ", in doubt: a reading is too near its limit; measure again"
                                         : "";
    char head[600];
    if (part->always)
        snprintf(head, sizeof head, "%s: replace (changed at every rebuild)", part->title);
    else if (is(part, "open") && part->measure_count == 0)
        snprintf(head, sizeof head, "%s: not decided", part->title);
    else if (is(part, "open"))
        snprintf(head, sizeof head, "%s: still to measure%s%s%s", part->title,
                 part->so_far != NULL ? "; so far: " : "", part->so_far != NULL ? part->so_far : "", doubt);
    else
        snprintf(head, sizeof head, "%s: %s%s", part->title, part->verdict, doubt);
    screen_tone(is(part, "open") ? TONE_PLAIN : TONE_STRONG, "  ", head);
    if (part->why != NULL)
        say_why(part->why);
    list_measures(part);
    for (size_t i = 0; i < part->untold_count; i++)
        screen_say("      ", "Could not be told: %s", part->untold[i]);
}

static void price(const char *first, const char *title, double cost)
{
    char head[400], money[40] = "no price";
    snprintf(head, sizeof head, "%s%s ", first, title);
    if (cost > 0)
        snprintf(money, sizeof money, "%.2f", cost);
    screen_pair(head, MONEY - strlen(money), money);
}

/* What is ordered is the newest part; the steps to it stand below. */
static void order(const cw_work_part *part)
{
    const char *title = part->later_count > 0 ? part->later[part->later_count - 1].title : part->title;
    price(is(part, "replace") && !part->doubtful ? "  " : "  perhaps: ", title, part->cost);
    if (part->later_count == 0)
        return;
    screen_say("      ", "in place of: %s", part->title);
    for (size_t i = 0; i + 1 < part->later_count; i++)
        screen_say("      ", "and of: %s", part->later[i].title);
}

static void list_orders(const cw_work_part *list, size_t count, const cw_work_sum *sum)
{
    screen_line();
    screen_rule("Parts list");
    size_t told = 0;
    for (size_t i = 0; i < count; i++) {
        if (!is(&list[i], "replace") && list[i].so_far == NULL)
            continue;
        if (!is(&list[i], "replace") && strcmp(list[i].so_far, "replace") != 0)
            continue;
        order(&list[i]);
        told++;
    }
    if (told == 0)
        screen_words("  ", "Nothing has to be replaced, as far as measured.");
    if (sum->cost > 0)
        price("  ", "Together, for sure", sum->cost);
    if (sum->at_most > sum->cost)
        price("  ", "At most, with all that is doubtful or still open", sum->at_most);
    if (sum->without_price > 0)
        screen_say("  ", "Of these, and of those still open, %zu without a price.", sum->without_price);
}

static void say_finding(const cw_finding *finding)
{
    char chance[16];
    if (finding->explained)
        screen_say("    - ", "%s: %s. That comes from: %s (%s).", finding->title, finding->shown,
                   finding->cause_title, screen_chance(finding->probability, chance));
    else if (finding->cause != NULL)
        screen_say("    - ", "%s: %s. Likeliest: %s, but that has only %s.", finding->title, finding->shown,
                   finding->cause_title, screen_chance(finding->probability, chance));
    else
        screen_say("    - ", "%s: %s. Nothing listed shows that at least sometimes.", finding->title,
                   finding->shown);
}

static void say_findings(const cw_explained *all, bool explained)
{
    for (size_t i = 0; i < all->count; i++)
        if (all->findings[i].explained == explained)
            say_finding(&all->findings[i]);
}

static void say_explained(const cw_explained *all, const cw_work_sum *sum)
{
    screen_line();
    screen_rule("Before it is closed");
    if (all->count == 0)
        screen_words("  ", "Nothing out of the ordinary was told, so there is nothing to explain.");
    else if (all->explained)
        screen_tone(TONE_STRONG, "  ", "The complaint is explained:");
    else
        screen_tone(TONE_ALARM, "  ", "The complaint is not explained. Do not close the unit yet:");
    say_findings(all, false);
    if (all->unexplained > 0 && all->unexplained < all->count)
        screen_words("  ", "Explained:");
    say_findings(all, true);
    if (sum->open > 0)
        screen_say("  ", "Still open: %zu of the parts above.", sum->open);
    if (sum->doubtful > 0)
        screen_say("  ", "In doubt: %zu of the parts above.", sum->doubtful);
}

/* Where the packs say how it is put together, that comes next. */
static cw_status say_onward(cw_session *session, const char *kept)
{
    const cw_steps *steps;
    cw_status status = cw_session_steps(session, &steps);
    if (status == CW_OK && steps->count > 0)
        screen_say("  ", "How it goes together: corewright reassemble%s%s", kept != NULL ? " --case " : "",
                   kept != NULL ? kept : "");
    return status;
}

cw_status report_work(cw_session *session, const char *kept)
{
    const cw_work_part *list;
    size_t count;
    const cw_work_sum *sum;
    const cw_explained *all;
    cw_status status = cw_session_work(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_work_sum(session, &sum);
    if (status == CW_OK)
        status = cw_session_explained(session, &all);
    if (status != CW_OK)
        return status;
    screen_line();
    screen_rule("Part by part");
    for (size_t i = 0; i < count; i++)
        say_part(&list[i]);
    if (count == 0)
        screen_words("  ", "The packs say nothing about the parts.");
    list_orders(list, count, sum);
    say_explained(all, sum);
    return say_onward(session, kept);
}
