/* Compiled images of packs, as `rules --compile` writes them. */
#ifndef TOOLS_RULES_IMAGE_H
#define TOOLS_RULES_IMAGE_H

#include "setup/setup.h"

/* One image was named, instead of folders. */
bool image_named(const folder_list *found);
/* Writes the image of the folders to the file, to its own place if file is "". Exit status. */
int image_compile(const folder_list *found, const char *file);

#endif
