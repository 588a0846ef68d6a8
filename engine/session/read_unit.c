/* Typed words to the unit in hand: a name or title of any unit of the tree, the beginning of just one, or
 * "not listed". As with choices, what is only near one is offered, never taken. */
#include "base/nearest.h"
#include "session/inside.h"
#include <string.h>

enum { FEW = 6 }; /* units named in a message */

static bool says_not_listed(const char *typed)
{
    static const char *const words[] = {"not listed",           "unlisted",     "not in the list",
                                        "not in the catalogue", "none of them", "none of these"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(typed, words[i]) == 0)
            return true;
    return false;
}

static cw_meeting meet_unit(const cw_unit *unit, const char *typed)
{
    cw_meeting by_name = cw_read_meet(typed, unit->name, MEETS_NAME);
    cw_meeting by_title = cw_read_meet(typed, unit->title, MEETS_WORD);
    return by_name < by_title ? by_name : by_title;
}

/* How many units are met best, and the first of them. */
static size_t meet_all(const cw_model *model, const char *typed, cw_meeting *best, cw_unit_id *first)
{
    size_t hits = 0;
    *best = MEETS_NOT;
    *first = CW_NOT_LISTED;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        cw_meeting found = meet_unit(&model->units[unit], typed);
        if (found < *best) {
            *best = found;
            *first = unit;
            hits = 0;
        }
        hits += found == *best;
    }
    return hits;
}

static cw_status several(cw_reader *reader, const char *typed, cw_meeting level, cw_unit_id first,
                         size_t hits)
{
    const cw_model *model = reader->pack->model;
    cw_text names = CW_TEXT_INIT(&reader->pack->allocator);
    size_t named = 0;
    for (cw_unit_id unit = first; unit <= model->units_count && named < FEW; unit++)
        if (meet_unit(&model->units[unit], typed) == level)
            cw_text_format(&names, "%s'%s' (%s)", named++ > 0 ? ", " : "", model->units[unit].title,
                           model->units[unit].name);
    if (hits > named)
        cw_text_format(&names, " or one of %zu more", hits - named);
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

static cw_status offer_unit(cw_reader *reader, cw_unit_id unit)
{
    const cw_model *model = reader->pack->model;
    return cw_reader_offer(reader, model->units[unit].name, model->units[unit].title);
}

/* Offers what is spelt nearest; where nothing is, what was met in part (CW_NOT_LISTED: nothing was). */
static cw_status nearest(cw_reader *reader, const char *typed, cw_unit_id in_part)
{
    const cw_model *model = reader->pack->model;
    cw_nearest near = cw_nearest_start(typed);
    cw_unit_id best = in_part;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        const char *before = near.best;
        cw_nearest_try(&near, model->units[unit].name);
        cw_nearest_try(&near, model->units[unit].title);
        if (near.best != before)
            best = unit;
    }
    const char *before = near.best;
    cw_nearest_try(&near, "not listed");
    if (near.best != before)
        return cw_reader_offer(reader, CW_NOT_LISTED_NAME, "not listed");
    if (best != CW_NOT_LISTED)
        return offer_unit(reader, best);
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_NOT_CHOICE, reader->span,
                                 "no unit of the packs is called '%s'", reader->text);
    cw_diag_help(reader->diags, diag, "a family, frame or version by its name or title, or: not listed");
    return CW_BAD_INPUT;
}

cw_status cw_read_unit(cw_reader *reader, const char *typed)
{
    reader->answer->value = cw_model_unit(reader->pack->model, reader->text);
    if (reader->answer->value != CW_NOT_LISTED || says_not_listed(typed))
        return CW_OK;
    cw_meeting best = MEETS_NOT;
    cw_unit_id unit = CW_NOT_LISTED;
    size_t hits = typed[0] == '\0' ? 0 : meet_all(reader->pack->model, typed, &best, &unit);
    if (hits == 0 || best == MEETS_NOT)
        return nearest(reader, typed, CW_NOT_LISTED);
    if (hits > 1)
        return several(reader, typed, best, unit, hits);
    if (best == MEETS_PART)
        return nearest(reader, typed, unit);
    reader->answer->value = unit;
    return CW_OK;
}
