/* corewright calc: exit statuses, where words go, numbers in JSON. */
#include "run.h"
#include <criterion/criterion.h>
#include <string.h>

static void expect(outcome ran, int status, const char *out, const char *err)
{
    cr_expect_eq(ran.status, status, "status %d\n%s\n%s", ran.status, ran.out, ran.err);
    if (out != NULL)
        cr_expect_not_null(strstr(ran.out, out), "\"%s\" is not in:\n%s", out, ran.out);
    cr_expect_str_eq(ran.err, err != NULL ? err : "");
    if (status >= 2)
        cr_expect_str_empty(ran.out);
    ran_free(&ran);
}

Test(calc, works_out)
{
    expect(RUN(NULL, "calc", "cable", "gauge=8AWG", "length=6 ft", "amps=90 A"), 0,
           "volts lost                                  0.6784 V\n", NULL);
    expect(RUN(NULL, "calc", "--json", "pulley", "driver=180 mm", "driven=60 mm"), 0, "\"value\": 2.875",
           NULL);
    expect(RUN(NULL, "calc", "bearing", "name=6203", "--json"), 0, "\"words\": \"6203\"", NULL);
    expect(RUN(NULL, "calc", "setpoint", "volts=14.4 V", "slope=-10 mV", "temperature=80 degC"), 0, "13.8 V",
           NULL);
}

Test(calc, lists_itself)
{
    expect(RUN(NULL, "calc"), 0, "  corewright calc cable gauge=8AWG length='6 ft' amps='90 A'\n", NULL);
    expect(RUN(NULL, "calc"), 0, "\ndrain\n", NULL);
    expect(RUN(NULL, "--help"), 0, "calc", NULL);
}

Test(calc, a_wrong_call_is_2)
{
    expect(RUN(NULL, "calc", "cabel"), 2, NULL,
           "corewright: error: there is no calculation 'cabel'\nhelp: did you mean 'cable'?\n");
    expect(RUN(NULL, "calc", "cable", "lenght=6 ft"), 2, NULL,
           "corewright: error: cable has no key 'lenght'\nhelp: did you mean 'length'?\n");
    expect(RUN(NULL, "calc", "belt", "width=3 V", "--json"), 2, NULL,
           "corewright: error: width: '3 V': these are volts, not lengths\nhelp: width takes lengths (21.4 "
           "mm)\n");
    expect(RUN(NULL, "calc", "belt", "ribs=6", "ribs=6"), 2, NULL,
           "corewright: error: 'ribs' is given twice\n");
}
