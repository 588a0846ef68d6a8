/* Data: what a unit says of itself for certain, as its ratings and limits. Each is a value of a fact,
 * concluded once the unit in hand is known. Units that say the same of a fact, from the same source, share
 * one datum and so one rule: a catalogue has many units and few ratings. */
#include "pack/inside.h"

#include <string.h>

static bool refuse_datum(compiler *c, const cw_node *key, const char *why)
{
    cw_diag *diag = complain(c, WRONG_TEST, key->span, "'%s' cannot be among the data of a unit", key->text);
    help(c, diag, "%s", why);
    return false;
}

static bool may_be_datum(compiler *c, const cw_node *key, const fact_def *fact)
{
    if (fact->kind == CW_WHICH_UNIT)
        return refuse_datum(c, key, "it says which unit is in hand");
    if (fact->kind == CW_STAMPED)
        return refuse_datum(c, key, "it is a text that only a person can read; how it looks is a sign");
    if (fact->verdict_on != 0)
        return refuse_datum(c, key, "it is a verdict on a part; the limits behind it can be data");
    if (fact->proof != 0)
        return refuse_datum(c, key, "it is a line of the proof sheet; the figures behind it can be data");
    return true;
}

static bool has_tolerance(const char *text)
{
    return strstr(text, "+/-") != NULL || strstr(text, "+-") != NULL || strstr(text, "\xc2\xb1") != NULL;
}

/* "90 A", or "2.4 ohm +/- 0.1 ohm", where the tolerance holds 95 of 100. */
static bool read_datum_figure(compiler *c, const cw_node *value, datum_def *datum)
{
    const fact_def *fact = datum->fact;
    const char *name = fact->at->name;
    double tolerance = 0;
    if (value->kind != CW_NODE_SCALAR) {
        cw_diag *diag = complain(c, WRONG_SHAPE, value->span, "'%s' is a single figure", name);
        help(c, diag, "write it with its unit, and with its tolerance where it has one: '112 mm +/- 0.8 mm'");
        return false;
    }
    if (!(has_tolerance(value->text)
              ? read_tolerance(c, value, fact->dimension, name, &datum->number, &tolerance)
              : read_quantity(c, value, 0, value->size, fact->dimension, name, &datum->number)))
        return false;
    datum->error = tolerance / 2;
    if (!fact->at->is_check || (datum->number >= fact->range.low && datum->number <= fact->range.high))
        return true;
    cw_diag *diag = complain(c, OUT_OF_RANGE, value->span, "this lies outside the range of '%s'", name);
    cw_diag_second(c->diags, diag, range_span(fact), "its range is said here");
    help_range(c, diag, fact, value);
    return false;
}

static bool read_datum_value(compiler *c, const cw_node *value, datum_def *datum)
{
    if (datum->fact->kind == CW_MEASURE)
        return read_datum_figure(c, value, datum);
    if (value->kind != CW_NODE_SCALAR) {
        help(c,
             complain(c, WRONG_SHAPE, value->span, "the data of a unit say one value of '%s'",
                      datum->fact->at->name),
             "how often something is seen belongs under 'signs'");
        return false;
    }
    datum->value = read_value(c, datum->fact, value, 0, value->size);
    return datum->value != UINT32_MAX;
}

/* Its index, the same as before where an equal one has been said. */
static uint32_t share(compiler *c, const datum_def *datum)
{
    struct {
        uint32_t fact, value, source, none;
        double number, error;
    } key = {.fact = datum->fact->number + datum->ground,
             .value = datum->value,
             .number = datum->number + 0.0, /* -0 and 0 are one figure */
             .error = datum->error};
    const char *source = datum->source == NULL ? "" : datum->source;
    key.source = cw_names_add(c->names, source, strlen(source));
    uint32_t number = cw_names_add(c->data_names, (const char *)&key, sizeof key);
    if (key.source == 0 || number == 0) {
        c->no_memory = true;
        return 0;
    }
    if (number > c->data.count) {
        datum_def *slot = append(c, &c->data);
        if (slot != NULL)
            *slot = *datum;
    }
    return number - 1;
}

static bool read_datum(compiler *c, const cw_node *key, const cw_node *value, const char *source,
                       uint32_t *index)
{
    static const scope_def nothing_bound;
    uint32_t at = find_entry(c, SECTION_checks, key->text, key->size);
    bool used = at != UINT32_MAX && fact_at(c, at)->used;
    fact_ref ref;
    bool found = read_reference(c, &nothing_bound, key, &ref);
    if (at != UINT32_MAX)
        fact_at(c, at)->used = used; /* to be said is not to be asked for */
    if (!found || !may_be_datum(c, key, ref.fact))
        return false;
    datum_def datum = {
        .fact = ref.fact, .ground = ground_of(c, &ref, NULL), .source = source, .span = key->span};
    ref.fact->datum = true;
    if (!read_datum_value(c, value, &datum))
        return false;
    *index = share(c, &datum);
    return !c->no_memory;
}

bool read_data(compiler *c, const cw_node *node, const char *source, unit_def *unit)
{
    if (node == NULL || !read_map(c, node, "data"))
        return node == NULL;
    uint32_t *data = take(c, node->size, sizeof *data);
    for (size_t i = 0; i < node->size && data != NULL && !c->no_memory; i++)
        unit->data_count +=
            read_datum(c, cw_node_key(node, i), cw_node_item(node, i), source, &data[unit->data_count]);
    unit->data = data;
    return unit->data_count == node->size;
}

static void emit_datum(compiler *c, const datum_def *datum, cw_fact_id which_unit)
{
    cw_fact_id fact = datum->fact->first + datum->ground;
    uint32_t id = cw_builder_datum(c->builder, which_unit, fact);
    cw_origin origin = {CW_UNIT_DATA, "Its data say so.", datum->source, datum->span};
    uint32_t from = id == 0 ? 0 : cw_builder_origin(c->builder, &origin);
    c->no_memory |= from == 0;
    if (c->no_memory)
        return;
    cw_premise premise = {cw_builder_datum_atom(c->builder, id), false};
    if (datum->fact->kind != CW_MEASURE) {
        cw_atom_id head = cw_builder_value_atom(c->builder, fact, datum->value);
        c->no_memory |= cw_builder_rule(c->builder, head, &premise, 1, 1, from) == 0;
        return;
    }
    const cw_formula *figure =
        cw_formula_figure(cw_builder_arena(c->builder), datum->number, datum->error, datum->fact->dimension);
    c->no_memory |=
        figure == NULL || cw_builder_measure_rule(c->builder, fact, figure, &premise, 1, from) == 0;
}

/* The builder numbers them as they stand here, from 1. */
void emit_unit_data(compiler *c, const unit_def *unit, cw_unit_id id)
{
    uint32_t *ids = unit->data_count == 0 ? NULL : take(c, unit->data_count, sizeof *ids);
    for (uint32_t i = 0; i < unit->data_count && ids != NULL; i++)
        ids[i] = unit->data[i] + 1;
    if (ids != NULL)
        cw_builder_unit_data(c->builder, id, ids, unit->data_count);
}

void emit_data(compiler *c)
{
    cw_fact_id which_unit = cw_builder_find_fact(c->builder, CW_UNIT_CHECK);
    for (size_t i = 0; i < c->data.count && !c->no_memory; i++)
        emit_datum(c, CW_VEC_AT(&c->data, datum_def, i), which_unit);
}
