/* For tests of this room: a file read by libyaml alone, with quickly == false. */
#ifndef CW_PACK_YAML_INSIDE_H
#define CW_PACK_YAML_INSIDE_H

#include "pack/yaml.h"

/* As cw_yaml_read, which reads quickly: by the quick reader, and if that gives up by libyaml. */
cw_status yaml_read(cw_arena *arena, const cw_sources *sources, uint32_t source, cw_diags *diags,
                    bool quickly, const cw_node **root);

#endif
