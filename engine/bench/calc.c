/* From names and settings to a calculation and back to words. */
#include "base/nearest.h"
#include "base/text.h"
#include "bench/calc_inside.h"
#include "quantity/quantity.h"
#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const calc *const calcs[] = {
    &calc_cable,   &calc_resistance, &calc_heating, &calc_rotor,     &calc_setpoint,
    &calc_battery, &calc_drain,      &calc_output,  &calc_pulley,    &calc_belt,
    &calc_bearing, &calc_flaws,      &calc_tones,   &calc_rectifier,
};
enum { CALCS = sizeof calcs / sizeof *calcs, MOST_KEYS = 20 };

const cw_calc *cw_calc_at(size_t index)
{
    return index < CALCS ? &calcs[index]->shown : NULL;
}

const cw_calc *cw_calc_find(const char *name)
{
    for (size_t i = 0; name != NULL && i < CALCS; i++)
        if (strcmp(calcs[i]->shown.name, name) == 0)
            return &calcs[i]->shown;
    return NULL;
}

static const calc *whole(const cw_calc *shown)
{
    for (size_t i = 0; i < CALCS; i++)
        if (&calcs[i]->shown == shown)
            return calcs[i];
    return NULL;
}

const cw_calc_key *cw_calc_key_at(const cw_calc *shown, size_t index)
{
    const calc *one = whole(shown);
    return one != NULL && index < one->shown.key_count ? &one->keys[index].shown : NULL;
}

/* -- Results -- */

cw_status calc_wrong(cw_calc_result *out, const char *help, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(out->problem, sizeof out->problem, format, arguments);
    va_end(arguments);
    if (help != NULL)
        snprintf(out->help, sizeof out->help, "%s", help);
    out->count = 0;
    return CW_BAD_INPUT;
}

static cw_calc_line *next_line(cw_calc_result *out, const char *name, const char *label)
{
    if (out->count == CW_CALC_LINES)
        return NULL;
    cw_calc_line *line = &out->lines[out->count++];
    *line = (cw_calc_line){.name = name, .label = label, .value = NAN, .unit = ""};
    return line;
}

cw_status calc_add(cw_calc_result *out, const char *name, const char *label, double base, const char *symbol)
{
    cw_calc_line *line = next_line(out, name, label);
    if (line == NULL)
        return CW_OK;
    const cw_unit_info *unit = *symbol == '\0' ? NULL : cw_unit_find(symbol, strlen(symbol));
    assert(*symbol == '\0' || unit != NULL);
    line->value = unit != NULL ? cw_from_base(unit, base) : base;
    line->unit = symbol;
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_quantity_show(&text, base, 0, unit);
    snprintf(line->words, sizeof line->words, "%s", cw_text_get(&text));
    cw_status status = text.status;
    cw_text_dispose(&text);
    return status;
}

void calc_say(cw_calc_result *out, const char *name, const char *label, const char *format, ...)
{
    cw_calc_line *line = next_line(out, name, label);
    if (line == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line->words, sizeof line->words, format, arguments);
    va_end(arguments);
}

int calc_cut(const char *text)
{
    size_t all = strlen(text);
    size_t size = 0;
    for (size_t next = cw_utf8_length(text, all); size + next <= 60 && next > 0;
         next = cw_utf8_length(text + size, all - size))
        size += next;
    return (int)size;
}

static bool readable(const char *text, cw_calc_result *out)
{
    if (cw_utf8_error(text, strlen(text)) == strlen(text))
        return true;
    calc_wrong(out, "write it in UTF-8", "what is written there is no readable text");
    return false;
}

/* -- Settings -- */

static cw_status no_calc(const char *name, cw_calc_result *out)
{
    cw_nearest nearest = cw_nearest_start(name);
    for (size_t i = 0; i < CALCS; i++)
        cw_nearest_try(&nearest, calcs[i]->shown.name);
    calc_wrong(out, "'corewright calc' lists them", "there is no calculation '%.*s'", calc_cut(name), name);
    if (nearest.best != NULL)
        snprintf(out->help, sizeof out->help, "did you mean '%s'?", nearest.best);
    return CW_NOT_FOUND;
}

static cw_status no_key(const calc *one, const char *name, cw_calc_result *out)
{
    cw_nearest nearest = cw_nearest_start(name);
    for (size_t i = 0; i < one->shown.key_count; i++)
        cw_nearest_try(&nearest, one->keys[i].shown.name);
    calc_wrong(out, NULL, "%s has no key '%.*s'", one->shown.name, calc_cut(name), name);
    if (nearest.best != NULL) {
        snprintf(out->help, sizeof out->help, "did you mean '%s'?", nearest.best);
        return CW_BAD_INPUT;
    }
    size_t used = (size_t)snprintf(out->help, sizeof out->help, "its keys are");
    for (size_t i = 0; i < one->shown.key_count && used < sizeof out->help; i++)
        used += (size_t)snprintf(out->help + used, sizeof out->help - used, "%s %s", i == 0 ? "" : ",",
                                 one->keys[i].shown.name);
    return CW_BAD_INPUT;
}

static cw_status read_setting(const calc *one, const char *setting, calc_value *values, cw_calc_result *out)
{
    const char *equals = strchr(setting, '=');
    char name[64];
    if (!readable(setting, out))
        return CW_BAD_INPUT;
    if (equals == NULL) {
        snprintf(out->help, sizeof out->help, "for example: %.200s", one->shown.example);
        return calc_wrong(out, NULL, "'%.*s' is no setting: key=value is wanted", calc_cut(setting), setting);
    }
    int size = calc_cut(setting);
    snprintf(name, sizeof name, "%.*s", equals - setting < size ? (int)(equals - setting) : size, setting);
    for (size_t i = 0; i < one->shown.key_count; i++) {
        if (strcmp(one->keys[i].shown.name, name) != 0)
            continue;
        if (values[i].given)
            return calc_wrong(out, NULL, "'%s' is given twice", name);
        return calc_read(&one->keys[i], equals + 1, &values[i], out);
    }
    return no_key(one, name, out);
}

/* What was not said: the usual, or an error. */
static cw_status fill(const calc *one, calc_value *values, cw_calc_result *out)
{
    for (size_t i = 0; i < one->shown.key_count; i++) {
        const cw_calc_key *key = &one->keys[i].shown;
        if (values[i].given)
            continue;
        if (key->usual == NULL) {
            snprintf(out->help, sizeof out->help, "for example: %.200s", one->shown.example);
            return calc_wrong(out, NULL, "%s wants '%s': %s", one->shown.name, key->name, key->means);
        }
        cw_status status =
            *key->usual == '\0' ? CW_OK : calc_read(&one->keys[i], key->usual, &values[i], out);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}

cw_status cw_calc_run(const char *name, const char *const *settings, size_t count, cw_calc_result *out)
{
    if (name == NULL || out == NULL || (count > 0 && settings == NULL))
        return CW_BAD_CALL;
    memset(out, 0, sizeof *out);
    if (!readable(name, out))
        return CW_NOT_FOUND;
    const calc *one = whole(cw_calc_find(name));
    if (one == NULL)
        return no_calc(name, out);
    assert(one->shown.key_count <= MOST_KEYS);
    calc_value values[MOST_KEYS];
    for (size_t i = 0; i < MOST_KEYS; i++)
        values[i] = (calc_value){.number = NAN};
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status = settings[i] != NULL ? read_setting(one, settings[i], values, out) : CW_BAD_CALL;
    if (status == CW_OK)
        status = fill(one, values, out);
    return status == CW_OK ? one->run(values, out) : status;
}
