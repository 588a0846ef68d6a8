#include "base/alloc.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <signal.h>
#include <string.h>

Test(alloc, the_systems_own_grows_keeps_and_frees)
{
    const cw_allocator *system = &cw_system_allocator;
    char *memory = cw_allocate(system, 4);
    cr_assert_not_null(memory);
    memcpy(memory, "abc", 4);
    memory = system->resize(system->context, memory, 4, 4000);
    cr_assert_str_eq(memory, "abc");
    cr_assert_null(system->resize(system->context, memory, 4000, 0));
}

/* Those that may lie on huge pages too. */
Test(alloc, the_systems_own_has_large_pieces)
{
    enum { PIECE = (5 << 20) + 3, GROWN = 9 << 20 };
    const cw_allocator *system = &cw_system_allocator;
    char *memory = cw_allocate(system, PIECE);
    cr_assert_not_null(memory);
    memset(memory, 'a', PIECE);
    memory = system->resize(system->context, memory, PIECE, GROWN);
    cr_assert_not_null(memory);
    memory[GROWN - 1] = 'b';
    for (size_t i = 0; i < PIECE; i += 4001)
        cr_assert_eq(memory[i], 'a');
    memory = system->resize(system->context, memory, GROWN, 10);
    cr_assert_eq(memory[9], 'a');
    cr_assert_null(system->resize(system->context, memory, 10, 0));
}

Test(alloc, releasing_nothing_is_allowed)
{
    failing memory;
    failing_start(&memory, 0);
    cw_release(&memory.allocator, NULL, 0);
    cr_assert_eq(memory.requests, 0);
}

Test(alloc, the_failing_one_counts_and_refuses)
{
    failing memory;
    failing_start(&memory, 2);
    char *first = cw_allocate(&memory.allocator, 10);
    cr_assert_not_null(first);
    memset(first, 7, 10);
    char *second = memory.allocator.resize(memory.allocator.context, first, 10, 30);
    cr_assert_not_null(second);
    cr_assert_eq(second[9], 7);
    cr_assert_eq(failing_bytes(&memory), 30);
    cr_assert_not(memory.refused);
    cr_assert_null(memory.allocator.resize(memory.allocator.context, second, 30, 40));
    cr_assert(memory.refused);
    cr_assert_eq(second[9], 7, "a refused request leaves the piece as it is");
    cw_release(&memory.allocator, second, 30);
    cr_assert_eq(failing_bytes(&memory), 0);
    cr_assert_eq(memory.pieces, 0);
}

Test(alloc, the_failing_one_can_refuse_once)
{
    failing memory;
    failing_start_once(&memory, 1);
    char *first = cw_allocate(&memory.allocator, 1);
    cr_assert_null(cw_allocate(&memory.allocator, 1));
    char *second = cw_allocate(&memory.allocator, 1);
    cr_assert_not_null(second);
    cw_release(&memory.allocator, first, 1);
    cw_release(&memory.allocator, second, 1);
}

Test(alloc, the_failing_one_catches_a_wrong_size, .signal = SIGABRT)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    char *piece = cw_allocate(&memory.allocator, 10);
    cw_release(&memory.allocator, piece, 11);
}
