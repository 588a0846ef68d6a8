/* replay for people, and as tests. */
#include "replay/replay.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROW = 240, PAIRS = 10 };

static const char *chance_of(size_t part, size_t whole, char buffer[16])
{
    if (whole == 0)
        return "";
    return screen_chance((double)part / (double)whole, buffer);
}

void replay_say_score(const cw_pack *pack, bool of_units, const trial_score *score, char *out, size_t size)
{
    char first[16], right[16], place[48];
    const char *name = score->right[0] != '\0' ? score->right : score->truth;
    if (score->place > 0)
        snprintf(place, sizeof place, "at place %zu", score->place);
    else
        snprintf(place, sizeof place, "at no place");
    snprintf(out, size, "First: %s%s%s%s. Right: %s, %s (%s).",
             score->first[0] != '\0' ? trial_title(pack, of_units, score->first) : "nothing",
             score->first[0] != '\0' ? " (" : "",
             score->first[0] != '\0' ? screen_chance(score->first_said, first) : "",
             score->first[0] != '\0' ? ")" : "", trial_title(pack, of_units, name), place,
             screen_chance(score->place > 0 ? score->right_said : score->truth_said, right));
}

void replay_say_wrong(const trial_wrong *wrong, char *out, size_t size)
{
    if (wrong->fact[0] == '\0')
        snprintf(out, size, "The proof sheet comes to: %s. Label: %s.", wrong->says, wrong->wanted);
    else
        snprintf(out, size, "%s line %s: %s. Label: %s.", wrong->sheet ? "Proof" : "Description", wrong->fact,
                 wrong->says, wrong->wanted);
}

void replay_report_case(replay *all, const char *path, const trial *one)
{
    char words[1024];
    if (!trial_labelled(one) || trial_held(one))
        return;
    progress_clear(&all->bar);
    if (all->told++ == 0)
        screen_rule("Not as labelled");
    screen_words("  ", path);
    if (one->score.labelled && one->score.place != 1) {
        replay_say_score(all->over.pack, trial_of_units(one->stage), &one->score, words, sizeof words);
        screen_words("    ", words);
    }
    for (size_t i = 0; i < one->wrong_count; i++) {
        replay_say_wrong(&one->wrong[i], words, sizeof words);
        screen_words("    ", words);
    }
}

/* Grows with its text; NULL when memory ran out. */
static char *details_of(const replay *all, const trial *one)
{
    char *text = NULL, words[1024];
    size_t size;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL)
        return NULL;
    for (size_t i = 0; i < cw_messages_count(one->messages); i++)
        fputs(cw_messages_at(one->messages, i)->rendered, memory);
    if (one->end == TRIAL_DONE && one->score.labelled && one->score.place != 1) {
        replay_say_score(all->over.pack, trial_of_units(one->stage), &one->score, words, sizeof words);
        fprintf(memory, "%s\n", words);
    }
    for (size_t i = 0; one->end == TRIAL_DONE && i < one->wrong_count; i++) {
        replay_say_wrong(&one->wrong[i], words, sizeof words);
        fprintf(memory, "%s\n", words);
    }
    return fclose(memory) == 0 ? text : NULL;
}

void replay_junit_case(replay *all, const char *path, const trial *one)
{
    if (all->junit.tests == NULL)
        return;
    const char *group = one->stage != NULL ? one->stage : "no stage";
    char *details = details_of(all, one);
    const char *known = details != NULL ? details : "";
    if (one->end == TRIAL_BAD)
        junit_add(&all->junit, group, path, JUNIT_ERROR,
                  one->problem != NULL ? one->problem : "it cannot be taken", known);
    else if (one->end == TRIAL_STOPPED)
        junit_add(&all->junit, group, path, JUNIT_SKIPPED, "a caution ended the advice", "");
    else if (!trial_labelled(one))
        junit_add(&all->junit, group, path, JUNIT_SKIPPED, "it has no label", "");
    else if (trial_held(one))
        junit_add(&all->junit, group, path, JUNIT_PASSED, "", "");
    else
        junit_add(&all->junit, group, path, JUNIT_FAILED, "not as labelled", known);
    free(details);
}

void replay_table_head(void)
{
    printf("  %-10s%7s%8s%13s%13s%8s%10s%9s\n", "", "cases", "ranked", "right first", "first three", "truth",
           "log loss", "minutes");
}

static void share(size_t part, size_t whole, char out[32])
{
    char buffer[16];
    if (whole == 0)
        snprintf(out, 32, "-");
    else
        snprintf(out, 32, "%zu %6s", part, chance_of(part, whole, buffer));
}

void replay_table_row(const char *name, const tally_stage *stage)
{
    const tally_rank *rank = &stage->ranks;
    double count = (double)rank->count;
    char first[32], three[32], truth[16] = "-", loss[32] = "-", minutes[32] = "-";
    share(rank->first, rank->count, first);
    share(rank->top3, rank->count, three);
    if (rank->count > 0) {
        snprintf(truth, sizeof truth, "%.1f %%", 100 * rank->truth / count);
        snprintf(loss, sizeof loss, "%.3f", rank->log_loss / count);
    }
    if (stage->cases > 0)
        snprintf(minutes, sizeof minutes, "%.1f", stage->minutes / (double)stage->cases);
    printf("  %-10s%7zu%8zu%13s%13s%8s%10s%9s\n", name, stage->cases, rank->count, first, three, truth, loss,
           minutes);
}

static void report_stages(const replay *all, const tally_stage *sum)
{
    screen_rule("By stage");
    replay_table_head();
    for (size_t i = 0; i < TALLY_STAGES; i++) {
        if (all->tally.stages[i].cases > 0)
            replay_table_row(all->tally.stages[i].stage, &all->tally.stages[i]);
    }
    replay_table_row("all", sum);
    if (sum->sheets > 0)
        screen_say("  ", "Proof sheets as labelled: %zu of %zu.", sum->sheets_right, sum->sheets);
    if (sum->described > 0)
        screen_say("  ", "Lines of the description as labelled: %zu of %zu.", sum->described_right,
                   sum->described);
    screen_say(
        "  ",
        "truth: the chance given to what it was. log loss: natural logarithm, no chance below %g; less "
        "is better. minutes: of the checks answered, a case.",
        TRIAL_FLOOR);
    screen_line();
}

static void asked_row(const char *name, const tally_stage *stage)
{
    char first[32], three[32], truth[16] = "-";
    const tally_rank *rank = &stage->asked_ranks;
    if (stage->asked == 0)
        return;
    share(rank->first, rank->count, first);
    share(rank->top3, rank->count, three);
    if (rank->count > 0)
        snprintf(truth, sizeof truth, "%.1f %%", 100 * rank->truth / (double)rank->count);
    printf("  %-10s%7zu%11.1f%13s%13s%8s%9.1f\n", name, stage->asked,
           (double)stage->questions / (double)stage->asked, first, three, truth,
           stage->asked_minutes / (double)stage->asked);
}

static void report_asked(const replay *all, const tally_stage *sum)
{
    if (sum->asked == 0)
        return;
    screen_rule("Asked in the order of the engine");
    printf("  %-10s%7s%11s%13s%13s%8s%9s\n", "", "cases", "questions", "right first", "first three", "truth",
           "minutes");
    for (size_t i = 0; i < TALLY_STAGES; i++)
        asked_row(all->tally.stages[i].stage, &all->tally.stages[i]);
    asked_row("all", sum);
    screen_words("  ", "Until it stops by itself or would ask for what the case does not tell.");
    screen_line();
}

static const char *judgement(const trial_band *band, double low, double high)
{
    double said = band->said / (double)band->count;
    return said > high ? "too sure" : said < low ? "not sure enough" : "";
}

static void report_bands(const tally_stage *stage)
{
    size_t count = 0;
    for (size_t i = 0; i < TRIAL_BANDS; i++)
        count += stage->first[i].count;
    if (count == 0)
        return;
    printf("  %-16s%7s%7s%9s   %s\n", stage->stage, "cases", "right", "share", "90 % interval");
    for (size_t i = 0; i < TRIAL_BANDS; i++) {
        const trial_band *band = &stage->first[i];
        double low, high;
        char buffer[16], said[32], interval[32];
        if (band->count == 0)
            continue;
        tally_interval(band->came_true, band->count, &low, &high);
        snprintf(said, sizeof said, "%zu to %zu %%", i * 10, i * 10 + 10);
        snprintf(interval, sizeof interval, "%.0f to %.0f %%", low * 100, high * 100);
        const char *words = judgement(band, low, high);
        printf("    %-14s%7zu%7zu%9s   %s%*s%s\n", said, band->count, band->came_true,
               chance_of(band->came_true, band->count, buffer), interval,
               words[0] != '\0' ? 16 - (int)strlen(interval) : 0, "", words);
    }
}

static void report_calibration(const replay *all)
{
    screen_rule("How often the first was right, by how probable it was said");
    for (size_t i = 0; i < TALLY_STAGES; i++)
        report_bands(&all->tally.stages[i]);
    screen_line();
}

static void report_mistakes(const replay *all)
{
    const tally *sums = &all->tally;
    size_t of_stage = 0;
    if (sums->mistake_count == 0)
        return;
    screen_rule("Who is taken for whom");
    for (size_t i = 0; i < sums->mistake_count; i++) {
        const tally_mistake *one = &sums->mistakes[i];
        bool fresh = i == 0 || strcmp(one->stage, sums->mistakes[i - 1].stage) != 0;
        of_stage = fresh ? 1 : of_stage + 1;
        if (fresh)
            screen_words("  ", one->stage);
        if (of_stage == PAIRS + 1)
            screen_words("    ", "and rarer ones; --json tells all");
        if (of_stage > PAIRS)
            continue;
        char head[32];
        snprintf(head, sizeof head, "    %4zu  ", one->count);
        screen_say(head, "%s, taken for: %s", trial_title(all->over.pack, one->of_units, one->truth),
                   trial_title(all->over.pack, one->of_units, one->taken_for));
    }
    screen_line();
}

void replay_report_sums(const replay *all)
{
    tally_stage sum = tally_sum(&all->tally);
    if (all->told > 0)
        screen_line();
    report_stages(all, &sum);
    report_asked(all, &sum);
    if (sum.ranks.count > 0)
        report_calibration(all);
    report_mistakes(all);
    screen_say(
        "", "%zu file%s: %zu as labelled, %zu not, %zu without a label, %zu stopped by a caution, %zu bad.",
        all->over.files.count, all->over.files.count == 1 ? "" : "s", sum.held, sum.labelled - sum.held,
        sum.cases - sum.labelled - sum.stopped, sum.stopped, all->tally.bad);
}
