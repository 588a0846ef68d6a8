#include "trial/trial.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool trial_of_units(const char *stage)
{
    return strcmp(stage, "identify") == 0;
}

static bool is_proof(const char *stage)
{
    return strcmp(stage, "proof") == 0;
}

/* The word for the stage that lives for ever. */
static const char *stage_word(const char *word)
{
    for (size_t i = 0; cw_stage_at(i) != NULL; i++) {
        if (word != NULL && strcmp(cw_stage_at(i), word) == 0)
            return cw_stage_at(i);
    }
    return NULL;
}

static void add_wrong(trial *out, bool sheet, const char *fact, const char *says, const char *wanted)
{
    trial_wrong *list = realloc(out->wrong, (out->wrong_count + 1) * sizeof *list);
    if (list == NULL) {
        out->status = CW_NO_MEMORY;
        return;
    }
    out->wrong = list;
    trial_wrong *one = &list[out->wrong_count++];
    *one = (trial_wrong){.sheet = sheet};
    snprintf(one->fact, sizeof one->fact, "%s", fact);
    snprintf(one->says, sizeof one->says, "%s", says);
    snprintf(one->wanted, sizeof one->wanted, "%s", wanted);
}

static bool is_labelled(const cw_case_info *info, const char *fact)
{
    for (size_t i = 0; i < info->line_count; i++) {
        if (strcmp(info->lines[i], fact) == 0)
            return true;
    }
    return false;
}

/* The sheet comes to what the label says; where it names lines, these and no other fail or are in doubt. */
static cw_status hold_sheet(cw_session *session, const cw_case_info *info, trial *out)
{
    const cw_proof_line *list;
    const cw_proof_sum *sum;
    size_t count = 0, found = 0;
    out->sheet_labelled = true;
    cw_status status = cw_session_proof_lines(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_proof_sum(session, &sum);
    if (status != CW_OK)
        return status;
    if (info->proof != NULL && strcmp(sum->result, info->proof) != 0)
        add_wrong(out, true, "", sum->result, info->proof);
    for (size_t i = 0; info->line_count > 0 && i < count; i++) {
        bool labelled = is_labelled(info, list[i].fact);
        bool bad = list[i].doubtful || strcmp(list[i].verdict, "fail") == 0;
        const char *says = list[i].doubtful ? "doubtful" : list[i].verdict;
        found += labelled;
        if (bad != labelled)
            add_wrong(out, true, list[i].fact, says, labelled ? "fail" : "pass");
    }
    for (size_t k = 0; found < info->line_count && k < info->line_count; k++) {
        bool there = false;
        for (size_t i = 0; !there && i < count; i++)
            there = strcmp(list[i].fact, info->lines[k]) == 0;
        if (!there)
            add_wrong(out, true, info->lines[k], "none", "fail");
    }
    return out->status;
}

static const cw_description_line *line_of(const cw_description *all, const char *fact)
{
    for (size_t i = 0; i < all->count; i++)
        for (size_t k = 0; k < all->headings[i].count; k++)
            if (strcmp(all->headings[i].lines[k].fact, fact) == 0)
                return &all->headings[i].lines[k];
    return NULL;
}

/* In the words of a label. */
static const char *line_says(const cw_description_line *line)
{
    if (line == NULL)
        return "none";
    if (line->by == CW_KNOWN_BY_CONFLICT)
        return "dispute";
    return line->by == CW_KNOWN_BY_NOTHING || line->value == NULL ? "missing"
           : line->doubtful                                       ? "doubtful"
                                                                  : line->value;
}

static cw_status hold_description(cw_session *session, const cw_case_info *info, trial *out)
{
    const cw_description *all;
    cw_status status = cw_session_description(session, &all);
    out->described = info->description_count;
    for (size_t i = 0; status == CW_OK && i < info->description_count; i++) {
        const char *says = line_says(line_of(all, info->description[i].fact));
        if (strcmp(says, info->description[i].value) != 0)
            add_wrong(out, false, info->description[i].fact, says, info->description[i].value);
    }
    return status == CW_OK ? out->status : status;
}

/* Which unit it is stands on the job card and takes no time. */
static void count_minutes(const cw_pack *pack, const cw_case_info *info, trial *out)
{
    out->answers = info->answer_count;
    for (size_t i = 0; i < info->answer_count; i++) {
        const cw_check_info *check = cw_pack_check(pack, info->answers[i].check, NULL);
        out->minutes += check != NULL && check->kind != CW_ANSWER_UNIT ? check->minutes : 0;
    }
}

static cw_status hold(const cw_pack *pack, cw_session *session, const cw_case_info *info, trial *out)
{
    const cw_ranking *ranking;
    cw_status status = cw_session_ranking(session, 0, &ranking);
    if (status != CW_OK)
        return status;
    out->end = ranking->stopped ? TRIAL_STOPPED : TRIAL_DONE;
    count_minutes(pack, info, out);
    if (ranking->stopped)
        return CW_OK;
    trial_score_ranking(ranking, info, is_proof(out->stage), &out->score);
    if (is_proof(out->stage) && (info->proof != NULL || info->line_count > 0))
        status = hold_sheet(session, info, out);
    if (status == CW_OK && info->description_count > 0)
        status = hold_description(session, info, out);
    return status;
}

/* The ranking has lines for versions alone. */
static bool names_versions(const cw_pack *pack, const cw_case_info *info)
{
    cw_unit_entry unit;
    for (size_t i = 0; cw_pack_unit_at(pack, i, &unit); i++) {
        for (size_t k = 0; !unit.version && k < info->unit_count; k++) {
            if (strcmp(unit.name, info->units[k]) == 0)
                return false;
        }
    }
    return true;
}

static void refuse(trial *out, const char *problem)
{
    out->end = TRIAL_BAD;
    out->problem = problem;
}

void trial_run(const cw_pack *pack, const cw_case *job, trial *out, cw_session **session)
{
    const cw_case_info *info = cw_case_get(job);
    cw_session *own = NULL;
    if (session != NULL)
        *session = NULL;
    out->stage = stage_word(info->stage);
    if (info->name != NULL && (out->name = strdup(info->name)) == NULL)
        out->status = CW_NO_MEMORY;
    if (out->stage == NULL) {
        refuse(out, "it names no stage, so nobody knows what is asked of it");
        return;
    }
    if (out->status == CW_OK)
        out->status = cw_session_new(pack, out->stage, &own);
    if (out->status == CW_OK)
        out->status = cw_case_apply(job, own, &out->messages);
    if (out->status == CW_BAD_INPUT) {
        refuse(out, NULL);
        out->status = CW_OK;
    } else if (out->status == CW_OK) {
        out->status = hold(pack, own, info, out);
        if (trial_of_units(out->stage) && out->score.labelled && out->score.place == 0 &&
            !names_versions(pack, info))
            refuse(out, "its outcome names a family or a frame; name the versions that are right");
    }
    if (session != NULL && out->status == CW_OK && out->end == TRIAL_DONE)
        *session = own;
    else
        cw_session_free(own);
}

void trial_free(trial *one)
{
    cw_messages_free(one->messages);
    free(one->name);
    free(one->wrong);
    free(one->asked.checks);
    *one = (trial){0};
}

bool trial_labelled(const trial *one)
{
    return one->end == TRIAL_DONE && (one->score.labelled || one->sheet_labelled || one->described > 0);
}

bool trial_held(const trial *one)
{
    size_t enough = trial_of_units(one->stage) ? 1 : 3;
    bool ranked = !one->score.labelled || (one->score.place > 0 && one->score.place <= enough);
    return one->end == TRIAL_DONE && ranked && one->wrong_count == 0;
}

const char *trial_title(const cw_pack *pack, bool of_units, const char *name)
{
    if (of_units && strcmp(name, "not_listed") == 0)
        return "in no list";
    const char *title = of_units ? cw_pack_unit_title(pack, name) : cw_pack_cause_title(pack, name);
    return title != NULL ? title : name;
}
