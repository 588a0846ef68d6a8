/* Readings and conversions against GNU Units, a program that shares nothing with us: every pair of units of
 * one dimension that both know, at random values. */
#include "quantity/quantity.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Ours and theirs. A temperature on a scale is a function there: tempC(20). */
static const struct {
    const char *ours, *theirs;
    bool scale;
} pairs[] = {
    {"%", "percent", false},
    {"mm", "millimeter", false},
    {"cm", "centimeter", false},
    {"m", "meter", false},
    {"um", "micrometer", false},
    {"in", "inch", false},
    {"ft", "foot", false},
    {"mi", "mile", false},
    {"km", "kilometer", false},
    {"g", "gram", false},
    {"kg", "kilogram", false},
    {"lb", "pound", false},
    {"oz", "ounce", false},
    {"s", "second", false},
    {"ms", "millisecond", false},
    {"us", "microsecond", false},
    {"min", "minute", false},
    {"h", "hour", false},
    {"d", "day", false},
    {"A", "ampere", false},
    {"mA", "milliampere", false},
    {"uA", "microampere", false},
    {"V", "volt", false},
    {"mV", "millivolt", false},
    {"kV", "kilovolt", false},
    {"ohm", "ohm", false},
    {"mohm", "milliohm", false},
    {"kohm", "kiloohm", false},
    {"Mohm", "megaohm", false},
    {"W", "watt", false},
    {"kW", "kilowatt", false},
    {"hp", "horsepower", false},
    {"degC", "tempC", true},
    {"degF", "tempF", true},
    {"Hz", "hertz", false},
    {"kHz", "kilohertz", false},
    {"rpm", "rpm", false},
    {"N", "newton", false},
    {"kN", "kilonewton", false},
    {"lbf", "lbf", false},
    {"N m", "newton meter", false},
    {"lbf ft", "lbf foot", false},
    {"lbf in", "lbf inch", false},
    {"Pa", "pascal", false},
    {"kPa", "kilopascal", false},
    {"bar", "bar", false},
    {"psi", "psi", false},
    {"mm2", "millimeter^2", false},
    {"cm2", "centimeter^2", false},
    {"m2", "meter^2", false},
    {"deg", "degree", false},
    {"Ah", "ampere hour", false},
    {"mAh", "milliampere hour", false},
    {"C", "coulomb", false},
    {"uF", "microfarad", false},
    {"nF", "nanofarad", false},
    {"F", "farad", false},
};
enum { PAIR_COUNT = sizeof pairs / sizeof *pairs, VALUES = 4, MOST = 4000 };

typedef struct question {
    size_t from, to;
    char value[32];
} question;

static question questions[MOST];
static size_t question_count;

static const cw_unit_info *unit_of(size_t pair)
{
    return cw_unit_find(pairs[pair].ours, strlen(pairs[pair].ours));
}

static void draw_value(random_state *random, char *out, size_t size)
{
    int places = (int)random_below(random, 5);
    double x = random_between(random, 0.001, 1) * pow(10, random_below(random, 5));
    bool negative = random_below(random, 4) == 0;
    snprintf(out, size, "%s%.*f", negative ? "-" : "", places, x);
}

static void draw_questions(void)
{
    random_state random = random_start(23);
    for (size_t from = 0; from < PAIR_COUNT; from++)
        for (size_t to = 0; to < PAIR_COUNT; to++) {
            if (!cw_dimension_equal(unit_of(from)->dimension, unit_of(to)->dimension))
                continue;
            for (int k = 0; k < VALUES && question_count < MOST; k++) {
                question *q = &questions[question_count++];
                q->from = from;
                q->to = to;
                draw_value(&random, q->value, sizeof q->value);
            }
        }
}

static void write_questions(const char *path)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file, "cannot write %s", path);
    for (size_t i = 0; i < question_count; i++) {
        const question *q = &questions[i];
        const char *theirs = pairs[q->from].theirs;
        if (pairs[q->from].scale)
            fprintf(file, "%s(%s)\n%s\n", theirs, q->value, pairs[q->to].theirs);
        else
            fprintf(file, "%s %s\n%s\n", q->value, theirs, pairs[q->to].theirs);
    }
    cr_assert_eq(fclose(file), 0);
}

/* Our own way from text to text: parse, convert. On a scale the two programs subtract offsets of some 300, so
 * there the difference is measured against that. */
static void compare(const question *q, const char *answer)
{
    char text[64];
    snprintf(text, sizeof text, "%s %s", q->value, pairs[q->from].ours);
    cw_parsed got = cw_quantity_parse(text, strlen(text));
    cr_assert_eq(got.error, CW_READING_OK, "%s", text);
    double ours = cw_from_base(unit_of(q->to), got.base);
    char *end;
    double theirs = strtod(answer, &end);
    cr_assert(end != answer && *end == '\n', "units answers '%s' to %s in %s", answer, text,
              pairs[q->to].theirs);
    double scale = fabs(theirs) + (pairs[q->to].scale ? 300 : 0);
    cr_assert_leq(fabs(ours - theirs), 1e-12 * scale, "%s in %s: %.17g, units says %.17g", text,
                  pairs[q->to].ours, ours, theirs);
}

Test(units, random_conversions_agree_with_gnu_units)
{
    const char *path = CW_BINARY_DIR "/results/units-questions.txt";
    draw_questions();
    cr_assert_geq(question_count, 400);
    write_questions(path);
    FILE *answers = popen(
        "units --terse --output-format '%.17g' < '" CW_BINARY_DIR "/results/units-questions.txt' 2>&1", "r");
    cr_assert_not_null(answers);
    char line[256];
    size_t answered = 0;
    while (fgets(line, sizeof line, answers) != NULL) {
        cr_assert_null(strstr(line, "not found"), "this test needs the Debian package 'units': %s", line);
        cr_assert_lt(answered, question_count, "units says more than it was asked: %s", line);
        compare(&questions[answered++], line);
    }
    pclose(answers);
    cr_assert_eq(answered, question_count, "units answered %zu of %zu; is the Debian package 'units' there?",
                 answered, question_count);
    remove(path);
}

/* No unit of ours is left out of the comparison, but the kelvin, whose steps are their own measure. */
Test(units, every_unit_is_compared)
{
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++) {
        bool found = strcmp(unit->symbol, "K") == 0;
        for (size_t k = 0; k < PAIR_COUNT && !found; k++)
            found = strcmp(pairs[k].ours, unit->symbol) == 0;
        cr_assert(found, "%s", unit->symbol);
    }
}

/* The kelvin on the scale, against theirs. */
Test(units, kelvin_against_celsius_and_fahrenheit)
{
    cw_dimension temperature;
    cr_assert(cw_dimension_find("temperature", &temperature));
    random_state random = random_start(24);
    for (int round = 0; round < 20; round++) {
        char value[32];
        char command[160];
        char answer[64];
        snprintf(value, sizeof value, "%.2f", random_between(&random, 0, 600));
        bool celsius = round % 2 == 0;
        snprintf(command, sizeof command, "units --terse --output-format '%%.17g' '%s K' %s 2>&1", value,
                 celsius ? "tempC" : "tempF");
        FILE *pipe = popen(command, "r");
        cr_assert_not_null(pipe);
        cr_assert_not_null(fgets(answer, sizeof answer, pipe), "this test needs the Debian package 'units'");
        cr_assert_null(strstr(answer, "not found"), "this test needs the Debian package 'units': %s", answer);
        pclose(pipe);
        strcat(value, " K");
        cw_parsed got = cw_quantity_parse_as(value, strlen(value), temperature);
        cr_assert_eq(got.unit->dimension.on_scale, 1);
        const char *to = celsius ? "degC" : "degF";
        double ours = cw_from_base(cw_unit_find(to, 4), got.base);
        cr_assert_leq(fabs(ours - strtod(answer, NULL)), 1e-12 * 600, "%s in %s: %.17g, units says %s", value,
                      to, ours, answer);
    }
}
