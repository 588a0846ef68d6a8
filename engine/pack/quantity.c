/* Quantities in packs: always with their unit, of the dimension that is wanted, the spot told when not. */
#include "pack/inside.h"

#include <math.h>
#include <string.h>

enum { DIMENSION_TEXT = 64 };

static const char *first_unit(cw_dimension wanted)
{
    for (size_t i = 0; cw_unit_at(i) != NULL; i++)
        if (cw_dimension_equal(cw_unit_at(i)->dimension, wanted))
            return cw_unit_at(i)->symbol;
    return NULL;
}

static bool is_number(cw_dimension dimension)
{
    return cw_dimension_equal(dimension, (cw_dimension){0});
}

void help_units(compiler *c, cw_diag *diag, cw_dimension wanted)
{
    if (is_number(wanted))
        help(c, diag, "it is a plain number, without a unit");
    else
        help(c, diag, "its units are %s and the like", first_unit(wanted));
}

static const char *example_of(compiler *c, cw_dimension wanted)
{
    const char *made = is_number(wanted) ? "12" : cw_arena_format(c->arena, "12 %s", first_unit(wanted));
    return made != NULL ? made : "12";
}

static void wrong_unit(compiler *c, const cw_node *node, size_t at, const cw_parsed *parsed,
                       cw_dimension wanted)
{
    cw_span span = spot(c, node, at + parsed->at, parsed->length);
    bool unit = parsed->error == CW_READING_UNKNOWN_UNIT;
    cw_diag *diag = complain(c, BAD_QUANTITY, span, "%s%.*s%s", unit ? "the unit '" : "",
                             unit ? (int)parsed->length : 0, node->text + at + parsed->at,
                             unit ? "' is not known" : cw_reading_error_text(parsed->error));
    if (!unit && parsed->error != CW_READING_TRAILING) {
        help(c, diag, "write it in digits with its unit, as '%s'", example_of(c, wanted));
        return;
    }
    char word[MOST_NAME];
    size_t length = parsed->length < sizeof word ? parsed->length : sizeof word - 1;
    memcpy(word, node->text + at + parsed->at, length);
    word[length] = '\0';
    cw_nearest nearest = cw_nearest_start(word);
    for (size_t i = 0; cw_unit_at(i) != NULL; i++)
        if (cw_dimension_equal(cw_unit_at(i)->dimension, wanted))
            cw_nearest_try(&nearest, cw_unit_at(i)->symbol);
    if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else
        help_units(c, diag, wanted);
}

/* A digit, a comma and a digit without a blank between: a decimal comma that YAML takes for the end of the
 * entry. */
bool comma_cuts(const compiler *c, cw_span before)
{
    size_t size;
    const char *text = cw_source_text(c->sources, before.source, &size);
    return text != NULL && (size_t)before.end + 1 < size && text[before.end] == ',' &&
           text[before.end + 1] >= '0' && text[before.end + 1] <= '9';
}

cw_span range_span(const fact_def *fact)
{
    const cw_node *range = cw_node_get(fact->at->body, "range");
    return range != NULL ? range->span : fact->at->key->span;
}

/* What else the number may have been meant in. */
void help_range(compiler *c, cw_diag *diag, const fact_def *fact, const cw_node *node)
{
    cw_parsed_pair pair = cw_quantity_parse_tolerance(node->text, node->size);
    cw_text low = CW_TEXT_INIT(c->allocator), high = CW_TEXT_INIT(c->allocator),
            meant = CW_TEXT_INIT(c->allocator);
    cw_quantity_show(&low, fact->range.low, 0, fact->unit);
    cw_quantity_show(&high, fact->range.high, 0, fact->unit);
    for (size_t i = 0; cw_unit_at(i) != NULL && meant.size == 0 && pair.first.error == CW_READING_OK; i++) {
        const cw_unit_info *unit = cw_unit_at(i);
        double base = cw_to_base(unit, pair.first.number);
        if (cw_dimension_equal(unit->dimension, fact->dimension) && unit != pair.first.unit &&
            base >= fact->range.low && base <= fact->range.high) {
            cw_text_add(&meant, ": was '");
            cw_quantity_show(&meant, base, 0, unit);
            cw_text_add(&meant, "' meant?");
        }
    }
    c->no_memory |= low.status != CW_OK || high.status != CW_OK || meant.status != CW_OK;
    help(c, diag, "it goes from %s to %s%s", cw_text_get(&low), cw_text_get(&high), cw_text_get(&meant));
    cw_text_dispose(&low);
    cw_text_dispose(&high);
    cw_text_dispose(&meant);
}

/* The reading fits, or is complained of. `of` is what it is compared with: a check or fact, or NULL. */
static bool accept(compiler *c, const cw_node *node, size_t at, size_t size, const cw_parsed *parsed,
                   cw_dimension wanted, const char *of)
{
    if (parsed->error != CW_READING_OK) {
        wrong_unit(c, node, at, parsed, wanted);
        return false;
    }
    if (parsed->unit == NULL) {
        if (is_number(wanted))
            return true;
        const cw_span span = spot(c, node, at, size);
        if (comma_cuts(c, span)) {
            cw_diag *diag = complain(c, BAD_QUANTITY, span,
                                     "inside braces a comma ends the entry, so '%.*s' stands alone",
                                     (int)size, node->text + at);
            help(c, diag, "write the number with a point, or put all of it into quotes");
            return false;
        }
        cw_diag *diag = complain(c, BAD_QUANTITY, span, "'%.*s' has no unit", (int)size, node->text + at);
        help(c, diag, "write it with its unit, as '%.*s %s'", (int)size, node->text + at, first_unit(wanted));
        return false;
    }
    if (cw_dimension_equal(parsed->unit->dimension, wanted))
        return true;
    char have[DIMENSION_TEXT], want[DIMENSION_TEXT];
    const char *have_words = cw_dimension_name(parsed->unit->dimension, have, sizeof have);
    const char *want_words = cw_dimension_name(wanted, want, sizeof want);
    cw_diag *diag =
        complain(c, DIMENSION, spot(c, node, at, size), "'%.*s' measures %s, but '%s' measures %s", (int)size,
                 node->text + at, have_words, of, want_words);
    if (first_unit(wanted) != NULL)
        help(c, diag, "its units are %s and the like", first_unit(wanted));
    return false;
}

static void trim(const char *text, size_t *at, size_t *size)
{
    while (*size > 0 && text[*at] == ' ') {
        ++*at;
        --*size;
    }
    while (*size > 0 && text[*at + *size - 1] == ' ')
        --*size;
}

bool read_quantity(compiler *c, const cw_node *node, size_t at, size_t size, cw_dimension wanted,
                   const char *of, double *base)
{
    trim(node->text, &at, &size);
    cw_parsed parsed = cw_quantity_parse_as(node->text + at, size, wanted);
    *base = parsed.base;
    return accept(c, node, at, size, &parsed, wanted, of);
}

/* Where the joining word parts the text: the spots of the two halves for messages about a whole half. */
static void halves(const cw_node *node, const char *const *joints, size_t count, size_t *first_size,
                   size_t *second_at)
{
    for (size_t i = 0; i < count; i++) {
        const char *found = strstr(node->text, joints[i]);
        if (found != NULL) {
            *first_size = (size_t)(found - node->text);
            *second_at = *first_size + strlen(joints[i]);
            return;
        }
    }
    *first_size = node->size;
    *second_at = node->size;
}

static bool accept_half(compiler *c, const cw_node *node, size_t at, size_t size, cw_parsed parsed,
                        cw_dimension wanted, const char *of, double *out)
{
    trim(node->text, &at, &size);
    cw_parsed as = parsed.error == CW_READING_OK ? cw_parsed_as(parsed, wanted) : parsed;
    /* The spot counts from the start of the whole text. */
    as.at = as.at >= at ? as.at - at : 0;
    *out = as.base;
    return accept(c, node, at, size, &as, wanted, of);
}

bool read_range(compiler *c, const cw_node *node, cw_dimension wanted, const char *of, cw_interval *out)
{
    static const char *const joints[] = {" to "};
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "a range is written '60 mm to 200 mm'"),
             "put 'to' between the two ends, both with their unit");
        return false;
    }
    cw_parsed_pair pair = cw_quantity_parse_range(node->text, node->size);
    if (!pair.ok) {
        cw_diag *diag = complain(c, BAD_QUANTITY, node->span, "'%s' is not a range", node->text);
        help(c, diag, "write it as '60 mm to 200 mm'");
        return false;
    }
    size_t first, second;
    halves(node, joints, 1, &first, &second);
    *out = (cw_interval){0, 0, false, false};
    bool low = accept_half(c, node, 0, first, pair.first, wanted, of, &out->low);
    bool high = accept_half(c, node, second, node->size - second, pair.second, wanted, of, &out->high);
    if (!low || !high)
        return false;
    if (out->low > out->high) {
        help(c, complain(c, OUT_OF_RANGE, node->span, "the range stands upside down"),
             "write the lower end first");
        return false;
    }
    return true;
}

bool read_figure(compiler *c, const cw_node *node)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "a figure with its unit belongs here, or a range"),
             "write '112 mm' or '60 mm to 200 mm'");
        return false;
    }
    cw_parsed_pair pair = cw_quantity_parse_range(node->text, node->size);
    const cw_parsed *told = pair.ok ? &pair.second : &pair.first;
    cw_dimension wanted = cw_unit_find("N m", 3)->dimension; /* what most figures of assembly are */
    if (told->error == CW_READING_OK && told->unit != NULL)
        wanted = told->unit->dimension;
    cw_interval range;
    double base;
    return pair.ok ? read_range(c, node, wanted, "figure", &range)
                   : read_quantity(c, node, 0, node->size, wanted, "figure", &base);
}

static cw_dimension as_step(cw_dimension dimension)
{
    dimension.on_scale = 0;
    return dimension;
}

/* A difference, in base units: degC and K mean the same here. */
static bool accept_spread(compiler *c, const cw_node *node, size_t at, size_t size, cw_parsed parsed,
                          cw_dimension of_dimension, const char *of, double *out)
{
    trim(node->text, &at, &size);
    cw_dimension wanted = as_step(of_dimension);
    bool on_scale = parsed.error == CW_READING_OK && parsed.unit != NULL &&
                    parsed.unit->dimension.on_scale != 0 && of_dimension.on_scale != 0;
    cw_parsed as = on_scale || parsed.error != CW_READING_OK ? parsed : cw_parsed_as(parsed, wanted);
    as.at = as.at >= at ? as.at - at : 0;
    if (!accept(c, node, at, size, &as, on_scale ? of_dimension : wanted, of))
        return false;
    *out = on_scale ? as.number * as.unit->factor : as.base;
    if (*out < 0) {
        help(c, complain(c, OUT_OF_RANGE, spot(c, node, at, size), "an error or tolerance cannot be below 0"),
             "leave the '-' out: it is meant up and down");
        return false;
    }
    return true;
}

bool read_spread(compiler *c, const cw_node *node, cw_dimension of_dimension, const char *of, double *out)
{
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "a single figure with its unit belongs here"),
             "write one, as '112 mm'");
        return false;
    }
    size_t at = 0, size = node->size;
    trim(node->text, &at, &size);
    cw_parsed parsed = cw_quantity_parse_as(node->text + at, size, as_step(of_dimension));
    parsed.at += at;
    return accept_spread(c, node, at, size, parsed, of_dimension, of, out);
}

bool read_tolerance(compiler *c, const cw_node *node, cw_dimension wanted, const char *of, double *middle,
                    double *tolerance)
{
    static const char *const joints[] = {"+/-", "+-", "\xc2\xb1"};
    cw_parsed_pair pair = cw_quantity_parse_tolerance(node->text, node->size);
    if (!pair.ok) {
        cw_diag *diag = complain(c, BAD_QUANTITY, node->span, "'%s' says no tolerance", node->text);
        help(c, diag, "write '112 mm +/- 0.8 mm' or '{around: 112 mm, sd: 0.4 mm}'");
        return false;
    }
    size_t first, second;
    halves(node, joints, 3, &first, &second);
    bool good = accept_half(c, node, 0, first, pair.first, wanted, of, middle);
    return accept_spread(c, node, second, node->size - second, pair.second, wanted, of, tolerance) && good;
}
