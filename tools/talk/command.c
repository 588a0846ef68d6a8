/* What can be said at any question. */
#include "report/report.h"
#include "screen/screen.h"
#include "talk/inside.h"
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* The question at hand; check is NULL at the end, where nothing is asked. */
typedef struct moment {
    talk_state *talk;
    const cw_check_info *check;
    const cw_next_check *next;
    const char *rest; /* behind the word */
} moment;

static talk_turn say_method(const moment *now)
{
    if (now->check == NULL)
        return TURN_AGAIN;
    screen_words("  ",
                 now->check->how != NULL ? now->check->how : "The pack describes no method for this one.");
    report_check_cautions(now->check);
    if (now->check->source != NULL)
        screen_say("  ", "Source: %s.", now->check->source);
    return TURN_AGAIN;
}

static talk_turn say_ranking(const moment *now)
{
    const cw_ranking *ranking;
    cw_status status = cw_session_ranking(now->talk->session, 0, &ranking);
    if (status != CW_OK)
        return talk_status(now->talk, status);
    size_t place = (size_t)strtoul(now->rest, NULL, 10);
    place = place > 0 ? place - 1 : 0;
    if (place >= ranking->count && !ranking->stopped) {
        screen_words("  ", "The ranking has no such line.");
        return TURN_AGAIN;
    }
    const char *const *paragraphs;
    size_t count;
    const char *id = ranking->stopped ? NULL : ranking->lines[place].id;
    status = cw_session_why(now->talk->session, id, &paragraphs, &count);
    if (status != CW_OK)
        return talk_status(now->talk, status);
    report_paragraphs(paragraphs, count);
    return TURN_AGAIN;
}

/* While no line has failed a proof ranks nothing worth telling; then it is the sheet that is asked about. */
static bool ranks_nothing(const moment *now, cw_status *status)
{
    const cw_proof_sum *sum;
    *status = CW_OK;
    if (strcmp(cw_session_stage(now->talk->session), "proof") != 0)
        return false;
    *status = cw_session_proof_sum(now->talk->session, &sum);
    return *status == CW_OK && sum->failed == 0 && sum->passed + sum->doubtful + sum->open > 0;
}

static talk_turn say_why(const moment *now)
{
    if (now->next != NULL && now->rest[0] == '\0')
        screen_say("  ", "This question: %s", now->next->why);
    cw_status status;
    if (ranks_nothing(now, &status))
        status = report_proof_why(now->talk->session, now->next != NULL ? now->next->line : NULL);
    else if (status == CW_OK)
        return say_ranking(now);
    return talk_status(now->talk, status) == TURN_GO_ON ? TURN_AGAIN : TURN_FAILED;
}

static talk_turn say_skip(const moment *now)
{
    const char *other;
    return now->check != NULL ? talk_give(now->talk, now->check, "can't tell", NULL, &other) : TURN_AGAIN;
}

static talk_turn say_back(const moment *now)
{
    return talk_back(now->talk);
}

static const cw_check_info *from_list(const talk_state *talk, const char *text)
{
    const cw_given *given;
    size_t count;
    size_t number = (size_t)strtoul(text, NULL, 10);
    if (cw_session_answers(talk->session, &given, &count) != CW_OK || number == 0 || number > count)
        return NULL;
    return cw_pack_check(talk->pack, given[number - 1].check, NULL);
}

/* By name, by title, by the beginning of just one title. */
static const cw_check_info *by_words(const talk_state *talk, const char *text)
{
    const cw_check_info *check = cw_pack_check(talk->pack, text, NULL);
    const cw_check_info *begins = NULL;
    size_t beginnings = 0;
    const cw_check_info *other;
    for (size_t i = 0; check == NULL && (other = cw_pack_check_at(talk->pack, i)) != NULL; i++) {
        if (strcasecmp(other->title, text) == 0)
            check = other;
        if (strncasecmp(other->title, text, strlen(text)) == 0) {
            begins = other;
            beginnings++;
        }
    }
    return check == NULL && beginnings == 1 ? begins : check;
}

/* The nearest of all names and titles. */
static const cw_check_info *nearest(const talk_state *talk, const char *text)
{
    size_t count = cw_pack_checks(talk->pack);
    const char **words = calloc(2 * count + 1, sizeof *words);
    const cw_check_info *found = NULL;
    for (size_t i = 0; words != NULL && i < count; i++) {
        const cw_check_info *check = cw_pack_check_at(talk->pack, i);
        words[2 * i] = check->name;
        words[2 * i + 1] = check->title;
    }
    const char *near = words != NULL ? cw_nearest_word(text, words, 2 * count) : NULL;
    for (size_t i = 0; near != NULL && i < count; i++) {
        const cw_check_info *check = cw_pack_check_at(talk->pack, i);
        if (near == check->name || near == check->title)
            found = check;
    }
    free(words);
    return found;
}

static talk_turn say_change(const moment *now)
{
    if (now->rest[0] == '\0') {
        screen_words("  ", "Change what? Say its number in this list, or its name:");
        return talk_status(now->talk, report_list(now->talk->session)) == TURN_GO_ON ? TURN_AGAIN
                                                                                     : TURN_FAILED;
    }
    const cw_check_info *check = from_list(now->talk, now->rest);
    if (check == NULL)
        check = by_words(now->talk, now->rest);
    if (check == NULL) {
        check = nearest(now->talk, now->rest);
        if (check == NULL) {
            screen_say("  ", "Nothing is called \"%s\".", now->rest);
            return TURN_AGAIN;
        }
        char question[320];
        const char *other;
        snprintf(question, sizeof question, "Did you mean: %s?", check->title);
        talk_turn turn = talk_confirm(question, &other);
        if (turn == TURN_AGAIN && other != NULL)
            screen_words("  ", "Left as it was.");
        if (turn != TURN_GO_ON)
            return turn;
    }
    now->talk->wanted = check;
    return TURN_GO_ON;
}

static talk_turn say_list(const moment *now)
{
    cw_status status = report_list(now->talk->session);
    if (status == CW_OK)
        status = report_conflicts(now->talk->session);
    return talk_status(now->talk, status) == TURN_GO_ON ? TURN_AGAIN : TURN_FAILED;
}

static talk_turn say_sheet(const moment *now)
{
    return talk_status(now->talk, report_description(now->talk->session)) == TURN_GO_ON ? TURN_AGAIN
                                                                                        : TURN_FAILED;
}

static talk_turn say_unit(const moment *now)
{
    return talk_unit(now->talk, now->rest);
}

static talk_turn say_done(const moment *now)
{
    (void)now;
    return TURN_DONE;
}

static talk_turn say_help(const moment *now)
{
    (void)now;
    talk_help();
    return TURN_AGAIN;
}

static const struct {
    const char *word;
    talk_turn (*say)(const moment *now);
    const char *does;
} words[] = {
#define WORD(word, function, does) {word, function, does},
#include "talk/command.def"
#undef WORD
    {"how", say_method, NULL},
    {"undo", say_back, NULL},
    {"quit", say_done, NULL},
    {"exit", say_done, NULL},
};

void talk_help(void)
{
    screen_words("  ", "Type the answer, as you would say it: a word of the list or its number, yes or no, a "
                       "number with its "
                       "unit (5 1/4 in, 133 mm). Or one of these:");
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        char head[24];
        snprintf(head, sizeof head, "    %s", words[i].word);
        if (words[i].does != NULL)
            screen_pair(head, 13, words[i].does);
    }
}

bool talk_command(talk_state *talk, const char *line, const cw_check_info *check, const cw_next_check *next,
                  talk_turn *out)
{
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        size_t size = strlen(words[i].word);
        bool takes_more = words[i].say == say_change || words[i].say == say_why || words[i].say == say_unit;
        if (strncasecmp(line, words[i].word, size) != 0)
            continue;
        const char *rest = line + size + strspn(line + size, " ");
        if (rest[0] != '\0' && (!takes_more || line[size] != ' '))
            continue;
        if (words[i].say == say_why && rest[0] != '\0' && !isdigit((unsigned char)rest[0]))
            continue;
        moment now = {talk, check, next, rest};
        *out = words[i].say(&now);
        return true;
    }
    return false;
}
