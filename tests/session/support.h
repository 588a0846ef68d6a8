/* What the tests of this room share: the small shop, opened. */
#ifndef CW_TESTS_SESSION_SUPPORT_H
#define CW_TESTS_SESSION_SUPPORT_H

#include "corewright/corewright.h"
#include <criterion/criterion.h>
#include <string.h>

#define SHOP CW_SOURCE_DIR "/tests/session/shop"

static inline cw_pack *open_shop(const cw_settings *settings)
{
    const char *folders[] = {SHOP};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cw_status status = cw_pack_open(settings, folders, 1, &messages, &pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cr_assert_eq(status, CW_OK);
    cr_assert_null(messages, "the shop must load without a warning");
    return pack;
}

static inline cw_session *start_shop(const cw_pack *pack, const char *stage)
{
    cw_session *session;
    cr_assert_eq(cw_session_new(pack, stage, &session), CW_OK);
    return session;
}

static inline void tell(cw_session *session, const char *check, const char *answer)
{
    cw_messages *messages;
    cw_status status = cw_session_answer(session, check, answer, NULL, NULL, &messages);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK, "%s = %s", check, answer);
}

static inline const cw_given *given(cw_session *session, const char *check)
{
    const cw_given *list;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i].check, check) == 0)
            return &list[i];
    }
    return NULL;
}

static inline const cw_fact_info *concluded(cw_session *session, const char *fact)
{
    const cw_fact_info *list;
    size_t count;
    cr_assert_eq(cw_session_facts(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i].fact, fact) == 0)
            return &list[i];
    }
    return NULL;
}

#endif
