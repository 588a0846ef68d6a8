/* Looking through a pack with every request for memory refused once. */
#include "review/help.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

/* Two rules that overlap, two limits too close, signs that count twice: all searches and all words. */
static const char more[] =
    "facts:\n"
    "  strong: {title: Strong ripple, choices: [no_more, strong, absurd]}\n"
    "rules:\n"
    "  much: {if: {ripple: above 0.51 V}, then: {strong: strong}, because: B, source: s}\n"
    "  most: {if: {ripple: above 0.6 V, lamp: glow}, then: {ripple_state: normal}, because: B, source: "
    "s}\n"
    "causes:\n"
    "  cold: {title: C, part: rectifier, seen: 1 %, signs: {ripple_state: {high: often}, strong: {strong: "
    "often}}, "
    "source: s}\n"
    "  mute: {title: M, part: rectifier, seen: 1 %, source: s}\n";

static void sweep(bool once)
{
    compiled made = review_beside_shop(more, strlen(more));
    cr_assert_eq(made.status, CW_OK);
    cr_expect_str_eq(codes_of(&made), "W161 W164 W166 W168 W169");
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        if (once)
            failing_start_once(&memory, allowed);
        else
            failing_start(&memory, allowed);
        cw_diags *diags = cw_diags_new(&memory.allocator);
        if (diags != NULL) {
            cw_status status = cw_review(made.model, &memory.allocator, (cw_review_limits){0}, diags);
            cr_expect_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "after %zu requests", allowed);
        }
        cw_diags_free(diags);
        cr_assert_eq(failing_bytes(&memory), 0u, "a leak after %zu requests", allowed);
        if (!memory.refused)
            break;
    }
    compiled_free(&made);
}

Test(memory, every_request_refused_from_some_point_on)
{
    sweep(false);
}

Test(memory, a_single_request_refused)
{
    sweep(true);
}
