/* Trials and their sums as JSON: what replay and compare share. */
#ifndef TOOLS_TRIAL_JSON_H
#define TOOLS_TRIAL_JSON_H

#include "trial/tally.h"
#include "json/inside.h"

/* A file that could not be taken: its messages. */
json_t *json_trial_messages(json_writer *out, const trial *one);
/* first, right, truth, log_loss and brier, into an object. */
void json_put_score(json_writer *out, json_t *object, bool of_units, const trial_score *score);
/* Lines of sheet or description that are not as labelled. */
json_t *json_trial_wrong(json_writer *out, const trial *one);
/* Sums of one stage, or of all. */
json_t *json_tally_stage(json_writer *out, const tally_stage *stage);
json_t *json_mistakes(json_writer *out, const tally *all);

/* An object that is printed piece by piece, so that it never lies in memory whole: json_stream_open prints
 * the brace and the packs or what else `head` holds, then one array of elements, a line each, then the rest.
 */
void json_stream_open(json_writer *out, json_t *head, const char *array);
void json_stream_element(json_writer *out, json_t *element, bool first);
/* EXIT_DONE, or the reason is on standard error. */
int json_stream_close(json_writer *out, json_t *rest);

#endif
