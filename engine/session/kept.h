/* What is worked out when an image is made, and kept in it beside the model: the tables of units, and at each
 * stage the advice with which a session opens, nothing being told yet. It follows from the packs alone, and
 * an image is only taken while they are as they were and the build is the same, so that it is what would be
 * worked out again. */
#ifndef CW_SESSION_KEPT_H
#define CW_SESSION_KEPT_H

#include "ask/ask.h"
#include "model/image.h"

typedef struct cw_kept {
    const cw_identity_tables *tables;
    const cw_advice *openings; /* by stage: every place allowed, from where the stage begins */
} cw_kept;

/* A cw_kept in the model's arena. As cw_asker_new and cw_ask_next fail. */
cw_status cw_kept_make(const cw_model *model, cw_image_beside *out);
/* Where the stage begins. */
cw_where cw_stage_start(cw_stage stage);

#endif
