/* What the tests of this folder share: the packs that ship, random answers to them, and all that a session
 * says as one text, to the last bit. */
#ifndef CW_TESTS_SHIPPED_H
#define CW_TESTS_SHIPPED_H

#include "corewright/corewright.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 24 };

typedef struct answer {
    const char *check;
    char text[64];
} answer;

/* settings may be NULL */
static inline cw_pack *shipped(const cw_settings *settings)
{
    const char *const folders[] = {CW_SOURCE_DIR "/rules/harbour-lane"};
    cw_messages *messages = NULL;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(settings, folders, 1, &messages, &pack), CW_OK);
    cw_messages_free(messages);
    return pack;
}

/* Something the check can take: any choice, any count, any place in the range, or "can't tell". */
static inline void make_up(random_state *random, const cw_pack *pack, const cw_check_info *check, answer *out)
{
    out->check = check->name;
    if (random_below(random, 12) == 0) {
        snprintf(out->text, sizeof out->text, "can't tell");
        return;
    }
    switch (check->kind) {
    case CW_ANSWER_YES_OR_NO:
    case CW_ANSWER_CHOICE:
        snprintf(out->text, sizeof out->text, "%s",
                 check->choices[random_below(random, (uint32_t)check->choice_count)].name);
        break;
    case CW_ANSWER_COUNT:
        snprintf(out->text, sizeof out->text, "%ld",
                 check->count_low +
                     random_below(random, (uint32_t)(check->count_high - check->count_low + 1)));
        break;
    case CW_ANSWER_MEASURE: {
        double low = strtod(check->range_low, NULL), high = strtod(check->range_high, NULL);
        snprintf(out->text, sizeof out->text, "%.9f %s", random_between(random, low, high), check->unit);
        break;
    }
    case CW_ANSWER_UNIT: {
        cw_unit_entry unit = {.name = "not_listed"};
        cw_pack_unit_at(pack, random_below(random, (uint32_t)cw_pack_units(pack) + 1), &unit);
        snprintf(out->text, sizeof out->text, "%s", unit.name);
        break;
    }
    case CW_ANSWER_TEXT:
        snprintf(out->text, sizeof out->text, "%c%c %u", 'A' + (int)random_below(random, 26),
                 'A' + (int)random_below(random, 26), random_below(random, 300));
        break;
    }
}

static inline void give(cw_session *session, const answer *given)
{
    cw_messages *messages = NULL;
    cw_status status = cw_session_answer(session, given->check, given->text, NULL, NULL, &messages);
    cr_assert_eq(status, CW_OK, "%s: %s: %s", given->check, given->text,
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "");
    cw_messages_free(messages);
}

typedef struct page_text {
    char *text;
    size_t size, room;
} page_text;

static inline void print_text(page_text *page, const char *text)
{
    const size_t size = strlen(text);
    if (page->size + size + 1 > page->room) {
        page->room = 2 * (page->room + size + 1);
        page->text = realloc(page->text, page->room);
    }
    memcpy(page->text + page->size, text, size + 1);
    page->size += size;
}

static inline void print(page_text *page, const char *format, ...) __attribute__((format(printf, 2, 3)));
static inline void print(page_text *page, const char *format, ...)
{
    char line[2000];
    va_list arguments;
    va_start(arguments, format);
    int size = vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    cr_assert(size >= 0 && (size_t)size < sizeof line);
    print_text(page, line);
}

static inline void print_ranking(page_text *page, cw_session *session)
{
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 2, &ranking), CW_OK);
    print(page, "not listed %a, at fault %a, nothing %a\n", ranking->not_listed, ranking->unit_at_fault,
          ranking->nothing_found);
    for (size_t i = 0; i < ranking->count; i++) {
        const cw_line *line = &ranking->lines[i];
        print(page, "%s %a %a %a\n", line->id, line->probability, line->low, line->high);
        for (size_t k = 0; k < line->for_count; k++)
            print(page, "  for %s through %s: %a\n", line->for_[k].check, line->for_[k].through,
                  line->for_[k].bits);
        for (size_t k = 0; k < line->against_count; k++)
            print(page, "  against %s through %s: %a\n", line->against[k].check, line->against[k].through,
                  line->against[k].bits);
    }
}

/* All that the session says, but for the list of answers, which keeps the order in which they were given. */
static inline char *everything(cw_session *session)
{
    page_text page = {NULL, 0, 0};
    const cw_fact_info *facts;
    size_t count;
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        print(&page, "%s = %s by %s%s%s\n", facts[i].fact, facts[i].value, facts[i].rule,
              facts[i].doubtful ? " doubtful" : "", facts[i].contested ? " contested" : "");
        for (size_t k = 0; k < facts[i].from_count; k++)
            print(&page, "  from %s\n", facts[i].from[k]);
    }
    const cw_conflict_info *conflicts;
    cr_assert_eq(cw_session_conflicts(session, &conflicts, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < conflicts[i].side_count; k++)
            print(&page, "conflict %s: %s by %s\n", conflicts[i].fact, conflicts[i].sides[k].value,
                  conflicts[i].sides[k].rule != NULL ? conflicts[i].sides[k].rule : "an answer");
    const cw_caution_info *const *cautions;
    cr_assert_eq(cw_session_cautions(session, &cautions, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        print(&page, "caution %s\n", cautions[i]->name);
    print_ranking(&page, session);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++)
        print(&page, "next %s at %s: %a bits\n", next->checks[i].check->name, next->checks[i].place,
              next->checks[i].bits);
    print(&page, "stop %d\n", (int)next->stop);
    return page.text;
}

/* Different checks, random answers. */
static inline size_t some_answers(random_state *random, const cw_pack *pack, answer *answers)
{
    size_t count = 1 + random_below(random, MOST - 1), checks = cw_pack_checks(pack), made = 0;
    for (size_t i = 0; i < checks && made < count; i++)
        if (random_below(random, (uint32_t)(checks - i)) < count - made)
            make_up(random, pack, cw_pack_check_at(pack, i), &answers[made++]);
    return made;
}

static inline cw_session *start(const cw_pack *pack, const char *stage)
{
    cw_session *session = NULL;
    cr_assert_eq(cw_session_new(pack, stage, &session), CW_OK);
    return session;
}

#endif
