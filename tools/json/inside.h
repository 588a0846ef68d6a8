/* What the files that write JSON share. */
#ifndef TOOLS_JSON_INSIDE_H
#define TOOLS_JSON_INSIDE_H

#include "corewright/corewright.h"
#include <jansson.h>

/* A failed allocation anywhere leaves NULL in a value; jansson's setters then fail, and so does the whole. */
typedef struct json_writer {
    const cw_pack *pack;
    cw_session *session;
    cw_status status;
    bool failed;
} json_writer;

json_t *json_text(const char *words); /* null for NULL */
json_t *json_texts(json_writer *out, const char *const *items, size_t count);
void json_put(json_writer *out, json_t *object, const char *key, json_t *value);
void json_push(json_writer *out, json_t *array, json_t *value);
/* What every result begins and ends with. */
json_t *json_packs(json_writer *out);
json_t *json_answers(json_writer *out);
json_t *json_conflicts(json_writer *out);
json_t *json_cautions(json_writer *out);
/* Prints the whole and lets go of it; returns the exit status. */
int json_finish(json_writer *out, json_t *root, const char *about);
/* The premises of a conclusion. */
json_t *json_fact_from(json_writer *out, const cw_fact_info *fact);
/* identify: unlisted, description. */
void json_put_description(json_writer *out, json_t *root);
/* teardown: work, cost, explained, unexplained. */
void json_put_work(json_writer *out, json_t *root);

/* proof: the sheet. */
void json_put_proof(json_writer *out, json_t *root);
/* What is still to be measured for a part or a line. */
json_t *json_measures(json_writer *out, const cw_check_info *const *checks, size_t count);
/* The conclusion behind a verdict or a line; null for NULL. */
json_t *json_why(json_writer *out, const cw_fact_info *fact);

#endif
