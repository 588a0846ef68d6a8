/* The packs that ship, and those of the outside tests, are without fault. */
#include "help.h"
#include <criterion/criterion.h>
#include <stdlib.h>

static void is_clean(const char *folder, bool warnings_too)
{
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_pack_load(&cw_system_allocator, &folder, 1, made.sources, made.diags, &made.model);
    char *told = messages(&made);
    cr_expect_eq(made.status, CW_OK, "%.3000s", told);
    if (warnings_too)
        cr_expect_str_eq(told, "");
    free(told);
    compiled_free(&made);
}

Test(shipped, the_generic_pack)
{
    is_clean(CW_SOURCE_DIR "/rules/charging-basics", true);
}

Test(shipped, the_catalogue_of_harbour_lane)
{
    is_clean(CW_SOURCE_DIR "/rules/harbour-lane", true);
}

Test(shipped, the_packs_of_the_outside_tests)
{
    is_clean(CW_SOURCE_DIR "/tests/outside/polybox/pack", true);
    is_clean(CW_SOURCE_DIR "/tests/outside/trade/pack", true);
    is_clean(CW_SOURCE_DIR "/tests/outside/fever/pack", true);
    is_clean(CW_SOURCE_DIR "/tests/outside/mushroom/pack",
             false); /* four rules ask for few of the 22 features */
}
