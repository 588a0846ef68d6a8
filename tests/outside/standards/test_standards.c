/* What the shipped packs make of terminal letters (DIN 72552), rating plates, threads (ISO 261), ribbed belts
 * (ISO 9981 and 9982) and bearings (ISO 15), through the door that every caller uses. */
#include "corewright/corewright.h"
#include "outside/outside.h"

static cw_pack *open_packs(void)
{
    const char *folder = CW_SOURCE_DIR "/rules/charging-basics";
    cw_messages *messages = NULL;
    cw_pack *pack = NULL;
    cw_status status = cw_pack_open(NULL, &folder, 1, &messages, &pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        fputs(cw_messages_at(messages, i)->rendered, stderr);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK);
    return pack;
}

static cw_session *start(const cw_pack *pack)
{
    cw_session *session;
    cr_assert_eq(cw_session_new(pack, "identify", &session), CW_OK);
    return session;
}

static void tell(cw_session *session, const char *check, const char *answer)
{
    cw_messages *messages = NULL;
    cw_status status = cw_session_answer(session, check, answer, NULL, NULL, &messages);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        fputs(cw_messages_at(messages, i)->rendered, stderr);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK, "%s = %s", check, answer);
}

static void tell_mm(cw_session *session, const char *check, double mm)
{
    char text[40];
    snprintf(text, sizeof text, "%.3f mm", mm);
    tell(session, check, text);
}

/* What the line says: its value, "dispute", or NULL. */
static const char *says(cw_session *session, const char *line)
{
    const cw_description *all;
    cr_assert_eq(cw_session_description(session, &all), CW_OK);
    for (size_t i = 0; i < all->count; i++)
        for (size_t k = 0; k < all->headings[i].count; k++) {
            const cw_description_line *at = &all->headings[i].lines[k];
            if (strcmp(at->fact, line) != 0)
                continue;
            bool disputed = at->by == CW_KNOWN_BY_CONFLICT;
            cr_expect(!disputed || (at->value == NULL && at->conflict != NULL), "%s: neither side is taken",
                      line);
            return disputed ? "dispute" : at->value;
        }
    return NULL;
}

static void expect_line(cw_session *session, const char *line, const char *value, const char *told)
{
    const char *said = says(session, line);
    cr_expect(said != NULL && strcmp(said, value) == 0, "%s: %s is %s, not %s", told, line,
              said != NULL ? said : "not known", value);
}

Test(standards, terminal_letters)
{
    cw_pack *pack = open_packs();
    table letters = table_read("standards/letters.csv");
    for (size_t i = 1; i < letters.rows; i++) {
        cw_session *session = start(pack);
        tell(session, "plug_letters", table_cell(&letters, i, 0));
        expect_line(session, table_cell(&letters, i, 1), table_cell(&letters, i, 2),
                    table_cell(&letters, i, 0));
        cw_session_free(session);
    }
    table_free(&letters);
    cw_pack_free(pack);
}

Test(standards, one_mark_is_not_part_of_another)
{
    cw_pack *pack = open_packs();
    table letters = table_read("standards/not_letters.csv");
    for (size_t i = 1; i < letters.rows; i++) {
        cw_session *session = start(pack);
        tell(session, "plug_letters", table_cell(&letters, i, 0));
        cr_expect_null(says(session, table_cell(&letters, i, 1)), "%s says nothing of %s",
                       table_cell(&letters, i, 0), table_cell(&letters, i, 1));
        cw_session_free(session);
    }
    table_free(&letters);
    cw_pack_free(pack);
}

Test(standards, threads)
{
    cw_pack *pack = open_packs();
    table threads = table_read("standards/threads.csv");
    for (size_t i = 1; i < threads.rows; i++) {
        cw_session *session = start(pack);
        tell_mm(session, "stud_diameter", atof(table_cell(&threads, i, 0)));
        cr_expect_null(says(session, "output_stud"), "a size alone names no thread");
        tell_mm(session, "stud_pitch", atof(table_cell(&threads, i, 1)));
        expect_line(session, "output_stud", table_cell(&threads, i, 2), table_cell(&threads, i, 0));
        cw_session_free(session);
    }
    table_free(&threads);
    cw_pack_free(pack);
}

/* Over 3 to 8 grooves, read a tenth too far. On few grooves of the finest profile the caliper's error is too
 * coarse: then nothing is said, and never another profile. */
Test(standards, belt_profiles)
{
    cw_pack *pack = open_packs();
    table profiles = table_read("belts/profiles.csv");
    for (size_t i = 1; i < profiles.rows; i++)
        for (int grooves = 3; grooves <= 8; grooves++) {
            cw_session *session = start(pack);
            char text[40], small[8] = {0};
            for (size_t k = 0; k < 2; k++)
                small[k] = (char)(table_cell(&profiles, i, 0)[k] - 'A' + 'a');
            snprintf(text, sizeof text, "%d", grooves);
            tell(session, "pulley_type", "ribbed_solid");
            tell(session, "pulley_ribs", text);
            tell_mm(session, "groove_span", (grooves - 1) * atof(table_cell(&profiles, i, 1)) + 0.1);
            if (strcmp(small, "ph") != 0 || says(session, "belt_profile") != NULL)
                expect_line(session, "belt_profile", small, text);
            cw_session_free(session);
        }
    table_free(&profiles);
    cw_pack_free(pack);
}

/* Sizes to number for the series 60, 62 and 63; the thin series shares bores and outsides and must not be
 * taken for them. */
Test(standards, bearings_by_their_sizes)
{
    static const char *const ends[] = {"front", "rear"};
    static const char *const sizes[] = {"bore", "outside", "width"};
    cw_pack *pack = open_packs();
    table bearings = table_read("bearings/sizes.csv");
    size_t named = 0;
    for (size_t i = 1; i < bearings.rows; i++)
        for (size_t e = 0; e < 2; e++) {
            cw_session *session = start(pack);
            char name[40];
            for (size_t k = 0; k < 3; k++) {
                snprintf(name, sizeof name, "%s_bearing_%s", ends[e], sizes[k]);
                tell_mm(session, name, atof(table_cell(&bearings, i, k + 1)) + (k == 0 ? 0.03 : -0.03));
            }
            snprintf(name, sizeof name, "%s_bearing_number", ends[e]);
            const char *number = table_cell(&bearings, i, 0);
            if (strlen(number) == 4)
                expect_line(session, name, number, number);
            else
                cr_expect_null(says(session, name), "%s has no number here", number);
            named += strlen(number) == 4;
            cw_session_free(session);
        }
    cr_expect_eq(named, 2 * 21u);
    table_free(&bearings);
    cw_pack_free(pack);
}

/* An empty cell: nothing is read. */
static void expect_cell(cw_session *session, const char *line, const char *cell, const char *told)
{
    if (cell[0] != '\0')
        expect_line(session, line, cell, told);
    else
        cr_expect_null(says(session, line), "%s says nothing of %s", told, line);
}

Test(standards, rating_plates)
{
    static const char *const lines[] = {"unit_volts", "rated_low_current", "rated_current"};
    cw_pack *pack = open_packs();
    table plates = table_read("standards/plates.csv");
    for (size_t i = 1; i < plates.rows; i++) {
        cw_session *session = start(pack);
        tell(session, "rating_plate", table_cell(&plates, i, 0));
        for (size_t k = 0; k < 3; k++)
            expect_cell(session, lines[k], table_cell(&plates, i, k + 1), table_cell(&plates, i, 0));
        cw_session_free(session);
    }
    table_free(&plates);
    cw_pack_free(pack);
}

Test(standards, belts_bearings_and_regulators_as_they_are_marked)
{
    cw_pack *pack = open_packs();
    table marks = table_read("standards/marks.csv");
    for (size_t i = 1; i < marks.rows; i++) {
        cw_session *session = start(pack);
        tell(session, table_cell(&marks, i, 0), table_cell(&marks, i, 1));
        expect_line(session, table_cell(&marks, i, 2), table_cell(&marks, i, 3), table_cell(&marks, i, 1));
        cw_session_free(session);
    }
    table_free(&marks);
    cw_pack_free(pack);
}

/* Number to sizes: what stands on the bearing says bore, outside and width; measured ones that differ are
 * told. */
Test(standards, bearings_by_their_numbers)
{
    static const char *const sizes[] = {"front_bearing_d", "front_bearing_od", "front_bearing_w"};
    cw_pack *pack = open_packs();
    table bearings = table_read("bearings/sizes.csv");
    for (size_t i = 1; i < bearings.rows; i++) {
        const char *number = table_cell(&bearings, i, 0);
        cw_session *session = start(pack);
        tell(session, "front_bearing_marking", number);
        for (size_t k = 0; k < 3; k++) {
            char mm[20];
            snprintf(mm, sizeof mm, "%s mm", table_cell(&bearings, i, k + 1));
            expect_cell(session, sizes[k], strlen(number) == 4 ? mm : "", number);
        }
        if (strlen(number) == 4) {
            tell_mm(session, "front_bearing_outside", atof(table_cell(&bearings, i, 2)) + 3);
            expect_line(session, "front_bearing_od", "dispute", number);
        }
        cw_session_free(session);
    }
    table_free(&bearings);
    cw_pack_free(pack);
}
