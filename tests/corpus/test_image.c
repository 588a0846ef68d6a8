/* Every case of the corpus comes to the same, to the last bit, from the packs' image and from the packs. */
#include "corewright/corewright.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Sanitizers take a sample; the optimised build takes all. */
#ifdef __SANITIZE_ADDRESS__
enum { EVERY = 4 };
#else
enum { EVERY = 1 };
#endif
enum { ROOM = 1 << 20, WHOLE_EVERY = 60 };

typedef struct saying {
    char text[ROOM];
    size_t size;
} saying;

static saying said[2];
static size_t cases, seen;

#define SAY(to, ...) ((to)->size += (size_t)snprintf((to)->text + (to)->size, ROOM - (to)->size, __VA_ARGS__))

static void say_cheap(saying *to, cw_session *session)
{
    const cw_fact_info *facts;
    size_t count;
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        SAY(to, "%s=%s by %s because %s;", facts[i].fact, facts[i].value, facts[i].rule, facts[i].because);
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    for (size_t i = 0; i < ranking->count; i++)
        SAY(to, "%s %s %.17g;", ranking->lines[i].id, ranking->lines[i].title, ranking->lines[i].probability);
}

static void say_dear(saying *to, cw_session *session)
{
    const cw_next *next;
    const char *const *paragraphs;
    size_t count;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++)
        SAY(to, "%s at %s %.17g %s;", next->checks[i].check->ask, next->checks[i].place, next->checks[i].bits,
            next->checks[i].why);
    cr_assert_eq(cw_session_why(session, NULL, &paragraphs, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        SAY(to, "%s\n", paragraphs[i]);
}

static void run_case(const cw_pack *const *packs, const char *path)
{
    const bool whole = cases++ % WHOLE_EVERY == 0;
    for (int i = 0; i < 2; i++) {
        cw_case *job;
        cw_session *session;
        cr_assert_eq(cw_case_read(NULL, path, NULL, &job), CW_OK, "%s", path);
        cr_assert_eq(cw_session_new(packs[i], cw_case_get(job)->stage, &session), CW_OK);
        cr_assert_eq(cw_case_apply(job, session, NULL), CW_OK, "%s", path);
        said[i].size = 0;
        say_cheap(&said[i], session);
        if (whole)
            say_dear(&said[i], session);
        cr_assert_lt(said[i].size, (size_t)ROOM);
        cw_session_free(session);
        cw_case_free(job);
    }
    cr_expect(said[0].size == said[1].size && strcmp(said[0].text, said[1].text) == 0, "%s", path);
}

static void run_folder(const cw_pack *const *packs, const char *path)
{
    DIR *folder = opendir(path);
    cr_assert_not_null(folder, "%s", path);
    for (struct dirent *at; (at = readdir(folder)) != NULL;) {
        char inner[4096];
        const size_t size = strlen(at->d_name);
        snprintf(inner, sizeof inner, "%s/%s", path, at->d_name);
        if (at->d_name[0] != '.' && strchr(at->d_name, '.') == NULL)
            run_folder(packs, inner);
        else if (size > 5 && strcmp(at->d_name + size - 5, ".yaml") == 0 && seen++ % EVERY == 0)
            run_case(packs, inner);
    }
    closedir(folder);
}

Test(image, of_the_shipped_packs_answers_every_case_alike)
{
    char path[] = "/tmp/cw-corpus-XXXXXX";
    const char *folder = CW_SOURCE_DIR "/rules/harbour-lane", *image = path;
    const int handle = mkstemp(path);
    cw_pack *packs[2];
    cr_assert_geq(handle, 0);
    close(handle);
    cr_assert_eq(cw_pack_write_image(NULL, &folder, 1, path, NULL), CW_OK);
    cr_assert_eq(cw_pack_open(NULL, &image, 1, NULL, &packs[0]), CW_OK);
    cr_assert_eq(cw_pack_read(NULL, &folder, 1, NULL, &packs[1]), CW_OK);
    cr_assert(cw_pack_from_image(packs[0]) && !cw_pack_from_image(packs[1]));
    run_folder((const cw_pack *const *)packs, CW_CORPUS);
    cr_expect_geq(cases, 40u);
    remove(path);
    cw_pack_free(packs[0]);
    cw_pack_free(packs[1]);
}
