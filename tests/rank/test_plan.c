/* One network, planned in every way that there is, against the sum over all sets of its causes. */
#include "rank/sweep_inside.h"
#include "truth.h"
#include "world.h"
#include <math.h>

#define CAUSES 9
#define FACTS 6
#define TOLERANCE 1e-10

/* Earlier causes lead to later ones; to the last but two, where it is wanted, nearly all that come before. */
static cw_model *random_model(random_state *random, cw_fact_id *facts, bool meeting)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    char name[16];
    double chances[WORLD_VALUES];
    for (uint32_t i = 0; i < FACTS; i++) {
        const uint32_t values = 2 + random_below(random, 2);
        world_background(random, values, 0.1, chances);
        facts[i] = world_fact(builder, world_name(name, 'f', i), values, chances, NULL);
    }
    cw_builder_part(builder, &(cw_part){.name = "p", .title = "part"});
    cw_cause_id causes[CAUSES];
    for (uint32_t i = 0; i < CAUSES; i++) {
        cw_sign_spec signs[FACTS];
        double of[FACTS][WORLD_VALUES];
        uint32_t count = 0;
        for (uint32_t f = 0; f < FACTS; f++) {
            if (random_below(random, 3) > 0)
                continue;
            world_chances(random, cw_builder_fact_at(builder, facts[f])->values.count, 0, of[count]);
            signs[count] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = of[count]}};
            count++;
        }
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', i),
                                              .title = "cause",
                                              .part = 1,
                                              .seen = random_between(random, 0.01, 0.4)},
                                    .signs = signs,
                                    .sign_count = count};
        causes[i] = cw_builder_cause(builder, &spec);
        for (uint32_t j = 0; j < i; j++)
            if (random_below(random, 8) < (meeting && i == CAUSES - 3 ? 7 : 2))
                cw_builder_leads_to(builder, causes[j], causes[i], random_unit(random));
    }
    return world_finish(builder);
}

static size_t random_evidence(random_state *random, const cw_model *model, const cw_fact_id *facts,
                              cw_evidence *out)
{
    size_t count = 0;
    for (uint32_t i = 0; i < FACTS; i++)
        if (random_below(random, 5) > 0)
            out[count++] = (cw_evidence){.fact = facts[i],
                                         .value = random_below(random, model->facts[facts[i]].values.count)};
    return count;
}

/* -- The reference -- */

typedef struct sums {
    long double all, by_cause[CAUSES + 1];
} sums;

static sums enumerate(const network *net, const bool *forced)
{
    sums out = {0};
    for (uint32_t set = 0; set < 2u << net->model->causes_count; set += 2) {
        bool fits = true;
        for (cw_cause_id id = 1; id <= net->model->causes_count; id++)
            fits = fits && !(truth_in(set, id) && (!net->causes[id].possible || forced[id]));
        const long double weight = fits ? truth_weight(net, set) : 0;
        out.all += weight;
        for (cw_cause_id id = 1; id <= net->model->causes_count; id++)
            out.by_cause[id] += truth_in(set, id) ? weight : 0;
    }
    return out;
}

/* -- Plans -- */

static void check_plan(rank_sweep *sweep, const bool *forced)
{
    const sums want = enumerate(sweep->net, forced);
    double logs, by_cause[CAUSES + 1];
    rank_sweep_plan(sweep, forced);
    cr_assert_eq(rank_sweep_forward(sweep, true, &logs), CW_OK);
    cr_assert_float_eq(logs, (double)logl(want.all), TOLERANCE);
    rank_sweep_backward(sweep, by_cause);
    for (cw_cause_id id = 1; id <= CAUSES; id++)
        cr_assert_float_eq(by_cause[id], (double)(want.by_cause[id] / want.all), TOLERANCE, "cause %u",
                           (unsigned)id);
}

/* All causes, then without some. */
static void check_plans(random_state *random, rank_sweep *sweep)
{
    bool forced[CAUSES + 1] = {false};
    check_plan(sweep, forced);
    for (cw_cause_id id = 1; id <= CAUSES; id++)
        forced[id] = random_below(random, 3) == 0;
    check_plan(sweep, forced);
}

typedef struct scene {
    cw_model *model;
    cw_chain *chain;
    network net;
    rank_sweep sweep;
} scene;

static scene begin(random_state *random, bool meeting)
{
    scene out;
    cw_fact_id facts[FACTS];
    cw_evidence evidence[FACTS];
    out.model = random_model(random, facts, meeting);
    cr_assert_eq(cw_chain_new(out.model, &cw_system_allocator, &out.chain), CW_OK);
    cr_assert_eq(rank_net_new(&out.net, out.model, &cw_system_allocator), CW_OK);
    rank_net_build(&out.net, out.chain, evidence, random_evidence(random, out.model, facts, evidence), NULL);
    return out;
}

static void end(scene *s)
{
    rank_sweep_dispose(&s->sweep);
    rank_net_dispose(&s->net);
    cw_chain_free(s->chain);
    cw_model_free(s->model);
}

Test(plan, sums_are_those_over_all_sets)
{
    random_state random = random_start(20);
    uint32_t led = 0;
    for (int round = 0; round < 120; round++) {
        scene s = begin(&random, round % 2);
        cr_assert_eq(rank_sweep_new(&s.sweep, &s.net, &cw_system_allocator), CW_OK);
        for (uint32_t from = 0; from <= 3; from++) {
            s.sweep.thorough = random_below(&random, 2);
            s.sweep.led_from = from;
            cr_assert_eq(rank_sweep_order(&s.sweep), CW_OK);
            check_plans(&random, &s.sweep);
            for (cw_cause_id id = 1; id <= CAUSES; id++)
                led += s.net.causes[id].possible && sweep_is_led(&s.sweep, id);
        }
        s.sweep.in_line = true;
        s.sweep.led_from = 0;
        cr_assert_eq(rank_sweep_order(&s.sweep), CW_OK);
        rank_sweep_line_up(&s.sweep);
        check_plans(&random, &s.sweep);
        end(&s);
    }
    cr_assert_gt(led, 200, "causes to which others lead through a bit of theirs");
}

/* Sixteen causes, each with two findings of its own that its neighbours share, lead to one: to remember them
 * all at once takes 2^16 numbers. */
Test(plan, causes_that_lead_to_one_need_not_be_remembered_together)
{
    enum { LEADING = 16 };
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[LEADING + 1];
    cw_evidence evidence[LEADING + 1];
    const double background[] = {0.9, 0.1}, shown[] = {0.3, 0.7};
    char name[16];
    for (uint32_t i = 0; i <= LEADING; i++)
        facts[i] = world_fact(builder, world_name(name, 'f', i), 2, background, NULL);
    cw_builder_part(builder, &(cw_part){.name = "p", .title = "part"});
    cw_cause_id causes[LEADING + 1];
    for (uint32_t i = 0; i <= LEADING; i++) {
        const cw_sign_spec signs[] = {{.sign = {.fact = facts[i], .chances = shown}},
                                      {.sign = {.fact = facts[i < LEADING ? i + 1 : 0], .chances = shown}}};
        const cw_cause_spec spec = {
            .cause = {.name = world_name(name, 'c', i), .title = "cause", .part = 1, .seen = 0.1},
            .signs = signs,
            .sign_count = 2};
        causes[i] = cw_builder_cause(builder, &spec);
    }
    for (uint32_t i = 0; i < LEADING; i++)
        cw_builder_leads_to(builder, causes[i], causes[LEADING], 0.5);
    cw_model *model = world_finish(builder);
    for (uint32_t i = 0; i <= LEADING; i++)
        evidence[i] = (cw_evidence){.fact = facts[i], .value = 1};
    scene s = {.model = model};
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &s.chain), CW_OK);
    cr_assert_eq(rank_net_new(&s.net, model, &cw_system_allocator), CW_OK);
    rank_net_build(&s.net, s.chain, evidence, LEADING + 1, NULL);
    cr_assert_eq(rank_sweep_new(&s.sweep, &s.net, &cw_system_allocator), CW_OK);
    cr_assert_eq(rank_sweep_choose(&s.sweep), CW_OK);
    cr_assert_lt(s.sweep.cost, 5000);
    end(&s);
}
