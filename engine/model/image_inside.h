/* What the files of images share. Nobody outside model/ includes this. */
#ifndef CW_MODEL_IMAGE_INSIDE_H
#define CW_MODEL_IMAGE_INSIDE_H

#include "model/image.h"
#include "model/inside.h"

#include <stddef.h>

enum { IMAGE_ORDER = 0x01020304, IMAGE_ALIGN = 16 };

/* places.c */
void model_places(const cw_model *model, cw_places *places);

/* The checksum that belongs to the head's image. */
cw_checksum image_sum(const cw_image_head *head, const void *bytes);

#endif
