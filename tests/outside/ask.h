/* Things identified by asking, through the public door: until the first class has four to one for it (80 %),
 * or the session says that no check left would tell anything. The same stop, whoever chooses the question.
 * Every question counts, also one that is answered with "can't tell". */
#ifndef CW_TESTS_ASK_H
#define CW_TESTS_ASK_H

#include "corewright/corewright.h"
#include "outside/learn.h"
#include <unistd.h>

/* A pack out of text; the public door wants a folder. */
static inline cw_pack *ask_open(const char *text)
{
    char folder[] = "/tmp/cw-learnt-XXXXXX", path[64];
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/pack.yaml", folder);
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    fputs(text, file);
    fclose(file);
    const char *folders[] = {folder};
    cw_messages *messages = NULL;
    cw_pack *pack = NULL;
    const cw_status status = cw_pack_read(NULL, folders, 1, &messages, &pack);
    cr_assert_eq(status, CW_OK, "%s",
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "");
    cw_messages_free(messages);
    remove(path);
    rmdir(folder);
    return pack;
}

static inline cw_pack *ask_learnt(const lesson *of, const counts *in)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    learn_classes(&text, of, in);
    cw_pack *pack = ask_open(cw_text_get(&text));
    cw_text_dispose(&text);
    return pack;
}

#define ASK_SURE 0.8

typedef struct asked {
    size_t questions;
    bool right;
} asked;

static inline void ask_one(cw_session *session, const lesson *of, size_t row, size_t feature)
{
    char name[32], value[16] = "can't tell";
    snprintf(name, sizeof name, "f%zu", feature);
    if (of->cell[row][feature] != UNKNOWN)
        snprintf(value, sizeof value, "v%d", of->cell[row][feature]);
    cr_assert_eq(cw_session_answer(session, name, value, NULL, NULL, NULL), CW_OK);
}

/* order: of features; NULL: what the session asks for. */
static inline asked ask_about(const cw_pack *pack, const lesson *of, size_t row, const size_t *order)
{
    cw_session *session;
    asked out = {0, false};
    cr_assert_eq(cw_session_new(pack, "identify", &session), CW_OK);
    for (;; out.questions++) {
        const cw_next *next;
        const cw_ranking *ranking;
        cr_assert_eq(cw_session_lines(session, &ranking), CW_OK);
        out.right = strtol(ranking->lines[0].id + strlen("class_"), NULL, 10) == of->class_of[row];
        if (ranking->lines[0].probability >= ASK_SURE)
            break;
        cr_assert_eq(cw_session_next(session, &next), CW_OK);
        if (next->stop != CW_GO_ON)
            break;
        ask_one(session, of, row,
                order != NULL ? order[out.questions]
                              : (size_t)strtoul(next->checks[0].check->name + 1, NULL, 10));
    }
    cw_session_free(session);
    return out;
}

typedef struct tally {
    size_t things, questions, right;
} tally;

static inline void tally_add(tally *all, asked one)
{
    all->things++;
    all->questions += one.questions;
    all->right += one.right;
}

static inline double tally_mean(const tally *all)
{
    return (double)all->questions / (double)all->things;
}

/* What rpart's trees come to (tree.R): of those with at least as many right, else of those with the most, the
 * one that asks least. */
static inline double ask_tree(const char *data, size_t right)
{
    enum { SIZES = 4 };
    double trees[2 * SIZES], least = INFINITY, most = 0;
    outside_needs_r("rpart");
    outside_run_r("tree.R", data, trees, 2 * SIZES);
    for (size_t i = 0; i < SIZES; i++)
        most = fmax(most, trees[2 * i]);
    for (size_t i = 0; i < SIZES; i++)
        if (trees[2 * i] >= fmin(most, (double)right))
            least = fmin(least, trees[2 * i + 1]);
    return least;
}

#endif
