/* What gates come to at most, against the best of all sets that the causes decided so far leave. */
#include "rank/gates.h"
#include "rank/parts.h"
#include "truth.h"
#include "world.h"
#include <math.h>

enum { CAUSES = 8, FACTS = 6 };

/* Signs and links at random; the background of some findings draws next to nothing. */
static cw_model *random_model(random_state *random)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[FACTS];
    char name[16];
    for (uint32_t f = 0; f < FACTS; f++) {
        const double leak = random_below(random, 3) == 0 ? 1e-4 : 0.1, background[] = {1 - leak, leak};
        facts[f] = world_fact(builder, world_name(name, 'f', f), 2, background, NULL);
    }
    cw_builder_part(builder, &(cw_part){.name = "p", .title = "part"});
    const uint32_t links = random_below(random, 4);
    for (uint32_t i = 0; i < CAUSES; i++) {
        cw_sign_spec signs[FACTS];
        double chances[FACTS][2];
        uint32_t count = 0;
        for (uint32_t f = 0; f < FACTS; f++) {
            if (random_below(random, 2))
                continue;
            chances[count][1] = random_below(random, 6) == 0 ? 1 : random_between(random, 0.05, 0.95);
            chances[count][0] = 1 - chances[count][1];
            signs[count] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[count]}};
            count++;
        }
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', i),
                                              .title = "cause",
                                              .part = 1,
                                              .seen = random_between(random, 0.001, 0.5)},
                                    .signs = signs,
                                    .sign_count = count};
        cw_builder_cause(builder, &spec);
        for (uint32_t j = 0; j < i; j++)
            if (random_below(random, 10) < links)
                cw_builder_leads_to(builder, j + 1, i + 1, random_unit(random));
    }
    return world_finish(builder);
}

typedef struct scene {
    cw_model *model;
    cw_chain *chain;
    network net;
    gates gates;
    cw_arena *arena;
    cw_cause_id causes[CAUSES]; /* of the part that the first one belongs to */
    uint32_t count;
} scene;

/* As one part, whatever hangs together: the bound is a sum over gates either way. */
static void begin(random_state *random, scene *s)
{
    cw_evidence evidence[FACTS];
    char name[16];
    *s = (scene){.model = random_model(random), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(s->model, &cw_system_allocator, &s->chain), CW_OK);
    cr_assert_eq(rank_net_new(&s->net, s->model, &cw_system_allocator), CW_OK);
    for (uint32_t f = 0; f < FACTS; f++)
        evidence[f] = (cw_evidence){.fact = cw_model_fact(s->model, world_name(name, 'f', f)),
                                    .value = random_below(random, 4) > 0};
    rank_net_build(&s->net, s->chain, evidence, FACTS, NULL);
    cr_assert(rank_gates_make(&s->gates, &s->net, 1e9, s->arena));
    for (uint32_t i = 0; i < s->net.live_count; i++)
        s->causes[s->count++] = s->net.live[i];
    rank_gates_take(&s->gates, s->causes, s->count);
}

static void end(scene *s)
{
    rank_net_dispose(&s->net);
    cw_chain_free(s->chain);
    cw_model_free(s->model);
    cw_arena_free(s->arena);
}

/* Causes that stand in no gate count by their weight alone, which is nobody's bound. */
static double alone(const gates *g, uint32_t set)
{
    double sum = 0;
    for (uint32_t i = 0; i < g->cause_count; i++)
        if (rank_gates_is_alone(g, g->causes[i]) && truth_in(set, g->causes[i]))
            sum += g->log_weight[g->causes[i]];
    return sum;
}

/* The best of all sets that have all of `in` and none of `out`, without the weights of those that stand
 * alone. */
static double best_left(const scene *s, uint32_t in, uint32_t out)
{
    double best = -INFINITY;
    for (uint32_t set = 0; set < 2u << CAUSES; set += 2)
        if ((set & in) == in && (set & out) == 0)
            best = fmax(best, (double)logl(truth_weight(&s->net, set)) - alone(&s->gates, set));
    return best - s->gates.log_factor;
}

static void decide(random_state *random, scene *s, uint32_t *in, uint32_t *out)
{
    *in = *out = 0;
    for (uint32_t i = 0; i < s->count; i++) {
        const cw_cause_id id = s->causes[i];
        const uint32_t as = random_below(random, 4);
        s->gates.state[id] = as == 0 ? GATE_PRESENT : as == 1 ? GATE_ABSENT : GATE_UNDECIDED;
        *in |= as == 0 ? 1u << id : 0;
        *out |= as == 1 ? 1u << id : 0;
    }
}

Test(gates, bound_every_set_that_is_left)
{
    random_state random = random_start(33);
    double close = 0;
    int rounds = 0;
    for (int round = 0; round < 60; round++) {
        scene s;
        begin(&random, &s);
        for (int again = 0; again < 4; again++) {
            uint32_t in, out;
            decide(&random, &s, &in, &out);
            const double bound = rank_gates_bound(&s.gates), best = best_left(&s, in, out);
            cr_assert_geq(bound, best - 1e-9);
            close += best > -INFINITY ? bound - best : 0;
            rounds++;
            for (uint32_t i = 0; i < s.count; i++) {
                const uint32_t bit = 1u << s.causes[i];
                if (((in | out) & bit) == 0)
                    cr_assert_geq(rank_gates_bound_with(&s.gates, bound, s.causes[i]),
                                  best_left(&s, in | bit, out) - 1e-9);
            }
            cr_assert_float_eq(rank_gates_bound(&s.gates), bound, 1e-12, "nothing was decided by trying");
        }
        end(&s);
    }
    cr_assert_lt(close / rounds, 0.5, "on average within a factor of 1.6");
}

Test(gates, come_to_the_chance_of_a_set)
{
    random_state random = random_start(34);
    int possible = 0;
    for (int round = 0; round < 100; round++) {
        scene s;
        begin(&random, &s);
        uint32_t set = 0;
        for (uint32_t i = 0; i < s.count; i++) {
            const bool present = random_below(&random, 3) == 0;
            s.gates.state[s.causes[i]] = present ? GATE_PRESENT : GATE_ABSENT;
            set |= present ? 1u << s.causes[i] : 0;
        }
        const double want = (double)logl(truth_weight(&s.net, set)),
                     got = rank_gates_log_chance(&s.gates) + s.gates.log_factor;
        possible += want > -INFINITY;
        if (want == -INFINITY)
            cr_assert_eq(got, want);
        else {
            cr_assert_float_eq(got, want, 1e-9);
            cr_assert_float_eq(rank_gates_bound(&s.gates) + alone(&s.gates, set) + s.gates.log_factor, want,
                               1e-9, "nothing is left open");
        }
        end(&s);
    }
    cr_assert_gt(possible, 50);
}

Test(gates, count_what_they_look_at)
{
    random_state random = random_start(35);
    scene s;
    begin(&random, &s);
    const double before = s.gates.steps;
    (void)rank_gates_bound(&s.gates);
    cr_assert_gt(s.gates.steps, before);
    s.gates.max_steps = s.gates.steps;
    cr_assert_not(s.gates.spent);
    (void)rank_gates_bound(&s.gates);
    cr_assert(s.gates.spent);
    cr_assert_eq(s.gates.steps, s.gates.max_steps);
    end(&s);
}
