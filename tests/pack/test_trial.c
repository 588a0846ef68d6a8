/* Which patterns are tried out when a pack is read, and which cannot reach the limit. */
#include "pack/trial.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

static bool needed(const char *pattern)
{
    return trial_needed(pattern, strlen(pattern));
}

Test(trial, what_can_run_away_is_tried_out)
{
    static const char *const open[] = {
        "(x+)+y",          "(a|ab)(x+)+y", "x*x*x*x*x*y",       "(ab)?(x+)+y",      "(ab)*(x+)+y",
        "(ab){0,2}(x+)+y", "(?!ab)(x+)+y", "(?<!ab)(x+)+y",     "(?:ab|x)(x+)+y",   "x{12}(x+)+y",
        "x{10,12}(x+)+y",  "\\x78(x+)+y",  "\\1{2}ax*(x+)+y",   "(?<name>x)(x+)+y", "[[:alpha:]](x+)+y",
        "[]ab](x+)+y",     "[ab](x+)+y",   "(x|yx?)x*x*x*x*x*y"};
    for (size_t i = 0; i < sizeof open / sizeof *open; i++)
        cr_expect(needed(open[i]), "%s", open[i]);
}

/* No text of one letter holds the two that they must begin with; or nothing in them repeats often. */
Test(trial, what_needs_two_letters_first_is_not)
{
    static const char *const sure[] = {"x*x*y",
                                       "ab(x+)+y",
                                       "\\b(lamp|light)\\b.{0,40}(on|off).{0,40}(key|\\w+ )*now",
                                       "(ab|cd)+(x+)+y",
                                       "(?=ab)(x+)+y",
                                       "\\b(?:(ab)|(cd)) (\\w+ ){0,3}\\w*\\w*\\w*-",
                                       "(\\d+ab|ba)(x+)+y"};
    for (size_t i = 0; i < sizeof sure / sizeof *sure; i++)
        cr_expect_not(needed(sure[i]), "%s", sure[i]);
}

static cw_pattern *make(const char *text)
{
    cw_pattern *pattern;
    size_t offset;
    return cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, NULL, 0) == CW_OK
               ? pattern
               : NULL;
}

static int unclosed(const char *text)
{
    int open = 0;
    for (; *text != '\0'; text++)
        open += *text == '(' ? 1 : *text == ')' ? -1 : 0;
    return open;
}

/* Pieces that hide what repeats: behind letters that may be missing, in classes, escapes and names, in what
 * must not match, in counts. */
static void random_pattern(random_state *state, char text[400])
{
    static const char *const pieces[] = {
        "x",      "x*",     "x+",      "(x+)+",   "(x*)*", "(x|x)*", "(?:x+)+", "x{0,39}",
        "x{12}",  "\\w+",   ".*",      ".{0,30}", "(",     "(?:",    "(?=",     "(?!",
        "(?<!",   "(?<=",   "(?>",     ")",       ")",     ")?",     ")*",      ")+",
        "){0,2}", "){2}",   ")",       "|",       "ab",    "xa",     "a",       "lamp",
        "0",      "\\b",    "\\d",     "\\x78",   "\\1",   "[ab]",   "[^ab]",   "[[:alpha:]]",
        "[]x]",   "\\p{L}", "(?<na>",  "(?i)",    " ",     "y",      "$",       "?",
        "x?",     "(x|ab)", "(ab|cd)", "(x|xa)*", "!",     "\\Bx",   "{,3}"};
    text[0] = '\0';
    for (uint32_t i = 2 + random_below(state, 8); i > 0; i--)
        strcat(text, pieces[random_below(state, sizeof pieces / sizeof *pieces)]);
    for (int open = unclosed(text); open > 0; open--)
        strcat(text, ")");
}

/* 40 times each letter there is in it, with and without a break behind. */
static bool in_time(const cw_pattern *pattern, const char *text)
{
    for (const char *letter = text; *letter != '\0'; letter++) {
        char tried[TRIAL_TIMES + 1];
        bool matched;
        memset(tried, *letter, TRIAL_TIMES);
        tried[TRIAL_TIMES] = '!';
        for (size_t size = TRIAL_TIMES - 1; size <= sizeof tried; size++)
            if (cw_pattern_match(pattern, tried, size, &matched, NULL, NULL) != CW_OK)
                return false;
    }
    return true;
}

Test(trial, what_is_not_tried_out_would_have_passed)
{
    random_state state = random_start(20261130);
    int sure = 0, refused = 0;
    for (int round = 0; round < 30000; round++) {
        char text[400];
        random_pattern(&state, text);
        cw_pattern *pattern = make(text);
        if (pattern == NULL)
            continue;
        const bool passes = trial_run(pattern, text, strlen(text)) == CW_OK;
        if (!needed(text)) {
            cr_assert(passes, "%s", text);
            cr_assert(in_time(pattern, text), "%s", text);
            sure++;
        }
        refused += !passes;
        cw_pattern_free(pattern);
    }
    cr_expect_gt(sure, 3000);
    cr_expect_gt(refused, 500);
}
