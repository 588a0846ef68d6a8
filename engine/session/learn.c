/* Learning as a caller sees it: names in, names out. */
#include "corewright/learn.h"
#include "learn/learn.h"
#include "session/inside.h"
#include <string.h>

struct cw_learning {
    const cw_pack *pack;
    cw_allocator allocator;
    cw_learner *learner;
    cw_arena *scratch; /* of one job */
    cw_arena *reply;
    size_t causes_jobs, units_jobs;
};

cw_status cw_learning_new(const cw_pack *pack, cw_learning **out)
{
    if (pack == NULL || out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    cw_learning *learning = cw_allocate(&pack->allocator, sizeof *learning);
    if (learning == NULL)
        return CW_NO_MEMORY;
    *learning = (cw_learning){.pack = pack, .allocator = pack->allocator};
    learning->scratch = cw_arena_new(&learning->allocator);
    learning->reply = cw_arena_new(&learning->allocator);
    const cw_identity_tables *tables;
    if (learning->scratch == NULL || learning->reply == NULL || cw_pack_tables(pack, &tables) != CW_OK ||
        cw_learner_new(pack->model, tables, &learning->allocator, &learning->learner) != CW_OK) {
        cw_learning_free(learning);
        return CW_NO_MEMORY;
    }
    *out = learning;
    return CW_OK;
}

void cw_learning_free(cw_learning *learning)
{
    if (learning == NULL)
        return;
    cw_learner_free(learning->learner);
    cw_arena_free(learning->scratch);
    cw_arena_free(learning->reply);
    const cw_allocator allocator = learning->allocator;
    cw_release(&allocator, learning, sizeof *learning);
}

static cw_status find_causes(const cw_learning *learning, const char *const *names, size_t count,
                             cw_cause_id **out)
{
    cw_cause_id *ids = CW_NEW_ARRAY(learning->scratch, cw_cause_id, count);
    if (ids == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        ids[i] = cw_model_cause(learning->pack->model, names[i]);
        if (ids[i] == 0)
            return CW_NOT_FOUND;
    }
    *out = ids;
    return CW_OK;
}

static cw_status add_causes(cw_learning *learning, cw_session *session, const cw_case_info *about)
{
    cw_cause_id *present, *unclear;
    const cw_evidence *evidence;
    size_t count;
    cw_status status = find_causes(learning, about->causes, about->cause_count, &present);
    if (status == CW_OK)
        status = find_causes(learning, about->accept, about->accept_count, &unclear);
    if (status == CW_OK)
        status = cw_evidence_collect(session->chain, CW_ABOUT_CAUSES, learning->scratch, &evidence, &count);
    if (status == CW_OK)
        status = cw_learner_add_causes(learning->learner, session->chain, evidence, count, present,
                                       about->cause_count, unclear, about->accept_count);
    learning->causes_jobs += status == CW_OK;
    return status;
}

/* The versions named, and those below a family or frame that is named, each once. *listed is false when the
 * unit may be in no list. */
static cw_status find_versions(const cw_learning *learning, const cw_case_info *about, cw_unit_id **out,
                               size_t *count, bool *listed)
{
    const cw_model *model = learning->pack->model;
    cw_unit_id *versions = CW_NEW_ARRAY(learning->scratch, cw_unit_id, model->units_count);
    bool *named = CW_NEW_ARRAY(learning->scratch, bool, (size_t)model->units_count + 1);
    if (versions == NULL || named == NULL)
        return CW_NO_MEMORY;
    *count = 0;
    *listed = true;
    for (size_t i = 0; i < about->unit_count; i++) {
        const cw_unit_id id = cw_model_unit(model, about->units[i]);
        const bool unlisted = strcmp(about->units[i], CW_NOT_LISTED_NAME) == 0;
        if (id == 0 && !unlisted)
            return CW_NOT_FOUND;
        named[id] = true;
        *listed = *listed && !unlisted;
    }
    for (cw_unit_id id = 1; id <= model->units_count; id++) { /* parents come before what stands below them */
        named[id] = named[id] || (model->units[id].parent != 0 && named[model->units[id].parent]);
        if (named[id] && model->units[id].version)
            versions[(*count)++] = id;
    }
    *out = versions;
    return CW_OK;
}

static cw_status add_units(cw_learning *learning, cw_session *session, const cw_case_info *about,
                           cw_learn_use *use)
{
    cw_unit_id *versions;
    const cw_evidence *evidence;
    size_t count, evidence_count;
    bool listed;
    cw_status status = find_versions(learning, about, &versions, &count, &listed);
    if (status == CW_OK && !listed) {
        *use = CW_LEARN_UNLISTED;
        return CW_OK;
    }
    if (status == CW_OK)
        status = cw_evidence_collect(session->chain, CW_ABOUT_UNITS, learning->scratch, &evidence,
                                     &evidence_count);
    if (status == CW_OK)
        status = cw_learner_add_unit(learning->learner, evidence, evidence_count, versions, count);
    learning->units_jobs += status == CW_OK;
    return status;
}

cw_status cw_learning_add(cw_learning *learning, cw_session *session, const cw_case_info *about,
                          cw_learn_use *use)
{
    if (learning == NULL || session == NULL || about == NULL || session->pack != learning->pack)
        return CW_BAD_CALL;
    const bool units = session->stage == CW_IDENTIFY;
    cw_learn_use found = units ? CW_LEARN_UNITS : CW_LEARN_CAUSES;
    cw_status status = CW_OK;
    cw_arena_reset(learning->scratch);
    if (session->stage == CW_PROOF)
        found = CW_LEARN_REBUILT;
    else if (units ? about->unit_count == 0 : about->cause_count == 0 && !about->causes_said)
        found = CW_LEARN_NO_LABEL;
    else if (cw_session_halt(session) == CW_HALT_ALL)
        found = CW_LEARN_STOPPED;
    else
        status = units ? add_units(learning, session, about, &found) : add_causes(learning, session, about);
    if (use != NULL)
        *use = found;
    return status;
}

/* --- what came of it --- */

static const char *base_name(cw_arena *arena, const char *name)
{
    const char *bracket = strchr(name, '[');
    return bracket == NULL ? name : cw_arena_text(arena, name, (size_t)(bracket - name));
}

static bool name_fact(const cw_learning *learning, const cw_lesson *from, cw_learned *out)
{
    const cw_model *model = learning->pack->model;
    out->about = model->facts[from->fact].name;
    if (from->kind == CW_LESSON_BACKGROUND)
        out->about = base_name(learning->reply, out->about);
    out->about_title = cw_say_title(model, from->fact);
    out->value = model->values[model->facts[from->fact].values.first + from->value].name;
    out->value_title = cw_say_value(model, from->fact, from->value);
    return out->about != NULL;
}

static bool describe(const cw_learning *learning, const cw_lesson *from, cw_learned *out)
{
    const cw_model *model = learning->pack->model;
    *out = (cw_learned){.kind = (cw_learned_kind)from->kind,
                        .book = from->book,
                        .seen = (size_t)from->seen,
                        .of = (size_t)from->of,
                        .laid_to = from->laid_to,
                        .unseen = from->unseen,
                        .posterior = from->posterior,
                        .low = from->low,
                        .high = from->high,
                        .whole = from->whole,
                        .weight = from->weight,
                        .needed = from->needed,
                        .shop_low = from->shop_low,
                        .shop_high = from->shop_high,
                        .contradicts = from->contradicts};
    if (from->cause != 0) {
        out->owner = model->causes[from->cause].name;
        out->owner_title = model->causes[from->cause].title;
    } else if (from->unit != 0) {
        out->owner = model->units[from->unit].name;
        out->owner_title = model->units[from->unit].title;
    }
    if (from->to != 0) {
        out->about = model->causes[from->to].name;
        out->about_title = model->causes[from->to].title;
    }
    return from->fact == 0 || name_fact(learning, from, out);
}

static bool is_worth(double cases)
{
    return cases > 0 && cases <= 1e9;
}

cw_status cw_learning_result(cw_learning *learning, const cw_learn_worth *worth, const cw_learned_list **out)
{
    if (learning == NULL || out == NULL || worth == NULL || !is_worth(worth->seen) || !is_worth(worth->rest))
        return CW_BAD_CALL;
    _Static_assert((int)CW_LEARNED_UNIT_SIGN == (int)CW_LESSON_UNIT_SIGN &&
                       (int)CW_LEARNED_LEADS_TO == (int)CW_LESSON_LEADS_TO &&
                       (int)CW_LEARNED_BACKGROUND == (int)CW_LESSON_BACKGROUND,
                   "the kinds are the same");
    _Static_assert(CW_LEARN_ENOUGH == LEARN_ENOUGH, "said in public as it is");
    cw_lessons lessons;
    cw_arena_reset(learning->reply);
    cw_status status = cw_learner_work_out(learning->learner, (cw_worth){worth->seen, worth->rest},
                                           learning->reply, &lessons);
    if (status != CW_OK)
        return status;
    cw_learned *items = CW_NEW_ARRAY(learning->reply, cw_learned, lessons.count);
    cw_learned_list *list = CW_NEW(learning->reply, cw_learned_list);
    if (items == NULL || list == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < lessons.count; i++)
        if (!describe(learning, &lessons.lessons[i], &items[i]))
            return CW_NO_MEMORY;
    *list = (cw_learned_list){.items = items,
                              .count = lessons.count,
                              .causes_jobs = learning->causes_jobs,
                              .units_jobs = learning->units_jobs,
                              .impossible = (size_t)lessons.impossible,
                              .settled = lessons.settled};
    *out = list;
    return CW_OK;
}
