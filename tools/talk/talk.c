#include "talk/talk.h"
#include "report/report.h"
#include "screen/screen.h"
#include "talk/inside.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Names one behind the other, to see whether something new has come up. */
static char *append(char *names, const char *name)
{
    size_t size = names != NULL ? strlen(names) : 0;
    size_t more = strlen(name);
    char *grown = realloc(names, size + more + 2);
    if (grown == NULL)
        return names;
    memcpy(grown + size, name, more);
    grown[size + more] = ' ';
    grown[size + more + 1] = '\0';
    return grown;
}

static bool same(const char *a, const char *b)
{
    return strcmp(a != NULL ? a : "", b != NULL ? b : "") == 0;
}

static cw_status show_conflicts(talk_state *talk)
{
    const cw_conflict_info *conflicts;
    size_t count;
    char *names = NULL;
    cw_status status = cw_session_conflicts(talk->session, &conflicts, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++)
        names = append(names, conflicts[i].fact);
    if (status == CW_OK && count > 0 && !same(names, talk->conflicts_shown)) {
        screen_line();
        status = report_conflicts(talk->session);
    }
    free(talk->conflicts_shown);
    talk->conflicts_shown = names;
    return status;
}

static cw_status show_cautions(talk_state *talk)
{
    const cw_caution_info *const *cautions;
    size_t count;
    char *names = NULL;
    cw_status status = cw_session_cautions(talk->session, &cautions, &count);
    for (size_t i = 0; status == CW_OK && i < count; i++) {
        char name[80];
        snprintf(name, sizeof name, "%s ", cautions[i]->name);
        if (talk->cautions_shown == NULL || strstr(talk->cautions_shown, name) == NULL)
            screen_tone(TONE_ALARM, "! ", cautions[i]->say);
        names = append(names, cautions[i]->name);
    }
    free(talk->cautions_shown);
    talk->cautions_shown = names;
    return status;
}

/* That the first of the ranking has twins is said at once, not after the last question. */
static cw_status show_alike(talk_state *talk, const cw_ranking *ranking)
{
    const cw_next *next;
    char *names = NULL;
    cw_status status = cw_session_next(talk->session, &next);
    bool concerns = false;
    for (size_t i = 0; status == CW_OK && i < next->alike_count; i++) {
        for (size_t k = 0; k < next->alike[i].count; k++)
            names = append(names, next->alike[i].ids[k]);
        concerns = concerns || strcmp(next->alike[i].ids[0], ranking->lines[0].id) == 0;
    }
    if (status == CW_OK && concerns && next->stop == CW_GO_ON && !same(names, talk->alike_shown))
        report_alike(next);
    free(talk->alike_shown);
    talk->alike_shown = names;
    return status;
}

/* What the last answer has changed, before the next question. */
static talk_turn show_state(talk_state *talk)
{
    if (talk->shown)
        return TURN_GO_ON;
    talk->shown = true;
    cw_status status = show_conflicts(talk);
    if (status == CW_OK)
        status = show_cautions(talk);
    const cw_ranking *ranking = NULL;
    if (status == CW_OK)
        status = cw_session_ranking(talk->session, 0, &ranking);
    bool proof = strcmp(cw_session_stage(talk->session), "proof") == 0;
    if (status == CW_OK && !ranking->stopped) {
        screen_line();
        screen_rule("So far");
        status = proof ? report_proof_so_far(talk->session) : report_top(talk->session);
        if (status == CW_OK && !proof)
            status = show_alike(talk, ranking);
    }
    if (status == CW_OK && !ranking->of_units && !ranking->stopped && !talk->explained && !proof) {
        screen_tone(TONE_QUIET, "  ", "Several can be true at once, so the figures need not add up to 100.");
        talk->explained = true;
    }
    return talk_status(talk, status);
}

/* Asks what is wanted or what the advice puts first. *ended when there is nothing more to ask. */
static talk_turn ask_once(talk_state *talk, bool *ended)
{
    talk_turn turn = show_state(talk);
    const cw_next *next;
    if (turn == TURN_GO_ON)
        turn = talk_status(talk, cw_session_next(talk->session, &next));
    if (turn != TURN_GO_ON)
        return turn;
    const cw_check_info *check = talk->wanted;
    talk->wanted = NULL;
    if (check == NULL && next->stop != CW_GO_ON) {
        *ended = true;
        return TURN_GO_ON;
    }
    const cw_next_check *advised = NULL;
    for (size_t i = 0; advised == NULL && i < next->count; i++) {
        if (check == NULL || next->checks[i].check == check)
            advised = &next->checks[i];
    }
    if (check == NULL && advised == NULL) { /* no advice to give: nothing more to ask */
        *ended = true;
        return TURN_GO_ON;
    }
    if (check == NULL && advised->line != NULL && !talk->describing &&
        strcmp(cw_session_stage(talk->session), "identify") == 0) {
        talk->describing = true;
        screen_line();
        screen_words(
            "  ", "No unit of the packs holds. A few more looks make a description to order parts by; done "
                  "ends them at any time.");
    }
    bool first = advised != NULL && advised == next->checks;
    const char *worth = first && next->ways != NULL && next->ways->known ? next->ways->words : NULL;
    return talk_ask(talk, check != NULL ? check : advised->check, advised, worth);
}

/* At the end there is nothing to answer, but everything can still be looked at and changed. */
static talk_turn at_the_end(talk_state *talk)
{
    screen_line();
    talk_turn turn = talk_status(talk, report_end(talk->pack, talk->session, setup_kept(talk->setup)));
    if (turn != TURN_GO_ON)
        return turn;
    screen_line();
    screen_words("", "Nothing more to ask. Enter ends; why, list, back and change still go.");
    for (;;) {
        const char *line;
        turn = talk_read("> ", &line);
        if (turn != TURN_GO_ON)
            return turn == TURN_EOF ? TURN_DONE : turn;
        if (line[0] == '\0')
            return TURN_DONE;
        if (!talk_command(talk, line, NULL, NULL, &turn)) {
            screen_words("  ", "Nothing is asked here. Enter ends; why, list, back, change and help go.");
            turn = TURN_AGAIN;
        }
        if (turn != TURN_AGAIN)
            return turn;
    }
}

static talk_turn converse(talk_state *talk, bool *summed_up)
{
    talk_turn turn = talk_words(talk);
    while (turn == TURN_GO_ON) {
        bool ended = false;
        turn = ask_once(talk, &ended);
        *summed_up = ended;
        if (ended && turn == TURN_GO_ON)
            turn = at_the_end(talk);
    }
    return turn;
}

static void say_kept(const talk_state *talk)
{
    if (talk->setup->save == NULL || talk->exit_status == EXIT_FAILED)
        return;
    screen_say("", "The job is kept in %s; it goes on with: corewright %s --save %s", talk->setup->save,
               talk_next_stage(talk), talk->setup->save);
}

static void leave(talk_state *talk, talk_turn turn, bool summed_up)
{
    if (turn == TURN_STOPPED)
        screen_words("", "Stopped.");
    if ((turn == TURN_DONE || turn == TURN_EOF) && !summed_up) {
        screen_line();
        talk_status(talk, report_end(talk->pack, talk->session, setup_kept(talk->setup)));
    }
    /* Where no job is kept there is nothing to take it into. */
    bool kept = talk->setup->save != NULL;
    if (turn == TURN_DONE && kept && strcmp(cw_session_stage(talk->session), "identify") == 0)
        talk_offer_unit(talk);
    say_kept(talk);
}

int talk_run(const job_setup *setup)
{
    talk_state state = {.setup = setup, .pack = setup->pack, .session = setup->session};
    const cw_case_info *info = setup->job != NULL ? cw_case_get(setup->job) : NULL;
    if (info != NULL && info->complaint != NULL)
        state.complaint = strdup(info->complaint);
    input_start();
    talk_save(&state); /* a place that cannot be written to is found before the work, not after */
    if (state.exit_status == EXIT_DONE) {
        bool summed_up = false;
        if (setup->resumed)
            screen_say("", "Going on with the job in %s.", setup->save);
        setup_say_carried(setup, false);
        screen_words("", "Type the answer, or: ? why skip back change list done help");
        talk_turn turn = TURN_GO_ON;
        if (setup->carried.from != NULL && strcmp(setup->carried.from, "identify") == 0)
            turn = talk_offer_unit(&state);
        if (turn == TURN_GO_ON)
            turn = converse(&state, &summed_up);
        leave(&state, turn, summed_up);
    }
    for (size_t i = 0; i < state.undo_count; i++) {
        free(state.undos[i].check);
        free(state.undos[i].value);
        free(state.undos[i].tool);
        free(state.undos[i].place);
    }
    free(state.undos);
    free(state.complaint);
    free(state.conflicts_shown);
    free(state.cautions_shown);
    free(state.alike_shown);
    return state.exit_status;
}
