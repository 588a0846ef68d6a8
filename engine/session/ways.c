/* What the ways to go on come to, in trade words: the check that saves most, or the part to change now, or
 * handing it back. */
#include "session/inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { PARTS_NAMED = 3 };

/* "changing the rectifier"; a cause that no part cures is seen to. */
static const char *say_what(const cw_session *session, const cw_repair *repair)
{
    const cw_model *model = session->model;
    cw_arena *arena = session->replies;
    const cw_cause *cause = &model->causes[repair->causes[0]];
    const char *parts[PARTS_NAMED];
    size_t count = cause->replace.count < PARTS_NAMED ? cause->replace.count : PARTS_NAMED;
    if (repair->exchange)
        return "putting another unit in its place";
    if (count == 0)
        return cw_arena_format(arena, "seeing to \"%s\"", cause->title);
    for (size_t i = 0; i < count; i++) {
        const char *title =
            cw_say_small(arena, model->parts[model->part_lists[cause->replace.first + i]].title);
        parts[i] = title != NULL ? cw_arena_format(arena, "the %s", title) : NULL;
        if (parts[i] == NULL)
            return NULL;
    }
    const char *list = cw_say_list(arena, parts, count, "and");
    return list != NULL ? cw_arena_format(arena, "changing %s", list) : NULL;
}

static bool list_repair(const cw_session *session, const cw_repair *from, cw_repair_line *to)
{
    const cw_model *model = session->model;
    const char **causes = CW_NEW_ARRAY(session->replies, const char *, from->cause_count);
    const char **titles = CW_NEW_ARRAY(session->replies, const char *, from->cause_count);
    if (causes == NULL || titles == NULL)
        return false;
    for (uint32_t i = 0; i < from->cause_count; i++) {
        causes[i] = model->causes[from->causes[i]].name;
        titles[i] = model->causes[from->causes[i]].title;
    }
    *to = (cw_repair_line){.what = say_what(session, from),
                           .causes = causes,
                           .titles = titles,
                           .cause_count = from->cause_count,
                           .exchange = from->exchange,
                           .probability = from->probability,
                           .minutes = from->minutes,
                           .parts = from->parts,
                           .no_price = from->no_price != 0 ? model->parts[from->no_price].title : NULL,
                           .cost = from->cost};
    return to->what != NULL;
}

/* "12", "3.40" of the shop's money; "25 minutes", where it stands alone. */
static const char *say_cost(const cw_session *session, const cw_ways *ways, double cost)
{
    if (!ways->money && cost < 1.5)
        return cost < 0.75 ? "half a minute" : "a minute";
    if (!ways->money)
        return cw_arena_format(session->replies, "%.0f minutes", cost);
    return cw_arena_format(session->replies, cost < 9.995 ? "%.2f" : "%.0f", cost);
}

static const char *say_first(const cw_session *session, const cw_proposal *first)
{
    assert(first != NULL); /* a test comes first only where there is one */
    return first->minutes < 0.75
               ? cw_arena_format(session->replies, "%s first (half a minute or less)",
                                 session->model->checks[first->check].title)
               : cw_arena_format(session->replies, "%s first (%.0f min)",
                                 session->model->checks[first->check].title, first->minutes);
}

/* The way that is best but for testing, as the end of a sentence, and what it comes to. */
static const char *say_other(const cw_session *session, const cw_ways *ways, double *cost)
{
    bool repair = ways->repair >= 0 && (ways->best == NULL || strcmp(ways->best, "hand_back") != 0);
    *cost = repair ? ways->repair : ways->hand_back;
    if (repair)
        return cw_arena_format(session->replies, "%s now", ways->repairs[0].what);
    return *cost >= 0 ? "handing it back as it is" : NULL;
}

static const char *say_test(const cw_session *session, const cw_proposal *first, const cw_ways *ways)
{
    cw_arena *arena = session->replies;
    double cost = 0;
    const char *check = say_first(session, first), *other = say_other(session, ways, &cost);
    if (check == NULL || other == NULL)
        return check == NULL ? NULL : cw_arena_format(arena, "%s costs least.", check);
    const char *saves = say_cost(session, ways, cost - ways->test);
    const char *whole =
        cw_arena_format(arena, "%.0f against %.0f%s", ways->test, cost, ways->money ? "" : " minutes");
    return saves != NULL && whole != NULL
               ? cw_arena_format(arena, "%s saves about %s on average compared with %s (the whole job: %s).",
                                 check, saves, other, whole)
               : NULL;
}

/* What a check first would make it; "" where none tells anything. */
static const char *say_dearer(const cw_session *session, const cw_proposal *first, const cw_ways *ways)
{
    if (first == NULL)
        return "";
    const char *check = say_first(session, first), *cost = say_cost(session, ways, ways->test);
    return check != NULL && cost != NULL
               ? cw_arena_format(session->replies, " %s would make it %s.", check, cost)
               : NULL;
}

static const char *say_capital(const cw_session *session, const char *words)
{
    return cw_arena_format(session->replies, "%c%s",
                           words[0] >= 'a' && words[0] <= 'z' ? words[0] - 32 : words[0], words + 1);
}

static const char *say_act(const cw_session *session, const cw_proposal *first, const cw_ways *ways)
{
    double cost = 0;
    const char *other = say_other(session, ways, &cost), *dearer = say_dearer(session, first, ways);
    const char *begins = other != NULL ? say_capital(session, other) : NULL;
    const char *comes_to = say_cost(session, ways, cost);
    const char *then = "";
    if (begins == NULL || dearer == NULL || comes_to == NULL)
        return NULL;
    if (ways->worth_count > 1)
        then = cw_arena_format(session->replies, " If that does not cure it: %s.", ways->repairs[1].what);
    return then != NULL ? cw_arena_format(session->replies,
                                          "%s costs least, about %s on average for the whole job.%s%s",
                                          begins, comes_to, dearer, then)
                        : NULL;
}

/* What is not counted. */
static const char *say_left_out(const cw_session *session, const cw_ways *ways)
{
    if (!ways->money)
        return " In minutes alone: it is not said what an hour costs.";
    for (size_t i = 0; i < ways->repair_count && i < ways->worth_count + (ways->worth_count == 0); i++)
        if (ways->repairs[i].no_price != NULL)
            return cw_arena_format(session->replies, " Without the price of: %s, which is not said.",
                                   ways->repairs[i].no_price);
    return "";
}

/* A second fault behind the first, where the repair spoken of would leave it. */
static const char *say_second(const cw_session *session, const cw_costing *costing, const cw_ways *ways)
{
    const cw_cause *causes = session->model->causes;
    if (costing->both <= 0 || costing->best == CW_WAY_HAND_BACK || ways->repair_count == 0)
        return "";
    return cw_arena_format(
        session->replies,
        " Reckon with two repairs: in %.0f of 100 such jobs there is \"%s\" beside \"%s\", "
        "and %s alone does not cure it.",
        100 * costing->both, causes[costing->behind].title, causes[costing->mended].title,
        ways->repairs[0].what);
}

static const char *say_words(const cw_session *session, const cw_costing *costing, const cw_proposal *first,
                             const cw_ways *ways)
{
    if (costing->state == CW_COSTED_NO_MINUTES)
        return cw_arena_format(
            session->replies,
            "What is cheaper, a check or a repair, cannot be told: it is not said what the "
            "repair takes for: %s. Checks go by what they tell in a minute.",
            session->model->causes[costing->lacks].title);
    if (costing->state == CW_COSTED_TOO_OPEN)
        return "Too much is open yet to hold a check against a repair; checks go by what they tell in a "
               "minute.";
    const char *main =
        costing->best == CW_WAY_TEST ? say_test(session, first, ways) : say_act(session, first, ways);
    const char *second = say_second(session, costing, ways), *left_out = say_left_out(session, ways);
    return main != NULL && second != NULL && left_out != NULL
               ? cw_arena_format(session->replies, "%s%s%s", main, second, left_out)
               : NULL;
}

/* No check that tells anything, no repair, nothing to hand back: no cause is possible any more, say. */
static bool nothing_to_decide(const cw_costing *costing)
{
    return costing->state == CW_COSTED && costing->test < 0 && costing->repair < 0 && costing->hand_back < 0;
}

cw_status cw_say_ways(cw_session *session, const cw_advice *advice, const cw_ways **out)
{
    static const char *const names[] = {
        [CW_WAY_TEST] = "test", [CW_WAY_REPAIR] = "repair", [CW_WAY_HAND_BACK] = "hand_back"};
    const cw_costing *costing = &advice->costing;
    *out = NULL;
    if (costing->state == CW_COSTED_NOT_ASKED || nothing_to_decide(costing))
        return CW_OK;
    cw_ways *ways = CW_NEW(session->replies, cw_ways);
    cw_repair_line *lines = CW_NEW_ARRAY(session->replies, cw_repair_line, costing->repair_count);
    if (ways == NULL || lines == NULL)
        return CW_NO_MEMORY;
    bool known = costing->state == CW_COSTED;
    *ways = (cw_ways){.known = known,
                      .money = costing->money,
                      .best = known ? names[costing->best] : NULL,
                      .test = known ? costing->test : -1,
                      .repair = known ? costing->repair : -1,
                      .hand_back = known ? costing->hand_back : -1,
                      .repairs = lines,
                      .repair_count = costing->repair_count,
                      .worth_count = costing->worth_count};
    for (uint32_t i = 0; i < costing->repair_count; i++)
        if (!list_repair(session, &costing->repairs[i], &lines[i]))
            return CW_NO_MEMORY;
    ways->words = say_words(session, costing, costing->first.check != 0 ? &costing->first : NULL, ways);
    *out = ways;
    return ways->words != NULL ? CW_OK : CW_NO_MEMORY;
}
