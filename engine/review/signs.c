/* Causes and units without a telling sign, and those that nothing tells apart. */
#include "review/inside.h"

#include <stdlib.h>
#include <string.h>

/* A cause or version, as far as signs go. */
typedef struct bearer {
    const char *name;
    cw_span span;
    cw_run signs;
    uint64_t hash; /* equal signs have equal ones */
} bearer;

/* It makes something more frequent than it is anyway. */
static bool says_something(const cw_model *model, const cw_sign *sign)
{
    const cw_fact *fact = &model->facts[sign->fact];
    if (fact->background == NULL)
        return true;
    for (uint32_t value = 1; value < fact->values.count; value++)
        if (sign->chances[value] > fact->background[value])
            return true;
    return false;
}

/* All that it names is normal. */
static bool names_only_normal(const cw_model *model, const cw_sign *sign)
{
    for (uint32_t value = 1; value < model->facts[sign->fact].values.count; value++)
        if (sign->chances[value] > 0)
            return false;
    return true;
}

static void warn_silent_signs(reviewer *r, const cw_cause *cause)
{
    for (uint32_t i = 0; i < cause->signs.count; i++) {
        const cw_sign *sign = &r->model->signs[cause->signs.first + i];
        const cw_fact *fact = &r->model->facts[sign->fact];
        if (!names_only_normal(r->model, sign))
            continue;
        cw_diag *diag = review_warn(r, CW_DIAG_NO_TELLING_SIGN, sign->span,
                                    "the sign '%s' of '%s' tells nothing", fact->name, cause->name);
        advise(r, diag,
               "'%s' is normal, and nothing else is made more frequent: name what is wrong, or put the "
               "choices in order, normal first",
               r->model->values[fact->values.first].name);
    }
}

static void warn_silent(reviewer *r, const cw_cause *cause)
{
    bool says = false;
    for (uint32_t i = 0; i < cause->signs.count; i++)
        says |= says_something(r->model, &r->model->signs[cause->signs.first + i]);
    if (says) {
        warn_silent_signs(r, cause);
        return;
    }
    cw_diag *diag = review_warn(r, CW_DIAG_NO_TELLING_SIGN, cause->span, "the cause '%s' has no telling sign",
                                cause->name);
    if (cause->signs.count == 0)
        advise(r, diag, "nothing that is found can speak for it: give it 'signs'");
    else
        advise(r, diag, "what its signs name is seen as often with nothing wrong ('background')");
}

static void warn_silent_unit(reviewer *r, const cw_unit *unit)
{
    if (unit->signs.count > 0)
        return;
    cw_diag *diag =
        review_warn(r, CW_DIAG_NO_TELLING_SIGN, unit->span, "the unit '%s' has no telling sign", unit->name);
    advise(r, diag, "nothing that is seen can speak for it: give it or its family 'signs'");
}

static bool same_doubles(const double *a, const double *b, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++)
        if (a[i] != b[i])
            return false;
    return true;
}

static bool same_sign(const cw_model *model, const cw_sign *a, const cw_sign *b)
{
    if (a->fact != b->fact || a->kind != b->kind || a->patterns.count != b->patterns.count)
        return false;
    for (uint32_t i = 0; i < a->patterns.count; i++)
        if (model->pattern_lists[a->patterns.first + i] != model->pattern_lists[b->patterns.first + i])
            return false;
    switch (a->kind) {
    case CW_SIGN_VALUES:
        return same_doubles(a->chances, b->chances, model->facts[a->fact].values.count);
    case CW_SIGN_NORMAL:
        return a->mean == b->mean && a->sd == b->sd;
    case CW_SIGN_PATTERNS:
        return same_doubles(a->chances, b->chances, a->patterns.count);
    }
    return false;
}

static bool same_signs(const cw_model *model, const bearer *a, const bearer *b)
{
    if (a->hash != b->hash || a->signs.count != b->signs.count)
        return false;
    for (uint32_t i = 0; i < a->signs.count; i++)
        if (!same_sign(model, &model->signs[a->signs.first + i], &model->signs[b->signs.first + i]))
            return false;
    return true;
}

static uint64_t mix(uint64_t hash, double number)
{
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    return (hash ^ bits) * 0x9E3779B97F4A7C15u ^ (hash >> 29);
}

static uint64_t hash_signs(const cw_model *model, cw_run signs)
{
    uint64_t hash = signs.count;
    for (uint32_t i = 0; i < signs.count; i++) {
        const cw_sign *sign = &model->signs[signs.first + i];
        hash = mix(hash, sign->fact);
        hash = mix(hash, sign->kind == CW_SIGN_NORMAL ? sign->mean : sign->chances[0]);
    }
    return hash;
}

static int by_hash(const void *a, const void *b)
{
    const bearer *x = a, *y = b;
    if (x->hash != y->hash)
        return x->hash < y->hash ? -1 : 1;
    if (x->span.source != y->span.source)
        return x->span.source < y->span.source ? -1 : 1;
    return (x->span.start > y->span.start) - (x->span.start < y->span.start);
}

/* Each is held against the first of those before it with the same signs. */
static void warn_alike(reviewer *r, bearer *bearers, uint32_t count, const char *what)
{
    if (count > 1)
        qsort(bearers, count, sizeof *bearers, by_hash);
    uint32_t first = 0;
    for (uint32_t i = 1; i < count; i++) {
        while (first < i && bearers[first].hash != bearers[i].hash)
            first++;
        uint32_t twin = first;
        while (twin < i && !same_signs(r->model, &bearers[twin], &bearers[i]))
            twin++;
        if (twin == i || bearers[i].signs.count == 0)
            continue;
        cw_diag *diag = review_warn(r, CW_DIAG_ALIKE, bearers[i].span, "nothing tells %s '%s' from '%s'",
                                    what, bearers[i].name, bearers[twin].name);
        cw_diag_second(r->diags, diag, bearers[twin].span, "its twin");
        advise(r, diag,
               "their signs are the same to the last: give one of them a sign the other lacks, or make one "
               "of the two");
    }
}

static void look_at_causes(reviewer *r)
{
    const cw_model *model = r->model;
    bearer *bearers = review_take(r, model->causes_count, sizeof *bearers);
    if (bearers == NULL)
        return;
    for (uint32_t i = 1; i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        bearers[i - 1] = (bearer){cause->name, cause->span, cause->signs, hash_signs(model, cause->signs)};
        warn_silent(r, cause);
    }
    warn_alike(r, bearers, model->causes_count, "the cause");
}

static void look_at_units(reviewer *r)
{
    const cw_model *model = r->model;
    uint32_t count = 0;
    bearer *bearers = review_take(r, model->units_count, sizeof *bearers);
    if (bearers == NULL)
        return;
    for (uint32_t i = 1; i <= model->units_count; i++) {
        const cw_unit *unit = &model->units[i];
        if (!unit->version)
            continue;
        bearers[count++] = (bearer){unit->name, unit->span, unit->signs, hash_signs(model, unit->signs)};
        warn_silent_unit(r, unit);
    }
    warn_alike(r, bearers, count, "the unit");
}

void review_signs(reviewer *r)
{
    look_at_causes(r);
    look_at_units(r);
}
