/* The most probable sets of causes, in order, against the weights of all sets. */
#include "rank/sets.h"
#include "truth.h"
#include "world.h"
#include <math.h>
#include <stdlib.h>

#define MOST_CAUSES 64
#define MOST_FACTS 16

typedef struct shape { /* what a random network is to be like */
    uint32_t causes, facts;
    uint32_t kinds; /* causes are alike but for so many kinds, so that sets are as probable as each other */
    uint32_t signs_of_ten, links_of_ten;
    double leak, least_seen, most_seen;
} shape;

typedef struct scene {
    cw_model *model;
    cw_chain *chain;
    network net;
    cw_arena *arena;
} scene;

typedef struct kind {
    double seen, shown[MOST_FACTS];
    bool shows[MOST_FACTS];
} kind;

/* One in eight is as probable present as absent, and shows nothing. */
static kind random_kind(random_state *random, shape want)
{
    kind out = {.seen = random_between(random, want.least_seen, want.most_seen)};
    if (random_below(random, 8) == 0)
        return (kind){.seen = 0.5};
    for (uint32_t f = 0; f < want.facts; f++) {
        out.shows[f] = random_below(random, 10) < want.signs_of_ten;
        out.shown[f] = random_below(random, 8) == 0 ? 1 : random_between(random, 0.05, 0.95);
    }
    return out;
}

static void add_cause(cw_builder *builder, const cw_fact_id *facts, uint32_t fact_count, uint32_t number,
                      const kind *like)
{
    cw_sign_spec signs[MOST_FACTS];
    double chances[MOST_FACTS][2];
    char name[16];
    uint32_t count = 0;
    for (uint32_t f = 0; f < fact_count; f++) {
        if (!like->shows[f])
            continue;
        chances[count][0] = 1 - like->shown[f];
        chances[count][1] = like->shown[f];
        signs[count] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[count]}};
        count++;
    }
    const cw_cause_spec spec = {
        .cause = {.name = world_name(name, 'c', number), .title = "cause", .part = 1, .seen = like->seen},
        .signs = signs,
        .sign_count = count};
    cw_builder_cause(builder, &spec);
}

static scene begin(random_state *random, shape want)
{
    scene out = {.arena = cw_arena_new(&cw_system_allocator)};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[MOST_FACTS];
    kind kinds[MOST_CAUSES];
    cw_evidence evidence[MOST_FACTS];
    char name[16];
    for (uint32_t f = 0; f < want.facts; f++) {
        const double leak = want.leak * random_unit(random), background[] = {1 - leak, leak};
        facts[f] = world_fact(builder, world_name(name, 'f', f), 2, background, NULL);
    }
    cw_builder_part(builder, &(cw_part){.name = "p", .title = "part"});
    for (uint32_t i = 0; i < want.kinds; i++)
        kinds[i] = random_kind(random, want);
    for (uint32_t i = 0; i < want.causes; i++) {
        add_cause(builder, facts, want.facts, i, &kinds[random_below(random, want.kinds)]);
        for (uint32_t j = 0; j < i; j++)
            if (random_below(random, 20) < want.links_of_ten)
                cw_builder_leads_to(builder, j + 1, i + 1,
                                    random_below(random, 8) == 0 ? 1 : random_below(random, 4) / 4.0);
    }
    out.model = world_finish(builder);
    cr_assert_eq(cw_chain_new(out.model, &cw_system_allocator, &out.chain), CW_OK);
    cr_assert_eq(rank_net_new(&out.net, out.model, &cw_system_allocator), CW_OK);
    for (uint32_t f = 0; f < want.facts; f++)
        evidence[f] = (cw_evidence){.fact = cw_model_fact(out.model, world_name(name, 'f', f)),
                                    .value = random_below(random, 4) > 0};
    rank_net_build(&out.net, out.chain, evidence, want.facts, NULL);
    return out;
}

static void end(scene *s)
{
    rank_net_dispose(&s->net);
    cw_chain_free(s->chain);
    cw_model_free(s->model);
    cw_arena_free(s->arena);
}

/* What no pack says but a circumstance can make: never absent, never present, no finding without a cause. */
static void make_extremes(random_state *random, network *net)
{
    for (uint32_t i = 0; i < net->live_count; i++) {
        net_cause *cause = &net->causes[net->live[i]];
        if (random_below(random, 12) == 0) {
            cause->own = 1;
            cause->absent = 0;
        } else if (random_below(random, 12) == 0) {
            cause->weight = 0;
        }
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (random_below(random, 6) == 0)
            net->findings[i].hit = 0;
}

/* -- The reference -- */

typedef struct truth {
    uint32_t set;
    long double weight;
} truth;

static uint32_t size_of(uint32_t set)
{
    uint32_t count = 0;
    for (; set != 0; set &= set - 1)
        count++;
    return count;
}

/* As sets.h has it. Of two that differ, the lowest bit that one lacks is the lowest of either. */
static bool comes_first(const truth *a, const truth *b)
{
    if (fabsl(logl(a->weight) - logl(b->weight)) > SETS_SAME)
        return a->weight > b->weight;
    if (size_of(a->set) != size_of(b->set))
        return size_of(a->set) < size_of(b->set);
    const uint32_t either = a->set ^ b->set;
    return a->set & either & (~either + 1);
}

static uint32_t best_of_all(const network *net, truth *best)
{
    uint32_t possible = 0, count = 0;
    for (uint32_t i = 0; i < net->live_count; i++)
        possible |= 1u << net->live[i];
    for (uint32_t set = 0; set < 2u << net->model->causes_count; set += 2) {
        const truth now = {set, (set & ~possible) == 0 ? truth_weight(net, set) : 0};
        if (now.weight <= 0 || (count == RANK_SETS && !comes_first(&now, &best[RANK_SETS - 1])))
            continue;
        uint32_t to = count < RANK_SETS ? count++ : RANK_SETS - 1;
        for (; to > 0 && comes_first(&now, &best[to - 1]); to--)
            best[to] = best[to - 1];
        best[to] = now;
    }
    return count;
}

static uint32_t bits_of(const rank_set *set)
{
    uint32_t bits = 0;
    for (uint32_t k = 0; k < set->count; k++) {
        cr_assert(k == 0 || set->causes[k - 1] < set->causes[k]);
        bits |= 1u << set->causes[k];
    }
    return bits;
}

static void check_all(const network *net, cw_arena *arena)
{
    truth best[RANK_SETS];
    rank_set got[RANK_SETS];
    bool proven;
    double steps = 0;
    uint32_t count;
    const uint32_t want = best_of_all(net, best);
    cr_assert_eq(rank_sets_find(net, 1e9, arena, got, &count, &proven, &steps), CW_OK);
    cr_assert(proven);
    cr_assert_eq(count, want);
    for (uint32_t i = 0; i < count; i++) {
        cr_assert_eq(bits_of(&got[i]), best[i].set, "set %u", (unsigned)i);
        cr_assert_float_eq(got[i].log_chance, (double)logl(best[i].weight), 1e-9);
    }
}

static shape random_shape(random_state *random)
{
    const uint32_t causes = 1 + random_below(random, 10);
    return (shape){.causes = causes,
                   .facts = random_below(random, 8),
                   .kinds = random_below(random, 2) ? MOST_CAUSES : 1 + random_below(random, 3),
                   .signs_of_ten = 1 + random_below(random, 7),
                   .links_of_ten = random_below(random, 2) * random_below(random, 12),
                   .leak = random_below(random, 3) == 0 ? 1e-5 : 0.1,
                   .least_seen = 0.001,
                   .most_seen = random_below(random, 3) == 0 ? 0.9 : 0.2};
}

Test(sets, are_the_first_of_all_in_their_order)
{
    random_state random = random_start(30);
    for (int round = 0; round < 300; round++) {
        scene s = begin(&random, random_shape(&random));
        check_all(&s.net, s.arena);
        make_extremes(&random, &s.net);
        check_all(&s.net, s.arena);
        end(&s);
    }
}
/* With fewer steps than it takes: never more than they are, and what is said to be proven is so. */
Test(sets, are_proven_only_when_the_steps_suffice)
{
    random_state random = random_start(31);
    int proven_of = 0, cut_short = 0;
    for (int round = 0; round < 200; round++) {
        scene s = begin(&random, random_shape(&random));
        truth best[RANK_SETS];
        rank_set got[RANK_SETS];
        bool proven;
        double steps = 100;
        uint32_t count;
        const uint32_t want = best_of_all(&s.net, best), budget = random_below(&random, 500);
        cr_assert_eq(rank_sets_find(&s.net, budget, s.arena, got, &count, &proven, &steps), CW_OK);
        cr_assert(steps >= 100 && steps <= 100.0 + budget);
        for (uint32_t i = 0; i < count; i++)
            cr_assert_float_eq(got[i].log_chance, (double)logl(truth_weight(&s.net, bits_of(&got[i]))), 1e-9);
        cr_assert(!proven || count == want);
        for (uint32_t i = 0; proven && i < count; i++)
            cr_assert_eq(bits_of(&got[i]), best[i].set);
        proven_of += proven;
        cut_short += !proven;
        end(&s);
    }
    cr_assert(proven_of > 50 && cut_short > 50);
}

/* Sixty causes that hang together, some by links, and eight findings: 2^60 sets, and no exact sum over them
 * that would not take wide vectors. */
Test(sets, of_many_causes_are_found_in_few_steps)
{
    random_state random = random_start(32);
    for (int round = 0; round < 5; round++) {
        scene s = begin(&random, (shape){.causes = 60,
                                         .facts = 8,
                                         .kinds = MOST_CAUSES,
                                         .signs_of_ten = 3,
                                         .links_of_ten = 1,
                                         .leak = 0.1,
                                         .least_seen = 0.005,
                                         .most_seen = 0.05});
        rank_set got[RANK_SETS];
        bool proven;
        double steps = 0;
        uint32_t count;
        cr_assert_eq(rank_sets_find(&s.net, 3e7, s.arena, got, &count, &proven, &steps), CW_OK);
        cr_assert(proven);
        cr_assert_eq(count, (uint32_t)RANK_SETS);
        end(&s);
    }
}
