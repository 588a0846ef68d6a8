/* What is well-formed and makes no sense: errors as wide as what is measured, people's words that any words
 * would be, two things of one title. */
#include "review/inside.h"

#include "base/atom.h"
#include "base/pattern.h"

#include <string.h>

static double width_of(const reviewer *r, cw_fact_id fact)
{
    const cw_check *check = &r->model->checks[r->model->facts[fact].check];
    return check->range.high - check->range.low;
}

/* Two standard deviations to each side hold 95 of 100: as wide as the range, they tell nothing. */
static bool fills(const reviewer *r, cw_fact_id fact, double sd)
{
    return 4 * sd >= width_of(r, fact);
}

static void look_at_errors(reviewer *r)
{
    const cw_model *model = r->model;
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        const cw_check *check = &model->checks[i];
        const cw_fact *fact = &model->facts[check->fact];
        for (uint32_t k = 0; fact->kind == CW_MEASURE && check->span.source != 0 && k < check->tools.count;
             k++) {
            double error = model->tools[check->tools.first + k].error;
            if (!fills(r, check->fact, error))
                continue;
            cw_diag *diag = review_warn(r, CW_DIAG_TOO_WIDE, check->span,
                                        "the reading error of '%s', %s, is as wide as its range, %s to %s",
                                        check->name, review_quantity(r, error, fact->unit),
                                        review_quantity(r, check->range.low, fact->unit),
                                        review_quantity(r, check->range.high, fact->unit));
            advise(r, diag,
                   "no reading would tell anything: look at the units of 'reading_error' and 'range'");
        }
    }
}

static void look_at_tolerances(reviewer *r)
{
    const cw_model *model = r->model;
    for (uint32_t i = 1; i <= model->units_count; i++) {
        cw_run signs = model->units[i].signs;
        for (uint32_t k = 0; k < signs.count; k++) {
            const cw_sign *sign = &model->signs[signs.first + k];
            const cw_fact *fact = &model->facts[sign->fact];
            if (sign->kind != CW_SIGN_NORMAL || fact->check == 0 || !fills(r, sign->fact, sign->sd))
                continue;
            cw_diag *diag = review_warn(r, CW_DIAG_TOO_WIDE, sign->span,
                                        "the tolerance of '%s', +/- %s, is as wide as its range", fact->name,
                                        review_quantity(r, 2 * sign->sd, fact->unit));
            advise(r, diag,
                   "every unit would show it: look at its unit, and say how far good ones of this kind differ");
        }
    }
}

static bool matches(reviewer *r, uint32_t pattern, const char *text)
{
    bool matched = false;
    if (pattern != 0)
        r->no_memory |= cw_pattern_match(r->model->patterns[pattern], text, strlen(text), &matched, NULL,
                                         NULL) == CW_NO_MEMORY;
    return matched;
}

/* No complaint has these words and no other. */
static void look_at_words(reviewer *r)
{
    for (uint32_t i = 1; i <= r->model->hints_count; i++) {
        const cw_hint *hint = &r->model->hints[i];
        if (!matches(r, hint->like, "") || !matches(r, hint->like, "0"))
            continue;
        cw_diag *diag = review_warn(r, CW_DIAG_EVERY_TEXT, hint->span,
                                    "whatever people say, '%s' finds its words in it", hint->name);
        advise(r, diag, "name in 'like' the words that it stands for, as '\\bsqueal'");
    }
}

typedef struct titled {
    const char *what, *name, *title;
    cw_span span;
} titled;

/* Numbers of titles, and who had them first. */
typedef struct titles {
    cw_names *names;
    cw_vec first; /* titled, by number - 1 */
} titles;

static void look_at_title(reviewer *r, titles *all, titled one)
{
    if (one.span.source == 0)
        return;
    uint32_t number = cw_names_add(all->names, one.title, strlen(one.title));
    if (number > all->first.count) {
        titled *slot = cw_vec_add(&all->first);
        r->no_memory |= slot == NULL;
        if (slot != NULL)
            *slot = one;
        return;
    }
    r->no_memory |= number == 0;
    if (number == 0)
        return;
    const titled *first = CW_VEC_AT(&all->first, titled, number - 1);
    cw_diag *diag = review_warn(r, CW_DIAG_SAME_TITLE, one.span, "the %s '%s' is called '%s', as '%s' is",
                                one.what, one.name, one.title, first->name);
    if (diag != NULL)
        cw_diag_second(r->diags, diag, first->span, "the other one");
    advise(r, diag, "people read the title alone: give each one of its own");
}

static void look_at_titles(reviewer *r, bool units)
{
    const cw_model *model = r->model;
    titles all = {cw_names_new(r->arena), CW_VEC_INIT(r->allocator, titled)};
    r->no_memory |= all.names == NULL;
    for (uint32_t i = 1; units && i <= model->units_count && !r->no_memory; i++)
        if (model->units[i].version)
            look_at_title(
                r, &all, (titled){"unit", model->units[i].name, model->units[i].title, model->units[i].span});
    for (uint32_t i = 1; !units && i <= model->causes_count && !r->no_memory; i++)
        look_at_title(
            r, &all, (titled){"cause", model->causes[i].name, model->causes[i].title, model->causes[i].span});
    cw_vec_dispose(&all.first);
}

void review_sense(reviewer *r)
{
    look_at_errors(r);
    look_at_tolerances(r);
    look_at_words(r);
    look_at_titles(r, true);
    look_at_titles(r, false);
}
