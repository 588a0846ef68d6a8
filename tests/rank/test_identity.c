/* Units against the formulas of the header, in long double: every way in which the groups of checks may have
 * been swapped, each with its chance, multiplied out and summed. */
#include "rank/identity.h"
#include "support/failing.h"
#include "world.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_UNITS 10
#define MOST_FACTS 8
#define GROUPS 3

static const char *const pattern_texts[] = {"^T9", "^T90", "Q", "7$", "X{2}"};
static const char *const stamped_texts[] = {"T907", "T95", "Q1", "ZZZ", "XX7", "q7", ""};

/* Those of one group share what group_shares says of it. */
static void random_shares(random_state *random, const double *group_shares, cw_check *check)
{
    check->swap_group = random_below(random, GROUPS + 1);
    check->swapped = random_below(random, 2) ? 0 : random_between(random, 0, 0.3);
    if (check->swap_group != 0)
        check->swapped = group_shares[check->swap_group];
    check->blunders = random_below(random, 2) ? 0 : random_between(random, 0, 0.1);
}

static cw_fact_id random_fact(random_state *random, cw_builder *builder, const double *group_shares,
                              uint32_t number)
{
    char name[16];
    cw_check check = {.minutes = 1, .range = {0, 200, false, false}};
    random_shares(random, group_shares, &check);
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
        patterns[i] = world_pattern(builder, pattern_texts[i]);
    const uint32_t facts = 1 + random_below(random, MOST_FACTS), units = 1 + random_below(random, MOST_UNITS);
    double group_shares[GROUPS + 1] = {0};
    for (int g = 1; g <= GROUPS; g++)
        group_shares[g] = random_below(random, 4) == 0 ? 0 : random_between(random, 0.01, 0.9);
    for (uint32_t i = 0; i < facts; i++)
        random_fact(random, builder, group_shares, i);
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

static long double text_stranger(const cw_model *model, const cw_evidence *e)
{
    for (cw_unit_id any = 1; any <= model->units_count; any++) {
        const cw_sign *sign = find_sign(model, any, e->fact);
        for (uint32_t i = 0; sign != NULL && i < sign->patterns.count; i++)
            if (text_matches(model, sign, i, e->text))
                return 0.01L;
    }
    return 0.99L;
}

/* What is spread over everything that is possible. */
static long double even(const cw_model *model, const cw_evidence *e)
{
    const cw_interval *range = &model->checks[model->facts[e->fact].check].range;
    if (e->text != NULL)
        return 0.5L;
    if (model->facts[e->fact].kind != CW_MEASURE)
        return 1.0L / model->facts[e->fact].values.count;
    const long double width = range->high - range->low;
    if (!e->between)
        return 1 / width;
    return (fminl(e->high, range->high) - fmaxl(e->low, range->low)) / width;
}

static long double by_sign(const cw_model *model, const cw_evidence *e, const cw_sign *sign)
{
    if (e->text != NULL) {
        long double best = -1, sum = 0;
        for (uint32_t i = 0; i < sign->patterns.count; i++) {
            sum += sign->chances[i];
            if (text_matches(model, sign, i, e->text) && sign->chances[i] > best)
                best = sign->chances[i];
        }
        return best >= 0 ? best : (1 - sum) * text_stranger(model, e);
    }
    if (model->facts[e->fact].kind != CW_MEASURE)
        return sign->chances[e->value];
    const long double sd = hypotl(sign->sd, e->error), z = (e->number - (long double)sign->mean) / sd;
    if (e->between) {
        const long double low = (e->low - (long double)sign->mean) / (sd * sqrtl(2));
        const long double high = (e->high - (long double)sign->mean) / (sd * sqrtl(2));
        return (low > 0 ? erfcl(low) - erfcl(high) : erfcl(-high) - erfcl(-low)) / 2;
    }
    return expl(-z * z / 2) / (sd * sqrtl(2 * acosl(-1)));
}

static long double average(const cw_model *model, const cw_evidence *e)
{
    long double sum = 0, weight = 0;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        const cw_sign *sign = find_sign(model, unit, e->fact);
        if (sign != NULL) {
            sum += model->units[unit].seen * by_sign(model, e, sign);
            weight += model->units[unit].seen;
        }
    }
    if (weight > 0)
        return sum / weight;
    return e->text != NULL ? text_stranger(model, e) : even(model, e);
}

/* P(what is seen | unit, swapped or not). */
static long double shown(const cw_model *model, const cw_evidence *e, cw_unit_id unit, bool swapped)
{
    const long double b = model->checks[model->facts[e->fact].check].blunders;
    const cw_sign *sign = find_sign(model, unit, e->fact);
    long double real = average(model, e);
    if (unit == 0)
        real = e->text != NULL ? text_stranger(model, e) : (real + even(model, e)) / 2;
    else if (!swapped && sign != NULL)
        real = by_sign(model, e, sign);
    else if (!swapped && e->text != NULL)
        real = text_stranger(model, e);
    return (1 - b) * real + b * even(model, e);
}

/* Which of the swaps a check hangs on: those of the groups first, then one for each fact. */
static uint32_t swap_of(const cw_model *model, cw_fact_id fact)
{
    const uint32_t group = model->checks[model->facts[fact].check].swap_group;
    return group != 0 ? group - 1 : GROUPS + fact - 1;
}

/* P(evidence | unit): over all sets of swaps, those of facts that nothing is known of left out. */
static long double likelihood(const cw_model *model, const cw_evidence *evidence, size_t count,
                              cw_unit_id unit)
{
    uint32_t told = 0;
    long double share[GROUPS + MOST_FACTS] = {0}, sum = 0;
    for (size_t i = 0; i < count; i++) {
        if (evidence[i].yields_to != 0)
            continue;
        const uint32_t swap = swap_of(model, evidence[i].fact);
        told |= 1u << swap;
        share[swap] = model->checks[model->facts[evidence[i].fact].check].swapped;
    }
    for (uint32_t set = 0; set < 1u << (GROUPS + MOST_FACTS); set++) {
        if ((set & ~told) != 0)
            continue;
        long double chance = 1;
        for (uint32_t k = 0; k < GROUPS + MOST_FACTS; k++)
            if (told >> k & 1)
                chance *= set >> k & 1 ? share[k] : 1 - share[k];
        for (size_t i = 0; i < count && chance > 0; i++)
            if (evidence[i].yields_to == 0)
                chance *= shown(model, &evidence[i], unit, set >> swap_of(model, evidence[i].fact) & 1);
        sum += chance;
    }
    return sum;
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
            next.between = random_below(random, 4) == 0;
            next.low = random_below(random, 3) == 0 ? -INFINITY : next.number - random_between(random, 1, 20);
            next.high = random_below(random, 3) == 0 ? INFINITY : next.number + random_between(random, 1, 20);
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
    return out * likelihood(model, evidence, count, unit);
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

/* The pieces that evidence[at] opens: of its group, or itself. None when it opens none. */
static size_t opened(const cw_model *model, const cw_evidence *evidence, size_t count, size_t at,
                     cw_evidence *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (evidence[i].yields_to == 0 &&
            swap_of(model, evidence[i].fact) == swap_of(model, evidence[at].fact)) {
            if (i < at)
                return 0;
            out[kept++] = evidence[i];
        }
    return evidence[at].yields_to == 0 ? kept : 0;
}

static void check_group(const cw_model *model, const cw_identity_tables *tables, const cw_evidence *evidence,
                        size_t count, size_t at)
{
    double logs[MOST_UNITS + 1], swapped[MOST_UNITS + 1], room[MOST_UNITS + 1];
    cw_evidence pieces[MOST_FACTS];
    const size_t piece_count = opened(model, evidence, count, at, pieces);
    const bool opens = cw_identity_log_likelihoods(tables, evidence, count, at, logs, swapped, room);
    cr_assert_eq(opens, piece_count > 0);
    size_t line = 0;
    for (cw_unit_id unit = 0; opens && unit <= model->units_count; unit++) {
        if (unit != 0 && !model->units[unit].version)
            continue;
        const long double want = likelihood(model, pieces, piece_count, unit);
        long double gone = cw_identity_swapped(tables, evidence[at].fact);
        for (size_t i = 0; i < piece_count; i++)
            gone *= shown(model, &pieces[i], unit, true);
        if (want > 1e-250L) {
            cr_assert_float_eq(logs[line], (double)logl(want), 1e-10);
            cr_assert_float_eq(swapped[line], unit == 0 ? 0 : (double)(gone / want), 1e-10);
        }
        line++;
    }
}

static void check_shown(const cw_model *model, const cw_identity_tables *tables, const cw_evidence *e)
{
    double own[MOST_UNITS + 1], swapped_in;
    size_t line = 0;
    cw_identity_shown(tables, e, own, &swapped_in);
    for (cw_unit_id unit = 0; unit <= model->units_count; unit++) {
        if (unit != 0 && !model->units[unit].version)
            continue;
        const double want = (double)shown(model, e, unit, false);
        cr_assert_float_eq(own[line], want, 1e-11 * want + 1e-15);
        line++;
        cr_assert(unit == 0 ||
                  fabs(swapped_in - (double)shown(model, e, unit, true)) <= 1e-11 * swapped_in + 1e-15);
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
        for (size_t i = 0; i < count; i++) {
            check_group(model, tables, evidence, count, i);
            check_shown(model, tables, &evidence[i]);
        }
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

/* The expected information of an answer, written out: what each answer makes of the beliefs, unit by unit. */
static double plain_gain(const cw_model *model, const cw_identity_tables *tables, cw_fact_id fact,
                         const double *chance)
{
    const uint32_t values = model->facts[fact].values.count;
    double bits = 0;
    for (uint32_t v = 0; v < values; v++) {
        double all = 0, joint[MOST_UNITS + 1], chances[WORLD_VALUES];
        uint32_t line = 0;
        for (cw_unit_id unit = 0; unit <= model->units_count; unit++) {
            if (unit != 0 && !model->units[unit].version)
                continue;
            cw_identity_chances(tables, fact, unit, cw_identity_swapped(tables, fact), chances);
            all += joint[line] = chance[line] * chances[v];
            line++;
        }
        for (uint32_t i = 0; i < line; i++)
            if (joint[i] > 0)
                bits += joint[i] * log2(joint[i] / all / chance[i]);
    }
    return bits;
}

Test(identity, a_column_tells_what_its_answers_tell)
{
    random_state random = random_start(23);
    for (int round = 0; round < 400; round++) {
        cw_model *model = random_model(&random, random_below(&random, 2));
        cw_identity_tables *tables;
        double chance[MOST_UNITS + 1], room[MOST_UNITS + 3], sum = 0;
        cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
        cr_assert_leq(cw_identity_widest(tables), MOST_UNITS + 2);
        for (int i = 0; i <= MOST_UNITS; i++)
            chance[i] = random_below(&random, 4) == 0 ? 0 : random_between(&random, 0, 1);
        for (uint32_t i = 0; i <= model->units_count - 2; i++)
            sum += chance[i];
        for (int i = 0; i <= MOST_UNITS && sum > 0; i++)
            chance[i] /= sum;
        for (cw_fact_id fact = 1; fact <= model->facts_count && sum > 0; fact++) {
            const bool column = model->facts[fact].values.count > 0 && model->facts[fact].unit_signs > 0;
            cr_assert_eq(cw_identity_column(tables, fact) > 0, column);
            if (column)
                cr_assert_float_eq(cw_identity_gain(tables, fact, chance, room),
                                   plain_gain(model, tables, fact, chance), 1e-13);
        }
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
                const double swapped = random_between(&random, 0, 1);
                cw_identity_chances(tables, fact, unit, swapped, chances);
                for (uint32_t v = 0; v < model->facts[fact].values.count; v++) {
                    const cw_evidence e = {.fact = fact, .value = v};
                    const long double want = (1 - (long double)swapped) * shown(model, &e, unit, false) +
                                             swapped * shown(model, &e, unit, true);
                    cr_assert_float_eq(chances[v], (double)want, 1e-14);
                    sum += chances[v];
                }
                cr_assert_float_eq(sum, 1, 1e-14);
            }
        cw_identity_tables_free(tables);
        cw_model_free(model);
    }
}

/* What is told apart by which came first would depend on how a person works through the checks. */
Test(identity, the_order_of_evidence_makes_no_odds)
{
    random_state random = random_start(24);
    for (int round = 0; round < 200; round++) {
        cw_model *model = random_model(&random, false);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, evidence);
        const cw_identity before = world_rank(model, evidence, count, arena);
        for (size_t i = count; i > 1; i--) {
            const size_t other = random_below(&random, (uint32_t)i);
            const cw_evidence moved = evidence[i - 1];
            evidence[i - 1] = evidence[other];
            evidence[other] = moved;
        }
        const cw_identity after = world_rank(model, evidence, count, arena);
        cr_assert_float_eq(after.not_listed, before.not_listed, 1e-13);
        for (uint32_t i = 0; i < after.count; i++)
            cr_assert_float_eq(after.probability[i], before.probability[i], 1e-13);
        cw_arena_free(arena);
        cw_model_free(model);
    }
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
