#include "base/diag.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static const cw_code all_codes[] = {
#define CW_DIAG(code, name, severity, summary) CW_DIAG_##name,
#include "base/diag.def"
#undef CW_DIAG
};
enum { CODE_COUNT = sizeof all_codes / sizeof *all_codes };

Test(diag, every_code_has_a_name_and_a_summary_of_its_own)
{
    for (size_t i = 0; i < CODE_COUNT; i++) {
        const char *name = cw_code_name(all_codes[i]);
        cw_severity severity = cw_code_severity(all_codes[i]);
        cr_assert_eq(strlen(name), 4);
        cr_assert_eq(name[0], severity == CW_ERROR ? 'E' : severity == CW_WARNING ? 'W' : 'N');
        cr_assert_eq(atoi(name + 1), (int)all_codes[i]);
        cr_assert_gt(strlen(cw_code_summary(all_codes[i])), 5);
        for (size_t k = 0; k < i; k++)
            cr_assert_str_neq(cw_code_summary(all_codes[k]), cw_code_summary(all_codes[i]));
    }
    cr_assert_str_eq(cw_code_name(CW_DIAG_TAB), "E003");
    cr_assert_str_eq(cw_code_name(CW_DIAG_NEVER_FIRES), "W122");
    cr_assert_str_eq(cw_code_name((cw_code)999), "");
    cr_assert_str_eq(cw_code_summary((cw_code)999), "");
}

Test(diag, messages_keep_their_words_and_extras)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_diags *diags = cw_diags_new(&memory.allocator);
    cw_diag *diag =
        cw_diags_add(diags, CW_DIAG_UNKNOWN_NAME, (cw_span){1, 2, 3}, "no check is called '%s'", "riple");
    cw_diag_help(diags, diag, "did you mean %s?", "ripple");
    cw_diag_second(diags, diag, (cw_span){1, 8, 9}, "%s is here", "it");
    for (int i = 0; i < 100; i++)
        cw_diags_add(diags, CW_DIAG_UNUSED_CHECK, (cw_span){0}, "warning %d", i);
    cr_assert_eq(cw_diags_count(diags), 101);
    cr_assert_eq(cw_diags_errors(diags), 1);
    const cw_diag *first = cw_diags_at(diags, 0);
    cr_assert_eq(first, diag, "messages stay where they are");
    cr_assert_eq(first->code, CW_DIAG_UNKNOWN_NAME);
    cr_assert_eq(first->severity, CW_ERROR);
    cr_assert_str_eq(first->message, "no check is called 'riple'");
    cr_assert_str_eq(first->help, "did you mean ripple?");
    cr_assert_str_eq(first->second_message, "it is here");
    cr_assert_eq(first->second.start, 8);
    cr_assert_str_eq(cw_diags_at(diags, 100)->message, "warning 99");
    cr_assert_null(cw_diags_at(diags, 101));
    cw_diags_clear(diags);
    cr_assert_eq(cw_diags_count(diags), 0);
    cr_assert_eq(cw_diags_errors(diags), 0);
    cw_diags_free(diags);
    cw_diags_free(NULL);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(diag, after_200_errors_the_rest_is_only_counted)
{
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    for (int i = 0; i < 200; i++)
        cr_assert_not_null(cw_diags_add(diags, CW_DIAG_BAD_NAME, (cw_span){0}, "error %d", i));
    cw_diag *more = cw_diags_add(diags, CW_DIAG_BAD_NAME, (cw_span){0}, "error");
    cr_assert_null(more);
    cw_diag_help(diags, more, "nothing");
    cw_diag_second(diags, more, (cw_span){0}, "nothing");
    cr_assert_not_null(
        cw_diags_add(diags, CW_DIAG_UNUSED_CHECK, (cw_span){0}, "a warning has room of its own"));
    cr_assert_eq(cw_diags_count(diags), 201);
    cr_assert_eq(cw_diags_errors(diags), 201);
    cr_assert_not(cw_diags_lost(diags));
    cw_diags_free(diags);
}

Test(diag, sorted_by_source_then_start_then_code_whatever_the_order_of_work)
{
    random_state random = random_start(9);
    for (int round = 0; round < 50; round++) {
        cw_diags *diags = cw_diags_new(&cw_system_allocator);
        for (uint32_t i = 0; i < 150; i++)
            cw_diags_add(diags, all_codes[random_below(&random, CODE_COUNT)],
                         (cw_span){random_below(&random, 3), random_below(&random, 9), 20}, "%c",
                         (char)('a' + random_below(&random, 3)));
        cw_diags_sort(diags);
        for (size_t i = 1; i < cw_diags_count(diags); i++) {
            const cw_diag *a = cw_diags_at(diags, i - 1);
            const cw_diag *b = cw_diags_at(diags, i);
            uint64_t x = (uint64_t)a->span.source << 40 | (uint64_t)a->span.start << 20 | (uint64_t)a->code;
            uint64_t y = (uint64_t)b->span.source << 40 | (uint64_t)b->span.start << 20 | (uint64_t)b->code;
            cr_assert(x < y || (x == y && strcmp(a->message, b->message) <= 0));
        }
        cr_assert_gt(cw_diags_count(diags), 100);
        cw_diags_free(diags);
    }
}

Test(diag, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_diags *diags = cw_diags_new(&memory.allocator);
        if (diags != NULL) {
            size_t kept = 0;
            for (int i = 0; i < 30; i++) {
                cw_diag *diag = cw_diags_add(diags, CW_DIAG_BAD_NAME, (cw_span){1, 2, 3}, "message %d", i);
                kept += diag != NULL;
                cw_diag_help(diags, diag, "help %60d", i);
                cw_diag_second(diags, diag, (cw_span){1, 4, 5}, "second");
            }
            cr_assert_eq(cw_diags_lost(diags), memory.refused);
            cr_assert_eq(cw_diags_count(diags), kept);
            cr_assert_eq(cw_diags_errors(diags), 30, "errors count even where the words are lost");
            cw_diags_free(diags);
        }
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 10);
}
