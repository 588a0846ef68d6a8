/* What can be said of a pack beforehand: its checks, cautions and headers, as a person needs them. */
#include "base/nearest.h"
#include "session/inside.h"
#include <stdio.h>
#include <string.h>

static cw_answer_kind kind_of(cw_kind kind)
{
    switch (kind) {
    case CW_YES_OR_NO:
        return CW_ANSWER_YES_OR_NO;
    case CW_CHOICE:
        return CW_ANSWER_CHOICE;
    case CW_COUNT:
        return CW_ANSWER_COUNT;
    case CW_MEASURE:
        return CW_ANSWER_MEASURE;
    case CW_WHICH_UNIT:
        return CW_ANSWER_UNIT;
    case CW_STAMPED:
        break;
    }
    return CW_ANSWER_TEXT;
}

/* Choices in the order of asking: that of the pack, and yes before no, whichever of them is normal. */
static bool describe_choices(const cw_pack *pack, const cw_fact *fact, cw_check_info *info)
{
    if (fact->kind != CW_YES_OR_NO && fact->kind != CW_CHOICE)
        return true;
    cw_choice_info *choices = CW_NEW_ARRAY(pack->arena, cw_choice_info, fact->values.count);
    if (choices == NULL)
        return false;
    for (uint32_t i = 0; i < fact->values.count; i++) {
        const cw_value *value = &pack->model->values[fact->values.first + i];
        choices[i] = (cw_choice_info){value->name, value->title};
    }
    if (fact->kind == CW_YES_OR_NO && fact->values.count == 2 && strcmp(choices[1].name, "yes") == 0) {
        cw_choice_info no = choices[0];
        choices[0] = choices[1];
        choices[1] = no;
    }
    info->choices = choices;
    info->choice_count = fact->values.count;
    return true;
}

static bool describe_measure(const cw_pack *pack, const cw_check *check, const cw_fact *fact,
                             cw_check_info *info)
{
    if (fact->kind == CW_COUNT) {
        info->count_low = (long)check->range.low;
        info->count_high = (long)check->range.high;
    }
    if (fact->kind != CW_MEASURE)
        return true;
    const char **tools = CW_NEW_ARRAY(pack->arena, const char *, check->tools.count);
    if (tools == NULL)
        return false;
    for (uint32_t i = 0; i < check->tools.count; i++)
        tools[i] = pack->model->tools[check->tools.first + i].name;
    info->unit = fact->unit != NULL ? fact->unit->symbol : ""; /* a plain number has none */
    info->range_low = cw_print_quantity(pack->arena, check->range.low, fact->unit);
    info->range_high = cw_print_quantity(pack->arena, check->range.high, fact->unit);
    info->tools = tools;
    info->tool_count = check->tools.count;
    return info->range_low != NULL && info->range_high != NULL;
}

static bool describe_places(const cw_pack *pack, const cw_check *check, cw_check_info *info)
{
    const char **places = CW_NEW_ARRAY(pack->arena, const char *, CW_WHERE_COUNT);
    const cw_caution_info **cautions =
        CW_NEW_ARRAY(pack->arena, const cw_caution_info *, check->cautions.count);
    if (places == NULL || cautions == NULL)
        return false;
    for (int where = 0; where < CW_WHERE_COUNT; where++) {
        if ((check->places & 1u << where) != 0)
            places[info->place_count++] = cw_where_name((cw_where)where);
    }
    for (uint32_t i = 0; i < check->cautions.count; i++)
        cautions[i] = &pack->cautions[pack->model->caution_lists[check->cautions.first + i] - 1];
    info->places = places;
    info->cautions = cautions;
    info->caution_count = check->cautions.count;
    return true;
}

static bool describe_check(const cw_pack *pack, cw_check_id id, cw_check_info *info)
{
    const cw_check *check = &pack->model->checks[id];
    const cw_fact *fact = &pack->model->facts[check->fact];
    *info = (cw_check_info){.name = check->name,
                            .title = check->title,
                            .ask = check->ask,
                            .how = check->how,
                            .picture = check->picture,
                            .source = check->source,
                            .kind = kind_of(fact->kind),
                            .minutes = check->minutes};
    return describe_choices(pack, fact, info) && describe_measure(pack, check, fact, info) &&
           describe_places(pack, check, info);
}

cw_status cw_pack_describe(cw_pack *pack)
{
    const cw_model *model = pack->model;
    pack->headers = CW_NEW_ARRAY(pack->arena, cw_pack_header, model->packs_count);
    pack->checks = CW_NEW_ARRAY(pack->arena, cw_check_info, model->checks_count);
    pack->cautions = CW_NEW_ARRAY(pack->arena, cw_caution_info, model->cautions_count);
    if (pack->headers == NULL || pack->checks == NULL || pack->cautions == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < model->packs_count; i++) {
        const cw_pack_info *from = &model->packs[i];
        pack->headers[i] = (cw_pack_header){from->name, from->title, from->sha256, from->version};
    }
    for (cw_caution_id id = 1; id <= model->cautions_count; id++) {
        const cw_caution *from = &model->cautions[id];
        pack->cautions[id - 1] = (cw_caution_info){from->name, from->say, from->source, from->stop};
    }
    for (cw_check_id id = 1; id <= model->checks_count; id++) {
        if (!describe_check(pack, id, &pack->checks[id - 1]))
            return CW_NO_MEMORY;
    }
    return CW_OK;
}

size_t cw_pack_headers(const cw_pack *pack, const cw_pack_header **headers)
{
    if (headers != NULL)
        *headers = pack->headers;
    return pack->model->packs_count;
}

size_t cw_pack_checks(const cw_pack *pack)
{
    return pack->model->checks_count;
}

const cw_check_info *cw_pack_check_at(const cw_pack *pack, size_t index)
{
    return index < pack->model->checks_count ? &pack->checks[index] : NULL;
}

const cw_check_info *cw_pack_check(const cw_pack *pack, const char *name, const char **nearest)
{
    if (nearest != NULL)
        *nearest = NULL;
    if (name == NULL)
        return NULL;
    cw_check_id id = cw_model_check(pack->model, name);
    if (id != 0)
        return &pack->checks[id - 1];
    if (nearest != NULL) {
        cw_nearest near = cw_nearest_start(name);
        for (id = 1; id <= pack->model->checks_count; id++)
            cw_nearest_try(&near, pack->model->checks[id].name);
        *nearest = near.best;
    }
    return NULL;
}

size_t cw_pack_units(const cw_pack *pack)
{
    return pack->model->units_count;
}

bool cw_pack_unit_at(const cw_pack *pack, size_t index, cw_unit_entry *out)
{
    if (out == NULL || index >= pack->model->units_count)
        return false;
    const cw_unit *unit = &pack->model->units[index + 1];
    const char *above = unit->parent == 0 ? NULL : pack->model->units[unit->parent].name;
    *out = (cw_unit_entry){unit->name, unit->title, above, unit->version};
    return true;
}

bool cw_pack_part_at(const cw_pack *pack, size_t index, cw_part_entry *out)
{
    static const char *const places[] = {"unit", "vehicle", "installation"};
    if (out == NULL || index >= pack->model->parts_count)
        return false;
    const cw_part *part = &pack->model->parts[index + 1];
    *out = (cw_part_entry){part->name, part->title, places[part->where]};
    return true;
}

bool cw_pack_fact_at(const cw_pack *pack, size_t index, cw_fact_entry *out)
{
    if (out == NULL || index >= pack->model->facts_count)
        return false;
    const cw_fact *fact = &pack->model->facts[index + 1];
    *out =
        (cw_fact_entry){fact->name, fact->title, kind_of(fact->kind), fact->values.count, fact->check != 0};
    return true;
}

bool cw_pack_value_at(const cw_pack *pack, size_t index, size_t value, cw_choice_info *out)
{
    if (out == NULL || index >= pack->model->facts_count ||
        value >= pack->model->facts[index + 1].values.count)
        return false;
    const cw_value *from = &pack->model->values[pack->model->facts[index + 1].values.first + value];
    *out = (cw_choice_info){from->name, from->title};
    return true;
}

static void commonest(const cw_pack *pack, const cw_sign *sign, cw_unit_sign *out)
{
    cw_run values = pack->model->facts[sign->fact].values;
    for (uint32_t i = 0; i < values.count; i++) {
        if (sign->chances[i] <= out->share)
            continue;
        out->share = sign->chances[i];
        snprintf(out->value, sizeof out->value, "%s", pack->model->values[values.first + i].name);
    }
}

/* Left empty where memory is out. */
static void around(const cw_pack *pack, double mean, const cw_unit_info *unit, cw_unit_sign *out)
{
    cw_text text = CW_TEXT_INIT(&pack->allocator);
    cw_quantity_print(&text, mean, unit);
    if (text.status == CW_OK)
        snprintf(out->value, sizeof out->value, "%s", cw_text_get(&text));
    cw_text_dispose(&text);
}

bool cw_pack_unit_sign_at(const cw_pack *pack, const char *version, size_t index, cw_unit_sign *out)
{
    cw_unit_id id = version != NULL ? cw_model_unit(pack->model, version) : 0;
    if (out == NULL || id == 0 || index >= pack->model->units[id].signs.count)
        return false;
    const cw_sign *sign = &pack->model->signs[pack->model->units[id].signs.first + index];
    const cw_fact *fact = &pack->model->facts[sign->fact];
    *out = (cw_unit_sign){.fact = fact->name};
    if (sign->kind == CW_SIGN_VALUES) {
        commonest(pack, sign, out);
    } else if (sign->kind == CW_SIGN_NORMAL) {
        out->share = 1;
        around(pack, sign->mean, fact->unit, out);
    }
    return true;
}

bool cw_pack_caution_at(const cw_pack *pack, size_t index, cw_caution_info *out)
{
    if (out == NULL || index >= pack->model->cautions_count)
        return false;
    *out = pack->cautions[index];
    return true;
}

const char *cw_pack_unit_title(const cw_pack *pack, const char *name)
{
    cw_unit_id id = name != NULL ? cw_model_unit(pack->model, name) : 0;
    return id != 0 ? pack->model->units[id].title : NULL;
}

const char *cw_pack_cause_title(const cw_pack *pack, const char *name)
{
    cw_cause_id id = name != NULL ? cw_model_cause(pack->model, name) : 0;
    return id != 0 ? pack->model->causes[id].title : NULL;
}

const char *cw_stage_at(size_t index)
{
    return index < CW_STAGE_COUNT ? cw_stage_name((cw_stage)index) : NULL;
}

const char *cw_place_at(size_t index)
{
    return index < CW_WHERE_COUNT ? cw_where_name((cw_where)index) : NULL;
}

const char *cw_nearest_word(const char *word, const char *const *words, size_t count)
{
    if (word == NULL || words == NULL)
        return NULL;
    cw_nearest near = cw_nearest_start(word);
    for (size_t i = 0; i < count; i++)
        cw_nearest_try(&near, words[i]);
    return near.best;
}
