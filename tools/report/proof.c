/* The proof sheet for people: line by line, what it comes to, and what goes on the tag or back to triage. */
#include "report/report.h"
#include "screen/screen.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIKELY = 3 };

static bool is(const cw_proof_line *line, const char *verdict)
{
    return strcmp(line->verdict, verdict) == 0;
}

static size_t count_readings(const cw_proof_line *line)
{
    size_t count = 0;
    for (size_t i = 0; i < line->reading_count; i++)
        count += !line->readings[i].circumstance;
    return count;
}

/* "1180 rpm", or "Sag under load 0.3 V, Volts against speed 0.1 V": what was read off for it. The caller
 * frees it; NULL when memory fails. */
static char *readings(const cw_proof_line *line)
{
    size_t size = 1, at = 0;
    bool several = count_readings(line) > 1;
    for (size_t i = 0; i < line->reading_count; i++)
        size += strlen(line->readings[i].title) + strlen(line->readings[i].shown) + 3;
    char *joined = calloc(size, 1);
    for (size_t i = 0; joined != NULL && i < line->reading_count; i++)
        if (!line->readings[i].circumstance)
            at += (size_t)snprintf(joined + at, size - at, "%s%s%s%s", at > 0 ? ", " : "",
                                   several ? line->readings[i].title : "", several ? " " : "",
                                   line->readings[i].shown);
    return joined;
}

static void say_head(const char *mark, const cw_proof_line *line, const char *more)
{
    char *read = readings(line);
    bool some = read != NULL && read[0] != '\0';
    char first[24];
    snprintf(first, sizeof first, "  %-10s", mark);
    if (strcmp(mark, "pass") == 0 || strcmp(mark, "open") == 0) {
        screen_say(first, "%s%s%s%s", line->title, some ? ": " : "", some ? read : "", more);
    } else {
        char words[600];
        snprintf(words, sizeof words, "%s%s%s%s", line->title, some ? ": " : "", some ? read : "", more);
        screen_tone(strcmp(mark, "FAIL") == 0 ? TONE_ALARM : TONE_STRONG, first, words);
    }
    free(read);
}

static void say_why(const char *first, const cw_fact_info *why)
{
    for (size_t i = 0; why != NULL && i < why->from_count; i++)
        screen_words("            ", why->from[i]);
    if (why != NULL)
        screen_say("            ", "%s%s (%s)", first, why->because, why->source);
}

static void say_open(const cw_proof_line *line)
{
    char minutes[40];
    say_head("open", line, line->needed ? "" : " (can be left out)");
    for (size_t i = 0; i < line->untold_count; i++)
        screen_say("            ", "missing: %s", line->untold[i]->title);
    if (line->measure_count + line->untold_count == 0)
        screen_words("            ", "As it was told, nothing that is left to measure would decide it.");
    for (size_t i = 0; i < line->measure_count; i++)
        screen_say("            - ", "%s (%s)", line->measure[i]->title,
                   screen_minutes(line->measure[i]->minutes, minutes));
}

static void say_line(const cw_proof_line *line)
{
    if (is(line, "open")) {
        say_open(line);
        return;
    }
    if (line->doubtful) {
        say_head("in doubt", line, line->disputed ? ": two things that cannot both be" : "");
        say_why("perhaps: ", line->why);
        if (!line->disputed)
            screen_words("            ",
                         "Too near the limit for what it was read with: measure again, with a "
                         "finer meter or several times.");
        return;
    }
    say_head(is(line, "fail") ? "FAIL" : "pass", line, "");
    if (is(line, "fail"))
        say_why("", line->why);
}

/* "Set point; Ripple": the lines that failed for sure. */
static void say_failed(const cw_proof_line *list, size_t count)
{
    screen_tone(TONE_ALARM, "  ", "FAILED. It does not leave the bench like this.");
    for (size_t i = 0; i < count; i++)
        if (is(&list[i], "fail") && !list[i].doubtful)
            screen_words("    - ", list[i].title);
}

/* On the bench there is no vehicle to be at fault. */
static cw_status say_likely(cw_session *session)
{
    const cw_ranking *ranking;
    char chance[16];
    size_t told = 0;
    cw_status status = cw_session_ranking(session, 0, &ranking);
    for (size_t i = 0; status == CW_OK && ranking->possible && i < ranking->count && told < LIKELY; i++) {
        const cw_line *line = &ranking->lines[i];
        if (strcmp(line->where, "unit") != 0 || line->probability < 0.1)
            continue;
        if (told++ == 0)
            screen_words("  ", "Likely behind it:");
        screen_say("    - ", "%s (%s)", line->title, screen_chance(line->probability, chance));
    }
    if (status == CW_OK && told == 0)
        screen_words("  ", "These readings alone do not say what is behind it.");
    return status;
}

static void say_onward(const char *kept)
{
    if (kept != NULL)
        screen_say("  ", "On with these readings: corewright triage --case %s --save %s --ask", kept, kept);
    else
        screen_words("  ",
                     "On with these readings: keep the job (--save job.yaml), then: corewright triage --save "
                     "job.yaml");
    screen_words("  ",
                 "With --place bench --place teardown it asks nothing that only the customer could tell.");
}

static bool was_told(const cw_proof_reading *const *told, size_t count, const char *check)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(told[i]->check, check) == 0)
            return true;
    return false;
}

/* What the readings were taken with, once each. The caller frees the list; NULL when memory fails. */
static const cw_proof_reading **circumstances(const cw_proof_line *list, size_t count, size_t *told)
{
    size_t most = 1;
    for (size_t i = 0; i < count; i++)
        most += list[i].reading_count;
    const cw_proof_reading **all = calloc(most, sizeof *all);
    *told = 0;
    for (size_t i = 0; all != NULL && i < count; i++)
        for (size_t k = 0; k < list[i].reading_count; k++) {
            const cw_proof_reading *one = &list[i].readings[k];
            if (one->circumstance && !was_told(all, *told, one->check))
                all[(*told)++] = one;
        }
    return all;
}

/* "Taken with: Rated amps 90 A, Temperature around the unit 22 degC" */
static void say_taken_with(const cw_proof_reading *const *all, size_t count)
{
    size_t size = 1, at = 0;
    for (size_t i = 0; i < count; i++)
        size += strlen(all[i]->title) + strlen(all[i]->shown) + 3;
    char *joined = calloc(size, 1);
    for (size_t i = 0; joined != NULL && i < count; i++)
        if (all[i]->kind == CW_ANSWER_MEASURE)
            at += (size_t)snprintf(joined + at, size - at, "%s%s %s", at > 0 ? ", " : "", all[i]->title,
                                   all[i]->shown);
    if (at > 0)
        screen_say("    ", "Taken with: %s", joined);
    free(joined);
}

static void say_figures(const cw_proof_line *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char *read = readings(&list[i]);
        if (read != NULL && read[0] != '\0')
            screen_say("    ", "%s: %s", list[i].title, read);
        free(read);
    }
}

/* The last words of a passed sheet are what the shop writes on the tag. */
static cw_status say_tag(cw_session *session, const cw_proof_line *list, size_t count)
{
    const cw_given *given;
    size_t given_count, told;
    cw_status status = cw_session_answers(session, &given, &given_count);
    if (status != CW_OK)
        return status;
    const cw_proof_reading **all = circumstances(list, count, &told);
    if (all == NULL)
        return CW_NO_MEMORY;
    screen_words("  ", "For the tag:");
    for (size_t i = 0; i < given_count; i++)
        if (strcmp(given[i].check, "unit") == 0 && !given[i].cant_tell)
            screen_words("    ", given[i].shown);
    for (size_t i = 0; i < told; i++)
        if (all[i]->kind == CW_ANSWER_TEXT)
            screen_say("    ", "%s: %s", all[i]->title, all[i]->shown);
    say_figures(list, count);
    say_taken_with(all, told);
    screen_words("    ", "Bench proof passed. Date and name:");
    free(all);
    return status;
}

static cw_status say_result(cw_session *session, const cw_proof_line *list, size_t count,
                            const cw_proof_sum *sum, const char *kept)
{
    screen_line();
    screen_rule("What it comes to");
    if (strcmp(sum->result, "failed") == 0) {
        say_failed(list, count);
        cw_status status = say_likely(session);
        say_onward(kept);
        return status;
    }
    if (strcmp(sum->result, "doubtful") == 0) {
        screen_say("  ", "In doubt: %zu of the lines. Not passed until they are measured again.",
                   sum->doubtful);
    } else if (strcmp(sum->result, "open") == 0) {
        screen_say("  ", "Not passed yet: %zu of the needed lines %s open.", sum->open,
                   sum->open == 1 ? "is" : "are");
    } else {
        screen_tone(TONE_STRONG, "  ", "PASSED.");
        return say_tag(session, list, count);
    }
    return CW_OK;
}

cw_status report_proof(cw_session *session, const char *kept)
{
    const cw_proof_line *list;
    size_t count;
    const cw_proof_sum *sum;
    cw_status status = cw_session_proof_lines(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_proof_sum(session, &sum);
    if (status != CW_OK)
        return status;
    screen_rule("Proof sheet");
    for (size_t i = 0; i < count; i++)
        say_line(&list[i]);
    if (count == 0)
        screen_words("  ", "The packs have no proof sheet.");
    return count > 0 ? say_result(session, list, count, sum, kept) : CW_OK;
}

cw_status report_proof_so_far(cw_session *session)
{
    const cw_proof_line *list;
    size_t count;
    const cw_proof_sum *sum;
    cw_status status = cw_session_proof_lines(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_proof_sum(session, &sum);
    if (status != CW_OK)
        return status;
    screen_say("  ", "Lines passed: %zu; failed: %zu; in doubt: %zu; still needed: %zu", sum->passed,
               sum->failed, sum->doubtful, sum->open);
    for (size_t i = 0; i < count; i++)
        if (is(&list[i], "fail") || list[i].doubtful)
            say_head(list[i].doubtful ? "in doubt" : "FAIL", &list[i], "");
    if (sum->failed > 0)
        screen_words(
            "  ",
            "The sheet cannot be passed any more. \"done\" ends it here; what else is measured helps to "
            "find the cause.");
    return status;
}

cw_status report_proof_why(cw_session *session, const char *line)
{
    const cw_proof_line *list;
    size_t count, told = 0;
    cw_status status = cw_session_proof_lines(session, &list, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++) {
        if (line != NULL && strcmp(list[i].fact, line) == 0)
            say_line(&list[i]);
        if (is(&list[i], "open"))
            continue;
        if (told++ == 0)
            screen_words("  ", "Decided so far:");
        say_head(list[i].doubtful ? "in doubt" : "pass", &list[i], "");
        say_why("", list[i].why);
    }
    return status;
}
