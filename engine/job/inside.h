/* What the files of this room share; nobody else includes it. */
#ifndef CW_JOB_INSIDE_H
#define CW_JOB_INSIDE_H

#include "base/arena.h"
#include "corewright/job.h"
#include "pack/write.h"
#include "pack/yaml.h"
#include "session/door.h"

/* Beside each public answer, where its words stand. */
typedef struct cw_answer_node {
    cw_span check, value, tool, place;
    bool literal; /* the file holds the value byte for byte */
} cw_answer_node;

struct cw_case {
    cw_allocator allocator;
    cw_arena *arena;
    cw_sources *sources; /* for messages when the case is applied */
    cw_case_info info;
    cw_answer_node *answer_nodes; /* beside info.answers */
    cw_span stage_span, outcome_span;
    const cw_span *place_spans, *unit_spans, *cause_spans, *accept_spans, *line_spans, *description_spans;
};

/* parse.c: fills job->info from the tree; what is wrong goes to diags. CW_OK also when there were errors. */
cw_status cw_case_fill(cw_case *job, const cw_node *root, cw_diags *diags);

/* file.c: whole files. CW_CANNOT_READ, CW_LIMIT with errno's words in reason. */
cw_status cw_file_read(const char *path, size_t limit, cw_text *out, char *reason, size_t reason_size);
/* A list with the one message that path cannot be used, and why. messages may be NULL. */
cw_status cw_file_message(const cw_allocator *allocator, cw_code code, const char *path, const char *reason,
                          cw_messages **messages);

#endif
