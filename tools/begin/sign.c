/* Asking for a sign, the check or fact, what it shows, and how often; and for a datum, which is so for
 * certain. */
#include "begin/ask.h"
#include "screen/screen.h"
#include <ctype.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static bool of_units(const begin *all)
{
    return all->kind == BEGIN_FAMILY || all->kind == BEGIN_VERSION;
}

static bool fact_named(const begin *all, size_t index, const char **name, const char **title)
{
    cw_fact_entry fact;
    if (!cw_pack_fact_at(all->pack, index, &fact))
        return false;
    *name = fact.name;
    *title = fact.title;
    return true;
}

/* What is worth listing: a fault shows values alone, since a reading is no sign of one; a unit figures and
 * texts too. What rules conclude is seen on no core, but a fault brings it about. */
static bool can_be_sign(const begin *all, size_t index)
{
    cw_fact_entry fact;
    return cw_pack_fact_at(all->pack, index, &fact) && fact.kind != CW_ANSWER_UNIT &&
           (of_units(all) ? fact.asked : fact.value_count > 0);
}

static bool can_be_datum(const begin *all, size_t index)
{
    cw_fact_entry fact;
    return cw_pack_fact_at(all->pack, index, &fact) && fact.kind != CW_ANSWER_UNIT &&
           fact.kind != CW_ANSWER_TEXT;
}

/* The value's name for what somebody typed: a name, a title, a number of the list, letters that one value
 * alone has; NULL. */
static const char *value_for(const cw_pack *pack, size_t fact, const char *words)
{
    cw_choice_info value;
    const char *found = NULL;
    size_t count = 0;
    char *end;
    long number = strtol(words, &end, 10);
    for (size_t i = 0; cw_pack_value_at(pack, fact, i, &value); i++)
        if (begin_same_letters(value.name, words) || begin_same_letters(value.title, words))
            return value.name;
    if (*end == '\0')
        return number > 0 && cw_pack_value_at(pack, fact, (size_t)number - 1, &value) ? value.name : NULL;
    for (size_t i = 0; cw_pack_value_at(pack, fact, i, &value); i++) {
        if (!begin_has_letters(value.name, words) && !begin_has_letters(value.title, words))
            continue;
        found = value.name;
        count++;
    }
    return count == 1 ? found : NULL;
}

static got ask_frequency(const char *question, bool or_always, char *out)
{
    for (;;) {
        got how = begin_ask_line(
            question,
            "A count, 17 of 20, a percentage, 85 %, or a word: always (98 of 100), usually (85), often "
            "(60), sometimes (30), rarely (8), never (1).",
            out);
        if (begin_is_over(how) || how == GOT_BACK || (how == GOT_NOTHING && or_always) ||
            (how == GOT_LINE && begin_is_frequency(out)))
            return how;
        screen_words(
            "  ", "Wanted is 17 of 20, 85 %, or one of: always, usually, often, sometimes, rarely, never.");
    }
}

static void list_values(const cw_pack *pack, size_t fact)
{
    cw_choice_info value;
    for (size_t i = 0; cw_pack_value_at(pack, fact, i, &value); i++) {
        char head[24];
        snprintf(head, sizeof head, "  %2zu  ", i + 1);
        screen_words(head, value.title);
    }
}

/* A value of the fact that can be a sign; NULL, with the reason told. */
static const char *take_value(const begin *all, size_t fact, const char *words)
{
    cw_choice_info normal;
    const char *value = value_for(all->pack, fact, words);
    if (value == NULL)
        screen_words("  ", "A number of the list is wanted, or its words.");
    if (value == NULL || all->kind != BEGIN_CAUSE || !cw_pack_value_at(all->pack, fact, 0, &normal) ||
        strcmp(value, normal.name) != 0)
        return value;
    screen_words("  ", "That is what is seen when nothing is wrong; what does this fault show?");
    return NULL;
}

/* What it shows, and how often: "value: often" behind what the sign says already. GOT_NOTHING: always. */
static got ask_value(const begin *all, const cw_fact_entry *fact, size_t at, size_t count, char *sign)
{
    char line[LINE], often[LINE];
    bool unit = of_units(all);
    const char *first = fact->kind == CW_ANSWER_COUNT ? "How many? (Enter: another check)"
                                                      : "Which of these does it show? (Enter: another check)";
    const char *value = NULL;
    while (value == NULL) {
        got how = begin_ask_line(count == 0 ? first : "And another one? (Enter: no more)",
                                 "A number of the list, or the words themselves.", line);
        if (how != GOT_LINE)
            return how == GOT_NOTHING ? (count > 0 ? GOT_LINE : GOT_BACK) : how;
        value = take_value(all, at, line);
    }
    const char *often_asked = !unit        ? "How often, of 100 jobs with this fault?"
                              : count == 0 ? "How often, of 100 such units? (Enter: always)"
                                           : "How often, of 100 such units?";
    got how = ask_frequency(often_asked, unit && count == 0, often);
    size_t filled = strlen(sign);
    if (how == GOT_BACK)
        return how;
    if (how == GOT_NOTHING)
        snprintf(sign, LINE, "%s: %s", fact->name, value);
    else if (how == GOT_LINE && filled < LINE - 200)
        snprintf(sign + filled, LINE - filled, "%s%s: %.40s", count > 0 ? ", " : "", value, often);
    return how;
}

/* One value behind the other, until Enter. */
static got ask_values(const begin *all, const cw_fact_entry *fact, size_t at, char *sign)
{
    snprintf(sign, LINE, "%s: {", fact->name);
    if (fact->kind != CW_ANSWER_COUNT)
        list_values(all->pack, at);
    for (size_t count = 0;; count++) {
        size_t before = strlen(sign);
        got how = ask_value(all, fact, at, count, sign);
        if (begin_is_over(how) || how == GOT_BACK)
            return how;
        if (how == GOT_NOTHING)
            return GOT_LINE;
        if (strlen(sign) == before)
            break;
    }
    snprintf(sign + strlen(sign), LINE - strlen(sign), "}");
    return GOT_LINE;
}

/* A figure with its unit; a bare number is in the check's. GOT_NOTHING where it may be left out. */
static got ask_figure(const cw_check_info *check, const char *question, const char *explain, bool may,
                      char *out)
{
    got how = begin_ask_line(question, explain, out);
    while ((how == GOT_NOTHING && !may) || (how == GOT_LINE && !isdigit((unsigned char)out[out[0] == '-']))) {
        screen_words("  ", explain);
        how = begin_ask_line(question, explain, out);
    }
    size_t size = strlen(out);
    if (how == GOT_LINE && check != NULL && check->unit[0] != '\0' &&
        out[strspn(out, "0123456789., ")] == '\0' && size < LINE - 40)
        snprintf(out + size, LINE - size, " %s", check->unit);
    return how;
}

static got ask_measure(const cw_check_info *check, const char *name, char *sign)
{
    char around[LINE], tolerance[LINE];
    got how = ask_figure(check, "How much does it measure when new?", "The figure with its unit, as 112 mm.",
                         false, around);
    if (how == GOT_LINE)
        how = ask_figure(check, "And how far do good ones differ from that, up or down?",
                         "The tolerance that holds 95 of 100 units, as 0.8 mm; not the error of the tape.",
                         false, tolerance);
    if (how == GOT_LINE)
        snprintf(sign, LINE, "%s: %.100s +/- %.100s", name, around, tolerance);
    return how;
}

static bool is_sign_of_patterns(char c)
{
    return strchr("\\^$.[]|()?*+{}'", c) != NULL;
}

/* How a stamped text begins, letters as they stand. */
static got ask_text(const char *name, char *sign)
{
    char line[LINE], often[LINE] = "always";
    got how;
    do {
        how = begin_ask_line("How does what is stamped there begin?",
                             "The letters and figures that all of them begin with: T9. Finer patterns can be "
                             "written in the file.",
                             line);
    } while (how == GOT_NOTHING);
    if (how == GOT_LINE)
        how = ask_frequency("How often, of 100 such units? (Enter: always)", true, often);
    if (begin_is_over(how) || how == GOT_BACK)
        return how;
    size_t filled = (size_t)snprintf(sign, LINE, "%s: {like: '^", name);
    for (const char *at = line; *at != '\0' && filled < LINE - 200; at++)
        filled += (size_t)snprintf(sign + filled, LINE - filled, "%s%c%s",
                                   is_sign_of_patterns(*at) ? "\\" : "", *at, *at == '\'' ? "'" : "");
    snprintf(sign + filled, LINE - filled, "', how_often: %.60s}", how == GOT_NOTHING ? "always" : often);
    return GOT_LINE;
}

static got ask_value_of(const begin *all, const cw_fact_entry *fact, size_t at, char *datum)
{
    char line[LINE];
    if (fact->kind != CW_ANSWER_COUNT)
        list_values(all->pack, at);
    for (;;) {
        got how =
            begin_ask_line(fact->kind == CW_ANSWER_COUNT ? "How many? (Enter: another check)"
                                                         : "Which of these is it? (Enter: another check)",
                           "A number of the list, or the words themselves.", line);
        if (how != GOT_LINE)
            return how == GOT_NOTHING ? GOT_BACK : how;
        const char *value = value_for(all->pack, at, line);
        if (value != NULL) {
            snprintf(datum, LINE, "%s: %s", fact->name, value);
            return GOT_LINE;
        }
        screen_words("  ", "A number of the list is wanted, or its words.");
    }
}

static got ask_figure_of(const cw_check_info *check, const char *name, char *datum)
{
    char figure[LINE], tolerance[LINE];
    got how = ask_figure(check, "How much is it?", "The figure with its unit, as 95 A.", false, figure);
    if (how != GOT_LINE)
        return how;
    how = ask_figure(
        check, "And how far may good ones differ from that, up or down? (Enter: it is a limit, or exact)",
        "The tolerance that holds 95 of 100 units, as 0.2 ohm.", true, tolerance);
    if (how == GOT_NOTHING)
        snprintf(datum, LINE, "%s: %.100s", name, figure);
    else if (how == GOT_LINE)
        snprintf(datum, LINE, "%s: %.100s +/- %.100s", name, figure, tolerance);
    return how == GOT_NOTHING ? GOT_LINE : how;
}

static got ask_datum(const begin *all, const cw_fact_entry *fact, size_t at, char *datum)
{
    if (fact->value_count > 0)
        return ask_value_of(all, fact, at, datum);
    if (fact->kind == CW_ANSWER_MEASURE)
        return ask_figure_of(cw_pack_check(all->pack, fact->name, NULL), fact->name, datum);
    screen_words("  ", "This is nothing that is known of a unit for sure.");
    return GOT_NOTHING;
}

got begin_ask_sign(const begin *all, const begin_question *question, const char *words, char *sign)
{
    bool datum = question->form == FORM_DATUM;
    size_t at = begin_look_up(all, fact_named, datum ? can_be_datum : can_be_sign, words);
    cw_fact_entry fact;
    if (!cw_pack_fact_at(all->pack, at, &fact))
        return GOT_NOTHING;
    const cw_check_info *check = cw_pack_check(all->pack, fact.name, NULL);
    screen_tone(TONE_STRONG, "  ", fact.title);
    if (datum)
        return ask_datum(all, &fact, at, sign);
    if (fact.value_count > 0)
        return ask_values(all, &fact, at, sign);
    if (of_units(all) && fact.kind == CW_ANSWER_MEASURE && check != NULL)
        return ask_measure(check, fact.name, sign);
    if (of_units(all) && fact.kind == CW_ANSWER_TEXT)
        return ask_text(fact.name, sign);
    screen_words("  ", all->kind == BEGIN_CAUSE
                           ? "A reading is no sign of a fault: a rule concludes from it what is, and "
                             "that is the sign."
                           : "This is no sign of a unit.");
    return GOT_NOTHING;
}
