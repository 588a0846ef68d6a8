#include "base/atom.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

Test(atom, numbers_count_from_one_and_stay)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_names *names = cw_names_new(arena);
    cr_assert_eq(cw_names_count(names), 0);
    cr_assert_eq(cw_names_find(names, "ripple", 6), 0);
    cr_assert_eq(cw_names_add(names, "ripple", 6), 1);
    cr_assert_eq(cw_names_add(names, "rotor", 5), 2);
    cr_assert_eq(cw_names_add(names, "ripple", 6), 1);
    cr_assert_eq(cw_names_find(names, "rotor", 5), 2);
    cr_assert_eq(cw_names_find(names, "roto", 4), 0);
    cr_assert_str_eq(cw_names_text(names, 1), "ripple");
    cr_assert_str_eq(cw_names_text(names, 0), "");
    cr_assert_str_eq(cw_names_text(names, 3), "");
    cr_assert_eq(cw_names_count(names), 2);
    cw_arena_free(arena);
}

Test(atom, the_empty_name_and_bytes_of_zero_are_names)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_names *names = cw_names_new(arena);
    cr_assert_eq(cw_names_add(names, "", 0), 1);
    cr_assert_eq(cw_names_add(names, NULL, 0), 1);
    cr_assert_eq(cw_names_add(names, "a\0b", 3), 2);
    cr_assert_eq(cw_names_add(names, "a\0c", 3), 3);
    cr_assert_eq(cw_names_add(names, "a", 1), 4);
    cr_assert_eq(cw_names_find(names, "a\0b", 3), 2);
    cw_arena_free(arena);
}

/* Against the obvious: a list searched from the front. */
Test(atom, random_names_behave_like_a_list)
{
    enum { MOST = 3000 };
    static char list[MOST][12];
    uint32_t count = 0;
    random_state random = random_start(2);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_names *names = cw_names_new(arena);
    for (int step = 0; step < 6000; step++) {
        char name[12];
        snprintf(name, sizeof name, "n%u", random_below(&random, 4000));
        uint32_t known = 0;
        for (uint32_t i = 0; i < count && known == 0; i++)
            if (strcmp(list[i], name) == 0)
                known = i + 1;
        cr_assert_eq(cw_names_find(names, name, strlen(name)), known);
        if (random_below(&random, 2) == 0 && (known != 0 || count < MOST)) {
            uint32_t number = cw_names_add(names, name, strlen(name));
            if (known == 0)
                strcpy(list[count++], name);
            cr_assert_eq(number, known != 0 ? known : count);
        }
    }
    cr_assert_gt(count, 1000);
    cr_assert_eq(cw_names_count(names), count);
    for (uint32_t i = 0; i < count; i++)
        cr_assert_str_eq(cw_names_text(names, i + 1), list[i]);
    cw_arena_free(arena);
}

Test(atom, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        cw_names *names = arena != NULL ? cw_names_new(arena) : NULL;
        for (uint32_t i = 0; names != NULL && i < 500; i++) {
            char name[12];
            int size = snprintf(name, sizeof name, "n%u", i);
            uint32_t number = cw_names_add(names, name, (size_t)size);
            if (number == 0) {
                cr_assert_eq(cw_names_count(names), i, "a failed name leaves the others");
                cr_assert_eq(cw_names_find(names, name, (size_t)size), 0);
                cr_assert(i == 0 || cw_names_find(names, "n0", 2) == 1);
                break;
            }
        }
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 5);
}
