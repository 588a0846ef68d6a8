/* The steps of assembly for the unit in hand: which of them apply, and what is known of the parts that they
 * fit. */
#include "session/assembly.h"
#include "corewright/steps.h"
#include <string.h>

typedef enum applying { APPLIES_NOT, APPLIES_PERHAPS, APPLIES } applying;

typedef struct bench {
    cw_session *session;
    const cw_model *model;
    applying *applies;         /* by step id */
    const cw_tellers *tellers; /* by step id */
    const cw_work_part *work;
    size_t work_count;
} bench;

static bool holds(const cw_session *session, cw_atom_id atom)
{
    return atom == 0 || cw_chain_truth(session->chain, atom) != CW_NO;
}

/* Where a step surely stands in a place, the one whose place it is, and those that only perhaps would stand
 * there, are left out. */
static bool fill_places(bench *b)
{
    const cw_model *model = b->model;
    uint32_t count = model->assembly_steps_count;
    bool *filled = CW_NEW_ARRAY(b->session->replies, bool, (size_t)count + 1);
    if (filled == NULL)
        return false;
    for (cw_assembly_id id = 1; id <= count; id++)
        if (b->applies[id] == APPLIES)
            filled[model->assembly_steps[id].instead_of] = true;
    filled[0] = false; /* in the place of none */
    for (cw_assembly_id id = 1; id <= count; id++) {
        bool perhaps = b->applies[id] == APPLIES_PERHAPS && filled[model->assembly_steps[id].instead_of];
        if (filled[id] || perhaps)
            b->applies[id] = APPLIES_NOT;
    }
    return true;
}

static cw_status find_applying(bench *b)
{
    const cw_model *model = b->model;
    cw_arena *arena = b->session->replies;
    size_t count = (size_t)model->assembly_steps_count + 1;
    cw_atom_id *atoms = CW_NEW_ARRAY(arena, cw_atom_id, count);
    b->applies = CW_NEW_ARRAY(arena, applying, count);
    if (atoms == NULL || b->applies == NULL)
        return CW_NO_MEMORY;
    for (cw_assembly_id id = 1; id < count; id++)
        atoms[id] = model->assembly_steps[id].only_if;
    cw_status status = cw_ask_tellers(b->session->asker, b->session->chain, b->session->here, atoms, count,
                                      arena, &b->tellers);
    if (status != CW_OK)
        return status;
    for (cw_assembly_id id = 1; id < count; id++) {
        cw_truth truth = atoms[id] == 0 ? CW_YES : cw_chain_truth(b->session->chain, atoms[id]);
        bool may = truth == CW_DOUBTFUL || b->tellers[id].count > 0;
        b->applies[id] = truth == CW_YES ? APPLIES : may ? APPLIES_PERHAPS : APPLIES_NOT;
    }
    return fill_places(b) ? CW_OK : CW_NO_MEMORY;
}

static void add_verdict(const bench *b, cw_step_info *out)
{
    for (size_t i = 0; i < b->work_count; i++) {
        const cw_work_part *part = &b->work[i];
        if (part->part != out->part || strcmp(part->verdict, "open") == 0)
            continue;
        out->verdict = part->verdict;
        out->doubtful = part->doubtful;
        if (strcmp(part->verdict, "replace") == 0)
            out->fitted = part->later_count > 0 ? part->later[part->later_count - 1].title : part->title;
    }
}

static bool add_lists(const bench *b, const cw_assembly_step *step, cw_step_info *out)
{
    const cw_model *model = b->model;
    cw_arena *arena = b->session->replies;
    const cw_caution_info **cautions = CW_NEW_ARRAY(arena, const cw_caution_info *, step->cautions.count);
    cw_comeback *comebacks = CW_NEW_ARRAY(arena, cw_comeback, step->comes_back_as.count);
    if (cautions == NULL || comebacks == NULL)
        return false;
    for (uint32_t i = 0; i < step->cautions.count; i++)
        cautions[i] = &b->session->pack->cautions[model->caution_lists[step->cautions.first + i] - 1];
    for (uint32_t i = 0; i < step->comes_back_as.count; i++) {
        const cw_cause *cause = &model->causes[model->cause_lists[step->comes_back_as.first + i]];
        comebacks[i] = (cw_comeback){cause->name, cause->title};
    }
    out->cautions = cautions;
    out->caution_count = step->cautions.count;
    out->comes_back_as = comebacks;
    out->comeback_count = step->comes_back_as.count;
    return true;
}

static bool add_doubt(const bench *b, cw_assembly_id id, cw_step_info *out)
{
    cw_arena *arena = b->session->replies;
    const cw_tellers *tellers = &b->tellers[id];
    const cw_check_info **tells = CW_NEW_ARRAY(arena, const cw_check_info *, tellers->count);
    out->perhaps = true;
    out->condition = cw_say_condition(b->session, arena, b->model->assembly_steps[id].only_if);
    if (tells == NULL || out->condition == NULL)
        return false;
    for (size_t i = 0; i < tellers->count; i++)
        tells[i] = &b->session->pack->checks[tellers->checks[i].check - 1];
    out->tells = tells;
    out->tell_count = tellers->count;
    return true;
}

static bool describe(const bench *b, cw_assembly_id id, cw_step_info *out)
{
    const cw_model *model = b->model;
    const cw_assembly_step *step = &model->assembly_steps[id];
    *out = (cw_step_info){.step = step->name,
                          .title = step->title,
                          .action = step->action,
                          .part = model->parts[step->part].name,
                          .part_title = model->parts[step->part].title,
                          .tool = step->tool,
                          .figure = step->figure,
                          .picture = step->picture,
                          .mistake = step->mistake,
                          .because = step->because,
                          .source = step->source,
                          .instead_of = model->assembly_steps[step->instead_of].name,
                          .instead_of_title = model->assembly_steps[step->instead_of].title};
    if (step->part != 0)
        add_verdict(b, out);
    return add_lists(b, step, out) && (b->applies[id] == APPLIES || add_doubt(b, id, out));
}

static cw_status list_steps(cw_session *session, cw_steps *out)
{
    const cw_model *model = session->model;
    bench b = {.session = session, .model = model};
    cw_step_info *list = CW_NEW_ARRAY(session->replies, cw_step_info, model->assembly_steps_count);
    cw_status status = list != NULL ? find_applying(&b) : CW_NO_MEMORY;
    if (status == CW_OK)
        status = cw_session_work(session, &b.work, &b.work_count);
    if (status != CW_OK)
        return status;
    for (cw_assembly_id id = 1; id <= model->assembly_steps_count; id++) {
        if (b.applies[id] == APPLIES_NOT)
            continue;
        if (!describe(&b, id, &list[out->count]))
            return CW_NO_MEMORY;
        out->perhaps += list[out->count++].perhaps;
    }
    out->list = list;
    return CW_OK;
}

cw_status cw_session_steps(cw_session *session, const cw_steps **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    if (session->steps == NULL) {
        cw_steps *made = CW_NEW(session->replies, cw_steps);
        if (made == NULL)
            return CW_NO_MEMORY;
        made->stopped = cw_session_stopper(session) != NULL;
        cw_status status = made->stopped ? CW_OK : list_steps(session, made);
        if (status != CW_OK)
            return status;
        session->steps = made;
    }
    *out = session->steps;
    return CW_OK;
}

static bool comes_back_as(const cw_model *model, const cw_assembly_step *step, cw_cause_id cause)
{
    for (uint32_t i = 0; i < step->comes_back_as.count; i++)
        if (model->cause_lists[step->comes_back_as.first + i] == cause)
            return true;
    return false;
}

/* Another one that is known to be done in its place. */
static bool is_done_otherwise(const cw_session *session, cw_assembly_id id)
{
    const cw_model *model = session->model;
    for (cw_assembly_id other = 1; other <= model->assembly_steps_count; other++)
        if (model->assembly_steps[other].instead_of == id &&
            holds(session, model->assembly_steps[other].only_if))
            return true;
    return false;
}

cw_status cw_find_slips(cw_session *session, cw_cause_id cause, const cw_slip **out, size_t *count)
{
    const cw_model *model = session->model;
    cw_slip *list = CW_NEW_ARRAY(session->replies, cw_slip, model->assembly_steps_count);
    *count = 0;
    *out = list;
    if (list == NULL)
        return CW_NO_MEMORY;
    for (cw_assembly_id id = 1; id <= model->assembly_steps_count; id++) {
        const cw_assembly_step *step = &model->assembly_steps[id];
        if (comes_back_as(model, step, cause) && holds(session, step->only_if) &&
            holds(session, step->shows_when) && !is_done_otherwise(session, id))
            list[(*count)++] = (cw_slip){step->name, step->title, step->mistake};
    }
    return CW_OK;
}
