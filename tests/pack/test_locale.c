/* A host program whose locale writes the decimal mark as a comma gets the same messages. */
#include "help.h"
#include <criterion/criterion.h>
#include <locale.h>
#include <stdlib.h>
#include <string.h>

/* The locale is made for this test. */
Test(locale, messages_do_not_follow_the_host_program)
{
    const char *make = "localedef --no-archive -i de_DE -f UTF-8 '" CW_BINARY_DIR
                       "/results/pack/de_DE.UTF-8' >/dev/null 2>&1";
    cr_assert_eq(system("mkdir -p '" CW_BINARY_DIR "/results/pack'"), 0);
    int made = system(make);
    setenv("LOCPATH", CW_BINARY_DIR "/results/pack", 1);
    cr_assert_not_null(setlocale(LC_ALL, "de_DE.UTF-8"),
                       "localedef (%d) could not make a locale; the Debian package 'locales' is needed",
                       made);
    compiled pack = compile_body("units:\n"
                                 "  tern:\n"
                                 "    title: Tern\n"
                                 "    source: invented\n"
                                 "    signs: {lamp: {glow: 90 %, on: 22.5 %}}\n");
    char *told = messages(&pack);
    cr_expect_not_null(strstr(told, "the frequencies of 'lamp' add up to 112.5 %, more than all"), "%s",
                       told);
    free(told);
    compiled_free(&pack);
}
