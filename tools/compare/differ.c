#include "compare/differ.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LINES = 3, EXPLAINED = 12 };
#define LEAST_BITS 0.05 /* less is not told */

typedef struct finder {
    const differ_side *was, *now;
    const cw_fact_info *facts[2]; /* of was, now */
    size_t fact_counts[2];
    const cw_ranking *rankings[2];
    differences *out;
    cw_status status;
} finder;

static char *copy(finder *f, const char *text)
{
    char *made = text != NULL ? strdup(text) : NULL;
    if (text != NULL && made == NULL)
        f->status = CW_NO_MEMORY;
    return made;
}

/* A new one at the end; NULL when memory is out. */
static difference *add(finder *f, difference one)
{
    differences *out = f->out;
    if (out->count == out->room) {
        size_t room = out->room * 2 + 8;
        difference *list = realloc(out->list, room * sizeof *list);
        if (list == NULL) {
            f->status = CW_NO_MEMORY;
            return NULL;
        }
        out->list = list;
        out->room = room;
    }
    out->list[out->count] = one;
    return &out->list[out->count++];
}

/* ---- facts ---- */

static bool is_open(const cw_fact_info *fact)
{
    return fact->doubtful || fact->contested;
}

static bool alike(const cw_fact_info *a, const cw_fact_info *b)
{
    return strcmp(a->fact, b->fact) == 0 && strcmp(a->value, b->value) == 0 && is_open(a) == is_open(b);
}

static const cw_fact_info *same_in(const finder *f, int side, const cw_fact_info *wanted)
{
    for (size_t i = 0; i < f->fact_counts[side]; i++) {
        if (alike(&f->facts[side][i], wanted))
            return &f->facts[side][i];
    }
    return NULL;
}

/* What is concluded of the fact on that side and not on the other. */
static const cw_fact_info *other_of(const finder *f, int side, const char *fact)
{
    for (size_t i = 0; i < f->fact_counts[side]; i++) {
        const cw_fact_info *one = &f->facts[side][i];
        if (strcmp(one->fact, fact) == 0 && same_in(f, 1 - side, one) == NULL)
            return one;
    }
    return NULL;
}

static bool fact_differs(const finder *f, const char *fact)
{
    return other_of(f, 0, fact) != NULL || other_of(f, 1, fact) != NULL;
}

/* It rests on something that differs itself. */
static bool rests_on_different(const finder *f, const cw_fact_info *fact)
{
    for (size_t i = 0; fact != NULL && i < fact->from_count; i++) {
        const char *from = fact->from_facts[i];
        if (from != NULL && strcmp(from, fact->fact) != 0 && fact_differs(f, from))
            return true;
    }
    return false;
}

static void add_fact(finder *f, const cw_fact_info *was, const cw_fact_info *now)
{
    const cw_fact_info *any = now != NULL ? now : was;
    difference *one = add(f, (difference){.kind = DIFFERS_FACT,
                                          .follows = rests_on_different(f, was) || rests_on_different(f, now),
                                          .was_open = was != NULL && is_open(was),
                                          .now_open = now != NULL && is_open(now)});
    if (one == NULL)
        return;
    one->fact = copy(f, any->fact);
    one->title = copy(f, any->title);
    one->was = copy(f, was != NULL ? was->shown : NULL);
    one->now = copy(f, now != NULL ? now->shown : NULL);
    one->was_rule = copy(f, was != NULL ? was->rule : NULL);
    one->now_rule = copy(f, now != NULL ? now->rule : NULL);
}

static bool told_before(const finder *f, const char *fact)
{
    for (size_t i = 0; i < f->out->count; i++) {
        if (f->out->list[i].kind == DIFFERS_FACT && strcmp(f->out->list[i].fact, fact) == 0)
            return true;
    }
    return false;
}

static void find_facts(finder *f)
{
    for (int side = 0; side < 2; side++) {
        for (size_t i = 0; f->status == CW_OK && i < f->fact_counts[side]; i++) {
            const char *fact = f->facts[side][i].fact;
            if (fact_differs(f, fact) && !told_before(f, fact))
                add_fact(f, other_of(f, 0, fact), other_of(f, 1, fact));
        }
    }
}

/* ---- lines ---- */

static const cw_line *line_in(const cw_ranking *ranking, const char *id)
{
    for (size_t i = 0; i < ranking->count; i++) {
        if (strcmp(ranking->lines[i].id, id) == 0)
            return &ranking->lines[i];
    }
    return NULL;
}

static double chance_in(const cw_ranking *ranking, const char *id, bool *there)
{
    const cw_line *line = line_in(ranking, id);
    bool unlisted = ranking->of_units && strcmp(id, "not_listed") == 0;
    *there = line != NULL || unlisted;
    return line != NULL ? line->probability : unlisted ? ranking->not_listed : 0;
}

static void find_seen(finder *f, const char *id)
{
    bool was, now;
    double before = chance_in(f->was->untold, id, &was), after = chance_in(f->now->untold, id, &now);
    difference one = {.kind = DIFFERS_SEEN, .before = before, .after = after, .in_old = was, .in_new = now};
    if (was != now) {
        one.kind = DIFFERS_LINE;
        one.size = INFINITY;
    } else if (before > 0 && after > 0) {
        one.size = fabs(log2(after / before));
    }
    if (one.size < LEAST_BITS)
        return;
    difference *made = add(f, one);
    if (made != NULL)
        made->line = copy(f, id);
}

/* The i-th reason of a line, for it or against it. */
static const cw_for_against *reason_at(const cw_line *line, size_t index)
{
    if (index < line->for_count)
        return &line->for_[index];
    return index - line->for_count < line->against_count ? &line->against[index - line->for_count] : NULL;
}

static const cw_for_against *same_reason(const cw_line *line, const cw_for_against *wanted)
{
    const cw_for_against *one;
    for (size_t i = 0; line != NULL && (one = reason_at(line, i)) != NULL; i++) {
        if (strcmp(one->check, wanted->check) == 0 && strcmp(one->through, wanted->through) == 0)
            return one;
    }
    return NULL;
}

static void add_sign(finder *f, const char *line, const cw_for_against *was, const cw_for_against *now)
{
    const cw_for_against *any = now != NULL ? now : was;
    double before = was != NULL ? was->bits : 0, after = now != NULL ? now->bits : 0;
    if (!(fabs(after - before) >= LEAST_BITS))
        return;
    difference *one = add(f, (difference){.kind = DIFFERS_SIGN,
                                          .follows = fact_differs(f, any->through),
                                          .size = fabs(after - before),
                                          .before = before,
                                          .after = after});
    if (one == NULL)
        return;
    one->line = copy(f, line);
    one->fact = copy(f, any->through);
    one->title = copy(f, any->through_shown);
    one->check = copy(f, any->check);
    one->was_rule = copy(f, was != NULL ? was->rule : NULL);
    one->now_rule = copy(f, now != NULL ? now->rule : NULL);
}

static void find_signs(finder *f, const char *id)
{
    const cw_line *lines[2] = {line_in(f->rankings[0], id), line_in(f->rankings[1], id)};
    const cw_for_against *one;
    if (lines[0] == NULL || lines[1] == NULL)
        return;
    for (size_t i = 0; f->status == CW_OK && (one = reason_at(lines[0], i)) != NULL; i++)
        add_sign(f, id, one, same_reason(lines[1], one));
    for (size_t i = 0; f->status == CW_OK && (one = reason_at(lines[1], i)) != NULL; i++) {
        if (same_reason(lines[0], one) == NULL)
            add_sign(f, id, NULL, one);
    }
}

/* What an answer says of a line when nothing else is told. False: nothing, by itself. */
static bool told_alone(finder *f, const differ_side *side, const difference *sign, double *bits)
{
    const cw_given *given;
    size_t count = 0, at = 0;
    cw_session *alone = NULL;
    const cw_ranking *ranking;
    bool found = false;
    cw_status status = cw_session_answers(side->session, &given, &count);
    while (at < count && strcmp(given[at].check, sign->check) != 0)
        at++;
    if (status == CW_OK && at < count)
        status = cw_session_new(side->pack, cw_session_stage(side->session), &alone);
    if (alone == NULL) {
        f->status = status;
        return false;
    }
    if (status == CW_OK)
        status =
            cw_session_answer(alone, sign->check, given[at].value, given[at].tool, given[at].place, NULL);
    if (status == CW_OK)
        status = cw_session_ranking(alone, 0, &ranking);
    for (size_t i = 0; status == CW_OK && i < ranking->count; i++) {
        if (strcmp(ranking->lines[i].id, sign->line) != 0)
            continue;
        const cw_for_against wanted = {.check = sign->check, .through = sign->fact};
        status = cw_session_ranking(alone, i + 1, &ranking);
        const cw_for_against *one = status == CW_OK ? same_reason(&ranking->lines[i], &wanted) : NULL;
        found = one != NULL;
        *bits = found ? one->bits : 0;
        break;
    }
    cw_session_free(alone);
    f->status = status;
    return found;
}

/* A sign that says the same in both versions when nothing else is told has not changed itself. One that rests
 * on rules which want more than this answer says nothing alone, and stays open to be read as changed. */
static void find_own(finder *f)
{
    for (size_t i = 0; f->status == CW_OK && i < f->out->count; i++) {
        difference *one = &f->out->list[i];
        double was = 0, now = 0;
        if (one->kind != DIFFERS_SIGN || one->follows)
            continue;
        bool before = told_alone(f, f->was, one, &was);
        bool after = f->status == CW_OK && told_alone(f, f->now, one, &now);
        bool direct = strcmp(one->check, one->fact) == 0;
        one->follows = (before || after || direct) && fabs(now - was) < LEAST_BITS;
    }
}

/* ---- all together ---- */

/* The ranking with reasons for the lines that are looked at. */
static cw_status explain(cw_session *session, const char *const *ids, size_t count, const cw_ranking **out)
{
    size_t wanted = 0;
    cw_status status = cw_session_ranking(session, 0, out);
    for (size_t i = 0; status == CW_OK && i < (*out)->count && i < EXPLAINED; i++) {
        for (size_t k = 0; k < count; k++)
            wanted = strcmp((*out)->lines[i].id, ids[k]) == 0 ? i + 1 : wanted;
    }
    return status == CW_OK ? cw_session_ranking(session, wanted, out) : status;
}

static size_t lines_of(const finder *f, const char *ids[LINES])
{
    const char *const all[LINES] = {f->now->score->first, f->was->score->first,
                                    f->now->score->labelled ? f->now->score->truth : ""};
    size_t count = 0;
    for (size_t i = 0; i < LINES; i++) {
        bool known = all[i][0] == '\0';
        for (size_t k = 0; k < count; k++)
            known = known || strcmp(ids[k], all[i]) == 0;
        if (!known)
            ids[count++] = all[i];
    }
    return count;
}

static int rank_of(const difference *one)
{
    return one->kind == DIFFERS_LINE ? 0 : one->follows ? 3 : one->kind == DIFFERS_FACT ? 1 : 2;
}

static const char *word_of(const char *text)
{
    return text != NULL ? text : "";
}

static int what_began_it_first(const void *left, const void *right)
{
    const difference *a = left, *b = right;
    if (rank_of(a) != rank_of(b))
        return rank_of(a) - rank_of(b);
    if (a->size > b->size || a->size < b->size)
        return a->size > b->size ? -1 : 1;
    int by = strcmp(word_of(a->line), word_of(b->line));
    by = by != 0 ? by : strcmp(word_of(a->fact), word_of(b->fact));
    return by != 0 ? by : strcmp(word_of(a->check), word_of(b->check));
}

cw_status differ_find(const differ_side *was, const differ_side *now, differences *out)
{
    const char *ids[LINES] = {NULL};
    finder f = {.was = was, .now = now, .out = out};
    size_t count = lines_of(&f, ids);
    f.status = cw_session_facts(was->session, &f.facts[0], &f.fact_counts[0]);
    if (f.status == CW_OK)
        f.status = cw_session_facts(now->session, &f.facts[1], &f.fact_counts[1]);
    if (f.status == CW_OK)
        f.status = explain(was->session, ids, count, &f.rankings[0]);
    if (f.status == CW_OK)
        f.status = explain(now->session, ids, count, &f.rankings[1]);
    if (f.status == CW_OK)
        find_facts(&f);
    for (size_t i = 0; f.status == CW_OK && i < count; i++) {
        find_seen(&f, ids[i]);
        find_signs(&f, ids[i]);
    }
    if (f.status == CW_OK)
        find_own(&f);
    if (f.status == CW_OK && out->count > 0)
        qsort(out->list, out->count, sizeof *out->list, what_began_it_first);
    return f.status;
}

void differ_free(differences *list)
{
    for (size_t i = 0; i < list->count; i++) {
        difference *one = &list->list[i];
        char *const texts[] = {one->line, one->fact, one->title,    one->check,
                               one->was,  one->now,  one->was_rule, one->now_rule};
        for (size_t k = 0; k < sizeof texts / sizeof *texts; k++)
            free(texts[k]);
    }
    free(list->list);
    *list = (differences){0};
}
