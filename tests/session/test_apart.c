/* What a pack cannot tell apart, through the public door: what is refused, whom only teardown tells, no
 * memory. */
#include "support.h"
#include "support/failing.h"
#include <stdio.h>

#define HARBOUR CW_SOURCE_DIR "/rules/harbour-lane"

static cw_pack *open_folder(const cw_settings *settings, const char *folder)
{
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(settings, &folder, 1, NULL, &pack), CW_OK);
    return pack;
}

Test(apart, what_is_refused)
{
    const char *const places[] = {"counter", "attic"};
    cw_pack *pack = open_shop(NULL);
    cw_apart *apart = NULL;
    cr_expect_eq(cw_pack_apart(NULL, &(cw_apart_wish){0}, &apart), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, NULL, &apart), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, &(cw_apart_wish){0}, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, &(cw_apart_wish){.place_count = 1}, &apart), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, &(cw_apart_wish){.sure = 0.5}, &apart), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, &(cw_apart_wish){.sure = 1}, &apart), CW_BAD_CALL);
    cr_expect_eq(cw_pack_apart(pack, &(cw_apart_wish){.places = places, .place_count = 2}, &apart),
                 CW_NOT_FOUND);
    cr_expect_null(apart);
    cw_apart_free(NULL);
    cw_pack_free(pack);
}

static bool named(const cw_apart *apart, const cw_apart_together *group, const char *id)
{
    for (size_t m = 0; m < group->count; m++)
        if (strcmp(apart->members[group->members[m]].id, id) == 0)
            return true;
    return false;
}

static const cw_apart_together *group_with(const cw_apart *apart, const char *only, const char *id)
{
    for (size_t g = 0; g < apart->group_count; g++) {
        const cw_apart_together *group = &apart->groups[g];
        if ((only == NULL ? group->only == NULL : group->only != NULL && strcmp(group->only, only) == 0) &&
            named(apart, group, id))
            return group;
    }
    return NULL;
}

/* The shop's Sanderlings differ inside alone: rings, their bearing, diodes
 * (rules/harbour-lane/sanderling.yaml). */
Test(apart, whom_only_teardown_tells)
{
    static const char *const ids[] = {"sanderling_large_ring", "sanderling_small_ring", "sanderling_neutral"};
    const char *const counter[] = {"counter"};
    cw_pack *pack = open_folder(NULL, HARBOUR);
    for (int limited = 0; limited < 2; limited++) {
        const cw_apart_wish wish = {.places = counter, .place_count = limited == 1 ? 1 : 0};
        cw_apart *apart = NULL;
        cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_OK);
        const cw_apart_together *group = group_with(apart, limited == 1 ? NULL : "teardown", ids[0]);
        cr_assert_not_null(group);
        cr_expect_eq(group->count, 3u);
        cr_expect(named(apart, group, ids[1]) && named(apart, group, ids[2]));
        cr_expect_str_eq(group->tells.place, "teardown");
        cr_expect_gt(group->tells.certainty, 0.9);
        cr_expect(limited == 1 ? apart->told[CW_APART_BY_NOTHING] >= 3
                               : apart->told[CW_APART_BY_NOTHING] == 0);
        cr_expect(apart->smallest.exact && apart->all && !apart->cut_short);
        cr_expect_eq(apart->left_out, 0u);
        cw_apart_free(apart);
    }
    cw_pack_free(pack);
}

/* Both kinds: one request is refused, or it and all later ones. */
Test(apart, no_memory)
{
    for (int kind = 0; kind < 2; kind++) {
        failing memory;
        failing_start(&memory, FAILING_NEVER);
        const cw_settings settings = {memory.allocator.resize, memory.allocator.context};
        cw_pack *pack = open_folder(&settings, SHOP);
        const cw_apart_wish wish = {.causes = kind == 1};
        cw_apart *apart = NULL;
        cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_OK); /* the pack's patterns are compiled by now */
        cw_apart_free(apart);
        const size_t held = failing_bytes(&memory), before = memory.requests;
        cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_OK);
        const size_t needed = memory.requests - before;
        cw_apart_free(apart);
        cr_assert_eq(failing_bytes(&memory), held);
        for (size_t allowed = 0; allowed < needed; allowed += 3) {
            memory.once = allowed % 2 == 1;
            memory.refused = false;
            memory.requests = 0;
            memory.allowed = allowed;
            cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_NO_MEMORY, "%zu allowed of %zu", allowed,
                         needed);
            cr_assert_null(apart);
            cr_assert_eq(failing_bytes(&memory), held, "%zu allowed", allowed);
        }
        memory.allowed = FAILING_NEVER;
        cw_pack_free(pack);
        cr_assert_eq(failing_bytes(&memory), 0u);
    }
}
