/* compare for people. */
#include "compare/compare.h"
#include "replay/replay.h"
#include "screen/screen.h"
#include <stdio.h>
#include <string.h>

enum { TOLD = 5, ROOM = 1024 };

static const char *const verdicts[] = {[COMPARE_SAME] = "as good as before",
                                       [COMPARE_BETTER] = "better",
                                       [COMPARE_WORSE] = "worse",
                                       [COMPARE_UNLABELLED] = "without a label",
                                       [COMPARE_ONLY_OLD] = "the new packs cannot take it",
                                       [COMPARE_ONLY_NEW] = "only the new packs can take it",
                                       [COMPARE_BAD] = "bad"};

/* The name of a line, by whichever version knows it. */
static const char *title_of(const compare *all, bool of_units, const char *name)
{
    const char *title = trial_title(all->packs[1], of_units, name);
    return strcmp(title, name) == 0 ? trial_title(all->packs[0], of_units, name) : title;
}

static void say_first(const compare *all, bool of_units, const compared *one)
{
    const trial_score *was = &one->was.score, *now = &one->now.score;
    char before[16], after[16];
    if (was->first[0] == '\0' || now->first[0] == '\0')
        return;
    if (one->first_changed)
        screen_say("    ", "First was: %s (%s). Now: %s (%s).", title_of(all, of_units, was->first),
                   screen_chance(was->first_said, before), title_of(all, of_units, now->first),
                   screen_chance(now->first_said, after));
}

static const char *place_of(const trial_score *score, char buffer[48])
{
    if (score->place == 0)
        snprintf(buffer, 48, "at no place");
    else
        snprintf(buffer, 48, "at place %zu", score->place);
    return buffer;
}

static void say_truth(const compare *all, bool of_units, const compared *one)
{
    const trial_score *was = &one->was.score, *now = &one->now.score;
    char place[48], next[48];
    if (!was->labelled || !now->labelled)
        return;
    screen_say("    ", "The right one was %s, now %s. The truth, %s, was given %.1f %%, now %.1f %%.",
               place_of(was, place), place_of(now, next), title_of(all, of_units, now->truth),
               100 * was->truth_said, 100 * now->truth_said);
}

static void say_wrong(const compared *one)
{
    char words[ROOM];
    for (int side = 0; side < 2; side++) {
        const trial *in = side == 0 ? &one->was : &one->now;
        for (size_t i = 0; i < in->wrong_count; i++) {
            replay_say_wrong(&in->wrong[i], words, sizeof words);
            screen_say("    ", "%s: %s", side == 0 ? "Was" : "Now", words);
        }
    }
}

/* "Rule a no longer concludes AC ripple: high." */
static void say_fact(const difference *one, char out[ROOM])
{
    const char *was_rule = one->was_rule != NULL ? one->was_rule : "?";
    const char *now_rule = one->now_rule != NULL ? one->now_rule : "?";
    const char *open = " (in doubt, so it counts neither way)";
    if (one->now == NULL)
        snprintf(out, ROOM, "Rule %s no longer concludes %s: %s.", was_rule, one->title, one->was);
    else if (one->was == NULL)
        snprintf(out, ROOM, "Rule %s now concludes %s: %s%s.", now_rule, one->title, one->now,
                 one->now_open ? open : "");
    else
        snprintf(out, ROOM, "%s was %s%s by rule %s; now %s%s by rule %s.", one->title, one->was,
                 one->was_open ? open : "", was_rule, one->now, one->now_open ? open : "", now_rule);
}

static void say_difference(const compare *all, bool of_units, const difference *one)
{
    char words[ROOM];
    const char *line = one->line != NULL ? title_of(all, of_units, one->line) : "";
    switch (one->kind) {
    case DIFFERS_LINE:
        snprintf(words, ROOM, "%s: only the %s packs know it.", line, one->in_new ? "new" : "old");
        break;
    case DIFFERS_FACT:
        say_fact(one, words);
        break;
    case DIFFERS_SEEN:
        snprintf(words, ROOM, "%s, before anything is told: was %.2g %%, now %.2g %%.", line,
                 100 * one->before, 100 * one->after);
        break;
    case DIFFERS_SIGN:
        snprintf(words, ROOM, "%s: %s counted %+.1f bits, now %+.1f.", line, one->title, one->before,
                 one->after);
        break;
    }
    screen_words("    - ", words);
}

static void say_differences(const compare *all, bool of_units, const differences *list)
{
    size_t told = 0, follow = 0;
    for (size_t i = 0; i < list->count; i++) {
        follow += list->list[i].follows;
        if (list->list[i].follows || told >= TOLD)
            continue;
        say_difference(all, of_units, &list->list[i]);
        told++;
    }
    size_t lesser = list->count - told - follow;
    if (lesser > 0)
        screen_say("    - ", "%zu lesser, and %zu that follow from these; --json tells all.", lesser, follow);
    else if (follow > 0)
        screen_say("    - ", "%zu more that follow from %s; --json tells all.", follow,
                   told == 1 ? "this" : "these");
    if (list->count == 0)
        screen_words(
            "    - ",
            "Nothing that speaks for these lines differs by 0.05 bits; what competes with them does.");
}

/* Why a version cannot take it. */
static void say_refusal(const trial *one)
{
    const cw_message *message = cw_messages_at(one->messages, 0);
    if (one->end == TRIAL_STOPPED)
        screen_words("    ", "A caution ends the advice.");
    else if (message != NULL)
        screen_say("    ", "Line %u: %s.", (unsigned)message->line, message->text);
    else if (one->problem != NULL)
        screen_say("    ", "For %s.", one->problem);
}

void compare_report_case(compare *all, const char *path, const compared *one)
{
    bool apart = one->verdict == COMPARE_ONLY_OLD || one->verdict == COMPARE_ONLY_NEW;
    bool changed = one->verdict == COMPARE_BETTER || one->verdict == COMPARE_WORSE || one->first_changed;
    if (!apart && !changed)
        return;
    progress_clear(&all->bar);
    if (all->told++ == 0)
        screen_rule("What changed");
    screen_say("  ", "%s: %s", path, verdicts[one->verdict]);
    if (apart) {
        say_refusal(one->verdict == COMPARE_ONLY_OLD ? &one->now : &one->was);
        return;
    }
    bool of_units = trial_of_units(one->now.stage);
    say_first(all, of_units, one);
    say_truth(all, of_units, one);
    say_wrong(one);
    say_differences(all, of_units, &one->differences);
}

static void report_stages(const compare *all)
{
    screen_rule("By stage: above with the old packs, below with the new");
    replay_table_head();
    for (size_t i = 0; i < TALLY_STAGES; i++) {
        if (all->tallies[0].stages[i].cases == 0)
            continue;
        replay_table_row(all->tallies[0].stages[i].stage, &all->tallies[0].stages[i]);
        replay_table_row("", &all->tallies[1].stages[i]);
    }
    tally_stage was = tally_sum(&all->tallies[0]), now = tally_sum(&all->tallies[1]);
    replay_table_row("all", &was);
    replay_table_row("", &now);
    screen_line();
}

void compare_report_sums(const compare *all)
{
    const size_t *counts = all->counts;
    if (all->told > 0)
        screen_line();
    report_stages(all);
    screen_say(
        "",
        "%zu file%s: %zu better, %zu worse, %zu as good as before, %zu without a label; another one first in "
        "%zu. Only the old packs can take %zu, only the new %zu; %zu bad.",
        all->over.files.count, all->over.files.count == 1 ? "" : "s", counts[COMPARE_BETTER],
        counts[COMPARE_WORSE], counts[COMPARE_SAME], counts[COMPARE_UNLABELLED], all->first_changed,
        counts[COMPARE_ONLY_OLD], counts[COMPARE_ONLY_NEW], counts[COMPARE_BAD]);
}
