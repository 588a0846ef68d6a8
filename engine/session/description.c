/* The unit in hand in standard terms: every line of the packs' headings with how it is known, or what would
 * tell it. */
#include "corewright/description.h"
#include "session/inside.h"
#include <stdlib.h>
#include <string.h>

/* What stands before the lines are told one by one. */
typedef struct teller {
    cw_session *session;
    const cw_fact_info *facts;
    const cw_conflict_info *conflicts;
    size_t fact_count, conflict_count;
    const cw_missing *missing, *untold; /* what can be asked; with what was left open, too */
    size_t missing_count, untold_count;
    cw_fact_id *readings; /* room for all checks */
} teller;

/* Every value that may hold: "M8", "M8 or M10". NULL when memory fails. */
static const char *say_values(const cw_session *session, cw_fact_id fact)
{
    const cw_run *values = &session->model->facts[fact].values;
    const char **shown = CW_NEW_ARRAY(session->replies, const char *, values->count);
    size_t count = 0;
    for (uint32_t v = 0; shown != NULL && v < values->count; v++) {
        cw_atom_id atom = cw_fact_value_atom(session->model, fact, v);
        if (atom != 0 && cw_chain_truth(session->chain, atom) != CW_NO)
            shown[count++] = cw_say_value(session->model, fact, v);
    }
    return shown != NULL ? cw_say_list(session->replies, shown, count, "or") : NULL;
}

static bool finite(const cw_fact *fact)
{
    return fact->kind != CW_MEASURE && fact->kind != CW_STAMPED && fact->kind != CW_WHICH_UNIT;
}

/* What is known of the fact, and its words. False when memory fails. */
static bool tell_value(const cw_session *session, cw_fact_id fact, cw_known *known, cw_description_line *out)
{
    const cw_fact *about = &session->model->facts[fact];
    double number = 0, error = 0;
    uint32_t value = 0;
    const cw_answer *answer = cw_chain_answered(session->chain, fact);
    if (about->kind == CW_STAMPED || about->kind == CW_WHICH_UNIT)
        *known = answer != NULL && !answer->cant_tell ? CW_KNOWN : CW_UNKNOWN;
    else if (about->kind == CW_MEASURE)
        *known = cw_chain_number(session->chain, fact, &number, &error);
    else
        *known = cw_chain_value(session->chain, fact, &value);
    if (*known == CW_UNKNOWN)
        return true;
    bool several = finite(about) && *known != CW_KNOWN;
    out->shown = several ? say_values(session, fact) : cw_say_known(session, session->replies, fact);
    if (*known == CW_CONFLICT || several)
        return out->shown != NULL;
    if (about->kind == CW_MEASURE)
        out->value = cw_print_quantity(session->replies, number, about->unit);
    else
        out->value = finite(about) ? session->model->values[about->values.first + value].name
                                   : cw_print_told(session, session->replies, fact);
    return out->shown != NULL && out->value != NULL;
}

/* The conclusion that gave the line its value; of a doubtful one the first. */
static const cw_fact_info *find_why(const teller *t, const cw_fact *about, const char *value)
{
    for (size_t i = 0; i < t->fact_count; i++)
        if (t->facts[i].fact == about->name &&
            (!finite(about) || value == NULL || t->facts[i].value == value))
            return &t->facts[i];
    return NULL;
}

static void tell_tool(const cw_session *session, cw_fact_id fact, cw_description_line *out)
{
    cw_check_id check = session->model->facts[fact].check;
    size_t at = cw_told_find(session, check);
    if (session->model->facts[fact].kind == CW_MEASURE && at < session->told.count)
        out->tool = session->model
                        ->tools[session->model->checks[check].tools.first +
                                CW_VEC_AT(&session->told, cw_told, at)->tool]
                        .name;
}

/* How it is known. */
static void tell_ground(const teller *t, cw_fact_id fact, cw_known known, cw_description_line *out)
{
    const cw_fact *about = &t->session->model->facts[fact];
    const cw_answer *answer = cw_chain_answered(t->session->chain, fact);
    out->doubtful = known == CW_DOUBTFUL_FACT;
    out->contested = known == CW_CONFLICT || cw_chain_contested(t->session->chain, fact);
    if (known == CW_CONFLICT) {
        out->by = CW_KNOWN_BY_CONFLICT;
        for (size_t i = 0; i < t->conflict_count; i++)
            if (t->conflicts[i].fact == about->name)
                out->conflict = &t->conflicts[i];
    } else if (answer != NULL && !answer->cant_tell) {
        out->by = CW_KNOWN_BY_ANSWER;
        tell_tool(t->session, fact, out);
    } else {
        out->by = CW_KNOWN_BY_RULE;
        out->why = find_why(t, about, out->value);
        if (out->why != NULL && strcmp(out->why->rule, CW_UNIT_DATA) == 0)
            out->by = CW_KNOWN_BY_UNIT;
    }
}

static int likeliest_first(const void *a, const void *b)
{
    const cw_swap_risk *x = a, *y = b;
    if (x->share != y->share)
        return x->share > y->share ? -1 : 1;
    return strcmp(x->check->name, y->check->name);
}

static bool tell_swaps(const teller *t, cw_fact_id fact, cw_description_line *out)
{
    const cw_session *session = t->session;
    size_t count = cw_chain_readings(session->chain, fact, t->readings, session->model->checks_count);
    cw_swap_risk *swaps = CW_NEW_ARRAY(session->replies, cw_swap_risk, count);
    if (swaps == NULL)
        return false;
    for (size_t i = 0; i < count; i++) {
        cw_check_id check = session->model->facts[t->readings[i]].check;
        if (session->model->checks[check].swapped > 0)
            swaps[out->swap_count++] =
                (cw_swap_risk){&session->pack->checks[check - 1], session->model->checks[check].swapped};
    }
    if (out->swap_count > 1)
        qsort(swaps, out->swap_count, sizeof *swaps, likeliest_first);
    out->swaps = swaps;
    return true;
}

static const cw_missing *find_missing(const cw_missing *list, size_t count, cw_fact_id fact)
{
    for (size_t i = 0; i < count; i++)
        if (list[i].fact == fact)
            return &list[i];
    return NULL;
}

/* What would tell it; what nothing can tell of this unit does not concern it. False when memory fails. */
static bool tell_missing(const teller *t, cw_fact_id fact, cw_description_line *out)
{
    const cw_missing *missing = find_missing(t->missing, t->missing_count, fact);
    out->untold = missing == NULL;
    if (missing == NULL)
        missing = find_missing(t->untold, t->untold_count, fact);
    if (missing == NULL)
        return true;
    cw_teller *tellers = CW_NEW_ARRAY(t->session->replies, cw_teller, missing->count);
    if (tellers == NULL)
        return false;
    for (size_t i = 0; i < missing->count; i++)
        tellers[i] = (cw_teller){&t->session->pack->checks[missing->checks[i].check - 1],
                                 cw_where_name(missing->checks[i].place), missing->checks[i].minutes};
    out->tellers = tellers;
    out->teller_count = missing->count;
    return true;
}

static bool tell_line(const teller *t, cw_fact_id fact, cw_description_line *out)
{
    cw_known known;
    *out = (cw_description_line){.fact = t->session->model->facts[fact].name,
                                 .title = cw_say_title(t->session->model, fact)};
    if (!tell_value(t->session, fact, &known, out))
        return false;
    if (known == CW_UNKNOWN)
        return tell_missing(t, fact, out);
    tell_ground(t, fact, known, out);
    return tell_swaps(t, fact, out);
}

static cw_status tell_heading(const teller *t, const cw_heading *heading, cw_description *sum,
                              cw_description_heading *out)
{
    cw_description_line *lines = CW_NEW_ARRAY(t->session->replies, cw_description_line, heading->facts.count);
    if (lines == NULL)
        return CW_NO_MEMORY;
    *out = (cw_description_heading){.heading = heading->name, .title = heading->title, .lines = lines};
    for (uint32_t i = 0; i < heading->facts.count; i++) {
        cw_description_line *line = &lines[out->count];
        if (!tell_line(t, t->session->model->heading_facts[heading->facts.first + i], line))
            return CW_NO_MEMORY;
        bool known = line->by != CW_KNOWN_BY_NOTHING;
        sum->known += known;
        sum->missing += !known && line->teller_count > 0;
        out->count += known || line->teller_count > 0;
    }
    return CW_OK;
}

static cw_status tell_headings(cw_session *session, cw_description *out)
{
    const cw_model *model = session->model;
    const cw_ask_limits anywhere = {.stage = CW_IDENTIFY, .here = session->here};
    teller t = {.session = session,
                .readings = CW_NEW_ARRAY(session->replies, cw_fact_id, (size_t)model->checks_count + 1)};
    cw_description_heading *headings =
        CW_NEW_ARRAY(session->replies, cw_description_heading, model->headings_count);
    cw_status status = headings != NULL && t.readings != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        status = cw_session_facts(session, &t.facts, &t.fact_count);
    if (status == CW_OK)
        status = cw_session_conflicts(session, &t.conflicts, &t.conflict_count);
    if (status == CW_OK)
        status = cw_ask_missing(session->asker, session->chain, &anywhere, false, session->replies,
                                &t.missing, &t.missing_count);
    if (status == CW_OK)
        status = cw_ask_missing(session->asker, session->chain, &anywhere, true, session->replies, &t.untold,
                                &t.untold_count);
    for (uint32_t i = 1; i <= model->headings_count && status == CW_OK; i++) {
        status = tell_heading(&t, &model->headings[i], out, &headings[out->count]);
        out->count += status == CW_OK && headings[out->count].count > 0;
    }
    out->headings = headings;
    return status;
}

/* No unit of the list holds. */
static cw_status find_unlisted(cw_session *session, bool *out)
{
    const cw_ranking *ranking;
    double *chance = CW_NEW_ARRAY(session->replies, double, (size_t)session->model->units_count + 1);
    cw_status status = chance != NULL ? cw_session_lines(session, &ranking) : CW_NO_MEMORY;
    if (status != CW_OK)
        return status;
    chance[0] = ranking->not_listed;
    for (size_t i = 0; i < ranking->count; i++)
        chance[cw_model_unit(session->model, ranking->lines[i].id)] = ranking->lines[i].probability;
    *out = cw_ask_unlisted(session->chain, chance);
    return CW_OK;
}

static cw_status work_out(cw_session *session, cw_description *out)
{
    if (cw_session_stopper(session) != NULL)
        return CW_OK;
    cw_status status = CW_OK;
    if (cw_session_about(session) == CW_ABOUT_UNITS)
        status = find_unlisted(session, &out->unlisted);
    return status == CW_OK ? tell_headings(session, out) : status;
}

cw_status cw_session_description(cw_session *session, const cw_description **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    if (session->description == NULL) {
        cw_description *made = CW_NEW(session->replies, cw_description);
        cw_status status = made != NULL ? work_out(session, made) : CW_NO_MEMORY;
        if (status != CW_OK)
            return status;
        session->description = made;
    }
    *out = session->description;
    return CW_OK;
}
