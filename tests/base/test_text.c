#include "base/text.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

Test(text, is_a_string_from_the_first)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cr_assert_str_eq(cw_text_get(&text), "");
    cw_text_add_bytes(&text, NULL, 0);
    cr_assert_str_eq(cw_text_get(&text), "");
    cw_text_dispose(&text);
}

Test(text, grows_by_words_bytes_and_formats)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_text text = CW_TEXT_INIT(&memory.allocator);
    cw_text_add(&text, "slot");
    cw_text_add_bytes(&text, " 36xx", 3);
    cw_text_format(&text, ", %s %d", "phase", 3);
    cr_assert_str_eq(cw_text_get(&text), "slot 36, phase 3");
    cr_assert_eq(text.size, 16);
    cw_text_clear(&text);
    cr_assert_str_eq(cw_text_get(&text), "");
    cw_text_format(&text, "%3000d", 5);
    cr_assert_eq(text.size, 3000);
    cr_assert_eq(cw_text_get(&text)[2999], '5');
    cr_assert_eq(text.status, CW_OK);
    cw_text_dispose(&text);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(text, random_pieces_end_up_one_behind_the_other)
{
    random_state random = random_start(6);
    static char expected[200000];
    size_t size = 0;
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    for (int i = 0; i < 1000; i++) {
        char piece[100];
        size_t length = random_below(&random, sizeof piece);
        for (size_t k = 0; k < length; k++)
            piece[k] = (char)random_below(&random, 256);
        cw_text_add_bytes(&text, piece, length);
        memcpy(expected + size, piece, length);
        size += length;
    }
    cr_assert_eq(text.size, size);
    cr_assert_eq(memcmp(text.data, expected, size), 0);
    cr_assert_eq(text.data[size], '\0');
    cw_text_dispose(&text);
}

/* Doubling or so: a hundred thousand signs must not mean a hundred thousand moves. */
Test(text, grows_in_great_steps)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_text text = CW_TEXT_INIT(&memory.allocator);
    for (int i = 0; i < 100000; i++)
        cw_text_add(&text, "x");
    cr_assert_lt(memory.requests, 40);
    cw_text_dispose(&text);
}

Test(text, the_first_failure_sticks_and_what_was_there_stays)
{
    failing memory;
    failing_start_once(&memory, 1);
    cw_text text = CW_TEXT_INIT(&memory.allocator);
    cw_text_add(&text, "kept");
    cw_text_format(&text, "%500d", 1);
    cr_assert_eq(text.status, CW_NO_MEMORY);
    cw_text_add(&text, "x");
    cw_text_add_bytes(&text, "y", 1);
    cw_text_format(&text, "z");
    cr_assert_str_eq(cw_text_get(&text), "kept");
    cw_text_clear(&text);
    cr_assert_eq(text.status, CW_OK);
    cw_text_dispose(&text);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(text, a_first_request_that_fails_leaves_an_empty_string)
{
    failing memory;
    failing_start(&memory, 0);
    cw_text text = CW_TEXT_INIT(&memory.allocator);
    cw_text_add(&text, "x");
    cr_assert_eq(text.status, CW_NO_MEMORY);
    cr_assert_str_eq(cw_text_get(&text), "");
    cw_text_dispose(&text);
}

Test(text, a_size_that_overflows_is_refused)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&text, "ab");
    cw_text_add_bytes(&text, "c", SIZE_MAX - 1);
    cr_assert_eq(text.status, CW_NO_MEMORY);
    cr_assert_str_eq(cw_text_get(&text), "ab");
    cw_text_dispose(&text);
}

Test(text, equal)
{
    cr_assert(cw_text_equal("", ""));
    cr_assert(cw_text_equal("rotor", "rotor"));
    cr_assert_not(cw_text_equal("rotor", "Rotor"));
    cr_assert_not(cw_text_equal("rotor", "roto"));
}
