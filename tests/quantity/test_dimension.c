#include "quantity/quantity.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static cw_dimension named(const char *name)
{
    cw_dimension out;
    cr_assert(cw_dimension_find(name, &out), "%s", name);
    return out;
}

Test(dimension, the_names_of_the_language_reference)
{
    static const char *const names[] = {
        "number",      "length",           "mass",       "time",  "current", "voltage", "resistance", "power",
        "temperature", "temperature_step", "frequency",  "speed", "force",   "torque",  "pressure",   "area",
        "angle",       "charge",           "capacitance"};
    size_t count = sizeof names / sizeof *names;
    for (size_t i = 0; i < count; i++) {
        char buffer[64];
        cr_assert_str_eq(cw_dimension_name(named(names[i]), buffer, sizeof buffer), names[i]);
        for (size_t k = 0; k < i; k++)
            cr_assert_not(cw_dimension_equal(named(names[i]), named(names[k])), "%s %s", names[i], names[k]);
    }
    size_t listed = 0;
    while (cw_dimension_at(listed) != NULL)
        named(cw_dimension_at(listed++));
    cr_assert_eq(listed, count);
}

Test(dimension, an_unknown_name_is_not_found)
{
    cw_dimension out;
    cr_assert_not(cw_dimension_find("", &out));
    cr_assert_not(cw_dimension_find("Length", &out));
    cr_assert_not(cw_dimension_find("lengths", &out));
}

/* Volt = watt per ampere and so on: the relations that physics has, from the table of exponents. */
static cw_dimension times(cw_dimension a, cw_dimension b, int sign)
{
    return (cw_dimension){(int8_t)(a.length + sign * b.length),
                          (int8_t)(a.mass + sign * b.mass),
                          (int8_t)(a.time + sign * b.time),
                          (int8_t)(a.current + sign * b.current),
                          (int8_t)(a.temperature + sign * b.temperature),
                          (int8_t)(a.turn + sign * b.turn),
                          (int8_t)(a.angle + sign * b.angle),
                          0};
}

Test(dimension, products_that_physics_knows)
{
    static const char *const products[][3] = {
        {"voltage", "current", "power"},      {"resistance", "current", "voltage"},
        {"force", "length", "torque"},        {"pressure", "area", "force"},
        {"length", "length", "area"},         {"current", "time", "charge"},
        {"capacitance", "voltage", "charge"}, {"frequency", "time", "number"},
        {"torque", "frequency", "power"},     {"number", "speed", "speed"},
    };
    for (size_t i = 0; i < sizeof products / sizeof *products; i++)
        cr_assert(
            cw_dimension_equal(times(named(products[i][0]), named(products[i][1]), 1), named(products[i][2])),
            "%s times %s", products[i][0], products[i][1]);
}

Test(dimension, one_without_a_name_is_spelt_out)
{
    char buffer[64];
    cw_dimension area = named("area");
    cw_dimension volume = times(area, named("length"), 1);
    cr_assert_str_eq(cw_dimension_name(volume, buffer, sizeof buffer), "m^3");
    cr_assert_str_eq(cw_dimension_name(times(named("force"), named("time"), 1), buffer, sizeof buffer),
                     "kg m s^-1");
    cr_assert_str_eq(cw_dimension_words(volume, buffer, sizeof buffer), "m^3");
    cr_assert_str_eq(cw_dimension_words(named("voltage"), buffer, sizeof buffer), "volts");
    cr_assert_str_eq(cw_dimension_words(named("length"), buffer, sizeof buffer), "lengths");
    cw_dimension all = {-128, -128, -128, -128, -128, -128, -128, 0};
    cr_assert_str_eq(cw_dimension_name(all, buffer, sizeof buffer),
                     "kg^-128 m^-128 s^-128 A^-128 K^-128 rpm^-128 deg^-128");
    for (size_t size = 1; size < 52; size++) {
        char *small = malloc(size); /* of the exact size, so that AddressSanitizer sees a step too far */
        cr_assert_eq(cw_dimension_name(all, small, size), small);
        cr_assert_eq(strlen(small), size - 1, "cut to what there is room for");
        cr_assert_eq(strncmp(small, buffer, size - 1), 0);
        free(small);
    }
    cr_assert_str_eq(cw_dimension_name(volume, buffer, 0), "");
}
