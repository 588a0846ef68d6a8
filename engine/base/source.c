#include "base/source.h"
#include "base/text.h"
#include "base/vec.h"
#include <string.h>

typedef struct entry {
    char *name;
    size_t name_size;
    char *text;
    size_t size;
} entry;

struct cw_sources {
    cw_allocator allocator;
    cw_vec entries; /* source n is entry n - 1 */
};

#define LARGEST ((size_t)INT32_MAX) /* offsets are 32 bits, and end may be one past the last byte */

cw_sources *cw_sources_new(const cw_allocator *allocator)
{
    cw_sources *sources = cw_allocate(allocator, sizeof *sources);
    if (sources == NULL)
        return NULL;
    sources->allocator = *allocator;
    sources->entries = CW_VEC_INIT(&sources->allocator, entry);
    return sources;
}

void cw_sources_free(cw_sources *sources)
{
    if (sources == NULL)
        return;
    for (size_t i = 0; i < sources->entries.count; i++) {
        entry *at = CW_VEC_AT(&sources->entries, entry, i);
        cw_release(&sources->allocator, at->name, at->name_size + 1);
        cw_release(&sources->allocator, at->text, at->size + 1);
    }
    cw_vec_dispose(&sources->entries);
    cw_allocator allocator = sources->allocator;
    cw_release(&allocator, sources, sizeof *sources);
}

char *cw_sources_room(const cw_sources *sources, size_t size)
{
    return size < SIZE_MAX ? cw_allocate(&sources->allocator, size + 1) : NULL;
}

void cw_sources_give_back(const cw_sources *sources, char *text, size_t size)
{
    cw_release(&sources->allocator, text, size + 1);
}

static char *copy(const cw_sources *sources, const char *text, size_t size)
{
    char *fresh = cw_sources_room(sources, size);
    if (fresh != NULL && size > 0)
        memcpy(fresh, text, size);
    return fresh;
}

cw_status cw_sources_take(cw_sources *sources, const char *name, char *text, size_t size, uint32_t *source)
{
    const bool fits = size <= LARGEST && sources->entries.count < UINT32_MAX;
    const size_t name_size = strlen(name);
    char *name_copy = fits ? copy(sources, name, name_size) : NULL;
    entry *added = name_copy == NULL ? NULL : cw_vec_add(&sources->entries);
    *source = 0;
    if (added == NULL) {
        cw_sources_give_back(sources, name_copy, name_size);
        cw_sources_give_back(sources, text, size);
        return fits ? CW_NO_MEMORY : CW_LIMIT;
    }
    name_copy[name_size] = text[size] = '\0';
    *added = (entry){name_copy, name_size, text, size};
    *source = (uint32_t)sources->entries.count;
    return CW_OK;
}

cw_status cw_sources_add(cw_sources *sources, const char *name, const char *text, size_t size,
                         uint32_t *source)
{
    *source = 0;
    if (size > LARGEST)
        return CW_LIMIT;
    char *fresh = copy(sources, text, size);
    return fresh == NULL ? CW_NO_MEMORY : cw_sources_take(sources, name, fresh, size, source);
}

/* NULL for a source that there is not. */
static const entry *at(const cw_sources *sources, uint32_t source)
{
    return source == 0 || source > sources->entries.count ? NULL
                                                          : CW_VEC_AT(&sources->entries, entry, source - 1);
}

const char *cw_source_name(const cw_sources *sources, uint32_t source)
{
    const entry *found = at(sources, source);
    return found != NULL ? found->name : "";
}

const char *cw_source_text(const cw_sources *sources, uint32_t source, size_t *size)
{
    const entry *found = at(sources, source);
    *size = found != NULL ? found->size : 0;
    return found != NULL ? found->text : "";
}

static size_t line_start(const entry *in, size_t offset)
{
    while (offset > 0 && in->text[offset - 1] != '\n')
        offset--;
    return offset;
}

cw_place cw_source_place(const cw_sources *sources, cw_span span)
{
    const entry *in = at(sources, span.source);
    if (in == NULL)
        return (cw_place){"", 0, 0};
    size_t offset = span.start < in->size ? span.start : in->size;
    size_t start = line_start(in, offset);
    uint32_t line = 1;
    const char *from = in->text;
    const char *end = in->text + start;
    for (const char *hit; (hit = memchr(from, '\n', (size_t)(end - from))) != NULL; from = hit + 1)
        line++;
    size_t before = cw_display_width(in->text + start, offset - start);
    return (cw_place){in->name, line, (uint32_t)before + 1};
}

const char *cw_source_line(const cw_sources *sources, uint32_t source, uint32_t offset, size_t *size)
{
    *size = 0;
    const entry *in = at(sources, source);
    if (in == NULL)
        return "";
    size_t start = line_start(in, offset < in->size ? offset : in->size);
    const char *end = memchr(in->text + start, '\n', in->size - start);
    *size = end != NULL ? (size_t)(end - in->text) - start : in->size - start;
    if (*size > 0 && in->text[start + *size - 1] == '\r')
        (*size)--;
    return in->text + start;
}
