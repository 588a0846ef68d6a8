#include "network.h"

#include "model/build.h"
#include <criterion/criterion.h>
#include <stdio.h>

static void draw_chances(random_state *random, uint32_t values, double normal, double *out)
{
    double rest = 0;
    for (uint32_t v = 1; v < values; v++)
        rest += out[v] = random_between(random, 0.05, 1);
    for (uint32_t v = 1; v < values; v++)
        out[v] *= (1 - normal) / rest;
    out[0] = normal;
}

static void add_sign(sums_network *net, random_state *random, uint32_t cause, uint32_t finding)
{
    sums_sign *sign = &net->signs[net->sign_count++];
    *sign = (sums_sign){.cause = cause, .finding = finding};
    draw_chances(random, net->findings[finding].values, random_between(random, 0.02, 0.95), sign->chances);
}

static void add_link(sums_network *net, random_state *random, uint32_t from, uint32_t to)
{
    net->links[net->link_count++] = (sums_link){from, to, random_between(random, 0.05, 0.95)};
}

static void start(sums_network *net, random_state *random, uint32_t causes, uint32_t findings,
                  uint32_t most_values)
{
    *net = (sums_network){.cause_count = causes, .finding_count = findings};
    for (uint32_t c = 0; c < causes; c++)
        net->own[c] = random_between(random, 0.001, 0.3);
    for (uint32_t f = 0; f < findings; f++) {
        sums_finding *finding = &net->findings[f];
        finding->values = 2 + random_below(random, most_values - 1);
        finding->seen = random_below(random, finding->values);
        draw_chances(random, finding->values, random_between(random, 0.9, 0.999), finding->background);
    }
}

void sums_dense(sums_network *net, random_state *random, uint32_t causes, uint32_t findings)
{
    start(net, random, causes, findings, SUMS_VALUES);
    const uint32_t links = random_below(random, 40), signs = 10 + random_below(random, 80);
    for (uint32_t c = 0; c < causes; c++) {
        for (uint32_t later = c + 1; later < causes; later++)
            if (random_below(random, 100) < links && net->link_count < SUMS_LINKS)
                add_link(net, random, c, later);
        for (uint32_t f = 0; f < findings; f++)
            if (random_below(random, 100) < signs)
                add_sign(net, random, c, f);
    }
}

void sums_sparse(sums_network *net, random_state *random, uint32_t causes, uint32_t findings)
{
    start(net, random, causes, findings, 2);
    for (uint32_t c = 1; c < causes; c++) {
        const uint32_t first = random_below(random, c), second = random_below(random, c);
        if (random_below(random, 2) == 0)
            add_link(net, random, first, c);
        if (random_below(random, 4) == 0 && second != first)
            add_link(net, random, second, c);
    }
    for (uint32_t f = 0; f < findings; f++) {
        const uint32_t count = 1 + random_below(random, 4), from = random_below(random, causes);
        for (uint32_t i = 0; i < count; i++) /* steps that never meet: 40 and 7 have no common factor */
            add_sign(net, random, (from + 7 * i) % causes, f);
    }
}

/* -- As a model -- */

static cw_model *model_of(const sums_network *net)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    static const cw_value_spec values[] = {{.name = "normal"}, {.name = "odd"}, {.name = "bad"}};
    cw_fact_id facts[SUMS_FINDINGS];
    cw_cause_id causes[SUMS_CAUSES];
    char name[16];
    for (uint32_t f = 0; f < net->finding_count; f++) {
        snprintf(name, sizeof name, "f%u", (unsigned)f);
        facts[f] = cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_CHOICE}, values,
                                   net->findings[f].values, net->findings[f].background);
        const cw_check check = {.name = name, .ask = name, .title = name, .fact = facts[f], .minutes = 1};
        cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    }
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside", .where = CW_PART_UNIT});
    for (uint32_t c = 0; c < net->cause_count; c++) {
        cw_sign_spec signs[SUMS_FINDINGS];
        uint32_t count = 0;
        for (uint32_t i = 0; i < net->sign_count; i++)
            if (net->signs[i].cause == c)
                signs[count++] = (cw_sign_spec){
                    .sign = {.fact = facts[net->signs[i].finding], .chances = net->signs[i].chances}};
        snprintf(name, sizeof name, "c%02u", (unsigned)c); /* causes are sorted by name within a layer */
        const cw_cause_spec spec = {.cause = {.name = name, .title = name, .part = 1, .seen = net->own[c]},
                                    .signs = signs,
                                    .sign_count = count};
        causes[c] = cw_builder_cause(builder, &spec);
    }
    for (uint32_t i = 0; i < net->link_count; i++)
        cw_builder_leads_to(builder, causes[net->links[i].from], causes[net->links[i].to],
                            net->links[i].chance);
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cw_builder_free(builder);
    return model;
}

static void rank(const sums_network *net, uint64_t steps, cw_arena *arena, cw_causes *out, uint32_t *number)
{
    cw_model *model = model_of(net);
    cw_chain *chain;
    char name[16];
    cw_evidence evidence[SUMS_FINDINGS];
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    for (uint32_t f = 0; f < net->finding_count; f++) {
        snprintf(name, sizeof name, "f%u", (unsigned)f);
        evidence[f] = (cw_evidence){.fact = cw_model_fact(model, name), .value = net->findings[f].seen};
    }
    cr_assert_eq(cw_causes_rank(chain, evidence, net->finding_count, steps, arena, out), CW_OK);
    for (uint32_t c = 0; c < net->cause_count; c++) {
        snprintf(name, sizeof name, "c%02u", (unsigned)c);
        number[cw_model_cause(model, name)] = c;
    }
    cw_chain_free(chain);
    cw_model_free(model);
}

double sums_rank(const sums_network *net, double *by_cause)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_causes ranked;
    uint32_t number[SUMS_CAUSES + 1];
    rank(net, CW_CAUSES_STEPS, arena, &ranked, number);
    for (uint32_t i = 0; i < ranked.count; i++)
        by_cause[number[ranked.causes[i]]] = ranked.probability[i];
    const double probability = ranked.exact ? ranked.evidence_probability : -1;
    cw_arena_free(arena);
    return probability;
}

bool sums_firm(const sums_network *net)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_causes ranked;
    uint32_t number[SUMS_CAUSES + 1];
    rank(net, CW_CAUSES_STEPS, arena, &ranked, number);
    cr_assert(ranked.firm == (ranked.rival == 0), "one or the other");
    cw_arena_free(arena);
    return ranked.firm;
}

void sums_bounds(const sums_network *net, uint64_t steps, double *low, double *high)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_causes ranked;
    uint32_t number[SUMS_CAUSES + 1];
    rank(net, steps, arena, &ranked, number);
    for (uint32_t i = 0; i < ranked.count; i++) {
        low[number[ranked.causes[i]]] = ranked.low[i];
        high[number[ranked.causes[i]]] = ranked.high[i];
    }
    cw_arena_free(arena);
}
