/* What to look at next, in a caller's words; or why there is nothing more to ask, and what then stays open.
 */
#include "session/inside.h"
#include <string.h>

/* A line of the proof sheet or a part is decided on by it; what it tells of causes stands behind that. */
static const char *say_due(cw_session *session, cw_settler *settler, const cw_proposal *proposal)
{
    if (proposal->line != 0)
        return cw_arena_format(session->replies, "For the proof sheet: %s.",
                               session->model->facts[proposal->line].title);
    const char *part = cw_say_small(session->replies, session->model->parts[proposal->part].title);
    const char *more = proposal->bits > 0 ? cw_settler_say(settler, proposal->check) : "";
    return part != NULL && more != NULL
               ? cw_arena_format(session->replies, "Reuse, rework or replace the %s?%s%s", part,
                                 more[0] != '\0' ? " " : "", more)
               : NULL;
}

/* No list has the unit; it is asked for the description. */
static const char *say_line(cw_session *session, const cw_proposal *proposal)
{
    const cw_model *model = session->model;
    if (model->checks[proposal->check].fact == proposal->line)
        return "For the description.";
    const char *line = cw_say_small(session->replies, cw_say_title(model, proposal->line));
    return line != NULL ? cw_arena_format(session->replies, "For the description: %s.", line) : NULL;
}

/* What it settles; for one of a pair, with what. */
static const char *say_why(cw_session *session, cw_settler *settler, const cw_proposal *proposal)
{
    if (proposal->line != 0 && session->stage == CW_IDENTIFY)
        return say_line(session, proposal);
    if (proposal->part != 0 || proposal->line != 0)
        return say_due(session, settler, proposal);
    const char *alone = cw_settler_say(settler, proposal->check);
    if (alone == NULL || proposal->with == 0)
        return alone;
    const char *other = cw_say_small(session->replies, session->model->checks[proposal->with].title);
    return other != NULL ? cw_arena_format(session->replies, "Together with %s: %s", other, alone) : NULL;
}

static cw_status list_checks(cw_session *session, const cw_advice *advice, const cw_ranking *ranking,
                             cw_next *out)
{
    cw_next_check *checks = CW_NEW_ARRAY(session->replies, cw_next_check, advice->count);
    cw_settler *settler;
    if (checks == NULL)
        return CW_NO_MEMORY;
    cw_status status = cw_settler_new(session, session->replies, ranking, &settler);
    for (size_t i = 0; status == CW_OK && i < advice->count; i++) {
        const cw_proposal *proposal = &advice->checks[i];
        checks[i] = (cw_next_check){.check = &session->pack->checks[proposal->check - 1],
                                    .place = cw_where_name(proposal->place),
                                    .minutes = proposal->minutes,
                                    .opens = proposal->opens,
                                    .expected = proposal->expected,
                                    .bits = proposal->bits,
                                    .why = say_why(session, settler, proposal)};
        if (proposal->part != 0) {
            checks[i].part = session->model->parts[proposal->part].name;
            checks[i].part_title = session->model->parts[proposal->part].title;
        }
        if (proposal->line != 0) {
            checks[i].line = session->model->facts[proposal->line].name;
            checks[i].line_title = cw_say_title(session->model, proposal->line);
        }
        if (proposal->with != 0)
            checks[i].with = &session->pack->checks[proposal->with - 1];
        if (checks[i].why == NULL)
            status = CW_NO_MEMORY;
    }
    out->checks = checks;
    out->count = advice->count;
    return status;
}

static double chance_of(const cw_ranking *ranking, const char *id)
{
    for (size_t i = 0; i < ranking->count; i++) {
        if (strcmp(ranking->lines[i].id, id) == 0)
            return ranking->lines[i].probability;
    }
    return 0;
}

/* Those beside the first of the group that are at least a tenth as probable: what has been told apart
 * already, but for a wrong reading, need not be told apart again. Returns how many are left; under two is no
 * group. */
static size_t name_alike(cw_session *session, const cw_twins *twins, const cw_ranking *ranking,
                         const char **ids, const char **titles)
{
    const cw_model *model = session->model;
    double first = 0;
    size_t count = 0;
    for (uint32_t k = 0; k < twins->count; k++) {
        if (ranking->of_units) {
            ids[count] = model->units[twins->members[k]].name;
            titles[count] = model->units[twins->members[k]].title;
        } else {
            ids[count] = model->causes[twins->members[k]].name;
            titles[count] = model->causes[twins->members[k]].title;
        }
        double chance = chance_of(ranking, ids[count]);
        first = k == 0 ? chance : first;
        count += chance >= 0.1 * first;
    }
    return count;
}

static cw_status list_alike(cw_session *session, const cw_advice *advice, const cw_ranking *ranking,
                            cw_next *out)
{
    cw_alike *alike = CW_NEW_ARRAY(session->replies, cw_alike, advice->twins_count);
    if (alike == NULL)
        return CW_NO_MEMORY;
    out->alike = alike;
    for (size_t i = 0; i < advice->twins_count; i++) {
        const cw_twins *twins = &advice->twins[i];
        const char **ids = CW_NEW_ARRAY(session->replies, const char *, twins->count);
        const char **titles = CW_NEW_ARRAY(session->replies, const char *, twins->count);
        if (ids == NULL || titles == NULL)
            return CW_NO_MEMORY;
        size_t count = name_alike(session, twins, ranking, ids, titles);
        if (count < 2)
            continue;
        cw_alike *group = &alike[out->alike_count++];
        *group = (cw_alike){.ids = ids, .titles = titles, .count = count, .probability = twins->probability};
        if (twins->tells.check != 0) {
            group->tells = &session->pack->checks[twins->tells.check - 1];
            group->tells_place = cw_where_name(twins->tells.place);
            group->tells_minutes = twins->tells.minutes;
        }
    }
    return CW_OK;
}

static const char *sure_words(const cw_session *session, const cw_ranking *ranking)
{
    if (ranking->of_units && (ranking->count == 0 || ranking->not_listed > ranking->lines[0].probability))
        return cw_arena_format(session->replies, "It is in no list, as good as certainly (%s).",
                               cw_say_chance(session->replies, ranking->not_listed));
    if (ranking->count == 0)
        return "Nothing is left to ask.";
    const cw_line *first = &ranking->lines[0];
    const char *chance = cw_say_chance(session->replies, first->probability);
    return chance != NULL
               ? cw_arena_format(session->replies, "%s: as good as certain (%s).", first->title, chance)
               : NULL;
}

static cw_status say_stop(cw_session *session, const cw_advice *advice, const cw_ranking *ranking,
                          cw_next *out)
{
    const cw_caution_info *stopper = cw_session_stopper(session);
    if (stopper != NULL || (advice->stop && advice->why == CW_STOP_CAUTION)) {
        out->stop = CW_CAUTION_STOPS;
        out->stop_words = stopper != NULL ? stopper->say : "A caution ends the advice.";
    } else if (advice->stop && advice->why == CW_STOP_SURE) {
        out->stop = CW_SURE_ENOUGH;
        out->stop_words = sure_words(session, ranking);
    } else if (advice->stop && advice->why == CW_STOP_COSTS_MORE) {
        out->stop = CW_COSTS_MORE;
        out->stop_words =
            cw_arena_format(session->replies, "No check is worth its minutes. %s", out->ways->words);
    } else if (advice->stop || advice->count == 0) {
        out->stop = CW_NOTHING_HELPS;
        out->stop_words = session->stage == CW_PROOF
                              ? "No check that is left would decide a line of the sheet."
                          : session->places != 0 ? "No check at the places allowed would change much."
                                                 : "No check that is left would change much.";
    } else {
        out->stop = CW_GO_ON;
        out->stop_words = "";
    }
    return out->stop_words != NULL ? CW_OK : CW_NO_MEMORY;
}

/* With nothing told and nothing forbidden it is the stage's opening, which an image has kept. */
static cw_status ask(cw_session *session, cw_advice *advice)
{
    const cw_kept *kept = session->pack->kept;
    if (kept != NULL && session->told.count == 0 && session->places == 0 &&
        session->here == cw_stage_start(session->stage)) {
        *advice = kept->openings[session->stage];
        return CW_OK;
    }
    const cw_ask_limits limits = cw_session_limits(session);
    return cw_ask_next(session->asker, session->chain, &limits, session->replies, advice);
}

static cw_status work_out(cw_session *session, cw_next *out)
{
    const cw_ranking *ranking;
    cw_status status = cw_session_lines(session, &ranking);
    if (status != CW_OK)
        return status;
    cw_advice advice = {0};
    if (cw_session_halt(session) == CW_HALT_NOTHING)
        status = ask(session, &advice);
    out->cut_short = advice.cut_short;
    if (status == CW_OK)
        status = list_checks(session, &advice, ranking, out);
    if (status == CW_OK)
        status = list_alike(session, &advice, ranking, out);
    if (status == CW_OK)
        status = cw_say_ways(session, &advice, &out->ways);
    return status == CW_OK ? say_stop(session, &advice, ranking, out) : status;
}

cw_status cw_session_next(cw_session *session, const cw_next **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    if (session->next == NULL) {
        cw_next *made = CW_NEW(session->replies, cw_next);
        cw_status status = made != NULL ? work_out(session, made) : CW_NO_MEMORY;
        if (status != CW_OK)
            return status;
        session->next = made;
    }
    *out = session->next;
    return CW_OK;
}
