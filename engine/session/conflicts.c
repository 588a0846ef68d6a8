/* Conflicts: facts that the answers and rules give two values at once, each side with its proof. */
#include "session/inside.h"

/* The proof of one side, down to the answers. */
static cw_status prove(const cw_session *session, const cw_trail *trail, cw_conflict_side *side)
{
    return cw_say_trail(session, session->replies, trail, &side->proof, &side->proof_count);
}

static void name_rule(const cw_session *session, cw_rule_id rule, cw_conflict_side *side)
{
    if (rule == 0)
        return;
    const cw_origin *origin = &session->model->origins[session->model->rules[rule].origin];
    side->rule = origin->name;
    side->because = origin->because;
}

static cw_status finite_side(const cw_session *session, cw_fact_id fact, uint32_t value,
                             cw_conflict_side *side)
{
    cw_atom_id atom = cw_fact_value_atom(session->model, fact, value);
    cw_reason reason = {0, CW_NO};
    cw_chain_reasons(session->chain, atom, &reason, 1);
    side->value = cw_say_value(session->model, fact, value);
    name_rule(session, reason.rule, side);
    cw_trail trail;
    cw_status status = cw_trail_walk(session->chain, session->replies, &atom, 1, NULL, 0, &trail);
    return status == CW_OK ? prove(session, &trail, side) : status;
}

/* Each value that holds is a side. */
static cw_status finite_sides(const cw_session *session, cw_fact_id fact, cw_conflict_info *out)
{
    const cw_run *values = &session->model->facts[fact].values;
    cw_conflict_side *sides = CW_NEW_ARRAY(session->replies, cw_conflict_side, values->count);
    if (sides == NULL)
        return CW_NO_MEMORY;
    for (uint32_t v = 0; v < values->count; v++) {
        cw_atom_id atom = cw_fact_value_atom(session->model, fact, v);
        if (atom == 0 || cw_chain_truth(session->chain, atom) != CW_YES)
            continue;
        cw_status status = finite_side(session, fact, v, &sides[out->side_count++]);
        if (status != CW_OK)
            return status;
    }
    out->sides = sides;
    return CW_OK;
}

static cw_status measured_side(const cw_session *session, cw_fact_id fact, cw_rule_id rule,
                               cw_conflict_side *side)
{
    const cw_model *model = session->model;
    double value = 0;
    double error = 0;
    if (rule == 0) {
        const cw_answer *answer = cw_chain_answered(session->chain, fact);
        value = answer->number;
        error = answer->error;
    } else {
        cw_chain_worked_out(session->chain, rule, &value, &error);
    }
    name_rule(session, rule, side);
    side->value = cw_say_quantity(session->replies, value, error, model->facts[fact].unit);
    cw_trail trail = {NULL, 0, &fact, 1};
    cw_status status = CW_OK;
    if (rule != 0) {
        const uint32_t *inputs;
        size_t count = cw_formula_inputs(model->rules[rule].formula, &inputs);
        status = cw_trail_walk(session->chain, session->replies, NULL, 0, inputs, count, &trail);
    }
    if (status == CW_OK)
        status = prove(session, &trail, side);
    return side->value != NULL ? status : CW_NO_MEMORY;
}

/* Each source of the number is a side. */
static cw_status measured_sides(const cw_session *session, cw_fact_id fact, cw_conflict_info *out)
{
    size_t count = cw_chain_number_reasons(session->chain, fact, NULL, 0);
    cw_reason *reasons = CW_NEW_ARRAY(session->replies, cw_reason, count);
    cw_conflict_side *sides = CW_NEW_ARRAY(session->replies, cw_conflict_side, count);
    if (reasons == NULL || sides == NULL)
        return CW_NO_MEMORY;
    cw_chain_number_reasons(session->chain, fact, reasons, count);
    for (size_t i = 0; i < count; i++) {
        cw_status status = measured_side(session, fact, reasons[i].rule, &sides[i]);
        if (status != CW_OK)
            return status;
    }
    out->sides = sides;
    out->side_count = count;
    return CW_OK;
}

static cw_status collect(cw_session *session)
{
    size_t count = cw_chain_conflicts(session->chain, NULL, 0);
    cw_fact_id *facts = CW_NEW_ARRAY(session->replies, cw_fact_id, count);
    cw_conflict_info *list = CW_NEW_ARRAY(session->replies, cw_conflict_info, count);
    if (facts == NULL || list == NULL)
        return CW_NO_MEMORY;
    cw_chain_conflicts(session->chain, facts, count);
    for (size_t i = 0; i < count; i++) {
        const cw_fact *fact = &session->model->facts[facts[i]];
        list[i] = (cw_conflict_info){.fact = fact->name, .title = cw_say_title(session->model, facts[i])};
        cw_status status = fact->kind == CW_MEASURE ? measured_sides(session, facts[i], &list[i])
                                                    : finite_sides(session, facts[i], &list[i]);
        if (status != CW_OK)
            return status;
    }
    session->conflicts = list;
    session->conflict_count = count;
    return CW_OK;
}

cw_status cw_session_conflicts(cw_session *session, const cw_conflict_info **conflicts, size_t *count)
{
    if (session == NULL || conflicts == NULL || count == NULL)
        return CW_BAD_CALL;
    cw_status status = session->conflicts == NULL ? collect(session) : CW_OK;
    if (status != CW_OK)
        return status;
    *conflicts = session->conflicts;
    *count = session->conflict_count;
    return CW_OK;
}
