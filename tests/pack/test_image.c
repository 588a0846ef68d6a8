/* Compiled images: what comes out is what the packs say; what is not made, and no memory. */
#include "image_room.h"
#include "support/failing.h"
#include "support/random.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SHIPPED CW_SOURCE_DIR "/rules/harbour-lane"

TestSuite(image, .init = image_enter, .fini = image_leave);

Test(image, says_what_its_packs_say)
{
    image_put_packs();
    image_compile(image_in("upper"), NULL, NULL);
    image_expect_same(image_in("upper"), image_in("upper"));
    image_expect_same(image_in("upper/pack.image"), image_in("upper"));
    compiled made = image_load_by(cw_image_load, image_in("upper"), NULL);
    cr_expect_eq(cw_diags_count(made.diags), 2u);
    compiled_free(&made);
}

Test(image, of_the_shipped_packs_says_what_they_say)
{
    image_compile(SHIPPED, NULL, image_in("shipped.image"));
    compiled quick = image_load_by(cw_image_load, image_in("shipped.image"), NULL);
    compiled slow = image_load_by(cw_pack_load, SHIPPED, NULL);
    cr_assert_not_null(quick.model);
    char *said = dump(quick.model), *expected = dump(slow.model);
    cr_expect_str_eq(said, expected);
    free(said);
    free(expected);
    compiled_free(&quick);
    compiled_free(&slow);
}

/* The first lies where it wants to, the second cannot and is moved. */
Test(image, says_the_same_at_another_address)
{
    image_put_packs();
    image_compile(image_in("upper"), NULL, NULL);
    compiled first = image_load_by(cw_image_load, image_in("upper"), NULL);
    compiled second = image_load_by(cw_image_load, image_in("upper"), NULL);
    cr_assert_not_null(first.model);
    cr_assert_not_null(second.model);
    cr_expect_neq(first.model->facts, second.model->facts);
    char *said = dump(first.model), *again = dump(second.model);
    cr_expect_str_eq(said, again);
    compiled_free(&first);
    free(again);
    again = dump(second.model);
    cr_expect_str_eq(said, again, "the second stays when the first has gone");
    free(said);
    free(again);
    compiled_free(&second);
}

Test(image, of_several_folders_has_its_own_place)
{
    char place[PATH_MAX];
    image_put_packs();
    const char *both[] = {image_in("lower/"), image_in("upper"), image_in("upper")};
    cr_assert(cw_image_place(both, 3, place, sizeof place));
    cr_expect_str_eq(place, image_in("lower/pack+upper.image"));
    image_compile(both[0], both[1], NULL);
    image_expect_passed_over(image_in("lower"));
    image_expect_passed_over(image_in("upper"));
    compiled quick = image_load_by(cw_image_load, both[0], both[1]),
             slow = image_load_by(cw_pack_load, both[0], both[1]);
    cr_assert_not_null(quick.model);
    char *said = dump(quick.model), *expected = dump(slow.model);
    cr_expect_str_eq(said, expected);
    free(said);
    free(expected);
    cr_expect_str_eq(quick.model->packs[0].name, "lower", "in the order named");
    compiled_free(&quick);
    compiled_free(&slow);
    cr_expect_not(cw_image_place(both, 2, place, 20), "it has to fit");
}

Test(image, can_be_moved_with_its_packs_and_lie_elsewhere)
{
    image_put_packs();
    mkdir(image_in("images"), 0777);
    image_compile(image_in("upper"), NULL, image_in("images/mine.image"));
    image_expect_same(image_in("images/mine.image"), image_in("images/../upper"));
    char inner[PATH_MAX], moved[PATH_MAX];
    snprintf(moved, sizeof moved, "%s", image_in("all"));
    mkdir(moved, 0777);
    const char *names[] = {"images", "upper", "lower"};
    for (size_t i = 0; i < 3; i++) {
        snprintf(inner, sizeof inner, "all/%s", names[i]);
        cr_assert_eq(rename(image_in(names[i]), image_in(inner)), 0);
    }
    image_expect_same(image_in("all/images/mine.image"), image_in("all/images/../upper"));
    cr_assert_eq(chdir(image_in("all/images")), 0);
    compiled made = image_load_by(cw_image_load, "mine.image", NULL);
    cr_expect_not_null(made.model);
    compiled_free(&made);
}

/* --- What is not made --- */

Test(image, of_packs_with_mistakes_is_not_made)
{
    image_put_packs();
    image_put_text("upper/bad.yaml",
                   "rules: {z: {if: {lampp: on}, then: {dead: yes}, because: b, source: s}}\n");
    const char *folders[] = {image_in("upper")};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_image_make(&cw_system_allocator, folders, 1, NULL, NULL, made.sources, made.diags);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_eq(cw_diags_errors(made.diags), 1u);
    cr_expect_neq(access(image_in("upper/pack.image"), F_OK), 0);
    compiled_free(&made);
}

Test(image, that_cannot_be_written_is_told)
{
    image_put_packs();
    const char *folders[] = {image_in("upper")};
    const char *places[] = {image_in("nowhere/x.image"), image_in("lower")};
    const char *why[] = {"No such file or directory", "Is a directory"};
    for (int i = 0; i < 2; i++) {
        char expected[PATH_MAX * 2];
        snprintf(expected, sizeof expected, "error: '%s' cannot be written: %s\n", places[i], why[i]);
        compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                         .diags = cw_diags_new(&cw_system_allocator)};
        made.status =
            cw_image_make(&cw_system_allocator, folders, 1, places[i], NULL, made.sources, made.diags);
        char *told = messages(&made);
        cr_expect_eq(made.status, CW_CANNOT_WRITE);
        cr_expect(strstr(told, expected) != NULL, "%s", told);
        free(told);
        compiled_free(&made);
    }
}

/* --- Memory --- */

Test(image, may_find_no_memory_at_any_request_while_it_is_used)
{
    free(image_whole().bytes);
    for (int once = 0; once < 2; once++) {
        for (size_t allowed = 0;; allowed++) {
            failing memory;
            (once ? failing_start_once : failing_start)(&memory, allowed);
            const char *folders[] = {image_in("upper/pack.image")};
            compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                             .diags = cw_diags_new(&cw_system_allocator)};
            made.status = cw_image_load(&memory.allocator, folders, 1, made.sources, made.diags, &made.model);
            cr_assert_eq(made.status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu granted", allowed);
            cr_assert_eq(made.model == NULL, memory.refused);
            cr_assert(!memory.refused || cw_diags_count(made.diags) == 0);
            compiled_free(&made);
            cr_assert_eq(failing_bytes(&memory), 0u);
            if (!memory.refused)
                break;
        }
    }
}

Test(image, may_find_no_memory_at_any_request_while_it_is_made)
{
    image_put_packs();
    random_state random = random_start(12);
    for (size_t allowed = 0;; allowed += 1 + random_below(&random, 5)) {
        failing memory;
        failing_start_once(&memory, allowed);
        const char *folders[] = {image_in("upper")};
        compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                         .diags = cw_diags_new(&cw_system_allocator)};
        made.status = cw_image_make(&memory.allocator, folders, 1, NULL, NULL, made.sources, made.diags);
        cr_assert_eq(made.status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu granted", allowed);
        compiled_free(&made);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    image_expect_same(image_in("upper"), image_in("upper"));
}
