#include "trial/tally.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

void tally_start(tally *out)
{
    *out = (tally){.status = CW_OK};
    for (size_t i = 0; i < TALLY_STAGES; i++)
        out->stages[i].stage = cw_stage_at(i);
}

static void add_rank(tally_rank *to, const trial_score *score)
{
    if (!score->labelled)
        return;
    to->count++;
    to->first += score->place == 1;
    to->top3 += score->place >= 1 && score->place <= 3;
    to->truth += score->truth_said;
    to->log_loss += score->log_loss;
    to->brier += score->brier;
}

static void add_band(trial_band *to, const trial_band *from)
{
    to->count += from->count;
    to->came_true += from->came_true;
    to->said += from->said;
}

static void add_bands(tally_stage *to, const trial_score *score)
{
    if (!score->labelled)
        return;
    for (size_t i = 0; i < TRIAL_BANDS; i++)
        add_band(&to->all[i], &score->bands[i]);
    if (score->first[0] == '\0')
        return;
    size_t index = (size_t)(score->first_said * TRIAL_BANDS);
    trial_band one = {1, score->place == 1, score->first_said};
    add_band(&to->first[index < TRIAL_BANDS ? index : TRIAL_BANDS - 1], &one);
}

static void add_lines(tally_stage *to, const trial *one)
{
    size_t sheet = 0, described = 0;
    for (size_t i = 0; i < one->wrong_count; i++) {
        sheet += one->wrong[i].sheet;
        described += !one->wrong[i].sheet;
    }
    to->sheets += one->sheet_labelled;
    to->sheets_right += one->sheet_labelled && sheet == 0;
    to->described += one->described;
    to->described_right += one->described - described;
}

static void add_asked(tally_stage *to, const trial *one)
{
    if (!one->asked_too)
        return;
    to->asked++;
    to->questions += one->asked.questions;
    to->asked_minutes += one->asked.minutes;
    add_rank(&to->asked_ranks, &one->asked.score);
}

static int compare_mistakes(const tally_mistake *a, const tally_mistake *b)
{
    int by = strcmp(a->stage, b->stage);
    by = by != 0 ? by : strcmp(a->truth, b->truth);
    return by != 0 ? by : strcmp(a->taken_for, b->taken_for);
}

/* Where it stands, or would. */
static size_t find_mistake(const tally *all, const tally_mistake *wanted)
{
    size_t low = 0, high = all->mistake_count;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (compare_mistakes(&all->mistakes[middle], wanted) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static void add_mistake(tally *all, const trial *one)
{
    const trial_score *score = &one->score;
    if (!score->labelled || score->place == 1 || score->first[0] == '\0')
        return;
    tally_mistake mistake = {.of_units = trial_of_units(one->stage), .stage = one->stage};
    memcpy(mistake.truth, score->truth, sizeof mistake.truth);
    memcpy(mistake.taken_for, score->first, sizeof mistake.taken_for);
    size_t at = find_mistake(all, &mistake);
    if (at == all->mistake_count || compare_mistakes(&all->mistakes[at], &mistake) != 0) {
        if (all->mistake_count == all->mistake_room) {
            size_t room = all->mistake_room * 2 + 32;
            tally_mistake *list = realloc(all->mistakes, room * sizeof *list);
            if (list == NULL) {
                all->status = CW_NO_MEMORY;
                return;
            }
            all->mistakes = list;
            all->mistake_room = room;
        }
        memmove(all->mistakes + at + 1, all->mistakes + at, (all->mistake_count - at) * sizeof mistake);
        all->mistakes[at] = mistake;
        all->mistake_count++;
    }
    all->mistakes[at].count++;
}

void tally_add(tally *all, const trial *one)
{
    if (one->status != CW_OK) {
        all->status = all->status == CW_OK ? one->status : all->status;
        return;
    }
    if (one->end == TRIAL_BAD) {
        all->bad++;
        return;
    }
    size_t at = 0;
    while (at + 1 < TALLY_STAGES && strcmp(all->stages[at].stage, one->stage) != 0)
        at++;
    tally_stage *to = &all->stages[at];
    to->cases++;
    to->answers += one->answers;
    to->minutes += one->minutes;
    if (one->end == TRIAL_STOPPED) {
        to->stopped++;
        return;
    }
    to->labelled += trial_labelled(one);
    to->held += trial_labelled(one) && trial_held(one);
    add_rank(&to->ranks, &one->score);
    add_bands(to, &one->score);
    add_lines(to, one);
    add_asked(to, one);
    add_mistake(all, one);
}

static size_t stage_index(const char *stage)
{
    size_t index = 0;
    while (cw_stage_at(index) != NULL && strcmp(cw_stage_at(index), stage) != 0)
        index++;
    return index;
}

static int commonest_first(const void *left, const void *right)
{
    const tally_mistake *a = left, *b = right;
    size_t of_a = stage_index(a->stage), of_b = stage_index(b->stage);
    if (of_a != of_b)
        return of_a < of_b ? -1 : 1;
    if (a->count != b->count)
        return a->count > b->count ? -1 : 1;
    return compare_mistakes(a, b);
}

void tally_sort(tally *all)
{
    if (all->mistake_count > 0)
        qsort(all->mistakes, all->mistake_count, sizeof *all->mistakes, commonest_first);
}

static void sum_rank(tally_rank *to, const tally_rank *from)
{
    to->count += from->count;
    to->first += from->first;
    to->top3 += from->top3;
    to->truth += from->truth;
    to->log_loss += from->log_loss;
    to->brier += from->brier;
}

tally_stage tally_sum(const tally *all)
{
    tally_stage sum = {.stage = NULL};
    for (size_t i = 0; i < TALLY_STAGES; i++) {
        const tally_stage *one = &all->stages[i];
        sum.cases += one->cases;
        sum.labelled += one->labelled;
        sum.held += one->held;
        sum.stopped += one->stopped;
        sum.answers += one->answers;
        sum.minutes += one->minutes;
        sum.sheets += one->sheets;
        sum.sheets_right += one->sheets_right;
        sum.described += one->described;
        sum.described_right += one->described_right;
        sum.asked += one->asked;
        sum.questions += one->questions;
        sum.asked_minutes += one->asked_minutes;
        sum_rank(&sum.ranks, &one->ranks);
        sum_rank(&sum.asked_ranks, &one->asked_ranks);
    }
    return sum;
}

size_t tally_missed(const tally *all)
{
    tally_stage sum = tally_sum(all);
    return sum.labelled - sum.held;
}

void tally_free(tally *all)
{
    free(all->mistakes);
    *all = (tally){.status = CW_OK};
}

void tally_interval(size_t came_true, size_t count, double *low, double *high)
{
    const double z = 1.6448536269514722; /* the normal's 95th hundredth: 5 % left out at either end */
    *low = 0;
    *high = 1;
    if (count == 0)
        return;
    double n = (double)count, share = (double)came_true / n;
    double middle = (share + z * z / (2 * n)) / (1 + z * z / n);
    double half = z / (1 + z * z / n) * sqrt(share * (1 - share) / n + z * z / (4 * n * n));
    *low = came_true == 0 ? 0 : middle - half;
    *high = came_true == count ? 1 : middle + half;
}
