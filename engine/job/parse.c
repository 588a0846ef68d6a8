/* A case file's tree to a case:
 *
 *     case, stage, source, complaint: texts
 *     answers: {check: text | {value, tool, place}}
 *     earlier: [{stage, complaint, answers} ...]
 *     places: place | [place ...]
 *     outcome: {unit: name | [name ...], causes: [...], accept: [...], proof: word, lines: [...],
 *               description: {fact: value ...}} */
#include "base/nearest.h"
#include "job/inside.h"
#include "model/model.h"
#include <string.h>

static void unknown_key(cw_diags *diags, const cw_node *key, const char *const *keys, size_t count,
                        const char *where)
{
    cw_nearest near = cw_nearest_start(key->text);
    for (size_t i = 0; i < count; i++)
        cw_nearest_try(&near, keys[i]);
    cw_diag *diag =
        cw_diags_add(diags, CW_DIAG_UNKNOWN_KEY, key->span, "'%s' means nothing in %s", key->text, where);
    if (near.best != NULL)
        cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
}

static void wrong_shape(cw_diags *diags, const cw_node *node, const char *what)
{
    cw_diags_add(diags, CW_DIAG_WRONG_SHAPE, node->span, "%s", what);
}

static const char *take_text(const cw_node *node, cw_diags *diags, const char *what)
{
    if (node->kind == CW_NODE_SCALAR)
        return node->text;
    cw_diags_add(diags, CW_DIAG_WRONG_SHAPE, node->span, "%s is a single text", what);
    return NULL;
}

typedef struct names {
    const char *const *list;
    const cw_span *spans;
    size_t count;
} names;

/* One name, or a list of names. */
static cw_status take_names(cw_case *job, const cw_node *node, cw_diags *diags, names *out)
{
    size_t room = node->kind == CW_NODE_LIST ? node->size : 1;
    const char **list = CW_NEW_ARRAY(job->arena, const char *, room);
    cw_span *spans = CW_NEW_ARRAY(job->arena, cw_span, room);
    if (list == NULL || spans == NULL)
        return CW_NO_MEMORY;
    *out = (names){list, spans, 0};
    if (node->kind == CW_NODE_MAP) {
        wrong_shape(diags, node, "a name or a list of names is wanted here");
        return CW_OK;
    }
    for (size_t i = 0; i < room; i++) {
        const cw_node *item = node->kind == CW_NODE_LIST ? cw_node_item(node, i) : node;
        if (item->kind != CW_NODE_SCALAR) {
            wrong_shape(diags, item, "a name is wanted here");
            continue;
        }
        spans[out->count] = item->span;
        list[out->count++] = item->text;
    }
    return CW_OK;
}

static bool stands_so(const cw_case *job, const cw_node *node)
{
    size_t size;
    const char *text = cw_source_text(job->sources, node->span.source, &size);
    return !node->quoted && node->span.end - node->span.start == node->size && node->span.end <= size &&
           memcmp(text + node->span.start, node->text, node->size) == 0;
}

static void take_answer_map(const cw_case *job, const cw_node *map, cw_diags *diags, cw_case_answer *answer,
                            cw_answer_node *where)
{
    static const char *const keys[] = {"value", "tool", "place"};
    for (size_t i = 0; i < map->size; i++) {
        const char *key = cw_node_key(map, i)->text;
        const cw_node *item = cw_node_item(map, i);
        if (strcmp(key, "value") == 0) {
            answer->value = take_text(item, diags, "the value of an answer");
            where->value = item->span;
            where->literal = item->kind == CW_NODE_SCALAR && stands_so(job, item);
        } else if (strcmp(key, "tool") == 0) {
            answer->tool = take_text(item, diags, "the tool of an answer");
            where->tool = item->span;
        } else if (strcmp(key, "place") == 0) {
            answer->place = take_text(item, diags, "the place of an answer");
            where->place = item->span;
        } else {
            unknown_key(diags, cw_node_key(map, i), keys, 3, "an answer");
        }
    }
    if (cw_node_get(map, "value") == NULL) {
        cw_diag *diag = cw_diags_add(diags, CW_DIAG_MISSING_KEY, where->check, "this answer has no value");
        cw_diag_help(diags, diag, "write the answer itself, or {value: ..., tool: ..., place: ...}");
    }
}

/* What is found, with where it stands. */
typedef struct answer_list {
    cw_case_answer *answers; /* one without a value is an error, and a case with errors is not handed out */
    cw_answer_node *nodes;
    size_t count;
} answer_list;

static cw_status take_answers(const cw_case *job, const cw_node *node, cw_diags *diags, answer_list *out)
{
    if (node->kind != CW_NODE_MAP) {
        wrong_shape(diags, node, "answers are a map: check: answer");
        return CW_OK;
    }
    answer_list list = {CW_NEW_ARRAY(job->arena, cw_case_answer, node->size),
                        CW_NEW_ARRAY(job->arena, cw_answer_node, node->size), node->size};
    if (list.answers == NULL || list.nodes == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < node->size; i++) {
        const cw_node *item = cw_node_item(node, i);
        cw_case_answer *answer = &list.answers[i];
        cw_answer_node *where = &list.nodes[i];
        *answer = (cw_case_answer){.check = cw_node_key(node, i)->text};
        *where = (cw_answer_node){.check = cw_node_key(node, i)->span};
        if (item->kind == CW_NODE_MAP) {
            take_answer_map(job, item, diags, answer, where);
        } else {
            answer->value = take_text(item, diags, "an answer");
            where->value = item->span;
            where->literal = item->kind == CW_NODE_SCALAR && stands_so(job, item);
        }
    }
    *out = list;
    return CW_OK;
}

static cw_status take_places(cw_case *job, const cw_node *node, cw_diags *diags)
{
    names found;
    if (take_names(job, node, diags, &found) != CW_OK)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < found.count; i++) {
        cw_where where;
        if (cw_where_find(found.list[i], &where))
            continue;
        cw_nearest near = cw_nearest_start(found.list[i]);
        for (int k = 0; k < CW_WHERE_COUNT; k++)
            cw_nearest_try(&near, cw_where_name((cw_where)k));
        cw_diag *diag =
            cw_diags_add(diags, CW_DIAG_BAD_WORD, found.spans[i], "'%s' is not a place", found.list[i]);
        if (near.best != NULL)
            cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
        else
            cw_diag_help(diags, diag, "one of: counter, vehicle, bench, teardown");
    }
    job->info.places = found.list;
    job->info.place_count = found.count;
    job->place_spans = found.spans;
    return CW_OK;
}

static void take_proof(cw_case *job, const cw_node *node, cw_diags *diags)
{
    static const char *const words[] = {"passed", "failed", "doubtful", "open"};
    const char *said = take_text(node, diags, "what a proof comes to");
    cw_nearest near = cw_nearest_start(said != NULL ? said : "");
    for (size_t i = 0; said != NULL && i < sizeof words / sizeof *words; i++) {
        if (strcmp(said, words[i]) == 0) {
            job->info.proof = said;
            return;
        }
        cw_nearest_try(&near, words[i]);
    }
    if (said == NULL)
        return;
    cw_diag *diag =
        cw_diags_add(diags, CW_DIAG_BAD_WORD, node->span, "'%s' is not what a proof comes to", said);
    if (near.best != NULL)
        cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    else
        cw_diag_help(diags, diag, "one of: passed, failed, doubtful, open");
}

static cw_status take_description(cw_case *job, const cw_node *node, cw_diags *diags)
{
    if (node->kind != CW_NODE_MAP) {
        wrong_shape(diags, node, "a description is a map of lines to what they say");
        return CW_OK;
    }
    cw_case_line *list = CW_NEW_ARRAY(job->arena, cw_case_line, node->size);
    cw_span *spans = CW_NEW_ARRAY(job->arena, cw_span, node->size);
    if (list == NULL || spans == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < node->size; i++) {
        const char *value = take_text(cw_node_item(node, i), diags, "what a line says");
        spans[job->info.description_count] = cw_node_key(node, i)->span;
        list[job->info.description_count] = (cw_case_line){cw_node_key(node, i)->text, value};
        job->info.description_count += value != NULL;
    }
    job->info.description = list;
    job->description_spans = spans;
    return CW_OK;
}

static cw_status take_outcome(cw_case *job, const cw_node *node, cw_diags *diags)
{
    static const char *const keys[] = {"unit", "causes", "accept", "proof", "lines", "description"};
    if (node->kind != CW_NODE_MAP) {
        wrong_shape(diags, node, "an outcome is a map: unit, or causes and accept, or proof and lines");
        return CW_OK;
    }
    job->outcome_span = node->span;
    for (size_t i = 0; i < node->size; i++) {
        names found = {0};
        const char *key = cw_node_key(node, i)->text;
        bool described = strcmp(key, "description") == 0;
        cw_status status = CW_OK;
        if (described)
            status = take_description(job, cw_node_item(node, i), diags);
        else if (strcmp(key, "proof") != 0)
            status = take_names(job, cw_node_item(node, i), diags, &found);
        if (status != CW_OK)
            return status;
        if (described)
            continue;
        if (strcmp(key, "proof") == 0) {
            take_proof(job, cw_node_item(node, i), diags);
        } else if (strcmp(key, "lines") == 0) {
            job->info.lines = found.list;
            job->info.line_count = found.count;
            job->line_spans = found.spans;
        } else if (strcmp(key, "unit") == 0) {
            job->info.units = found.list;
            job->info.unit_count = found.count;
            job->unit_spans = found.spans;
        } else if (strcmp(key, "causes") == 0) {
            job->info.causes = found.list;
            job->info.cause_count = found.count;
            job->info.causes_said = true;
            job->cause_spans = found.spans;
        } else if (strcmp(key, "accept") == 0) {
            job->info.accept = found.list;
            job->info.accept_count = found.count;
            job->accept_spans = found.spans;
        } else {
            unknown_key(diags, cw_node_key(node, i), keys, sizeof keys / sizeof *keys, "an outcome");
        }
    }
    return CW_OK;
}

static const char *take_stage(const cw_node *node, cw_diags *diags)
{
    const char *said = take_text(node, diags, "a stage");
    cw_stage stage;
    if (said == NULL || cw_stage_find(said, &stage))
        return said;
    cw_nearest near = cw_nearest_start(said);
    for (int i = 0; i < CW_STAGE_COUNT; i++)
        cw_nearest_try(&near, cw_stage_name((cw_stage)i));
    cw_diag *diag = cw_diags_add(diags, CW_DIAG_CASE_STAGE, node->span, "'%s' is not a stage", said);
    if (near.best != NULL)
        cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    else
        cw_diag_help(diags, diag, "one of: identify, triage, teardown, proof");
    return said;
}

static cw_status take_visit(const cw_case *job, const cw_node *map, cw_diags *diags, cw_case_earlier *out)
{
    static const char *const keys[] = {"stage", "complaint", "answers"};
    answer_list list = {0};
    cw_status status = CW_OK;
    if (map->kind != CW_NODE_MAP) {
        wrong_shape(diags, map, "what was told earlier is a map: stage, answers, complaint");
        return CW_OK;
    }
    for (size_t i = 0; i < map->size && status == CW_OK; i++) {
        const char *key = cw_node_key(map, i)->text;
        const cw_node *item = cw_node_item(map, i);
        if (strcmp(key, "stage") == 0)
            out->stage = take_stage(item, diags);
        else if (strcmp(key, "complaint") == 0)
            out->complaint = take_text(item, diags, "a complaint");
        else if (strcmp(key, "answers") == 0)
            status = take_answers(job, item, diags, &list);
        else
            unknown_key(diags, cw_node_key(map, i), keys, 3, "what was told earlier");
    }
    if (cw_node_get(map, "stage") == NULL)
        cw_diags_add(diags, CW_DIAG_MISSING_KEY, map->span, "it is not said at which stage this was told");
    out->answers = list.answers;
    out->answer_count = list.count;
    return status;
}

static cw_status take_earlier(cw_case *job, const cw_node *node, cw_diags *diags)
{
    if (node->kind != CW_NODE_LIST) {
        wrong_shape(diags, node, "'earlier' is a list of what was told before the unit was rebuilt");
        return CW_OK;
    }
    cw_case_earlier *visits = CW_NEW_ARRAY(job->arena, cw_case_earlier, node->size);
    cw_status status = visits == NULL ? CW_NO_MEMORY : CW_OK;
    for (size_t i = 0; i < node->size && status == CW_OK; i++)
        status = take_visit(job, cw_node_item(node, i), diags, &visits[i]);
    job->info.earlier = visits;
    job->info.earlier_count = node->size;
    return status;
}

static cw_status take_own_answers(cw_case *job, const cw_node *node, cw_diags *diags)
{
    answer_list list = {0};
    cw_status status = take_answers(job, node, diags, &list);
    job->info.answers = list.answers;
    job->info.answer_count = list.count;
    job->answer_nodes = list.nodes;
    return status;
}

static cw_status take_key(cw_case *job, const cw_node *key, const cw_node *item, cw_diags *diags)
{
    static const char *const keys[] = {"case",   "stage",   "answers", "complaint",
                                       "places", "outcome", "source",  "earlier"};
    cw_case_info *info = &job->info;
    if (strcmp(key->text, "case") == 0)
        info->name = take_text(item, diags, "the name of a case");
    else if (strcmp(key->text, "complaint") == 0)
        info->complaint = take_text(item, diags, "a complaint");
    else if (strcmp(key->text, "source") == 0)
        info->source = take_text(item, diags, "a source");
    else if (strcmp(key->text, "stage") == 0)
        job->stage_span = item->span, info->stage = take_stage(item, diags);
    else if (strcmp(key->text, "answers") == 0)
        return take_own_answers(job, item, diags);
    else if (strcmp(key->text, "earlier") == 0)
        return take_earlier(job, item, diags);
    else if (strcmp(key->text, "places") == 0)
        return take_places(job, item, diags);
    else if (strcmp(key->text, "outcome") == 0)
        return take_outcome(job, item, diags);
    else
        unknown_key(diags, key, keys, sizeof keys / sizeof *keys, "a case");
    return CW_OK;
}

cw_status cw_case_fill(cw_case *job, const cw_node *root, cw_diags *diags)
{
    if (root == NULL)
        return CW_OK;
    if (root->kind != CW_NODE_MAP) {
        wrong_shape(diags, root, "a case is a map: case, stage, answers, ...");
        return CW_OK;
    }
    for (size_t i = 0; i < root->size; i++) {
        cw_status status = take_key(job, cw_node_key(root, i), cw_node_item(root, i), diags);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}
