#include "base/arena.h"
#include "base/text.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdalign.h>
#include <stddef.h>
#include <string.h>

Test(arena, pieces_are_zeroed_aligned_and_do_not_touch)
{
    random_state random = random_start(1);
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    enum { COUNT = 2000 };
    static unsigned char *pieces[COUNT];
    static size_t sizes[COUNT];
    size_t total = 0;
    for (size_t i = 0; i < COUNT; i++) {
        sizes[i] = random_below(&random, 8) == 0 ? random_below(&random, 9000) : random_below(&random, 60);
        pieces[i] = cw_arena_array(arena, sizes[i], 1);
        cr_assert_not_null(pieces[i]);
        cr_assert_eq((uintptr_t)pieces[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < sizes[i]; k++)
            cr_assert_eq(pieces[i][k], 0);
        memset(pieces[i], (int)(i % 251) + 1, sizes[i]);
        total += sizes[i];
    }
    cr_assert_eq(cw_arena_used(arena), total);
    for (size_t i = 0; i < COUNT; i++)
        for (size_t k = 0; k < sizes[i]; k++)
            cr_assert_eq(pieces[i][k], i % 251 + 1, "piece %zu was written over", i);
    cw_arena_free(arena);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(arena, no_bytes_give_a_pointer_too)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cr_assert_not_null(cw_arena_array(arena, 0, 8));
    cr_assert_not_null(cw_arena_array(arena, 8, 0));
    cr_assert_eq(cw_arena_used(arena), 0);
    cw_arena_free(arena);
}

Test(arena, a_product_that_overflows_is_refused)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    size_t before = memory.requests;
    cr_assert_null(cw_arena_array(arena, SIZE_MAX / 4, 8));
    cr_assert_null(cw_arena_array(arena, SIZE_MAX, 1));
    cr_assert_null(cw_arena_text(arena, "", SIZE_MAX));
    cr_assert_eq(memory.requests, before);
    cr_assert_eq(cw_arena_used(arena), 0);
    cw_arena_free(arena);
}

Test(arena, texts_are_copied_with_their_end)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    char text[] = "through bolt";
    char *copy = cw_arena_text(arena, text, 7);
    text[0] = 'X';
    cr_assert_str_eq(copy, "through");
    cr_assert_str_eq(cw_arena_text(arena, NULL, 0), "");
    char *holed = cw_arena_text(arena, "a\0b", 3);
    cr_assert_eq(memcmp(holed, "a\0b", 4), 0);
    cw_arena_free(arena);
}

Test(arena, formatted_text_of_any_length)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cr_assert_str_eq(cw_arena_format(arena, "%s %d", "slot", 36), "slot 36");
    cr_assert_str_eq(cw_arena_format(arena, "%s", ""), "");
    char *wide = cw_arena_format(arena, "%5000d", 7);
    cr_assert_eq(strlen(wide), 5000);
    cr_assert_eq(wide[4999], '7');
    cr_assert_eq(wide[4998], ' ');
    cw_arena_free(arena);
}

Test(arena, reset_empties_it_and_it_goes_on)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    for (int round = 0; round < 10; round++) {
        for (size_t i = 0; i < 300; i++) {
            uint64_t *piece = CW_NEW(arena, uint64_t);
            cr_assert_eq(*piece, 0, "memory used before the reset must come back zeroed");
            *piece = UINT64_MAX;
        }
        cr_assert_eq(cw_arena_used(arena), 2400);
        cw_arena_reset(arena);
        cr_assert_eq(cw_arena_used(arena), 0);
        cr_assert_leq(memory.pieces, 2, "at most the arena itself and one block are kept");
    }
    cw_arena_free(arena);
    cr_assert_eq(failing_bytes(&memory), 0);
    cw_arena_free(NULL);
}

/* Filled again, no fuller than before, it asks for one block at most and then for nothing; with
 * AddressSanitizer each piece is a request. */
Test(arena, filled_again_it_asks_for_nothing)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    size_t asked = 0;
    for (int round = 0; round < 4; round++) {
        const size_t before = memory.requests;
        for (size_t i = 1; i <= 60; i++) {
            cr_assert_not_null(cw_arena_array(arena, i * i, 7));
            cr_assert_not_null(cw_arena_text(arena, "abc", 3));
        }
        asked = memory.requests - before;
        cw_arena_reset(arena);
    }
    const bool piecewise = asked >= 120;
    cr_expect(asked == 0 || piecewise, "%zu requests", asked);
    cw_arena_free(arena);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(arena, a_growing_text_lives_in_it)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_text text = CW_TEXT_INIT(cw_arena_pieces(arena));
    for (int i = 0; i < 1000; i++) {
        cw_text_format(&text, "%d,", i);
        cr_assert_not_null(cw_arena_array(arena, 1, 3)); /* others are made beside it */
    }
    cr_assert_eq(text.status, CW_OK);
    cr_assert_eq(text.size, 10u * 2 + 90 * 3 + 900 * 4);
    cr_assert_str_eq(cw_text_get(&text) + text.size - 8, "998,999,");
    cr_assert_eq(strncmp(cw_text_get(&text), "0,1,2,3,", 8), 0);
    cw_arena_free(arena); /* and with it the text */
}

Test(arena, keeps_a_copy_of_its_allocator)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_allocator passing = memory.allocator;
    cw_arena *arena = cw_arena_new(&passing);
    passing = (cw_allocator){NULL, NULL};
    cr_assert_not_null(cw_arena_text(arena, "x", 1));
    cr_assert_eq(cw_arena_allocator(arena)->context, &memory);
    cw_arena_free(arena);
}

static bool use(const cw_allocator *allocator)
{
    cw_arena *arena = cw_arena_new(allocator);
    if (arena == NULL)
        return false;
    size_t used = cw_arena_used(arena);
    bool ok = true;
    for (int i = 0; ok && i < 40; i++) {
        ok = cw_arena_text(arena, "abcdefgh", 8) != NULL && cw_arena_format(arena, "%d", i) != NULL &&
             cw_arena_array(arena, 100, 7) != NULL;
        cr_assert(!ok || cw_arena_used(arena) > used);
    }
    cw_arena_free(arena);
    return ok;
}

Test(arena, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        bool ok = use(&memory.allocator);
        cr_assert_eq(failing_bytes(&memory), 0);
        cr_assert_eq(ok, !memory.refused);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 3);
}

enum { RUNS_MOST = 4000, PIECES = 3000 };

typedef struct seen_runs {
    const unsigned char *from[RUNS_MOST];
    size_t size[RUNS_MOST], count;
} seen_runs;

static void see_run(void *context, const void *bytes, size_t size)
{
    seen_runs *seen = context;
    cr_assert_lt(seen->count, (size_t)RUNS_MOST);
    seen->from[seen->count] = bytes;
    seen->size[seen->count++] = size;
}

Test(arena, its_runs_hold_every_piece_once_and_whole)
{
    static seen_runs seen;
    static const unsigned char *pieces[PIECES];
    static size_t sizes[PIECES];
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    for (size_t i = 0; i < PIECES; i++) {
        const bool text = i % 3 == 0;
        sizes[i] = text ? 1 : i % 97 + (i % 500 == 1 ? 70000 : 0);
        pieces[i] =
            text ? (const unsigned char *)cw_arena_text(arena, "", 0) : cw_arena_array(arena, 1, sizes[i]);
        cr_assert_not_null(pieces[i]);
    }
    cw_arena_runs(arena, see_run, &seen);
    for (size_t i = 0; i < PIECES; i++) {
        size_t holders = 0;
        for (size_t k = 0; k < seen.count; k++)
            holders += pieces[i] >= seen.from[k] && pieces[i] + sizes[i] <= seen.from[k] + seen.size[k] &&
                       pieces[i] < seen.from[k] + seen.size[k];
        cr_assert_eq(holders, 1u, "piece %zu", i);
    }
    cw_arena_free(arena);
}

static void note_long_run(void *context, const void *bytes, size_t size)
{
    if (size == 5000)
        *(const void **)context = bytes;
}

Test(arena, what_it_adopts_goes_with_it)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    void *given = cw_allocate(&memory.allocator, 5000);
    memory.allowed = 0;
    cr_assert_not(cw_arena_adopt(arena, given, 5000), "no room for the note of it");
    memory.allowed = FAILING_NEVER;
    cr_assert_not_null(cw_arena_text(arena, "x", 1));
    const size_t used = cw_arena_used(arena);
    cr_assert(cw_arena_adopt(arena, given, 5000));
    cr_assert_geq(cw_arena_used(arena), used + 5000);
    const void *found = NULL;
    cw_arena_runs(arena, note_long_run, &found);
    cr_assert_eq(found, given);
    cw_arena_reset(arena);
    found = NULL;
    cw_arena_runs(arena, note_long_run, &found);
    cr_assert_null(found);
    cr_assert(cw_arena_adopt(arena, cw_allocate(&memory.allocator, 70), 70));
    cw_arena_free(arena);
    cr_assert_eq(failing_bytes(&memory), 0);
}
