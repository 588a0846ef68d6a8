/* Packs: folders of YAML to one checked model. Reads files (one of the few rooms that does), reports every
 * error of every file, never stops at the first. */
#ifndef CW_PACK_PACK_H
#define CW_PACK_PACK_H

#include "base/diag.h"
#include "model/model.h"

/* A file that is already in memory: for tests, editors, fuzzing. */
typedef struct cw_pack_file {
    const char *name; /* as it is to be shown: "rules/tern.yaml" */
    const char *text;
    size_t size;
} cw_pack_file;

typedef struct cw_pack_text {
    const char *folder; /* shown in messages about the pack as a whole */
    const cw_pack_file *files;
    size_t file_count;
} cw_pack_text;

/* Folders in the order named; a needed pack not named is looked for beside the folder that needs it. Only
 * this call touches the disk. Errors and warnings go to diags (sorted), sources keep the texts for them.
 * CW_OK leaves a model in *out that the caller frees; warnings do not hinder. */
cw_status cw_pack_load(const cw_allocator *allocator, const char *const *folders, size_t count,
                       cw_sources *sources, cw_diags *diags, cw_model **out);
/* The same without a disk. */
cw_status cw_pack_compile(const cw_allocator *allocator, const cw_pack_text *packs, size_t count,
                          cw_sources *sources, cw_diags *diags, cw_model **out);

#endif
