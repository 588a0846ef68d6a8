#include "base/source.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

static uint32_t add(cw_sources *sources, const char *name, const char *text)
{
    uint32_t source;
    cr_assert_eq(cw_sources_add(sources, name, text, strlen(text), &source), CW_OK);
    return source;
}

Test(source, texts_are_copied_and_numbered_from_one)
{
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    char text[] = "a: b";
    cr_assert_eq(add(sources, "one.yaml", text), 1);
    text[0] = 'X';
    cr_assert_eq(add(sources, "two.yaml", ""), 2);
    size_t size;
    cr_assert_str_eq(cw_source_text(sources, 1, &size), "a: b");
    cr_assert_eq(size, 4);
    cr_assert_str_eq(cw_source_name(sources, 2), "two.yaml");
    cr_assert_str_eq(cw_source_text(sources, 2, &size), "");
    cr_assert_eq(size, 0);
    cw_sources_free(sources);
    cw_sources_free(NULL);
}

Test(source, a_text_may_be_read_into_its_place)
{
    failing memory;
    for (size_t allowed = 1;; allowed++) {
        failing_start(&memory, allowed);
        cw_sources *sources = cw_sources_new(&memory.allocator);
        uint32_t source = 9;
        char *text = cw_sources_room(sources, 3), *spare = cw_sources_room(sources, 5);
        cw_sources_give_back(sources, spare, 5);
        cw_status status = CW_NO_MEMORY;
        if (text != NULL) {
            memcpy(text, "abc", 3);
            status = cw_sources_take(sources, "f", text, 3, &source);
            cr_assert_eq(source, status == CW_OK ? 1 : 0);
        }
        size_t size;
        cr_assert_eq(status, text != NULL && source == 1 ? CW_OK : CW_NO_MEMORY);
        cr_assert_str_eq(cw_source_text(sources, 1, &size), status == CW_OK ? "abc" : "");
        cr_assert_eq(size, status == CW_OK ? 3 : 0);
        cw_sources_free(sources);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_eq(memory.requests, 5);
}

Test(source, what_there_is_not_is_empty)
{
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    size_t size = 9;
    cr_assert_str_eq(cw_source_name(sources, 0), "");
    cr_assert_str_eq(cw_source_text(sources, 1, &size), "");
    cr_assert_eq(size, 0);
    size = 9;
    cr_assert_str_eq(cw_source_line(sources, 0, 0, &size), "");
    cr_assert_eq(size, 0);
    cw_place place = cw_source_place(sources, (cw_span){0, 5, 6});
    cr_assert_str_eq(place.file, "");
    cr_assert_eq(place.line, 0);
    cr_assert_eq(place.column, 0);
    cw_sources_free(sources);
}

static void place_is(const char *text, uint32_t at, uint32_t line, uint32_t column, const char *shown)
{
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    uint32_t source = add(sources, "f", text);
    cw_place place = cw_source_place(sources, (cw_span){source, at, at});
    cr_assert_str_eq(place.file, "f");
    cr_assert_eq(place.line, line, "line of byte %u in '%s'", at, text);
    cr_assert_eq(place.column, column, "column of byte %u in '%s'", at, text);
    size_t size;
    const char *found = cw_source_line(sources, source, at, &size);
    cr_assert_eq(size, strlen(shown));
    cr_assert_eq(memcmp(found, shown, size), 0);
    cw_sources_free(sources);
}

Test(source, places_by_eye)
{
    place_is("", 0, 1, 1, "");
    place_is("ab\ncd", 0, 1, 1, "ab");
    place_is("ab\ncd", 2, 1, 3, "ab");
    place_is("ab\ncd", 3, 2, 1, "cd");
    place_is("ab\ncd", 5, 2, 3, "cd");
    place_is("ab\n", 3, 2, 1, "");
    place_is("ab\r\ncd\r\n", 4, 2, 1, "cd");
    place_is("ab\r\ncd\r\n", 1, 1, 2, "ab");
    place_is("\xC3\xA4\xC3\xB6x", 4, 1, 3, "\xC3\xA4\xC3\xB6x");
    place_is("\xE6\x95\xB4x", 3, 1, 3, "\xE6\x95\xB4x");
    place_is("\tx", 1, 1, 2, "\tx");
    place_is("ab", 99, 1, 3, "ab"); /* past the end is the end */
}

Test(source, random_texts_against_counting)
{
    random_state random = random_start(8);
    for (int round = 0; round < 300; round++) {
        char text[80];
        size_t size = random_below(&random, sizeof text - 1);
        for (size_t i = 0; i < size; i++)
            text[i] = "ab\n"[random_below(&random, 3)];
        text[size] = '\0';
        cw_sources *sources = cw_sources_new(&cw_system_allocator);
        uint32_t source = add(sources, "f", text);
        uint32_t line = 1;
        uint32_t column = 1;
        for (uint32_t at = 0; at <= size; at++) {
            cw_place place = cw_source_place(sources, (cw_span){source, at, at});
            cr_assert_eq(place.line, line);
            cr_assert_eq(place.column, column);
            column++;
            if (text[at] == '\n') {
                line++;
                column = 1;
            }
        }
        cw_sources_free(sources);
    }
}

Test(source, a_text_of_two_gibibytes_is_over_the_limit)
{
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    uint32_t source = 7;
    cr_assert_eq(cw_sources_add(sources, "big", "", (size_t)1 << 31, &source), CW_LIMIT);
    cr_assert_eq(source, 0);
    cw_sources_free(sources);
}

Test(source, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_sources *sources = cw_sources_new(&memory.allocator);
        cw_status status = sources != NULL ? CW_OK : CW_NO_MEMORY;
        for (uint32_t i = 1; status == CW_OK && i <= 20; i++) {
            uint32_t source;
            status = cw_sources_add(sources, "name", "text", 4, &source);
            cr_assert_eq(source, status == CW_OK ? i : 0);
        }
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        cw_sources_free(sources);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 41);
}
