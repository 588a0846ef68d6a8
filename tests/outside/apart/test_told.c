/* Every two against all answers to all checks: which facts come about is asked of sessions, what they say of
 * the two is worked out here, and every set of checks is tried. */
#include "outside/apart/shop.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { CHECKS = 8, SETS = 1 << CHECKS, ROUNDS = 24 };

/* Of each set of checks: which values of each sight its answers can bring about. */
typedef struct told {
    unsigned values[SETS][SHOP_SIGHTS];
} told;

static const char *answer_of(const shop_check *c, int value, char buffer[16])
{
    static const char *const readings[] = {"4 V", "16 V", "10 V"}; /* the last one too near the limit */
    if (c->values == 0)
        return readings[value];
    snprintf(buffer, 16, "v%d", value);
    return buffer;
}

static void note(const shop *s, cw_session *session, const int *given, told *out)
{
    const cw_fact_info *facts;
    size_t count;
    unsigned set = 0;
    for (int c = 0; c < s->check_count; c++)
        set |= given[c] >= 0 ? 1u << c : 0;
    for (int i = 0; i < s->sight_count; i++)
        if (s->sights[i].check >= 0 && given[s->sights[i].check] >= 0)
            out->values[set][i] |= 1u << given[s->sights[i].check];
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    for (size_t f = 0; f < count; f++)
        if (!facts[f].doubtful && facts[f].fact[0] == 'f')
            out->values[set][facts[f].fact[1] - '0'] |= 1u << (facts[f].value[1] - '0');
}

/* All answers to checks from this one on, unanswered among them. A check is answered only where it is asked.
 */
static void answer_all(const shop *s, cw_session *session, int check, int *given, told *out)
{
    if (check == s->check_count) {
        note(s, session, given, out);
        return;
    }
    const shop_check *c = &s->checks[check];
    char name[8], buffer[16];
    given[check] = -1;
    answer_all(s, session, check + 1, given, out);
    snprintf(name, sizeof name, "c%d", check);
    if (c->gate >= 0 && given[c->gate] != c->gate_value)
        return;
    for (int v = 0; v < (c->values > 0 ? c->values : 3); v++) {
        given[check] = v;
        cr_assert_eq(cw_session_answer(session, name, answer_of(c, v, buffer), NULL, NULL, NULL), CW_OK);
        answer_all(s, session, check + 1, given, out);
    }
    cr_assert_eq(cw_session_withdraw(session, name), CW_OK);
    given[check] = -1;
}

/* A set can do what each smaller one can. */
static void close_up(const shop *s, told *out)
{
    for (unsigned set = 0; set < 1u << s->check_count; set++)
        for (int c = 0; c < s->check_count; c++)
            for (int i = 0; (set >> c & 1) != 0 && i < s->sight_count; i++)
                out->values[set][i] |= out->values[set & ~(1u << c)][i];
}

/* V of all sights that the set brings about, together: each combination of what they show. */
static double certainty(const shop *s, const unsigned *values, int a, int b, int from, double x, double y)
{
    while (from < s->sight_count && values[from] == 0)
        from++;
    if (from == s->sight_count)
        return fmax(x, y) / 2;
    const shop_sight *sight = &s->sights[from];
    double sum = 0, rest_a = 1, rest_b = 1;
    for (int v = 0; v < sight->values; v++) {
        if ((values[from] >> v & 1) == 0)
            continue;
        sum += certainty(s, values, a, b, from + 1, x * sight->chance[a][v], y * sight->chance[b][v]);
        rest_a -= sight->chance[a][v];
        rest_b -= sight->chance[b][v];
    }
    return sum + certainty(s, values, a, b, from + 1, x * fmax(rest_a, 0), y * fmax(rest_b, 0));
}

static unsigned at_places(const shop *s, unsigned places)
{
    unsigned set = 0;
    for (int c = 0; c < s->check_count; c++)
        set |= (places >> s->checks[c].place & 1) != 0 ? 1u << c : 0;
    return set;
}

typedef struct best {
    double minutes, certainty; /* of the cheapest sure set; INFINITY: none */
    double most;               /* with all checks */
    bool close;                /* some set is within a hair of sure */
} best;

static best find_best(const shop *s, const told *t, unsigned allowed, int a, int b, double sure)
{
    best out = {INFINITY, 0, certainty(s, t->values[allowed], a, b, 0, 1, 1), false};
    for (unsigned set = 0; set < 1u << s->check_count; set++) {
        if ((set & ~allowed) != 0 || shop_minutes(s, set) > out.minutes + 1e-9)
            continue;
        const double c = certainty(s, t->values[set], a, b, 0, 1, 1);
        out.close |= fabs(c - sure) < 0.002;
        if (c >= sure) {
            out.minutes = shop_minutes(s, set);
            out.certainty = c;
        }
    }
    return out;
}

static double minutes_of_way(const shop *s, const cw_apart_way *way)
{
    unsigned set = 0;
    for (size_t i = 0; i < way->count; i++) {
        const int check = atoi(way->checks[i].check->name + 1);
        cr_expect_str_eq(way->checks[i].place, cw_place_at((size_t)s->checks[check].place));
        set |= 1u << check;
    }
    return shop_minutes(s, set);
}

typedef struct counts {
    int one, several, less, nothing, unproven;
} counts;

static void compare_pair(const shop *s, const cw_apart_two *two, const best *right, double sure, counts *seen)
{
    if (right->close)
        return;
    cr_expect_float_eq(two->way.minutes, minutes_of_way(s, &two->way), 1e-9);
    seen->unproven += !two->proven;
    if (right->most < 0.5 + 1e-6) {
        cr_expect_eq(two->told, CW_APART_BY_NOTHING);
        seen->nothing++;
    } else if (right->minutes == INFINITY) {
        cr_expect_eq(two->told, CW_APART_LESS_SURELY);
        cr_expect_leq(two->way.certainty, right->most + 1e-6);
        cr_expect_geq(two->way.certainty, right->most - 0.015, "%g of %g", two->way.certainty, right->most);
        seen->less++;
    } else {
        cr_expect(two->told == CW_APART_BY_ONE || two->told == CW_APART_BY_SEVERAL);
        cr_expect_geq(two->way.certainty, sure - 1e-6);
        cr_expect_geq(two->way.minutes, right->minutes - 1e-9);
        if (two->proven)
            cr_expect_leq(two->way.minutes, right->minutes + 1e-9, "%d %d: %g instead of %g\n%s",
                          (int)two->first, (int)two->second, two->way.minutes, right->minutes, s->text);
        *(two->told == CW_APART_BY_ONE ? &seen->one : &seen->several) += 1;
    }
}

static bool alike(const shop *s, const told *t, unsigned allowed, int a, int b)
{
    return certainty(s, t->values[allowed], a, b, 0, 1, 1) < 0.5 + 1e-6;
}

/* The cheapest set that parts any two of the group. */
static double cheapest(const shop *s, const told *t, unsigned allowed, const cw_apart_together *group)
{
    double least = INFINITY;
    for (unsigned set = 0; set < 1u << s->check_count; set++)
        for (size_t m = 1; (set & ~allowed) == 0 && m < group->count; m++)
            for (size_t n = 0; n < m; n++)
                if (!alike(s, t, set, (int)group->members[n], (int)group->members[m]))
                    least = fmin(least, shop_minutes(s, set));
    return least;
}

/* Each group is alike, as large as can be, and named with what tells it; and no two alike are left out. */
static int compare_groups(const shop *s, const told *t, const cw_apart *apart, unsigned places)
{
    int pairs[5] = {0}, right[5] = {0}, groups = 0;
    for (size_t g = 0; g < apart->group_count; g++) {
        const cw_apart_together *group = &apart->groups[g];
        int only = 0;
        while (only < 4 && (group->only == NULL || strcmp(group->only, cw_place_at((size_t)only)) != 0))
            only++;
        const unsigned without = at_places(s, only < 4 ? places & ~(1u << only) : places);
        for (size_t m = 1; m < group->count; m++)
            cr_expect(alike(s, t, without, (int)group->members[0], (int)group->members[m]));
        const double least =
            cheapest(s, t, only < 4 ? at_places(s, places) : (1u << s->check_count) - 1, group);
        if (least == INFINITY)
            cr_expect_eq(group->tells.count, 0u);
        else
            cr_expect_float_eq(group->tells.minutes, least, 1e-9, "%g instead of %g\n%s",
                               group->tells.minutes, least, s->text);
        pairs[only] += (int)(group->count * (group->count - 1) / 2);
        groups++;
    }
    for (int a = 0; a < s->member_count; a++)
        for (int b = a + 1; b < s->member_count; b++)
            right[4] += alike(s, t, at_places(s, places), a, b);
    cr_expect_eq(pairs[4], right[4]);
    return groups;
}

static void compare(random_state *random, int round, counts *seen, int *groups)
{
    static shop s;
    static told t;
    int given[SHOP_CHECKS];
    shop_make(&s, random, round % 2 == 0,
              (shop_size){round % 3 == 0 ? 6 : 4, round % 3 == 0 ? 0 : 1, 6, 3, round % 3 != 1});
    cr_assert_leq(s.check_count, (int)CHECKS);
    cw_pack *pack = shop_open(&s);
    cw_session *session;
    memset(&t, 0, sizeof t);
    cr_assert_eq(cw_session_new(pack, s.causes ? "triage" : "identify", &session), CW_OK);
    answer_all(&s, session, 0, given, &t);
    close_up(&s, &t);
    for (int limited = 0; limited < 3; limited++) {
        const char *const named[] = {"counter", "bench"};
        const unsigned places = limited == 0 ? 15 : limited == 1 ? 5 : 1;
        const double sure = s.weak ? random_between(random, 0.84, 0.91) : random_between(random, 0.7, 0.97);
        const cw_apart_wish wish = {s.causes, named, limited == 0 ? 0 : limited == 1 ? 2 : 1, sure};
        cw_apart *apart = NULL;
        cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_OK);
        cr_assert_eq(apart->list_count, (size_t)(s.member_count * (s.member_count - 1) / 2));
        for (size_t i = 0; i < apart->list_count; i++) {
            const best right = find_best(&s, &t, at_places(&s, places), (int)apart->list[i].first,
                                         (int)apart->list[i].second, sure);
            compare_pair(&s, &apart->list[i], &right, sure, seen);
        }
        *groups += compare_groups(&s, &t, apart, places);
        cw_apart_free(apart);
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(told, by_every_set_of_checks)
{
    random_state random = random_start(5);
    counts seen = {0};
    int groups = 0;
    for (int round = 0; round < ROUNDS; round++)
        compare(&random, round, &seen, &groups);
    cr_log_info("one %d, several %d, less %d, nothing %d, unproven %d, groups %d", seen.one, seen.several,
                seen.less, seen.nothing, seen.unproven, groups);
    cr_expect(seen.one > 50 && seen.several > 60 && seen.less > 20 && seen.nothing > 10 && groups > 15,
              "all kinds are met");
    cr_expect_lt(seen.unproven * 10, seen.one + seen.several + seen.less);
}
