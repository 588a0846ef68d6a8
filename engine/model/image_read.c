/* From an image to a model. */
#include "model/image_inside.h"

#include <string.h>

_Static_assert(sizeof(cw_image_head) % IMAGE_ALIGN == 0, "what follows the head is aligned");

cw_checksum image_sum(const cw_image_head *head, const void *bytes)
{
    cw_image_head bare = *head;
    memset(&bare.sum, 0, sizeof bare.sum);
    const cw_checksum first = cw_checksum_of(&bare, sizeof bare, 0);
    return cw_checksum_of((const char *)bytes + sizeof bare, (size_t)head->size - sizeof bare,
                          first.low ^ first.high);
}

/* size bytes of each, and that within the image. */
static bool part_fits(const cw_image_head *head, cw_image_part part, size_t size)
{
    return part.at >= sizeof *head && part.at <= head->size && part.at % IMAGE_ALIGN == 0 &&
           part.count <= (head->size - part.at) / size;
}

static bool parts_fit(const cw_image_head *head)
{
    const uint64_t words = head->words.at / sizeof(uintptr_t);
    return part_fits(head, (cw_image_part){head->model, 1}, sizeof(cw_model)) &&
           (head->beside.count == 0 || part_fits(head, head->beside, 1)) &&
           part_fits(head, head->functions, sizeof(cw_function)) &&
           part_fits(head, head->patterns, sizeof(cw_pattern_form)) && part_fits(head, head->codes, 1) &&
           part_fits(head, head->packs, sizeof(cw_image_pack)) &&
           part_fits(head, head->messages, sizeof(cw_image_message)) && part_fits(head, head->words, 8) &&
           head->words.count == (words + 63) / 64 && head->named <= head->packs.count;
}

cw_image_fault cw_image_look(const cw_image_head *head, uint64_t size, const char *stamp)
{
    if (size < sizeof head->magic || memcmp(head->magic, CW_IMAGE_MAGIC, sizeof head->magic) != 0)
        return CW_IMAGE_NONE;
    if (size < sizeof *head)
        return CW_IMAGE_DAMAGED;
    if (head->order != IMAGE_ORDER || head->word != sizeof(void *))
        return CW_IMAGE_OTHER_MACHINE;
    if (strncmp(head->stamp, stamp, sizeof head->stamp) != 0)
        return CW_IMAGE_OTHER_BUILD;
    return head->size == size && size <= SIZE_MAX && parts_fit(head) ? CW_IMAGE_GOOD : CW_IMAGE_DAMAGED;
}

cw_image_fault cw_image_check(const void *bytes)
{
    const cw_image_head *head = bytes;
    const cw_checksum sum = image_sum(head, bytes);
    return sum.low == head->sum.low && sum.high == head->sum.high ? CW_IMAGE_GOOD : CW_IMAGE_DAMAGED;
}

static void move_addresses(unsigned char *bytes, const cw_image_head *head)
{
    const uintptr_t by = (uintptr_t)bytes - (uintptr_t)head->base;
    const uint64_t *bits = (const uint64_t *)(const void *)(bytes + head->words.at);
    for (uint64_t i = 0; i < head->words.count; i++) {
        for (uint64_t left = bits[i]; left != 0; left &= left - 1) {
            const uint64_t word = i * 64 + (unsigned)__builtin_ctzll(left);
            unsigned char *place = bytes + word * sizeof(uintptr_t);
            uintptr_t address;
            memcpy(&address, place, sizeof address);
            address += by;
            memcpy(place, &address, sizeof address);
        }
    }
}

static bool find_function(cw_function *wanted, const cw_function *functions)
{
    for (const cw_function *f = functions; f != NULL && f->name != NULL; f++) {
        if (strcmp(f->name, wanted->name) == 0) {
            wanted->work = f->work;
            return true;
        }
    }
    return false;
}

cw_status cw_image_settle(void *bytes, const cw_function *functions)
{
    const cw_image_head *head = bytes;
    if ((uintptr_t)bytes != head->base)
        move_addresses(bytes, head);
    cw_function *within = (cw_function *)(void *)((unsigned char *)bytes + head->functions.at);
    for (uint64_t i = 0; i < head->functions.count; i++)
        if (!find_function(&within[i], functions))
            return CW_BAD_INPUT;
    return CW_OK;
}

static const void *at(const void *bytes, uint64_t offset)
{
    return (const unsigned char *)bytes + offset;
}

const cw_image_pack *cw_image_packs(const void *bytes, size_t *count, size_t *named)
{
    const cw_image_head *head = bytes;
    *count = (size_t)head->packs.count;
    *named = (size_t)head->named;
    return at(bytes, head->packs.at);
}

size_t cw_image_messages(const void *bytes, cw_diags *diags)
{
    const cw_image_head *head = bytes;
    const cw_image_message *messages = at(bytes, head->messages.at);
    for (uint64_t i = 0; diags != NULL && i < head->messages.count; i++) {
        const cw_image_message *from = &messages[i];
        cw_diag *diag = cw_diags_add(diags, (cw_code)from->code, from->span, "%s", from->text);
        if (from->help != NULL)
            cw_diag_help(diags, diag, "%s", from->help);
        if (from->second != NULL)
            cw_diag_second(diags, diag, from->second_span, "%s", from->second);
    }
    return (size_t)head->messages.count;
}

static cw_status open_patterns(const cw_allocator *allocator, const void *bytes, cw_model *model)
{
    const cw_image_head *head = bytes;
    const size_t count = (size_t)head->patterns.count;
    cw_pattern **patterns = CW_NEW_ARRAY(model->arena, cw_pattern *, (size_t)model->patterns_count + 1);
    if (patterns == NULL)
        return CW_NO_MEMORY;
    const cw_status status = cw_patterns_decode(allocator, at(bytes, head->patterns.at), count,
                                                at(bytes, head->codes.at), &model->pattern_set);
    for (uint32_t i = 1; i <= model->patterns_count && status == CW_OK; i++)
        patterns[i] = cw_pattern_set_at(model->pattern_set, i - 1);
    model->patterns = patterns;
    return status;
}

cw_status cw_image_model(const cw_allocator *allocator, const void *bytes, cw_model_hold *hold,
                         cw_model **out)
{
    const cw_image_head *head = bytes;
    cw_arena *arena = cw_arena_new(allocator);
    cw_model *model = arena == NULL ? NULL : CW_NEW(arena, cw_model);
    if (model == NULL) {
        cw_arena_free(arena);
        return CW_NO_MEMORY;
    }
    *model = *(const cw_model *)at(bytes, head->model);
    model->arena = arena;
    const cw_status status = open_patterns(allocator, bytes, model);
    if (status != CW_OK) {
        cw_arena_free(arena);
        return status;
    }
    hold->beside = head->beside.count == 0 ? NULL : at(bytes, head->beside.at);
    model->hold = hold;
    *out = model;
    return CW_OK;
}
