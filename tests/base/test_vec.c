#include "base/vec.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <stdint.h>

typedef struct pair {
    uint32_t key;
    uint64_t value;
} pair;

Test(vec, items_come_zeroed_and_stay)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_vec vec = CW_VEC_INIT(&memory.allocator, pair);
    for (uint32_t i = 0; i < 1000; i++) {
        pair *item = cw_vec_add(&vec);
        cr_assert_eq(item->key, 0);
        cr_assert_eq(item->value, 0);
        *item = (pair){i, UINT64_MAX - i};
    }
    cr_assert_eq(vec.count, 1000);
    cr_assert_lt(memory.requests, 20, "it grows in great steps");
    for (uint32_t i = 0; i < 1000; i++) {
        cr_assert_eq(CW_VEC_AT(&vec, pair, i)->key, i);
        cr_assert_eq(CW_VEC_AT(&vec, pair, i)->value, UINT64_MAX - i);
    }
    cw_vec_dispose(&vec);
    cr_assert_eq(vec.count, 0);
    cr_assert_eq(failing_bytes(&memory), 0);
    cr_assert_not_null(cw_vec_add(&vec), "a disposed one can be used again");
    cw_vec_dispose(&vec);
}

Test(vec, used_again_after_use_comes_zeroed)
{
    cw_vec vec = CW_VEC_INIT(&cw_system_allocator, uint32_t);
    *(uint32_t *)cw_vec_add(&vec) = 77;
    vec.count = 0;
    cr_assert_eq(*(uint32_t *)cw_vec_add(&vec), 0);
    cw_vec_dispose(&vec);
}

Test(vec, reserved_room_needs_no_more_requests)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_vec vec = CW_VEC_INIT(&memory.allocator, uint32_t);
    cr_assert_eq(cw_vec_reserve(&vec, 100), CW_OK);
    size_t before = memory.requests;
    for (int i = 0; i < 100; i++)
        cr_assert_not_null(cw_vec_add(&vec));
    cr_assert_eq(cw_vec_reserve(&vec, 50), CW_OK);
    cr_assert_eq(memory.requests, before);
    cw_vec_dispose(&vec);
}

Test(vec, a_failure_changes_nothing)
{
    failing memory;
    failing_start(&memory, 1);
    cw_vec vec = CW_VEC_INIT(&memory.allocator, uint32_t);
    while (vec.count < vec.capacity || vec.capacity == 0)
        *(uint32_t *)cw_vec_add(&vec) = 5;
    size_t count = vec.count;
    cr_assert_null(cw_vec_add(&vec));
    cr_assert_eq(cw_vec_reserve(&vec, 1000), CW_NO_MEMORY);
    cr_assert_eq(vec.count, count);
    for (size_t i = 0; i < count; i++)
        cr_assert_eq(*CW_VEC_AT(&vec, uint32_t, i), 5);
    cw_vec_dispose(&vec);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(vec, a_size_that_overflows_is_refused_before_anybody_is_asked)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_vec vec = CW_VEC_INIT(&memory.allocator, pair);
    cr_assert_eq(cw_vec_reserve(&vec, SIZE_MAX / 8), CW_NO_MEMORY);
    cr_assert_eq(memory.requests, 0);
}

Test(vec, checked_sizes)
{
    size_t out;
    cr_assert(cw_size_times(SIZE_MAX / 3, 3, &out));
    cr_assert_eq(out, SIZE_MAX / 3 * 3);
    cr_assert(cw_size_times(0, SIZE_MAX, &out));
    cr_assert_eq(out, 0);
    cr_assert_not(cw_size_times(SIZE_MAX / 2 + 1, 2, &out));
    cr_assert(cw_size_plus(SIZE_MAX - 1, 1, &out));
    cr_assert_eq(out, SIZE_MAX);
    cr_assert_not(cw_size_plus(SIZE_MAX, 1, &out));
}

Test(vec, given_away_with_one_zeroed_item_behind)
{
    failing memory;
    for (size_t count = 0; count < 40; count++) {
        failing_start(&memory, FAILING_NEVER);
        cw_vec vec = CW_VEC_INIT(&memory.allocator, pair);
        for (uint32_t i = 0; i < count; i++)
            *(pair *)cw_vec_add(&vec) = (pair){i + 1, i};
        size_t bytes = 0;
        memory.allowed = 0;
        cr_assert_null(cw_vec_give_away(&vec, &bytes));
        cr_assert_eq(vec.count, count, "a failure changes nothing");
        memory.allowed = FAILING_NEVER;
        pair *items = cw_vec_give_away(&vec, &bytes);
        cr_assert_eq(bytes, (count + 1) * sizeof *items);
        for (size_t i = 0; i <= count; i++)
            cr_assert_eq(items[i].key, i < count ? i + 1 : 0);
        cr_assert(vec.count == 0 && vec.items == NULL);
        cr_assert_eq(failing_bytes(&memory), bytes);
        cw_release(&memory.allocator, items, bytes);
        cw_vec_dispose(&vec);
    }
}
