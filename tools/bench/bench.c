/* cw_bench: how long the start to the first question takes, and what comes after it, as multiples of a bare
 * libyaml event loop over the same files in the same run; and the same for large packs that it writes itself.
 * They take turns, the best time of each counts: that is the one least disturbed by whatever else the machine
 * does. Ratios can be compared between machines; milliseconds cannot. */
#include "corewright/corewright.h"
#include "files.h"
#include "network.h"
#include "workload.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* What is timed, beside which yardstick. */
#define BENCH_LINES(X)                                                                                       \
    X(yaml, yaml, "libyaml alone, events of all pack files")                                                 \
    X(identify, yaml, "start to first question, identify")                                                   \
    X(words, yaml, "start to first question, triage: the customer's words")                                  \
    X(triage, yaml, "start to first check, triage")                                                          \
    X(load, yaml, "of these: packs read and checked")                                                        \
    X(first_identify, yaml, "of these: session and question, identify")                                      \
    X(first_triage, yaml, "of these: session and question, triage")                                          \
    X(next_identify, yaml, "next question after an answer, identify")                                        \
    X(next_triage, yaml, "next question after an answer, triage")                                            \
    X(rank_identify, yaml, "ranking with three lines explained, identify")                                   \
    X(rank_triage, yaml, "ranking with three lines explained, triage")                                       \
    X(yaml_catalogue, yaml_catalogue, "10,000 families, 210,000 lines: libyaml alone")                       \
    X(load_catalogue, yaml_catalogue, "the same read and checked")                                           \
    X(yaml_rules, yaml_rules, "20,000 rules, 100,000 lines: libyaml alone")                                  \
    X(load_rules, yaml_rules, "the same read and checked")                                                   \
    X(plain_causes, plain_causes, "570 causes x 4,075 findings: inclusion-exclusion, plainly")               \
    X(rank_causes, plain_causes, "the same ranked, with parts, sets and firmness")

enum { FAMILIES = 10000, RULES = 20000 };

typedef enum bench_line {
#define BENCH_ENUM(name, base, title) line_##name,
    BENCH_LINES(BENCH_ENUM)
#undef BENCH_ENUM
        line_count
} bench_line;

static const char *const names[] = {
#define BENCH_NAME(name, base, title) #name,
    BENCH_LINES(BENCH_NAME)
#undef BENCH_NAME
};

static const char *const titles[] = {
#define BENCH_TITLE(name, base, title) title,
    BENCH_LINES(BENCH_TITLE)
#undef BENCH_TITLE
};

static const bench_line yardsticks[] = {
#define BENCH_BASE(name, base, title) line_##base,
    BENCH_LINES(BENCH_BASE)
#undef BENCH_BASE
};

enum { FOLDERS_MOST = 16, ANSWERS = 8 };

typedef struct bench {
    const char *folders[FOLDERS_MOST];
    size_t folder_count;
    pack_files files;
    unsigned runs;
    bool json;
    double best[line_count]; /* milliseconds; 0 = not yet */
    size_t answers[2];       /* given before the next question: identify, triage */
} bench;

/* Processor time: everything here is one thread that waits for nothing but the disk, and files are read
 * before the first run that counts. */
static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

static void note(bench *b, bench_line line, double milliseconds)
{
    if (b->best[line] == 0 || milliseconds < b->best[line])
        b->best[line] = milliseconds;
}

static bool failed(const char *what, cw_status status)
{
    fprintf(stderr, "cw_bench: %s: %s\n", what, cw_status_text(status));
    return false;
}

static bool open_folders(const char *const *folders, size_t count, cw_pack **out)
{
    cw_messages *messages = NULL;
    cw_status status = cw_pack_open(NULL, folders, count, &messages, out);
    for (size_t i = 0; status != CW_OK && i < cw_messages_count(messages); i++)
        fputs(cw_messages_at(messages, i)->rendered, stderr);
    cw_messages_free(messages);
    return status == CW_OK || failed("packs", status);
}

static bool open_pack(const bench *b, cw_pack **out)
{
    return open_folders(b->folders, b->folder_count, out);
}

/* -- From nothing to the first question -- */

/* At the terminal triage asks for the customer's own words first: a session is all that needs. */

static bool start(bench *b, const char *stage, bench_line whole, bench_line question)
{
    cw_pack *pack = NULL;
    cw_session *session = NULL;
    const cw_next *next = NULL;
    double begin = now();
    if (!open_pack(b, &pack))
        return false;
    double loaded = now();
    cw_status status = cw_session_new(pack, stage, &session);
    double opened = now();
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    double end = now();
    bool asked = status == CW_OK && next->count > 0;
    cw_session_free(session);
    cw_pack_free(pack);
    if (!asked)
        return failed("no first question", status);
    note(b, line_load, loaded - begin);
    note(b, question, end - loaded);
    note(b, whole, end - begin);
    if (whole == line_triage)
        note(b, line_words, opened - begin);
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
    cw_messages *messages = NULL;
    *check = next->checks[0].check->name;
    *given = worst(next->checks[0].check);
    cw_status status =
        cw_session_answer(session, *check, *given == NULL ? "can't tell" : *given, NULL, NULL, &messages);
    cw_messages_free(messages);
    if (status == CW_OK && cw_session_next(session, &next) == CW_OK && next->count == 0) {
        cw_session_answer(session, *check, "can't tell", NULL, NULL, &messages);
        cw_messages_free(messages);
        *given = NULL;
    }
    return status == CW_OK;
}

/* The last answer once more, then what comes of it. */
static bool again(bench *b, cw_session *session, const char *check, const char *given, bench_line next_line,
                  bench_line rank_line)
{
    const cw_next *next = NULL;
    const cw_ranking *ranking = NULL;
    cw_messages *messages = NULL;
    cw_status status = cw_session_withdraw(session, check);
    double begin = now();
    if (status == CW_OK)
        status = cw_session_answer(session, check, given, NULL, NULL, &messages);
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    double end = now();
    cw_messages_free(messages);
    messages = NULL;
    note(b, next_line, end - begin);
    if (status == CW_OK)
        status = cw_session_withdraw(session, check);
    if (status == CW_OK)
        status = cw_session_answer(session, check, given, NULL, NULL, &messages);
    begin = now();
    if (status == CW_OK)
        status = cw_session_ranking(session, 3, &ranking);
    end = now();
    cw_messages_free(messages);
    note(b, rank_line, end - begin);
    return status == CW_OK || failed("the same answer again", status);
}

static bool later(bench *b, const cw_pack *pack, const char *stage, bench_line next_line,
                  bench_line rank_line, size_t *answers)
{
    cw_session *session = NULL;
    const char *check = NULL, *given = NULL, *last_check = NULL, *last = NULL;
    bool done = cw_session_new(pack, stage, &session) == CW_OK;
    *answers = 0;
    for (int tries = 0; done && *answers < ANSWERS && tries < 60 && answer_next(session, &check, &given);
         tries++) {
        if (given == NULL)
            continue;
        last_check = check;
        last = given;
        ++*answers;
    }
    for (unsigned i = 0; done && last != NULL && i < b->runs; i++)
        done = again(b, session, last_check, last, next_line, rank_line);
    cw_session_free(session);
    return done;
}

static bool measure(bench *b)
{
    cw_pack *pack = NULL;
    for (unsigned i = 0; i < b->runs; i++) {
        double begin = now();
        if (!files_parse(&b->files))
            return false;
        note(b, line_yaml, now() - begin);
        if (!start(b, "identify", line_identify, line_first_identify) ||
            !start(b, "triage", line_triage, line_first_triage))
            return false;
    }
    bool done = open_pack(b, &pack) &&
                later(b, pack, "identify", line_next_identify, line_rank_identify, &b->answers[0]) &&
                later(b, pack, "triage", line_next_triage, line_rank_triage, &b->answers[1]);
    cw_pack_free(pack);
    return done;
}

/* -- Large packs -- */

/* Fewer runs: each takes as long as all of a small pack's. */
static bool measure_large(bench *b, const char *folder, bench_line yaml, bench_line load)
{
    pack_files files = {.count = 0};
    bool done = files_add(&files, folder);
    for (unsigned i = 0; i < b->runs / 4 + 1 && done; i++) {
        cw_pack *pack = NULL;
        double begin = now();
        done = files_parse(&files);
        double middle = now();
        done = done && open_folders(&folder, 1, &pack);
        note(b, yaml, middle - begin);
        note(b, load, now() - middle);
        cw_pack_free(pack);
    }
    files_free(&files);
    return done;
}

static bool measure_network(bench *b);

static bool measure_workloads(bench *b)
{
    char folder[FOLDER_ROOM] = "";
    bool done = workload_catalogue(FAMILIES, folder) &&
                measure_large(b, folder, line_yaml_catalogue, line_load_catalogue);
    workload_remove(folder);
    folder[0] = '\0';
    done =
        done && workload_rules(RULES, folder) && measure_large(b, folder, line_yaml_rules, line_load_rules);
    workload_remove(folder);
    return done && measure_network(b);
}

/* -- Causes at a published scale -- */

static bool give(cw_session *session, unsigned finding, const char *value)
{
    char name[16];
    cw_messages *messages = NULL;
    snprintf(name, sizeof name, "f%04u", finding);
    const cw_status status = cw_session_answer(session, name, value, NULL, NULL, &messages);
    cw_messages_free(messages);
    return status == CW_OK || failed(name, status);
}

static bool agree(const cw_ranking *ranking, const double *plain)
{
    for (size_t i = 0; i < ranking->count; i++) {
        const double off = ranking->lines[i].probability - plain[strtoul(ranking->lines[i].id + 1, NULL, 10)];
        if (!ranking->exact || off > 1e-9 || off < -1e-9) {
            fprintf(stderr, "cw_bench: %s is off by %g\n", ranking->lines[i].id, off);
            return false;
        }
    }
    return true;
}

/* The ranking with so many positive findings. `plain`: what it must be; NULL: it is timed. */
static bool rank_network(bench *b, const cw_pack *pack, const network_found *found, unsigned positive,
                         const double *plain)
{
    cw_session *session = NULL;
    const cw_ranking *ranking = NULL;
    bool done = cw_session_new(pack, "triage", &session) == CW_OK;
    for (unsigned i = 0; i < positive && done; i++)
        done = give(session, found->positive[i], "yes");
    for (unsigned i = 0; i < NET_NEGATIVE && done; i++)
        done = give(session, found->negative[i], "no");
    const double begin = now();
    done = done && cw_session_ranking(session, 0, &ranking) == CW_OK && ranking->exact;
    if (plain == NULL)
        note(b, line_rank_causes, now() - begin);
    else
        done = done && agree(ranking, plain);
    cw_session_free(session);
    return done;
}

static bool measure_network(bench *b)
{
    static double plain[NET_CAUSES];
    const network_found found = network_case();
    char folder[FOLDER_ROOM] = "";
    const char *folders = folder;
    cw_pack *pack = NULL;
    bool done = workload_network(folder) && open_folders(&folders, 1, &pack);
    network_plain(&found, 3, plain);
    done = done && rank_network(b, pack, &found, 3, plain);
    for (unsigned i = 0; i < b->runs / 4 + 1 && done; i++) {
        const double begin = now();
        network_plain(&found, NET_POSITIVE, plain);
        note(b, line_plain_causes, now() - begin);
        done = rank_network(b, pack, &found, NET_POSITIVE, NULL);
    }
    cw_pack_free(pack);
    workload_remove(folder);
    return done;
}

/* -- Printing -- */

static void print_table(const bench *b)
{
    printf("%zu files, %zu bytes, %zu events; best of %u runs; questions after %zu answers (identify), %zu "
           "(triage)\n\n",
           b->files.count, b->files.bytes, b->files.events, b->runs, b->answers[0], b->answers[1]);
    printf("%-56s %10s %8s\n", "", "ms", "x yaml");
    for (int i = 0; i < line_count; i++)
        printf("%-56s %10.3f %8.2f\n", titles[i], b->best[i], b->best[i] / b->best[yardsticks[i]]);
}

static void print_json(const bench *b)
{
    printf("{\"files\": %zu, \"bytes\": %zu, \"events\": %zu, \"runs\": %u, \"answers\": {\"identify\": %zu, "
           "\"triage\": "
           "%zu}, \"times\": [",
           b->files.count, b->files.bytes, b->files.events, b->runs, b->answers[0], b->answers[1]);
    for (int i = 0; i < line_count; i++)
        printf("%s\n  {\"what\": \"%s\", \"title\": \"%s\", \"ms\": %.6f, \"times_yaml\": %.4f}",
               i == 0 ? "" : ",", names[i], titles[i], b->best[i], b->best[i] / b->best[yardsticks[i]]);
    printf("\n]}\n");
}

static int usage(void)
{
    fputs("usage: cw_bench [--json] [--runs N] [PACK-FOLDER...]\n", stderr);
    return 2;
}

int main(int argc, char **argv)
{
    static bench b = {.runs = 30};
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--json") == 0) {
            b.json = true;
        } else if (strcmp(argv[i], "--runs") == 0 && i + 1 < argc) {
            char *end = NULL;
            unsigned long runs = strtoul(argv[++i], &end, 10);
            if (*end != '\0' || runs < 1 || runs > 100000)
                return usage();
            b.runs = (unsigned)runs;
        } else if (argv[i][0] == '-' || b.folder_count == FOLDERS_MOST) {
            return usage();
        } else {
            b.folders[b.folder_count++] = argv[i];
        }
    }
    if (b.folder_count == 0) {
        b.folders[b.folder_count++] = CW_SOURCE_RULES "/harbour-lane";
        b.folders[b.folder_count++] = CW_SOURCE_RULES "/charging-basics";
    }
    bool done = true;
    for (size_t i = 0; i < b.folder_count && done; i++)
        done = files_add(&b.files, b.folders[i]);
    done = done && measure(&b) && measure_workloads(&b);
    if (done && b.json)
        print_json(&b);
    else if (done)
        print_table(&b);
    files_free(&b.files);
    return done ? 0 : 2;
}
