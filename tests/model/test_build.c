/* What goes into the builder comes out of the model, sorted, indexed and complete. */
#include "base/arena.h"
#include "model/build.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static const cw_value_spec yes_or_no[] = {{.name = "no"}, {.name = "yes"}};

static cw_fact_id yes_fact(cw_builder *builder, const char *name)
{
    return cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_YES_OR_NO}, yes_or_no, 2, NULL);
}

static cw_model *finish(cw_builder *builder)
{
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cw_builder_free(builder);
    return model;
}

Test(build, an_empty_model_answers_every_look_up_with_none)
{
    cw_model *model = finish(cw_builder_new(&cw_system_allocator));
    cr_assert_eq(model->facts_count, 0u);
    cr_assert_eq(model->layers_count, 1u);
    cr_assert_eq(cw_model_fact(model, "lamp"), 0u);
    cr_assert_eq(cw_model_check(model, ""), 0u);
    cr_assert_eq(cw_model_unit(model, "lamp"), 0u);
    cr_assert_eq(cw_model_cause(model, "lamp"), 0u);
    cw_model_free(model);
}

Test(build, facts_keep_values_titles_words_and_background)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    static const char *const also[] = {"dim", "faint"};
    cw_value_spec values[] = {{.name = "off"},
                              {.name = "glow", .title = "glows dimly", .also = also, .also_count = 2},
                              {.name = "on"}};
    cw_fact_id lamp = cw_builder_fact(builder, &(cw_fact){.name = "lamp", .title = "Lamp", .kind = CW_CHOICE},
                                      values, 3, NULL);
    cw_fact_id noise = yes_fact(builder, "noise");
    cr_assert_eq(cw_builder_find_fact(builder, "lamp"), lamp);
    cr_assert_eq(cw_builder_find_fact(builder, "lam"), 0u);
    cr_assert_str_eq(cw_builder_value_at(builder, lamp, 2)->name, "on");
    cw_model *model = finish(builder);
    const cw_fact *fact = &model->facts[cw_model_fact(model, "lamp")];
    cr_assert_str_eq(fact->title, "Lamp");
    cr_assert_str_eq(model->facts[noise].title, "noise");
    cr_assert_eq(cw_fact_value(model, lamp, "glow"), 1u);
    cr_assert_eq(cw_fact_value(model, lamp, "gleam"), UINT32_MAX);
    const cw_value *glow = &model->values[fact->values.first + 1];
    cr_assert_str_eq(glow->title, "glows dimly");
    cr_assert_eq(glow->also.count, 2u);
    cr_assert_str_eq(model->words[glow->also.first + 1], "faint");
    cr_assert_str_eq(model->values[fact->values.first].title, "off");
    cr_assert_float_eq(fact->background[0], 0.98, 1e-15);
    cr_assert_float_eq(fact->background[1], 0.01, 1e-15);
    cr_assert_float_eq(fact->background[2], 0.01, 1e-15);
    cw_model_free(model);
}

Test(build, an_atom_is_made_once)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id noise = yes_fact(builder, "noise");
    cw_fact_id volts =
        cw_builder_fact(builder, &(cw_fact){.name = "volts", .kind = CW_MEASURE}, NULL, 0, NULL);
    cw_interval above = {0.5, INFINITY, true, false}, from = {0.5, INFINITY, false, false};
    cw_atom_id a = cw_builder_band_atom(builder, volts, above);
    cr_assert_neq(a, 0u);
    cr_assert_eq(cw_builder_band_atom(builder, volts, above), a);
    cr_assert_neq(cw_builder_band_atom(builder, volts, from), a);
    cr_assert_eq(cw_builder_band_atom(builder, volts, (cw_interval){0.0, 1, false, false}),
                 cw_builder_band_atom(builder, volts, (cw_interval){-0.0, 1, false, false}));
    cr_assert_eq(cw_builder_value_atom(builder, noise, 1), cw_builder_value_atom(builder, noise, 1));
    cr_assert_neq(cw_builder_value_atom(builder, noise, 1), cw_builder_value_atom(builder, noise, 0));
    cr_assert_eq(cw_builder_known_atom(builder, noise), cw_builder_known_atom(builder, noise));
    cr_assert_neq(cw_builder_known_atom(builder, noise), cw_builder_known_atom(builder, volts));
    cr_assert_neq(cw_builder_step(builder), cw_builder_step(builder));
    cw_model *model = finish(builder);
    cr_assert_eq(cw_fact_value_atom(model, noise, 2), 0u);
    cr_assert_eq(cw_fact_value_atom(model, volts, 0), 0u);
    cr_assert_eq(model->atoms[cw_fact_value_atom(model, noise, 1)].value, 1u);
    cr_assert_eq(model->facts[volts].atoms.count, 4u);
    cw_model_free(model);
}

Test(build, hundreds_of_bands_keep_apart)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id volts =
        cw_builder_fact(builder, &(cw_fact){.name = "volts", .kind = CW_MEASURE}, NULL, 0, NULL);
    cw_atom_id made[500];
    for (int i = 0; i < 500; i++)
        made[i] = cw_builder_band_atom(builder, volts, (cw_interval){i, INFINITY, false, false});
    for (int i = 0; i < 500; i++)
        cr_assert_eq(cw_builder_band_atom(builder, volts, (cw_interval){i, INFINITY, false, false}), made[i]);
    cw_model *model = finish(builder);
    cr_assert_eq(model->atoms_count, 500u);
    cr_assert_eq(model->atoms[made[499]].band.low, 499.0);
    cw_model_free(model);
}

Test(build, doubled_premises_are_dropped)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_atom_id a = cw_builder_value_atom(builder, yes_fact(builder, "a"), 1);
    cw_atom_id b = cw_builder_value_atom(builder, yes_fact(builder, "b"), 1);
    cw_premise premises[] = {{a, false}, {a, false}, {a, true}};
    cw_builder_rule(builder, b, premises, 3, 3, 0);
    cw_model *model = finish(builder);
    cr_assert_eq(model->rules[1].premises.count, 2u);
    cr_assert_eq(model->rules[1].need, 2u);
    cr_assert_eq(model->atoms[a].used_by.count, 1u, "one rule, though it holds the atom both ways");
    cw_model_free(model);
}

Test(build, doubled_premises_that_are_counted_count_through_steps)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_atom_id a = cw_builder_value_atom(builder, yes_fact(builder, "a"), 1);
    cw_atom_id b = cw_builder_value_atom(builder, yes_fact(builder, "b"), 1);
    cw_premise premises[] = {{a, false}, {b, false}, {a, false}};
    cw_atom_id head = cw_builder_value_atom(builder, yes_fact(builder, "c"), 1);
    cw_builder_rule(builder, head, premises, 3, 2, 0);
    cw_model *model = finish(builder);
    cr_assert_eq(model->atoms[head].concluded_by.count, 1u);
    const cw_rule *rule = &model->rules[model->concludes[model->atoms[head].concluded_by.first]];
    cr_assert_eq(rule->premises.count, 3u);
    cr_assert_eq(rule->need, 2u);
    int steps_on_a = 0;
    for (uint32_t i = 0; i < 3; i++) {
        const cw_atom *atom = &model->atoms[model->premises[rule->premises.first + i].atom];
        cr_assert_eq(atom->kind, CW_ATOM_STEP);
        cr_assert_eq(atom->concluded_by.count, 1u);
        const cw_rule *inner = &model->rules[model->concludes[atom->concluded_by.first]];
        cr_assert_eq(inner->premises.count, 1u);
        steps_on_a += model->premises[inner->premises.first].atom == a;
    }
    cr_assert_eq(steps_on_a, 2);
    cw_model_free(model);
}

Test(build, causes_come_by_rank_and_name_and_links_follow)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "P"});
    cw_cause_spec spec = {.cause = {.title = "", .source = "", .part = part}};
    spec.cause.name = "leaf";
    cw_cause_id leaf = cw_builder_cause(builder, &spec);
    spec.cause.name = "root";
    cw_cause_id root = cw_builder_cause(builder, &spec);
    spec.cause.name = "alone";
    cw_builder_cause(builder, &spec);
    cw_builder_leads_to(builder, root, leaf, 0.3);
    cw_model *model = finish(builder);
    cr_assert_str_eq(model->causes[1].name, "alone");
    cr_assert_str_eq(model->causes[2].name, "root");
    cr_assert_str_eq(model->causes[3].name, "leaf");
    cr_assert_eq(cw_model_cause(model, "leaf"), 3u);
    cr_assert_eq(model->causes[3].rank, 1u);
    cr_assert_eq(model->causes[2].leads_to.count, 1u);
    const cw_link *link = &model->links[model->causes[2].leads_to.first];
    cr_assert_eq(link->from, 2u);
    cr_assert_eq(link->to, 3u);
    cr_assert_eq(link->chance, 0.3);
    cw_model_free(model);
}

Test(build, causes_that_lead_to_each_other_are_a_circle)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    static const char *const names[] = {"a", "b", "c", "d"};
    cw_cause_id ids[4];
    for (int i = 0; i < 4; i++)
        ids[i] = cw_builder_cause(builder,
                                  &(cw_cause_spec){.cause = {.name = names[i], .title = "", .source = ""}});
    cw_builder_leads_to(builder, ids[0], ids[1], 0.5);
    cw_builder_leads_to(builder, ids[1], ids[2], 0.5);
    cw_builder_leads_to(builder, ids[2], ids[0], 0.5);
    cw_builder_leads_to(builder, ids[3], ids[3], 0.5);
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_BAD_INPUT);
    cr_assert_null(model);
    cr_assert_eq(circle.cause_count, 3u);
    for (uint32_t i = 0; i < 3; i++)
        cr_assert_eq(circle.causes[(i + 1) % 3], circle.causes[i] % 3 + 1, "each leads to the next");
    cr_assert_not_null(circle.next);
    cr_assert_eq(circle.next->cause_count, 1u);
    cr_assert_eq(circle.next->causes[0], ids[3]);
    cw_builder_free(builder);
}

/* The unit says that there is noise and that the lamp is off; in the other order than their facts stand. */
static void add_data(cw_builder *builder, cw_unit_id unit, cw_fact_id noise, cw_fact_id lamp)
{
    cw_fact_id which =
        cw_builder_fact(builder, &(cw_fact){.name = "unit", .kind = CW_WHICH_UNIT}, NULL, 0, NULL);
    if (which == 0 || unit == 0)
        return;
    uint32_t data[2] = {cw_builder_datum(builder, which, noise), cw_builder_datum(builder, which, lamp)};
    cw_builder_unit_atom(builder, which, unit);
    if (data[0] == 0 || data[1] == 0)
        return;
    cw_premise says = {cw_builder_datum_atom(builder, data[0]), false};
    cw_builder_rule(builder, cw_builder_value_atom(builder, noise, 1), &says, 1, 1, 0);
    says.atom = cw_builder_datum_atom(builder, data[1]);
    cw_builder_rule(builder, cw_builder_value_atom(builder, lamp, 0), &says, 1, 1, 0);
    cw_builder_unit_data(builder, unit, data, 2);
}

/* One of everything. */
static cw_status build_all(const cw_allocator *allocator, cw_model **out)
{
    cw_builder *builder = cw_builder_new(allocator);
    if (builder == NULL)
        return CW_NO_MEMORY;
    cw_fact_id lamp = yes_fact(builder, "lamp"), noise = yes_fact(builder, "noise"), text = 0;
    text = cw_builder_fact(builder, &(cw_fact){.name = "marking", .kind = CW_STAMPED}, NULL, 0, NULL);
    cw_pattern *pattern = NULL;
    size_t at;
    char words[64];
    if (cw_pattern_new(allocator, "t9", 2, &pattern, &at, words, sizeof words) != CW_OK) {
        cw_builder_free(builder);
        return CW_NO_MEMORY;
    }
    uint32_t like = cw_builder_pattern(builder, pattern);
    cw_caution_id caution =
        cw_builder_caution(builder, &(cw_caution){.name = "hot", .say = "Hot.", .source = "s"});
    uint32_t origin = cw_builder_origin(builder, &(cw_origin){.name = "r", .because = "b", .source = "s"});
    cw_premise premises[] = {{cw_builder_value_atom(builder, lamp, 1), false},
                             {cw_builder_like_atom(builder, text, like), true},
                             {cw_builder_known_atom(builder, lamp), false}};
    cw_builder_rule(builder, cw_builder_value_atom(builder, noise, 1), premises, 3, 3, origin);
    cw_builder_rule(builder, cw_builder_caution_atom(builder, caution), premises, 2, 1, origin);
    if (lamp != 0 && noise != 0 && text != 0) {
        cw_tool tool = {"eye", 0};
        cw_builder_check(builder, &(cw_check){.name = "lamp", .fact = lamp, .ask = "?", .title = "L"}, &tool,
                         1, &caution, 1);
        double chances[] = {0.25, 0.75}, often = 0.6;
        cw_sign_spec signs[] = {{.sign = {.fact = text, .kind = CW_SIGN_PATTERNS, .chances = &often},
                                 .patterns = &like,
                                 .pattern_count = 1},
                                {.sign = {.fact = lamp, .kind = CW_SIGN_VALUES, .chances = chances}}};
        cw_unit_id tern = cw_builder_unit(
            builder, &(cw_unit){.name = "tern", .title = "T", .version = true, .seen = 1}, signs, 2);
        add_data(builder, tern, noise, lamp);
        static const char *const steps[] = {"Look."};
        cw_cause_spec cause = {.cause = {.name = "worn", .title = "W", .source = "s"},
                               .signs = &signs[1],
                               .sign_count = 1,
                               .steps = steps,
                               .step_count = 1};
        cw_builder_cause(builder, &cause);
        cw_builder_hint(builder, &(cw_hint){.name = "h", .say = "x", .like = like},
                        &(cw_suggestion){1, "yes"}, 1);
    }
    cw_builder_pack(builder, &(cw_pack_info){.name = "p", .title = "P", .version = 1});
    cw_circle circle;
    cw_status status = cw_builder_finish(builder, out, &circle);
    cw_builder_free(builder);
    return status;
}

Test(build, signs_are_sorted_by_fact_and_keep_their_patterns)
{
    cw_model *model = NULL;
    cr_assert_eq(build_all(&cw_system_allocator, &model), CW_OK);
    const cw_unit *tern = &model->units[cw_model_unit(model, "tern")];
    cr_assert_eq(tern->signs.count, 2u);
    const cw_sign *first = &model->signs[tern->signs.first], *second = first + 1;
    cr_assert_eq(first->fact, cw_model_fact(model, "lamp"));
    cr_assert_eq(first->chances[1], 0.75);
    cr_assert_eq(second->kind, CW_SIGN_PATTERNS);
    cr_assert_eq(second->chances[0], 0.6);
    bool matched = false;
    cr_assert_eq(cw_pattern_match(model->patterns[model->pattern_lists[second->patterns.first]], "T9", 2,
                                  &matched, NULL, NULL),
                 CW_OK);
    cr_assert(matched);
    cr_assert_eq(model->facts[first->fact].check, cw_model_check(model, "lamp"));
    cr_assert_eq(model->atoms[model->cautions[1].atom].kind, CW_ATOM_CAUTION);
    cr_assert_eq(tern->data.count, 2u);
    cw_unit_id id = cw_model_unit(model, "tern");
    for (uint32_t i = 0; i < 2; i++) {
        uint32_t datum = model->unit_data[tern->data.first + i];
        cr_assert_eq(model->data[datum].fact, cw_model_fact(model, i == 0 ? "lamp" : "noise"));
        cr_assert_eq(cw_unit_datum(model, id, model->data[datum].fact), datum);
        cr_assert_eq(model->atoms[model->data[datum].atom].kind, CW_ATOM_DATUM);
        cr_assert_eq(model->atoms[model->data[datum].atom].value, datum);
    }
    cr_assert_eq(cw_unit_datum(model, id, cw_model_fact(model, "marking")), 0u);
    cr_assert_eq(cw_unit_datum(model, CW_NOT_LISTED, cw_model_fact(model, "lamp")), 0u);
    cw_model_free(model);
}

Test(build, every_request_for_memory_may_fail)
{
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_model *model = NULL;
        cw_status status = build_all(&memory.allocator, &model);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "with %zu requests granted", allowed);
        cr_assert_eq(model == NULL, status != CW_OK);
        cw_model_free(model);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
}

Test(build, a_single_failure_is_not_forgotten)
{
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start_once(&memory, allowed);
        cw_model *model = NULL;
        cw_status status = build_all(&memory.allocator, &model);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "request %zu refused", allowed);
        cw_model_free(model);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
}
