/* A model as one run of bytes, to be kept in a file and mapped: the image.
 *
 *     head | what the arena held | units, functions, patterns, packs, messages | one bit for each word
 *
 * Pointers are written as addresses, as if the image lay at the base that its head names; the bits say which
 * words are such. Who maps it there uses it as it is, without touching a page; anywhere else every address is
 * moved first. The base follows from the content, so that two images seldom want one place.
 *
 * The pointers are walked one by one (places.c) and not guessed by comparing two builds of one model: structs
 * have gaps whose bytes mean nothing and differ from build to build. That comparison is the test that no
 * pointer was forgotten (tests/pack/test_image.c).
 *
 * What lies outside an arena comes along as a copy (units of measure), is found again by name (functions of
 * formulas), or is made anew (patterns, from pcre2's own bytes).
 *
 * Damage is found by a checksum over everything, asked before anything else is believed. An image is not safe
 * against who means harm: like a program, it is to be taken from nobody; it is made on the spot. */
#ifndef CW_MODEL_IMAGE_H
#define CW_MODEL_IMAGE_H

#include "base/checksum.h"
#include "base/diag.h"
#include "base/places.h"
#include "model/model.h"

#define CW_IMAGE_MAGIC "corewright image" /* 16 bytes, no NUL */
#define CW_IMAGE_STAMP_SIZE 72

/* An array within the image, by its offset. */
typedef struct cw_image_part {
    uint64_t at, count;
} cw_image_part;

typedef struct cw_image_head {
    char magic[16];
    uint32_t order;                  /* 0x01020304 */
    uint32_t word;                   /* bytes of a pointer */
    char stamp[CW_IMAGE_STAMP_SIZE]; /* names the build that made it and alone may read it; ends with NUL */
    uint64_t size;                   /* of the whole image */
    uint64_t base;
    cw_checksum sum; /* of all the rest, begun with that of the head in which it is 0 */
    uint64_t model;
    cw_image_part beside; /* one, or nothing */
    cw_image_part functions, patterns, codes, packs, messages, words;
    uint64_t named; /* packs that the caller named: the first ones */
} cw_image_head;

/* A file of a pack that went in. */
typedef struct cw_image_file {
    const char *name; /* without its folder */
    uint64_t size;
    cw_checksum sum;
} cw_image_file;

/* A pack that went in. Texts end with NUL. */
typedef struct cw_image_pack {
    const char *name;
    const char *way; /* of a named one: its folder, as seen from that of the image, or from the root */
    const char *const *needs;
    uint64_t needs_count;
    const cw_image_file *files; /* by name */
    uint64_t files_count;
} cw_image_pack;

/* A warning that reading the packs gave. */
typedef struct cw_image_message {
    const char *text, *help, *second; /* help and second may be NULL */
    cw_span span, second_span;
    uint32_t code;
} cw_image_message;

/* --- Writing --- */

/* What rooms above work out of the model beforehand and want kept with it: plain data in the model's arena,
 * where `walk` finds every pointer. It may point into the model. */
typedef struct cw_image_beside {
    const void *root; /* NULL: nothing */
    void (*walk)(const void *root, const cw_model *model, cw_places *places);
} cw_image_beside;

/* What goes in beside the model. Packs in the order in which their files were read. */
typedef struct cw_image_rest {
    const char *stamp;
    const cw_image_pack *packs;
    size_t packs_count, named;
    const cw_diags *messages;
    cw_image_beside beside;
} cw_image_rest;

/* *bytes (of *size) is the caller's to release. CW_NO_MEMORY; CW_BAD_CALL where a pointer leads out of the
 * model's arena, which no model does. */
cw_status cw_image_write(const cw_allocator *allocator, const cw_model *model, const cw_image_rest *rest,
                         unsigned char **bytes, size_t *size);

/* --- Reading --- */

typedef enum cw_image_fault {
    CW_IMAGE_GOOD,
    CW_IMAGE_NONE,          /* something else altogether */
    CW_IMAGE_OTHER_MACHINE, /* another order of bytes, or another width */
    CW_IMAGE_OTHER_BUILD,
    CW_IMAGE_DAMAGED
} cw_image_fault;

/* By the head alone, which is a copy of the first bytes of `size`. */
cw_image_fault cw_image_look(const cw_image_head *head, uint64_t size, const char *stamp);
/* The checksum. `bytes`, as long as the head says, are aligned like any object. */
cw_image_fault cw_image_check(const void *bytes);
/* Makes the bytes ready, which must be good and may be written to; later they may not change. The rest of the
 * image can be looked at from here on. Functions of formulas are found in the table. CW_BAD_INPUT where one
 * is missing. */
cw_status cw_image_settle(void *bytes, const cw_function *functions);
const cw_image_pack *cw_image_packs(const void *bytes, size_t *count, size_t *named);
/* How many warnings there are; adds them to diags, unless it is NULL. */
size_t cw_image_messages(const void *bytes, cw_diags *diags);
/* The model within; `hold` is let go with it, and not at all when this fails. hold->beside is set; what it
 * says of the model is of the one in the bytes, which has no patterns. CW_BAD_INPUT: the patterns come
 * from another pcre2. */
cw_status cw_image_model(const cw_allocator *allocator, const void *bytes, cw_model_hold *hold,
                         cw_model **out);

#endif
