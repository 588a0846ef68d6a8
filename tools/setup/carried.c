/* A job that comes from another stage: what came along, and which unit an identification points to. */
#include "screen/screen.h"
#include "setup/setup.h"
#include <stdio.h>
#include <string.h>

/* An identification is taken from here on. */
#define SURE_ENOUGH 0.9

static bool has_unit(const cw_given *given, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (given[i].kind == CW_ANSWER_UNIT)
            return true;
    return false;
}

static bool sure(const cw_ranking *ranking, identified *out)
{
    const cw_line *first = ranking->count > 0 ? &ranking->lines[0] : NULL;
    if (ranking->stopped || !ranking->possible)
        return false;
    if (ranking->not_listed >= SURE_ENOUGH) {
        *out = (identified){.name = "not_listed", .probability = ranking->not_listed, .unlisted = true};
        return true;
    }
    if (first == NULL || first->probability < SURE_ENOUGH)
        return false;
    *out = (identified){.probability = first->probability};
    snprintf(out->name, sizeof out->name, "%s", first->id);
    snprintf(out->title, sizeof out->title, "%s", first->title);
    return true;
}

/* The same answers, ranked as an identification. */
bool setup_identified(const job_setup *setup, identified *out)
{
    const cw_given *given;
    size_t count;
    cw_session *session;
    const cw_ranking *ranking;
    if (cw_session_answers(setup->session, &given, &count) != CW_OK || has_unit(given, count) ||
        cw_session_new(setup->pack, "identify", &session) != CW_OK)
        return false;
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status =
            cw_session_answer(session, given[i].check, given[i].value, given[i].tool, given[i].place, NULL);
    bool found = status == CW_OK && cw_session_ranking(session, 0, &ranking) == CW_OK && sure(ranking, out);
    cw_session_free(session);
    return found;
}

static void say(bool to_people, const char *words)
{
    if (to_people)
        screen_words("", words);
    else
        fprintf(stderr, "corewright: note: %s\n", words);
}

void setup_say_carried(const job_setup *setup, bool nobody_asked)
{
    char words[400], chance[16];
    const cw_carried *carried = &setup->carried;
    bool to_people = !setup->options->json;
    if (carried->from == NULL)
        return;
    int used = snprintf(words, sizeof words, "Going on from %s: %zu answer%s come%s along", carried->from,
                        carried->kept, carried->kept == 1 ? "" : "s", carried->kept == 1 ? "s" : "");
    if (carried->set_aside > 0)
        snprintf(words + used, sizeof words - (size_t)used,
                 "; %zu of the unit as it was before the rebuild %s set aside.", carried->set_aside,
                 carried->set_aside == 1 ? "is" : "are");
    else
        snprintf(words + used, sizeof words - (size_t)used, ".");
    say(to_people, words);
    identified found;
    if (!nobody_asked || strcmp(carried->from, "identify") != 0 || !setup_identified(setup, &found))
        return;
    snprintf(words, sizeof words, "By what was told %s%s (%s). To take that as the unit in hand: --unit %s",
             found.unlisted ? "no pack lists it" : "it is ", found.title,
             screen_chance(found.probability, chance), found.name);
    say(to_people, words);
}
