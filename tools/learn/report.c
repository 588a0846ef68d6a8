/* learn for people: what was counted, and where the shop contradicts the book. */
#include "learn/learn.h"
#include "screen/screen.h"
#include <math.h>

/* Of what moved: so many lines, from so many cases on, and no step smaller than from 50 to 55 %. */
enum { MOST_TOLD = 8, FEWEST = 3 };
#define LEAST_STEP 0.05

static void report_counts(const learn *all, const cw_learned_list *learned)
{
    const learn_counts *counts = &all->counts;
    screen_say("",
               "%zu file%s: %zu counted for causes, %zu for units, %zu without a label, %zu of a unit in no "
               "list, %zu "
               "stopped by a caution, %zu from the proof stage, %zu bad.",
               all->over.files.count, all->over.files.count == 1 ? "" : "s", counts->causes, counts->units,
               counts->no_label, counts->unlisted, counts->stopped, counts->rebuilt, counts->bad);
    if (learned->impossible > 0)
        screen_say("", "%zu finding%s that the packs call impossible: counted for nothing.",
                   learned->impossible, learned->impossible == 1 ? "" : "s");
    if (!learned->settled)
        screen_say("", "A sum was stopped before its last digit came to rest.");
}

static void report_one(const cw_learned *one)
{
    char words[256];
    learn_say(one, words, sizeof words);
    if (one->owner == NULL)
        screen_say("  ", "Nothing listed wrong, %s: %s", one->about_title, one->value_title);
    else if (one->kind == CW_LEARNED_LEADS_TO)
        screen_say("  ", "%s leads to: %s", one->owner_title, one->about_title);
    else if (one->about == NULL)
        screen_say("  ", "%s, how often it comes", one->owner_title);
    else
        screen_say("  ", "%s, %s: %s", one->owner_title, one->about_title, one->value_title);
    screen_words("    ", words);
}

/* How far a frequency moved, on the scale on which all are known equally well for as many cases. */
static double moved(const cw_learned *one)
{
    return fabs(asin(sqrt(one->posterior)) - asin(sqrt(one->book)));
}

/* The next one that moved most behind `last`, those of the same step in their order; NULL: none is left. */
static const cw_learned *next_moved(const cw_learned_list *learned, const cw_learned *last)
{
    const cw_learned *best = NULL;
    for (size_t i = 0; i < learned->count; i++) {
        const cw_learned *one = &learned->items[i];
        if (one->contradicts || one->of < FEWEST || moved(one) < LEAST_STEP)
            continue;
        bool behind = last == NULL || moved(one) < moved(last) || (moved(one) <= moved(last) && one > last);
        if (behind && (best == NULL || moved(one) > moved(best)))
            best = one;
    }
    return best;
}

/* The pack is long, and most of it hardly differs from the book: where to begin to read. */
static void report_moved(const cw_learned_list *learned)
{
    const cw_learned *one = next_moved(learned, NULL);
    if (one == NULL)
        return;
    screen_rule("What moved most, though not against the book");
    for (size_t told = 0; one != NULL && told < MOST_TOLD; told++) {
        report_one(one);
        one = next_moved(learned, one);
    }
    screen_line();
}

void learn_report(const learn *all, const cw_learned_list *learned)
{
    size_t told = 0;
    for (size_t i = 0; i < learned->count; i++) {
        if (!learned->items[i].contradicts)
            continue;
        if (told++ == 0)
            screen_rule("Where the shop contradicts the book");
        report_one(&learned->items[i]);
    }
    if (told > 0)
        screen_line();
    report_moved(learned);
    report_counts(all, learned);
    screen_say("", "%zu values learned, %zu of them against the book. Read %s before you use it.",
               learned->count, told, all->options->into);
}
