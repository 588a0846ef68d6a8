/* From a model to an image. Everything is written by offsets from its beginning; the base is added last. */
#include "model/image_inside.h"

#include <stdlib.h>
#include <string.h>

/* Bytes of the arena, and where they went. */
typedef struct moved {
    const unsigned char *from;
    size_t size, to;
} moved;

/* A pointer: where it stands, and what it points to, both as offsets. */
typedef struct link {
    size_t at, to;
} link;

/* One that leads out of the arena, for later. */
typedef struct leaving {
    size_t at;
    const void *to;
    cw_points_to kind;
} leaving;

typedef struct writer {
    cw_places places; /* first: walks hand it back */
    const cw_allocator *allocator;
    cw_status status; /* the first failure sticks */
    unsigned char *bytes;
    size_t size, room;
    cw_vec runs;    /* moved, by address */
    cw_vec links;   /* link */
    cw_vec leaving; /* leaving */
} writer;

static void fail(writer *w, cw_status status)
{
    if (w->status == CW_OK)
        w->status = status;
}

/* Room for that many bytes, zeroed, so aligned; its offset. 0 after a failure, where nothing ever goes. */
static size_t reserve(writer *w, size_t size, size_t align)
{
    const size_t at = (w->size + align - 1) / align * align;
    size_t end;
    if (w->status == CW_OK && !cw_size_plus(at, size, &end))
        fail(w, CW_NO_MEMORY);
    if (w->status != CW_OK)
        return 0;
    if (end > w->room) {
        const size_t room = end + end / 2 + 4096;
        unsigned char *bytes = w->allocator->resize(w->allocator->context, w->bytes, w->room, room);
        if (bytes == NULL) {
            fail(w, CW_NO_MEMORY);
            return 0;
        }
        memset(bytes + w->room, 0, room - w->room);
        w->bytes = bytes;
        w->room = room;
    }
    w->size = end;
    return at;
}

static size_t put(writer *w, const void *bytes, size_t size, size_t align)
{
    const size_t at = reserve(w, size, align);
    if (at > 0 && size > 0)
        memcpy(w->bytes + at, bytes, size);
    return at;
}

static void point(writer *w, size_t at, size_t to)
{
    link *added = w->status == CW_OK ? cw_vec_add(&w->links) : NULL;
    if (added == NULL)
        fail(w, CW_NO_MEMORY);
    else
        *added = (link){at, to};
}

static void put_text(writer *w, size_t at, const char *text)
{
    if (text != NULL)
        point(w, at, put(w, text, strlen(text) + 1, 1));
}

/* --- What the arena holds --- */

static void note_run(void *context, const void *bytes, size_t size)
{
    writer *w = context;
    moved *run = w->status == CW_OK ? cw_vec_add(&w->runs) : NULL;
    if (run == NULL)
        fail(w, CW_NO_MEMORY);
    else
        *run = (moved){bytes, size, 0};
}

static int by_address(const void *a, const void *b)
{
    const uintptr_t x = (uintptr_t)((const moved *)a)->from, y = (uintptr_t)((const moved *)b)->from;
    return x < y ? -1 : x > y;
}

/* Where the byte went; 0 when it is none of the arena's. */
static size_t place_of(const writer *w, const void *byte)
{
    size_t low = 0, high = w->runs.count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        const moved *run = CW_VEC_AT(&w->runs, moved, middle);
        const uintptr_t from = (uintptr_t)run->from, wanted = (uintptr_t)byte;
        if (wanted >= from && wanted - from < run->size)
            return run->to + (wanted - from);
        if (wanted < from)
            high = middle;
        else
            low = middle + 1;
    }
    return 0;
}

static void visit(cw_places *places, const void *place, cw_points_to to)
{
    writer *w = (writer *)(void *)places;
    const size_t at = w->status == CW_OK ? place_of(w, place) : 0;
    const void *target;
    if (at == 0) {
        fail(w, CW_BAD_CALL);
        return;
    }
    memcpy(&target, place, sizeof target);
    memset(w->bytes + at, 0, sizeof target);
    if (target == NULL || to == CW_OF_NO_MEANING)
        return;
    if (to != CW_INTO_ARENA) {
        leaving *later = cw_vec_add(&w->leaving);
        if (later == NULL)
            fail(w, CW_NO_MEMORY);
        else
            *later = (leaving){at, target, to};
        return;
    }
    const size_t end = place_of(w, target);
    if (end == 0)
        fail(w, CW_BAD_CALL);
    else
        point(w, at, end);
}

static void put_arena(writer *w, const cw_model *model, const cw_image_beside *beside)
{
    cw_arena_runs(model->arena, note_run, w);
    if (w->status != CW_OK)
        return;
    for (size_t i = 0; i < w->runs.count; i++) {
        moved *run = CW_VEC_AT(&w->runs, moved, i);
        run->to = put(w, run->from, run->size, IMAGE_ALIGN);
    }
    qsort(w->runs.items, w->runs.count, sizeof(moved), by_address);
    model_places(model, &w->places);
    if (beside->root != NULL)
        beside->walk(beside->root, model, &w->places);
}

/* --- What it points to outside --- */

static int by_target(const void *a, const void *b)
{
    const leaving *x = a, *y = b;
    if (x->kind != y->kind)
        return x->kind < y->kind ? -1 : 1;
    if (x->to != y->to)
        return (uintptr_t)x->to < (uintptr_t)y->to ? -1 : 1;
    return x->at < y->at ? -1 : x->at > y->at;
}

/* A unit's own pointers are walked like the model's; its texts are copied. */
typedef struct unit_walk {
    cw_places places;
    writer *w;
    const cw_unit_info *unit;
    size_t at;
} unit_walk;

static void visit_unit(cw_places *places, const void *place, cw_points_to to)
{
    const unit_walk *walk = (unit_walk *)(void *)places;
    const char *text;
    (void)to;
    memcpy(&text, place, sizeof text);
    put_text(walk->w, walk->at + (size_t)((const char *)place - (const char *)walk->unit), text);
}

static size_t put_unit(writer *w, const cw_unit_info *unit)
{
    unit_walk walk = {{visit_unit}, w, unit, put(w, unit, cw_unit_size(), IMAGE_ALIGN)};
    if (walk.at > 0)
        cw_unit_places(unit, &walk.places);
    return walk.at;
}

/* Behind each other in the order in which they come; `work` is found anew by who reads this. */
static size_t put_function(writer *w, const cw_function *function, size_t at)
{
    cw_function bare;
    memset(&bare, 0, sizeof bare);
    bare.stepped = function->stepped;
    if (at > 0)
        memcpy(w->bytes + at, &bare, sizeof bare);
    put_text(w, at + offsetof(cw_function, name), function->name);
    put_text(w, at + offsetof(cw_function, takes), function->takes);
    put_text(w, at + offsetof(cw_function, gives), function->gives);
    put_text(w, at + offsetof(cw_function, means), function->means);
    return at;
}

static void put_leaving(writer *w, cw_image_head *head)
{
    const size_t count = w->leaving.count;
    if (count > 1)
        qsort(w->leaving.items, count, sizeof(leaving), by_target);
    uint64_t functions = 0;
    for (size_t i = 0; i < count; i++) {
        const leaving *it = CW_VEC_AT(&w->leaving, leaving, i);
        functions += it->kind == CW_TO_FUNCTION && (i == 0 || it[-1].to != it->to);
    }
    head->functions.at = reserve(w, (size_t)functions * sizeof(cw_function), IMAGE_ALIGN);
    size_t at = 0;
    for (size_t i = 0; i < count && w->status == CW_OK; i++) {
        const leaving *it = CW_VEC_AT(&w->leaving, leaving, i);
        const bool fresh = i == 0 || it[-1].to != it->to;
        if (fresh && it->kind == CW_TO_UNIT)
            at = put_unit(w, it->to);
        else if (fresh)
            at = put_function(w, it->to,
                              (size_t)(head->functions.at + head->functions.count++ * sizeof(cw_function)));
        point(w, it->at, at);
    }
}

/* --- The rest --- */

static void put_codes(void *context, const unsigned char *bytes, size_t size)
{
    writer *w = context;
    put(w, bytes, size, IMAGE_ALIGN);
}

/* The model's patterns in their order, then those that narrow one of them. */
static void put_forms(writer *w, cw_image_head *head, const cw_pattern **patterns, cw_pattern_form *forms,
                      uint32_t listed)
{
    uint32_t count = listed;
    for (uint32_t i = 0; i < listed; i++)
        if (cw_pattern_wanted(patterns[i]) != NULL)
            patterns[count++] = cw_pattern_wanted(patterns[i]);
    head->codes.at = reserve(w, 0, IMAGE_ALIGN);
    fail(w, cw_patterns_encode(w->allocator, patterns, count, forms, put_codes, w));
    head->codes.count = w->size - head->codes.at;
    uint32_t narrow = listed;
    for (uint32_t i = 0; i < listed && w->status == CW_OK; i++)
        if (cw_pattern_wanted(patterns[i]) != NULL)
            forms[i].wanted = ++narrow;
    head->patterns = (cw_image_part){reserve(w, count * sizeof *forms, IMAGE_ALIGN), count};
    for (uint32_t i = 0; i < count && w->status == CW_OK; i++) {
        cw_pattern_form *form = (cw_pattern_form *)(void *)(w->bytes + head->patterns.at) + i;
        form->size = forms[i].size;
        form->code = forms[i].code;
        form->wanted = forms[i].wanted;
        put_text(w, (size_t)head->patterns.at + i * sizeof *forms + offsetof(cw_pattern_form, text),
                 forms[i].text);
    }
}

static void put_patterns(writer *w, cw_image_head *head, const cw_model *model)
{
    const size_t most = (size_t)model->patterns_count * 2 + 1;
    const cw_pattern **patterns = cw_allocate(w->allocator, most * sizeof *patterns);
    cw_pattern_form *forms = cw_allocate(w->allocator, most * sizeof *forms);
    if (patterns == NULL || forms == NULL) {
        fail(w, CW_NO_MEMORY);
    } else {
        for (uint32_t i = 1; i <= model->patterns_count; i++)
            patterns[i - 1] = model->patterns[i];
        put_forms(w, head, patterns, forms, model->patterns_count);
    }
    cw_release(w->allocator, patterns, most * sizeof *patterns);
    cw_release(w->allocator, forms, most * sizeof *forms);
}

static void put_files(writer *w, size_t pack, const cw_image_pack *from)
{
    const size_t first = reserve(w, (size_t)from->files_count * sizeof(cw_image_file), IMAGE_ALIGN);
    point(w, pack + offsetof(cw_image_pack, files), first);
    for (uint64_t i = 0; i < from->files_count && w->status == CW_OK; i++) {
        const size_t at = first + (size_t)i * sizeof(cw_image_file);
        cw_image_file *out = (cw_image_file *)(void *)(w->bytes + at);
        out->size = from->files[i].size;
        out->sum = from->files[i].sum;
        put_text(w, at + offsetof(cw_image_file, name), from->files[i].name);
    }
}

static void put_packs(writer *w, cw_image_head *head, const cw_image_rest *rest)
{
    const size_t first = reserve(w, rest->packs_count * sizeof(cw_image_pack), IMAGE_ALIGN);
    head->packs = (cw_image_part){first, rest->packs_count};
    head->named = rest->named;
    for (size_t i = 0; i < rest->packs_count && w->status == CW_OK; i++) {
        const cw_image_pack *pack = &rest->packs[i];
        const size_t at = first + i * sizeof *pack;
        cw_image_pack *out = (cw_image_pack *)(void *)(w->bytes + at);
        out->needs_count = pack->needs_count;
        out->files_count = pack->files_count;
        put_text(w, at + offsetof(cw_image_pack, name), pack->name);
        put_text(w, at + offsetof(cw_image_pack, way), pack->way);
        const size_t needs = reserve(w, (size_t)pack->needs_count * sizeof(char *), IMAGE_ALIGN);
        point(w, at + offsetof(cw_image_pack, needs), needs);
        for (uint64_t k = 0; k < pack->needs_count; k++)
            put_text(w, needs + (size_t)k * sizeof(char *), pack->needs[k]);
        put_files(w, at, pack);
    }
}

static void put_messages(writer *w, cw_image_head *head, const cw_diags *messages)
{
    const size_t count = cw_diags_count(messages);
    const size_t first = reserve(w, count * sizeof(cw_image_message), IMAGE_ALIGN);
    head->messages = (cw_image_part){first, count};
    for (size_t i = 0; i < count && w->status == CW_OK; i++) {
        const cw_diag *diag = cw_diags_at(messages, i);
        const size_t at = first + i * sizeof(cw_image_message);
        cw_image_message *out = (cw_image_message *)(void *)(w->bytes + at);
        out->span = diag->span;
        out->second_span = diag->second;
        out->code = diag->code;
        put_text(w, at + offsetof(cw_image_message, text), diag->message);
        put_text(w, at + offsetof(cw_image_message, help), diag->help);
        put_text(w, at + offsetof(cw_image_message, second), diag->second_message);
    }
}

/* --- Addresses --- */

/* Somewhere that neither programs, their heaps and libraries nor a sanitizer's shadow take on 64-bit machines
 * with 47 bits or more of their own; elsewhere the wish is not granted, and addresses are moved. */
static uint64_t base_of(cw_checksum content)
{
    if (sizeof(void *) < 8)
        return 0;
    const uint64_t lowest = UINT64_C(0x200000000000), room = UINT64_C(0x300000000000), step = 1u << 21;
    return lowest + content.low % (room / step) * step;
}

static void put_addresses(writer *w, cw_image_head *head)
{
    const size_t words = (w->size + IMAGE_ALIGN - 1) / IMAGE_ALIGN * IMAGE_ALIGN / sizeof(uintptr_t);
    head->words.count = (words + 63) / 64;
    head->words.at = reserve(w, (size_t)head->words.count * 8, IMAGE_ALIGN);
    if (w->status != CW_OK)
        return;
    uint64_t *bits = (uint64_t *)(void *)(w->bytes + head->words.at);
    head->base = base_of(cw_checksum_of(w->bytes, w->size, 0));
    for (size_t i = 0; i < w->links.count; i++) {
        const link *it = CW_VEC_AT(&w->links, link, i);
        const uintptr_t address = (uintptr_t)head->base + it->to;
        memcpy(w->bytes + it->at, &address, sizeof address);
        const size_t word = it->at / sizeof(uintptr_t);
        if (it->at % sizeof(uintptr_t) != 0)
            fail(w, CW_BAD_CALL);
        bits[word / 64] |= UINT64_C(1) << word % 64;
    }
}

static void put_all(writer *w, const cw_model *model, const cw_image_rest *rest)
{
    cw_image_head head;
    memset(&head, 0, sizeof head);
    memcpy(head.magic, CW_IMAGE_MAGIC, sizeof head.magic);
    head.order = IMAGE_ORDER;
    head.word = sizeof(void *);
    memcpy(head.stamp, rest->stamp, strlen(rest->stamp));
    w->size = sizeof head;
    put_arena(w, model, &rest->beside);
    head.model = place_of(w, model);
    if (rest->beside.root != NULL)
        head.beside = (cw_image_part){place_of(w, rest->beside.root), 1};
    put_leaving(w, &head);
    put_patterns(w, &head, model);
    put_packs(w, &head, rest);
    put_messages(w, &head, rest->messages);
    put_addresses(w, &head);
    if (w->status != CW_OK)
        return;
    head.size = w->size;
    head.sum = image_sum(&head, w->bytes);
    memcpy(w->bytes, &head, sizeof head);
}

cw_status cw_image_write(const cw_allocator *allocator, const cw_model *model, const cw_image_rest *rest,
                         unsigned char **bytes, size_t *size)
{
    writer w = {.places = {visit}, .allocator = allocator, .status = CW_OK};
    w.runs = CW_VEC_INIT(allocator, moved);
    w.links = CW_VEC_INIT(allocator, link);
    w.leaving = CW_VEC_INIT(allocator, leaving);
    if (strlen(rest->stamp) >= CW_IMAGE_STAMP_SIZE || model->hold != NULL)
        fail(&w, CW_BAD_CALL);
    put_all(&w, model, rest);
    cw_vec_dispose(&w.runs);
    cw_vec_dispose(&w.links);
    cw_vec_dispose(&w.leaving);
    /* The caller's release is told the size: what is too much goes back. */
    if (w.status == CW_OK) {
        *bytes = allocator->resize(allocator->context, w.bytes, w.room, w.size);
        *size = w.size;
        if (*bytes != NULL)
            return CW_OK;
        fail(&w, CW_NO_MEMORY);
    }
    cw_release(allocator, w.bytes, w.room);
    return w.status;
}
