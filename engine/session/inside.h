/* What the files of this room share; nobody else includes it.
 *
 *     cw_pack    model, and everything that can be said of it beforehand; immutable to whoever looks at it
 *     cw_session chain, asker, explainer; what was told, in order; the replies handed out since the last
 * change */
#ifndef CW_SESSION_INSIDE_H
#define CW_SESSION_INSIDE_H

#include "base/vec.h"
#include "corewright/explain.h"
#include "corewright/next.h"
#include "explain/explain.h"
#include "explain/trail.h"
#include "session/door.h"
#include "session/kept.h"
#include <stdatomic.h>

struct cw_pack {
    cw_allocator allocator;
    cw_arena *arena; /* owns what stands below the tables */
    cw_model *model;
    const cw_kept *kept;                  /* NULL unless the model comes from an image */
    _Atomic(cw_identity_tables *) tables; /* NULL until a session needs them: cw_pack_tables */
    cw_pack_header *headers;
    cw_check_info *checks;     /* by check id - 1 */
    cw_caution_info *cautions; /* by caution id - 1 */
};

/* One answer as told: what the chain does not keep. */
typedef struct cw_told {
    cw_check_id check;
    bool cant_tell;
    uint32_t tool; /* measures: number within the check's tools */
    int place;     /* cw_where, or -1 */
} cw_told;

enum { CW_SUGGESTION_SIZE = CW_ANSWER_MAX_TEXT + 40 };

struct cw_session {
    const cw_pack *pack;
    const cw_model *model; /* the pack's */
    const cw_identity_tables *tables;
    cw_allocator allocator;
    cw_stage stage;
    uint32_t places; /* mask; 0 = all */
    cw_where here;
    cw_diags *diags; /* about the answer being taken */
    cw_chain *chain;
    cw_asker *asker;
    cw_explainer *explainer;             /* NULL until a line is explained */
    cw_causes_scratch *causes;           /* NULL until causes are ranked */
    cw_vec told;                         /* of cw_told, in the order first given; room for all checks */
    char suggestion[CW_SUGGESTION_SIZE]; /* "" = none */
    /* Replies since the last change; each is worked out once. */
    cw_arena *replies;
    const cw_ranking *ranking;
    size_t ranking_explain;  /* lines asked to be explained in `ranking` */
    const cw_ranking *lines; /* without reasons, parts, sets, plan and firmness; cw_session_lines */
    const cw_next *next;
    const cw_given *given;
    const cw_fact_info *facts;
    size_t fact_count;
    const cw_conflict_info *conflicts;
    size_t conflict_count;
    const cw_caution_info *const *cautions;
    size_t caution_count;
    const struct work_reply *work;   /* work.h */
    const struct proof_reply *proof; /* proof.c */
    const struct cw_steps *steps;
    const struct cw_description *description;
};

/* Something has changed: replies handed out so far end here. */
void cw_session_changed(cw_session *session);
/* Where the check's answer stands in session->told; told.count when it was not answered. */
size_t cw_told_find(const cw_session *session, cw_check_id check);
/* Of the cautions raised the one that ends most, NULL if none ends anything. */
const cw_caution_info *cw_session_stopper(const cw_session *session);
/* What has ended. */
cw_halt cw_session_halt(const cw_session *session);
/* Stage and places as the asker wants them; its own defaults for the rest. */
cw_ask_limits cw_session_limits(const cw_session *session);
/* identify ranks units, every other stage causes. */
cw_about cw_session_about(const cw_session *session);

/* info.c */
cw_status cw_pack_describe(cw_pack *pack);
/* handle.c: the tables of units, made for all who come after when they are first asked for. */
cw_status cw_pack_tables(const cw_pack *pack, const cw_identity_tables **out);

/* read.c, measure.c: one answer being read. */
typedef struct cw_reader {
    const cw_pack *pack;
    const cw_check *check;
    const cw_fact *fact;
    const cw_check_info *info;
    const char *text; /* trimmed; at most CW_ANSWER_MAX_TEXT bytes */
    size_t size;
    cw_span span; /* of the trimmed text */
    bool literal;
    cw_diags *diags;
    cw_answer *answer; /* out */
    uint32_t tool;     /* in: the tool said, or 0; out: the tool taken */
    bool tool_said;
    char *suggestion; /* CW_SUGGESTION_SIZE bytes; out after CW_UNCLEAR */
} cw_reader;

/* A spot within the text, for a message. */
cw_span cw_reader_spot(const cw_reader *reader, size_t at, size_t length);
/* CW_OK with reader->answer filled; CW_BAD_INPUT or CW_UNCLEAR with one message. */
cw_status cw_read_words(cw_reader *reader);
cw_status cw_read_measure(cw_reader *reader);
/* How a typed text can meet a word, best first; `exact` is what it is when they are equal. Both folded. */
typedef enum cw_meeting { MEETS_NAME, MEETS_WORD, MEETS_START, MEETS_PART, MEETS_NOT } cw_meeting;
cw_meeting cw_read_meet(const char *typed, const char *word, cw_meeting exact);
bool cw_read_cant_tell(const char *typed);
/* read_unit.c: `typed` is the folded text. */
cw_status cw_read_unit(cw_reader *reader, const char *typed);
/* The answer is offered, as what was most likely meant. */
cw_status cw_reader_offer(cw_reader *reader, const char *answer, const char *title);
/* Folds for comparison: small letters, one blank between words, '_' and '-' are blanks, one kind of
 * apostrophe, no full stop at the end. */
void cw_read_fold(const char *text, size_t size, char *out, size_t room);

/* words.c: how things are said. All texts live in the arena or the model; NULL when memory fails. */
const char *cw_say_value(const cw_model *model, cw_fact_id fact, uint32_t value);
/* Its title (for people) or name; not listed too. */
const char *cw_say_unit(const cw_model *model, cw_unit_id unit, bool for_people);
const char *cw_say_title(const cw_model *model, cw_fact_id fact);
/* "0.7 V": what is known of a measured or stamped fact; a finite one's value title. "" when nothing is. */
const char *cw_say_known(const cw_session *session, cw_arena *arena, cw_fact_id fact);
/* An answer as it was told: for reading back ("133.35 mm") and for people ("133.4 mm"). */
const char *cw_print_told(const cw_session *session, cw_arena *arena, cw_fact_id fact);
const char *cw_say_told(const cw_session *session, cw_arena *arena, cw_fact_id fact);
/* "AC ripple: high" */
const char *cw_say_fact(const cw_session *session, cw_arena *arena, cw_fact_id fact);
const char *cw_say_atom(const cw_session *session, cw_arena *arena, cw_atom_id atom);
/* "AC ripple above 0.5 V": what the atom asks for, whether it holds or not. */
const char *cw_say_test(const cw_session *session, cw_arena *arena, cw_atom_id atom);
const char *cw_say_quantity(cw_arena *arena, double base, double error, const cw_unit_info *unit);
const char *cw_print_quantity(cw_arena *arena, double base, const cw_unit_info *unit);
/* "62 %", "under 1 %" */
const char *cw_say_chance(cw_arena *arena, double chance);
/* The first letter small, where the word is no name or abbreviation. */
const char *cw_say_small(cw_arena *arena, const char *title);
/* "a", "a and b", "a, b and c" */
const char *cw_say_list(cw_arena *arena, const char *const *items, size_t count, const char *last);
/* A text that is written in the arena, and that text when it is complete. */
cw_text cw_text_in(cw_arena *arena);
const char *cw_text_done(const cw_text *text);

/* condition.c: what the condition asks for, with its "and" and "or". */
const char *cw_say_condition(const cw_session *session, cw_arena *arena, cw_atom_id atom);

/* steps.c: how a conclusion came about, as sentences; answers first. */
cw_status cw_say_trail(const cw_session *session, cw_arena *arena, const cw_trail *trail,
                       const char *const **lines, size_t *count);
const char *cw_say_support(const cw_session *session, cw_arena *arena, const cw_support *support);

/* ways.c: what the ways to go on come to, and how that is said; *out is NULL where nothing was weighed. */
cw_status cw_say_ways(cw_session *session, const cw_advice *advice, const cw_ways **out);

/* settles.c: what a check would settle, as a sentence. */
typedef struct cw_settler cw_settler;
cw_status cw_settler_new(const cw_session *session, cw_arena *arena, const cw_ranking *ranking,
                         cw_settler **out);
const char *cw_settler_say(cw_settler *settler, cw_check_id check);

#endif
