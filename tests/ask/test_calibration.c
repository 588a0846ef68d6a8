/* Sessions sampled from the model itself, 40,000 of units and as many of causes, the questions chosen as in
 * any session: of what it says to be 70 % probable, 70 of 100 are so, give or take 2, and likewise for every
 * tenth. */
#include "ask/world.h"

enum { MODELS = 40, SESSIONS = 1000, ASKED = 3, FACTS = 6, THINGS = 5, VALUES = 3, BINS = 10, STATES = 4096 };

typedef struct tally {
    double said[BINS], so[BINS], count[BINS];
} tally;

static void note(tally *t, double said, bool so)
{
    int bin = said >= 1 ? BINS - 1 : (int)(said * BINS);
    t->said[bin] += said;
    t->so[bin] += so;
    t->count[bin]++;
}

static void judge(const tally *t)
{
    int judged = 0;
    for (int i = 0; i < BINS; i++) {
        if (t->count[i] < 3000)
            continue;
        judged++;
        double said = t->said[i] / t->count[i], so = t->so[i] / t->count[i];
        cr_log_info("says %.3f, is %.3f, %.0f times", said, so, t->count[i]);
        cr_expect_float_eq(said, so, 0.02, "says %.3f, is %.3f of %.0f", said, so, t->count[i]);
    }
    cr_expect_geq(judged, 8);
}

typedef struct made {
    double chances[THINGS][FACTS][VALUES], own[THINGS];
    cw_fact_id facts[FACTS];
    int asks[STATES]; /* by what each fact has been answered: the fact asked next + 1, -1: none; 0: not known
                         yet */
} made;

static uint32_t drawn(random_state *random, const double *chances, uint32_t count)
{
    double at = random_unit(random);
    uint32_t v = 0;
    while (v + 1 < count && at >= chances[v])
        at -= chances[v++];
    return v;
}

/* What to ask depends on the answers alone, so that it is worked out once for each set of them. */
static int next_fact(world *w, made *m, size_t state)
{
    if (m->asks[state] != 0)
        return m->asks[state];
    cw_advice advice = world_next(w);
    m->asks[state] = -1;
    for (int f = 0; f < FACTS && advice.count > 0; f++)
        if (w->model->checks[advice.checks[0].check].fact == m->facts[f])
            m->asks[state] = f + 1;
    return m->asks[state];
}

/* Asks what comes first so many times; values: what each fact shows in this session. */
static void hold(world *w, made *m, const uint32_t *values)
{
    size_t state = 0;
    for (int asked = 0; asked < ASKED; asked++) {
        int f = next_fact(w, m, state) - 1;
        if (f < 0)
            return;
        cw_answer answer = {.fact = m->facts[f], .value = values[f]};
        cr_assert_eq(cw_chain_answer(w->chain, &answer), CW_OK);
        state += (size_t)(values[f] + 1) << 2 * f;
    }
}

static void forget(world *w, const made *m)
{
    for (int f = 0; f < FACTS; f++)
        if (cw_chain_answered(w->chain, m->facts[f]) != NULL)
            cr_assert_eq(cw_chain_withdraw(w->chain, m->facts[f]), CW_OK);
    cw_arena_reset(w->arena);
}

static void sharp_chances(random_state *random, double *out)
{
    double sum = 0;
    world_chances(random, VALUES, out);
    for (int v = 0; v < VALUES; v++)
        sum += out[v] = out[v] * out[v];
    for (int v = 0; v < VALUES; v++)
        out[v] /= sum;
}

static cw_builder *begin(random_state *random, made *m)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    char name[16];
    for (uint32_t f = 0; f < FACTS; f++)
        m->facts[f] = world_check(builder, world_name(name, 'f', f), VALUES,
                                  (cw_check){.minutes = random_between(random, 1, 9)});
    for (int t = 0; t < THINGS; t++)
        for (int f = 0; f < FACTS; f++)
            sharp_chances(random, m->chances[t][f]);
    return builder;
}

static const cw_evidence *seen(world *w, cw_about about, size_t *count)
{
    const cw_evidence *evidence;
    cr_assert_eq(cw_evidence_collect(w->chain, about, w->arena, &evidence, count), CW_OK);
    return evidence;
}

static void a_unit(world *w, made *m, random_state *random, tally *t)
{
    uint32_t truth = drawn(random, m->own, THINGS), values[FACTS];
    size_t count;
    cw_identity identity;
    for (int f = 0; f < FACTS; f++)
        values[f] = drawn(random, m->chances[truth][f], VALUES);
    hold(w, m, values);
    const cw_evidence *evidence = seen(w, CW_ABOUT_UNITS, &count);
    cr_assert_eq(cw_identity_rank(w->tables, evidence, count, w->arena, &identity), CW_OK);
    for (uint32_t i = 0; i < identity.count; i++)
        note(t, identity.probability[i], identity.units[i] == truth + 1);
    forget(w, m);
}

Test(calibration, units)
{
    random_state random = random_start(70);
    tally t = {.said = {0}};
    for (int i = 0; i < MODELS; i++) {
        made m = {.asks = {0}};
        char name[16];
        double sum = 0;
        cw_builder *builder = begin(&random, &m);
        for (uint32_t u = 0; u < THINGS; u++) {
            const double *rows[FACTS];
            for (int f = 0; f < FACTS; f++)
                rows[f] = m.chances[u][f];
            sum += m.own[u] = random_between(&random, 1, 9);
            world_unit(builder, world_name(name, 'u', u), m.own[u], m.facts, rows, FACTS);
        }
        for (int u = 0; u < THINGS; u++)
            m.own[u] /= sum;
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        w.limits.max_steps = 4000;
        for (int s = 0; s < SESSIONS; s++)
            a_unit(&w, &m, &random, &t);
        world_close(&w);
    }
    judge(&t);
}

/* Causes come about by themselves; each present one draws a value for each fact, the background draws one,
 * the worst shows. */
static void a_job(world *w, cw_causes_scratch *scratch, made *m, random_state *random, tally *t)
{
    bool present[THINGS], at_fault = false;
    uint32_t values[FACTS];
    size_t count;
    cw_causes_tried tried;
    for (int c = 0; c < THINGS; c++) {
        present[c] = random_unit(random) < m->own[c];
        at_fault |= present[c] && c % 2 == 0;
    }
    for (int f = 0; f < FACTS; f++) {
        values[f] = drawn(random, w->model->facts[m->facts[f]].background, VALUES);
        for (int c = 0; c < THINGS; c++) {
            uint32_t shown = present[c] ? drawn(random, m->chances[c][f], VALUES) : 0;
            values[f] = shown > values[f] ? shown : values[f];
        }
    }
    hold(w, m, values);
    const cw_evidence *evidence = seen(w, CW_ABOUT_CAUSES, &count);
    cr_assert_eq(cw_causes_try(scratch, w->chain, evidence, count, CW_CAUSES_STEPS, &tried), CW_OK);
    for (uint32_t id = 1; id <= THINGS; id++)
        note(t, tried.by_cause[id], present[w->model->causes[id].name[1] - '0']);
    note(t, tried.unit_at_fault, at_fault);
    forget(w, m);
}

Test(calibration, causes)
{
    random_state random = random_start(71);
    tally t = {.said = {0}};
    for (int i = 0; i < MODELS; i++) {
        made m = {.asks = {0}};
        char name[16];
        cw_builder *builder = begin(&random, &m);
        cw_part_id parts[2] = {
            cw_builder_part(builder, &(cw_part){.name = "i", .title = "i", .where = CW_PART_UNIT}),
            cw_builder_part(builder, &(cw_part){.name = "o", .title = "o", .where = CW_PART_VEHICLE})};
        for (uint32_t c = 0; c < THINGS; c++) {
            const double *rows[FACTS];
            for (int f = 0; f < FACTS; f++)
                rows[f] = m.chances[c][f];
            m.own[c] = random_between(&random, 0.05, 0.5);
            world_cause(builder, world_name(name, 'c', c), parts[c % 2], m.own[c], m.facts, rows, FACTS);
        }
        world w = world_open(world_finish(builder), CW_TRIAGE);
        w.limits.max_steps = 20000;
        cw_causes_scratch *scratch = NULL;
        cr_assert_eq(cw_causes_scratch_new(w.model, &cw_system_allocator, &scratch), CW_OK);
        for (int s = 0; s < SESSIONS; s++)
            a_job(&w, scratch, &m, &random, &t);
        cw_causes_scratch_free(scratch);
        world_close(&w);
    }
    judge(&t);
}
