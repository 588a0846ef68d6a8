/* What was published about good and bad units on the bench must pass and fail. figures.csv says of each what
 * it is and where from; the sheet is that of the shipped generic pack. */
#include "corewright/corewright.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static cw_pack *open_basics(void)
{
    const char *folders[] = {CW_SOURCE_DIR "/rules/charging-basics"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, &messages, &pack), CW_OK);
    cw_messages_free(messages);
    return pack;
}

static void tell_all(cw_session *session, char *readings)
{
    char *rest = readings;
    for (char *one = strtok_r(readings, ";\n", &rest); one != NULL; one = strtok_r(NULL, ";\n", &rest)) {
        char *equals = strchr(one, '=');
        cr_assert_not_null(equals, "%s", one);
        *equals = '\0';
        cr_assert_eq(cw_session_answer(session, one, equals + 1, NULL, NULL, NULL), CW_OK, "%s = %s", one,
                     equals + 1);
    }
}

static void hold_against(const cw_pack *pack, char *row)
{
    char *rest = row;
    const char *published = strtok_r(row, ",", &rest), *line = strtok_r(NULL, ",", &rest),
               *verdict = strtok_r(NULL, ",", &rest);
    cr_assert(published != NULL && line != NULL && verdict != NULL, "%s", row);
    cw_session *session;
    const cw_proof_line *list;
    size_t count, found = 0;
    cr_assert_eq(cw_session_new(pack, "proof", &session), CW_OK);
    tell_all(session, rest);
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i].fact, line) != 0)
            continue;
        found++;
        if (strcmp(verdict, "no fail") == 0) {
            cr_expect(list[i].doubtful || strcmp(list[i].verdict, "pass") == 0, "%s", published);
            continue;
        }
        cr_expect_str_eq(list[i].verdict, verdict, "%s: %s", published, list[i].verdict);
        cr_expect_not(list[i].doubtful, "%s", published);
    }
    cr_expect_eq(found, 1u, "%s", line);
    cw_session_free(session);
}

Test(proof_limits, published_figures_pass_and_fail_as_they_should)
{
    cw_pack *pack = open_basics();
    FILE *file = fopen(CW_SOURCE_DIR "/tests/outside/proof/figures.csv", "r");
    cr_assert_not_null(file);
    char row[500];
    size_t rows = 0;
    while (fgets(row, sizeof row, file) != NULL) {
        if (row[0] == '#')
            continue;
        hold_against(pack, row);
        rows++;
    }
    fclose(file);
    cr_expect_eq(rows, 17u);
    cw_pack_free(pack);
}
