/* compare: labelled cases through two versions of the packs. */
#include "compare/compare.h"
#include "commands.h"
#include "compare/revision.h"
#include "screen/hold.h"
#include "screen/screen.h"
#include "setup/setup.h"
#include "trial/crew.h"
#include <limits.h>
#include <stdio.h>
#include <string.h>

/* 0: first, 1: among the first three, 2: behind them. */
static int class_of(const trial_score *score)
{
    return score->place == 1 ? 0 : score->place == 2 || score->place == 3 ? 1 : 2;
}

static compare_verdict judge_score(const trial_score *was, const trial_score *now)
{
    if (!was->labelled || !now->labelled)
        return COMPARE_SAME;
    if (class_of(was) != class_of(now))
        return class_of(now) < class_of(was) ? COMPARE_BETTER : COMPARE_WORSE;
    double gain = now->truth_said - was->truth_said;
    return gain >= COMPARE_MARGIN ? COMPARE_BETTER : gain <= -COMPARE_MARGIN ? COMPARE_WORSE : COMPARE_SAME;
}

static bool is_wrong(const trial *in, const trial_wrong *line)
{
    for (size_t i = 0; i < in->wrong_count; i++) {
        if (in->wrong[i].sheet == line->sheet && strcmp(in->wrong[i].fact, line->fact) == 0)
            return true;
    }
    return false;
}

static bool has_new_wrong(const trial *was, const trial *now)
{
    for (size_t i = 0; i < now->wrong_count; i++) {
        if (!is_wrong(was, &now->wrong[i]))
            return true;
    }
    return false;
}

compare_verdict compare_judge(const trial *was, const trial *now)
{
    if (was->end == TRIAL_BAD && now->end == TRIAL_BAD)
        return COMPARE_BAD;
    if (was->end != TRIAL_DONE || now->end != TRIAL_DONE)
        return was->end == now->end     ? COMPARE_UNLABELLED
               : now->end != TRIAL_DONE ? COMPARE_ONLY_OLD
                                        : COMPARE_ONLY_NEW;
    if (!trial_labelled(was) && !trial_labelled(now))
        return COMPARE_UNLABELLED;
    compare_verdict by_score = judge_score(&was->score, &now->score);
    if (by_score == COMPARE_WORSE || has_new_wrong(was, now))
        return COMPARE_WORSE;
    return has_new_wrong(now, was) ? COMPARE_BETTER : by_score;
}

static size_t stage_index(const char *stage)
{
    size_t index = 0;
    while (index + 1 < TALLY_STAGES && strcmp(cw_stage_at(index), stage) != 0)
        index++;
    return index;
}

static void look_closer(const compare *all, compared *out, cw_session *const sessions[2])
{
    out->first_changed = strcmp(out->was.score.first, out->now.score.first) != 0;
    if (!out->first_changed && out->verdict != COMPARE_BETTER && out->verdict != COMPARE_WORSE)
        return;
    size_t stage = stage_index(out->now.stage);
    differ_side was = {all->packs[0], sessions[0], all->rankings[0][stage], &out->was.score};
    differ_side now = {all->packs[1], sessions[1], all->rankings[1][stage], &out->now.score};
    out->now.status = differ_find(&was, &now, &out->differences);
}

static void work(void *context, size_t index, void *result)
{
    const compare *all = context;
    compared *out = result;
    char path[PATH_MAX];
    cw_case *job = NULL;
    cw_session *sessions[2] = {NULL, NULL};
    out->verdict = COMPARE_BAD;
    if (!corpus_path(&all->over.files, index, path, sizeof path)) {
        out->was.problem = "its path is too long";
        return;
    }
    cw_status status = cw_case_read(NULL, path, &out->messages, &job);
    if (status == CW_NO_MEMORY)
        out->was.status = status;
    if (status != CW_OK)
        return;
    trial_run(all->packs[0], job, &out->was, &sessions[0]);
    trial_run(all->packs[1], job, &out->now, &sessions[1]);
    out->verdict = compare_judge(&out->was, &out->now);
    if (sessions[0] != NULL && sessions[1] != NULL)
        look_closer(all, out, sessions);
    cw_session_free(sessions[0]);
    cw_session_free(sessions[1]);
    cw_case_free(job);
}

static void print_bad(compare *all, const char *path, const compared *one)
{
    progress_clear(&all->bar);
    print_messages(one->messages, CW_MESSAGE_ERROR);
    print_messages(one->now.messages, CW_MESSAGE_ERROR);
    const char *problem = one->now.problem != NULL ? one->now.problem : one->was.problem;
    if (problem != NULL)
        fprintf(stderr, "%s: error: %s\n", path, problem);
}

static void count(compare *all, const compared *one)
{
    all->counts[one->verdict]++;
    all->first_changed += one->first_changed;
    all->worse +=
        one->verdict == COMPARE_WORSE || (one->verdict == COMPARE_ONLY_OLD && trial_labelled(&one->was));
    if (one->was.end == TRIAL_BAD || one->now.end == TRIAL_BAD)
        return;
    tally_add(&all->tallies[0], &one->was);
    tally_add(&all->tallies[1], &one->now);
}

static void take(void *context, size_t index, void *result)
{
    compare *all = context;
    compared *one = result;
    char path[PATH_MAX];
    if (!corpus_path(&all->over.files, index, path, sizeof path))
        path[sizeof path - 1] = '\0';
    cw_status status = one->was.status != CW_OK ? one->was.status : one->now.status;
    if (status != CW_OK) {
        all->tallies[0].status = all->tallies[0].status == CW_OK ? status : all->tallies[0].status;
    } else {
        count(all, one);
        if (one->verdict == COMPARE_BAD)
            print_bad(all, path, one);
        if (all->options->json)
            compare_json_case(all, path, one, index == 0);
        else
            compare_report_case(all, path, one);
    }
    cw_messages_free(one->messages);
    trial_free(&one->was);
    trial_free(&one->now);
    differ_free(&one->differences);
    progress_show(&all->bar, index + 1);
}

static int end_of(const compare *all, int status)
{
    for (int side = 0; side < 2; side++) {
        if (all->tallies[side].status != CW_OK)
            return explain_status(all->tallies[side].status, "a case", NULL);
    }
    if (status != EXIT_DONE)
        return status;
    return all->counts[COMPARE_BAD] > 0 ? EXIT_WRONG : all->worse > 0 ? EXIT_NEGATIVE : EXIT_DONE;
}

static int run(compare *all)
{
    crew hands = {.count = all->over.files.count,
                  .size = sizeof(compared),
                  .threads = all->over.threads,
                  .work = work,
                  .take = take,
                  .context = all};
    tally_start(&all->tallies[0]);
    tally_start(&all->tallies[1]);
    all->bar = progress_start(all->over.files.count);
    if (all->options->json)
        compare_json_open(all);
    int status = crew_run(&hands);
    progress_clear(&all->bar);
    if (status == EXIT_DONE && all->options->json)
        status = compare_json_close(all);
    else if (status == EXIT_DONE)
        compare_report_sums(all);
    status = end_of(all, status);
    tally_free(&all->tallies[0]);
    tally_free(&all->tallies[1]);
    return status;
}

/* Sessions of every stage with nothing told: how common everything is. */
static int open_untold(compare *all, int side)
{
    cw_status status = CW_OK;
    for (size_t i = 0; status == CW_OK && i < TALLY_STAGES; i++) {
        status = cw_session_new(all->packs[side], cw_stage_at(i), &all->untold[side][i]);
        if (status == CW_OK)
            status = cw_session_ranking(all->untold[side][i], 0, &all->rankings[side][i]);
    }
    return explain_status(status, "the packs", NULL);
}

static int open_packs(const char *word, const revision *from, cw_pack **out)
{
    const char *folder = from->folder;
    cli_options named = {.packs = {.items = &folder, .count = 1}};
    int status = setup_open_pack(&named, out);
    if (status != EXIT_DONE && from->fetched[0] != '\0')
        fprintf(stderr, "corewright: error: these are the packs of %s\n", word);
    return status;
}

/* What is fetched is gone before the cases run; until then the end of the program waits. */
static int open_both(const compare *all, cw_pack *packs[2])
{
    revision from[2] = {{.fetched = ""}, {.fetched = ""}};
    sigset_t before;
    int status = EXIT_DONE;
    hold_begin(&before);
    for (int side = 0; status == EXIT_DONE && side < 2; side++)
        status = revision_open(all->options->rest.items[side], &from[side]);
    for (int side = 0; status == EXIT_DONE && side < 2; side++)
        status = open_packs(all->options->rest.items[side], &from[side], &packs[side]);
    revision_close(&from[1]);
    revision_close(&from[0]);
    hold_end(&before);
    return status;
}

static int open_and_run(compare *all)
{
    cw_pack *packs[2] = {NULL, NULL};
    int status = open_both(all, packs);
    for (int side = 0; status == EXIT_DONE && side < 2; side++) {
        all->packs[side] = packs[side];
        status = open_untold(all, side);
    }
    if (status == EXIT_DONE)
        status = run(all);
    for (int side = 0; side < 2; side++) {
        for (size_t i = 0; i < TALLY_STAGES; i++)
            cw_session_free(all->untold[side][i]);
        cw_pack_free(packs[side]);
    }
    return status;
}

int command_compare(const cli_options *options)
{
    compare all = {.options = options};
    if (options->rest.count < 3) {
        fputs("corewright: error: compare wants the old packs, the new ones and a corpus\n"
              "help: corewright compare HEAD:rules/harbour-lane rules/harbour-lane corpus\n",
              stderr);
        return EXIT_WRONG;
    }
    int status = rounds_find(options, 2, &all.over);
    if (status != EXIT_DONE)
        return status;
    status = open_and_run(&all);
    rounds_close(&all.over);
    return status;
}
