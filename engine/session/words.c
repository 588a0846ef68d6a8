/* How values, quantities and chances are said to people. */
#include "session/inside.h"
#include <ctype.h>
#include <math.h>
#include <string.h>

cw_text cw_text_in(cw_arena *arena)
{
    return CW_TEXT_INIT(cw_arena_pieces(arena));
}

const char *cw_text_done(const cw_text *text)
{
    return text->status == CW_OK ? cw_text_get(text) : NULL;
}

const char *cw_say_value(const cw_model *model, cw_fact_id fact, uint32_t value)
{
    const cw_fact *about = &model->facts[fact];
    return value < about->values.count ? model->values[about->values.first + value].title : "";
}

const char *cw_say_title(const cw_model *model, cw_fact_id fact)
{
    const cw_fact *about = &model->facts[fact];
    return about->check != 0 ? model->checks[about->check].title : about->title;
}

const char *cw_say_quantity(cw_arena *arena, double base, double error, const cw_unit_info *unit)
{
    cw_text text = cw_text_in(arena);
    cw_quantity_show(&text, base, error, unit);
    return cw_text_done(&text);
}

const char *cw_print_quantity(cw_arena *arena, double base, const cw_unit_info *unit)
{
    cw_text text = cw_text_in(arena);
    cw_quantity_print(&text, base, unit);
    return cw_text_done(&text);
}

/* The value of a finite fact that holds, else one that may hold. */
static const char *finite_known(const cw_session *session, cw_fact_id fact)
{
    const cw_run *values = &session->model->facts[fact].values;
    uint32_t value;
    if (cw_chain_value(session->chain, fact, &value) == CW_KNOWN)
        return cw_say_value(session->model, fact, value);
    for (uint32_t v = 0; v < values->count; v++) {
        cw_atom_id atom = cw_fact_value_atom(session->model, fact, v);
        if (atom != 0 && cw_chain_truth(session->chain, atom) != CW_NO)
            return cw_say_value(session->model, fact, v);
    }
    return "";
}

const char *cw_say_unit(const cw_model *model, cw_unit_id unit, bool for_people)
{
    if (unit == CW_NOT_LISTED)
        return for_people ? "not listed" : CW_NOT_LISTED_NAME;
    return for_people ? model->units[unit].title : model->units[unit].name;
}

const char *cw_say_known(const cw_session *session, cw_arena *arena, cw_fact_id fact)
{
    const cw_fact *about = &session->model->facts[fact];
    if (about->kind == CW_MEASURE) {
        double number;
        double error;
        if (cw_chain_number(session->chain, fact, &number, &error) == CW_UNKNOWN)
            return "";
        return cw_say_quantity(arena, number, error, about->unit);
    }
    if (about->kind == CW_STAMPED) {
        const char *text = cw_chain_text(session->chain, fact);
        return text != NULL ? cw_arena_text(arena, text, strlen(text)) : "";
    }
    if (about->kind == CW_WHICH_UNIT) {
        const cw_answer *answer = cw_chain_answered(session->chain, fact);
        return answer != NULL && !answer->cant_tell ? cw_say_unit(session->model, answer->value, true) : "";
    }
    return finite_known(session, fact);
}

static const char *told(const cw_session *session, cw_arena *arena, cw_fact_id fact, bool for_people)
{
    const cw_fact *about = &session->model->facts[fact];
    const cw_answer *answer = cw_chain_answered(session->chain, fact);
    if (answer == NULL)
        return "";
    if (answer->cant_tell)
        return "can't tell";
    if (about->kind == CW_MEASURE)
        return for_people ? cw_say_quantity(arena, answer->number, answer->error, about->unit)
                          : cw_print_quantity(arena, answer->number, about->unit);
    if (about->kind == CW_STAMPED)
        return answer->text != NULL ? cw_arena_text(arena, answer->text, strlen(answer->text)) : "";
    if (about->kind == CW_WHICH_UNIT)
        return cw_say_unit(session->model, answer->value, for_people);
    const cw_value *value = &session->model->values[about->values.first + answer->value];
    return for_people ? value->title : value->name;
}

const char *cw_print_told(const cw_session *session, cw_arena *arena, cw_fact_id fact)
{
    return told(session, arena, fact, false);
}

const char *cw_say_told(const cw_session *session, cw_arena *arena, cw_fact_id fact)
{
    return told(session, arena, fact, true);
}

const char *cw_say_fact(const cw_session *session, cw_arena *arena, cw_fact_id fact)
{
    const char *known = cw_say_known(session, arena, fact);
    return known != NULL ? cw_arena_format(arena, "%s: %s", cw_say_title(session->model, fact), known) : NULL;
}

const char *cw_say_atom(const cw_session *session, cw_arena *arena, cw_atom_id atom)
{
    const cw_atom *about = &session->model->atoms[atom];
    if (about->kind == CW_ATOM_VALUE)
        return cw_arena_format(arena, "%s: %s", cw_say_title(session->model, about->fact),
                               cw_say_value(session->model, about->fact, about->value));
    if (about->fact != 0)
        return cw_say_fact(session, arena, about->fact);
    if (about->kind == CW_ATOM_CAUTION)
        return session->model->cautions[about->value].say;
    return cw_say_test(session, arena, atom);
}

static const char *say_band(const cw_session *session, cw_arena *arena, const cw_atom *atom)
{
    const cw_fact *fact = &session->model->facts[atom->fact];
    const char *title = cw_say_title(session->model, atom->fact);
    bool low = atom->band.low > -INFINITY;
    bool high = atom->band.high < INFINITY;
    const char *from = cw_print_quantity(arena, low ? atom->band.low : 0, fact->unit);
    const char *to = cw_print_quantity(arena, high ? atom->band.high : 0, fact->unit);
    if (from == NULL || to == NULL)
        return NULL;
    if (low && high)
        return cw_arena_format(arena, "%s from %s to %s", title, from, to);
    if (low)
        return cw_arena_format(arena, "%s %s %s", title, atom->band.low_open ? "above" : "at least", from);
    return cw_arena_format(arena, "%s %s %s", title, atom->band.high_open ? "below" : "at most", to);
}

/* What an inner step asks for: the tests at its leaves, joined. */
static void add_leaves(const cw_session *session, cw_arena *arena, cw_atom_id atom, cw_text *out)
{
    const cw_model *model = session->model;
    const cw_atom *about = &model->atoms[atom];
    if (about->kind != CW_ATOM_STEP) {
        const char *test = cw_say_test(session, arena, atom);
        if (test == NULL)
            out->status = CW_NO_MEMORY;
        else
            cw_text_format(out, "%s%s", out->size > 0 ? ", " : "", test);
        return;
    }
    for (uint32_t i = 0; i < about->concluded_by.count && out->size < 200; i++) {
        const cw_rule *rule = &model->rules[model->concludes[about->concluded_by.first + i]];
        for (uint32_t k = 0; k < rule->premises.count && out->size < 200; k++)
            add_leaves(session, arena, model->premises[rule->premises.first + k].atom, out);
    }
}

const char *cw_say_test(const cw_session *session, cw_arena *arena, cw_atom_id atom)
{
    const cw_atom *about = &session->model->atoms[atom];
    switch (about->kind) {
    case CW_ATOM_VALUE:
        return cw_say_atom(session, arena, atom);
    case CW_ATOM_BAND:
        return say_band(session, arena, about);
    case CW_ATOM_LIKE:
        return cw_arena_format(arena, "%s of that pattern", cw_say_title(session->model, about->fact));
    case CW_ATOM_UNIT:
        return cw_arena_format(arena, "%s: %s", cw_say_title(session->model, about->fact),
                               cw_say_unit(session->model, about->value, true));
    case CW_ATOM_DATUM:
    case CW_ATOM_KNOWN:
        return cw_arena_format(arena, "%s", cw_say_title(session->model, about->fact));
    case CW_ATOM_CAUTION:
        return session->model->cautions[about->value].say;
    case CW_ATOM_STEP:
        break;
    }
    cw_text text = cw_text_in(arena);
    add_leaves(session, arena, atom, &text);
    return cw_text_done(&text);
}

const char *cw_say_chance(cw_arena *arena, double chance)
{
    if (chance > 0 && chance <= 0.005) /* a half would be rounded to the even nought */
        return "under 1 %";
    if (chance < 1 && chance >= 0.995)
        return "over 99 %";
    return cw_arena_format(arena, "%.0f %%", chance * 100);
}

const char *cw_say_small(cw_arena *arena, const char *title)
{
    char *copy = cw_arena_text(arena, title, strlen(title));
    if (copy != NULL && isupper((unsigned char)copy[0]) &&
        (islower((unsigned char)copy[1]) || copy[1] == ' '))
        copy[0] = (char)tolower((unsigned char)copy[0]);
    return copy;
}

const char *cw_say_list(cw_arena *arena, const char *const *items, size_t count, const char *last)
{
    cw_text text = cw_text_in(arena);
    for (size_t i = 0; i < count; i++) {
        if (i > 0 && i + 1 == count)
            cw_text_format(&text, *last == ',' ? "%s " : " %s ", last);
        else if (i > 0)
            cw_text_add(&text, ", ");
        cw_text_add(&text, items[i]);
    }
    return cw_text_done(&text);
}
