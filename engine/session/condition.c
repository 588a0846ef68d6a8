/* A condition in words, as a person would say it: "Place of the regulator: inside the unit or a separate
 * box", "A and no sign of B". */
#include "session/inside.h"

enum { DEPTH = 6, LENGTH = 300 }; /* what is nested deeper or longer is cut short */

typedef struct saying {
    const cw_session *session;
    const cw_model *model;
    cw_arena *arena;
    cw_text text;
} saying;

static void say(saying *s, cw_atom_id atom, int depth);

static void add(saying *s, const char *words)
{
    if (words == NULL)
        s->text.status = CW_NO_MEMORY;
    else
        cw_text_add(&s->text, words);
}

static const cw_rule *way_at(const saying *s, cw_run ways, uint32_t i)
{
    return &s->model->rules[s->model->concludes[ways.first + i]];
}

/* How many ways it can hold: rules, or the premises of one rule of which any is enough. */
static uint32_t count_ways(const saying *s, cw_run ways)
{
    const cw_rule *only = way_at(s, ways, 0);
    return ways.count == 1 && only->need == 1 ? only->premises.count : ways.count;
}

/* The premise that is the whole of way i; NULL where it takes several. */
static const cw_premise *single(const saying *s, cw_run ways, uint32_t i)
{
    const cw_rule *rule = way_at(s, ways, ways.count == 1 ? 0 : i);
    bool any = ways.count == 1 && rule->need == 1;
    if (any || rule->premises.count == 1)
        return &s->model->premises[rule->premises.first + (any ? i : 0)];
    return NULL;
}

/* Each way is one value of one and the same fact, or one unit. */
static bool are_values_of_one(const saying *s, cw_run ways, uint32_t count)
{
    const cw_atom *first = NULL;
    for (uint32_t i = 0; i < count; i++) {
        const cw_premise *premise = single(s, ways, i);
        const cw_atom *atom = premise != NULL ? &s->model->atoms[premise->atom] : NULL;
        if (atom == NULL || premise->absent || (atom->kind != CW_ATOM_VALUE && atom->kind != CW_ATOM_UNIT) ||
            (first != NULL && (first->fact != atom->fact || first->kind != atom->kind)))
            return false;
        first = atom;
    }
    return count > 1;
}

static void say_premise(saying *s, const cw_premise *premise, int depth)
{
    if (premise->absent)
        cw_text_add(&s->text, "no sign of ");
    say(s, premise->atom, depth);
}

/* A rule that wants more than one of its premises. */
static void say_rule(saying *s, const cw_rule *rule, bool inner, int depth)
{
    bool all = rule->need == rule->premises.count;
    cw_text_add(&s->text, inner ? "(" : "");
    if (!all)
        cw_text_format(&s->text, "at least %u of: ", rule->need);
    for (uint32_t i = 0; i < rule->premises.count && s->text.size < LENGTH; i++) {
        cw_text_add(&s->text, i == 0 ? "" : all ? " and " : "; ");
        say_premise(s, &s->model->premises[rule->premises.first + i], depth + 1);
    }
    cw_text_add(&s->text, inner ? ")" : "");
}

static void say_values(saying *s, cw_run ways, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++) {
        cw_atom_id id = single(s, ways, i)->atom;
        const cw_atom *atom = &s->model->atoms[id];
        if (i == 0)
            add(s, cw_say_test(s->session, s->arena, id));
        else
            cw_text_format(&s->text, "%s%s", i + 1 == count ? " or " : ", ",
                           atom->kind == CW_ATOM_UNIT ? cw_say_unit(s->model, atom->value, true)
                                                      : cw_say_value(s->model, atom->fact, atom->value));
    }
}

static void say(saying *s, cw_atom_id atom, int depth)
{
    cw_run ways = s->model->atoms[atom].concluded_by;
    if (s->model->atoms[atom].kind != CW_ATOM_STEP) {
        add(s, cw_say_test(s->session, s->arena, atom));
        return;
    }
    if (depth == DEPTH || s->text.size >= LENGTH || ways.count == 0) {
        cw_text_add(&s->text, "...");
        return;
    }
    uint32_t count = count_ways(s, ways);
    if (are_values_of_one(s, ways, count)) {
        say_values(s, ways, count);
        return;
    }
    bool inner = depth > 0 && count > 1;
    cw_text_add(&s->text, inner ? "(" : "");
    for (uint32_t i = 0; i < count && s->text.size < LENGTH; i++) {
        const cw_premise *premise = single(s, ways, i);
        cw_text_add(&s->text, i == 0 ? "" : " or ");
        if (premise != NULL)
            say_premise(s, premise, depth + 1);
        else
            say_rule(s, way_at(s, ways, i), depth > 0 || count > 1, depth);
    }
    cw_text_add(&s->text, inner ? ")" : "");
}

const char *cw_say_condition(const cw_session *session, cw_arena *arena, cw_atom_id atom)
{
    saying s = {session, session->model, arena, cw_text_in(arena)};
    say(&s, atom, 0);
    return cw_text_done(&s.text);
}
