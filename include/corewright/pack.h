/* Packs: what a shop knows, compiled.
 *
 * Owner: the caller frees a pack after the last of its sessions. Threads: a pack is immutable; any number of
 * sessions on any threads may use it. Failures: CW_BAD_INPUT with messages, CW_CANNOT_READ, CW_NO_MEMORY. */
#ifndef COREWRIGHT_PACK_H
#define COREWRIGHT_PACK_H

#include "corewright/halt.h"
#include "corewright/message.h"
#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How memory is asked for; zero it for malloc. new_size 0 frees; otherwise like realloc, told the old size. One of your
 * own is asked by the threads alone that call the library; with malloc a large pack is read by several. */
typedef struct cw_settings {
    void *(*resize)(void *context, void *old, size_t old_size, size_t new_size);
    void *context;
} cw_settings;

typedef struct cw_pack cw_pack;

/* Reads and checks the folders; packs they need are looked for beside them. *messages (also on success: warnings) is the
 * caller's to free; NULL if there are none. settings may be NULL and is copied.
 *
 * Where a compiled image of the folders lies, is whole, made by this very build, and every file of every pack is still
 * the one it was made of, the image is mapped instead; nothing else about the pack differs. Instead of folders one image
 * may be named; when that cannot be used, CW_BAD_INPUT with a message says why. */
CW_API cw_status cw_pack_open(const cw_settings *settings, const char *const *folders, size_t count,
                              cw_messages **messages, cw_pack **out);
/* The same, but folders alone, and read even where there is an image. */
CW_API cw_status cw_pack_read(const cw_settings *settings, const char *const *folders, size_t count,
                              cw_messages **messages, cw_pack **out);
/* As cw_pack_read, and all that can be said of the packs without running a case, as warnings: rules that another makes
 * needless, answers that set rules against each other, what nobody reads or can tell apart. Takes several times as
 * long. Said of the packs named, not of those they need. */
CW_API cw_status cw_pack_review(const cw_settings *settings, const char *const *folders, size_t count,
                                cw_messages **messages, cw_pack **out);
CW_API bool cw_pack_from_image(const cw_pack *pack);
/* Where the image of these folders is looked for: in the first of them, as pack.image, or pack+SECOND+THIRD.image for
 * several. False when it does not fit into the buffer or a file's name. */
CW_API bool cw_pack_image_place(const char *const *folders, size_t count, char *out, size_t size);
/* Reads and checks the folders and writes their image, to that place if file is NULL. The old image, if there is one, is
 * replaced as a whole. Messages as above. CW_CANNOT_WRITE; CW_LIMIT where that place's name is too long. */
CW_API cw_status cw_pack_write_image(const cw_settings *settings, const char *const *folders, size_t count,
                                     const char *file, cw_messages **messages);
CW_API void cw_pack_free(cw_pack *pack); /* NULL allowed */

typedef struct cw_pack_header {
    const char *name, *title, *sha256;
    uint32_t version;
} cw_pack_header;
CW_API size_t cw_pack_headers(const cw_pack *pack, const cw_pack_header **headers);

typedef enum cw_answer_kind {
    CW_ANSWER_YES_OR_NO,
    CW_ANSWER_CHOICE,
    CW_ANSWER_COUNT,
    CW_ANSWER_MEASURE,
    CW_ANSWER_TEXT,
    CW_ANSWER_UNIT /* the check `unit`: a unit of the packs by name or title, or not_listed; it has no choices */
} cw_answer_kind;

typedef struct cw_choice_info {
    const char *name, *title;
} cw_choice_info;

typedef struct cw_caution_info {
    const char *name, *say, *source;
    cw_halt stop;
} cw_caution_info;

/* A check, as a person needs it. Texts live as long as the pack. */
typedef struct cw_check_info {
    const char *name, *title, *ask, *how, *picture, *source; /* how, picture, source may be NULL */
    cw_answer_kind kind;
    const cw_choice_info *choices; /* choices and yes or no, in order of asking */
    size_t choice_count;
    long count_low, count_high;                      /* counts */
    const char *unit, *range_low, *range_high;       /* measures, printed: "mm", "60 mm", "200 mm"; unit "" for plain numbers */
    const char *const *tools;                        /* measures: names; the first is taken if none is said */
    size_t tool_count;
    const char *const *places;                       /* "counter", … */
    size_t place_count;
    double minutes;
    const cw_caution_info *const *cautions;
    size_t caution_count;
} cw_check_info;

CW_API size_t cw_pack_checks(const cw_pack *pack);
CW_API const cw_check_info *cw_pack_check_at(const cw_pack *pack, size_t index); /* NULL past the end */
/* NULL if unknown; then *nearest (may be NULL) is set to the nearest right name or NULL. */
CW_API const cw_check_info *cw_pack_check(const cw_pack *pack, const char *name, const char **nearest);

/* The units of the packs, parents before what stands below them: the answers of the check `unit`, with not_listed. */
typedef struct cw_unit_entry {
    const char *name, *title;
    const char *above; /* name of the unit it stands below; NULL for a family */
    bool version;      /* nothing stands below it */
} cw_unit_entry;
CW_API size_t cw_pack_units(const cw_pack *pack);
/* Fills *out; false past the end. */
CW_API bool cw_pack_unit_at(const cw_pack *pack, size_t index, cw_unit_entry *out);

/* The parts a fault can sit in. */
typedef struct cw_part_entry {
    const char *name, *title;
    const char *where; /* "unit", "vehicle", "installation" */
} cw_part_entry;
/* Fills *out; false past the end. */
CW_API bool cw_pack_part_at(const cw_pack *pack, size_t index, cw_part_entry *out);

/* Everything that can be known: the answers of checks, and what rules conclude. */
typedef struct cw_fact_entry {
    const char *name, *title; /* the ground name, "diode_state[d1]"; the title is the name where none is given */
    cw_answer_kind kind;
    size_t value_count; /* choices, yes or no, counts */
    bool asked;         /* it is the answer of a check; else rules alone conclude it */
} cw_fact_entry;
CW_API bool cw_pack_fact_at(const cw_pack *pack, size_t index, cw_fact_entry *out);
/* Of the fact at index, in the pack's order, normal first; false past the end. */
CW_API bool cw_pack_value_at(const cw_pack *pack, size_t index, size_t value, cw_choice_info *out);

/* What a version shows, said by itself or handed down: of the fact the commonest value, or the figure it lies around. */
typedef struct cw_unit_sign {
    const char *fact;
    double share;   /* of such units, 0 to 1; of a figure 1 */
    char value[64]; /* a value's name, or the figure with its unit; "" for a text, which is known by patterns alone */
} cw_unit_sign;
/* In the pack's order of facts; false past the end, and for what is no version. */
CW_API bool cw_pack_unit_sign_at(const cw_pack *pack, const char *version, size_t index, cw_unit_sign *out);

/* False past the end. */
CW_API bool cw_pack_caution_at(const cw_pack *pack, size_t index, cw_caution_info *out);

/* What a unit or cause is called, NULL if unknown: for outcomes and links. */
CW_API const char *cw_pack_unit_title(const cw_pack *pack, const char *name);
CW_API const char *cw_pack_cause_title(const cw_pack *pack, const char *name);

#ifdef __cplusplus
}
#endif

#endif
