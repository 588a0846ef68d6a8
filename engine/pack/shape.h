/* What a pack is made of as it is written: limits, sections, and the keys of what stands in them. */
#ifndef CW_PACK_SHAPE_H
#define CW_PACK_SHAPE_H

#include "pack/yaml.h"

/* Limits of rules/README.md. */
enum {
    MOST_NAME = 64,
    MOST_CHOICES = 64,
    MOST_COUNTS = 200,
    MOST_RULES = 4000000,
    MOST_THINGS = 1000,
    MOST_KINDS = 4,                              /* kinds of things that one `each` names */
    MOST_BOUND = CW_YAML_MAX_DEPTH + MOST_KINDS, /* bindings in force at one place */
};
_Static_assert(MOST_BOUND <= 64, "bindings fit into a mask");

/* shape.def: key_check_ask ... keys_of_check, and shape_check. */
#define SHAPE_BEGIN(shape, what) enum {
#define KEY(shape, key, required) key_##shape##_##key,
#define SHAPE_END(shape)                                                                                     \
    keys_of_##shape                                                                                          \
    }                                                                                                        \
    ;
#include "pack/shape.def"
#undef SHAPE_BEGIN
#undef KEY
#undef SHAPE_END

typedef struct shape_def {
    const char *what; /* "a check" */
    const struct shape_key {
        const char *name;
        size_t size;
        bool required;
    } * keys;
    uint32_t count;
} shape_def;
#define SHAPE_BEGIN(shape, what) extern const struct shape_def shape_##shape;
#define KEY(shape, key, required)
#define SHAPE_END(shape)
#include "pack/shape.def"
#undef SHAPE_BEGIN
#undef KEY
#undef SHAPE_END

typedef enum section {
#define SECTION(key, what) SECTION_##key,
#include "pack/section.def"
#undef SECTION
    SECTION_COUNT
} section;

#endif
