/* The ranking as a caller sees it: lines with the answers that speak for and against them, parts, and what to
 * do. */
#include "session/assembly.h"
#include <string.h>

/* What a circumstance says of a cause: the shift, or the exclusion, that rests on the answer. */
static void circumstance(const cw_session *session, cw_cause_id cause, cw_fact_id answer, cw_for_against *out)
{
    const cw_cause *about = &session->model->causes[cause];
    for (uint32_t i = 0; i < about->shifts.count; i++) {
        const cw_shift *shift = &session->model->shifts[about->shifts.first + i];
        cw_fact_id fact = session->model->atoms[shift->atom].fact;
        if (fact == 0 || cw_chain_truth(session->chain, shift->atom) != CW_YES)
            continue;
        cw_fact_id readings[16];
        size_t count = cw_chain_readings(session->chain, fact, readings, 16);
        bool rests = fact == answer;
        for (size_t k = 0; k < count && k < 16; k++)
            rests = rests || readings[k] == answer;
        if (rests) {
            out->because = shift->because;
            out->source = shift->source;
            return;
        }
    }
}

static bool weigh(const cw_session *session, const cw_weight *weight, cw_for_against *out)
{
    const cw_model *model = session->model;
    const cw_fact *answer = &model->facts[weight->answer];
    *out = (cw_for_against){.check = answer->name,
                            .title = cw_say_title(model, weight->answer),
                            .value = cw_print_told(session, session->replies, weight->answer),
                            .shown = cw_say_told(session, session->replies, weight->answer),
                            .bits = weight->bits,
                            .without = weight->without};
    cw_fact_id counted = weight->counted != 0 ? weight->counted : weight->answer;
    out->through = model->facts[counted].name;
    if (model->facts[counted].values.count > 0 && weight->counted != 0)
        out->through_shown = cw_arena_format(session->replies, "%s: %s", cw_say_title(model, counted),
                                             cw_say_value(model, counted, weight->counted_value));
    else
        out->through_shown = cw_say_fact(session, session->replies, counted);
    if (weight->rule_count > 0) {
        const cw_origin *origin = &model->origins[model->rules[weight->rules[weight->rule_count - 1]].origin];
        out->rule = origin->name;
        out->because = origin->because;
        out->source = origin->source;
    }
    return out->value != NULL && out->shown != NULL && out->through_shown != NULL;
}

/* Splits the account's weights into those for the line and those against it; both keep their order. */
static bool explain_line(const cw_session *session, const cw_account *account, bool of_units, cw_line *line)
{
    cw_for_against *speaks_for = CW_NEW_ARRAY(session->replies, cw_for_against, account->count);
    cw_for_against *against = CW_NEW_ARRAY(session->replies, cw_for_against, account->count);
    if (speaks_for == NULL || against == NULL)
        return false;
    for (size_t i = 0; i < account->count; i++) {
        const cw_weight *weight = &account->weights[i];
        cw_for_against *slot =
            weight->bits > 0 ? &speaks_for[line->for_count++] : &against[line->against_count++];
        if (!weigh(session, weight, slot))
            return false;
        if (!of_units && slot->because == NULL)
            circumstance(session, account->id, weight->answer, slot);
    }
    line->for_ = speaks_for;
    line->against = against;
    return true;
}

static const char *line_name(const cw_session *session, bool of_units, uint32_t id)
{
    return of_units ? session->model->units[id].name : session->model->causes[id].name;
}

static const char *line_title(const cw_session *session, bool of_units, uint32_t id)
{
    if (id == 0)
        return of_units ? "not listed" : "nothing listed being wrong";
    return of_units ? session->model->units[id].title : session->model->causes[id].title;
}

static cw_status explain_lines(cw_session *session, size_t explain, cw_ranking *out, cw_line *lines)
{
    if (explain == 0 || out->count == 0)
        return CW_OK;
    const cw_account *accounts = NULL;
    size_t count = 0;
    cw_status status = CW_OK;
    if (session->explainer == NULL)
        status = cw_explainer_new(session->model, session->tables, &session->allocator, &session->explainer);
    if (status == CW_OK)
        status = cw_explain_lines(session->explainer, session->chain, cw_session_about(session), explain,
                                  session->replies, &accounts, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++) {
        if (i == 0 && accounts[0].decides != 0) {
            out->deciding_check = session->model->facts[accounts[0].decides].name;
            out->deciding_instead = line_title(session, out->of_units, accounts[0].instead);
        }
        if (accounts[i].id == 0)
            continue;
        const char *name = line_name(session, out->of_units, accounts[i].id);
        for (size_t k = 0; k < out->count; k++) {
            if (strcmp(lines[k].id, name) != 0)
                continue;
            if (!explain_line(session, &accounts[i], out->of_units, &lines[k]))
                status = CW_NO_MEMORY;
            out->explained = k + 1 > out->explained ? k + 1 : out->explained;
        }
    }
    return status;
}

/* What is first, be it that the unit is in no list, when every frequency is a word off. */
static cw_status find_firmness(const cw_session *session, const cw_evidence *evidence, size_t count,
                               const cw_identity *identity, cw_ranking *out)
{
    const cw_unit_id first = identity->not_listed > identity->probability[0] ? 0 : identity->units[0];
    cw_unit_id rival;
    const cw_status status =
        cw_identity_firm(session->tables, evidence, count, first, session->replies, &out->firm, &rival);
    if (status != CW_OK || out->firm)
        return status;
    out->firm_rival = rival != 0 ? line_name(session, true, rival) : "not_listed";
    out->firm_rival_title = line_title(session, true, rival);
    return CW_OK;
}

static cw_status rank_units(cw_session *session, const cw_evidence *evidence, size_t count, bool briefly,
                            cw_ranking *out, cw_line **lines)
{
    const cw_model *model = session->model;
    cw_identity identity;
    cw_status status = cw_identity_rank(session->tables, evidence, count, session->replies, &identity);
    if (status != CW_OK)
        return status;
    *lines = CW_NEW_ARRAY(session->replies, cw_line, identity.count);
    if (*lines == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < identity.count; i++) {
        const cw_unit *unit = &model->units[identity.units[i]];
        const cw_unit *later = unit->replaced_by != 0 ? &model->units[unit->replaced_by] : NULL;
        (*lines)[i] = (cw_line){.id = unit->name,
                                .title = unit->title,
                                .replaced_by = later != NULL ? later->name : NULL,
                                .replaced_by_title = later != NULL ? later->title : NULL,
                                .notes = unit->notes,
                                .probability = identity.probability[i],
                                .low = identity.probability[i],
                                .high = identity.probability[i]};
    }
    out->count = identity.count;
    out->not_listed = identity.not_listed;
    out->exact = true;
    out->possible = true;
    return briefly || identity.count == 0 ? CW_OK : find_firmness(session, evidence, count, &identity, out);
}

static const char *name_of_where(const cw_part *part)
{
    switch (part->where) {
    case CW_PART_UNIT:
        return "unit";
    case CW_PART_VEHICLE:
        return "vehicle";
    case CW_PART_INSTALLATION:
        break;
    }
    return "installation";
}

static bool has_cause(const cw_model *model, cw_part_id part)
{
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        if (model->causes[id].part == part)
            return true;
    }
    return false;
}

/* Parts that something can be wrong with, most probable first; ties by the order of the pack. */
static bool list_parts(const cw_session *session, const cw_causes *causes, cw_ranking *out)
{
    const cw_model *model = session->model;
    cw_part_line *parts = CW_NEW_ARRAY(session->replies, cw_part_line, model->parts_count);
    if (parts == NULL)
        return false;
    for (cw_part_id id = 1; id <= model->parts_count; id++) {
        if (!has_cause(model, id))
            continue;
        const cw_part *part = &model->parts[id];
        const cw_cause_id root = causes->part_root[id];
        cw_part_line line = {.part = part->name,
                             .title = part->title,
                             .where = name_of_where(part),
                             .probability = causes->part_probability[id],
                             .root = root != 0 ? model->causes[root].name : NULL,
                             .root_title = root != 0 ? model->causes[root].title : NULL,
                             .root_probability = causes->root_probability[id]};
        size_t to = out->part_count++;
        for (; to > 0 && parts[to - 1].probability < line.probability; to--)
            parts[to] = parts[to - 1];
        parts[to] = line;
    }
    out->parts = parts;
    return true;
}

static bool list_sets(const cw_session *session, const cw_causes *causes, cw_ranking *out)
{
    cw_set_line *sets = CW_NEW_ARRAY(session->replies, cw_set_line, causes->set_count);
    if (sets == NULL)
        return false;
    for (uint32_t i = 0; i < causes->set_count; i++) {
        const cw_cause_set *set = &causes->sets[i];
        const char **names = CW_NEW_ARRAY(session->replies, const char *, set->count);
        const char **titles = CW_NEW_ARRAY(session->replies, const char *, set->count);
        if (names == NULL || titles == NULL)
            return false;
        for (uint32_t k = 0; k < set->count; k++) {
            names[k] = session->model->causes[set->causes[k]].name;
            titles[k] = session->model->causes[set->causes[k]].title;
        }
        sets[i] = (cw_set_line){names, titles, set->count, set->probability, set->low, set->high};
    }
    out->sets = sets;
    out->set_count = causes->set_count;
    out->sets_proven = causes->sets_proven;
    return true;
}

static const char *const *part_titles(const cw_session *session, cw_run run)
{
    const char **titles = CW_NEW_ARRAY(session->replies, const char *, run.count);
    for (uint32_t i = 0; titles != NULL && i < run.count; i++)
        titles[i] = session->model->parts[session->model->part_lists[run.first + i]].title;
    return titles;
}

static double chance_of(const cw_causes *causes, cw_cause_id cause)
{
    for (uint32_t i = 0; i < causes->count; i++) {
        if (causes->causes[i] == cause)
            return causes->probability[i];
    }
    return 0;
}

/* Of the causes that lead to this one, the most probable, if it is more likely than not. */
static const char *find_root(const cw_session *session, const cw_causes *causes, cw_cause_id cause)
{
    const cw_model *model = session->model;
    const char *root = NULL;
    double best = 0.5;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        const cw_run *leads = &model->causes[id].leads_to;
        for (uint32_t i = 0; i < leads->count; i++) {
            double chance = model->links[leads->first + i].to == cause ? chance_of(causes, id) : 0;
            if (chance > best) {
                best = chance;
                root = model->causes[id].name;
            }
        }
    }
    return root;
}

/* Causes worth acting on: at least even odds; or the first, if it is likelier than that nothing listed is
 * wrong. */
static bool list_plan(cw_session *session, const cw_causes *causes, cw_ranking *out)
{
    const cw_model *model = session->model;
    cw_plan_line *plan = CW_NEW_ARRAY(session->replies, cw_plan_line, causes->count);
    if (plan == NULL)
        return false;
    for (uint32_t i = 0; i < causes->count; i++) {
        bool first = i == 0 && causes->probability[i] > causes->nothing;
        if (causes->probability[i] < 0.5 && !first)
            break;
        const cw_cause *cause = &model->causes[causes->causes[i]];
        plan[out->plan_count++] = (cw_plan_line){.cause = cause->name,
                                                 .title = cause->title,
                                                 .replace = part_titles(session, cause->replace),
                                                 .look_also = part_titles(session, cause->look_also),
                                                 .steps = model->words + cause->steps.first,
                                                 .replace_count = cause->replace.count,
                                                 .look_also_count = cause->look_also.count,
                                                 .step_count = cause->steps.count,
                                                 .root = find_root(session, causes, causes->causes[i])};
        if (plan[i].replace == NULL || plan[i].look_also == NULL ||
            cw_find_slips(session, causes->causes[i], &plan[i].slips, &plan[i].slip_count) != CW_OK)
            return false;
    }
    out->plan = plan;
    return true;
}

static cw_status rank_causes(cw_session *session, const cw_evidence *evidence, size_t count, bool briefly,
                             cw_ranking *out, cw_line **lines)
{
    const cw_model *model = session->model;
    cw_causes causes;
    cw_status status = CW_OK;
    if (session->causes == NULL)
        status = cw_causes_scratch_new(model, &session->allocator, &session->causes);
    if (status == CW_OK)
        status = cw_causes_rank_on(session->causes, session->chain, evidence, count, CW_CAUSES_STEPS, briefly,
                                   session->replies, &causes);
    if (status != CW_OK)
        return status;
    *lines = CW_NEW_ARRAY(session->replies, cw_line, causes.count);
    if (*lines == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < causes.count; i++) {
        const cw_cause *cause = &model->causes[causes.causes[i]];
        const cw_part *part = &model->parts[cause->part];
        (*lines)[i] = (cw_line){.id = cause->name,
                                .title = cause->title,
                                .part = part->name,
                                .part_title = part->title,
                                .where = name_of_where(part),
                                .notes = cause->because,
                                .probability = causes.probability[i],
                                .low = causes.low[i],
                                .high = causes.high[i]};
    }
    out->count = causes.count;
    out->unit_at_fault = causes.unit_at_fault;
    out->unit_at_fault_low = causes.unit_at_fault_low;
    out->unit_at_fault_high = causes.unit_at_fault_high;
    out->no_fault = 1 - causes.unit_at_fault;
    out->nothing_found = causes.nothing;
    out->exact = causes.exact;
    out->possible = causes.evidence_probability > 0;
    out->firm = causes.firm;
    out->firm_rival = causes.rival != 0 ? model->causes[causes.rival].name : NULL;
    out->firm_rival_title = causes.rival != 0 ? model->causes[causes.rival].title : NULL;
    if (briefly)
        return CW_OK;
    const bool plan = cw_session_halt(session) == CW_HALT_NOTHING;
    return list_parts(session, &causes, out) && list_sets(session, &causes, out) &&
                   (!plan || list_plan(session, &causes, out))
               ? CW_OK
               : CW_NO_MEMORY;
}

static cw_status rank(cw_session *session, bool briefly, size_t explain, cw_ranking *out)
{
    cw_about about = cw_session_about(session);
    out->of_units = about == CW_ABOUT_UNITS;
    out->possible = true;
    out->exact = true;
    out->stopped = cw_session_halt(session) == CW_HALT_ALL;
    if (out->stopped)
        return CW_OK;
    const cw_evidence *evidence;
    size_t count;
    cw_status status = cw_evidence_collect(session->chain, about, session->replies, &evidence, &count);
    if (status != CW_OK)
        return status;
    cw_line *lines = NULL;
    status = out->of_units ? rank_units(session, evidence, count, briefly, out, &lines)
                           : rank_causes(session, evidence, count, briefly, out, &lines);
    if (status == CW_OK)
        status = explain_lines(session, explain, out, lines);
    out->lines = lines;
    return status;
}

cw_status cw_session_ranking(cw_session *session, size_t explain, const cw_ranking **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    if (session->ranking == NULL || session->ranking_explain < explain) {
        cw_ranking *made = CW_NEW(session->replies, cw_ranking);
        cw_status status = made != NULL ? rank(session, false, explain, made) : CW_NO_MEMORY;
        if (status != CW_OK)
            return status;
        session->ranking = made;
        session->ranking_explain = explain;
    }
    *out = session->ranking;
    return CW_OK;
}

cw_status cw_session_lines(cw_session *session, const cw_ranking **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    if (session->ranking == NULL && session->lines == NULL) {
        cw_ranking *made = CW_NEW(session->replies, cw_ranking);
        const cw_status status = made != NULL ? rank(session, true, 0, made) : CW_NO_MEMORY;
        if (status != CW_OK)
            return status;
        session->lines = made;
    }
    *out = session->ranking != NULL ? session->ranking : session->lines;
    return CW_OK;
}
