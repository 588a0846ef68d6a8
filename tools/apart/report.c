/* What cannot be told apart, for people. */
#include "apart/apart.h"
#include "screen/screen.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WORDS = 1200, ROWS = 15, GROUPS = 20, NAMED = 6, COLUMN = 19 };

/* Never rounded up to a certainty that is not reached. */
static void percent(double chance, char out[16])
{
    snprintf(out, 16, "%.0f %%", floor(chance * 100 + 1e-6));
}

static void count_line(const char *what, uint64_t count, uint64_t of)
{
    char line[120];
    if (count > 0)
        snprintf(line, sizeof line, "  %-52s %8llu %5.1f %%", what, (unsigned long long)count,
                 100 * (double)count / (double)of);
    else
        snprintf(line, sizeof line, "  %-52s %8s", what, "none");
    puts(line);
}

static void report_counts(const cw_apart *apart)
{
    char title[80], sure[16], words[80];
    percent(apart->sure, sure);
    snprintf(title, sizeof title, "%s: %zu, two by two %llu", apart->causes ? "Causes" : "Units",
             apart->count, (unsigned long long)apart->pairs);
    screen_rule(title);
    screen_say("  ",
               "Sure is: the right one of two is named in %s of cases, both being as likely beforehand%s.",
               sure, apart->causes ? ", each of them alone" : "");
    screen_line();
    if (apart->pairs == 0)
        return;
    count_line("one look is sure", apart->told[CW_APART_BY_ONE], apart->pairs);
    for (size_t p = 0; cw_place_at(p) != NULL && p < 4; p++) {
        snprintf(words, sizeof words, "  %c  the cheapest ends at: %s", apart_letter(cw_place_at(p)),
                 cw_place_at(p));
        if (apart->one_at[p] > 0)
            count_line(words, apart->one_at[p], apart->pairs);
    }
    count_line("several looks together are", apart->told[CW_APART_BY_SEVERAL], apart->pairs);
    count_line("told, but less surely", apart->told[CW_APART_LESS_SURELY], apart->pairs);
    count_line("nothing tells them", apart->told[CW_APART_BY_NOTHING], apart->pairs);
    screen_line();
}

static void name_members(const cw_apart *apart, const cw_apart_together *group, char *out, size_t size)
{
    size_t used = 0;
    for (size_t m = 0; m < group->count && m < NAMED && used < size; m++) {
        const int added = snprintf(out + used, size - used, "%s%s", m == 0 ? "" : "; ",
                                   apart->members[group->members[m]].title);
        used += added > 0 ? (size_t)added : 0;
    }
    if (group->count > NAMED && used < size)
        snprintf(out + used, size - used, "; and %zu more", group->count - NAMED);
}

static void report_group(const cw_apart *apart, const cw_apart_together *group)
{
    char words[WORDS], by[WORDS], sure[16], minutes[40];
    name_members(apart, group, words, sizeof words);
    screen_words("  - ", words);
    if (group->tells.count == 0)
        return;
    apart_words(&group->tells, by, sizeof by);
    percent(group->tells.certainty, sure);
    const char *how = group->only == NULL ? "It would take" : group->count > 2 ? "Parts some of them" : "By";
    screen_say("    ", "%s: %s, %s, %s sure.", how, by, screen_minutes(group->tells.minutes, minutes), sure);
}

static void report_groups(const cw_apart *apart)
{
    char title[80];
    const char *before = "";
    size_t told = 0;
    for (size_t g = 0; g < apart->group_count; g++) {
        const cw_apart_together *group = &apart->groups[g];
        const char *only = group->only != NULL ? group->only : "nothing";
        if (strcmp(only, before) != 0) {
            if (group->only == NULL)
                snprintf(title, sizeof title, "Nothing allowed tells these");
            else
                snprintf(title, sizeof title, "Only at the place %s", only);
            if (told > 0)
                screen_line();
            screen_rule(title);
            told = 0;
        }
        before = only;
        if (told++ < GROUPS)
            report_group(apart, group);
        else if (told == GROUPS + 1)
            screen_words("  - ", "and more; --json names all");
    }
    if (apart->group_count > 0)
        screen_line();
}

static void report_pair(const cw_apart *apart, const cw_apart_two *two)
{
    char head[40], words[WORDS], by[WORDS], sure[16];
    percent(two->way.certainty, sure);
    snprintf(head, sizeof head, "%8s  %c%c %5.4g", sure, apart_letter(two->way.place),
             two->circumstances ? '*' : ' ', two->way.minutes);
    snprintf(words, sizeof words, "%s | %s", apart->members[two->first].title,
             apart->members[two->second].title);
    screen_pair(head, COLUMN, words);
    apart_words(&two->way, by, sizeof by);
    screen_pair("", COLUMN + 2, by);
}

static void report_pairs(const cw_apart *apart)
{
    size_t count = 0;
    const cw_apart_two **order = calloc(apart->list_count + 1, sizeof *order);
    for (size_t i = 0; order != NULL && i < apart->list_count; i++)
        if (apart->list[i].told != CW_APART_BY_NOTHING)
            order[count++] = &apart->list[i];
    if (count > 0) {
        qsort(order, count, sizeof *order, apart_hardest_first);
        screen_rule("The hardest to tell");
        screen_pair("    sure  at   min", COLUMN, "by the cheapest looks that do");
        for (size_t i = 0; i < count && i < ROWS; i++)
            report_pair(apart, order[i]);
        if (count > ROWS)
            screen_say("  ", "%zu more with --json.", count - ROWS);
        if (apart->causes)
            screen_words("  ",
                         "* Circumstances that make the one likelier and not the other are not counted.");
        screen_line();
    }
    free(order);
}

static void report_smallest(const cw_apart *apart)
{
    const cw_apart_smallest *set = &apart->smallest;
    char places[60] = "", title[80], minutes[40];
    size_t used = 0;
    for (size_t p = 0; p < set->place_count; p++)
        used +=
            (size_t)snprintf(places + used, sizeof places - used, "%s%s", p == 0 ? "" : ", ", set->places[p]);
    snprintf(title, sizeof title, "Fewest checks: %s", places);
    screen_rule(title);
    if (set->count == 0) {
        screen_words("  ", "Nothing tells any two there.");
        return;
    }
    screen_say(
        "  ",
        "%zu of %zu checks settle as much as all: every two of %llu that are told there at all, surely or "
        "nearly as surely as by the best; %s for all of them.",
        set->count, set->of, (unsigned long long)set->pairs, screen_minutes(set->minutes, minutes));
    if (set->exact)
        screen_words("  ", "Proven: no fewer will do.");
    else
        screen_say("  ", "Not proven to be fewest: at least %zu are needed.", set->at_least);
    for (size_t i = 0; i < set->count; i++)
        screen_words("  - ", set->checks[i].check->title);
}

void apart_report(const cw_apart *apart)
{
    report_counts(apart);
    if (apart->pairs == 0)
        return;
    report_groups(apart);
    report_pairs(apart);
    report_smallest(apart);
    if (apart->left_out > 0)
        screen_say("  ", "%zu looks have too many answers together to be tried; they may tell more.",
                   apart->left_out);
    if (apart->cut_short)
        screen_tone(TONE_ALARM, "  ", "The steps ran out: what was not looked at may tell more.");
    screen_line();
}
