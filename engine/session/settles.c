/* What a check would settle, in a sentence: which of the likely units, or causes, each of its answers would
 * point to. */
#include "session/settles.h"

#include <math.h>
#include <string.h>

enum { LIKELY = 6 }; /* units looked at */

static bool list_formulas(cw_settler *settler)
{
    const cw_model *model = settler->session->model;
    for (cw_rule_id id = 1; id <= model->rules_count; id++)
        settler->formula_count += model->rules[id].formula != NULL;
    settler->formulas = CW_NEW_ARRAY(settler->arena, cw_rule_id, settler->formula_count);
    if (settler->formulas == NULL)
        return false;
    size_t count = 0;
    for (cw_rule_id id = 1; id <= model->rules_count; id++) {
        if (model->rules[id].formula != NULL)
            settler->formulas[count++] = id;
    }
    return true;
}

cw_status cw_settler_new(const cw_session *session, cw_arena *arena, const cw_ranking *ranking,
                         cw_settler **out)
{
    cw_settler *settler = CW_NEW(arena, cw_settler);
    if (settler == NULL)
        return CW_NO_MEMORY;
    *settler =
        (cw_settler){.session = session,
                     .arena = arena,
                     .ranking = ranking,
                     .ids = CW_NEW_ARRAY(arena, uint32_t, ranking->count),
                     .atom_mark = CW_NEW_ARRAY(arena, uint32_t, (size_t)session->model->atoms_count + 1),
                     .fact_mark = CW_NEW_ARRAY(arena, uint32_t, (size_t)session->model->facts_count + 1),
                     .reached = CW_NEW_ARRAY(arena, cw_fact_id, (size_t)session->model->facts_count + 1)};
    *out = settler;
    bool done = settler->ids != NULL && settler->atom_mark != NULL && settler->fact_mark != NULL &&
                settler->reached != NULL;
    for (size_t i = 0; done && i < ranking->count; i++)
        settler->ids[i] = ranking->of_units ? cw_model_unit(session->model, ranking->lines[i].id)
                                            : cw_model_cause(session->model, ranking->lines[i].id);
    done = done && list_formulas(settler) && (ranking->of_units || cw_settler_list_shown(settler));
    return done ? CW_OK : CW_NO_MEMORY;
}

static void reach_fact(cw_settler *settler, cw_fact_id fact)
{
    if (fact == 0 || settler->fact_mark[fact] == settler->round)
        return;
    settler->fact_mark[fact] = settler->round;
    settler->reached[settler->reached_count++] = fact;
}

static void reach_atom(cw_settler *settler, cw_atom_id id, unsigned depth);

static void reach_rules(cw_settler *settler, cw_atom_id id, unsigned depth)
{
    const cw_model *model = settler->session->model;
    const cw_atom *atom = &model->atoms[id];
    for (uint32_t i = 0; i < atom->used_by.count; i++) {
        const cw_rule *rule = &model->rules[model->uses[atom->used_by.first + i]];
        if (rule->measure != 0)
            reach_fact(settler, rule->measure);
        if (rule->head != 0)
            reach_atom(settler, rule->head, depth);
    }
}

/* Steps are followed at once (they nest no deeper than the file), facts by the loop in reach. */
static void reach_atom(cw_settler *settler, cw_atom_id id, unsigned depth)
{
    const cw_atom *atom = &settler->session->model->atoms[id];
    if (settler->atom_mark[id] == settler->round)
        return;
    settler->atom_mark[id] = settler->round;
    if (atom->kind == CW_ATOM_STEP && depth < 64)
        reach_rules(settler, id, depth + 1);
    else
        reach_fact(settler, atom->fact);
}

/* Measured facts are read by formulas, which no atom shows. */
static void reach_formulas(cw_settler *settler, cw_fact_id fact)
{
    const cw_model *model = settler->session->model;
    for (size_t k = 0; k < settler->formula_count; k++) {
        const cw_rule *rule = &model->rules[settler->formulas[k]];
        const uint32_t *inputs;
        size_t count = cw_formula_inputs(rule->formula, &inputs);
        for (size_t i = 0; i < count; i++) {
            if (inputs[i] == fact)
                reach_fact(settler, rule->measure);
        }
    }
}

static void reach(cw_settler *settler, cw_fact_id start)
{
    const cw_model *model = settler->session->model;
    settler->round++;
    settler->reached_count = 0;
    reach_fact(settler, start);
    for (size_t i = 0; i < settler->reached_count; i++) {
        const cw_fact *fact = &model->facts[settler->reached[i]];
        if (fact->kind == CW_MEASURE)
            reach_formulas(settler, settler->reached[i]);
        for (uint32_t k = 0; k < fact->atoms.count; k++)
            reach_rules(settler, model->fact_atoms[fact->atoms.first + k], 0);
    }
}

/* Units that give the same answer, as far as one can expect. */
typedef struct group {
    uint32_t value; /* finite */
    double mean;    /* measured */
    const char *titles[SETTLES_NAMED];
    size_t count; /* all of them, named or not */
} group;

static void join(group *groups, size_t *count, group new_one, double apart, const char *title)
{
    for (size_t i = 0; i < *count; i++) {
        if (groups[i].value != new_one.value || fabs(groups[i].mean - new_one.mean) > apart)
            continue;
        if (groups[i].count < SETTLES_NAMED)
            groups[i].titles[groups[i].count] = title;
        groups[i].count++;
        return;
    }
    new_one.titles[0] = title;
    new_one.count = 1;
    groups[(*count)++] = new_one;
}

/* Signs stand in order of their facts. */
static const cw_sign *sign_on(const cw_model *model, cw_run signs, cw_fact_id fact)
{
    const cw_sign *list = model->signs + signs.first;
    uint32_t low = 0, high = signs.count;
    while (low < high) {
        const uint32_t middle = low + (high - low) / 2;
        if (list[middle].fact < fact)
            low = middle + 1;
        else
            high = middle;
    }
    return low < signs.count && list[low].fact == fact ? &list[low] : NULL;
}

static group expect(const cw_sign *sign, uint32_t values)
{
    if (sign->kind == CW_SIGN_NORMAL)
        return (group){.mean = sign->mean};
    uint32_t best = 0;
    for (uint32_t v = 1; v < values; v++)
        best = sign->chances[v] > sign->chances[best] ? v : best;
    return (group){.value = best};
}

/* The likely units, sorted by what each would show of this fact; returns the number of groups. */
static size_t group_units(const cw_settler *settler, cw_fact_id fact, group groups[LIKELY])
{
    const cw_model *model = settler->session->model;
    const cw_fact *about = &model->facts[fact];
    const cw_check *check = about->check != 0 ? &model->checks[about->check] : NULL;
    double apart = 0;
    if (about->kind == CW_MEASURE && check != NULL)
        apart = 2 * model->tools[check->tools.first].error;
    size_t count = 0;
    for (size_t i = 0; i < settler->ranking->count && i < LIKELY; i++) {
        const cw_line *line = &settler->ranking->lines[i];
        if (line->probability * 20 < settler->ranking->lines[0].probability)
            break;
        const cw_sign *sign = sign_on(model, model->units[settler->ids[i]].signs, fact);
        if (sign != NULL && sign->kind != CW_SIGN_PATTERNS)
            join(groups, &count, expect(sign, about->values.count), apart, line->title);
    }
    return count;
}

static const char *say_group(const cw_settler *settler, cw_fact_id fact, const group *one, bool first)
{
    const cw_fact *about = &settler->session->model->facts[fact];
    const char *shows = about->kind == CW_MEASURE ? cw_say_quantity(settler->arena, one->mean, 0, about->unit)
                                                  : cw_say_value(settler->session->model, fact, one->value);
    const char *titles =
        cw_say_list(settler->arena, one->titles, one->count < SETTLES_NAMED ? one->count : SETTLES_NAMED,
                    one->count > SETTLES_NAMED ? "," : "or");
    if (shows == NULL || titles == NULL)
        return NULL;
    const char *words = first ? "would point to" : "to";
    const char *others = one->count > SETTLES_NAMED ? " and others" : "";
    if (about->kind == CW_MEASURE)
        return cw_arena_format(settler->arena, "%s %s %s %s%s", first ? "About" : "about", shows, words,
                               titles, others);
    return cw_arena_format(settler->arena, "\"%s\" %s %s%s", shows, words, titles, others);
}

static const char *say_units(cw_settler *settler)
{
    bool stamped = false;
    for (size_t i = 0; i < settler->reached_count; i++) {
        cw_fact_id fact = settler->reached[i];
        group groups[LIKELY];
        size_t count = group_units(settler, fact, groups);
        stamped = stamped || settler->session->model->facts[fact].kind == CW_STAMPED;
        if (count < 2)
            continue;
        const char *parts[SETTLES_NAMED];
        size_t said = count < SETTLES_NAMED ? count : SETTLES_NAMED;
        for (size_t k = 0; k < said; k++) {
            parts[k] = say_group(settler, fact, &groups[k], k == 0);
            if (parts[k] == NULL)
                return NULL;
        }
        const char *list = cw_say_list(settler->arena, parts, said, "and");
        return list != NULL ? cw_arena_format(settler->arena, "%s.", list) : NULL;
    }
    return stamped ? "A number that can be read may name the unit outright."
                   : "It can set one of them apart from the rest.";
}

/* By what makes it likelier or rules it out. */
static bool touches_circumstances(const cw_settler *settler, cw_cause_id id)
{
    const cw_model *model = settler->session->model;
    const cw_cause *cause = &model->causes[id];
    for (uint32_t i = 0; i < cause->shifts.count; i++) {
        cw_atom_id atom = model->shifts[cause->shifts.first + i].atom;
        if (settler->atom_mark[atom] == settler->round ||
            settler->fact_mark[model->atoms[atom].fact] == settler->round)
            return true;
    }
    cw_atom_id out = cause->ruled_out;
    return out != 0 && (settler->atom_mark[out] == settler->round ||
                        settler->fact_mark[model->atoms[out].fact] == settler->round);
}

static const char *say_claim(const cw_settler *settler, const settles_claim *one, cw_fact_id asked,
                             bool first)
{
    const cw_model *model = settler->session->model;
    const char *title = cw_say_small(settler->arena, one->line->title);
    const char *chance = cw_say_chance(settler->arena, one->line->probability);
    const char *value = cw_say_value(model, one->fact, one->value);
    const char *fact = one->fact == asked ? "" : cw_say_title(model, one->fact);
    if (!first)
        fact = cw_say_small(settler->arena, fact);
    if (title == NULL || chance == NULL || fact == NULL)
        return NULL;
    return cw_arena_format(settler->arena, "%s%s\"%s\" %sfor %s (now %s)", fact, fact[0] != '\0' ? " " : "",
                           value, first ? "would speak " : "", title, chance);
}

/* Notes where signs on a fact begin; true when one is on what the check touches. */
static bool look_at_line(cw_settler *settler, size_t at)
{
    const cw_model *model = settler->session->model;
    const cw_run signs = model->causes[settler->ids[at]].signs;
    bool touches = false;
    for (uint32_t k = signs.first; k < signs.first + signs.count; k++) {
        const cw_fact_id fact = model->signs[k].fact;
        touches |= settler->fact_mark[fact] == settler->round;
        if (settler->first_line[fact] == 0)
            settler->first_line[fact] = (uint32_t)at + 1;
    }
    return touches;
}

/* The first cause with a sign on what it touches, or with such circumstances; past the end: there is none.
 * What has been looked at for one check need not be for the next. */
static size_t first_touched(cw_settler *settler)
{
    size_t first = settler->ranking->count;
    for (size_t k = 0; k < settler->reached_count; k++) {
        const uint32_t line = settler->first_line[settler->reached[k]];
        if (line > 0 && line - 1 < first)
            first = line - 1;
    }
    while (first == settler->ranking->count && settler->lines_looked_at < settler->ranking->count) {
        const size_t at = settler->lines_looked_at++;
        first = look_at_line(settler, at) ? at : first;
    }
    for (size_t at = 0; at < first; at++)
        if (touches_circumstances(settler, settler->ids[at]))
            return at;
    return first;
}

/* Of the causes it touches, where nothing it shows speaks for one: circumstances. */
static const char *say_touched(cw_settler *settler)
{
    const size_t at = first_touched(settler);
    if (at == settler->ranking->count)
        return "It sets the stage for what is asked next.";
    const cw_line *line = &settler->ranking->lines[at];
    const char *title = cw_say_small(settler->arena, line->title);
    const char *chance = cw_say_chance(settler->arena, line->probability);
    return title != NULL && chance != NULL
               ? cw_arena_format(settler->arena, "It makes this more or less likely: %s (now %s).", title,
                                 chance)
               : NULL;
}

/* A circumstance shows nothing by itself; readings are held against it. NULL in *out: nothing is. */
static bool say_limits(cw_settler *settler, const char **out)
{
    const cw_model *model = settler->session->model;
    const char *titles[SETTLES_NAMED];
    size_t count = 0;
    *out = NULL;
    for (size_t k = 1; k < settler->reached_count && count < SETTLES_NAMED; k++) {
        if (model->facts[settler->reached[k]].cause_signs == 0)
            continue;
        titles[count] = cw_say_small(settler->arena, cw_say_title(model, settler->reached[k]));
        if (titles[count++] == NULL)
            return false;
    }
    if (count == 0)
        return true;
    const char *list = cw_say_list(settler->arena, titles, count, "and");
    *out = list != NULL ? cw_arena_format(settler->arena, "What counts as right depends on it: %s.", list)
                        : NULL;
    return *out != NULL;
}

static const char *say_causes(cw_settler *settler, cw_fact_id asked)
{
    settles_claim claims[SETTLES_NAMED];
    size_t count = 0;
    const char *limits = NULL;
    if (settler->session->model->facts[asked].context && (!say_limits(settler, &limits) || limits != NULL))
        return limits;
    /* What the answer itself shows comes first; else what would be concluded from it. */
    cw_settler_claim(settler, asked, claims, &count);
    for (size_t k = 1; count == 0 && k < settler->reached_count; k++)
        cw_settler_claim(settler, settler->reached[k], claims, &count);
    if (count == 0)
        return say_touched(settler);
    const char *parts[SETTLES_NAMED];
    for (size_t i = 0; i < count; i++) {
        parts[i] = say_claim(settler, &claims[i], asked, i == 0);
        if (parts[i] == NULL)
            return NULL;
    }
    const char *list = cw_say_list(settler->arena, parts, count, "and");
    return list != NULL ? cw_arena_format(settler->arena, "%s.", list) : NULL;
}

const char *cw_settler_say(cw_settler *settler, cw_check_id check)
{
    cw_fact_id fact = settler->session->model->checks[check].fact;
    reach(settler, fact);
    return settler->ranking->of_units ? say_units(settler) : say_causes(settler, fact);
}
