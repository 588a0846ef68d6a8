#include "base/pattern.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <pthread.h>
#include <string.h>

static cw_pattern *make(const char *text)
{
    cw_pattern *pattern;
    size_t offset;
    char message[120];
    cr_assert_eq(
        cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK, "%s: %s", text, message);
    return pattern;
}

static void expect(const char *text, const char *subject, bool matched, size_t start, size_t end)
{
    cw_pattern *pattern = make(text);
    bool found = !matched;
    size_t from = 77;
    size_t to = 77;
    cr_assert_eq(cw_pattern_match(pattern, subject, strlen(subject), &found, &from, &to), CW_OK);
    cr_assert_eq(found, matched, "%s in %s", text, subject);
    cr_assert_eq(from, matched ? start : 77);
    cr_assert_eq(to, matched ? end : 77);
    cr_assert_eq(cw_pattern_match(pattern, subject, strlen(subject), &found, NULL, NULL), CW_OK);
    cr_assert_eq(found, matched);
    cw_pattern_free(pattern);
}

Test(pattern, matches_by_eye)
{
    expect("^T9[0-4]\\d{2}\\b", "T9312 B", true, 0, 5);
    expect("^T9[0-4]\\d{2}\\b", "T931 B", false, 0, 0);
    expect("^T9[0-4]\\d{2}\\b", "T9012B", false, 0, 0);
    expect("^T9[0-4]\\d{2}\\b", "t9012 x", true, 0, 5);
    expect("lamp.*glow", "the Lamp GLOWS", true, 4, 13);
    expect("", "", true, 0, 0);
    expect("a", "", false, 0, 0);
    expect("\xC3\xB6l", "\xC3\x96L", true, 0, 3); /* capital letters outside ASCII are alike too */
    expect("^.$", "\xC3\xB6", true, 0, 2);        /* one character, not two bytes */
    expect("(a)(b)(c)", "abc", true, 0, 3);
}

Test(pattern, a_bad_one_says_where_and_what)
{
    static const struct {
        const char *text;
        size_t offset;
    } bad[] = {{"a(b", 3}, {"[a", 2}, {"*", 0}, {"\\C", 2}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        cw_pattern *pattern = NULL;
        size_t offset = 0;
        char message[120] = "";
        cr_assert_eq(cw_pattern_new(&cw_system_allocator, bad[i].text, strlen(bad[i].text), &pattern, &offset,
                                    message, sizeof message),
                     CW_BAD_INPUT, "%s", bad[i].text);
        cr_assert_null(pattern);
        cr_assert_eq(offset, bad[i].offset, "%s: %zu", bad[i].text, offset);
        cr_assert_gt(strlen(message), 5);
    }
}

Test(pattern, a_short_buffer_for_the_message_is_kept_to)
{
    cw_pattern *pattern;
    size_t offset;
    char message[12];
    memset(message, 'x', sizeof message);
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, "(", 1, &pattern, &offset, message, 6), CW_BAD_INPUT);
    cr_assert_eq(strlen(message), 5);
    cr_assert_eq(message[6], 'x');
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, "(", 1, &pattern, &offset, NULL, 0), CW_BAD_INPUT);
}

Test(pattern, bytes_that_are_not_utf8_are_refused)
{
    cw_pattern *pattern;
    size_t offset;
    char message[120];
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, "a\xFF", 2, &pattern, &offset, message, sizeof message),
                 CW_BAD_INPUT);
    pattern = make("a");
    bool matched = true;
    cr_assert_eq(cw_pattern_match(pattern,
                                  "\xFF"
                                  "a",
                                  2, &matched, NULL, NULL),
                 CW_BAD_INPUT);
    cr_assert_not(matched);
    cw_pattern_free(pattern);
    cw_pattern_free(NULL);
}

Test(pattern, one_of_more_than_1000_characters_is_over_the_limit)
{
    char text[CW_PATTERN_MAX_SIZE + 1];
    memset(text, 'a', sizeof text);
    cw_pattern *pattern;
    size_t offset;
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, text, sizeof text, &pattern, &offset, NULL, 0),
                 CW_LIMIT);
    cr_assert_null(pattern);
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, text, sizeof text - 1, &pattern, &offset, NULL, 0),
                 CW_OK);
    cw_pattern_free(pattern);
}

/* Without limits these would take longer than anybody lives. */
Test(pattern, catastrophic_ones_end_at_the_limit)
{
    static const char *const bad[] = {"^(a+)+$", "^(a|aa)+$", "^(a|a)*$", "(x+x+)+[yz]",
                                      "^(([a-z])+.)+[A-Z]([a-z])+$"};
    char subject[200];
    memset(subject, 'a', sizeof subject);
    subject[199] = '!';
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        cw_pattern *pattern = make(bad[i]);
        bool matched = true;
        memset(subject, strchr(bad[i], 'x') != NULL ? 'x' : 'a', 199);
        cr_assert_eq(cw_pattern_match(pattern, subject, sizeof subject, &matched, NULL, NULL), CW_LIMIT, "%s",
                     bad[i]);
        cr_assert_not(matched);
        cw_pattern_free(pattern);
    }
    /* Recursion without end. */
    cw_pattern *deep = make("^((?1)?a)+!$");
    bool matched;
    cr_assert_eq(cw_pattern_match(deep, subject, sizeof subject, &matched, NULL, NULL), CW_LIMIT);
    cw_pattern_free(deep);
}

Test(pattern, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_pattern *pattern;
        size_t offset;
        char message[120];
        bool matched = false;
        cw_status status = cw_pattern_new(&memory.allocator, "(a|b)+\\d{2,5}c?", 15, &pattern, &offset,
                                          message, sizeof message);
        if (status == CW_OK)
            status = cw_pattern_match(pattern, "xxabab123c", 10, &matched, NULL, NULL);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "after %zu: %d", allowed, status);
        cr_assert_eq(matched, !memory.refused);
        cw_pattern_free(pattern);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 5);
}

Test(pattern, kept_as_text)
{
    failing memory;
    cw_pattern *pattern;
    failing_start(&memory, 0);
    cr_expect_eq(cw_pattern_keep(&memory.allocator, "a(b", 3, &pattern), CW_NO_MEMORY);
    cr_expect_null(pattern);
    failing_start(&memory, 1);
    cr_assert_eq(cw_pattern_keep(&memory.allocator, "a(b", 3, &pattern), CW_OK);
    cr_expect_str_eq(cw_pattern_text(pattern), "a(b");
    cw_pattern_free(pattern);
    cr_expect_eq(failing_bytes(&memory), 0);
    char text[CW_PATTERN_MAX_SIZE + 1];
    memset(text, 'a', sizeof text);
    cr_expect_eq(cw_pattern_keep(&cw_system_allocator, text, sizeof text, &pattern), CW_LIMIT);
}

/* It is compiled where it is first needed; failing to leaves it as it was. */
Test(pattern, kept_as_text_and_matched)
{
    failing memory;
    bool matched = false;
    size_t refused = 0;
    for (bool done = false; !done; refused++) {
        cw_pattern *pattern;
        failing_start(&memory, refused + 1);
        cr_assert_eq(cw_pattern_keep(&memory.allocator, "b+", 2, &pattern), CW_OK);
        const cw_status status = cw_pattern_match(pattern, "abba", 4, &matched, NULL, NULL);
        done = !memory.refused;
        cr_assert_eq(status, done ? CW_OK : CW_NO_MEMORY);
        cr_assert_eq(matched, done);
        memory.allowed = FAILING_NEVER;
        size_t start = 0, end = 0;
        cr_assert_eq(cw_pattern_ready(pattern), CW_OK);
        cr_assert_eq(cw_pattern_match(pattern, "abba", 4, &matched, &start, &end), CW_OK);
        cr_assert(matched && start == 1 && end == 3);
        cw_pattern_free(pattern);
        cr_assert_eq(failing_bytes(&memory), 0);
    }
    cr_expect_gt(refused, 3);
}

static void *match_many(void *pattern)
{
    bool matched = false;
    for (int i = 0; i < 100; i++)
        if (cw_pattern_match(pattern, "abba", 4, &matched, NULL, NULL) != CW_OK || !matched)
            return NULL;
    return pattern;
}

Test(pattern, kept_as_text_and_first_matched_by_several_threads)
{
    enum { THREADS = 4 };
    for (int round = 0; round < 20; round++) {
        cw_pattern *pattern;
        pthread_t threads[THREADS];
        cr_assert_eq(cw_pattern_keep(&cw_system_allocator, "(b|c)+", 6, &pattern), CW_OK);
        for (int i = 0; i < THREADS; i++)
            cr_assert_eq(pthread_create(&threads[i], NULL, match_many, pattern), 0);
        for (int i = 0; i < THREADS; i++) {
            void *done = NULL;
            cr_assert_eq(pthread_join(threads[i], &done), 0);
            cr_assert_eq(done, pattern);
        }
        cw_pattern_free(pattern);
    }
}

/* -- Plain patterns -- */

Test(pattern, plain_ones)
{
    static const char *const plain[] = {"",
                                        "a",
                                        "lamp.*glow",
                                        "^T9[0-4]\\d{2}\\b",
                                        "\\b(lamp|light)\\b.{0,20}\\b(on|stays?)\\b",
                                        "(?=.*\\bD\\+)(?!x)y",
                                        "(?:ab)+?c*+d{2,}e{3}",
                                        "[^a-z\\d.-]x?",
                                        "a|",
                                        "(|a)",
                                        "\xC3\xB6+",
                                        "((((a))))",
                                        "a#b c",
                                        "1[.,]5[:][=-]",
                                        "[.a,]",
                                        "[^.]",
                                        "(?<![\\d.,])(?<=a)(?<!\\+)5",
                                        "\\.\\(\\[\\\\"};
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++) {
        cr_expect(cw_pattern_is_plain(plain[i], strlen(plain[i])), "%s", plain[i]);
        cw_pattern_free(make(plain[i]));
    }
}

Test(pattern, ones_that_are_not_plain)
{
    static const char *const other[] = {
        "a(b",      "a)",     "[a",      "[]",      "[z-a]",    "[a-Z]",  "[[:alpha:]]", "[.a.]",
        "[..]",     "[:a:]",  "[=\\]=]", "[\\d-x]", "*",        "a**",    "^*",          "\\b+",
        "(?=a)*",   "(a){9}", "a{3,2}",  "a{,2}",   "a{1000}",  "a{",     "a}",          "a]",
        "\\",       "\\C",    "\\1",     "\\Qa",    "\\x41",    "\\p{L}", "(?<=ab)b",    "(?<=a)*",
        "(?<!)b",   "(?<!a",  "(?<a)b",  "(?<=a?)", "(?<!(a))", "(?i)a",  "(*ACCEPT)",   "(?",
        "(?P<n>a)", "\xC3",   "\xFF"};
    for (size_t i = 0; i < sizeof other / sizeof *other; i++)
        cr_expect_not(cw_pattern_is_plain(other[i], strlen(other[i])), "%s", other[i]);
}

/* What is called plain, pcre2 takes. */
Test(pattern, whatever_is_plain_can_be_compiled)
{
    static const char *const pieces[] = {"a", "b",        "Z",   "0",     "9",    " ",   "-",  ".",  ",",
                                         "|", "(",        ")",   "(?:",   "(?=",  "(?!", "?",  "*",  "+",
                                         "{", "}",        "{2",  "{0,5}", "{3,}", "[",   "]",  "[^", "^",
                                         "$", "\\",       "\\d", "\\W",   "\\b",  "\\.", ":",  "=",  "!",
                                         "<", "\xC3\xB6", "a-z", "[ab]",  "lamp", "[.",  "[:", ".]"};
    random_state state = random_start(1);
    int plain = 0;
    for (int round = 0; round < 200000; round++) {
        char text[200] = "";
        for (uint32_t i = 1 + random_below(&state, 9); i > 0; i--)
            strcat(text, pieces[random_below(&state, sizeof pieces / sizeof *pieces)]);
        if (!cw_pattern_is_plain(text, strlen(text)))
            continue;
        cw_pattern_free(make(text));
        plain++;
    }
    cr_expect_gt(plain, 10000);
}

static void catches(const char *text, const char *subject, const char *caught)
{
    cw_pattern *pattern = make(text);
    bool found = caught == NULL;
    size_t from = 77, to = 77;
    cr_assert_eq(cw_pattern_catch(pattern, subject, strlen(subject), &found, &from, &to), CW_OK);
    cr_assert_eq(found, caught != NULL, "%s in %s", text, subject);
    if (found)
        cr_assert(to - from == strlen(caught) && memcmp(subject + from, caught, to - from) == 0,
                  "%s in %s: %zu to %zu", text, subject, from, to);
    else
        cr_assert(from == 77 && to == 77);
    cw_pattern_free(pattern);
}

Test(pattern, the_first_group_catches)
{
    catches("(\\d+) ?A", "14V 90 A", "90");
    catches("(\\d+) ?A", "14V 90 W", NULL);
    catches("(?:\\d+)V (\\d+)", "14V 90 A", "90");
    catches("(a)?b", "b", NULL); /* took no part */
    catches("(a)?b(c)?", "bc", NULL);
    catches("(a*)b", "b", ""); /* took part with nothing */
    catches("(a)(b)(c)(d)", "abcd", "a");
    catches("ab", "ab", NULL);         /* has none */
    catches("(?=.*(B))a", "a b", "b"); /* looked ahead */
}

Test(pattern, groups_that_catch_are_counted)
{
    static const struct {
        const char *text;
        unsigned groups;
    } known[] = {{"a", 0}, {"(a)(b)", 2}, {"(?:a)(?=b)", 0}, {"\\(a\\)", 0}, {"((a))", 2}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        cw_pattern *pattern = make(known[i].text);
        cr_expect_eq(cw_pattern_groups(pattern), known[i].groups, "%s", known[i].text);
        cw_pattern_free(pattern);
    }
}

Test(pattern, narrowed_to_what_its_group_must_hold)
{
    cw_pattern *pattern = make("\\b(\\w+) turn");
    cw_pattern_narrow(pattern, make("^left$"));
    cw_pattern_narrow(pattern, make("^right$")); /* instead of the other */
    bool found = false;
    size_t from, to;
    cr_assert_eq(cw_pattern_match(pattern, "a Right turn", 12, &found, &from, &to), CW_OK);
    cr_expect(found && from == 2 && to == 12);
    cr_assert_eq(cw_pattern_match(pattern, "a left turn", 11, &found, NULL, NULL), CW_OK);
    cr_expect_not(found);
    cr_assert_eq(cw_pattern_match(pattern, "a turn right", 12, &found, NULL, NULL), CW_OK);
    cr_expect_not(found);
    cw_pattern_free(pattern);
    pattern = make("(a)?b");
    cw_pattern_narrow(pattern, make("^a$"));
    cr_assert_eq(cw_pattern_match(pattern, "b", 1, &found, NULL, NULL), CW_OK);
    cr_expect_not(found, "nothing was caught");
    cr_assert_eq(cw_pattern_match(pattern, "ab", 2, &found, NULL, NULL), CW_OK);
    cr_expect(found);
    cw_pattern_free(pattern);
}

Test(pattern, catching_too_ends_after_its_steps)
{
    cw_pattern *pattern = make("((a+)+)$");
    char text[61];
    memset(text, 'a', 60);
    text[59] = '!';
    bool found;
    size_t from, to;
    cr_assert_eq(cw_pattern_catch(pattern, text, 60, &found, &from, &to), CW_LIMIT);
    cr_expect_not(found);
    cw_pattern_free(pattern);
}

/* A match works on the stack; only one with many steps to go back asks for more room, and does without
 * leaving anything behind where there is none. */
Test(pattern, a_match_asks_for_memory_only_where_it_must_go_far_back)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_pattern *pattern = NULL;
    size_t offset;
    char message[80];
    cr_assert_eq(
        cw_pattern_new(&memory.allocator, "^(a|b)*c$", 9, &pattern, &offset, message, sizeof message), CW_OK);
    const size_t made = memory.requests;
    char text[110];
    memset(text, 'a', sizeof text);
    text[sizeof text - 1] = 'c';
    bool found;
    cr_expect_eq(cw_pattern_match(pattern, text + 100, 10, &found, NULL, NULL), CW_OK);
    cr_expect(found);
    cr_expect_eq(memory.requests, made);
    cr_expect_eq(cw_pattern_match(pattern, text, sizeof text, &found, NULL, NULL), CW_OK);
    cr_expect(found);
    cr_expect_gt(memory.requests, made);
    memory.allowed = 0;
    cr_expect_eq(cw_pattern_match(pattern, text, sizeof text, &found, NULL, NULL), CW_NO_MEMORY);
    cr_expect_not(found);
    cw_pattern_free(pattern);
    cr_expect_eq(failing_bytes(&memory), 0);
}

/* --- Sets --- */

enum { OF_SET = 5 };
static const char *const set_texts[OF_SET] = {"^T9[0-4]\\d{2}\\b", "dim|glow", "(a+)+$", "B ?(\\d+)", ""};

/* The second is kept as text, the fourth narrowed to numbers with a 7. */
static void make_set(cw_pattern **patterns)
{
    for (int i = 0; i < OF_SET; i++)
        patterns[i] = make(set_texts[i]);
    cw_pattern_free(patterns[1]);
    cr_assert_eq(cw_pattern_keep(&cw_system_allocator, set_texts[1], strlen(set_texts[1]), &patterns[1]),
                 CW_OK);
    cw_pattern_narrow(patterns[3], make("7"));
}

typedef struct kept_bytes {
    unsigned char bytes[20000];
    size_t size;
} kept_bytes;

static void keep_bytes(void *context, const unsigned char *bytes, size_t size)
{
    kept_bytes *kept = context;
    cr_assert_leq(size, sizeof kept->bytes);
    memcpy(kept->bytes, bytes, size);
    kept->size = size;
}

static void encode_set(cw_pattern **patterns, cw_pattern_form *forms, kept_bytes *kept)
{
    const cw_pattern *all[OF_SET + 1];
    make_set(patterns);
    for (int i = 0; i < OF_SET; i++)
        all[i] = patterns[i];
    all[OF_SET] = cw_pattern_wanted(patterns[3]);
    cr_assert_not_null(all[OF_SET]);
    cr_assert_null(cw_pattern_wanted(patterns[0]));
    cr_assert_eq(cw_patterns_encode(&cw_system_allocator, all, OF_SET + 1, forms, keep_bytes, kept), CW_OK);
    forms[3].wanted = OF_SET + 1;
    cr_expect_eq(forms[1].code, 0u, "kept as text");
}

static void compare(const cw_pattern *one, const cw_pattern *other, const char *text, size_t size)
{
    bool matched, again;
    size_t from = 0, to = 0, start = 0, end = 0;
    cr_assert_eq(cw_pattern_match(one, text, size, &matched, &from, &to), CW_OK);
    cr_assert_eq(cw_pattern_match(other, text, size, &again, &start, &end), CW_OK);
    cr_assert_eq(matched, again, "%s on %.*s", cw_pattern_text(one), (int)size, text);
    cr_assert(from == start && to == end);
}

Test(pattern, a_set_matches_what_its_patterns_match)
{
    static kept_bytes kept;
    cw_pattern *patterns[OF_SET];
    cw_pattern_form forms[OF_SET + 1];
    encode_set(patterns, forms, &kept);
    cw_pattern_set *set;
    cr_assert_eq(cw_patterns_decode(&cw_system_allocator, forms, OF_SET + 1, kept.bytes, &set), CW_OK);
    random_state random = random_start(5);
    for (int round = 0; round < 3000; round++) {
        char text[24];
        const size_t size = random_below(&random, 12);
        for (size_t i = 0; i < size; i++)
            text[i] = "T9017aB b!"[random_below(&random, 10)];
        const size_t which = random_below(&random, OF_SET);
        compare(patterns[which], cw_pattern_set_at(set, which), text, size);
    }
    bool matched;
    cr_expect_eq(cw_pattern_match(cw_pattern_set_at(set, 2), "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!", 37,
                                  &matched, NULL, NULL),
                 CW_LIMIT, "steps are counted here too");
    for (size_t i = 0; i < OF_SET; i++) {
        cr_expect_str_eq(cw_pattern_text(cw_pattern_set_at(set, i)), set_texts[i]);
        cw_pattern_free(patterns[i]);
    }
    cw_pattern_set_free(set);
    cw_pattern_set_free(NULL);
}

Test(pattern, a_set_needs_memory_and_the_same_library)
{
    static kept_bytes kept;
    cw_pattern *patterns[OF_SET];
    cw_pattern_form forms[OF_SET + 1];
    encode_set(patterns, forms, &kept);
    for (int i = 0; i < OF_SET; i++)
        cw_pattern_free(patterns[i]);
    for (int i = 0; i <= OF_SET; i++)
        forms[i].text = "";
    cw_pattern_set *set;
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cr_assert_eq(cw_patterns_decode(&memory.allocator, forms, OF_SET + 1, kept.bytes, &set),
                     memory.refused ? CW_NO_MEMORY : CW_OK);
        cr_assert_eq(set == NULL, memory.refused);
        cw_pattern_set_free(set);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    kept.bytes[0] ^= 1;
    cr_expect_eq(cw_patterns_decode(&cw_system_allocator, forms, OF_SET + 1, kept.bytes, &set), CW_BAD_INPUT);
    cr_expect_null(set);
    cr_assert_eq(cw_patterns_decode(&cw_system_allocator, forms, 0, NULL, &set), CW_OK, "none at all");
    cw_pattern_set_free(set);
}
