/* What the tests of this room share: packs from texts, messages as one text, a pack's model as lines. */
#ifndef CW_TESTS_PACK_HELP_H
#define CW_TESTS_PACK_HELP_H

#include "pack/pack.h"

typedef struct compiled {
    cw_sources *sources;
    cw_diags *diags;
    cw_model *model; /* NULL unless status is CW_OK */
    cw_status status;
} compiled;

/* One pack, the folder "mistakes". */
compiled compile_files(const cw_allocator *allocator, const cw_pack_file *files, size_t count);
/* One pack of one file, pack.yaml. */
compiled compile_text(const char *text);
/* The same with the header that tests/pack/bad/header.yaml gives; the text is the file body.yaml. */
compiled compile_body(const char *body);
void compiled_free(compiled *made);

/* All messages as people see them; free it. */
char *messages(const compiled *made);
/* The whole file; free it. NULL when there is none. */
char *read_file(const char *path, size_t *size);
/* Everything in a model but ids and places: lines in order of the alphabet; free it. */
char *dump(const cw_model *model);

/* The paths of tests/pack/bad/ with this ending, sorted, and how many; free nothing. */
size_t bad_names(const char *ending, char names[][80], size_t room);
/* A mistake with or without the header beside it, as its name and text say. */
compiled compile_mistake(const cw_allocator *allocator, const char *name, const char *text, size_t size);

#endif
