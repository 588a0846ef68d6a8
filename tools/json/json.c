#include "json/json.h"
#include "screen/exit.h"
#include "setup/setup.h"
#include "json/inside.h"
#include <stdio.h>
#include <string.h>

enum { EXPLAINED = 5 }; /* lines with reasons */

json_t *json_text(const char *words)
{
    return words != NULL ? json_string(words) : json_null();
}

void json_put(json_writer *out, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) != 0)
        out->failed = true;
}

void json_push(json_writer *out, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value) != 0)
        out->failed = true;
}

json_t *json_texts(json_writer *out, const char *const *items, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++)
        json_push(out, array, json_text(items[i]));
    return array;
}

json_t *json_measures(json_writer *out, const cw_check_info *const *checks, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(checks[i]->name));
        json_put(out, one, "title", json_text(checks[i]->title));
        json_put(out, one, "minutes", json_real(checks[i]->minutes));
        json_push(out, array, one);
    }
    return array;
}

json_t *json_packs(json_writer *out)
{
    json_t *array = json_array();
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(out->pack, &headers);
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "name", json_text(headers[i].name));
        json_put(out, one, "version", json_integer(headers[i].version));
        json_put(out, one, "sha256", json_text(headers[i].sha256));
        json_push(out, array, one);
    }
    return array;
}

static json_t *given_value(const cw_given *given)
{
    if (given->cant_tell)
        return json_text(given->value);
    if (given->kind == CW_ANSWER_MEASURE)
        return json_real(given->number);
    if (given->kind == CW_ANSWER_COUNT)
        return json_integer((json_int_t)given->number);
    return json_text(given->value);
}

json_t *json_answers(json_writer *out)
{
    json_t *array = json_array();
    const cw_given *given;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_answers(out->session, &given, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(given[i].check));
        json_put(out, one, "value", given_value(&given[i]));
        json_put(out, one, "unit", json_text(given[i].unit));
        json_put(out, one, "place", json_text(given[i].place));
        json_put(out, one, "tool", json_text(given[i].tool));
        json_push(out, array, one);
    }
    return array;
}

static json_t *reasons(json_writer *out, const cw_for_against *list, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(list[i].check));
        json_put(out, one, "title", json_text(list[i].title));
        json_put(out, one, "value", json_text(list[i].value));
        json_put(out, one, "through", json_text(list[i].through));
        json_put(out, one, "rule", json_text(list[i].rule));
        json_put(out, one, "because", json_text(list[i].because));
        json_put(out, one, "source", json_text(list[i].source));
        json_put(out, one, "bits", json_real(list[i].bits));
        json_put(out, one, "without", json_real(list[i].without));
        json_push(out, array, one);
    }
    return array;
}

static json_t *ranking_lines(json_writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->count; i++) {
        const cw_line *line = &ranking->lines[i];
        json_t *one = json_object();
        json_put(out, one, "id", json_text(line->id));
        json_put(out, one, "title", json_text(line->title));
        json_put(out, one, "part", json_text(line->part));
        json_put(out, one, "probability", json_real(line->probability));
        json_put(out, one, "low", json_real(line->low));
        json_put(out, one, "high", json_real(line->high));
        json_put(out, one, "for", reasons(out, line->for_, line->for_count));
        json_put(out, one, "against", reasons(out, line->against, line->against_count));
        json_push(out, array, one);
    }
    return array;
}

static json_t *part_lines(json_writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->part_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "part", json_text(ranking->parts[i].part));
        json_put(out, one, "title", json_text(ranking->parts[i].title));
        json_put(out, one, "probability", json_real(ranking->parts[i].probability));
        if (ranking->parts[i].root != NULL) {
            json_put(out, one, "root", json_text(ranking->parts[i].root));
            json_put(out, one, "root_title", json_text(ranking->parts[i].root_title));
            json_put(out, one, "root_probability", json_real(ranking->parts[i].root_probability));
        }
        json_push(out, array, one);
    }
    return array;
}

static json_t *set_lines(json_writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->set_count; i++) {
        const cw_set_line *set = &ranking->sets[i];
        json_t *one = json_object();
        json_put(out, one, "causes", json_texts(out, set->causes, set->cause_count));
        json_put(out, one, "titles", json_texts(out, set->titles, set->cause_count));
        json_put(out, one, "probability", json_real(set->probability));
        json_put(out, one, "low", json_real(set->low));
        json_put(out, one, "high", json_real(set->high));
        json_push(out, array, one);
    }
    return array;
}

static json_t *slips(json_writer *out, const cw_plan_line *line)
{
    json_t *array = json_array();
    for (size_t i = 0; i < line->slip_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "step", json_text(line->slips[i].step));
        json_put(out, one, "title", json_text(line->slips[i].title));
        json_put(out, one, "mistake", json_text(line->slips[i].mistake));
        json_push(out, array, one);
    }
    return array;
}

static json_t *plan_lines(json_writer *out, const cw_ranking *ranking)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ranking->plan_count; i++) {
        const cw_plan_line *line = &ranking->plan[i];
        json_t *one = json_object();
        json_put(out, one, "cause", json_text(line->cause));
        json_put(out, one, "title", json_text(line->title));
        json_put(out, one, "replace", json_texts(out, line->replace, line->replace_count));
        json_put(out, one, "look_also", json_texts(out, line->look_also, line->look_also_count));
        json_put(out, one, "steps", json_texts(out, line->steps, line->step_count));
        json_put(out, one, "slips", slips(out, line));
        json_put(out, one, "root", json_text(line->root));
        json_push(out, array, one);
    }
    return array;
}

static void put_ranking(json_writer *out, json_t *root)
{
    const cw_ranking *ranking;
    out->status = out->status == CW_OK ? cw_session_ranking(out->session, EXPLAINED, &ranking) : out->status;
    if (out->status != CW_OK)
        return;
    json_put(out, root, "ranking", ranking_lines(out, ranking));
    json_put(out, root, "exact", json_boolean(ranking->exact));
    json_put(out, root, "possible", json_boolean(ranking->possible));
    if (ranking->of_units) {
        json_put(out, root, "not_listed", json_real(ranking->not_listed));
    } else {
        json_put(out, root, "no_fault", json_real(ranking->no_fault));
        json_put(out, root, "unit_at_fault", json_real(ranking->unit_at_fault));
        json_put(out, root, "nothing_found", json_real(ranking->nothing_found));
        json_put(out, root, "parts", part_lines(out, ranking));
        json_put(out, root, "sets", set_lines(out, ranking));
        json_put(out, root, "sets_proven", json_boolean(ranking->sets_proven));
    }
    json_put(out, root, "firm", json_boolean(ranking->firm));
    json_put(out, root, "firm_rival", json_text(ranking->firm_rival));
    json_put(out, root, "plan", plan_lines(out, ranking));
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

/* Null where there is none. */
static json_t *json_cost(double cost)
{
    return cost >= 0 ? json_real(cost) : json_null();
}

static json_t *next_checks(json_writer *out, const cw_next *next)
{
    json_t *array = json_array();
    for (size_t i = 0; i < next->count; i++) {
        const cw_next_check *check = &next->checks[i];
        json_t *one = json_object();
        json_put(out, one, "check", json_text(check->check->name));
        json_put(out, one, "ask", json_text(check->check->ask));
        json_put(out, one, "place", json_text(check->place));
        json_put(out, one, "minutes", json_real(check->minutes));
        json_put(out, one, "opens", json_boolean(check->opens));
        json_put(out, one, "bits", json_real(check->bits));
        json_put(out, one, "expected", json_cost(check->expected));
        json_put(out, one, "why", json_text(check->why));
        json_put(out, one, "caution", check_caution(check->check));
        if (check->part != NULL)
            json_put(out, one, "part", json_text(check->part));
        if (check->line != NULL)
            json_put(out, one, "line", json_text(check->line));
        json_push(out, array, one);
    }
    return array;
}

static json_t *alike(json_writer *out, const cw_next *next)
{
    json_t *array = json_array();
    for (size_t i = 0; i < next->alike_count; i++) {
        const cw_alike *group = &next->alike[i];
        json_t *one = json_object();
        json_put(out, one, "ids", json_texts(out, group->ids, group->count));
        json_put(out, one, "titles", json_texts(out, group->titles, group->count));
        json_put(out, one, "probability", json_real(group->probability));
        json_put(out, one, "tells", json_text(group->tells != NULL ? group->tells->name : NULL));
        json_put(out, one, "place", json_text(group->tells_place));
        json_put(out, one, "minutes", group->tells != NULL ? json_real(group->tells_minutes) : json_null());
        json_push(out, array, one);
    }
    return array;
}

static json_t *repairs(json_writer *out, const cw_ways *ways)
{
    json_t *array = json_array();
    for (size_t i = 0; i < ways->repair_count; i++) {
        const cw_repair_line *repair = &ways->repairs[i];
        json_t *one = json_object();
        json_put(out, one, "what", json_text(repair->what));
        json_put(out, one, "causes", json_texts(out, repair->causes, repair->cause_count));
        json_put(out, one, "exchange", json_boolean(repair->exchange));
        json_put(out, one, "probability", json_real(repair->probability));
        json_put(out, one, "minutes", json_real(repair->minutes));
        json_put(out, one, "parts", json_real(repair->parts));
        json_put(out, one, "no_price", json_text(repair->no_price));
        json_put(out, one, "cost", json_real(repair->cost));
        json_put(out, one, "worth", json_boolean(i < ways->worth_count));
        json_push(out, array, one);
    }
    return array;
}

static json_t *ways(json_writer *out, const cw_ways *ways)
{
    json_t *one = json_object();
    json_put(out, one, "known", json_boolean(ways->known));
    json_put(out, one, "measure", json_text(ways->money ? "money" : "minutes"));
    json_put(out, one, "best", json_text(ways->best));
    json_put(out, one, "test", json_cost(ways->test));
    json_put(out, one, "repair", json_cost(ways->repair));
    json_put(out, one, "hand_back", json_cost(ways->hand_back));
    json_put(out, one, "repairs", repairs(out, ways));
    json_put(out, one, "words", json_text(ways->words));
    return one;
}

static void put_next(json_writer *out, json_t *root)
{
    static const char *const stops[] = {[CW_GO_ON] = NULL,
                                        [CW_SURE_ENOUGH] = "sure_enough",
                                        [CW_NOTHING_HELPS] = "nothing_helps",
                                        [CW_CAUTION_STOPS] = "caution",
                                        [CW_COSTS_MORE] = "costs_more"};
    const cw_next *next;
    out->status = out->status == CW_OK ? cw_session_next(out->session, &next) : out->status;
    if (out->status != CW_OK)
        return;
    json_put(out, root, "next", next_checks(out, next));
    json_put(out, root, "stop", json_text(stops[next->stop]));
    json_put(out, root, "alike", alike(out, next));
    if (next->ways != NULL)
        json_put(out, root, "ways", ways(out, next->ways));
}

json_t *json_fact_from(json_writer *out, const cw_fact_info *fact)
{
    json_t *array = json_array();
    for (size_t i = 0; i < fact->from_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "fact", json_text(fact->from_facts[i]));
        json_put(out, one, "shown", json_text(fact->from[i]));
        json_put(out, one, "absent", json_boolean(fact->from_absent[i]));
        json_push(out, array, one);
    }
    return array;
}

json_t *json_why(json_writer *out, const cw_fact_info *fact)
{
    if (fact == NULL)
        return json_null();
    json_t *one = json_object();
    json_put(out, one, "fact", json_text(fact->fact));
    json_put(out, one, "title", json_text(fact->title));
    json_put(out, one, "rule", json_text(fact->rule));
    json_put(out, one, "from", json_fact_from(out, fact));
    json_put(out, one, "because", json_text(fact->because));
    json_put(out, one, "source", json_text(fact->source));
    return one;
}

static json_t *facts(json_writer *out)
{
    json_t *array = json_array();
    const cw_fact_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_facts(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "fact", json_text(list[i].fact));
        json_put(out, one, "value", json_text(list[i].value));
        json_put(out, one, "rule", json_text(list[i].rule));
        json_put(out, one, "from", json_fact_from(out, &list[i]));
        json_put(out, one, "because", json_text(list[i].because));
        json_put(out, one, "source", json_text(list[i].source));
        json_put(out, one, "doubtful", json_boolean(list[i].doubtful));
        json_put(out, one, "contested", json_boolean(list[i].contested));
        json_push(out, array, one);
    }
    return array;
}

static json_t *sides(json_writer *out, const cw_conflict_info *conflict)
{
    json_t *array = json_array();
    for (size_t i = 0; i < conflict->side_count; i++) {
        const cw_conflict_side *side = &conflict->sides[i];
        json_t *one = json_object();
        json_put(out, one, "value", json_text(side->value));
        json_put(out, one, "rule", json_text(side->rule));
        json_put(out, one, "because", json_text(side->because));
        json_put(out, one, "proof", json_texts(out, side->proof, side->proof_count));
        json_push(out, array, one);
    }
    return array;
}

json_t *json_conflicts(json_writer *out)
{
    json_t *array = json_array();
    const cw_conflict_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_conflicts(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "fact", json_text(list[i].fact));
        json_put(out, one, "title", json_text(list[i].title));
        json_put(out, one, "sides", sides(out, &list[i]));
        json_push(out, array, one);
    }
    return array;
}

json_t *json_cautions(json_writer *out)
{
    json_t *array = json_array();
    const cw_caution_info *const *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_cautions(out->session, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "name", json_text(list[i]->name));
        json_put(out, one, "say", json_text(list[i]->say));
        json_put(out, one, "stop", json_boolean(list[i]->stop));
        json_push(out, array, one);
    }
    return array;
}

static json_t *hints(json_writer *out, const char *words)
{
    json_t *array = json_array();
    const cw_hint_info *list;
    size_t count = 0;
    out->status = out->status == CW_OK ? cw_session_hints(out->session, words, &list, &count) : out->status;
    for (size_t i = 0; out->status == CW_OK && i < count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(list[i].check));
        json_put(out, one, "answer", json_text(list[i].answer));
        json_put(out, one, "say", json_text(list[i].say));
        json_push(out, array, one);
    }
    return array;
}

static void put_all(json_writer *out, json_t *root, const char *words)
{
    json_put(out, root, "stage", json_text(cw_session_stage(out->session)));
    json_put(out, root, "packs", json_packs(out));
    json_put(out, root, "answers", json_answers(out));
    put_ranking(out, root);
    put_next(out, root);
    if (strcmp(cw_session_stage(out->session), "identify") == 0)
        json_put_description(out, root);
    if (strcmp(cw_session_stage(out->session), "teardown") == 0)
        json_put_work(out, root);
    if (strcmp(cw_session_stage(out->session), "proof") == 0)
        json_put_proof(out, root);
    json_put(out, root, "facts", facts(out));
    json_put(out, root, "conflicts", json_conflicts(out));
    json_put(out, root, "cautions", json_cautions(out));
    if (words != NULL)
        json_put(out, root, "hints", hints(out, words));
}

int json_finish(json_writer *out, json_t *root, const char *about)
{
    if (out->failed && out->status == CW_OK)
        out->status = CW_NO_MEMORY;
    int exit_status = explain_status(out->status, about, NULL);
    if (exit_status == EXIT_DONE) {
        /* 12 figures: more than any frequency bears, and 0.1 stays 0.1. */
        if (json_dumpf(root, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(12)) != 0)
            exit_status = EXIT_FAILED;
        fputc('\n', stdout);
    }
    json_decref(root);
    return exit_status;
}

int json_print(const cw_pack *pack, cw_session *session, const char *words)
{
    json_writer out = {.pack = pack, .session = session, .status = CW_OK};
    json_t *root = json_object();
    put_all(&out, root, words);
    return json_finish(&out, root, "the words of the customer");
}
