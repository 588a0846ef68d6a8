/* The open unit, part by part: which verdict counts and why, what is still to be measured, what is fitted in
 * its place and what it costs. */
#include "session/work.h"
#include "session/standing.h"
#include <string.h>

/* The worst counts; of equal ones what is sure. */
static bool is_worse(const cw_standing *one, const cw_standing *than)
{
    if (one->fact == 0 || than->fact == 0)
        return one->fact != 0;
    return one->value != than->value ? one->value > than->value : than->doubtful && !one->doubtful;
}

static cw_status list_measures(cw_session *session, const cw_due *due, cw_work_part *out)
{
    const cw_check_info **measure = CW_NEW_ARRAY(session->replies, const cw_check_info *, due->count);
    if (measure == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < due->count; i++)
        measure[i] = &session->pack->checks[due->checks[i].check - 1];
    out->measure = measure;
    out->measure_count = due->count;
    return CW_OK;
}

/* Verdicts that only a reading left open could have given. */
static cw_status list_untold(cw_session *session, const cw_due *left_open, cw_work_part *out)
{
    const char **untold = CW_NEW_ARRAY(session->replies, const char *, left_open->verdict_count);
    if (untold == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < left_open->verdict_count; i++)
        untold[i] = session->model->facts[left_open->verdicts[i]].title;
    out->untold = untold;
    out->untold_count = left_open->verdict_count;
    return CW_OK;
}

/* Loops are refused when the pack is loaded. */
static cw_status list_later(cw_session *session, cw_part_id part, cw_work_part *out)
{
    const cw_part *parts = session->model->parts;
    size_t count = 0;
    for (cw_part_id at = parts[part].replaced_by; at != 0; at = parts[at].replaced_by)
        count++;
    cw_later_part *later = CW_NEW_ARRAY(session->replies, cw_later_part, count);
    if (later == NULL)
        return CW_NO_MEMORY;
    cw_part_id newest = part;
    for (size_t i = 0; i < count; i++) {
        newest = parts[newest].replaced_by;
        later[i] = (cw_later_part){parts[newest].name, parts[newest].title, parts[newest].cost};
    }
    out->later = later;
    out->later_count = count;
    out->cost = parts[newest].cost;
    return CW_OK;
}

static const char *const words[CW_VERDICT_COUNT] = {"reuse", "rework", "replace"};

static void decide(cw_work_part *out, const cw_standing *worst, const cw_fact_info *why)
{
    out->verdict = "open";
    if (out->always) {
        out->verdict = words[CW_REPLACE];
        return;
    }
    out->why = why;
    out->doubtful = worst->doubtful;
    out->disputed = worst->disputed;
    if (worst->fact == 0)
        return;
    if (out->measure_count > 0)
        out->so_far = words[worst->value];
    else
        out->verdict = words[worst->value];
}

/* Parts that wait for what can be measured, and for that or what was left open. */
typedef struct waiting {
    const cw_due *due, *left_open;
    size_t due_count, left_open_count;
} waiting;

static const cw_due *find_due(const cw_due *due, size_t count, cw_part_id part)
{
    for (size_t i = 0; i < count; i++)
        if (due[i].part == part)
            return &due[i];
    return NULL;
}

static cw_status describe_part(cw_session *session, cw_part_id part, const waiting *waits, cw_work_part *out)
{
    const cw_due *due = find_due(waits->due, waits->due_count, part);
    const cw_due *left_open = find_due(waits->left_open, waits->left_open_count, part);
    const cw_model *model = session->model;
    const cw_fact_info *facts;
    size_t count;
    cw_standing worst = {0};
    *out = (cw_work_part){.part = model->parts[part].name,
                          .title = model->parts[part].title,
                          .always = model->parts[part].always};
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        if (model->facts[fact].verdict_on != part)
            continue;
        cw_standing one = cw_stand(session, fact);
        if (is_worse(&one, &worst))
            worst = one;
    }
    cw_status status = cw_session_facts(session, &facts, &count);
    if (status == CW_OK && due != NULL)
        status = list_measures(session, due, out);
    if (status == CW_OK)
        status = list_later(session, part, out);
    if (status != CW_OK)
        return status;
    decide(out, &worst, cw_stand_why(session, &worst, facts, count));
    return due == NULL && left_open != NULL ? list_untold(session, left_open, out) : CW_OK;
}

static bool has_verdict(const cw_model *model, cw_part_id part)
{
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        if (model->facts[fact].verdict_on == part)
            return true;
    return false;
}

/* Those with a verdict and those always changed; but no later part of one of them for its own sake. */
static cw_status mark_parts(const cw_session *session, bool **out)
{
    const cw_model *model = session->model;
    bool *listed = CW_NEW_ARRAY(session->replies, bool, (size_t)model->parts_count + 1);
    bool *later = CW_NEW_ARRAY(session->replies, bool, (size_t)model->parts_count + 1);
    if (listed == NULL || later == NULL)
        return CW_NO_MEMORY;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        listed[part] = model->parts[part].always || has_verdict(model, part);
        for (cw_part_id at = part; listed[part] && model->parts[at].replaced_by != 0;) {
            at = model->parts[at].replaced_by;
            later[at] = true;
        }
    }
    for (cw_part_id part = 1; part <= model->parts_count; part++)
        listed[part] = listed[part] && (!later[part] || has_verdict(model, part));
    *out = listed;
    return CW_OK;
}

static cw_status find_waiting(cw_session *session, waiting *out)
{
    const cw_ask_limits anywhere = {.stage = CW_TEARDOWN, .here = session->here};
    cw_status status = cw_ask_due(session->asker, session->chain, &anywhere, false, session->replies,
                                  &out->due, &out->due_count);
    if (status == CW_OK)
        status = cw_ask_due(session->asker, session->chain, &anywhere, true, session->replies,
                            &out->left_open, &out->left_open_count);
    return status;
}

/* Nothing is known of it, and nothing could have been: the unit in hand has another in its place. */
static bool is_not_there(const cw_work_part *part)
{
    return strcmp(part->verdict, "open") == 0 && part->so_far == NULL && part->measure_count == 0 &&
           part->untold_count == 0;
}

static uint32_t place_of(const cw_model *model, cw_part_id part)
{
    return model->parts[part].apart == 0 ? UINT32_MAX : model->parts[part].apart;
}

/* As a unit comes apart, then by name; NULL when memory fails. */
static const cw_part_id *as_it_comes_apart(const cw_session *session)
{
    const cw_model *model = session->model;
    cw_part_id *order = CW_NEW_ARRAY(session->replies, cw_part_id, model->parts_count);
    for (cw_part_id part = 1; part <= model->parts_count && order != NULL; part++) {
        uint32_t at = part - 1;
        for (; at > 0 && place_of(model, order[at - 1]) > place_of(model, part); at--)
            order[at] = order[at - 1];
        order[at] = part;
    }
    return order;
}

static cw_status list_parts(cw_session *session, work_reply *reply)
{
    const cw_model *model = session->model;
    waiting waits = {0};
    bool *listed;
    cw_work_part *list = CW_NEW_ARRAY(session->replies, cw_work_part, model->parts_count);
    const cw_part_id *order = as_it_comes_apart(session);
    cw_status status = list != NULL && order != NULL ? mark_parts(session, &listed) : CW_NO_MEMORY;
    if (status == CW_OK)
        status = find_waiting(session, &waits);
    for (uint32_t i = 0; i < model->parts_count && status == CW_OK; i++) {
        if (!listed[order[i]])
            continue;
        status = describe_part(session, order[i], &waits, &list[reply->part_count]);
        reply->part_count += status == CW_OK && !is_not_there(&list[reply->part_count]);
    }
    reply->parts = list;
    return status;
}

static void add_up(work_reply *reply)
{
    cw_work_sum *sum = &reply->sum;
    for (size_t i = 0; i < reply->part_count; i++) {
        const cw_work_part *part = &reply->parts[i];
        bool replace = strcmp(part->verdict, "replace") == 0, open = strcmp(part->verdict, "open") == 0;
        sum->replace += replace;
        sum->open += open;
        sum->reuse += strcmp(part->verdict, "reuse") == 0;
        sum->rework += strcmp(part->verdict, "rework") == 0;
        sum->doubtful += part->doubtful;
        if (!replace && !open)
            continue;
        sum->at_most += part->cost;
        sum->without_price += part->cost <= 0;
        sum->cost += replace && !part->doubtful ? part->cost : 0;
    }
}

static cw_status work_out(cw_session *session)
{
    if (session->work != NULL)
        return CW_OK;
    work_reply *reply = CW_NEW(session->replies, work_reply);
    if (reply == NULL)
        return CW_NO_MEMORY;
    cw_status status = CW_OK;
    if (cw_session_about(session) == CW_ABOUT_CAUSES && cw_session_stopper(session) == NULL) {
        status = list_parts(session, reply);
        if (status == CW_OK)
            status = cw_work_explain(session, &reply->explained);
    }
    if (status != CW_OK)
        return status;
    add_up(reply);
    session->work = reply;
    return CW_OK;
}

cw_status cw_session_work(cw_session *session, const cw_work_part **list, size_t *count)
{
    if (session == NULL || list == NULL || count == NULL)
        return CW_BAD_CALL;
    cw_status status = work_out(session);
    if (status != CW_OK)
        return status;
    *list = session->work->parts;
    *count = session->work->part_count;
    return CW_OK;
}

cw_status cw_session_work_sum(cw_session *session, const cw_work_sum **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    cw_status status = work_out(session);
    if (status == CW_OK)
        *out = &session->work->sum;
    return status;
}

cw_status cw_session_explained(cw_session *session, const cw_explained **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    cw_status status = work_out(session);
    if (status == CW_OK)
        *out = &session->work->explained;
    return status;
}
