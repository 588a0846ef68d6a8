/* The reasoning behind one line, as a good foreman would put it: what it is, what speaks for it and how much,
 * what speaks against it, why not the other one, and what would change the picture. */
#include "session/inside.h"
#include <math.h>
#include <string.h>

enum { FEW = 4, LOOK = 8 }; /* reasons told on each side; lines explained at least */

typedef struct teller {
    cw_session *session;
    cw_arena *arena;
    const cw_ranking *ranking;
    const cw_line *line;
    size_t place; /* of the line in the ranking, from 0 */
    cw_vec out;   /* of const char * */
    cw_status status;
} teller;

static void tell(teller *tale, const char *paragraph)
{
    const char **slot = paragraph != NULL ? cw_vec_add(&tale->out) : NULL;
    if (slot == NULL)
        tale->status = CW_NO_MEMORY;
    else
        *slot = paragraph;
}

static const char *small(const teller *tale, const char *title)
{
    if (tale->ranking->of_units)
        return title;
    const char *said = cw_say_small(tale->arena, title);
    return said != NULL ? said : title;
}

static const char *chance(const teller *tale, double probability)
{
    const char *said = cw_say_chance(tale->arena, probability);
    return said != NULL ? said : "?";
}

static const char *ordinal(size_t place)
{
    static const char *const names[] = {"Most likely", "Second", "Third", "Fourth", "Fifth"};
    return place < sizeof names / sizeof *names ? names[place] : "Further down";
}

static const char *where_words(const char *where)
{
    if (strcmp(where, "unit") == 0)
        return "in the unit";
    return strcmp(where, "vehicle") == 0 ? "outside the unit, on the vehicle"
                                         : "outside the unit, in how it was fitted";
}

static void tell_what(teller *tale)
{
    const cw_line *line = tale->line;
    const char *spread = "";
    if (line->high - line->low > 0.01)
        spread = cw_arena_format(tale->arena, ", somewhere from %s to %s", chance(tale, line->low),
                                 chance(tale, line->high));
    if (spread == NULL)
        tell(tale, NULL);
    else if (line->part_title == NULL)
        tell(tale, cw_arena_format(tale->arena, "%s: %s (%s%s).", ordinal(tale->place), line->title,
                                   chance(tale, line->probability), spread));
    else
        tell(tale, cw_arena_format(tale->arena, "%s: %s (%s%s). It is %s.", ordinal(tale->place),
                                   small(tale, line->title), chance(tale, line->probability), spread,
                                   where_words(line->where)));
    if (line->part_title != NULL && line->notes != NULL)
        tell(tale, line->notes);
}

/* "AC ripple is high (0.7 V). A healthy bridge ... (common practice). Without it: 12 %." */
static const char *reason_words(teller *tale, const cw_for_against *reason)
{
    cw_text text = cw_text_in(tale->arena);
    bool direct = strcmp(reason->through, reason->check) == 0;
    const char *title = cw_say_small(tale->arena, direct ? reason->title : reason->through_shown);
    const char *check = cw_say_small(tale->arena, reason->title);
    if (title == NULL || check == NULL)
        return NULL;
    if (direct)
        cw_text_format(&text, "%s: %s.", title, reason->shown);
    else
        cw_text_format(&text, "%s, as %s shows: %s.", title, check, reason->shown);
    if (reason->because != NULL)
        cw_text_format(&text, " %s", reason->because);
    if (reason->because != NULL && reason->source != NULL)
        cw_text_format(&text, " (%s)", reason->source);
    cw_text_format(&text, " Without it: %s.", chance(tale, reason->without));
    return cw_text_done(&text);
}

static void tell_side(teller *tale, const char *label, const cw_for_against *reasons, size_t count,
                      const char *none)
{
    if (count == 0)
        tell(tale, cw_arena_format(tale->arena, "%s: %s.", label, none));
    for (size_t i = 0; i < count && i < FEW && tale->status == CW_OK; i++) {
        const char *words = reason_words(tale, &reasons[i]);
        const char *what = fabs(reasons[i].bits) < 0.5 ? ", a little" : "";
        tell(tale, words != NULL
                       ? cw_arena_format(tale->arena, "%s%s: %s", i == 0 ? label : "Also", what, words)
                       : NULL);
    }
    if (count > FEW)
        tell(tale, cw_arena_format(tale->arena, "And %zu weaker ones on this side.", count - FEW));
}

/* The line's probability without the answer; one that hardly moves it is not listed. */
static double without_of(const cw_line *line, const char *check)
{
    for (size_t i = 0; i < line->for_count; i++) {
        if (strcmp(line->for_[i].check, check) == 0)
            return line->for_[i].without;
    }
    for (size_t i = 0; i < line->against_count; i++) {
        if (strcmp(line->against[i].check, check) == 0)
            return line->against[i].without;
    }
    return line->probability;
}

/* By how many bits the answer lifts the first line over the second. */
static double apart(const cw_line *first, const cw_line *second, const char *check)
{
    return log2(first->probability / second->probability) -
           log2(without_of(first, check) / without_of(second, check));
}

/* The answer that sets the first line apart from the second most; NULL if none does. */
static const cw_for_against *what_parts(const cw_line *first, const cw_line *second)
{
    const cw_for_against *best = NULL;
    double most = 0.3;
    for (size_t i = 0; i < first->for_count + second->against_count; i++) {
        const cw_for_against *reason =
            i < first->for_count ? &first->for_[i] : &second->against[i - first->for_count];
        double bits = apart(first, second, reason->check);
        if (bits > most) {
            most = bits;
            best = reason;
        }
    }
    return best;
}

static const char *other_head(const teller *tale, const cw_line *winner, const cw_line *loser)
{
    if (tale->place > 0)
        return cw_arena_format(tale->arena, "Why %s comes first (%s):", small(tale, winner->title),
                               chance(tale, winner->probability));
    return cw_arena_format(tale->arena, "Why not %s (%s):", small(tale, loser->title),
                           chance(tale, loser->probability));
}

/* Why not the other one: for the first line the runner-up, for any other the first. Causes do not exclude
 * each other. */
static void tell_other(teller *tale)
{
    const cw_ranking *ranking = tale->ranking;
    if (ranking->count < 2)
        return;
    const cw_line *winner = &ranking->lines[0];
    const cw_line *loser = tale->place == 0 ? &ranking->lines[1] : tale->line;
    if (loser->probability < 0.005)
        return;
    if (!ranking->of_units && tale->place == 0 && loser->probability >= 0.5) {
        tell(tale,
             cw_arena_format(tale->arena, "It need not be alone: %s is more likely than not as well (%s).",
                             small(tale, loser->title), chance(tale, loser->probability)));
        return;
    }
    const char *head = other_head(tale, winner, loser);
    const cw_for_against *parts = what_parts(winner, loser);
    const char *title = parts != NULL ? cw_say_small(tale->arena, parts->title) : "";
    if (head == NULL || title == NULL)
        tell(tale, NULL);
    else if (parts != NULL)
        tell(tale, cw_arena_format(tale->arena, "%s %s (%s) fits %s better.", head, title, parts->shown,
                                   small(tale, winner->title)));
    else if (winner->probability > loser->probability * 1.05)
        tell(tale,
             cw_arena_format(tale->arena, "%s no answer so far tells the two apart; %s is only the commoner.",
                             head, small(tale, winner->title)));
    else
        tell(tale, cw_arena_format(tale->arena, "%s no answer so far tells the two apart.", head));
}

static void tell_root(teller *tale)
{
    const cw_ranking *ranking = tale->ranking;
    for (size_t i = 0; i < ranking->plan_count; i++) {
        const char *root = strcmp(ranking->plan[i].cause, tale->line->id) == 0 ? ranking->plan[i].root : NULL;
        if (root == NULL)
            continue;
        const char *title = cw_pack_cause_title(tale->session->pack, root);
        tell(tale,
             cw_arena_format(tale->arena,
                             "Behind it, more likely than not: %s. A part replaced without that comes back.",
                             small(tale, title)));
    }
}

static void tell_doubt(teller *tale)
{
    const cw_fact_info *facts;
    size_t count;
    tale->status = cw_session_facts(tale->session, &facts, &count);
    for (size_t i = 0; tale->status == CW_OK && i < count; i++) {
        if (facts[i].contested)
            tell(tale, cw_arena_format(tale->arena, "Counts neither way, being in dispute: %s: %s.",
                                       facts[i].title, facts[i].shown));
        else if (facts[i].doubtful)
            tell(tale, cw_arena_format(tale->arena,
                                       "Counts neither way, the reading being too near a limit: %s: %s.",
                                       facts[i].title, facts[i].shown));
    }
}

/* Where two signs rest on one reading, only the more specific counted. */
static void tell_once(teller *tale)
{
    cw_session *session = tale->session;
    const cw_evidence *evidence;
    size_t count;
    tale->status =
        cw_evidence_collect(session->chain, cw_session_about(session), tale->arena, &evidence, &count);
    for (size_t i = 0; tale->status == CW_OK && i < count; i++) {
        if (evidence[i].yields_to == 0)
            continue;
        const char *what = cw_say_fact(session, tale->arena, evidence[i].fact);
        const char *counts = cw_say_fact(session, tale->arena, evidence[i].yields_to);
        tell(tale,
             what != NULL && counts != NULL
                 ? cw_arena_format(tale->arena, "Counted once only: %s rests on the same reading as %s.",
                                   what, counts)
                 : NULL);
    }
}

static void tell_change(teller *tale)
{
    const cw_ranking *ranking = tale->ranking;
    if (ranking->deciding_check != NULL) {
        const cw_check_info *check = cw_pack_check(tale->session->pack, ranking->deciding_check, NULL);
        const char *title = check != NULL ? cw_say_small(tale->arena, check->title) : "";
        tell(tale, cw_arena_format(tale->arena, "What would change this: without %s, %s would come first.",
                                   title != NULL ? title : "", small(tale, ranking->deciding_instead)));
    }
    const cw_next *next;
    tale->status = tale->status == CW_OK ? cw_session_next(tale->session, &next) : tale->status;
    if (tale->status != CW_OK)
        return;
    const char *lead = ranking->deciding_check != NULL ? "Or" : "What would change this";
    if (next->count > 0) {
        const char *title = cw_say_small(tale->arena, next->checks[0].check->title);
        tell(tale, cw_arena_format(tale->arena, "%s: %s, still to be looked at. %s", lead,
                                   title != NULL ? title : "", next->checks[0].why));
    } else if (ranking->deciding_check == NULL) {
        tell(tale,
             "What would change this: no single answer given, and nothing that is left to look at here.");
    }
}

static cw_status find_line(teller *tale, const char *id)
{
    const cw_ranking *ranking = tale->ranking;
    for (size_t i = 0; i < ranking->count; i++) {
        if (id == NULL || strcmp(ranking->lines[i].id, id) == 0) {
            tale->line = &ranking->lines[i];
            tale->place = i;
            return CW_OK;
        }
    }
    return CW_NOT_FOUND;
}

static void tell_all(teller *tale)
{
    tell_what(tale);
    if (!tale->ranking->possible)
        tell(tale, "The answers together fit nothing the packs know; one of them is wrong. The figures are "
                   "those of any job.");
    if (tale->status == CW_OK)
        tell_side(tale, "For it", tale->line->for_, tale->line->for_count, "nothing told so far");
    if (tale->status == CW_OK)
        tell_side(tale, "Against it", tale->line->against, tale->line->against_count, "nothing told so far");
    if (tale->status == CW_OK)
        tell_other(tale);
    if (tale->status == CW_OK)
        tell_root(tale);
    if (tale->status == CW_OK)
        tell_doubt(tale);
    if (tale->status == CW_OK)
        tell_once(tale);
    if (tale->status == CW_OK)
        tell_change(tale);
}

/* A line far down is explained too: reasons are then worked out that far. */
static cw_status explain_to(teller *tale, const char *id)
{
    cw_status status = cw_session_ranking(tale->session, LOOK, &tale->ranking);
    if (status == CW_OK)
        status = find_line(tale, id);
    if (status == CW_OK && tale->place >= LOOK)
        status = cw_session_ranking(tale->session, tale->place + 1, &tale->ranking);
    return status == CW_OK ? find_line(tale, id) : status;
}

static cw_status hand_out(teller *tale, const char *const **paragraphs, size_t *count)
{
    const char **list = CW_NEW_ARRAY(tale->arena, const char *, tale->out.count);
    if (list == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < tale->out.count; i++)
        list[i] = *CW_VEC_AT(&tale->out, const char *, i);
    *paragraphs = list;
    *count = tale->out.count;
    return CW_OK;
}

cw_status cw_session_why(cw_session *session, const char *id, const char *const **paragraphs, size_t *count)
{
    if (session == NULL || paragraphs == NULL || count == NULL)
        return CW_BAD_CALL;
    teller tale = {.session = session, .arena = session->replies, .status = CW_OK};
    tale.out = CW_VEC_INIT(&session->allocator, const char *);
    const cw_caution_info *stopper = cw_session_stopper(session);
    cw_status status = CW_OK;
    const bool nothing_else = cw_session_halt(session) == CW_HALT_ALL;
    if (stopper != NULL && id == NULL)
        tell(&tale, stopper->say);
    if (!nothing_else || id != NULL)
        status = explain_to(&tale, id);
    if (status == CW_OK && !nothing_else)
        tell_all(&tale);
    if (status == CW_OK)
        status = tale.status;
    if (status == CW_OK)
        status = hand_out(&tale, paragraphs, count);
    cw_vec_dispose(&tale.out);
    return status;
}

cw_status cw_session_proof(cw_session *session, const char *fact, const char *const **lines, size_t *count)
{
    if (session == NULL || fact == NULL || lines == NULL || count == NULL)
        return CW_BAD_CALL;
    cw_fact_id id = cw_model_fact(session->model, fact);
    if (id == 0)
        return CW_NOT_FOUND;
    cw_trail trail;
    cw_status status = cw_trail_walk(session->chain, session->replies, NULL, 0, &id, 1, &trail);
    if (status != CW_OK)
        return status;
    if (trail.count == 0 && trail.answer_count == 0)
        return CW_NOT_FOUND;
    return cw_say_trail(session, session->replies, &trail, lines, count);
}
