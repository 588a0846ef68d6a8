/* What the tests of images share: a folder to work in, two packs in it, and what is expected of their image.
 */
#ifndef CW_TESTS_PACK_IMAGE_ROOM_H
#define CW_TESTS_PACK_IMAGE_ROOM_H

#include "help.h"

#include <limits.h>

/* Of a suite: .init and .fini. */
void image_enter(void);
void image_leave(void);

/* A path below the folder; one of eight, in turn. */
const char *image_in(const char *name);
void image_put(const char *name, const void *bytes, size_t size);
void image_put_text(const char *name, const char *text);
/* Two packs in folders of the same names, of which the upper one needs the other: something of every construct,
 * and two warnings. */
extern const char image_upper[], image_lower[];
void image_put_packs(void);

/* cw_image_load or cw_pack_load, of one folder or two. */
typedef cw_status loading(const cw_allocator *allocator, const char *const *folders, size_t count,
                          cw_sources *sources, cw_diags *diags, cw_model **out);
compiled image_load_by(loading *how, const char *first, const char *second);
void image_compile(const char *folder, const char *second, const char *file);

/* The image of `upper`; free the bytes. */
typedef struct image_bytes {
    char *bytes;
    size_t size;
} image_bytes;
image_bytes image_whole(void);

/* The image is used for the folder, and says what the packs say: model, messages with their places. */
void image_expect_same(const char *image, const char *folder);
/* Beside its pack it is passed over without a word. */
void image_expect_passed_over(const char *folder);
/* Named itself, this is said of it. */
void image_expect_refused(const char *image, const char *why);

#endif
