/* The order of steps of assembly: by hand, and random ones against all that is written spelled out. */
#include "help.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The names in the order of work; "" when it does not load. */
static void expect_order(const char *steps, const char *expected)
{
    char told[400] = "";
    compiled made = compile_body(steps);
    for (uint32_t i = 1; made.status == CW_OK && i <= made.model->assembly_steps_count; i++)
        strcat(strcat(told, i > 1 ? " " : ""), made.model->assembly_steps[i].name);
    cr_expect_str_eq(told, expected, "%s", steps);
    compiled_free(&made);
}
#define STEP(name, more) "  " name ": {title: T, do: D., source: s" more "}\n"

Test(assembly, by_name_where_nothing_is_said)
{
    expect_order("steps:\n" STEP("c", "") STEP("a", "") STEP("b", ""), "a b c");
    expect_order("steps: {}\n", "");
}

Test(assembly, one_line_of_work_is_carried_to_its_end)
{
    expect_order("steps:\n" STEP("a", "") STEP("b", "") STEP("y", ", after: a") STEP("x", ", after: b")
                     STEP("z", ", after: [x, y]"),
                 "a y b x z");
    expect_order("steps:\n" STEP("a", "") STEP("b", ", after: a") STEP("c", ", after: a, before: b")
                     STEP("d", ", before: [a]"),
                 "d a c b");
}

Test(assembly, a_step_in_anothers_place_has_that_place)
{
    const char *rest = STEP("a", "") STEP("m", ", after: a, before: x") STEP("n", ", after: m") STEP("x", "");
    char text[900];
    snprintf(text, sizeof text, "steps:\n%s" STEP("b", ", instead_of: m"), rest);
    expect_order(text, "a b m n x");
    snprintf(text, sizeof text, "steps:\n%s" STEP("b", ", instead_of: m, after: []"), rest);
    expect_order(text, "a m b n x"); /* m goes on where a ended */
    snprintf(text, sizeof text, "steps:\n%s" STEP("w", ", instead_of: m, before: []"), rest);
    expect_order(text, "a m x w n"); /* x waits for m alone */
    snprintf(text, sizeof text, "steps:\n%s" STEP("b", ", instead_of: m, after: m"), rest);
    expect_order(text, "a m b n x");
    snprintf(text, sizeof text, "steps:\n%s" STEP("z", ", instead_of: m, before: m"), rest);
    expect_order(text, "a z m n x"); /* it waits for a, too */
    snprintf(text, sizeof text,
             "steps:\n%s" STEP("b", ", instead_of: m, after: c") STEP("c", ", instead_of: m"), rest);
    expect_order(text, "a c b m n x");
}

enum { MOST = 9 };

typedef struct drawn {
    uint32_t count;
    bool after[MOST][MOST], before[MOST][MOST];
    bool own_after[MOST], own_before[MOST];
    int instead[MOST]; /* -1: of none */
} drawn;

static bool in_one_place(const drawn *d, uint32_t a, uint32_t b)
{
    return d->instead[a] == (int)b || d->instead[b] == (int)a;
}

/* must[a][b]: a comes before b. What is not said is taken over, but for what is said within the place. */
static void spell_out(const drawn *d, bool must[MOST][MOST])
{
    memset(must, 0, sizeof(bool[MOST][MOST]));
    for (uint32_t i = 0; i < d->count; i++)
        for (uint32_t k = 0; k < d->count; k++) {
            if (d->after[i][k]) {
                bool inside = in_one_place(d, k, i);
                for (uint32_t a = 0; a < d->count; a++)
                    if ((a == k || d->instead[a] == (int)k) && (!inside || a == k))
                        must[a][i] = true;
                for (uint32_t b = 0; b < d->count && !inside; b++)
                    if (d->instead[b] == (int)i && !d->own_after[b])
                        for (uint32_t a = 0; a < d->count; a++)
                            if (a == k || d->instead[a] == (int)k)
                                must[a][b] = true;
            }
            if (d->before[i][k]) {
                bool inside = in_one_place(d, k, i);
                for (uint32_t b = 0; b < d->count; b++)
                    if ((b == k || d->instead[b] == (int)k) && (!inside || b == k))
                        must[i][b] = true;
                for (uint32_t a = 0; a < d->count && !inside; a++)
                    if (d->instead[a] == (int)i && !d->own_before[a])
                        for (uint32_t b = 0; b < d->count; b++)
                            if (b == k || d->instead[b] == (int)k)
                                must[a][b] = true;
            }
        }
}

static bool goes_round(bool must[MOST][MOST], uint32_t count)
{
    bool reach[MOST][MOST];
    memcpy(reach, must, sizeof reach);
    for (uint32_t k = 0; k < count; k++) /* Warshall 1962 */
        for (uint32_t i = 0; i < count; i++)
            for (uint32_t j = 0; j < count; j++)
                reach[i][j] = reach[i][j] || (reach[i][k] && reach[k][j]);
    for (uint32_t i = 0; i < count; i++)
        if (reach[i][i])
            return true;
    return false;
}

static drawn draw(random_state *random)
{
    drawn d = {.count = 2 + random_below(random, MOST - 1)};
    for (uint32_t i = 0; i < d.count; i++) {
        d.instead[i] = -1;
        d.own_after[i] = random_below(random, 3) > 0;
        d.own_before[i] = random_below(random, 4) == 0;
        for (uint32_t k = 0; k < d.count; k++) {
            /* mostly onward, so that about half of them do not go round */
            d.after[i][k] = d.own_after[i] && random_below(random, k < i ? 4 : 40) == 0;
            d.before[i][k] = d.own_before[i] && random_below(random, k > i ? 4 : 40) == 0;
        }
    }
    for (uint32_t i = 0; i < d.count; i++) {
        uint32_t of = random_below(random, d.count);
        bool stood_for = false;
        for (uint32_t k = 0; k < d.count; k++)
            stood_for = stood_for || d.instead[k] == (int)i;
        if (of != i && d.instead[of] < 0 && !stood_for && random_below(random, 3) == 0)
            d.instead[i] = (int)of;
    }
    return d;
}

static void write_names(char *text, const char *key, const bool *named, uint32_t count)
{
    sprintf(text + strlen(text), ", %s: [", key);
    bool more = false;
    for (uint32_t k = 0; k < count; k++)
        if (named[k]) {
            sprintf(text + strlen(text), "%ss%u", more ? ", " : "", k);
            more = true;
        }
    strcat(text, "]");
}

static void write_steps(const drawn *d, char *text)
{
    strcpy(text, "steps:\n");
    for (uint32_t i = 0; i < d->count; i++) {
        sprintf(text + strlen(text), "  s%u: {title: T, do: D., source: s", i);
        if (d->instead[i] >= 0)
            sprintf(text + strlen(text), ", instead_of: s%d", d->instead[i]);
        if (d->own_after[i])
            write_names(text, "after", d->after[i], d->count);
        if (d->own_before[i])
            write_names(text, "before", d->before[i], d->count);
        strcat(text, "}\n");
    }
}

static void holds_to_all(const compiled *made, bool must[MOST][MOST], uint32_t count, const char *text)
{
    uint32_t place[MOST];
    cr_assert_eq(made->model->assembly_steps_count, count);
    for (uint32_t i = 1; i <= count; i++)
        place[atoi(made->model->assembly_steps[i].name + 1)] = i;
    for (uint32_t a = 0; a < count; a++)
        for (uint32_t b = 0; b < count; b++)
            cr_expect(!must[a][b] || place[a] < place[b], "s%u is not before s%u\n%s", a, b, text);
}

Test(assembly, random_steps_hold_to_all_that_is_written)
{
    random_state random = random_start(34);
    uint32_t round = 0, straight = 0;
    for (int i = 0; i < 1500; i++) {
        drawn d = draw(&random);
        bool must[MOST][MOST];
        char text[4000];
        write_steps(&d, text);
        spell_out(&d, must);
        compiled made = compile_body(text);
        bool circle = goes_round(must, d.count);
        cr_assert_eq(made.status, circle ? CW_BAD_INPUT : CW_OK, "%s", text);
        round += circle;
        straight += !circle;
        if (!circle)
            holds_to_all(&made, must, d.count, text);
        compiled_free(&made);
    }
    cr_expect_gt(round, 300u);
    cr_expect_gt(straight, 300u);
}

Test(assembly, everything_of_a_step_reaches_the_model)
{
    compiled made = compile_body(
        "causes:\n"
        "  zz: {title: Z, part: rectifier, seen: 1 %, source: s, leads_to: {aa: often}}\n"
        "  aa: {title: A, part: rectifier, seen: 1 %, source: s}\n"
        "steps:\n"
        "  join:\n"
        "    {title: Join, do: Join it., source: cp, part: rectifier, cautions: hot_case, tool: iron,\n"
        "     figure: 350 degF, picture: p, mistake: Cold., comes_back_as: [zz, aa], because: b,\n"
        "     only_if: {lamp: on}, shows_when: {setting: low}}\n"
        "  weld: {title: Weld, do: Weld it., source: cp, instead_of: join}\n"
        "prices: {rectifier: 12.25}\n");
    cr_assert_eq(made.status, CW_OK);
    const cw_model *model = made.model;
    const cw_assembly_step *join = &model->assembly_steps[1];
    cr_expect_str_eq(join->name, "join");
    cr_expect_str_eq(join->title, "Join");
    cr_expect_str_eq(join->action, "Join it.");
    cr_expect_str_eq(join->source, "cp");
    cr_expect_str_eq(model->parts[join->part].name, "rectifier");
    cr_expect_eq(model->parts[join->part].cost, 12.25);
    cr_assert_eq(join->cautions.count, 1u);
    cr_expect_str_eq(model->cautions[model->caution_lists[join->cautions.first]].name, "hot_case");
    cr_expect_str_eq(join->tool, "iron");
    cr_expect_str_eq(join->figure, "350 degF");
    cr_expect_str_eq(join->picture, "p");
    cr_expect_str_eq(join->mistake, "Cold.");
    cr_expect_str_eq(join->because, "b");
    cr_assert_eq(join->comes_back_as.count, 2u);
    cr_expect_str_eq(model->causes[model->cause_lists[join->comes_back_as.first]].name, "zz",
                     "causes are numbered anew by rank");
    cr_expect_str_eq(model->causes[model->cause_lists[join->comes_back_as.first + 1]].name, "aa");
    cr_expect_str_eq(model->facts[model->atoms[join->only_if].fact].name, "lamp");
    cr_expect_str_eq(model->facts[model->atoms[join->shows_when].fact].name, "setting");
    cr_expect_eq(join->instead_of, 0u);
    cr_expect_eq(model->assembly_steps[2].instead_of, 1u);
    cr_expect_eq(model->assembly_steps[2].only_if, 0u);
    cr_expect_null(model->assembly_steps[2].mistake);
    compiled_free(&made);
}
