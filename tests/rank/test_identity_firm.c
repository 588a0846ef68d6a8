/* Firmness of units against every corner there is: each frequency of a small catalogue a word of the scale up
 * or down, the posteriors worked out by the formulas of identity.h. */
#include "rank/identity.h"
#include "rank/word.h"
#include "support/failing.h"
#include "world.h"
#include <math.h>
#include <string.h>

#define MOST_UNITS 3
#define MOST_FACTS 2
/* Frequencies: shares, not listed, swaps, blunders, and a sign of each unit on each fact. */
enum {
    AT_SHARE = 0,
    AT_UNLISTED = MOST_UNITS,
    AT_SWAP,
    AT_BLUNDERS = AT_SWAP + MOST_FACTS,
    AT_SIGN = AT_BLUNDERS + MOST_FACTS,
    FREQUENCIES = AT_SIGN + MOST_FACTS * MOST_UNITS
};
#define NO_SIGN UINT32_MAX

typedef enum shape { VALUE, SIZE, TEXT } shape;

typedef struct small {
    uint32_t units, facts;
    shape shapes[MOST_FACTS];
    bool together, inherited[MOST_FACTS];     /* one swap; the first two units' signs are their frame's */
    uint32_t sign_of[MOST_FACTS][MOST_UNITS]; /* which frequency, or NO_SIGN */
    bool matches[MOST_FACTS][MOST_UNITS];     /* texts */
    double density[MOST_FACTS][MOST_UNITS];   /* sizes */
    double frequency[FREQUENCIES];
    cw_evidence evidence[MOST_FACTS];
    cw_model *model;
} small;

/* -- A small catalogue -- */

static double some_frequency(random_state *random)
{
    static const double words[] = {0.01, 0.08, 0.3, 0.6, 0.85, 0.98};
    return random_below(random, 2) ? words[random_below(random, 6)] : random_between(random, 0.005, 0.995);
}

/* A rare one, none at all now and then. */
static double some_share(random_state *random, double most)
{
    return random_below(random, 3) == 0 ? 0 : random_between(random, 0.0001, most);
}

static cw_fact_id small_fact(random_state *random, cw_builder *builder, small *out, uint32_t i)
{
    char name[16];
    cw_check check = {.minutes = 1, .range = {0, 200, false, false}};
    out->shapes[i] = random_below(random, 4) < 2 ? VALUE : random_below(random, 2) ? SIZE : TEXT;
    check.swap_group = out->together ? 1 : 0;
    check.swapped = out->frequency[AT_SWAP + (out->together ? 0 : i)];
    check.blunders = out->frequency[AT_BLUNDERS + i];
    world_name(name, 'f', i);
    if (out->shapes[i] == VALUE) {
        out->evidence[i] = (cw_evidence){.fact = i + 1, .value = 1};
        return world_fact(builder, name, 3, NULL, &check);
    }
    const cw_fact_id fact = cw_builder_fact(
        builder, &(cw_fact){.name = name, .kind = out->shapes[i] == SIZE ? CW_MEASURE : CW_STAMPED}, NULL, 0,
        NULL);
    check.name = check.ask = check.title = name;
    check.fact = fact;
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    out->evidence[i] = (cw_evidence){.fact = fact, .number = 100, .error = 1};
    if (out->shapes[i] == TEXT)
        out->evidence[i] = (cw_evidence){.fact = fact, .text = "T90"};
    return fact;
}

/* What a unit says of the fact; *chances and *list are room for it. */
static cw_sign_spec small_sign(random_state *random, small *out, uint32_t fact, uint32_t unit,
                               const uint32_t *patterns, double *chances, uint32_t *list)
{
    const bool frames = out->inherited[fact] && unit < 2;
    const uint32_t says = AT_SIGN + fact * MOST_UNITS + (frames ? 0 : unit);
    const bool new = !frames || unit == 0;
    cw_sign_spec spec = {.sign = {.fact = fact + 1, .span = {1, says, says + 1}}};
    out->sign_of[fact][unit] = says;
    if (new)
        out->frequency[says] = some_frequency(random);
    const double chance = out->frequency[says];
    if (out->shapes[fact] == SIZE) {
        const double off = new ? random_between(random, 0, 8) : 0;
        spec.sign.kind = CW_SIGN_NORMAL;
        spec.sign.mean = 100 + off;
        spec.sign.sd = 1;
        out->density[fact][unit] = exp(-off * off / 4) / sqrt(4 * acos(-1));
        if (!new) {
            out->density[fact][1] = out->density[fact][0];
            spec.sign.mean = 100 + sqrt(-4 * log(out->density[fact][0] * sqrt(4 * acos(-1))));
        }
        return spec;
    }
    spec.sign.chances = chances;
    if (out->shapes[fact] == TEXT) {
        out->matches[fact][unit] = new ? random_below(random, 2) : out->matches[fact][0];
        *list = patterns[out->matches[fact][unit] ? 0 : 1];
        spec.sign.kind = CW_SIGN_PATTERNS;
        spec.patterns = list;
        spec.pattern_count = 1;
        chances[0] = chance;
        return spec;
    }
    chances[1] = chance;
    chances[0] = chances[2] = (1 - chance) / 2;
    return spec;
}

static small small_catalogue(random_state *random)
{
    small out = {.units = 2 + random_below(random, MOST_UNITS - 1),
                 .facts = 1 + random_below(random, MOST_FACTS),
                 .together = random_below(random, 2)};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const uint32_t patterns[] = {world_pattern(builder, "^T"), world_pattern(builder, "^Q")};
    for (uint32_t i = 0; i < MOST_FACTS; i++) {
        out.frequency[AT_SWAP + i] = some_share(random, 0.3);
        out.frequency[AT_BLUNDERS + i] = some_share(random, 0.02);
        out.inherited[i] = random_below(random, 2);
    }
    for (uint32_t i = 0; i < out.facts; i++)
        small_fact(random, builder, &out, i);
    double sum = 0, seen[MOST_UNITS];
    for (uint32_t u = 0; u < out.units; u++)
        sum += seen[u] = u == 0 ? random_between(random, 1, 400) : random_between(random, 1, 40);
    for (uint32_t u = 0; u < out.units; u++) {
        cw_sign_spec signs[MOST_FACTS];
        double chances[MOST_FACTS][WORLD_VALUES];
        uint32_t lists[MOST_FACTS], count = 0;
        char name[16];
        out.frequency[AT_SHARE + u] = seen[u] / sum;
        for (uint32_t i = 0; i < out.facts; i++) {
            out.sign_of[i][u] = NO_SIGN;
            if ((out.inherited[i] && u < 2) || random_below(random, 4) > 0) {
                signs[count] = small_sign(random, &out, i, u, patterns, chances[count], &lists[count]);
                count++;
            }
        }
        cw_builder_unit(
            builder,
            &(cw_unit){.name = world_name(name, 'u', u), .title = "unit", .seen = seen[u], .version = true},
            signs, count);
    }
    out.frequency[AT_UNLISTED] = random_between(random, 0.0001, 0.05);
    cw_builder_not_listed(builder, out.frequency[AT_UNLISTED]);
    out.model = world_finish(builder);
    return out;
}

/* -- The formulas, with any frequencies -- */

static double even_of(const small *of, uint32_t fact)
{
    return of->shapes[fact] == VALUE ? 1.0 / 3 : of->shapes[fact] == SIZE ? 1.0 / 200 : 0.5;
}

static double stranger_of(const small *of, uint32_t fact)
{
    for (uint32_t u = 0; u < of->units; u++)
        if (of->sign_of[fact][u] != NO_SIGN && of->matches[fact][u])
            return 0.01;
    return 0.99;
}

static double sign_shows(const small *of, const double *frequency, uint32_t fact, uint32_t unit)
{
    const double says = frequency[of->sign_of[fact][unit]];
    if (of->shapes[fact] == SIZE)
        return of->density[fact][unit];
    if (of->shapes[fact] == VALUE || of->matches[fact][unit])
        return says;
    return (1 - says) * stranger_of(of, fact);
}

static double average_of(const small *of, const double *frequency, uint32_t fact)
{
    double sum = 0, weight = 0;
    for (uint32_t u = 0; u < of->units; u++)
        if (of->sign_of[fact][u] != NO_SIGN) {
            sum += frequency[AT_SHARE + u] * sign_shows(of, frequency, fact, u);
            weight += frequency[AT_SHARE + u];
        }
    return weight > 0 ? sum / weight : of->shapes[fact] == TEXT ? stranger_of(of, fact) : even_of(of, fact);
}

static double mixed(const small *of, const double *frequency, uint32_t fact, double real)
{
    const double blunders = frequency[AT_BLUNDERS + fact];
    return (1 - blunders) * real + blunders * even_of(of, fact);
}

/* The products of identity.h over the facts from first on, before last; unit: of->units is "not listed". */
static double group_shows(const small *of, const double *frequency, uint32_t unit, uint32_t first,
                          uint32_t last)
{
    double built = 1, gone = 1;
    for (uint32_t i = first; i < last; i++) {
        const double average = average_of(of, frequency, i);
        double own = average;
        if (unit == of->units)
            own = of->shapes[i] == TEXT ? stranger_of(of, i) : average / 2 + even_of(of, i) / 2;
        else if (of->sign_of[i][unit] != NO_SIGN)
            own = sign_shows(of, frequency, i, unit);
        else if (of->shapes[i] == TEXT)
            own = stranger_of(of, i);
        built *= mixed(of, frequency, i, own);
        gone *= mixed(of, frequency, i, average);
    }
    const double swapped = unit == of->units ? 0 : frequency[AT_SWAP + first];
    return (1 - swapped) * built + swapped * gone;
}

static double weight_of(const small *of, const double *frequency, uint32_t unit)
{
    double out = unit == of->units ? frequency[AT_UNLISTED]
                                   : (1 - frequency[AT_UNLISTED]) * frequency[AT_SHARE + unit];
    if (of->together)
        return out * group_shows(of, frequency, unit, 0, of->facts);
    for (uint32_t i = 0; i < of->facts; i++)
        out *= group_shows(of, frequency, unit, i, i + 1);
    return out;
}

static uint32_t first_of(const small *of, const double *frequency)
{
    uint32_t first = 0;
    for (uint32_t u = 1; u <= of->units; u++)
        if (weight_of(of, frequency, u) > weight_of(of, frequency, first))
            first = u;
    return first;
}

static uint32_t used(const small *of, uint32_t *list)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < FREQUENCIES; i++) {
        bool counts = i < of->units || i == AT_UNLISTED;
        counts |= i >= AT_SWAP && i < AT_SWAP + (of->together ? 1 : of->facts);
        counts |= i >= AT_BLUNDERS && i < AT_BLUNDERS + of->facts;
        for (uint32_t k = 0; k < of->facts * MOST_UNITS; k++)
            counts |= k % MOST_UNITS < of->units && of->sign_of[k / MOST_UNITS][k % MOST_UNITS] == i &&
                      of->shapes[k / MOST_UNITS] != SIZE;
        if (counts && of->frequency[i] > 0)
            list[count++] = i;
    }
    return count;
}

/* Whether the first stays first in every corner. */
static bool stays_first(const small *of, uint32_t first)
{
    uint32_t list[FREQUENCIES];
    const uint32_t count = used(of, list);
    double off[2][FREQUENCIES], at[FREQUENCIES];
    for (uint32_t i = 0; i < FREQUENCIES; i++)
        for (int up = 0; up < 2; up++)
            off[up][i] = rank_word_off(of->frequency[i], up ? 1 : -1);
    memcpy(at, of->frequency, sizeof at);
    for (uint32_t corner = 0; corner < 1u << count; corner++) {
        for (uint32_t i = 0; i < count; i++)
            at[list[i]] = off[corner >> i & 1][list[i]];
        if (first_of(of, at) != first)
            return false;
    }
    return true;
}

/* -- Tests -- */

static bool firm(const small *of, const cw_identity_tables *tables, uint32_t first, uint32_t *rival)
{
    bool out;
    cw_unit_id other;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_identity_firm(tables, of->evidence, of->facts, first < of->units ? first + 1 : 0, arena,
                                  &out, &other),
                 CW_OK);
    cw_arena_free(arena);
    *rival = other == 0 ? of->units : other - 1;
    return out;
}

/* The formulas above are those of the room. */
static void check_formulas(const small *of, const cw_identity_tables *tables)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_identity got;
    double sum = 0;
    cr_assert_eq(cw_identity_rank(tables, of->evidence, of->facts, arena, &got), CW_OK);
    for (uint32_t u = 0; u <= of->units; u++)
        sum += weight_of(of, of->frequency, u);
    for (uint32_t i = 0; i < got.count; i++)
        cr_assert_float_eq(got.probability[i], weight_of(of, of->frequency, got.units[i] - 1) / sum, 1e-9);
    cw_arena_free(arena);
}

Test(identity_firm, what_is_firm_stays_first_in_every_corner)
{
    random_state random = random_start(71);
    int firm_ones = 0, missed = 0, moved = 0, unlisted = 0;
    for (int round = 0; round < 2000; round++) {
        small of = small_catalogue(&random);
        cw_identity_tables *tables;
        cr_assert_eq(cw_identity_tables_new(of.model, &cw_system_allocator, &tables), CW_OK);
        check_formulas(&of, tables);
        const uint32_t first = first_of(&of, of.frequency);
        uint32_t rival;
        const bool says = firm(&of, tables, first, &rival), stays = stays_first(&of, first);
        cr_assert(stays || !says, "round %d", round);
        cr_assert(says || rival != first, "round %d", round);
        firm_ones += says;
        missed += stays && !says;
        moved += !stays;
        unlisted += says && first == of.units;
        cw_identity_tables_free(tables);
        cw_model_free(of.model);
    }
    cr_assert_gt(firm_ones, 400, "%d", firm_ones);
    cr_assert_lt(missed, firm_ones / 3, "shown to hold where it does, most of the time: %d", missed);
    cr_assert_gt(moved, 500, "%d", moved);
    cr_assert_gt(unlisted, 20, "%d", unlisted);
}

/* Shares of 0.85 and 0.15 are at worst 0.60, a word down, and 0.43: 1.4 to 1. What both usually show (0.85),
 * as their frame does, goes up and down for both; said of each it is 0.60 for the one and 0.98 for the other:
 * 0.86 to 1. */
static void check_looks(bool inherited, bool want_firm, cw_unit_id want_rival)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = world_fact(builder, "looks", 2, NULL, NULL), .value = 1};
    const double chances[] = {0.15, 0.85};
    for (uint32_t u = 0; u < 2; u++) {
        const uint32_t where = inherited ? 1 : u + 1;
        const cw_sign_spec sign = {
            .sign = {.fact = seen.fact, .chances = chances, .span = {1, where, where + 1}}};
        const cw_unit unit = {
            .name = u == 0 ? "a" : "b", .title = "unit", .seen = u == 0 ? 85 : 15, .version = true};
        cw_builder_unit(builder, &unit, &sign, 1);
    }
    cw_builder_not_listed(builder, 0.0001);
    cw_model *model = world_finish(builder);
    cw_identity_tables *tables;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    bool firm;
    cw_unit_id rival;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_identity_firm(tables, &seen, 1, 1, arena, &firm, &rival), CW_OK);
    cw_arena_free(arena);
    cr_expect_eq(firm, want_firm);
    cr_expect_eq(rival, want_rival);
    cw_identity_tables_free(tables);
    cw_model_free(model);
}

Test(identity_firm, what_is_inherited_goes_up_and_down_for_both)
{
    check_looks(true, true, 0);
    check_looks(false, false, 2);
}

Test(identity_firm, every_allocation_may_fail)
{
    random_state random = random_start(5);
    small of = small_catalogue(&random);
    cw_identity_tables *tables;
    cr_assert_eq(cw_identity_tables_new(of.model, &cw_system_allocator, &tables), CW_OK);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        bool firm;
        cw_unit_id rival;
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            const cw_status status = cw_identity_firm(tables, of.evidence, of.facts, 1, arena, &firm, &rival);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        }
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    cw_identity_tables_free(tables);
    cw_model_free(of.model);
}
