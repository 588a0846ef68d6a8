/* Names of stages and places, from their tables. */
#include "base/text.h"
#include "model/model.h"

static const char *const stage_names[] = {
#define CW_STAGE(stage, name) [stage] = (name),
#include "model/stage.def"
#undef CW_STAGE
};

static const char *const where_names[] = {
#define CW_WHERE(where, name) [where] = (name),
#include "model/where.def"
#undef CW_WHERE
};

_Static_assert(sizeof stage_names / sizeof stage_names[0] == CW_STAGE_COUNT, "stage.def names every stage");
_Static_assert(sizeof where_names / sizeof where_names[0] == CW_WHERE_COUNT, "where.def names every place");

const char *cw_stage_name(cw_stage stage)
{
    return stage_names[stage];
}

const char *cw_where_name(cw_where where)
{
    return where_names[where];
}

static bool find(const char *const *names, int count, const char *name, int *out)
{
    for (int i = 0; i < count; i++) {
        if (cw_text_equal(names[i], name)) {
            *out = i;
            return true;
        }
    }
    return false;
}

bool cw_stage_find(const char *name, cw_stage *out)
{
    int found;
    if (!find(stage_names, CW_STAGE_COUNT, name, &found))
        return false;
    *out = (cw_stage)found;
    return true;
}

bool cw_where_find(const char *name, cw_where *out)
{
    int found;
    if (!find(where_names, CW_WHERE_COUNT, name, &found))
        return false;
    *out = (cw_where)found;
    return true;
}
