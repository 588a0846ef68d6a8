/* What the tests of this room share: the small shop of the session's tests, and files that go away. */
#ifndef CW_TESTS_JOB_SUPPORT_H
#define CW_TESTS_JOB_SUPPORT_H

#include "corewright/corewright.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define SHOP CW_SOURCE_DIR "/tests/session/shop"

static inline cw_pack *open_shop(const cw_settings *settings)
{
    const char *folders[] = {SHOP};
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(settings, folders, 1, NULL, &pack), CW_OK);
    return pack;
}

static inline cw_session *start(const cw_pack *pack, const char *stage)
{
    cw_session *session;
    cr_assert_eq(cw_session_new(pack, stage, &session), CW_OK);
    return session;
}

/* A folder of its own for one test. */
static inline void make_folder(char path[64])
{
    strcpy(path, "/tmp/cw-job-XXXXXX");
    cr_assert_not_null(mkdtemp(path));
}

static inline char *slurp(const char *path)
{
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return NULL;
    char *text = calloc(1, 20000);
    cr_assert_not_null(text);
    size_t size = fread(text, 1, 19999, file);
    text[size] = '\0';
    fclose(file);
    return text;
}

#endif
