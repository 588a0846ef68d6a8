/* Typed words to answers: choices, yes or no, counts, stamped text. What is exactly one of the words of the
 * pack, the beginning of just one, or a number of the printed list is taken; what is only near one is
 * offered, never taken. */
#include "base/nearest.h"
#include "session/inside.h"
#include <ctype.h>
#include <string.h>

enum { WORDS = 256 }; /* room for one folded text */

cw_span cw_reader_spot(const cw_reader *reader, size_t at, size_t length)
{
    cw_span span = reader->span;
    if (!reader->literal)
        return span;
    span.start = reader->span.start + (uint32_t)at;
    span.end = span.start + (uint32_t)length;
    return span;
}

void cw_read_fold(const char *text, size_t size, char *out, size_t room)
{
    size_t end = 0;
    bool gap = false;
    for (size_t i = 0; i < size && end + 2 < room; i++) {
        char c = text[i];
        if (size - i >= 3 && memcmp(text + i, "\xE2\x80\x99", 3) == 0) { /* a printed apostrophe */
            c = '\'';
            i += 2;
        }
        if (c == ' ' || c == '_' || c == '-' || c == '\t') {
            gap = end > 0;
            continue;
        }
        if (gap)
            out[end++] = ' ';
        gap = false;
        out[end++] = (char)(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    }
    while (end > 0 && (out[end - 1] == '.' || out[end - 1] == '!' || out[end - 1] == ','))
        end--;
    out[end] = '\0';
}

static const char *const cant_tell_words[] = {
    "can't tell",    "cant tell",  "cannot tell", "can not tell", "could not tell",
    "couldn't tell", "cannot say", "can't say",   "don't know",   "dont know",
    "do not know",   "no idea",    "not sure",    "unsure",       "skip",
};

bool cw_read_cant_tell(const char *folded)
{
    for (size_t i = 0; i < sizeof cant_tell_words / sizeof *cant_tell_words; i++) {
        if (strcmp(folded, cant_tell_words[i]) == 0)
            return true;
    }
    return false;
}

/* True when the words of `part` stand in `whole`, not cut within a word. */
static bool holds_words(const char *whole, const char *part)
{
    size_t size = strlen(part);
    if (size == 0)
        return false;
    for (const char *at = strstr(whole, part); at != NULL; at = strstr(at + 1, part)) {
        bool before = at == whole || !isalnum((unsigned char)at[-1]);
        if (before && !isalnum((unsigned char)at[size]))
            return true;
    }
    return false;
}

cw_meeting cw_read_meet(const char *typed, const char *word, cw_meeting exact)
{
    char folded[WORDS];
    cw_read_fold(word, strlen(word), folded, sizeof folded);
    if (strcmp(typed, folded) == 0)
        return exact;
    if (strncmp(typed, folded, strlen(typed)) == 0)
        return MEETS_START;
    return holds_words(folded, typed) || holds_words(typed, folded) ? MEETS_PART : MEETS_NOT;
}

static cw_meeting better(cw_meeting a, cw_meeting b)
{
    return a < b ? a : b;
}

static const cw_value *value_at(const cw_reader *reader, uint32_t value)
{
    return &reader->pack->model->values[reader->fact->values.first + value];
}

static cw_meeting meet_value(const cw_reader *reader, const char *typed, uint32_t number)
{
    const cw_value *value = value_at(reader, number);
    cw_meeting best = cw_read_meet(typed, value->name, MEETS_NAME);
    best = better(best, cw_read_meet(typed, value->title, MEETS_WORD));
    for (uint32_t i = 0; i < value->also.count; i++)
        best =
            better(best, cw_read_meet(typed, reader->pack->model->words[value->also.first + i], MEETS_WORD));
    return best;
}

/* Whole numbers only: "3" is the third of the printed list. */
static bool list_number(const cw_reader *reader, const char *typed, uint32_t *value)
{
    unsigned long number = 0;
    for (const char *c = typed; *c != '\0'; c++) {
        if (*c < '0' || *c > '9' || number > reader->info->choice_count)
            return false;
        number = number * 10 + (unsigned long)(*c - '0');
    }
    if (number == 0 || number > reader->info->choice_count)
        return false;
    const char *name = reader->info->choices[number - 1].name;
    for (*value = 0; strcmp(value_at(reader, *value)->name, name) != 0; (*value)++)
        ;
    return true;
}

static void suggest(const cw_reader *reader, const char *answer)
{
    size_t size = strlen(answer);
    if (size < CW_SUGGESTION_SIZE)
        memcpy(reader->suggestion, answer, size + 1);
}

static cw_status several(cw_reader *reader, const char *typed, cw_meeting level)
{
    cw_text names = CW_TEXT_INIT(&reader->pack->allocator);
    for (uint32_t v = 0; v < reader->fact->values.count; v++) {
        if (meet_value(reader, typed, v) == level)
            cw_text_format(&names, "%s'%s'", names.size > 0 ? " or " : "", value_at(reader, v)->title);
    }
    cw_status status = names.status;
    if (status == CW_OK) {
        cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_NOT_CHOICE, reader->span,
                                     "'%s' could be %s", reader->text, cw_text_get(&names));
        cw_diag_help(reader->diags, diag, "say a little more");
        status = CW_UNCLEAR;
    }
    cw_text_dispose(&names);
    return status;
}

cw_status cw_reader_offer(cw_reader *reader, const char *answer, const char *title)
{
    suggest(reader, answer);
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_NOT_CHOICE, reader->span,
                                 "'%s' is not among the answers here", reader->text);
    cw_diag_help(reader->diags, diag, "did you mean '%s'?", title);
    return CW_UNCLEAR;
}

static cw_status none_near(cw_reader *reader)
{
    cw_text names = CW_TEXT_INIT(&reader->pack->allocator);
    for (size_t i = 0; i < reader->info->choice_count; i++)
        cw_text_format(&names, "%s, ", reader->info->choices[i].name);
    cw_status status = names.status;
    if (status == CW_OK) {
        cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_NOT_CHOICE, reader->span,
                                     "'%s' is not among the answers here", reader->text);
        cw_diag_help(reader->diags, diag, "one of: %sor can't tell", cw_text_get(&names));
        status = CW_BAD_INPUT;
    }
    cw_text_dispose(&names);
    return status;
}

/* The value with the nearest word, or UINT32_MAX. */
static uint32_t nearest_value(const cw_reader *reader, const char *typed, bool *cant_tell)
{
    cw_nearest near = cw_nearest_start(typed);
    uint32_t best = UINT32_MAX;
    for (uint32_t v = 0; v < reader->fact->values.count; v++) {
        const cw_value *value = value_at(reader, v);
        const char *before = near.best;
        cw_nearest_try(&near, value->name);
        cw_nearest_try(&near, value->title);
        for (uint32_t i = 0; i < value->also.count; i++)
            cw_nearest_try(&near, reader->pack->model->words[value->also.first + i]);
        if (near.best != before)
            best = v;
    }
    const char *before = near.best;
    cw_nearest_try(&near, "can't tell");
    cw_nearest_try(&near, "skip");
    *cant_tell = near.best != before;
    return best;
}

static cw_status no_meeting(cw_reader *reader, const char *typed)
{
    bool cant_tell;
    uint32_t value = nearest_value(reader, typed, &cant_tell);
    if (cant_tell)
        return cw_reader_offer(reader, "can't tell", "can't tell");
    if (value == UINT32_MAX)
        return none_near(reader);
    return cw_reader_offer(reader, value_at(reader, value)->name, value_at(reader, value)->title);
}

/* yes: y, yep, ...; only for checks answered yes or no. */
static bool plain_yes_or_no(const cw_reader *reader, const char *typed, uint32_t *value)
{
    static const char *const words[][5] = {{"y", "yep", "yeah", "true", "yes"},
                                           {"n", "nope", "nah", "false", "no"}};
    if (reader->fact->kind != CW_YES_OR_NO)
        return false;
    for (size_t side = 0; side < 2; side++) {
        for (size_t i = 0; i < 5; i++) {
            if (strcmp(typed, words[side][i]) == 0) {
                *value = strcmp(value_at(reader, 0)->name, words[side][4]) == 0 ? 0 : 1;
                return true;
            }
        }
    }
    return false;
}

/* Where words are to choose from, "y" is no beginning of one: whoever says it means yes. */
static bool yes_or_no(const char *typed)
{
    return strcmp(typed, "y") == 0 || strcmp(typed, "n") == 0 || strcmp(typed, "yes") == 0 ||
           strcmp(typed, "no") == 0;
}

static cw_status read_choice(cw_reader *reader, const char *typed)
{
    if (typed[0] == '\0')
        return none_near(reader);
    cw_meeting best = MEETS_NOT;
    size_t hits = 0;
    uint32_t value = 0;
    for (uint32_t v = 0; v < reader->fact->values.count; v++) {
        cw_meeting found = meet_value(reader, typed, v);
        if (found < best) {
            best = found;
            hits = 0;
            value = v;
        }
        hits += found == best;
    }
    reader->answer->value = value;
    if (best <= MEETS_WORD && hits == 1)
        return CW_OK;
    if (plain_yes_or_no(reader, typed, &reader->answer->value) ||
        list_number(reader, typed, &reader->answer->value))
        return CW_OK;
    if (best <= MEETS_WORD)
        return several(reader, typed, best);
    if (cw_read_cant_tell(typed)) {
        reader->answer->cant_tell = true;
        return CW_OK;
    }
    if (best == MEETS_START && hits == 1 && !yes_or_no(typed))
        return CW_OK;
    if (best == MEETS_START || best == MEETS_PART)
        return hits == 1
                   ? cw_reader_offer(reader, value_at(reader, value)->name, value_at(reader, value)->title)
                   : several(reader, typed, best);
    return no_meeting(reader, typed);
}

static const char *const small_numbers[] = {"zero",  "one",   "two",  "three", "four",   "five",  "six",
                                            "seven", "eight", "nine", "ten",   "eleven", "twelve"};
enum { SMALL_NUMBERS = sizeof small_numbers / sizeof *small_numbers };

static cw_status bad_count(cw_reader *reader, cw_code code, const char *what)
{
    cw_diag *diag = cw_diags_add(reader->diags, code, reader->span, "'%s' is %s", reader->text, what);
    cw_diag_help(reader->diags, diag, "a whole number from %ld to %ld, or can't tell",
                 reader->info->count_low, reader->info->count_high);
    return CW_BAD_INPUT;
}

static cw_status take_count(cw_reader *reader, long number)
{
    if (number < reader->info->count_low || number > reader->info->count_high)
        return bad_count(reader, CW_DIAG_ANSWER_RANGE, "outside what is possible here");
    for (uint32_t v = 0; v < reader->fact->values.count; v++) {
        if (value_at(reader, v)->number == number)
            reader->answer->value = v;
    }
    return CW_OK;
}

static cw_status offer_number(cw_reader *reader, const char *typed)
{
    cw_nearest near = cw_nearest_start(typed);
    for (size_t i = 0; i < SMALL_NUMBERS; i++)
        cw_nearest_try(&near, small_numbers[i]);
    const char *number = near.best;
    cw_nearest_try(&near, "can't tell");
    cw_nearest_try(&near, "skip");
    if (near.best == NULL)
        return bad_count(reader, CW_DIAG_ANSWER_NOT_NUMBER, "not a whole number");
    if (near.best != number)
        return cw_reader_offer(reader, "can't tell", "can't tell");
    return cw_reader_offer(reader, near.best, near.best);
}

static cw_status read_count(cw_reader *reader, const char *typed)
{
    if (cw_read_cant_tell(typed)) {
        reader->answer->cant_tell = true;
        return CW_OK;
    }
    if (strcmp(typed, "none") == 0 || strcmp(typed, "no") == 0)
        return take_count(reader, 0);
    for (long i = 0; i < SMALL_NUMBERS; i++) {
        if (strcmp(typed, small_numbers[i]) == 0)
            return take_count(reader, i);
    }
    if (!isdigit((unsigned char)typed[0]) && typed[0] != '-' && typed[0] != '+')
        return offer_number(reader, typed);
    cw_parsed parsed = cw_quantity_parse(reader->text, reader->size);
    if (parsed.error != CW_READING_OK || parsed.unit != NULL ||
        parsed.number != (double)(int32_t)parsed.number)
        return bad_count(reader, CW_DIAG_ANSWER_NOT_NUMBER, "not a whole number");
    return take_count(reader, (long)parsed.number);
}

cw_status cw_read_words(cw_reader *reader)
{
    char typed[WORDS];
    cw_read_fold(reader->text, reader->size, typed, sizeof typed);
    if (reader->fact->kind == CW_YES_OR_NO || reader->fact->kind == CW_CHOICE)
        return read_choice(reader, typed);
    if (reader->fact->kind == CW_COUNT)
        return read_count(reader, typed);
    if (cw_read_cant_tell(typed)) {
        reader->answer->cant_tell = true;
        return CW_OK;
    }
    if (reader->fact->kind == CW_MEASURE)
        return cw_read_measure(reader);
    if (reader->fact->kind == CW_WHICH_UNIT)
        return cw_read_unit(reader, typed);
    reader->answer->text = reader->text;
    return CW_OK;
}
