/* Compiled images through the real command: made, used, told of. */
#include "run.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

TestSuite(image, .init = folder_enter, .fini = folder_leave);

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file, "%s", path);
    fputs(text, file);
    fclose(file);
}

/* A copy of the small shop, in ./shop. */
static void copy_shop(void)
{
    cr_assert_eq(system("cp -R " SHOP " shop && rm -f shop/*.image"), 0);
}

static void expect(outcome ran, int status, const char *out, const char *err)
{
    cr_expect_eq(ran.status, status, "%s%s", ran.out, ran.err);
    cr_expect_str_eq(ran.out, out);
    cr_expect_str_eq(ran.err, err);
    ran_free(&ran);
}

Test(image, is_made_kept_and_made_again)
{
    copy_shop();
    expect(RUN(NULL, "rules", "shop", "--compile"), 0, "shop/pack.image written\n", "");
    expect(RUN(NULL, "rules", "--compile", "shop"), 0, "shop/pack.image is up to date\n", "");
    write_text("shop/more.yaml", "parts: {one_more: {title: One more, where: unit}}\n");
    expect(RUN(NULL, "rules", "shop", "--compile"), 0, "shop/pack.image written\n", "");
    expect(RUN(NULL, "rules", "shop", "--compile=else.image"), 0, "else.image written\n", "");
    expect(RUN(NULL, "rules", "shop", "--compile=else.image"), 0, "else.image written\n", "");
}

Test(image, stands_for_its_packs)
{
    copy_shop();
    outcome slow = RUN(NULL, "triage", "--packs", "shop", "--json", "--answer", "ripple=0.7 V");
    expect(RUN(NULL, "rules", "shop", "--compile=else.image"), 0, "else.image written\n", "");
    outcome quick = RUN(NULL, "triage", "--packs", "else.image", "--json", "--answer", "ripple=0.7 V");
    cr_expect_eq(quick.status, 0, "%s", quick.err);
    cr_expect_str_eq(quick.out, slow.out);
    /* The texts are not in it, so nothing is said of what could be written better. */
    expect(RUN(NULL, "rules", "else.image"), 0,
           "test-shop 3: A small invented shop for tests\n18 checks, no errors, 0 warnings\n", "");
    ran_free(&slow);
    ran_free(&quick);
}

/* Beside its packs a stale one changes nothing; named itself, it is told. */
Test(image, that_is_stale_misleads_nobody)
{
    copy_shop();
    expect(RUN(NULL, "rules", "shop", "--compile"), 0, "shop/pack.image written\n", "");
    write_text("shop/wrong.yaml", "parts: {one_more: {titel: One more, where: unit}}\n");
    outcome ran = RUN(NULL, "identify", "--packs", "shop", "--json");
    cr_expect_eq(ran.status, 2);
    cr_expect_not_null(strstr(ran.err, "shop/wrong.yaml:1:20: error: "), "%s", ran.err);
    ran_free(&ran);
    expect(RUN(NULL, "identify", "--packs", "shop/pack.image", "--json"), 2, "",
           "error: 'shop/pack.image' cannot be used: the pack 'test-shop' in 'shop' has changed since\n"
           "help: compile its packs again: corewright rules FOLDER --compile\n");
}

Test(image, that_cannot_be_made_is_told)
{
    copy_shop();
    expect(RUN(NULL, "rules", "shop", "--compile=no/where.image"), 3, "",
           "error: 'no/where.image' cannot be written: No such file or directory\n");
    expect(RUN(NULL, "rules", "shop", "--compile"), 0, "shop/pack.image written\n", "");
    expect(RUN(NULL, "rules", "shop/pack.image", "--compile"), 2, "",
           "corewright: error: shop/pack.image is an image already\n"
           "help: name the folder of the pack\n");
    write_text("notes.txt", "not an image");
    expect(RUN(NULL, "identify", "--packs", "notes.txt", "--json"), 2, "",
           "error: 'notes.txt' cannot be used: it is no compiled image of packs\n"
           "help: compile its packs again: corewright rules FOLDER --compile\n");
    write_text("shop/wrong.yaml", "parts: {one_more: {titel: One more, where: unit}}\n");
    outcome ran = RUN(NULL, "rules", "shop", "--compile");
    cr_expect_eq(ran.status, 1);
    cr_expect_not_null(strstr(ran.err, "shop/wrong.yaml:1:20: error: "), "%s", ran.err);
    cr_expect_str_empty(ran.out);
    ran_free(&ran);
}
