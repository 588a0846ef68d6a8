/* Random packs with bands, reading errors and formulas: the engine (pack compiler and chain) against the
 * checker, after every answer and every withdrawal. */
#include "bench/rule.h"
#include "checker/against.h"
#include "outside/asp/engine.h"
#include "outside/asp/rules.h"

#include <criterion/criterion.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_GIVEN = MAX_PREDICATES * MAX_THINGS * MAX_THINGS };

static size_t look(const cw_chain *chain, checker *judge, const char *where)
{
    size_t count, doubtful = 0;
    checker_derive(judge);
    against_all(chain, judge, where);
    char **lines = checker_lines(judge, &count);
    for (size_t i = 0; i < count; i++) {
        doubtful += strchr(lines[i], '?') != NULL;
        free(lines[i]);
    }
    free(lines);
    return doubtful;
}

/* Another unit is in hand, or none. */
static void change_unit(cw_chain *chain, checker *judge, random_state *random)
{
    static const char *const units[] = {"u0", "u1", "u2", "u3", "u4", "not_listed", "can't tell"};
    unsigned unit = random_below(random, 8);
    if (unit == 7 && checker_read(judge, "unit").kind == CHECKER_NOTHING)
        return;
    if (unit == 7)
        checker_withdraw(judge, "unit");
    else
        cr_assert(checker_answer(judge, "unit", units[unit], NULL));
    against_answer(chain, judge, "unit");
}

static size_t run(rule_set *set, random_state *random, int round)
{
    static const char *const tools[] = {"fine", "fair", "rough"};
    static char given[MOST_GIVEN][48];
    size_t count = 0, doubtful = 0;
    char where[80];
    cw_model *model = engine_compile(set->yaml);
    checker *judge = checker_open_text(set->yaml);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    snprintf(where, sizeof where, "round %d", round);
    for (unsigned at = 0; at < set->count * MAX_THINGS * MAX_THINGS; at++) {
        const char *value;
        char *name = given[count];
        if (!rules_answer(set, random, at / (MAX_THINGS * MAX_THINGS), at / MAX_THINGS % MAX_THINGS,
                          at % MAX_THINGS, name, &value))
            continue;
        cr_assert(checker_answer(judge, name, value, tools[random_below(random, 3)]), "%s = %s", name, value);
        against_answer(chain, judge, name);
        count++;
        if (random_below(random, 4) == 0)
            change_unit(chain, judge, random);
        doubtful += look(chain, judge, where);
    }
    for (size_t i = 0; i < count; i += 2) {
        checker_withdraw(judge, given[i]);
        against_answer(chain, judge, given[i]);
        doubtful += look(chain, judge, where);
    }
    cw_chain_free(chain);
    checker_free(judge);
    cw_model_free(model);
    return doubtful;
}

Test(checker, random_packs_with_measures)
{
    static rule_set set;
    random_state random = random_start(7321);
    size_t doubtful = 0, formulas = 0;
    for (int round = 0; round < 300; round++) {
        rules_random(&set, &random, true);
        doubtful += run(&set, &random, round);
        for (unsigned i = 0; i < set.count; i++)
            formulas += set.predicates[i].worked_out;
    }
    cr_expect_gt(doubtful, 500u, "%zu doubtful facts", doubtful);
    cr_expect_gt(formulas, 50u, "%zu formulas", formulas);
}

/* --- every function of the bench over random readings --- */

/* How a dimension is declared and answered here. */
typedef struct reading_of {
    const char *dimension, *unit;
    double low, high;
    int decimals;
    const char *error; /* of the rougher tool */
} reading_of;

static const reading_of readings[] = {{"resistance", "ohm", -0.2, 6, 2, "0.05 ohm"},
                                      {"temperature", "degC", -50, 110, 0, "3 K"},
                                      {"voltage", "V", -0.5, 15, 2, "0.04 V"},
                                      {"current", "A", -5, 180, 0, "2 A"},
                                      {"area", "mm2", 0, 60, 1, "1 mm2"},
                                      {"length", "mm", 0, 60, 1, "0.2 mm"},
                                      {"speed", "rpm", -100, 9000, 0, "40 rpm"},
                                      {"number", "%", -20, 320, 0, "1 %"},
                                      {"frequency", "Hz", -10, 900, 0, "5 Hz"},
                                      {"charge", "Ah", -5, 100, 0, "2 Ah"},
                                      {"time", "d", 0, 1, 0, "1 d"}};

static const reading_of *reading_for(const char *dimension)
{
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++)
        if (strcmp(readings[i].dimension, dimension) == 0)
            return &readings[i];
    cr_assert_fail("no readings of %s", dimension);
    return NULL;
}

/* Where most numbers would be none: a value near one that is, in the reading's unit. */
static double near_one(random_state *random, const char *argument, double otherwise)
{
    static const struct {
        const char *name;
        double values[4], off;
    } known[] = {{"bore", {10, 17, 17, 25}, 0.3},         {"outside", {40, 40, 47, 52}, 0.3},
                 {"width", {12, 12, 14, 15}, 0.3},        {"bearing", {6203e2, 6305e2, 6001e2, 6299e2}, 0},
                 {"pairs", {600, 800, 100, 650}, 0},      {"gauge", {400, 1000, -200, 4100}, 50},
                 {"measured", {3.5, 2.4, 4.7, 3}, 0.2},   {"ratio", {250, 300, 200, -100}, 20},
                 {"cut_in", {1000, 1100, 1300, 7000}, 50}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        if (strcmp(known[i].name, argument) == 0)
            return known[i].values[random_below(random, 4)] + random_between(random, -1, 1) * known[i].off;
    return otherwise;
}

enum { FORMULA_TEXT = 1 << 16, MOST_ASKED = 120 };

typedef struct asked {
    char name[64], argument[32];
    const reading_of *reading;
} asked;

typedef struct bench_pack {
    char checks[FORMULA_TEXT], facts[FORMULA_TEXT], rules[FORMULA_TEXT], text[FORMULA_TEXT];
    asked asked[MOST_ASKED];
    size_t count;
} bench_pack;

/* Behind what stands in a text of FORMULA_TEXT bytes. */
static void add(char *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add(char *text, const char *format, ...)
{
    va_list arguments;
    const size_t size = strlen(text);
    va_start(arguments, format);
    cr_assert_lt(vsnprintf(text + size, FORMULA_TEXT - size, format, arguments), (int)(FORMULA_TEXT - size));
    va_end(arguments);
}

/* A check for every value the function takes, and a rule that calls it. */
static void add_function(bench_pack *pack, const cw_function *f)
{
    static char call[FORMULA_TEXT];
    char takes[200];
    call[0] = '\0';
    snprintf(takes, sizeof takes, "%s", f->takes);
    for (char *rest = takes, *one; (one = strtok_r(rest, ",", &rest)) != NULL;) {
        asked *next = &pack->asked[pack->count++];
        one += strspn(one, " ");
        const size_t length = strcspn(one, ":");
        snprintf(next->argument, sizeof next->argument, "%.*s", (int)length, one);
        snprintf(next->name, sizeof next->name, "%s_%.*s", f->name, (int)length, one);
        next->reading = reading_for(one + length + 2);
        add(pack->checks,
            "  %s: {title: t, ask: a, place: bench, minutes: 1, measure: %s, unit: \"%s\", range: -1e9 %s to "
            "1e9 %s, reading_error: {fine: 0 %s, rough: %s}}\n",
            next->name, next->reading->dimension, next->reading->unit, next->reading->unit,
            next->reading->unit, strcmp(next->reading->unit, "degC") == 0 ? "K" : next->reading->unit,
            next->reading->error);
        add(call, "%s%s", call[0] == '\0' ? "" : ", ", next->name);
    }
    add(pack->facts, "  result_%s: {title: t, measure: %s, unit: \"%s\"}\n", f->name, f->gives,
        reading_for(f->gives)->unit);
    add(pack->rules,
        "  rule_%s: {if: {none: {seen: no}}, then: {result_%s: \"= %s(%s)\"}, because: b, source: s}\n",
        f->name, f->name, f->name, call);
}

static void make_bench_pack(bench_pack *pack)
{
    for (const cw_function *f = cw_bench_functions(); f->name != NULL; f++)
        add_function(pack, f);
    add(pack->text, "pack: {name: bench, title: t, version: 1}\nchecks:\n  seen: {title: t, ask: a, place: "
                    "bench, minutes: 1}\n");
    add(pack->text, "%s", pack->checks);
    add(pack->text, "facts:\n%s", pack->facts);
    add(pack->text, "rules:\n%s", pack->rules);
}

static size_t count_results(const cw_chain *chain)
{
    const cw_model *model = cw_chain_model(chain);
    size_t count = 0;
    for (cw_fact_id f = 1; f <= model->facts_count; f++) {
        double number, error;
        count += model->facts[f].check == 0 && cw_chain_number(chain, f, &number, &error) == CW_KNOWN;
    }
    return count;
}

Test(checker, every_function_of_the_bench_over_random_readings, .timeout = 300)
{
    static bench_pack pack;
    make_bench_pack(&pack);
    random_state random = random_start(7322);
    cw_model *model = engine_compile(pack.text);
    checker *judge = checker_open_text(pack.text);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    size_t known = 0, rounds = 400;
    for (size_t round = 0; round < rounds; round++) {
        char where[40];
        snprintf(where, sizeof where, "round %zu", round);
        for (size_t i = 0; i < pack.count; i++) {
            const reading_of *reading = pack.asked[i].reading;
            char value[60];
            snprintf(value, sizeof value, "%.*f %s", reading->decimals,
                     near_one(&random, pack.asked[i].argument,
                              random_between(&random, reading->low, reading->high)),
                     reading->unit);
            cr_assert(
                checker_answer(judge, pack.asked[i].name, value, random_below(&random, 2) ? "fine" : "rough"),
                "%s = %s", pack.asked[i].name, value);
            against_answer(chain, judge, pack.asked[i].name);
        }
        checker_derive(judge);
        against_all(chain, judge, where);
        known += count_results(chain);
    }
    cr_expect(known > rounds * 8 && known < rounds * 27, "%zu results", known);
    cw_chain_free(chain);
    checker_free(judge);
    cw_model_free(model);
}

/* --- numbers and words read of random plates --- */

static const char plate_pack[] =
    "pack: {name: plates, title: t, version: 1}\n"
    "things:\n  end: [front, rear]\n"
    "checks:\n"
    "  plate: {title: t, ask: a, place: bench, minutes: 1, text: yes}\n"
    "  mark: {each: end, title: t, ask: a, place: bench, minutes: 1, text: yes}\n"
    "  rated: {title: t, ask: a, place: bench, minutes: 1, measure: current, unit: A, range: 20 A to 200 A, "
    "reading_error: 1 A}\n"
    "  heard: {title: t, ask: a, place: bench, minutes: 1}\n"
    "facts:\n"
    "  low: {title: t, measure: current, unit: A}\n"
    "  volts: {title: t, measure: voltage, unit: V}\n"
    "  bearing: {each: end, title: t, measure: number}\n"
    "  both: {title: t, measure: current, unit: A}\n"
    "  pairs: {title: t, count: 1 to 8}\n"
    "  turn: {title: t, choices: {clock_wise: runs right, anti_clock_wise: {title: runs left, also: [ccw, "
    "L]}}}\n"
    "  ground: {title: t}\n"
    "rules:\n"
    "  r1: {if: {plate: known}, then: {rated: {read: plate, like: '(\\d{1,3})\\s*A\\b', unit: A}}, because: "
    "b, "
    "source: s}\n"
    "  r2: {if: {none: {heard: yes}}, then: {rated: {read: plate, like: '/\\s*(\\d+ ?m?A)', unit: A}, low: "
    "{read: plate, like: '(\\d+)/', unit: A, range: 10 A to 60 A}}, because: b, source: s}\n"
    "  r3: {if: {plate: {like: 'V'}}, then: {volts: {read: plate, like: '([\\d.]+)\\s*V', unit: V}}, "
    "because: b, "
    "source: s}\n"
    "  r4: {each: end, if: {mark: known}, then: {bearing: {read: mark, like: '(\\d{4})'}}, because: b, "
    "source: "
    "s}\n"
    "  r5: {if: {rated: above 40 A}, then: {both: = rated + low, turn: {read: plate, like: "
    "'\\b(CW|CCW|L|runs right|anti.?clock.?wise)\\b'}}, because: b, source: s}\n"
    "  r6: {if: {plate: known}, then: {turn: {read: plate, like: '\\b(CW|R)(?=\\W|$)', means: {CW: "
    "clock_wise, "
    "R: clock_wise}}, pairs: {read: plate, like: '(\\d*)\\s?P'}, ground: {read: plate, like: "
    "'(?:isolated (yes|no)|P)'}}, because: b, source: s}\n";

static void random_plate(random_state *random, char *text, size_t room)
{
    static const char *const parts[] = {
        "14V", "28 V", "14.5V",      "90A",  "45/90A", "120 A",      "5/7mA",        "CW", "ccw",
        "L",   "R",    "6P",         "06 P", "9P",     "runs right", "isolated yes", "A",  "anti-clock wise",
        "V",   "P",    "isolated no"};
    size_t used = 0;
    text[0] = '\0';
    for (uint32_t i = 1 + random_below(random, 5); i > 0; i--)
        used += (size_t)snprintf(text + used, room - used, "%s ",
                                 parts[random_below(random, sizeof parts / sizeof *parts)]);
}

Test(checker, random_plates)
{
    static const char *const marks[] = {"6203-2RS", "x 6303", "99", "62 03", "B10-50D 6001"};
    random_state random = random_start(7323);
    cw_model *model = engine_compile(plate_pack);
    checker *judge = checker_open_text(plate_pack);
    cw_chain *chain;
    size_t known = 0, conflicts = 0;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    for (int round = 0; round < 1500; round++) {
        static const char *const names[] = {"plate", "mark[front]", "mark[rear]", "rated", "heard"};
        const uint32_t which = random_below(&random, 9);
        char text[200] = "75 A";
        const char *name = names[which < 5 ? which : 0];
        if (which == 0 || which > 4)
            random_plate(&random, text, sizeof text);
        else if (which < 3)
            strcpy(text, marks[random_below(&random, 5)]);
        else if (which == 4)
            strcpy(text, random_below(&random, 2) ? "yes" : "no");
        if (random_below(&random, 4) == 0)
            checker_withdraw(judge, name);
        else
            cr_assert(checker_answer(judge, name, text, NULL), "%s: %s", name, text);
        if (cw_chain_answered(chain, cw_model_fact(model, name)) != NULL ||
            checker_read(judge, name).kind != CHECKER_NOTHING)
            against_answer(chain, judge, name);
        checker_derive(judge);
        against_all(chain, judge, text);
        known += count_results(chain);
        conflicts += cw_chain_conflicts(chain, NULL, 0) > 0;
    }
    cr_expect_gt(known, 1500u, "%zu results", known);
    cr_expect_gt(conflicts, 100u, "%zu conflicts", conflicts);
    cw_chain_free(chain);
    checker_free(judge);
    cw_model_free(model);
}
