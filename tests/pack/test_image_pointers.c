/* Compiled images: no pointer in a model is forgotten. dl_iterate_phdr wants the GNU names. */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */
#include "image_room.h"
#include "model/image_inside.h"

#include <criterion/criterion.h>
#include <link.h>
#include <string.h>

TestSuite(image_pointers, .init = image_enter, .fini = image_leave);

typedef struct range {
    uintptr_t from, size;
} range;

typedef struct ranges {
    range items[20000];
    size_t count;
} ranges;

static void add_range(ranges *all, uintptr_t from, size_t size)
{
    cr_assert_lt(all->count, sizeof all->items / sizeof *all->items);
    all->items[all->count++] = (range){from, size};
}

static void add_run(void *context, const void *bytes, size_t size)
{
    add_range(context, (uintptr_t)bytes, size);
}

static int add_module(struct dl_phdr_info *module, size_t size, void *context)
{
    (void)size;
    for (int i = 0; i < module->dlpi_phnum; i++)
        if (module->dlpi_phdr[i].p_type == PT_LOAD)
            add_range(context, module->dlpi_addr + module->dlpi_phdr[i].p_vaddr,
                      module->dlpi_phdr[i].p_memsz);
    return 0;
}

static bool lies_in(const ranges *all, uintptr_t address)
{
    for (size_t i = 0; i < all->count; i++)
        if (address - all->items[i].from < all->items[i].size)
            return true;
    return false;
}

static void write_one(const char *folder, compiled *made, ranges *arena, unsigned char **bytes, size_t *size)
{
    *made = image_load_by(cw_pack_load, folder, NULL);
    cr_assert_not_null(made->model);
    cw_arena_runs(made->model->arena, add_run, arena);
    const cw_image_rest rest = {.stamp = "", .messages = made->diags};
    cr_assert_eq(cw_image_write(&cw_system_allocator, made->model, &rest, bytes, size), CW_OK);
}

/* Of one pack loaded twice: a word that leads into the one's arena here and the other's there, or into the
 * program, and is not among those that are moved. */
static void expect_none_forgotten(const char *folder)
{
    static ranges arenas[2], modules;
    compiled made[2];
    unsigned char *bytes[2];
    size_t sizes[2];
    arenas[0].count = arenas[1].count = modules.count = 0;
    for (int i = 0; i < 2; i++)
        write_one(folder, &made[i], &arenas[i], &bytes[i], &sizes[i]);
    dl_iterate_phdr(add_module, &modules);
    cr_assert_eq(sizes[0], sizes[1]);
    cw_image_head head;
    memcpy(&head, bytes[0], sizeof head);
    const uint64_t *bits = (const uint64_t *)(void *)(bytes[0] + head.words.at);
    size_t moved = 0;
    for (size_t i = sizeof head / sizeof(uintptr_t); i < head.words.at / sizeof(uintptr_t); i++) {
        uintptr_t word[2];
        for (int k = 0; k < 2; k++)
            memcpy(&word[k], bytes[k] + i * sizeof(uintptr_t), sizeof word[k]);
        if ((bits[i / 64] >> i % 64 & 1) != 0) {
            moved++;
            continue;
        }
        if ((word[0] & 0xff) <= true) /* a flag, and behind it a gap that may hold anything */
            continue;
        cr_expect(word[0] == word[1] || !lies_in(&arenas[0], word[0]) || !lies_in(&arenas[1], word[1]),
                  "at byte %zu a pointer is left", i * sizeof(uintptr_t));
        cr_expect(word[0] != word[1] || !lies_in(&modules, word[0]),
                  "at byte %zu a pointer to something fixed is left", i * sizeof(uintptr_t));
    }
    cr_expect_gt(moved, 100u);
    for (int i = 0; i < 2; i++) {
        cw_release(&cw_system_allocator, bytes[i], sizes[i]);
        compiled_free(&made[i]);
    }
}

Test(image_pointers, none_is_forgotten)
{
    image_put_packs();
    expect_none_forgotten(image_in("upper"));
    expect_none_forgotten(CW_SOURCE_DIR "/tests/session/shop");
}
