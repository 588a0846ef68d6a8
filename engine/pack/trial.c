/* A pattern held against texts that make careless ones run for ever. */
#include "pack/trial.h"

#include <string.h>

/* A letter beside another one, both of which must be there: what repeats that letter alone cannot match it.
 * `before` is where the piece before it begins. */
static bool in_word(const char *text, size_t size, size_t before, size_t at)
{
    if (!trial_one_letter(text, size, at))
        return false;
    bool left = before + 1 == at && trial_one_letter(text, size, before) &&
                !trial_same_letter(text[before], text[at]);
    return left || (trial_one_letter(text, size, at + 1) && !trial_same_letter(text[at + 1], text[at]));
}

/* The letters and digits that can be matched by themselves, each once, and one of the usual classes. */
static size_t letters_of(const char *text, size_t size, char *letters)
{
    size_t count = 0, before = size, class_to = 0;
    for (const char *usual = "a0 "; *usual != '\0'; usual++)
        letters[count++] = *usual;
    for (size_t i = 0; i < size && count < TRIAL_LETTERS; i++) {
        unsigned char letter = (unsigned char)text[i];
        if (letter == '\\') {
            before = i++;
            continue;
        }
        if (letter == '[' && i >= class_to)
            class_to = trial_class_end(text, i, size);
        bool word = i >= class_to && in_word(text, size, before, i);
        before = i;
        if (letter > ' ' && letter < 0x7f && !word && strchr("()[]{}*+?|^$.", letter) == NULL &&
            memchr(letters, letter, count) == NULL)
            letters[count++] = (char)letter;
    }
    return count;
}

/* One letter many times, then what breaks the match off, then all letters, for a pattern may look ahead for
 * one of them. No two letters of these stand side by side. */
cw_status trial_run(const cw_pattern *pattern, const char *text, size_t size)
{
    char letters[TRIAL_LETTERS], tried[TRIAL_SIZE];
    const size_t count = letters_of(text, size, letters);
    memset(tried, '!', sizeof tried);
    for (size_t i = 0; i < count; i++)
        tried[TRIAL_TIMES + 1 + 2 * i] = letters[i];
    for (size_t i = 0; i < count; i++) {
        memset(tried, letters[i], TRIAL_TIMES);
        bool matched;
        cw_status status = cw_pattern_match(pattern, tried, TRIAL_TIMES + 1, &matched, NULL, NULL);
        if (status == CW_OK)
            status = cw_pattern_match(pattern, tried, TRIAL_TIMES + 1 + 2 * count, &matched, NULL, NULL);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}

bool trial_needed(const char *text, size_t size)
{
    return !(effort_steps(text, size) <= CW_PATTERN_MATCH_STEPS);
}
