/* Files read on several cores at once: the same model and the same messages, in the same order, as from one
 * thread. */
#include "help.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILES = 8, CHECKS = 60 };

static char room[] = "/tmp/cw-ahead-XXXXXX";

static void make_room(void)
{
    cr_assert_not_null(mkdtemp(room));
}

static void clear_room(void)
{
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", room);
    cr_assert_eq(system(command), 0);
}

TestSuite(ahead, .init = make_room, .fini = clear_room);

static FILE *begin(const char *name)
{
    char path[200];
    snprintf(path, sizeof path, "%s/%s", room, name);
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    return file;
}

/* Enough to be worth more than one thread; `spoil` comes last in every second file. */
static void write_pack(const char *spoil)
{
    FILE *file = begin("pack.yaml");
    fputs("pack: {name: many, title: Many files, version: 1}\n", file);
    fclose(file);
    for (int f = 0; f < FILES; f++) {
        char name[40];
        snprintf(name, sizeof name, "checks-%d.yaml", f);
        file = begin(name);
        fputs("checks:\n", file);
        for (int k = 0; k < CHECKS; k++)
            fprintf(
                file,
                "  look_%d_%d: {title: A look, ask: 'Is it \xC3\xB6ily here?', place: counter, minutes: %d, "
                "choices: [dry, damp, wet]}\n",
                f, k, 1 + k % 7);
        fputs(f % 2 == 1 ? spoil : "", file);
        fclose(file);
    }
}

static void *resize_by_malloc(void *context, void *old, size_t old_size, size_t new_size)
{
    return cw_system_allocator.resize(context, old, old_size, new_size);
}

/* With the caller's own allocator there is one thread. */
static compiled load(bool alone)
{
    static const cw_allocator own = {resize_by_malloc, NULL};
    const cw_allocator *allocator = alone ? &own : &cw_system_allocator;
    const char *folders[] = {room};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_pack_load(allocator, folders, 1, made.sources, made.diags, &made.model);
    return made;
}

static void expect_alike(const char *spoil, cw_status status, const char *told)
{
    write_pack(spoil);
    for (int round = 0; round < 5; round++) {
        compiled alone = load(true), together = load(false);
        cr_assert_eq(alone.status, status);
        cr_assert_eq(together.status, status);
        char *expected = messages(&alone), *found = messages(&together);
        cr_expect_str_eq(found, expected);
        cr_expect_not_null(strstr(expected, told), "%s", expected);
        free(expected);
        free(found);
        if (status == CW_OK) {
            expected = dump(alone.model);
            found = dump(together.model);
            cr_expect_str_eq(found, expected);
            cr_expect_not_null(strstr(found, "look_7_59"));
            free(expected);
            free(found);
        }
        compiled_free(&alone);
        compiled_free(&together);
    }
}

Test(ahead, the_same_model)
{
    expect_alike("", CW_OK, "checks-1.yaml:43:3: warning: nothing uses");
}

Test(ahead, the_same_warnings_and_errors)
{
    expect_alike("  look_1_1: {title: Again}\n", CW_BAD_INPUT, "checks-3.yaml:62:3: error");
    expect_alike("  look: {title: [a\n", CW_BAD_INPUT, "checks-7.yaml:63:1: error");
    expect_alike("  look: \xFF\n", CW_BAD_INPUT, "checks-5.yaml");
}
