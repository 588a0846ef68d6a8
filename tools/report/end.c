/* The end of the matter: what it is, how firm that is, what else it could be, what to do, what stays open. */
#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <string.h>

static void end_firmness(const cw_pack *pack, const cw_ranking *ranking)
{
    const cw_line *first = &ranking->lines[0];
    if (ranking->deciding_check == NULL) {
        if (first->probability >= 0.5 && first->for_count + first->against_count > 0)
            screen_words("  ", "Firm: no single answer left out would put another one first.");
        if (ranking->firm)
            screen_words("  ", "It stays first even if every frequency in the packs were a word of the scale "
                               "off, all against it at once.");
        return;
    }
    const cw_check_info *check = cw_pack_check(pack, ranking->deciding_check, NULL);
    screen_say("  ", "It hangs on one answer: without \"%s\" the first would be: %s.",
               check != NULL ? check->title : ranking->deciding_check, ranking->deciding_instead);
}

static void end_else(const cw_ranking *ranking, size_t from)
{
    char buffer[16];
    size_t told = 0;
    for (size_t i = from; i < ranking->count && told < 4; i++) {
        if (ranking->lines[i].probability < 0.02)
            break;
        if (told++ == 0)
            screen_words("  ", "What else it could be:");
        screen_say("    - ", "%s (%s)", ranking->lines[i].title,
                   screen_chance(ranking->lines[i].probability, buffer));
    }
    if (ranking->of_units && ranking->not_listed >= 0.02 &&
        ranking->not_listed <= ranking->lines[0].probability)
        screen_say(told > 0 ? "    - " : "  ", "%sin no list at all (%s)", told > 0 ? "" : "It could be ",
                   screen_chance(ranking->not_listed, buffer));
}

static void end_unit(const cw_pack *pack, const cw_ranking *ranking)
{
    char buffer[16];
    const cw_line *first = &ranking->lines[0];
    if (ranking->not_listed > first->probability) {
        screen_say(
            "  ",
            "Most likely it is in no list (%s): a unit the packs do not know, or a reading that is wrong.",
            screen_chance(ranking->not_listed, buffer));
        end_else(ranking, 0);
        return;
    }
    char title[400];
    snprintf(title, sizeof title, "%s (%s)", first->title, screen_chance(first->probability, buffer));
    screen_tone(TONE_STRONG, "  ", title);
    end_firmness(pack, ranking);
    if (first->notes != NULL)
        screen_words("  ", first->notes);
    if (first->replaced_by_title != NULL)
        screen_say("  ", "Fitted in its place today: %s.", first->replaced_by_title);
    end_else(ranking, 1);
}

static void plan_parts(const char *first, const char *const *parts, size_t count)
{
    for (size_t i = 0; i < count; i++)
        screen_words(i == 0 ? first : "                ", parts[i]);
}

static void end_plan(const cw_pack *pack, const cw_ranking *ranking)
{
    for (size_t i = 0; i < ranking->plan_count; i++) {
        const cw_plan_line *line = &ranking->plan[i];
        screen_say("  ", "What to do about: %s", line->title);
        plan_parts("    Replace:    ", line->replace, line->replace_count);
        plan_parts("    Look at:    ", line->look_also, line->look_also_count);
        for (size_t k = 0; k < line->step_count; k++) {
            char number[32];
            snprintf(number, sizeof number, "    %zu. ", k + 1);
            screen_words(number, line->steps[k]);
        }
        if (line->slip_count > 0)
            screen_words("    ", "Slips in assembly that do this:");
        for (size_t k = 0; k < line->slip_count; k++)
            screen_say("    - ", "%s: %s", line->slips[k].title, line->slips[k].mistake);
        if (line->root != NULL)
            screen_say("    ",
                       "Behind it, more likely than not: %s. A part replaced without that comes back.",
                       cw_pack_cause_title(pack, line->root));
    }
}

/* The likeliest set of several causes, where it is worth a line. */
static void end_together(const cw_ranking *ranking)
{
    char buffer[16], titles[600];
    for (size_t i = 0; i < ranking->set_count; i++) {
        const cw_set_line *set = &ranking->sets[i];
        if (set->cause_count < 2 || set->probability < 0.05)
            continue;
        size_t used = 0;
        for (size_t k = 0; k < set->cause_count && used < sizeof titles; k++)
            used += (size_t)snprintf(titles + used, sizeof titles - used, "%s%s", k > 0 ? " + " : "",
                                     set->titles[k]);
        screen_say("  ", "Likeliest at once, and nothing else: %s (%s).", titles,
                   screen_chance(set->probability, buffer));
        return;
    }
}

static const char *where_words(const char *where)
{
    if (strcmp(where, "unit") == 0)
        return "in the unit";
    return strcmp(where, "vehicle") == 0 ? "on the vehicle" : "in how it was fitted";
}

static void end_cause(const cw_pack *pack, const cw_ranking *ranking)
{
    char buffer[16];
    char title[400];
    const cw_line *first = &ranking->lines[0];
    if (ranking->nothing_found > first->probability) {
        screen_say("  ", "Nothing listed is wrong, as far as told (%s).",
                   screen_chance(ranking->nothing_found, buffer));
        screen_say("  ", "The likeliest fault, if there is one: %s (%s).", first->title,
                   screen_chance(first->probability, buffer));
    } else {
        snprintf(title, sizeof title, "%s (%s), %s", first->title, screen_chance(first->probability, buffer),
                 where_words(first->where));
        screen_tone(TONE_STRONG, "  ", title);
        end_firmness(pack, ranking);
    }
    screen_say("  ", "The unit itself at fault: %s. The unit good, the trouble elsewhere or none: %s.",
               screen_chance(ranking->unit_at_fault, (char[16]){0}),
               screen_chance(ranking->no_fault, buffer));
    end_else(ranking, 1);
    end_together(ranking);
    end_plan(pack, ranking);
}

/* What was asked and could not be told. */
static cw_status end_open(cw_session *session)
{
    const cw_given *given;
    size_t count;
    cw_status status = cw_session_answers(session, &given, &count);
    size_t told = 0;
    for (size_t i = 0; status == CW_OK && i < count; i++) {
        if (!given[i].cant_tell)
            continue;
        if (told++ == 0)
            screen_words("  ", "Could not be told:");
        screen_words("    - ", given[i].title);
    }
    return status;
}

static void end_next(const cw_next *next)
{
    char minutes[40];
    bool costs_more = next->stop == CW_COSTS_MORE;
    if (next->stop == CW_NOTHING_HELPS || costs_more)
        screen_words("  ", next->stop_words);
    if (next->stop == CW_CAUTION_STOPS)
        screen_words("  ", "Here the advice ends: what is likely is told for those who may work on it.");
    report_alike(next);
    if (next->count > 0)
        screen_say("  ", "Next to look at: %s (%s, %s). %s", next->checks[0].check->title,
                   next->checks[0].place, screen_minutes(next->checks[0].minutes, minutes),
                   next->checks[0].why);
    if (next->count > 0 && next->checks[0].opens)
        screen_tone(TONE_ALARM, "  ", "This opens the unit, and that cannot be undone.");
    if (next->ways != NULL && !costs_more)
        screen_words("  ", next->ways->words);
    if (next->cut_short)
        screen_words("  ", "Not every check could be weighed: there are too many possibilities.");
}

static cw_status end_cautions(cw_session *session)
{
    const cw_caution_info *const *cautions;
    size_t count;
    cw_status status = cw_session_cautions(session, &cautions, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++)
        screen_tone(TONE_ALARM, "  ! ", cautions[i]->say);
    return status;
}

static bool at_stage(cw_session *session, const char *stage)
{
    return strcmp(cw_session_stage(session), stage) == 0;
}

/* The proof sheet, instead of a ranking. */
static cw_status end_proof(cw_session *session, const cw_next *next, const char *kept)
{
    char minutes[40];
    const cw_proof_sum *sum;
    cw_status status = report_proof(session, kept);
    if (status == CW_OK)
        status = cw_session_proof_sum(session, &sum);
    if (status == CW_OK && next->count > 0 && strcmp(sum->result, "passed") != 0)
        screen_say("  ", "Next on the bench: %s (%s). %s", next->checks[0].check->title,
                   screen_minutes(next->checks[0].minutes, minutes), next->checks[0].why);
    return status;
}

/* Where no unit holds. */
static cw_status end_description(cw_session *session)
{
    const cw_description *described;
    cw_status status = cw_session_description(session, &described);
    return status == CW_OK && described->unlisted ? report_description(session) : status;
}

cw_status report_end(const cw_pack *pack, cw_session *session, const char *kept)
{
    const cw_ranking *ranking;
    const cw_next *next;
    cw_status status = cw_session_ranking(session, 1, &ranking);
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    if (status == CW_OK && !at_stage(session, "proof"))
        screen_rule("Where it stands");
    if (status == CW_OK)
        status = end_cautions(session);
    if (status != CW_OK)
        return status;
    if (ranking->stopped) {
        screen_words("  ", "Here the advice ends.");
        return CW_OK;
    }
    if (at_stage(session, "proof"))
        return end_proof(session, next, kept);
    if (!ranking->possible)
        screen_tone(TONE_ALARM, "  ",
                    "The answers together fit nothing the packs know: one of them is wrong.");
    if (ranking->count == 0)
        screen_words("  ", ranking->of_units ? "The packs list no units." : "The packs list no causes.");
    else if (ranking->of_units)
        end_unit(pack, ranking);
    else
        end_cause(pack, ranking);
    end_next(next);
    if (next->stop == CW_CAUTION_STOPS)
        return CW_OK;
    status = end_open(session);
    if (status == CW_OK && ranking->of_units)
        status = end_description(session);
    return status == CW_OK && at_stage(session, "teardown") ? report_work(session, kept) : status;
}
