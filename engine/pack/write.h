/* Whole files out. Writing never leaves half a file: the bytes go to a new file beside the old one, down to
 * the disk, and then take its name. */
#ifndef CW_PACK_WRITE_H
#define CW_PACK_WRITE_H

#include "corewright/status.h"
#include <stddef.h>

/* CW_CANNOT_WRITE with errno's words in reason. A link stays a link; a device or a pipe is written to. */
cw_status cw_file_write(const char *path, const char *bytes, size_t size, char *reason, size_t reason_size);

#endif
