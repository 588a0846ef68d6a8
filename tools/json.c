#include "json.h"
#include "options.h"
#include "setup.h"
#include <jansson.h>
#include <stdio.h>
#include <string.h>

enum { EXPLAINED = 5 }; /* lines with reasons */

/* A failed allocation anywhere leaves NULL in a value; jansson's setters then fail, and so does the whole. */
typedef struct writer {
    const cw_pack *pack;
    cw_session *session;
    cw_status status;
    bool failed;
} writer;

static json_t *text(const char *words)
{
    return words != NULL ? json_string(words) : json_null();
}

static void put(writer *out, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) != 0)
        out->failed = true;
}

static void push(writer *out, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value) != 0)
        out->failed = true;
}

static json_t *texts(writer *out, const char *const *items, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        push(out, array, text(items[i]));
    return array;
}

static json_t *packs(writer *out)
{
    json_t *array = json_array();
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(out->pack, &headers);
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_object();
        put(out, one, "name", text(headers[i].name));
        put(out, one, "version", json_integer(headers[i].version));
        put(out, one, "sha256", text(headers[i].sha256));
        push(out, array, one);
    }
    return array;
}

static json_t *given_value(const cw_given *given)
{
    if (given->cant_tell)
        return text(given->value);
    if (given->kind == CW_ANSWER_MEASURE)
        return json_real(given->number);
    if (given->kind == CW_ANSWER_COUNT)
        return json_integer((json_int_t)given->number);
    return text(given->value);
}

static json_t *answers(writer *out)
{
    json_t *array = json_array();
    const cw_given *given;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_answers(out->session, &given, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        put(out, one, "check", text(given[i].check));
        put(out, one, "value", given_value(&given[i]));
        put(out, one, "unit", text(given[i].unit));
        put(out, one, "place", text(given[i].place));
        put(out, one, "tool", text(given[i].tool));
        push(out, array, one);
    }
    return array;
}

static json_t *reasons(writer *out, const cw_for_against *list, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_object();
        put(out, one, "check", text(list[i].check));
        put(out, one, "title", text(list[i].title));
        put(out, one, "value", text(list[i].value));
        put(out, one, "through", text(list[i].through));
        put(out, one, "rule", text(list[i].rule));
        put(out, one, "because", text(list[i].because));
        put(out, one, "source", text(list[i].source));
        put(out, one, "bits", json_real(list[i].bits));
        put(out, one, "without", json_real(list[i].without));
        push(out, array, one);
    }
    return array;
}

static json_t *ranking_lines(writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->count; i++) {
        const cw_line *line = &ranking->lines[i];
        json_t *one = json_object();
        put(out, one, "id", text(line->id));
        put(out, one, "title", text(line->title));
        put(out, one, "part", text(line->part));
        put(out, one, "probability", json_real(line->probability));
        put(out, one, "low", json_real(line->low));
        put(out, one, "high", json_real(line->high));
        put(out, one, "for", reasons(out, line->for_, line->for_count));
        put(out, one, "against", reasons(out, line->against, line->against_count));
        push(out, array, one);
    }
    return array;
}

static json_t *part_lines(writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->part_count; i++) {
        json_t *one = json_object();
        put(out, one, "part", text(ranking->parts[i].part));
        put(out, one, "title", text(ranking->parts[i].title));
        put(out, one, "probability", json_real(ranking->parts[i].probability));
        push(out, array, one);
    }
    return array;
}

static json_t *plan_lines(writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->plan_count; i++) {
        const cw_plan_line *line = &ranking->plan[i];
        json_t *one = json_object();
        put(out, one, "cause", text(line->cause));
        put(out, one, "title", text(line->title));
        put(out, one, "replace", texts(out, line->replace, line->replace_count));
        put(out, one, "look_also", texts(out, line->look_also, line->look_also_count));
        put(out, one, "steps", texts(out, line->steps, line->step_count));
        put(out, one, "root", text(line->root));
        push(out, array, one);
    }
    return array;
}

static void put_ranking(writer *out, json_t *root)
{
    const cw_ranking *ranking;
    out->status = out->status == CW_OK ? cw_session_ranking(out->session, EXPLAINED, &ranking) : out->status;
    if (out->status != CW_OK)
        return;
    put(out, root, "ranking", ranking_lines(out, ranking));
    put(out, root, "exact", json_boolean(ranking->exact));
    put(out, root, "possible", json_boolean(ranking->possible));
    if (ranking->of_units) {
        put(out, root, "not_listed", json_real(ranking->not_listed));
    } else {
        put(out, root, "no_fault", json_real(ranking->no_fault));
        put(out, root, "unit_at_fault", json_real(ranking->unit_at_fault));
        put(out, root, "nothing_found", json_real(ranking->nothing_found));
        put(out, root, "parts", part_lines(out, ranking));
    }
    put(out, root, "plan", plan_lines(out, ranking));
}

/* The cautions of one check in one text. */
static json_t *check_caution(const cw_check_info *check)
{
    if (check->caution_count == 0)
        return json_null();
    json_t *joined = json_string(check->cautions[0]->say);
    for (size_t i = 1; joined != NULL && i < check->caution_count; i++) {
        json_t *more = json_sprintf("%s %s", json_string_value(joined), check->cautions[i]->say);
        json_decref(joined);
        joined = more;
    }
    return joined;
}

static json_t *next_checks(writer *out, const cw_next *next)
{
    json_t *array = json_array();
    for (size_t i = 0; i < next->count; i++) {
        const cw_next_check *check = &next->checks[i];
        json_t *one = json_object();
        put(out, one, "check", text(check->check->name));
        put(out, one, "ask", text(check->check->ask));
        put(out, one, "place", text(check->place));
        put(out, one, "minutes", json_real(check->minutes));
        put(out, one, "bits", json_real(check->bits));
        put(out, one, "why", text(check->why));
        put(out, one, "caution", check_caution(check->check));
        push(out, array, one);
    }
    return array;
}

static json_t *alike(writer *out, const cw_next *next)
{
    json_t *array = json_array();
    for (size_t i = 0; i < next->alike_count; i++) {
        const cw_alike *group = &next->alike[i];
        json_t *one = json_object();
        put(out, one, "ids", texts(out, group->ids, group->count));
        put(out, one, "titles", texts(out, group->titles, group->count));
        put(out, one, "probability", json_real(group->probability));
        put(out, one, "tells", text(group->tells != NULL ? group->tells->name : NULL));
        put(out, one, "place", text(group->tells_place));
        put(out, one, "minutes", group->tells != NULL ? json_real(group->tells_minutes) : json_null());
        push(out, array, one);
    }
    return array;
}

static void put_next(writer *out, json_t *root)
{
    static const char *const stops[] = {[CW_GO_ON] = NULL,
                                        [CW_SURE_ENOUGH] = "sure_enough",
                                        [CW_NOTHING_HELPS] = "nothing_helps",
                                        [CW_CAUTION_STOPS] = "caution"};
    const cw_next *next;
    out->status = out->status == CW_OK ? cw_session_next(out->session, &next) : out->status;
    if (out->status != CW_OK)
        return;
    put(out, root, "next", next_checks(out, next));
    put(out, root, "stop", text(stops[next->stop]));
    put(out, root, "alike", alike(out, next));
}

static json_t *fact_from(writer *out, const cw_fact_info *fact)
{
    json_t *array = json_array();
    for (size_t i = 0; i < fact->from_count; i++) {
        json_t *one = json_object();
        put(out, one, "fact", text(fact->from_facts[i]));
        put(out, one, "shown", text(fact->from[i]));
        put(out, one, "absent", json_boolean(fact->from_absent[i]));
        push(out, array, one);
    }
    return array;
}

static json_t *facts(writer *out)
{
    json_t *array = json_array();
    const cw_fact_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_facts(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        put(out, one, "fact", text(list[i].fact));
        put(out, one, "value", text(list[i].value));
        put(out, one, "rule", text(list[i].rule));
        put(out, one, "from", fact_from(out, &list[i]));
        put(out, one, "because", text(list[i].because));
        put(out, one, "source", text(list[i].source));
        put(out, one, "doubtful", json_boolean(list[i].doubtful));
        put(out, one, "contested", json_boolean(list[i].contested));
        push(out, array, one);
    }
    return array;
}

static json_t *sides(writer *out, const cw_conflict_info *conflict)
{
    json_t *array = json_array();
    for (size_t i = 0; i < conflict->side_count; i++) {
        const cw_conflict_side *side = &conflict->sides[i];
        json_t *one = json_object();
        put(out, one, "value", text(side->value));
        put(out, one, "rule", text(side->rule));
        put(out, one, "because", text(side->because));
        put(out, one, "proof", texts(out, side->proof, side->proof_count));
        push(out, array, one);
    }
    return array;
}

static json_t *conflicts(writer *out)
{
    json_t *array = json_array();
    const cw_conflict_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_conflicts(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        put(out, one, "fact", text(list[i].fact));
        put(out, one, "title", text(list[i].title));
        put(out, one, "sides", sides(out, &list[i]));
        push(out, array, one);
    }
    return array;
}

static json_t *cautions(writer *out)
{
    json_t *array = json_array();
    const cw_caution_info *const *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_cautions(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        put(out, one, "name", text(list[i]->name));
        put(out, one, "say", text(list[i]->say));
        put(out, one, "stop", json_boolean(list[i]->stop));
        push(out, array, one);
    }
    return array;
}

static json_t *hints(writer *out, const char *words)
{
    json_t *array = json_array();
    const cw_hint_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_hints(out->session, words, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        put(out, one, "check", text(list[i].check));
        put(out, one, "answer", text(list[i].answer));
        put(out, one, "say", text(list[i].say));
        push(out, array, one);
    }
    return array;
}

static void put_all(writer *out, json_t *root, const char *words)
{
    put(out, root, "stage", text(cw_session_stage(out->session)));
    put(out, root, "packs", packs(out));
    put(out, root, "answers", answers(out));
    put_ranking(out, root);
    put_next(out, root);
    put(out, root, "facts", facts(out));
    put(out, root, "conflicts", conflicts(out));
    put(out, root, "cautions", cautions(out));
    if (words != NULL)
        put(out, root, "hints", hints(out, words));
}

int json_print(const cw_pack *pack, cw_session *session, const char *words)
{
    writer out = {.pack = pack, .session = session, .status = CW_OK};
    json_t *root = json_object();
    put_all(&out, root, words);
    if (out.failed && out.status == CW_OK)
        out.status = CW_NO_MEMORY;
    int exit_status = explain_status(out.status, "the words of the customer", NULL);
    if (exit_status == EXIT_DONE) {
        /* 12 figures: more than any frequency bears, and 0.1 stays 0.1. */
        if (json_dumpf(root, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) != 0)
            exit_status = EXIT_FAILED;
        fputc('\n', stdout);
    }
    json_decref(root);
    return exit_status;
}
