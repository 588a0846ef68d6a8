#include "outside/apart/shop.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

/* -- What is in it -- */

static double tenths(double percent) /* as it is written */
{
    return round(percent * 10) / 1000;
}

static int add_check(shop *s, random_state *random, int values, bool context, int anywhere)
{
    static const double minutes[] = {0.5, 1, 2, 3, 5};
    shop_check *c = &s->checks[s->check_count];
    *c = (shop_check){.values = values, .context = context, .gate = -1};
    c->minutes = minutes[random_below(random, 5)] + 0.1 * random_below(random, 4);
    c->place = (int)random_below(random, 8) < anywhere ? 1 + (int)random_below(random, 3) : 0;
    if (!s->causes && !context && random_below(random, 3) == 0) {
        c->swapped = tenths(5 + 20 * random_unit(random));
        c->blunders = tenths(1 + 4 * random_unit(random));
    }
    return s->check_count++;
}

/* Few kinds of shape, so that members agree often. */
static void add_signs(const shop *s, random_state *random, shop_sight *sight)
{
    double shapes[3][SHOP_VALUES];
    for (int k = 0; k < 3; k++) {
        double left = 1;
        for (int v = sight->values - 1; v > 0; v--) {
            const double most =
                random_below(random, 2) == 0 ? (s->weak ? 0.92 : 0.98) : (s->weak ? 0.12 : 0.15);
            shapes[k][v] = tenths(100 * fmin(left - 0.01, most * random_between(random, 0.8, 1)));
            left -= shapes[k][v];
        }
        shapes[k][0] = left;
    }
    for (int m = 0; m < s->member_count; m++) {
        sight->signed_[m] = random_below(random, 6) > 0;
        memcpy(sight->own[m], shapes[random_below(random, 3)], sizeof sight->own[m]);
    }
    sight->background[0] = 1;
    for (int v = 1; v < sight->values; v++) {
        sight->background[v] = tenths(random_between(random, 0.5, 4));
        sight->background[0] -= sight->background[v];
    }
}

/* Units: own, or what the catalogue shows, swaps and blunders mixed in (rank/identity.h). */
static void unit_chances(const shop *s, shop_sight *sight)
{
    double average[SHOP_VALUES] = {0}, seen = 0;
    const shop_check *check = sight->check >= 0 ? &s->checks[sight->check] : NULL;
    const double swapped = check != NULL ? check->swapped : 0, blunders = check != NULL ? check->blunders : 0;
    for (int m = 0; m < s->member_count; m++)
        seen += sight->signed_[m] ? s->seen[m] : 0;
    for (int v = 0; v < sight->values; v++) {
        for (int m = 0; m < s->member_count; m++)
            average[v] += sight->signed_[m] ? s->seen[m] * sight->own[m][v] / seen : 0;
        if (seen <= 0)
            average[v] = 1.0 / sight->values;
    }
    for (int m = 0; m < s->member_count; m++)
        for (int v = 0; v < sight->values; v++) {
            const double own = sight->signed_[m] ? sight->own[m][v] : average[v];
            const double real = (1 - swapped) * own + swapped * average[v];
            sight->chance[m][v] = (1 - blunders) * real + blunders / sight->values;
        }
}

/* A cause alone: the worse of what it draws and what the background draws. */
static void cause_chances(const shop *s, shop_sight *sight)
{
    for (int m = 0; m < s->member_count; m++)
        for (int own = 0; own < sight->values; own++)
            for (int other = 0; other < sight->values; other++)
                sight->chance[m][own > other ? own : other] +=
                    (sight->signed_[m] ? sight->own[m][own] : own == 0) * sight->background[other];
}

static shop_sight *add_sight(shop *s, random_state *random, int values)
{
    shop_sight *sight = &s->sights[s->sight_count++];
    *sight = (shop_sight){.check = -1, .values = values, .shown = values};
    add_signs(s, random, sight);
    return sight;
}

/* -- As a pack -- */

static void put(shop *s, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void put(shop *s, const char *format, ...)
{
    const size_t used = strlen(s->text);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(s->text + used, SHOP_TEXT - used, format, arguments);
    va_end(arguments);
    cr_assert_lt(strlen(s->text), (size_t)SHOP_TEXT - 200);
}

static void put_choices(shop *s, char letter, int values)
{
    put(s, "choices: [");
    for (int v = 0; v < values; v++)
        put(s, "%s%c%d", v == 0 ? "" : ", ", letter, v);
    put(s, "]");
}

static void put_background(shop *s, const shop_sight *sight, char letter)
{
    if (!s->causes)
        return;
    put(s, ", background: {");
    for (int v = 1; v < sight->values; v++)
        put(s, "%s%c%d: %.1f %%", v == 1 ? "" : ", ", letter, v, 100 * sight->background[v]);
    put(s, "}");
}

static const shop_sight *sight_of(const shop *s, int check)
{
    for (int i = 0; i < s->sight_count; i++)
        if (s->sights[i].check == check)
            return &s->sights[i];
    return NULL;
}

static void put_checks(shop *s)
{
    put(s, "checks:\n");
    for (int i = 0; i < s->check_count; i++) {
        const shop_check *c = &s->checks[i];
        put(s, "  c%d: {ask: c%d?, title: Check c%d, place: %s, minutes: %.1f, ", i, i, i,
            cw_place_at((size_t)c->place), c->minutes);
        if (c->values > 0)
            put_choices(s, 'v', c->values);
        else
            put(s, "measure: voltage, unit: V, range: 0 V to 20 V, reading_error: 0.1 V");
        if (sight_of(s, i) != NULL)
            put_background(s, sight_of(s, i), 'v');
        if (c->context)
            put(s, ", context: yes");
        if (c->gate >= 0)
            put(s, ", only_if: {c%d: v%d}", c->gate, c->gate_value);
        if (c->swapped > 0)
            put(s, ", swapped: %.1f %%, blunders: %.1f %%", 100 * c->swapped, 100 * c->blunders);
        else if (!s->causes && sight_of(s, i) != NULL)
            put(s, ", blunders: 0 %%");
        put(s, "}\n");
    }
}

static void put_facts(shop *s)
{
    bool any = false;
    for (int i = 0; i < s->sight_count; i++) {
        if (s->sights[i].check >= 0)
            continue;
        put(s, "%s  f%d: {title: Fact f%d, ", any ? "" : "facts:\n", i, i);
        put_choices(s, 'w', s->sights[i].values);
        put_background(s, &s->sights[i], 'w');
        put(s, "}\n");
        any = true;
    }
    if (any)
        put(s, "rules:\n");
    for (int i = 0; i < s->sight_count; i++)
        for (int v = 0; s->sights[i].check < 0 && v < s->sights[i].shown; v++) {
            const shop_sight *f = &s->sights[i];
            put(s, "  r%d_%d: {if: {c%d: v1, c%d: ", i, v, f->stage, f->by);
            if (s->checks[f->by].values > 0)
                put(s, "v%d}", v);
            else
                put(s, "%s 10 V}", v == 0 ? "below" : "above");
            put(s, ", then: {f%d: w%d}, because: b., source: s}\n", i, v);
        }
}

static void put_signs(shop *s, int member)
{
    put(s, "signs: {");
    bool first = true;
    for (int i = 0; i < s->sight_count; i++) {
        const shop_sight *sight = &s->sights[i];
        if (!sight->signed_[member])
            continue;
        put(s, "%s%c%d: {", first ? "" : ", ", sight->check >= 0 ? 'c' : 'f',
            sight->check >= 0 ? sight->check : i);
        for (int v = 1; v < sight->values; v++)
            put(s, "%s%c%d: %.1f %%", v == 1 ? "" : ", ", sight->check >= 0 ? 'v' : 'w', v,
                100 * sight->own[member][v]);
        put(s, "}");
        first = false;
    }
    put(s, "}");
}

static void put_all(shop *s)
{
    put(s,
        "pack: {name: random, title: Random, version: 1, blunders: 0 %%, costs: {hour: 60, reach: {counter: "
        "1, vehicle: "
        "%.1f, bench: %.1f, teardown: %.1f}}}\n",
        s->reach[1], s->reach[2], s->reach[3]);
    put_checks(s);
    put_facts(s);
    put(s, s->causes ? "parts: {p: {title: Part, where: unit}}\ncauses:\n"
                     : "units:\n  family:\n    title: Family\n    source: s\n    versions:\n");
    for (int m = 0; m < s->member_count; m++) {
        if (s->causes)
            put(s, "  m%02d: {title: Member %d, part: p, seen: 5 of 100, source: s, ", m, m);
        else
            put(s, "      m%02d: {title: Member %d, seen: %.0f, ", m, m, s->seen[m]);
        put_signs(s, m);
        put(s, "}\n");
    }
}

void shop_make(shop *s, random_state *random, bool causes, shop_size size)
{
    *s = (shop){.causes = causes, .weak = size.weak, .member_count = size.members, .reach = {0, 2.5, 4, 21}};
    for (int m = 0; m < size.members; m++)
        s->seen[m] = 1 + random_below(random, 5);
    const int stage = add_check(s, random, 2, true, 0);
    for (int i = 0; i < size.plain; i++) {
        const int values = 2 + (int)random_below(random, 2),
                  check = add_check(s, random, values, false, size.anywhere);
        if (random_below(random, 4) == 0) {
            s->checks[check].gate = stage;
            s->checks[check].gate_value = 1;
        }
        add_sight(s, random, values)->check = check;
    }
    for (int i = 0; i < size.facts; i++) {
        const bool measured = random_below(random, 2) == 0;
        shop_sight *sight = add_sight(s, random, 2 + (int)random_below(random, 2));
        sight->stage = stage;
        sight->by = add_check(s, random, measured ? 0 : 3, false, size.anywhere);
        sight->shown = 2;
    }
    for (int i = 0; i < s->sight_count; i++)
        (causes ? cause_chances : unit_chances)(s, &s->sights[i]);
    put_all(s);
}

cw_pack *shop_open(const shop *s)
{
    char folder[] = "/tmp/cw-apart-XXXXXX", path[64];
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/pack.yaml", folder);
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    fputs(s->text, file);
    fclose(file);
    const char *const folders[] = {folder};
    cw_messages *messages = NULL;
    cw_pack *pack = NULL;
    const cw_status status = cw_pack_open(NULL, folders, 1, &messages, &pack);
    cr_assert_eq(status, CW_OK, "%s\n%s",
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "", s->text);
    cw_messages_free(messages);
    unlink(path);
    rmdir(folder);
    return pack;
}

/* -- What it comes to -- */

unsigned shop_takes(const shop *s, const shop_sight *sight)
{
    if (sight->check < 0)
        return 1u << sight->stage | 1u << sight->by;
    const int gate = s->checks[sight->check].gate;
    return 1u << sight->check | (gate >= 0 ? 1u << gate : 0);
}

double shop_parts(const shop_sight *sight, unsigned told, int a, int b)
{
    double sum = 0, rest = 0;
    for (int v = 0; v < sight->values; v++) {
        const double differs = sight->chance[a][v] - sight->chance[b][v];
        if ((told >> v & 1) != 0)
            sum += fabs(differs);
        else
            rest += differs;
    }
    return (sum + fabs(rest)) / 2;
}

double shop_minutes(const shop *s, unsigned checks)
{
    bool went[4] = {false};
    double minutes = 0;
    for (int c = 0; c < s->check_count; c++)
        if ((checks >> c & 1) != 0) {
            minutes += s->checks[c].minutes;
            went[s->checks[c].place] = true;
        }
    for (int p = 1; p < 4; p++)
        minutes += went[p] ? s->reach[p] : 0;
    return minutes;
}
