/* The two products that enclose a left-out finding, set by set; and two draws joined, state by state. */
#include "rank/bounds.h"
#include "rank/sweep_inside.h"
#include "world.h"
#include <math.h>

enum { CAUSES = 5 };

static cw_model *one_finding(random_state *random, uint32_t values, bool leak)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    double background[WORLD_VALUES] = {1}, chances[WORLD_VALUES];
    if (leak)
        world_background(random, values, random_below(random, 2) == 0 ? 1e-6 : 0.4, background);
    const cw_fact_id fact = world_fact(builder, "f", values, background, NULL);
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    char name[16];
    for (uint32_t i = 0; i < CAUSES; i++) {
        world_chances(random, values, random_below(random, 2) * 3, chances);
        const cw_sign_spec sign = {.sign = {.fact = fact, .chances = chances}};
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', i), .part = 1, .seen = 0.1},
                                    .signs = &sign,
                                    .sign_count = 1};
        cw_builder_cause(builder, &spec);
    }
    return world_finish(builder);
}

/* g(X), draw by draw. */
static double shown(const cw_model *model, uint32_t set, uint32_t value)
{
    double most, below;
    most = rank_net_background(model, 1, value, &below);
    for (cw_cause_id id = 1; id <= CAUSES; id++)
        if (set >> (id - 1) & 1) {
            double less;
            most *= rank_net_draws(model, id, 1, value, &less);
            below *= less;
        }
    return most - below;
}

static double product(const network *net, uint32_t set)
{
    double out = exp(net->log_factor);
    for (cw_cause_id id = 1; id <= CAUSES; id++)
        out *= set >> (id - 1) & 1 ? net->causes[id].weight : net->causes[id].lacks;
    return out;
}

Test(bounds, products_enclose_a_finding_for_every_set)
{
    random_state random = random_start(11);
    int close = 0;
    for (int round = 0; round < 2000; round++) {
        const uint32_t values = 2 + random_below(&random, 3), value = 1 + random_below(&random, values - 1);
        cw_model *model = one_finding(&random, values, random_below(&random, 4) != 0);
        cw_chain *chain;
        network net;
        cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
        cr_assert_eq(rank_net_new(&net, model, &cw_system_allocator), CW_OK);
        double by_cause[CAUSES + 1] = {0}, most[CAUSES + 1], ratio[CAUSES + 1], share[CAUSES + 1];
        for (cw_cause_id id = 1; id <= CAUSES; id++)
            by_cause[id] = random_unit(&random);
        const cw_evidence seen = {.fact = 1, .value = value};
        double above[1 << CAUSES];
        for (int side = 0; side < 2; side++) {
            const bool left_out = true;
            rank_net_build(&net, chain, &seen, 1, &left_out);
            bounds_view view = {.net = &net, .cause_most = most, .ratio = ratio, .share = share};
            rank_bounds_view(&view, &seen);
            (side == 0 ? rank_bounds_above : rank_bounds_below)(&view, &net, by_cause);
            for (uint32_t set = 0; set < 1u << CAUSES; set++) {
                const double g = shown(model, set, value), got = product(&net, set);
                if (side == 0)
                    cr_assert_geq(got, g * (1 - 1e-12) - 1e-15);
                else
                    cr_assert_leq(got, g * (1 + 1e-12) + 1e-15);
                if (side == 0)
                    above[set] = got;
                else
                    close += got > 0 && above[set] < 1.5 * got;
            }
        }
        rank_net_dispose(&net);
        cw_chain_free(chain);
        cw_model_free(model);
    }
    cr_assert_gt(close, 2000, "they say something: %d", close);
}

Test(bounds, draws_joined_state_by_state)
{
    enum { BITS = 5, LANES = 3, SIZE = LANES << BITS };
    random_state random = random_start(12);
    for (uint32_t bits = 0; bits <= BITS; bits++)
        for (uint32_t lanes = 1; lanes <= LANES; lanes++) {
            const size_t size = lanes * (size_t)1 << bits;
            double x[SIZE], m[SIZE], out[SIZE], room[SIZE], want[SIZE] = {0}, way_back[SIZE] = {0};
            for (size_t s = 0; s < SIZE; s++) {
                x[s] = random_unit(&random);
                m[s] = random_unit(&random);
            }
            for (size_t a = 0; a < (size_t)1 << bits; a++)
                for (size_t b = 0; b < (size_t)1 << bits; b++)
                    for (size_t k = 0; k < lanes; k++) {
                        want[(a | b) * lanes + k] += x[a * lanes + k] * m[b * lanes + k];
                        way_back[a * lanes + k] += x[(a | b) * lanes + k] * m[b * lanes + k];
                    }
            rank_merge(x, m, bits, lanes, out, room);
            for (size_t s = 0; s < size; s++)
                cr_assert_float_eq(out[s], want[s], 1e-12);
            rank_unmerge(x, m, bits, lanes, out, room);
            for (size_t s = 0; s < size; s++)
                cr_assert_float_eq(out[s], way_back[s], 1e-12);
        }
}
