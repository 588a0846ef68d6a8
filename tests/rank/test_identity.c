/* Units against the formulas of the header, multiplied out plainly in long double. */
#include "rank/identity.h"
#include "support/failing.h"
#include "world.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_UNITS 10
#define MOST_FACTS 8

static const char *const pattern_texts[] = {"^T9", "^T90", "Q", "7$", "X{2}"};
static const char *const stamped_texts[] = {"T907", "T95", "Q1", "ZZZ", "XX7", "q7", ""};

static uint32_t add_pattern(cw_builder *builder, const char *text)
{
    cw_pattern *pattern;
    size_t offset;
    char message[80];
    cr_assert_eq(
        cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK);
    return cw_builder_pattern(builder, pattern);
}

static void random_shares(random_state *random, cw_check *check)
{
    check->swapped = random_below(random, 2) ? 0 : random_between(random, 0, 0.3);
    check->blunders = random_below(random, 2) ? 0 : random_between(random, 0, 0.1);
}

static cw_fact_id random_fact(random_state *random, cw_builder *builder, uint32_t number)
{
    char name[16];
    cw_check check = {.minutes = 1, .range = {0, 200, false, false}};
    random_shares(random, &check);
    world_name(name, 'f', number);
    const uint32_t kind = random_below(random, 4);
    if (kind < 2)
        return world_fact(builder, name, 2 + random_below(random, 4), NULL, &check);
    const cw_fact_id fact = cw_builder_fact(
        builder, &(cw_fact){.name = name, .kind = kind == 2 ? CW_MEASURE : CW_STAMPED}, NULL, 0, NULL);
    check.name = check.ask = check.title = name;
    check.fact = fact;
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    return fact;
}

/* A unit's random sign on a fact; `chances` and `lists` are room for it. */
static cw_sign_spec random_sign(random_state *random, const cw_builder *builder, cw_fact_id fact,
                                const uint32_t *patterns, double *chances, uint32_t *list)
{
    const cw_fact *of = cw_builder_fact_at(builder, fact);
    cw_sign_spec spec = {.sign = {.fact = fact}};
    if (of->kind == CW_MEASURE) {
        spec.sign.kind = CW_SIGN_NORMAL;
        spec.sign.mean = random_between(random, 10, 190);
        spec.sign.sd = random_between(random, 0.1, 3);
        return spec;
    }
    spec.sign.chances = chances;
    if (of->kind == CW_STAMPED) {
        spec.sign.kind = CW_SIGN_PATTERNS;
        spec.pattern_count = 1 + random_below(random, 2);
        spec.patterns = list;
        for (uint32_t i = 0; i < spec.pattern_count; i++) {
            list[i] = patterns[(random_below(random, 2) + 2 * i) % 5];
            chances[i] = random_between(random, 0, 0.5);
        }
        return spec;
    }
    world_chances(random, of->values.count, 0, chances);
    return spec;
}

static cw_model *random_model(random_state *random, bool all_signs)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    uint32_t patterns[5];
    for (int i = 0; i < 5; i++)
        patterns[i] = add_pattern(builder, pattern_texts[i]);
    const uint32_t facts = 1 + random_below(random, MOST_FACTS), units = 1 + random_below(random, MOST_UNITS);
    for (uint32_t i = 0; i < facts; i++)
        random_fact(random, builder, i);
    char name[16];
    const cw_unit_id frames[] = {
        cw_builder_unit(builder, &(cw_unit){.name = "frame_a", .title = "A"}, NULL, 0),
        cw_builder_unit(builder, &(cw_unit){.name = "frame_b", .title = "B", .parent = 1}, NULL, 0)};
    for (uint32_t i = 0; i < units; i++) {
        cw_sign_spec signs[MOST_FACTS];
        double chances[MOST_FACTS][WORLD_VALUES];
        uint32_t lists[MOST_FACTS][2], count = 0;
        for (cw_fact_id fact = 1; fact <= facts; fact++)
            if (all_signs || random_below(random, 4) > 0) {
                signs[count] = random_sign(random, builder, fact, patterns, chances[count], lists[count]);
                count++;
            }
        const cw_unit unit = {.name = world_name(name, 'u', i),
                              .title = "unit",
                              .parent = frames[random_below(random, 2)],
                              .seen = 1 + random_below(random, 50),
                              .version = true};
        cw_builder_unit(builder, &unit, signs, count);
    }
    cw_builder_not_listed(builder, random_between(random, 0.01, 0.2));
    return world_finish(builder);
}

/* -- The reference -- */

static const cw_sign *find_sign(const cw_model *model, cw_unit_id unit, cw_fact_id fact)
{
    for (uint32_t i = 0; unit != 0 && i < model->units[unit].signs.count; i++)
        if (model->signs[model->units[unit].signs.first + i].fact == fact)
            return &model->signs[model->units[unit].signs.first + i];
    return NULL;
}

static bool text_matches(const cw_model *model, const cw_sign *sign, uint32_t i, const char *text)
{
    bool matched = false;
    cw_pattern_match(model->patterns[model->pattern_lists[sign->patterns.first + i]], text, strlen(text),
                     &matched, NULL, NULL);
    return matched;
}

static long double average(const cw_model *model, cw_fact_id fact, uint32_t value)
{
    long double sum = 0, weight = 0;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        const cw_sign *sign = find_sign(model, unit, fact);
        if (sign != NULL) {
            sum += model->units[unit].seen * (long double)sign->chances[value];
            weight += model->units[unit].seen;
        }
    }
    return weight > 0 ? sum / weight : 1.0L / model->facts[fact].values.count;
}

static long double text_own(const cw_model *model, const cw_evidence *e, cw_unit_id unit, long double *c)
{
    *c = 0.99L;
    for (cw_unit_id any = 1; any <= model->units_count; any++) {
        const cw_sign *sign = find_sign(model, any, e->fact);
        for (uint32_t i = 0; sign != NULL && i < sign->patterns.count; i++)
            if (text_matches(model, sign, i, e->text))
                *c = 0.01L;
    }
    const cw_sign *sign = find_sign(model, unit, e->fact);
    if (sign == NULL)
        return *c;
    long double best = -1, sum = 0;
    for (uint32_t i = 0; i < sign->patterns.count; i++) {
        sum += sign->chances[i];
        if (text_matches(model, sign, i, e->text) && sign->chances[i] > best)
            best = sign->chances[i];
    }
    return best >= 0 ? best : (1 - sum) * *c;
}

static long double likelihood(const cw_model *model, const cw_evidence *e, cw_unit_id unit)
{
    const cw_check *check = &model->checks[model->facts[e->fact].check];
    const long double s = check->swapped, b = check->blunders;
    const cw_sign *sign = find_sign(model, unit, e->fact);
    if (e->text != NULL) {
        long double c;
        const long double own = text_own(model, e, unit, &c);
        return (1 - b) * ((1 - s) * own + s * c) + b / 2;
    }
    if (model->facts[e->fact].kind == CW_MEASURE) {
        const long double w = check->range.high - check->range.low;
        if (sign == NULL)
            return 1 / w;
        const long double sd = hypotl(sign->sd, e->error), z = (e->number - (long double)sign->mean) / sd;
        const long double own = expl(-z * z / 2) / (sd * sqrtl(2 * acosl(-1)));
        return (1 - b) * ((1 - s) * own + s / w) + b / w;
    }
    const long double n = model->facts[e->fact].values.count, avg = average(model, e->fact, e->value);
    const long double own = unit == 0 ? avg / 2 + 1 / (2 * n) : sign != NULL ? sign->chances[e->value] : avg;
    return (1 - b) * ((1 - s) * own + s * avg) + b / n;
}

static size_t random_evidence(random_state *random, const cw_model *model, cw_evidence *out)
{
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        if (random_below(random, 4) == 0)
            continue;
        cw_evidence next = {.fact = fact, .yields_to = random_below(random, 8) == 0};
        if (model->facts[fact].kind == CW_MEASURE) {
            next.number = random_between(random, 0, 200);
            next.error = random_between(random, 0, 2);
        } else if (model->facts[fact].kind == CW_STAMPED) {
            next.text = stamped_texts[random_below(random, 7)];
        } else {
            next.value = random_below(random, model->facts[fact].values.count);
        }
        out[count++] = next;
    }
    return count;
}

/* Unnormalised posterior of a version, or of "not listed" for 0. */
static long double posterior(const cw_model *model, const cw_evidence *evidence, size_t count,
                             cw_unit_id unit)
{
    long double seen = 0;
    for (cw_unit_id any = 1; any <= model->units_count; any++)
        seen += model->units[any].version ? model->units[any].seen : 0;
    long double out = unit == 0 ? (long double)model->not_listed
                                : (1 - (long double)model->not_listed) * model->units[unit].seen / seen;
    for (size_t i = 0; i < count; i++)
        if (evidence[i].yields_to == 0)
            out *= likelihood(model, &evidence[i], unit);
    return out;
}

static void check_ranking(const cw_model *model, const cw_evidence *evidence, size_t count,
                          const cw_identity *got)
{
    long double sum = posterior(model, evidence, count, 0);
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++)
        sum += model->units[unit].version ? posterior(model, evidence, count, unit) : 0;
    double total = got->not_listed;
    cr_assert_float_eq(got->not_listed, (double)(posterior(model, evidence, count, 0) / sum), 1e-12);
    for (uint32_t i = 0; i < got->count; i++) {
        const long double want = posterior(model, evidence, count, got->units[i]) / sum;
        cr_assert_float_eq(got->probability[i], (double)want, 1e-12);
        cr_assert(i == 0 || got->probability[i - 1] >= got->probability[i]);
        total += got->probability[i];
    }
    cr_assert_float_eq(total, 1, 1e-14);
}

static void check_likelihoods(const cw_model *model, const cw_identity_tables *tables, const cw_evidence *e)
{
    double logs[MOST_UNITS + 1];
    size_t line = 0;
    cw_identity_log_likelihoods(tables, e, logs);
    for (cw_unit_id unit = 0; unit <= model->units_count; unit++) {
        if (unit != 0 && !model->units[unit].version)
            continue;
        const long double want = likelihood(model, e, unit);
        if (want > 1e-250L) {
            cr_assert_float_eq(cw_identity_likelihood(tables, e, unit) / (double)want, 1, 1e-11);
            cr_assert_float_eq(logs[line], (double)logl(want), 1e-11);
        }
        line++;
    }
}

Test(identity, equals_the_formulas)
{
    random_state random = random_start(21);
    for (int round = 0; round < 400; round++) {
        cw_model *model = random_model(&random, false);
        cw_identity_tables *tables;
        cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, evidence);
        cw_identity got;
        cr_assert_eq(cw_identity_rank(tables, evidence, count, arena, &got), CW_OK);
        check_ranking(model, evidence, count, &got);
        for (size_t i = 0; i < count; i++)
            check_likelihoods(model, tables, &evidence[i]);
        double all = 0;
        for (cw_unit_id unit = 1; unit <= 2; unit++)
            cr_assert_leq(cw_identity_below(model, &got, unit), 1 - got.not_listed + 1e-12);
        for (uint32_t i = 0; i < got.count; i++)
            all += cw_identity_below(model, &got, got.units[i]);
        cr_assert_float_eq(all, cw_identity_below(model, &got, 1), 1e-12,
                           "frame a holds frame b holds the rest");
        cw_arena_free(arena);
        cw_identity_tables_free(tables);
        cw_model_free(model);
    }
}

/* Whatever a check can give, its chances sum to 1, for listed units and for the unlisted one. */
Test(identity, chances_are_distributions)
{
    random_state random = random_start(22);
    for (int round = 0; round < 200; round++) {
        cw_model *model = random_model(&random, false);
        cw_identity_tables *tables;
        cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
        for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
            for (cw_unit_id unit = 0; unit <= model->units_count; unit++) {
                if (model->facts[fact].values.count == 0 || (unit != 0 && !model->units[unit].version))
                    continue;
                double chances[WORLD_VALUES], sum = 0;
                cw_identity_chances(tables, fact, unit, chances);
                for (uint32_t v = 0; v < model->facts[fact].values.count; v++) {
                    const cw_evidence e = {.fact = fact, .value = v};
                    cr_assert_float_eq(chances[v], (double)likelihood(model, &e, unit), 1e-14);
                    sum += chances[v];
                }
                cr_assert_float_eq(sum, 1, 1e-14);
            }
        cw_identity_tables_free(tables);
        cw_model_free(model);
    }
}

static cw_identity rank_one(const cw_model *model, const cw_evidence *evidence, size_t count, cw_arena *arena)
{
    cw_identity_tables *tables;
    cw_identity got;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    cr_assert_eq(cw_identity_rank(tables, evidence, count, arena, &got), CW_OK);
    cw_identity_tables_free(tables);
    return got;
}

/* Two versions with a colour and a size. */
static cw_model *two_units(double first_seen, double second_seen, double blunders)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_check check = {.blunders = blunders};
    const cw_fact_id colour = world_fact(builder, "colour", 3, NULL, &check);
    const cw_fact_id size =
        cw_builder_fact(builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_check measured = {
        .name = "size", .fact = size, .range = {0, 100, false, false}, .minutes = 1, .blunders = blunders};
    cw_builder_check(builder, &measured, NULL, 0, NULL, 0);
    const double a[] = {0.9, 0.1, 0}, b[] = {0.2, 0.8, 0};
    const cw_sign_spec of_a[] = {{.sign = {.fact = colour, .chances = a}},
                                 {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 40, .sd = 1}}};
    const cw_sign_spec of_b[] = {{.sign = {.fact = colour, .chances = b}},
                                 {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 60, .sd = 1}}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = first_seen, .version = true},
                    of_a, 2);
    cw_builder_unit(builder,
                    &(cw_unit){.name = "plover", .title = "Plover", .seen = second_seen, .version = true},
                    of_b, 2);
    cw_builder_not_listed(builder, 0.05);
    return world_finish(builder);
}

/* 3 to 1 before, colour v1 at 0.1 against 0.8; not listed: average of v1 (3 * 0.1 + 0.8) / 4 = 0.275, so
 * 0.275 / 2 + 1 / 6. */
Test(identity, two_units_by_hand)
{
    cw_model *model = two_units(30, 10, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = cw_model_fact(model, "colour"), .value = 1};
    const cw_identity got = rank_one(model, &seen, 1, arena);
    const double tern = 0.95 * 0.75 * 0.1, plover = 0.95 * 0.25 * 0.8, other = 0.05 * (0.1375 + 1.0 / 6);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cr_assert_float_eq(got.probability[0], plover / (tern + plover + other), 1e-15);
    cr_assert_float_eq(got.probability[1], tern / (tern + plover + other), 1e-15);
    cr_assert_float_eq(got.not_listed, other / (tern + plover + other), 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity, alike_units_stand_by_seen_then_by_id)
{
    cw_model *model = two_units(10, 30, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_identity got = rank_one(model, NULL, 0, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cw_model_free(model);
    model = two_units(10, 10, 0);
    got = rank_one(model, NULL, 0, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "tern"));
    cr_assert(got.probability[0] == got.probability[1]);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity, not_listed_rises_when_nothing_fits)
{
    cw_model *model = two_units(10, 10, 0.02);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_fact_id size = cw_model_fact(model, "size");
    const cw_evidence fits = {.fact = size, .number = 40.5, .error = 0.2};
    const cw_evidence strange = {.fact = size, .number = 50, .error = 0.2};
    const cw_evidence both[] = {strange, {.fact = cw_model_fact(model, "colour"), .value = 2}};
    const double before = rank_one(model, NULL, 0, arena).not_listed;
    const double fitting = rank_one(model, &fits, 1, arena).not_listed;
    const double once = rank_one(model, &strange, 1, arena).not_listed;
    const double twice = rank_one(model, both, 2, arena).not_listed;
    cr_assert_lt(fitting, before);
    cr_assert_gt(once, 10 * before);
    cr_assert_gt(twice, once);
    cr_assert_gt(twice, 0.95);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* 3,000 standard deviations off: the density is no double any more, its logarithm is. */
Test(identity, far_out_the_nearer_unit_still_leads)
{
    cw_model *model = two_units(10, 10, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence far = {.fact = cw_model_fact(model, "size"), .number = 3060};
    const cw_evidence near = {.fact = far.fact, .number = 40};
    cw_identity got = rank_one(model, &near, 1, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "tern"));
    got = rank_one(model, &far, 1, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cr_assert_float_eq(got.not_listed, 1, 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity, evidence_that_nothing_allows_leaves_the_shares)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id colour = world_fact(builder, "colour", 2, NULL, NULL);
    const double only_first[] = {1, 0};
    const cw_sign_spec sign = {.sign = {.fact = colour, .chances = only_first}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 3, .version = true}, &sign,
                    1);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    &sign, 1);
    cw_builder_not_listed(builder, 0);
    cw_model *model = world_finish(builder);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = colour, .value = 1};
    const cw_identity got = rank_one(model, &seen, 1, arena);
    cr_assert_float_eq(got.probability[0], 0.75, 1e-15);
    cr_assert_float_eq(got.probability[1], 0.25, 1e-15);
    cr_assert_eq(got.not_listed, 0.0);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* Nobody has ever counted: all alike. */
Test(identity, units_never_seen_share_alike)
{
    cw_model *model = two_units(0, 0, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = cw_model_fact(model, "colour"), .value = 1};
    cw_identity got = rank_one(model, NULL, 0, arena);
    cr_assert_float_eq(got.probability[0], 0.475, 1e-15);
    cr_assert_float_eq(got.probability[1], 0.475, 1e-15);
    got = rank_one(model, &seen, 1, arena); /* the average of 0.1 and 0.8 is 0.45 */
    const double other = 0.05 * (0.45 / 2 + 1.0 / 6);
    cr_assert_float_eq(got.not_listed, other / (0.475 * 0.9 + other), 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* A size without a range (which no pack has), and one that is exact: nothing divides by 0. */
Test(identity, sizes_without_a_range_or_without_a_tolerance)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id size =
        cw_builder_fact(builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    cw_builder_check(builder, &(cw_check){.name = "size", .fact = size, .minutes = 1}, NULL, 0, NULL, 0);
    const cw_sign_spec exact = {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 40}};
    const cw_sign_spec loose = {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 60, .sd = 5}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, &exact,
                    1);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    &loose, 1);
    cw_builder_not_listed(builder, 0.05);
    cw_model *model = world_finish(builder);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence on = {.fact = size, .number = 40}, off = {.fact = size, .number = 41};
    const cw_identity fits = rank_one(model, &on, 1, arena), misses = rank_one(model, &off, 1, arena);
    cr_assert_eq(fits.units[0], cw_model_unit(model, "tern"));
    cr_assert_gt(fits.probability[0], 0.999);
    cr_assert_eq(misses.units[0], cw_model_unit(model, "plover"));
    /* The units span 40 to 60 + 4 * 5, so a stranger's density is 1 / 40. */
    const double plover = 0.475 * exp(-0.5 * 19 * 19 / 25.0) / (5 * sqrt(2 * acos(-1))), other = 0.05 / 40;
    cr_assert_float_eq(misses.not_listed, other / (plover + other), 1e-12);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity, without_versions_everything_is_unlisted)
{
    cw_model *model = world_finish(cw_builder_new(&cw_system_allocator));
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_identity got = rank_one(model, NULL, 0, arena);
    cr_assert_eq(got.count, 0u);
    cr_assert_eq(got.not_listed, 1.0);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity, every_allocation_may_fail)
{
    random_state random = random_start(23);
    cw_model *model = random_model(&random, true);
    cw_evidence evidence[MOST_FACTS];
    const size_t count = random_evidence(&random, model, evidence);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_identity_tables *tables = NULL;
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            cw_identity got;
            cw_status status = cw_identity_tables_new(model, &memory.allocator, &tables);
            if (status == CW_OK)
                status = cw_identity_rank(tables, evidence, count, arena, &got);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        }
        cw_identity_tables_free(tables);
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    cw_model_free(model);
}
