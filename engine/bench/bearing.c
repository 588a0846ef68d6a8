#include "bench/bearing.h"
#include <ctype.h>
#include <math.h>
#include <string.h>

static const cw_bearing_size sizes[] = {
#define CW_BEARING(name, bore, outside, width) {#name, (bore) / 1e3, (outside) / 1e3, (width) / 1e3},
#include "bench/bearing.def"
#undef CW_BEARING
};
enum { SIZES = sizeof sizes / sizeof *sizes, FIGURES = 4 };

const cw_bearing_size *cw_bearing_at(size_t index)
{
    return index < SIZES ? &sizes[index] : NULL;
}

const cw_bearing_size *cw_bearing_find(const char *name)
{
    while (*name != '\0' && !isdigit((unsigned char)*name))
        name++;
    if (strspn(name, "0123456789") != FIGURES)
        return NULL;
    for (size_t i = 0; i < SIZES; i++)
        if (memcmp(sizes[i].name, name, FIGURES) == 0)
            return &sizes[i];
    return NULL;
}

size_t cw_bearing_match(double bore, double outside, double width, double tolerance,
                        const cw_bearing_size **out, size_t room)
{
    size_t count = 0;
    double most = tolerance + 1e-12; /* what a dimension lacks of its decimal */
    for (size_t i = 0; i < SIZES; i++) {
        if (fabs(bore - sizes[i].bore) > most || fabs(outside - sizes[i].outside) > most ||
            fabs(width - sizes[i].width) > most)
            continue;
        if (count < room)
            out[count] = &sizes[i];
        count++;
    }
    return count;
}

double cw_bearing_bore(unsigned code)
{
    static const double first[] = {10e-3, 12e-3, 15e-3, 17e-3};
    if (code < sizeof first / sizeof *first)
        return first[code];
    return code <= 96 ? 5e-3 * code : NAN;
}

cw_status cw_bearing_listen(const cw_bearing_shape *shape, cw_bearing_tones *out)
{
    if (shape == NULL || out == NULL || shape->balls < 3 ||
        !(shape->ball > 0 && shape->ball < shape->pitch) || !isfinite(shape->pitch) ||
        !(fabs(shape->contact_angle) < 90))
        return CW_BAD_CALL;
    double lean = shape->ball / shape->pitch * cos(shape->contact_angle * 3.14159265358979323846 / 180);
    out->cage = (1 - lean) / 2;
    out->outer = shape->balls * (1 - lean) / 2;
    out->inner = shape->balls * (1 + lean) / 2;
    out->ball = shape->pitch / shape->ball * (1 - lean * lean) / 2;
    return CW_OK;
}
