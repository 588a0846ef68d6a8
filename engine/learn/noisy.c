#include "learn/noisy.h"

#include <math.h>

/* Of some sources: P(the largest draw is v), P(all draw less). */
typedef struct reach {
    double hit, low;
} reach;

/* What the source draws in this group. */
typedef struct draw {
    double at, below; /* exactly the group's value, less */
} draw;

static double with_odds(double chance, double times)
{
    return chance * times / (1 - chance + chance * times);
}

/* Chance that the source draws u in the group. */
static double chance_in(const learn_noisy *of, const learn_group *group, uint32_t k, uint32_t u)
{
    const learn_source *source = &of->sources[group->sources[k]];
    const double *chance = source->chance;
    if (group->times == 1 || !source->odds)
        return chance[u];
    const double changed = with_odds(chance[1], group->times);
    return u == 1 ? changed : 1 - changed;
}

static draw draw_of(const learn_noisy *of, const learn_group *group, uint32_t k)
{
    draw out = {chance_in(of, group, k, group->value), 0};
    for (uint32_t u = 0; u < group->value; u++)
        out.below += chance_in(of, group, k, u);
    return out;
}

/* Every term is positive: P(hit) grows by "one before hit, this at most v" and "none before, this hits". */
static reach reach_without(const learn_noisy *of, const learn_group *group, uint32_t k, uint32_t l)
{
    reach all = {0, 1};
    for (uint32_t i = 0; i < group->count; i++) {
        if (i == k || i == l)
            continue;
        const draw one = draw_of(of, group, i);
        all.hit = all.hit * (one.at + one.below) + all.low * one.at;
        all.low *= one.below;
    }
    return all;
}

/* P(k drew u | what showed), u at most the group's value. */
static double posterior(const learn_noisy *of, const learn_group *group, uint32_t k, uint32_t u, double shows)
{
    const reach others = reach_without(of, group, k, k);
    return chance_in(of, group, k, u) * (others.hit + (u == group->value ? others.low : 0)) / shows;
}

static double shows(const learn_noisy *of, const learn_group *group)
{
    return reach_without(of, group, UINT32_MAX, UINT32_MAX).hit;
}

/* As many as came in stand for so many that did not. */
static double times_unseen(double nothing)
{
    return nothing / fmax(1 - nothing, 1e-12);
}

static void expect_unseen(learn_noisy *of)
{
    for (uint32_t g = 0; g < of->group_count; g++)
        of->groups[g].cases = of->groups[g].unseen ? 0 : of->groups[g].cases;
    for (uint32_t i = 0; i < of->came_in_count; i++) {
        learn_came_in *kind = &of->came_in[i];
        kind->nothing = 1;
        for (uint32_t k = 0; k < kind->count; k++)
            kind->nothing *= chance_in(of, &of->groups[kind->groups[k]], 0, 0);
        for (uint32_t k = 0; k < kind->count; k++)
            of->groups[kind->groups[k]].cases += kind->cases * times_unseen(kind->nothing);
        of->objective -= kind->cases * log(fmax(1 - kind->nothing, 1e-12));
    }
}

static void expect(learn_noisy *of)
{
    for (uint32_t i = 0; i < of->source_count; i++) {
        learn_source *source = &of->sources[i];
        source->cases = 0;
        source->shared = false;
        for (uint32_t u = 0; u < source->values; u++)
            source->expected[u] = 0;
    }
    of->impossible = of->objective = 0;
    expect_unseen(of);
    for (uint32_t g = 0; g < of->group_count; g++) {
        const learn_group *group = &of->groups[g];
        const double chance = shows(of, group);
        if (!(chance > 0)) {
            of->impossible += group->cases;
            continue;
        }
        of->objective += group->unseen ? 0 : group->cases * log(chance);
        for (uint32_t k = 0; k < group->count; k++) {
            learn_source *source = &of->sources[group->sources[k]];
            source->cases += group->cases;
            source->shared |= group->count > 1 || group->times != 1 || group->unseen;
            for (uint32_t u = 0; u <= group->value; u++)
                source->expected[u] += group->cases * posterior(of, group, k, u, chance);
        }
    }
}

static double pseudo_cases(const learn_source *source)
{
    double sum = 0;
    for (uint32_t u = 0; u < source->values; u++)
        sum += source->prior[u];
    return sum;
}

/* Moves the source's chances to what its prior and expected draws make. */
static double settle(learn_source *source)
{
    const double whole = pseudo_cases(source) + source->cases;
    double moved = 0;
    for (uint32_t u = 0; u < source->values && whole > 0; u++) {
        const double chance = source->chance[u] <= 0 ? 0 : (source->prior[u] + source->expected[u]) / whole;
        moved = fmax(moved, fabs(chance - source->chance[u]));
        source->chance[u] = chance;
    }
    return moved;
}

/* How many cases the source would draw a 1 in, by this chance under ordinary circumstances; prior and all. */
static double draws_under(const learn_noisy *of, const learn_source *source, double chance)
{
    double sum = pseudo_cases(source) * chance;
    for (uint32_t g = source->first_group; g < source->first_group + source->group_count; g++)
        sum += of->groups[g].cases * with_odds(chance, of->groups[g].times);
    return sum;
}

/* The same where circumstances change its odds: the chance under which as many are drawn as are expected.
 * That is where the derivative by the logit is 0, and it has one zero only. */
static double settle_odds(const learn_noisy *of, learn_source *source)
{
    const double wanted = source->prior[1] + source->expected[1];
    double low = 0, high = 1;
    for (int i = 0; i < 60; i++) {
        const double middle = low + (high - low) / 2;
        if (draws_under(of, source, middle) < wanted)
            low = middle;
        else
            high = middle;
    }
    const double chance = source->chance[1] <= 0 ? 0 : low + (high - low) / 2;
    const double moved = fabs(chance - source->chance[1]);
    source->chance[1] = chance;
    source->chance[0] = 1 - chance;
    return moved;
}

/* Where each source comes first, as far as groups stand together; whether any of these changes its odds. */
static void find_groups(learn_noisy *of)
{
    for (uint32_t i = 0; i < of->source_count; i++)
        of->sources[i].group_count = 0;
    for (uint32_t g = 0; g < of->group_count; g++) {
        learn_source *first = &of->sources[of->groups[g].sources[0]];
        if (first->group_count++ == 0)
            first->first_group = g;
    }
}

static bool changes_odds(const learn_noisy *of, const learn_source *source)
{
    for (uint32_t g = 0; source->odds && g < source->group_count; g++)
        if (of->groups[source->first_group + g].times != 1)
            return true;
    return false;
}

double learn_noisy_step(learn_noisy *of)
{
    double moved = 0;
    find_groups(of);
    expect(of);
    for (uint32_t i = 0; i < of->source_count; i++) {
        const learn_source *source = &of->sources[i];
        for (uint32_t u = 0; u < source->values; u++)
            if (source->prior[u] > 0 && source->chance[u] > 0)
                of->objective += source->prior[u] * log(source->chance[u]);
    }
    for (uint32_t i = 0; i < of->source_count; i++) {
        learn_source *source = &of->sources[i];
        moved = fmax(moved, changes_odds(of, source) ? settle_odds(of, source) : settle(source));
    }
    of->steps++;
    return moved;
}

/* A value that the prior knows nothing of and no case needs runs towards 0 and never gets there. */
static bool drop_unneeded(learn_noisy *of)
{
    bool dropped = false;
    for (uint32_t i = 0; i < of->source_count; i++) {
        learn_source *source = &of->sources[i];
        for (uint32_t u = 0; u < source->values; u++) {
            if (source->prior[u] > 0 || source->chance[u] <= 0 || source->expected[u] > 1e-6)
                continue;
            source->chance[u] = 0;
            dropped = true;
        }
    }
    return dropped;
}

/* Numbers of the values of a source in the information; room for those of all sources, one after another. */
typedef struct numbering {
    uint32_t *numbers, *first;
    size_t room;
} numbering;

/* Covariance of "k drew u" and "l drew w" in a case of the group, once what showed is known. */
static double missing_of(const learn_noisy *of, const learn_group *group, const uint32_t k[2],
                         const uint32_t u[2], double chance)
{
    const double first = posterior(of, group, k[0], u[0], chance);
    if (k[0] == k[1])
        return (u[0] == u[1] ? first : 0) - first * posterior(of, group, k[1], u[1], chance);
    const reach others = reach_without(of, group, k[0], k[1]);
    const bool hit = u[0] == group->value || u[1] == group->value;
    const double both = chance_in(of, group, k[0], u[0]) * chance_in(of, group, k[1], u[1]) *
                        (others.hit + (hit ? others.low : 0)) / chance;
    return both - first * posterior(of, group, k[1], u[1], chance);
}

static void add_missing(const learn_noisy *of, const learn_group *group, const numbering *at,
                        learn_spread *spread)
{
    const double chance = shows(of, group);
    const size_t n = spread->count;
    for (uint32_t k = 0; k < group->count; k++)
        for (uint32_t l = 0; l < group->count; l++)
            for (uint32_t u = 0; u <= group->value; u++)
                for (uint32_t w = 0; w <= group->value; w++) {
                    const uint32_t row = at->numbers[at->first[group->sources[k]] + u];
                    const uint32_t column = at->numbers[at->first[group->sources[l]] + w];
                    if (row != LEARN_NO_COORDINATE && column != LEARN_NO_COORDINATE)
                        spread->missing[row * n + column] +=
                            group->cases *
                            missing_of(of, group, (uint32_t[]){k, l}, (uint32_t[]){u, w}, chance);
                }
}

/* A source whose odds circumstances change: each case tells as much as its own chance lets it. */
static void add_complete_odds(const learn_noisy *of, const learn_source *own, const uint32_t *numbers,
                              learn_spread *spread)
{
    learn_spread_complete(spread, own->chance, own->values, numbers, pseudo_cases(own));
    for (uint32_t g = own->first_group; g < own->first_group + own->group_count; g++) {
        const learn_group *group = &of->groups[g];
        if (!(shows(of, group) > 0))
            continue;
        const double chance[] = {chance_in(of, group, 0, 0), chance_in(of, group, 0, 1)};
        learn_spread_complete(spread, chance, 2, numbers, group->cases);
    }
}

/* How many jobs of the kind nobody brought in is known to the variance M P0 / (1 - P0)^2 of a negative
 * binomial, and each of them says of every source that it drew 0. `scores`: room for the coordinates. */
static void add_missing_unseen(const learn_noisy *of, const learn_came_in *kind, const numbering *at,
                               learn_spread *spread, double *scores)
{
    const size_t n = spread->count;
    const double nothing = kind->nothing, left = fmax(1 - nothing, 1e-12);
    for (size_t i = 0; i < n; i++)
        scores[i] = 0;
    for (uint32_t k = 0; k < kind->count; k++) {
        const learn_group *group = &of->groups[kind->groups[k]];
        const uint32_t source = group->sources[0];
        for (uint32_t u = 0; u < of->sources[source].values; u++) {
            const uint32_t number = at->numbers[at->first[source] + u];
            if (number != LEARN_NO_COORDINATE)
                scores[number] = (u == 0) - chance_in(of, group, 0, u);
        }
    }
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n && scores[i] != 0; k++)
            spread->missing[i * n + k] += kind->cases * nothing / (left * left) * scores[i] * scores[k];
}

static cw_status spread_unseen(const learn_noisy *of, const numbering *at, learn_spread *spread)
{
    const size_t size = (spread->count + (size_t)1) * sizeof(double);
    double *scores = of->came_in_count == 0 ? NULL : cw_allocate(spread->allocator, size);
    if (scores == NULL)
        return of->came_in_count == 0 ? CW_OK : CW_NO_MEMORY;
    for (uint32_t i = 0; i < of->came_in_count; i++)
        add_missing_unseen(of, &of->came_in[i], at, spread, scores);
    cw_release(spread->allocator, scores, size);
    return CW_OK;
}

static cw_status spread_over(learn_noisy *of, const numbering *at, learn_spread *spread)
{
    for (uint32_t i = 0; i < of->source_count; i++) {
        const learn_source *source = &of->sources[i];
        if (changes_odds(of, source))
            add_complete_odds(of, source, at->numbers + at->first[i], spread);
        else
            learn_spread_complete(spread, source->chance, source->values, at->numbers + at->first[i],
                                  pseudo_cases(source) + source->cases);
    }
    for (uint32_t g = 0; g < of->group_count; g++)
        if (of->groups[g].count > 1 && shows(of, &of->groups[g]) > 0)
            add_missing(of, &of->groups[g], at, spread);
    const cw_status status = spread_unseen(of, at, spread);
    return status == CW_OK ? learn_spread_solve(spread) : status;
}

/* What was never in doubt is worth its cases, to the last digit. */
static void keep_worth(learn_noisy *of, const numbering *at, const learn_spread *spread)
{
    for (uint32_t i = 0; i < of->source_count; i++) {
        learn_source *source = &of->sources[i];
        for (uint32_t u = 0; u < source->values; u++)
            source->worth[u] = !source->shared || source->chance[u] <= 0
                                   ? pseudo_cases(source) + source->cases
                                   : learn_spread_worth(spread, source->chance, source->values,
                                                        at->numbers + at->first[i], u);
    }
}

static cw_status work_out_worth(learn_noisy *of, const cw_allocator *allocator)
{
    numbering at = {.room = 0};
    for (uint32_t i = 0; i < of->source_count; i++)
        at.room += of->sources[i].values;
    at.numbers = cw_allocate(allocator, (at.room + of->source_count) * sizeof *at.numbers);
    if (at.numbers == NULL)
        return CW_NO_MEMORY;
    at.first = at.numbers + at.room;
    uint32_t count = 0, first = 0;
    for (uint32_t i = 0; i < of->source_count; i++) {
        const learn_source *source = &of->sources[i];
        at.first[i] = first;
        for (uint32_t u = 0; u < source->values; u++)
            at.numbers[first + u] = LEARN_NO_COORDINATE;
        if (source->shared)
            learn_spread_number(source->chance, source->values, &count, at.numbers + first);
        first += source->values;
    }
    learn_spread spread;
    cw_status status = learn_spread_new(&spread, allocator, count);
    if (status == CW_OK)
        status = spread_over(of, &at, &spread);
    if (status == CW_OK)
        keep_worth(of, &at, &spread);
    learn_spread_free(&spread);
    cw_release(allocator, at.numbers, (at.room + of->source_count) * sizeof *at.numbers);
    return status;
}

cw_status learn_noisy_run(learn_noisy *of, const cw_allocator *allocator)
{
    static const double still = 1e-13;
    of->steps = 0;
    do {
        of->settled = false;
        while (!of->settled && of->steps < LEARN_MOST_STEPS)
            of->settled = learn_noisy_step(of) < still;
    } while (drop_unneeded(of));
    expect(of);
    return work_out_worth(of, allocator);
}
