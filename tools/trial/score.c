/* A ranking against its label. */
#include "trial/trial.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

static bool among(const char *id, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i], id) == 0)
            return true;
    }
    return false;
}

static void name_to(char out[TRIAL_NAME], const char *name)
{
    snprintf(out, TRIAL_NAME, "%s", name);
}

static void band(trial_score *out, double said, bool came_true)
{
    int index = (int)(said * TRIAL_BANDS);
    trial_band *slot = &out->bands[index < 0 ? 0 : index >= TRIAL_BANDS ? TRIAL_BANDS - 1 : index];
    slot->count++;
    slot->came_true += came_true;
    slot->said += said;
}

/* One chance that came true or not, by itself. */
static void score_one(trial_score *out, double said, bool came_true)
{
    double off = said - (came_true ? 1 : 0);
    band(out, said, came_true);
    out->brier += off * off;
}

static double loss(double said)
{
    return -log(fmax(said, TRIAL_FLOOR));
}

/* Units: one line after the other, "not listed" where its chance puts it, behind lines as probable. */
typedef struct unit_walk {
    const cw_case_info *info;
    trial_score *out;
    size_t seen;
} unit_walk;

static void take_unit(unit_walk *walk, const char *id, double said)
{
    trial_score *out = walk->out;
    bool right = among(id, walk->info->units, walk->info->unit_count);
    if (walk->seen++ == 0) {
        name_to(out->first, id);
        out->first_said = said;
    }
    if (!out->labelled)
        return;
    if (!right) {
        score_one(out, said, false);
        return;
    }
    if (out->place == 0) {
        out->place = walk->seen;
        out->right_said = said;
        name_to(out->right, id);
        name_to(out->truth, id);
    }
    out->truth_said += said;
}

static void score_units(const cw_ranking *ranking, const cw_case_info *info, trial_score *out)
{
    unit_walk walk = {.info = info, .out = out};
    bool told = false;
    for (size_t i = 0; i < ranking->count; i++) {
        if (!told && ranking->not_listed > ranking->lines[i].probability) {
            take_unit(&walk, "not_listed", ranking->not_listed);
            told = true;
        }
        take_unit(&walk, ranking->lines[i].id, ranking->lines[i].probability);
    }
    if (!told)
        take_unit(&walk, "not_listed", ranking->not_listed);
    if (!out->labelled)
        return;
    if (out->place == 0)
        name_to(out->truth, info->units[0]);
    score_one(out, out->truth_said, true);
    out->log_loss = loss(out->truth_said);
}

/* A cause that was confirmed and has no line was given no chance at all. */
static void score_absent(const cw_ranking *ranking, const cw_case_info *info, trial_score *out)
{
    for (size_t k = 0; k < info->cause_count; k++) {
        bool found = false;
        for (size_t i = 0; !found && i < ranking->count; i++)
            found = strcmp(ranking->lines[i].id, info->causes[k]) == 0;
        if (found)
            continue;
        score_one(out, 0, true);
        out->log_loss += loss(0);
        if (out->truth[0] == '\0')
            name_to(out->truth, info->causes[k]);
    }
}

static void score_cause(const cw_line *line, const cw_case_info *info, trial_score *out)
{
    bool there = among(line->id, info->causes, info->cause_count);
    if (!there && among(line->id, info->accept, info->accept_count))
        return;
    score_one(out, line->probability, there);
    out->log_loss += loss(there ? line->probability : 1 - line->probability);
    if (!there)
        return;
    if (out->truth[0] == '\0')
        name_to(out->truth, line->id);
    out->truth_said += line->probability / (double)info->cause_count;
}

static void score_causes(const cw_ranking *ranking, const cw_case_info *info, bool inside, trial_score *out)
{
    size_t place = 0;
    for (size_t i = 0; i < ranking->count; i++) {
        const cw_line *line = &ranking->lines[i];
        bool counts = !inside || strcmp(line->where, "unit") == 0;
        place += counts;
        if (counts && place == 1 && out->first[0] == '\0') {
            name_to(out->first, line->id);
            out->first_said = line->probability;
        }
        if (!out->labelled)
            continue;
        bool right = among(line->id, info->causes, info->cause_count) ||
                     among(line->id, info->accept, info->accept_count);
        if (counts && right && out->place == 0) {
            out->place = place;
            out->right_said = line->probability;
            name_to(out->right, line->id);
        }
        score_cause(line, info, out);
    }
    if (out->labelled)
        score_absent(ranking, info, out);
}

void trial_score_ranking(const cw_ranking *ranking, const cw_case_info *info, bool inside, trial_score *out)
{
    *out = (trial_score){.labelled = ranking->of_units ? info->unit_count > 0 : info->cause_count > 0};
    if (ranking->of_units)
        score_units(ranking, info, out);
    else
        score_causes(ranking, info, inside, out);
}
