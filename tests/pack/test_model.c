/* What packs mean: the model that comes out, construct by construct, after rules/README.md. */
#include "help.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PACK "pack: {name: a, title: A, version: 1}\n"
#define P ", place: counter, minutes: 1}\n"
#define LAMP "  lamp: {title: Lamp, ask: L, choices: [off, glow, on]" P
#define SPACING                                                                                              \
    "  spacing: {title: S, ask: S, measure: length, unit: mm, range: 60 mm to 200 mm, reading_error: "       \
    "{tape: 1.5 mm, caliper: 0.2 mm}" P

static cw_model *made_of(compiled *made, const char *text)
{
    *made = compile_text(text);
    char *told = messages(made);
    cr_assert_eq(made->status, CW_OK, "%s", told);
    free(told);
    return made->model;
}

static const cw_sign *sign_of(const cw_model *model, cw_run signs, const char *fact)
{
    for (uint32_t i = 0; i < signs.count; i++)
        if (model->signs[signs.first + i].fact == cw_model_fact(model, fact))
            return &model->signs[signs.first + i];
    cr_assert_fail("no sign on %s", fact);
    return NULL;
}

static void chances_are(const double *found, const double *expected, int count)
{
    for (int i = 0; i < count; i++)
        cr_expect_float_eq(found[i], expected[i], 1e-12, "value %d: %.15g, not %.15g", i, found[i],
                           expected[i]);
}

Test(model, what_a_unit_leaves_open_is_shared_among_the_values_not_named)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "checks:\n" LAMP "  noise: {title: N, ask: N" P
        "units:\n  u:\n    title: U\n    source: s\n    versions:\n"
        "      a: {title: A, signs: {lamp: {glow: often}, noise: yes}}\n"
        "      b: {title: B, signs: {lamp: {off: rarely, glow: often, on: rarely}, noise: {no: 3 of 4}}}\n"
        "      c: {title: C, signs: {lamp: on}}\n");
    cw_run a = model->units[cw_model_unit(model, "a")].signs,
           b = model->units[cw_model_unit(model, "b")].signs;
    chances_are(sign_of(model, a, "lamp")->chances, (double[]){0.2, 0.6, 0.2}, 3);
    chances_are(sign_of(model, a, "noise")->chances, (double[]){0.02, 0.98}, 2);
    chances_are(sign_of(model, b, "lamp")->chances, (double[]){0.08 / 0.76, 0.6 / 0.76, 0.08 / 0.76}, 3);
    chances_are(sign_of(model, b, "noise")->chances, (double[]){0.75, 0.25}, 2);
    chances_are(sign_of(model, model->units[cw_model_unit(model, "c")].signs, "lamp")->chances,
                (double[]){0.01, 0.01, 0.98}, 3);
    compiled_free(&made);
}

Test(model, signs_and_source_are_handed_down_and_a_version_has_the_last_word)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "checks:\n" LAMP SPACING "units:\n  fam:\n    title: F\n    source: from the family\n    notes: n\n"
        "    signs: {lamp: {on: usually}, spacing: 100 mm +/- 1 mm}\n    frames:\n"
        "      big:\n        title: B\n        signs: {spacing: 150 mm +/- 3 mm}\n        versions:\n"
        "          one: {title: One, seen: 40, signs: {lamp: {off: always}}}\n"
        "          two: {title: Two, source: own, replaced_by: one}\n"
        "      small: {title: S, signs: {spacing: {around: 90 mm, sd: 0.4 mm}}}\n");
    const cw_unit *one = &model->units[cw_model_unit(model, "one")],
                  *two = &model->units[cw_model_unit(model, "two")];
    const cw_unit *small = &model->units[cw_model_unit(model, "small")],
                  *family = &model->units[cw_model_unit(model, "fam")];
    cr_expect(one->version && two->version && small->version && !family->version);
    cr_expect_eq(family->signs.count, 0u);
    cr_expect_str_eq(one->source, "from the family");
    cr_expect_str_eq(two->source, "own");
    cr_expect_eq(one->seen, 40.0);
    cr_expect_eq(two->seen, 1.0);
    cr_expect_eq(two->replaced_by, cw_model_unit(model, "one"));
    cr_expect_str_eq(model->units[one->parent].name, "big");
    cr_expect_eq(sign_of(model, one->signs, "lamp")->chances[0], 0.98);
    cr_expect_eq(sign_of(model, two->signs, "lamp")->chances[2], 0.85);
    cr_expect_float_eq(sign_of(model, one->signs, "spacing")->mean, 0.150, 1e-15);
    cr_expect_float_eq(sign_of(model, one->signs, "spacing")->sd, 0.0015, 1e-15);
    cr_expect_float_eq(sign_of(model, small->signs, "spacing")->mean, 0.090, 1e-15);
    cr_expect_float_eq(sign_of(model, small->signs, "spacing")->sd, 0.0004, 1e-15);
    cr_expect_str_eq(sign_of(model, two->signs, "spacing")->source, "from the family");
    compiled_free(&made);
}

Test(model, markings_come_alone_or_in_lists_and_equal_patterns_are_made_once)
{
    compiled made;
    cw_model *model =
        made_of(&made, PACK "checks: {mark: {title: M, ask: M, text: yes" P
                            "  }\nunits:\n  u:\n    title: U\n    source: s\n    versions:\n"
                            "      a: {title: A, signs: {mark: {like: '^T9', how_often: often}}}\n"
                            "      b: {title: B, signs: {mark: [{like: '^T9', how_often: rarely}, {like: X, "
                            "how_often: 1 of 2}]}}\n");
    cr_expect_eq(model->patterns_count, 2u);
    const cw_sign *b = sign_of(model, model->units[cw_model_unit(model, "b")].signs, "mark");
    cr_assert_eq(b->patterns.count, 2u);
    cr_expect_eq(b->chances[0], 0.08);
    cr_expect_eq(b->chances[1], 0.5);
    const cw_sign *a = sign_of(model, model->units[cw_model_unit(model, "a")].signs, "mark");
    cr_expect_eq(model->pattern_lists[a->patterns.first], model->pattern_lists[b->patterns.first]);
    compiled_free(&made);
}

Test(model, what_a_cause_leaves_open_is_the_normal_value)
{
    compiled made;
    cw_model *model =
        made_of(&made, PACK "parts: {p: {title: P, where: unit}}\nchecks:\n" LAMP
                            "  quiet: {title: Q, ask: Q, normal: yes, background: 5 of 100" P
                            "  gap: {title: G, ask: G, count: 0 to 3, normal: 2" P
                            "causes:\n  c: {title: C, part: p, seen: 6 of 100, source: s, signs: {lamp: "
                            "{glow: 1 of 4}, quiet: no, gap: {3: often}}}\n"
                            "  d: {title: D, part: p, seen: 1 %, source: s, because: b, shifts: [{if: {lamp: "
                            "on}, times: 1/4, because: x, source: y}], leads_to: {c: rarely}}\n");
    const cw_cause *c = &model->causes[cw_model_cause(model, "c")],
                   *d = &model->causes[cw_model_cause(model, "d")];
    chances_are(sign_of(model, c->signs, "lamp")->chances, (double[]){0.75, 0.25, 0}, 3);
    const cw_fact *quiet = &model->facts[cw_model_fact(model, "quiet")],
                  *gap = &model->facts[cw_model_fact(model, "gap")];
    cr_expect_str_eq(model->values[quiet->values.first].name, "yes");
    chances_are(quiet->background, (double[]){0.95, 0.05}, 2);
    chances_are(sign_of(model, c->signs, "quiet")->chances, (double[]){0.02, 0.98}, 2);
    static const int order[] = {2, 0, 1, 3};
    for (int i = 0; i < 4; i++)
        cr_expect_eq(model->values[gap->values.first + (uint32_t)i].number, order[i]);
    chances_are(sign_of(model, c->signs, "gap")->chances, (double[]){0.4, 0, 0, 0.6}, 4);
    cr_expect_eq(c->seen, 0.06);
    cr_expect_eq(model->shifts[d->shifts.first].times, 0.25);
    cr_expect_eq(model->shifts[d->shifts.first].atom,
                 cw_fact_value_atom(model, cw_model_fact(model, "lamp"), 2));
    cr_expect_eq(c->rank, d->rank + 1);
    cr_expect_eq(model->links[d->leads_to.first].chance, 0.08);
    compiled_free(&made);
}

Test(model, background_is_two_of_hundred_shared_unless_said)
{
    compiled made;
    cw_model *model =
        made_of(&made, PACK "checks:\n" LAMP "  shine: {title: S, ask: S, choices: {a: '', b: Bee, c: "
                            "{title: Sea, also: [x, y]}}, background: {c: 3 of 100}" P
                            "words: {w: {like: w, say: w, suggests: {lamp: on, shine: a}}}\n");
    chances_are(model->facts[cw_model_fact(model, "lamp")].background, (double[]){0.98, 0.01, 0.01}, 3);
    const cw_fact *shine = &model->facts[cw_model_fact(model, "shine")];
    chances_are(shine->background, (double[]){0.97, 0, 0.03}, 3);
    const cw_value *values = &model->values[shine->values.first];
    cr_expect_str_eq(values[0].title, "a");
    cr_expect_str_eq(values[1].title, "Bee");
    cr_expect_str_eq(values[2].title, "Sea");
    cr_expect_str_eq(model->words[values[2].also.first + 1], "y");
    cr_expect_eq(model->checks[cw_model_check(model, "lamp")].blunders, 0.02);
    compiled_free(&made);
}

Test(model, a_check_keeps_what_it_says)
{
    compiled made;
    cw_model *model =
        made_of(&made, "pack: {name: a, title: A, version: 3, not_listed: 1 of 10, blunders: 4 of 100}\n"
                       "cautions: {hot: {say: H, source: s}}\nchecks:\n" LAMP
                       "  volts: {title: V, ask: A, how: H, measure: voltage, unit: mV, range: 10 mV to 2 V, "
                       "reading_error: {b: 5 mV, a: 1 mV},\n"
                       "    place: [bench, vehicle], minutes: 2.5, stages: [proof, triage], only_if: {lamp: "
                       "on}, first_while: {lamp: glow}, cautions: hot, picture: p, source: s,\n"
                       "    swapped: 5 of 100, blunders: 0 %, context: yes}\n"
                       "rules: {r: {if: {volts: known}, then: {x: yes}, because: b, source: s}}\n");
    const cw_check *volts = &model->checks[cw_model_check(model, "volts")],
                   *lamp = &model->checks[cw_model_check(model, "lamp")];
    cr_expect_eq(volts->places, 1U << CW_AT_BENCH | 1U << CW_AT_VEHICLE);
    cr_expect_eq(volts->stages, 1U << CW_PROOF | 1U << CW_TRIAGE);
    cr_expect_eq(volts->minutes, 2.5);
    cr_expect_float_eq(volts->range.low, 0.01, 1e-15);
    cr_expect_float_eq(volts->range.high, 2, 1e-15);
    cr_assert_eq(volts->tools.count, 2u);
    cr_expect_str_eq(model->tools[volts->tools.first].name, "b");
    cr_expect_float_eq(model->tools[volts->tools.first].error, 0.005, 1e-15);
    cr_expect_eq(volts->only_if, cw_fact_value_atom(model, lamp->fact, 2));
    cr_expect_eq(volts->first_while, cw_fact_value_atom(model, lamp->fact, 1));
    cr_expect_eq(lamp->first_while, 0u);
    cr_expect_str_eq(model->cautions[model->caution_lists[volts->cautions.first]].name, "hot");
    cr_expect_eq(volts->swapped, 0.05);
    cr_expect_eq(volts->swap_group, 0u);
    cr_expect_eq(model->swap_groups_count, 0u);
    cr_expect_eq(volts->blunders, 0.0);
    cr_expect_eq(lamp->blunders, 0.04);
    cr_expect(model->facts[volts->fact].context);
    cr_expect_str_eq(model->facts[volts->fact].unit->symbol, "mV");
    cr_expect_eq(model->not_listed, 0.1);
    cr_expect_eq(model->packs[0].version, 3u);
    compiled_free(&made);
}

/* Groups are numbered in the order of the names of their checks; those of one `each` belong together as well.
 */
Test(model, checks_that_are_swapped_together)
{
    static const struct {
        const char *check;
        double swapped;
        uint32_t group;
    } want[] = {{"a", 0.04, 1}, {"b", 0.2, 2},     {"c", 0.2, 2},
                {"d", 0.2, 0},  {"e[x]", 0.04, 1}, {"e[y]", 0.04, 1}};
    compiled made;
    cw_model *model = made_of(
        &made, "pack: {name: a, title: A, version: 1}\nthings: {end: [x, y]}\nchecks:\n"
               "  e: {title: E, ask: E, each: end, place: counter, minutes: 1, swapped: {with: label, "
               "how_often: 4 %}}\n"
               "  d: {title: D, ask: D, place: counter, minutes: 1, swapped: 20 of 100}\n"
               "  c: {title: C, ask: C, place: counter, minutes: 1, swapped: {how_often: 1 of 5, with: "
               "pulley}}\n"
               "  b: {title: B, ask: B, place: counter, minutes: 1, swapped: {how_often: 20 of 100, "
               "with: pulley}}\n"
               "  a: {title: A, ask: A, place: counter, minutes: 1, swapped: {how_often: 4 of 100, "
               "with: label}}\n");
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        const cw_check *check = &model->checks[cw_model_check(model, want[i].check)];
        cr_expect_eq(check->swapped, want[i].swapped, "%s", want[i].check);
        cr_expect_eq(check->swap_group, want[i].group, "%s", want[i].check);
    }
    cr_expect_eq(model->swap_groups_count, 2u);
    compiled_free(&made);
}

Test(model, temperatures_have_errors_and_tolerances_in_steps)
{
    compiled made;
    cw_model *model = made_of(&made, PACK "checks:\n"
                                          "  case_temp: {title: T, ask: T, measure: temperature, unit: degC, "
                                          "range: -40 degC to 200 degC, reading_error: {a: 2 K, b: 9 degF}" P
                                          "  rise: {title: R, ask: R, measure: temperature_step, unit: K, "
                                          "range: 0 K to 100 K, reading_error: 1 K" P
                                          "units: {u: {title: U, source: s, signs: {case_temp: 90 degC +/- 4 "
                                          "K, rise: {around: 20 K, sd: 2 K}}}}\n");
    const cw_check *check = &model->checks[cw_model_check(model, "case_temp")];
    cr_expect_float_eq(check->range.low, 233.15, 1e-9);
    cr_expect_float_eq(model->tools[check->tools.first].error, 2, 1e-12);
    cr_expect_float_eq(model->tools[check->tools.first + 1].error, 5, 1e-12);
    const cw_sign *sign = sign_of(model, model->units[1].signs, "case_temp");
    cr_expect_float_eq(sign->mean, 363.15, 1e-9);
    cr_expect_float_eq(sign->sd, 2, 1e-12);
    cr_expect_float_eq(sign_of(model, model->units[1].signs, "rise")->mean, 20, 1e-12);
    compiled_free(&made);
}

Test(model, a_check_is_asked_where_its_answer_can_count)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK "parts: {p: {title: P, where: unit}}\nchecks:\n"
                    "  looks: {title: L, ask: L" P "  deep: {title: D, ask: D" P "  gate: {title: G, ask: G" P
                    "  burnt: {title: B, ask: B, only_if: {gate: yes}" P "  odds: {title: O, ask: O" P
                    "  both: {title: B, ask: B" P "  alone: {title: A, ask: A" P
                    "  said: {title: S, ask: S, stages: [proof]" P
                    "rules:\n  r: {if: {deep: yes}, then: {shape: yes}, because: b, source: s}\n"
                    "  t: {if: {shape: yes}, then: {kind: yes}, because: b, source: s}\n"
                    "  q: {if: {alone: yes, said: yes}, then: {nothing: yes}, because: b, source: s}\n"
                    "units: {u: {title: U, source: s, signs: {looks: yes, kind: yes, both: yes}}}\n"
                    "causes: {c: {title: C, part: p, seen: 1 %, source: s, signs: {burnt: yes, both: yes}, "
                    "shifts: [{if: {odds: yes}, times: 2}]}}\n");
    static const struct {
        const char *name;
        uint32_t stages;
    } expected[] = {{"looks", 1}, {"deep", 1}, {"gate", 2},   {"burnt", 2},
                    {"odds", 2},  {"both", 3}, {"alone", 15}, {"said", 8}};
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
        cr_expect_eq(model->checks[cw_model_check(model, expected[i].name)].stages, expected[i].stages, "%s",
                     expected[i].name);
    compiled_free(&made);
}

Test(model, facts_that_only_rules_speak_of)
{
    compiled made;
    cw_model *model =
        made_of(&made, PACK "checks:\n" LAMP "rules:\n"
                            "  a: {if: {lamp: on}, then: {state: worn, fine: no}, because: b, source: s}\n"
                            "  b: {if: {lamp: glow}, then: {state: burnt}, because: b, source: s}\n");
    const cw_fact *state = &model->facts[cw_model_fact(model, "state")],
                  *fine = &model->facts[cw_model_fact(model, "fine")];
    cr_expect_eq(state->kind, CW_CHOICE);
    cr_assert_eq(state->values.count, 2u);
    cr_expect_str_eq(model->values[state->values.first].name, "burnt");
    cr_expect_eq(fine->kind, CW_YES_OR_NO);
    cr_expect_eq(state->check, 0u);
    compiled_free(&made);
}

Test(model, every_value_that_a_sign_or_rule_speaks_of_has_its_atom)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK "facts: {shine: {title: S, choices: [a, b, c]}}\nchecks:\n" LAMP
                    "  noise: {title: N, ask: N" P "units: {u: {title: U, source: s, signs: {lamp: on}}}\n"
                    "rules: {r: {if: {noise: yes}, then: {shine: b}, because: b, source: s}}\n");
    for (uint32_t v = 0; v < 3; v++) {
        cr_expect_neq(cw_fact_value_atom(model, cw_model_fact(model, "lamp"), v), 0u);
        cr_expect_neq(cw_fact_value_atom(model, cw_model_fact(model, "shine"), v), 0u);
    }
    cr_expect_eq(cw_fact_value_atom(model, cw_model_fact(model, "noise"), 0), 0u, "only yes is spoken of");
    compiled_free(&made);
}

Test(model, formulas_read_facts_and_give_numbers)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "things: {w: [u, v]}\nfacts: {loss: {title: L, each: w, measure: voltage, unit: V}}\nchecks:\n"
        "  volts: {title: V, ask: V, each: w, measure: voltage, unit: V, range: 0 V to 20 V, "
        "reading_error: 0.1 V" P "  turns: {title: T, ask: T, count: 1 to 9" P
        "rules: {r: {each: w, if: {volts: known}, then: {loss: '= volts * turns - volts[v]'}, because: b, "
        "source: s}}\n");
    cr_assert_eq(model->rules_count, 2u);
    for (uint32_t r = 1; r <= 2; r++) {
        const cw_rule *rule = &model->rules[r];
        const uint32_t *inputs;
        cr_assert_eq(rule->head, 0u);
        bool first = strcmp(model->facts[rule->measure].name, "loss[u]") == 0;
        cr_assert_eq(cw_formula_inputs(rule->formula, &inputs), first ? 3u : 2u);
        cr_expect_str_eq(model->facts[inputs[0]].name, first ? "volts[u]" : "volts[v]");
        double values[] = {6, 2, 5}, errors[] = {0, 0, 0}, value, error;
        cr_assert(cw_formula_value(rule->formula, values, errors, &value, &error));
        cr_expect_eq(value, first ? 7.0 : 6.0);
    }
    compiled_free(&made);
}

/* A number read of a text keeps its pattern, unit and range; a word is told by a pattern for each value. */
Test(model, what_is_read_of_texts)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "things: {end: [front, rear]}\nfacts:\n  amps: {title: A, measure: current, unit: A}\n"
        "  bearing: {title: B, each: end, measure: number}\n  ribs: {title: R, count: 1 to 9}\nchecks:\n"
        "  plate: {title: V, ask: V, each: end, text: yes" P
        "  volts: {title: V, ask: V, measure: voltage, unit: V, range: 6 V to 30 V, reading_error: 0.1 V" P
        "rules: {r: {each: end, if: {plate: known}, then: {bearing: {read: plate, like: '(\\d{4})'}}, "
        "because: b, "
        "source: s}, q: {if: {'plate[rear]': known}, then: {amps: {read: 'plate[rear]', like: '(.*) A', "
        "unit: mA, "
        "range: 5 A to 9 A}, volts: {read: 'plate[front]', like: '(.*) V', unit: V}, ribs: {read: "
        "'plate[rear]', "
        "like: '(.*)PK', means: {six: 6, half: 3, dozen: 6}}}, because: b, source: s}}\n");
    size_t seen = 0, words = 0;
    for (uint32_t r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        const uint32_t *inputs;
        if (rule->reading == NULL) {
            words += rule->head != 0 && model->atoms[rule->head].kind == CW_ATOM_VALUE;
            continue;
        }
        seen++;
        cr_assert_eq(cw_formula_inputs(rule->formula, &inputs), 1u);
        const char *name = model->facts[rule->measure].name, *of = model->facts[inputs[0]].name;
        const cw_reading *reading = rule->reading;
        if (strcmp(name, "amps") == 0) {
            cr_expect_str_eq(of, "plate[rear]");
            cr_expect_str_eq(reading->unit->symbol, "mA");
            cr_expect(reading->range.low == 5 && reading->range.high == 9);
            cr_expect_str_eq(cw_pattern_text(model->patterns[reading->pattern]), "(.*) A");
        } else if (strcmp(name, "volts") == 0) {
            cr_expect_str_eq(of, "plate[front]");
            cr_expect(reading->range.low == 6 && reading->range.high == 30, "the check's own");
        } else {
            cr_expect_str_eq(of, strcmp(name, "bearing[rear]") == 0 ? "plate[rear]" : "plate[front]");
            cr_expect_null(reading->unit);
            cr_expect(isinf(reading->range.low) && isinf(reading->range.high));
        }
    }
    cr_expect_eq(seen, 4u);
    cr_expect_eq(words, 2u, "six and three");
    compiled_free(&made);
}

Test(model, an_entry_of_words_with_before_denies_and_suggests_nothing)
{
    compiled made;
    cw_model *model =
        made_of(&made, PACK "checks:\n" LAMP "words:\n"
                            "  denied: {before: 'no $'}\n"
                            "  dim: {like: dim, say: d, even_denied: yes, suggests: {lamp: glow}}\n"
                            "  glows: {like: glow, say: d, suggests: {lamp: glow}}\n");
    cr_assert_eq(model->hints_count, 3u);
    cr_expect_str_eq(cw_pattern_text(model->patterns[model->hints[1].before]), "no $");
    cr_expect_eq(model->hints[1].like, 0u);
    cr_expect_eq(model->hints[1].suggests.count, 0u);
    cr_expect(model->hints[2].even_denied);
    cr_expect_eq(model->hints[2].before, 0u);
    cr_expect_not(model->hints[3].even_denied);
    compiled_free(&made);
}

Test(model, words_suggest_answers)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "checks:\n" LAMP
        "words: {dim: {like: 'lamp.*dim', not_like: 'not dim', say: it is dim, suggests: {lamp: glow}}}\n");
    cr_assert_eq(model->hints_count, 1u);
    const cw_hint *hint = &model->hints[1];
    cr_expect_str_eq(hint->say, "it is dim");
    cr_expect_neq(hint->not_like, 0u);
    const cw_suggestion *suggestion = &model->suggestions[hint->suggests.first];
    cr_expect_eq(suggestion->check, cw_model_check(model, "lamp"));
    cr_expect_str_eq(suggestion->answer, "glow");
    compiled_free(&made);
}

/* Worked out with another program: name, NUL, eight bytes of length, content, in order of names. */
Test(model, a_pack_is_known_by_its_hash)
{
    cw_pack_file files[] = {{"x/b.yaml", "pack: {name: a, title: A, version: 1}\n", 38},
                            {"x/a.yaml", "words: {}\n", 10}};
    compiled made = compile_files(&cw_system_allocator, files, 2);
    cr_assert_eq(made.status, CW_OK);
    cr_expect_str_eq(made.model->packs[0].sha256,
                     "6b8e198c26efd0500ad5e09eb70b52820aa169fd26f2992392ec214818bc5afe");
    cr_expect_eq(made.model->not_listed, 0.05, "unless the header says it");
    compiled_free(&made);
}

Test(model, a_verdict_its_part_and_the_stages_of_what_feeds_it)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "checks:\n" LAMP
        "  ring: {title: R, ask: R, measure: length, unit: mm, range: 5 mm to 30 mm, reading_error: 0.01 mm, "
        "place: teardown, minutes: 1}\n"
        "  kind: {title: K, ask: K, choices: [copper, steel], place: counter, minutes: 1}\n"
        "  burnt: {title: B, ask: B, place: [bench, teardown], minutes: 1}\n"
        "  hot: {title: H, ask: H, only_if: {kind: copper}, place: bench, minutes: 1}\n"
        "  proof_only: {title: Q, ask: Q, stages: [proof], place: bench, minutes: 1}\n"
        "facts:\n  rings: {title: Rings, choices: {reuse: keep, rework: turn, replace: swap}, verdict_on: "
        "slip}\n"
        "rules:\n"
        "  r1: {if: {ring: below 14 mm}, then: {rings: replace}, because: b, source: s}\n"
        "  r2: {if: {ring: at least 14 mm, hot: yes}, then: {rings: rework}, because: b, source: s}\n"
        "  r3: {if: {proof_only: yes}, then: {rings: rework}, because: b, source: s}\n"
        "parts:\n  slip: {title: Slip, where: unit, cost: 12.50, replaced_by: zslip}\n"
        "  zslip: {title: Z, where: unit, always: yes}\n"
        "causes:\n  c: {title: C, part: slip, seen: 5 of 100, signs: {lamp: {on: often}, burnt: {yes: "
        "often}}, "
        "source: s}\n");
    const cw_fact *rings = &model->facts[cw_model_fact(model, "rings")];
    cr_assert_str_eq(model->parts[rings->verdict_on].name, "slip");
    cr_expect(rings->context, "no evidence");
    cr_expect_eq(rings->values.count, (uint32_t)CW_VERDICT_COUNT);
    cr_expect_str_eq(model->values[rings->values.first + CW_REPLACE].name, "replace");
    cr_expect_str_eq(model->values[rings->values.first + CW_REPLACE].title, "swap");
    cr_expect_eq(model->parts[rings->verdict_on].cost, 12.5);
    cr_expect_not(model->parts[rings->verdict_on].always);
    const cw_part *later = &model->parts[model->parts[rings->verdict_on].replaced_by];
    cr_expect_str_eq(later->name, "zslip");
    cr_expect(later->always);
    cr_expect_eq(later->cost, 0);
    cr_expect_eq(model->facts[cw_model_fact(model, "lamp")].verdict_on, 0u);
    const uint32_t triage = 1u << CW_TRIAGE, teardown = 1u << CW_TEARDOWN;
    cr_expect_eq(model->checks[cw_model_check(model, "ring")].stages, teardown);
    cr_expect_eq(model->checks[cw_model_check(model, "hot")].stages, teardown);
    cr_expect_eq(model->checks[cw_model_check(model, "kind")].stages, teardown,
                 "decides whether hot is asked");
    cr_expect_eq(model->checks[cw_model_check(model, "burnt")].stages, triage | teardown);
    cr_expect_eq(model->checks[cw_model_check(model, "lamp")].stages, triage, "not on the open unit");
    cr_expect_eq(model->checks[cw_model_check(model, "proof_only")].stages, 1u << CW_PROOF, "as it says");
    compiled_free(&made);
}

Test(model, lines_of_the_proof_sheet_and_the_checks_behind_them)
{
    compiled made;
    cw_model *model = made_of(
        &made, PACK
        "checks:\n"
        "  amps: {title: A, ask: A, measure: current, unit: A, range: 0 A to 300 A, reading_error: 1 A, "
        "place: bench, minutes: 1}\n"
        "  rated: {title: R, ask: R, measure: current, unit: A, range: 0 A to 300 A, reading_error: 0 A, "
        "place: counter, minutes: 1, context: yes}\n"
        "  pulley: {title: P, ask: P, choices: [solid, clutch], place: counter, minutes: 1}\n"
        "  turns: {title: T, ask: T, only_if: {pulley: clutch}, place: bench, minutes: 1}\n"
        "  kind: {title: K, ask: K, choices: [copper, steel], place: counter, minutes: 1}\n"
        "  lamp: {title: L, ask: L, place: vehicle, minutes: 1}\n"
        "facts:\n  share: {title: S, measure: number, unit: '%'}\n"
        "  full: {title: Full, choices: {pass: enough, fail: too little}, proof: 20}\n"
        "  free: {title: Free, choices: [pass, fail], proof: 7, needed: no, only_if: {kind: copper}}\n"
        "rules:\n"
        "  r0: {if: {amps: known}, then: {share: = amps / rated}, because: b, source: s}\n"
        "  r1: {if: {share: below 90 %}, then: {full: fail}, because: b, source: s}\n"
        "  r2: {if: {turns: no}, then: {free: pass}, because: b, source: s}\n"
        "parts:\n  slip: {title: Slip, where: unit}\n"
        "causes:\n  c: {title: C, part: slip, seen: 5 of 100, signs: {lamp: {yes: often}}, source: s}\n");
    const cw_fact *full = &model->facts[cw_model_fact(model, "full")];
    const cw_fact *free_ = &model->facts[cw_model_fact(model, "free")];
    cr_expect_eq(full->proof, 20u);
    cr_expect_not(full->optional);
    cr_expect(full->context, "no sign of anything");
    cr_expect_eq(free_->proof, 7u);
    cr_expect(free_->optional);
    cr_expect_eq(full->only_if, 0u);
    const cw_atom *only_if = &model->atoms[free_->only_if];
    cr_expect_eq(only_if->fact, cw_model_fact(model, "kind"));
    cr_expect_eq(model->facts[cw_model_fact(model, "share")].proof, 0u);
    const char *const proof[] = {"amps", "rated", "pulley", "turns", "kind"};
    for (size_t i = 0; i < 5; i++)
        cr_expect_eq(model->checks[cw_model_check(model, proof[i])].stages, 1u << CW_PROOF, "%s", proof[i]);
    cr_expect_eq(model->checks[cw_model_check(model, "lamp")].stages, 1u << CW_TRIAGE);
    compiled_free(&made);
}

Test(model, headings_in_their_order_and_what_stands_under_them)
{
    compiled made = compile_text(
        "pack: {name: a, title: A, version: 1}\n"
        "things: {phase: [u, v]}\n"
        "checks:\n"
        "  ribs: {title: Ribs, ask: How many?, count: 1 to 9, place: counter, minutes: 1}\n"
        "  ohms: {title: 'Ohms {phase}', ask: How many?, each: phase, place: counter, minutes: 1}\n"
        "  late: {title: Late, ask: Is it?, place: counter, minutes: 1, stages: [triage]}\n"
        "  feeds: {title: Feeds, ask: Does it?, place: counter, minutes: 1}\n"
        "facts:\n  kind: {title: Kind}\n"
        "rules: {r: {if: {feeds: yes}, then: {kind: yes}, because: b, source: s}}\n"
        "description:\n"
        "  abc: {title: Second, order: 20, facts: ['ohms[v]', ribs]}\n"
        "  zyx: {title: First, order: 3, facts: kind}\n"
        "  third: {title: Third, order: 20, facts: [late]}\n");
    cr_assert_eq(made.status, CW_OK);
    cr_expect_eq(cw_diags_count(made.diags), 0u, "what stands under a heading is used");
    const cw_model *model = made.model;
    cr_assert_eq(model->headings_count, 3u);
    cr_expect_str_eq(model->headings[1].name, "zyx");
    cr_expect_str_eq(model->headings[2].title, "Second");
    cr_expect_str_eq(model->headings[3].name, "third", "equal orders by name");
    cr_assert_eq(model->headings[2].facts.count, 2u);
    const uint32_t *lines = &model->heading_facts[model->headings[2].facts.first];
    cr_expect_eq(lines[0], cw_model_fact(model, "ohms[v]"));
    cr_expect_eq(lines[1], cw_model_fact(model, "ribs"));
    cr_expect_eq(model->checks[cw_model_check(model, "feeds")].stages, 1u << CW_IDENTIFY,
                 "what a line rests on counts at identify");
    cr_expect_eq(model->checks[cw_model_check(model, "late")].stages, 1u << CW_TRIAGE,
                 "stages that are said stay");
    compiled_free(&made);
}
