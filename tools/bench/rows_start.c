/* The packs that ship: how long the start to the first question takes, and what comes after it, beside a bare
 * libyaml event loop over the same files. */
#include "bench.h"
#include "files.h"

/* What is timed. */
#define START_LINES(X)                                                                                       \
    X(identify, "start to first question, identify")                                                         \
    X(words, "start to first question, triage: the customer's words")                                        \
    X(triage, "start to first check, triage")                                                                \
    X(clock_identify, "the same by the clock, on all cores: identify")                                       \
    X(clock_words, "the same by the clock: the customer's words")                                            \
    X(clock_triage, "the same by the clock: first check, triage")                                            \
    X(load, "of these: packs read and checked")                                                              \
    X(first_identify, "of these: session and question, identify")                                            \
    X(first_triage, "of these: session and question, triage")                                                \
    X(next_identify, "next question after eight answers, identify")                                          \
    X(next_triage, "next question after eight answers, triage")                                              \
    X(rank_identify, "ranking with three lines explained, identify")                                         \
    X(rank_triage, "ranking with three lines explained, triage")

typedef enum start_line {
#define START_ENUM(name, title) line_##name,
    START_LINES(START_ENUM)
#undef START_ENUM
        line_count
} start_line;

enum { ANSWERS = 8 };

typedef struct times {
    double best[line_count], yaml, yaml_clock;
} times;

static double beside_line(const times *t, int line)
{
    const bool by_clock =
        line == line_clock_identify || line == line_clock_words || line == line_clock_triage;
    return by_clock ? t->yaml_clock : t->yaml;
}

static void note(times *t, start_line line, double milliseconds)
{
    bench_best(&t->best[line], milliseconds);
}

/* -- From nothing to the first question -- */

/* At the terminal triage asks for the customer's own words first: a session is all that needs. */
static bool start(const bench *b, times *t, const char *stage, start_line whole, start_line question)
{
    const bool triage = whole == line_triage;
    cw_pack *pack = NULL;
    cw_session *session = NULL;
    const cw_next *next = NULL;
    const double begin = bench_now(), clock = bench_clock();
    if (!bench_open(NULL, b->folders, b->folder_count, &pack))
        return false;
    const double loaded = bench_now();
    cw_status status = cw_session_new(pack, stage, &session);
    const double opened = bench_now(), clock_opened = bench_clock();
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    const double end = bench_now(), clock_end = bench_clock();
    const bool asked = status == CW_OK && next->count > 0;
    cw_session_free(session);
    cw_pack_free(pack);
    if (!asked)
        return bench_failed("no first question", status);
    note(t, line_load, loaded - begin);
    note(t, question, end - loaded);
    note(t, whole, end - begin);
    note(t, triage ? line_clock_triage : line_clock_identify, clock_end - clock);
    if (triage) {
        note(t, line_words, opened - begin);
        note(t, line_clock_words, clock_opened - clock);
    }
    return true;
}

/* -- Some answers later -- */

/* The answer furthest from normal that can be given without knowing the trade; NULL when there is none. */
static const char *worst(const cw_check_info *check)
{
    if (check->kind == CW_ANSWER_YES_OR_NO)
        return "yes";
    return check->kind == CW_ANSWER_CHOICE ? check->choices[check->choice_count - 1].name : NULL;
}

/* Answers the question asked; what has no worst answer, or stops the advice, is passed over. True while there
 * is a question. */
static bool answer_next(cw_session *session, const char **check, const char **given)
{
    const cw_next *next = NULL;
    if (cw_session_next(session, &next) != CW_OK || next->count == 0)
        return false;
    *check = next->checks[0].check->name;
    *given = worst(next->checks[0].check);
    if (!bench_give(session, *check, *given == NULL ? "can't tell" : *given))
        return false;
    if (cw_session_next(session, &next) == CW_OK && next->count == 0) {
        *given = NULL;
        return bench_give(session, *check, "can't tell");
    }
    return true;
}

/* The last answer once more, then what comes of it. */
static bool again(times *t, cw_session *session, const char *check, const char *given, start_line next_line,
                  start_line rank_line)
{
    const cw_next *next = NULL;
    const cw_ranking *ranking = NULL;
    if (cw_session_withdraw(session, check) != CW_OK)
        return false;
    double begin = bench_now();
    if (!bench_give(session, check, given) || cw_session_next(session, &next) != CW_OK)
        return false;
    note(t, next_line, bench_now() - begin);
    if (cw_session_withdraw(session, check) != CW_OK || !bench_give(session, check, given))
        return false;
    begin = bench_now();
    if (cw_session_ranking(session, 3, &ranking) != CW_OK)
        return false;
    note(t, rank_line, bench_now() - begin);
    return true;
}

static bool later(const bench *b, times *t, const cw_pack *pack, const char *stage, start_line next_line,
                  start_line rank_line)
{
    cw_session *session = NULL;
    const char *check = NULL, *given = NULL, *last_check = NULL, *last = NULL;
    bool done = cw_session_new(pack, stage, &session) == CW_OK;
    unsigned answers = 0;
    for (int tries = 0; done && answers < ANSWERS && tries < 60 && answer_next(session, &check, &given);
         tries++) {
        if (given == NULL)
            continue;
        last_check = check;
        last = given;
        answers++;
    }
    for (unsigned i = 0; done && last != NULL && i < b->runs; i++)
        done = again(t, session, last_check, last, next_line, rank_line);
    cw_session_free(session);
    return done || bench_failed("the same answer again", CW_BAD_CALL);
}

static bool measure(const bench *b, times *t, pack_files *files)
{
    cw_pack *pack = NULL;
    for (unsigned i = 0; i < b->runs; i++) {
        const double begin = bench_now(), clock = bench_clock();
        if (!files_parse(files))
            return false;
        bench_best(&t->yaml, bench_now() - begin);
        bench_best(&t->yaml_clock, bench_clock() - clock);
        if (!start(b, t, "identify", line_identify, line_first_identify) ||
            !start(b, t, "triage", line_triage, line_first_triage))
            return false;
    }
    const bool done = bench_open(NULL, b->folders, b->folder_count, &pack) &&
                      later(b, t, pack, "identify", line_next_identify, line_rank_identify) &&
                      later(b, t, pack, "triage", line_next_triage, line_rank_triage);
    cw_pack_free(pack);
    return done;
}

bool bench_start(bench *b)
{
    static const char *const names[] = {
#define START_NAME(name, title) #name,
        START_LINES(START_NAME)
#undef START_NAME
    };
    static const char *const titles[] = {
#define START_TITLE(name, title) title,
        START_LINES(START_TITLE)
#undef START_TITLE
    };
    static const char beside[] = "libyaml alone, every event of the packs that ship";
    times t = {.yaml = 0};
    pack_files files = {.count = 0};
    bool done = true;
    for (size_t i = 0; i < b->folder_count && done; i++)
        done = files_add(&files, b->folders[i]);
    done = done && measure(b, &t, &files);
    for (int i = 0; i < line_count && done; i++)
        done = bench_add(b, &(bench_row){.name = names[i],
                                         .work = titles[i],
                                         .baseline = beside,
                                         .unit = "ms",
                                         .points = {{.ours = t.best[i], .base = beside_line(&t, i)}},
                                         .count = 1});
    files_free(&files);
    return done;
}
