/* Measured answers: a number with or without its unit, and perhaps the tool behind it ("5 1/4 in tape"). A
 * bare number takes the check's unit only if it fits the check's range; else the person is asked which unit
 * was meant. */
#include "base/nearest.h"
#include "session/inside.h"
#include <ctype.h>
#include <string.h>

static const char *const leading_words[] = {"about ",   "approx. ", "approx ", "approximately ",
                                            "roughly ", "ca. ",     "ca ",     "~"};
static const char *const joining_words[] = {" by",      " with a", " with the", " with",
                                            " using a", " using",  ","};

static bool ends_with(const char *text, size_t size, const char *end)
{
    size_t length = strlen(end);
    return size >= length && memcmp(text + size - length, end, length) == 0;
}

static void cut_end(cw_reader *reader, size_t size)
{
    while (size > 0 && reader->text[size - 1] == ' ')
        size--;
    reader->size = size;
}

/* Takes the name of one of the check's tools from the end of the text. */
static void take_tool(cw_reader *reader)
{
    char folded[CW_ANSWER_MAX_TEXT + 1];
    cw_read_fold(reader->text, reader->size, folded, sizeof folded);
    size_t size = strlen(folded);
    if (size > reader->size)
        return;
    for (size_t i = 0; i < reader->info->tool_count; i++) {
        char tool[CW_ANSWER_MAX_TEXT + 1];
        cw_read_fold(reader->info->tools[i], strlen(reader->info->tools[i]), tool, sizeof tool);
        size_t length = strlen(tool);
        if (size <= length || !ends_with(folded, size, tool) || folded[size - length - 1] != ' ')
            continue;
        /* Folding only shrinks what lies before, so the tool is as long in the text itself. */
        cut_end(reader, reader->size - length);
        for (size_t k = 0; k < sizeof joining_words / sizeof *joining_words; k++) {
            if (ends_with(reader->text, reader->size, joining_words[k]))
                cut_end(reader, reader->size - strlen(joining_words[k]));
        }
        if (!reader->tool_said)
            reader->tool = (uint32_t)i;
        reader->tool_said = true;
        return;
    }
}

static size_t leading(const cw_reader *reader)
{
    for (size_t i = 0; i < sizeof leading_words / sizeof *leading_words; i++) {
        size_t length = strlen(leading_words[i]);
        if (reader->size > length && strncmp(reader->text, leading_words[i], length) == 0)
            return length;
    }
    return 0;
}

static bool fits(const cw_reader *reader, double base)
{
    return cw_interval_holds(reader->check->range, base, 0) == CW_YES;
}

static cw_status take(cw_reader *reader, double base)
{
    const cw_tool *tools = &reader->pack->model->tools[reader->check->tools.first];
    reader->answer->number = base;
    reader->answer->error = tools[reader->tool].error;
    return CW_OK;
}

/* Kelvin is written for differences and for the scale alike. */
static bool same_dimension(const cw_reader *reader, const cw_unit_info *unit)
{
    cw_dimension dimension = unit->dimension;
    if (unit->offset == 0 && reader->fact->dimension.on_scale != 0)
        dimension.on_scale = reader->fact->dimension.on_scale;
    return cw_dimension_equal(dimension, reader->fact->dimension);
}

static cw_status wrong(cw_reader *reader, cw_code code, cw_span span, const char *what)
{
    cw_diag *diag = cw_diags_add(reader->diags, code, span, "%s", what);
    cw_diag_help(reader->diags, diag, "a %s from %s to %s, as in: %s",
                 cw_dimension_name(reader->fact->dimension, (char[64]){0}, 64), reader->info->range_low,
                 reader->info->range_high, reader->info->range_low);
    return CW_BAD_INPUT;
}

/* The number as typed and another unit behind it. */
static void suggest_unit(cw_reader *reader, const char *number, const char *symbol)
{
    size_t size = strlen(number);
    size_t more = strlen(symbol);
    if (size + more + 2 > CW_SUGGESTION_SIZE)
        return;
    memcpy(reader->suggestion, number, size);
    reader->suggestion[size] = ' ';
    memcpy(reader->suggestion + size + 1, symbol, more + 1);
}

/* A bare number outside the range: which units of this dimension would bring it inside? */
static cw_status which_unit(cw_reader *reader, const char *number, double value, cw_span span)
{
    cw_text units = CW_TEXT_INIT(&reader->pack->allocator);
    const cw_unit_info *only = NULL;
    size_t found = 0;
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++) {
        if (!same_dimension(reader, unit) || !fits(reader, cw_to_base(unit, value)))
            continue;
        cw_text_format(&units, "%s%s %s", found > 0 ? " or " : "", number, unit->symbol);
        only = unit;
        found++;
    }
    cw_status status = units.status;
    if (status == CW_OK && found == 0)
        status =
            wrong(reader, CW_DIAG_ANSWER_RANGE, span, "this is outside what is possible here, in any unit");
    else if (status == CW_OK) {
        cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_WHICH_UNIT, span,
                                     "%s%s%s is outside %s to %s, so it must be in another unit", number,
                                     reader->fact->unit != NULL ? " " : "", reader->info->unit,
                                     reader->info->range_low, reader->info->range_high);
        cw_diag_help(reader->diags, diag, "did you mean %s?", cw_text_get(&units));
        if (found == 1)
            suggest_unit(reader, number, only->symbol);
        status = CW_UNCLEAR;
    }
    cw_text_dispose(&units);
    return status;
}

/* The nearest unit of this dimension; with `fitting`, of those that bring the number into the range. */
static const char *nearest_unit(const cw_reader *reader, const char *symbol, double number, bool fitting)
{
    cw_nearest near = cw_nearest_start(symbol);
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++) {
        if (same_dimension(reader, unit) && (!fitting || fits(reader, cw_to_base(unit, number))))
            cw_nearest_try(&near, unit->symbol);
    }
    return near.best;
}

static cw_status unknown_unit(cw_reader *reader, const cw_parsed *parsed, const char *text, cw_span span)
{
    char symbol[CW_ANSWER_MAX_TEXT + 1];
    char number[CW_ANSWER_MAX_TEXT + 1];
    memcpy(symbol, text + parsed->at, parsed->length);
    symbol[parsed->length] = '\0';
    size_t size = parsed->at;
    while (size > 0 && text[size - 1] == ' ')
        size--;
    memcpy(number, text, size);
    number[size] = '\0';
    double value = cw_quantity_parse(number, size).number;
    const char *near = nearest_unit(reader, symbol, value, true);
    near = near != NULL ? near : nearest_unit(reader, symbol, value, false);
    if (near == NULL)
        return wrong(reader, CW_DIAG_ANSWER_NO_UNIT, span, "this unit is not known");
    cw_diag *diag =
        cw_diags_add(reader->diags, CW_DIAG_ANSWER_NO_UNIT, span, "the unit '%s' is not known", symbol);
    cw_diag_help(reader->diags, diag, "did you mean %s %s?", number, near);
    suggest_unit(reader, number, near);
    return CW_UNCLEAR;
}

static cw_status cannot_parse(cw_reader *reader, const cw_parsed *parsed, const char *text, size_t start)
{
    cw_span span = cw_reader_spot(reader, start + parsed->at, parsed->length);
    switch (parsed->error) {
    case CW_READING_UNKNOWN_UNIT:
        return unknown_unit(reader, parsed, text, span);
    case CW_READING_TRAILING:
        return wrong(reader, CW_DIAG_ANSWER_NOT_NUMBER, span, "this stands behind number and unit");
    case CW_READING_TOO_LARGE:
        return wrong(reader, CW_DIAG_ANSWER_RANGE, span, "this number is too large to be true");
    case CW_READING_ZERO_DIVIDE:
        return wrong(reader, CW_DIAG_ANSWER_NOT_NUMBER, span, "this divides by nought");
    case CW_READING_OK:
    case CW_READING_EMPTY:
    case CW_READING_NOT_A_NUMBER:
        break;
    }
    return wrong(reader, CW_DIAG_ANSWER_NOT_NUMBER, span, "a number is wanted here");
}

/* A plain number needs no unit. */
static double base_of(const cw_reader *reader, double value)
{
    return reader->fact->unit != NULL ? cw_to_base(reader->fact->unit, value) : value;
}

static cw_status bare_number(cw_reader *reader, const char *number, double value, cw_span span)
{
    double base = base_of(reader, value);
    return fits(reader, base) ? take(reader, base) : which_unit(reader, number, value, span);
}

static cw_status outside(cw_reader *reader, double number, cw_span span)
{
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_RANGE, span, "this is outside %s to %s",
                                 reader->info->range_low, reader->info->range_high);
    if (fits(reader, base_of(reader, number)) && reader->fact->unit != NULL)
        cw_diag_help(reader->diags, diag, "was the unit %s meant?", reader->info->unit);
    else
        cw_diag_help(reader->diags, diag, "measure again; if it stays so, say: can't tell");
    return CW_BAD_INPUT;
}

cw_status cw_read_measure(cw_reader *reader)
{
    size_t start = leading(reader);
    take_tool(reader);
    char text[CW_ANSWER_MAX_TEXT + 1];
    size_t size = reader->size > start ? reader->size - start : 0;
    memcpy(text, reader->text + start, size);
    text[size] = '\0';
    cw_parsed parsed = cw_quantity_parse(text, size);
    cw_span span = cw_reader_spot(reader, start, size);
    if (parsed.error != CW_READING_OK)
        return cannot_parse(reader, &parsed, text, start);
    if (parsed.unit == NULL)
        return bare_number(reader, text, parsed.number, span);
    if (!same_dimension(reader, parsed.unit)) {
        char name[64];
        char told[64];
        cw_diag *diag =
            cw_diags_add(reader->diags, CW_DIAG_ANSWER_DIMENSION, span, "this is a %s; a %s is wanted",
                         cw_dimension_name(parsed.unit->dimension, told, sizeof told),
                         cw_dimension_name(reader->fact->dimension, name, sizeof name));
        if (reader->fact->unit != NULL)
            cw_diag_help(reader->diags, diag, "give it in %s", reader->info->unit);
        else
            cw_diag_help(reader->diags, diag, "give the number alone");
        return CW_BAD_INPUT;
    }
    double base = cw_to_base(parsed.unit, parsed.number);
    return fits(reader, base) ? take(reader, base) : outside(reader, parsed.number, span);
}
