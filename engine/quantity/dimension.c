#include "quantity/quantity.h"
#include <stdio.h>
#include <string.h>

typedef struct named {
    const char *name, *words;
    cw_dimension dimension;
} named;

static const named dimensions[] = {
#define CW_DIMENSION(name, words, length, mass, time, current, temperature, turn, angle, on_scale)           \
    {#name, words, {length, mass, time, current, temperature, turn, angle, on_scale}},
#include "quantity/dimension.def"
#undef CW_DIMENSION
};

enum { DIMENSION_COUNT = sizeof dimensions / sizeof *dimensions };

bool cw_dimension_find(const char *name, cw_dimension *out)
{
    for (size_t i = 0; i < DIMENSION_COUNT; i++)
        if (strcmp(dimensions[i].name, name) == 0) {
            *out = dimensions[i].dimension;
            return true;
        }
    return false;
}

bool cw_dimension_equal(cw_dimension a, cw_dimension b)
{
    return a.length == b.length && a.mass == b.mass && a.time == b.time && a.current == b.current &&
           a.temperature == b.temperature && a.turn == b.turn && a.angle == b.angle &&
           a.on_scale == b.on_scale;
}

const char *cw_dimension_at(size_t index)
{
    return index < DIMENSION_COUNT ? dimensions[index].name : NULL;
}

static const named *find(cw_dimension dimension)
{
    for (size_t i = 0; i < DIMENSION_COUNT; i++)
        if (cw_dimension_equal(dimensions[i].dimension, dimension))
            return &dimensions[i];
    return NULL;
}

static const char *spell_out(cw_dimension d, char *buffer, size_t size)
{
    const struct {
        const char *symbol;
        int power;
    } parts[] = {{"kg", d.mass},       {"m", d.length}, {"s", d.time},   {"A", d.current},
                 {"K", d.temperature}, {"rpm", d.turn}, {"deg", d.angle}};
    size_t used = 0;
    if (size == 0)
        return "";
    buffer[0] = '\0';
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].power == 0 || used + 1 >= size)
            continue;
        const char *gap = used > 0 ? " " : "";
        int wrote = parts[i].power == 1 ? snprintf(buffer + used, size - used, "%s%s", gap, parts[i].symbol)
                                        : snprintf(buffer + used, size - used, "%s%s^%d", gap,
                                                   parts[i].symbol, parts[i].power);
        used += (size_t)wrote;
    }
    return buffer;
}

const char *cw_dimension_name(cw_dimension dimension, char *buffer, size_t size)
{
    const named *found = find(dimension);
    return found != NULL ? found->name : spell_out(dimension, buffer, size);
}

const char *cw_dimension_words(cw_dimension dimension, char *buffer, size_t size)
{
    const named *found = find(dimension);
    return found != NULL ? found->words : spell_out(dimension, buffer, size);
}
