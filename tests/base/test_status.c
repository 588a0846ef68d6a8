#include "corewright/status.h"
#include <criterion/criterion.h>
#include <string.h>

Test(status, each_has_its_own_words)
{
    for (int i = CW_OK; i <= CW_NOT_FOUND; i++) {
        const char *text = cw_status_text((cw_status)i);
        cr_assert_not_null(text);
        cr_assert_gt(strlen(text), 0);
        for (int k = CW_OK; k < i; k++)
            cr_assert_str_neq(text, cw_status_text((cw_status)k));
    }
    cr_assert_str_eq(cw_status_text(CW_NO_MEMORY), "out of memory");
}

Test(status, a_value_from_nowhere_has_words_too)
{
    cr_assert_str_eq(cw_status_text((cw_status)99), "unknown status");
}
