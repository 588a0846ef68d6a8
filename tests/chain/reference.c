/* The slow obvious reference: what must hold in a world, given the answers. */
#include "chain/world.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

/* For each pattern, which of the texts it matches: read off by hand. */
static const bool matches[4][6] = {
    {true, true, false, false, false, false},
    {true, true, true, false, false, false},
    {false, false, true, true, false, false},
    {false, true, false, false, false, false},
};

static bool finite_kind(cw_kind kind)
{
    return kind != CW_MEASURE && kind != CW_STAMPED;
}

#define FAR 1e6 /* the distance at which doubt begins */

typedef struct reference {
    const world *w;
    const world_answers *answers;
    world_truth *out;
} reference;

static cw_truth truth_at(double distance)
{
    return distance < FAR ? CW_YES : distance < INFINITY ? CW_DOUBTFUL : CW_NO;
}

static double distance_for(cw_truth truth)
{
    return truth == CW_YES ? 0 : truth == CW_DOUBTFUL ? FAR : INFINITY;
}

static const cw_answer *answer_to(const reference *ref, uint32_t fact)
{
    const cw_answer *answer = &ref->answers->of[fact];
    return answer->fact == 0 || answer->cant_tell ? NULL : answer;
}

static cw_truth inside(cw_interval band, double x, double error)
{
    cw_truth low = x > band.low || (x == band.low && !band.low_open) ? CW_YES : CW_NO;
    cw_truth high = x < band.high || (x == band.high && !band.high_open) ? CW_YES : CW_NO;
    if (isfinite(band.low) && fabs(x - band.low) < error)
        low = CW_DOUBTFUL;
    if (isfinite(band.high) && fabs(x - band.high) < error)
        high = CW_DOUBTFUL;
    return low < high ? low : high;
}

static uint32_t text_number(const char *text)
{
    for (uint32_t i = 0; i < 6; i++)
        if (strcmp(world_texts[i], text) == 0)
            return i;
    cr_assert_fail("unknown text");
    return 0;
}

/* The distance of a test on its fact, by the fact's answer, values and sources. */
static double test_distance(const reference *ref, uint32_t a)
{
    const world_atom *atom = &ref->w->atoms[a];
    const cw_answer *answer = answer_to(ref, atom->fact);
    double best = INFINITY;
    if (atom->kind == CW_ATOM_VALUE)
        return answer != NULL && answer->value == atom->value ? 0 : INFINITY;
    if (atom->kind == CW_ATOM_LIKE)
        return answer != NULL && matches[atom->value][text_number(answer->text)] ? 0 : INFINITY;
    if (atom->kind == CW_ATOM_KNOWN && answer != NULL)
        return 0;
    if (atom->kind == CW_ATOM_KNOWN && finite_kind(ref->w->facts[atom->fact].kind)) {
        for (uint32_t i = 0; i < ref->w->atom_count; i++)
            if (ref->w->atoms[i].kind == CW_ATOM_VALUE && ref->w->atoms[i].fact == atom->fact)
                best = fmin(best, ref->out->distance[i]);
        return best;
    }
    for (uint32_t s = 0; s < ref->out->source_count[atom->fact]; s++) {
        const world_source *source = &ref->out->sources[atom->fact][s];
        double band =
            atom->kind == CW_ATOM_KNOWN ? 0 : distance_for(inside(atom->band, source->number, source->error));
        best = fmin(best, fmax(band, source->distance));
    }
    return best;
}

static double premise_distance(const reference *ref, const world_premise *premise)
{
    double distance = ref->out->distance[premise->atom];
    return premise->absent ? distance_for((cw_truth)(CW_YES - truth_at(distance))) : distance;
}

/* The need-th smallest of the premises, one more. */
static double rule_distance(const reference *ref, const world_rule *rule)
{
    double all[MAX_PREMISES];
    for (uint32_t i = 0; i < rule->count; i++) {
        double distance = premise_distance(ref, &rule->premises[i]);
        uint32_t at = i;
        for (; at > 0 && all[at - 1] > distance; at--)
            all[at] = all[at - 1];
        all[at] = distance;
    }
    return rule->need == 0 ? 1 : all[rule->need - 1] + 1;
}

static bool input(const reference *ref, uint32_t fact, double *number, double *error, double *distance)
{
    world_truth *out = ref->out;
    if (out->known[fact] != CW_KNOWN && out->known[fact] != CW_DOUBTFUL_FACT)
        return false;
    *error = 0;
    if (ref->w->facts[fact].kind == CW_MEASURE) {
        *number = out->number[fact];
        *error = out->error[fact];
        *distance = INFINITY;
        for (uint32_t s = 0; s < out->source_count[fact]; s++)
            *distance = fmin(*distance, out->sources[fact][s].distance);
        return true;
    }
    *number = out->value[fact] + 1;
    *distance = answer_to(ref, fact) != NULL ? 0 : INFINITY;
    for (uint32_t a = 0; a < ref->w->atom_count; a++) {
        const world_atom *atom = &ref->w->atoms[a];
        if (atom->kind != CW_ATOM_VALUE || atom->fact != fact || out->atoms[a] == CW_NO)
            continue;
        if (atom->value == out->value[fact])
            *distance = fmin(*distance, out->distance[a]);
        else if (out->known[fact] == CW_DOUBTFUL_FACT)
            return false; /* it may be one or the other */
    }
    return true;
}

static double two_inputs(world_formula form, double x, double y)
{
    return form == LARGER ? fmax(x, y) : x / y;
}

/* How far the outcome moves when an input moves by its error; to one side where the other is infinite. */
static double half_way(double up, double centre, double down)
{
    if (isfinite(up) && isfinite(down))
        return (up - down) / 2;
    return isfinite(up) ? up - centre : centre - down;
}

/* The rule's source, if it can be worked out at all. */
static bool source_of(const reference *ref, uint32_t r, world_source *out)
{
    const world_rule *rule = &ref->w->rules[r];
    double x[MAX_INPUTS], e[MAX_INPUTS], d[MAX_INPUTS] = {0, 0};
    uint32_t used = rule->formula == TWICE ? 1 : 2;
    for (uint32_t i = 0; i < used; i++)
        if (!input(ref, rule->inputs[i], &x[i], &e[i], &d[i]))
            return false;
    bool same = used == 2 && rule->inputs[0] == rule->inputs[1];
    *out = (world_source){.rule = r + 1};
    switch (rule->formula) {
    case ADD:
        out->number = x[0] + x[1];
        out->error = same ? 2 * e[0] : hypot(e[0], e[1]);
        break;
    case SUBTRACT:
        out->number = x[0] - x[1];
        out->error = same ? 0 : hypot(e[0], e[1]);
        break;
    case TWICE:
        out->number = 2 * x[0];
        out->error = 2 * e[0];
        break;
    case LARGER:
    case DIVIDE:
        out->number = two_inputs(rule->formula, x[0], x[1]);
        out->error = same ? (rule->formula == LARGER ? e[0] : 0)
                          : hypot(half_way(two_inputs(rule->formula, x[0] + e[0], x[1]), out->number,
                                           two_inputs(rule->formula, x[0] - e[0], x[1])),
                                  half_way(two_inputs(rule->formula, x[0], x[1] + e[1]), out->number,
                                           two_inputs(rule->formula, x[0], x[1] - e[1])));
        break;
    }
    out->distance = fmax(rule_distance(ref, rule), fmax(d[0], d[1]) + 1);
    return isfinite(out->number) && isfinite(out->error);
}

static void settle_number(const reference *ref, uint32_t f)
{
    world_truth *out = ref->out;
    const world_source *best = NULL;
    bool conflict = false;
    for (uint32_t i = 0; i < out->source_count[f]; i++) {
        const world_source *a = &out->sources[f][i];
        if (a->distance == INFINITY)
            continue;
        if (best == NULL || a->distance < best->distance ||
            (a->distance == best->distance &&
             (a->error < best->error || (a->error == best->error && a->number < best->number))))
            best = a;
        for (uint32_t j = 0; j < i; j++) {
            const world_source *b = &out->sources[f][j];
            double apart = fabs(a->number - b->number);
            conflict |= a->distance < FAR && b->distance < FAR && apart > 2 * hypot(a->error, b->error) &&
                        apart > 1e-9 * fmax(fabs(a->number), fabs(b->number));
        }
    }
    out->known[f] = best == NULL           ? CW_UNKNOWN
                    : conflict             ? CW_CONFLICT
                    : best->distance < FAR ? CW_KNOWN
                                           : CW_DOUBTFUL_FACT;
    out->number[f] = best == NULL ? 0 : best->number;
    out->error[f] = best == NULL ? 0 : best->error;
}

static void settle_finite(const reference *ref, uint32_t f)
{
    world_truth *out = ref->out;
    double distance[MAX_VALUES] = {INFINITY, INFINITY, INFINITY, INFINITY};
    for (uint32_t a = 0; a < ref->w->atom_count; a++)
        if (ref->w->atoms[a].kind == CW_ATOM_VALUE && ref->w->atoms[a].fact == f)
            distance[ref->w->atoms[a].value] = out->distance[a];
    if (answer_to(ref, f) != NULL)
        distance[answer_to(ref, f)->value] = 0;
    uint32_t sure = 0, best = 0;
    for (uint32_t v = 0; v < ref->w->facts[f].values; v++) {
        sure += distance[v] < FAR;
        best = distance[v] < distance[best] ? v : best;
    }
    out->value[f] = best;
    out->known[f] = sure > 1                    ? CW_CONFLICT
                    : sure == 1                 ? CW_KNOWN
                    : distance[best] < INFINITY ? CW_DOUBTFUL_FACT
                                                : CW_UNKNOWN;
}

static void settle(const reference *ref, uint32_t f)
{
    if (ref->w->facts[f].kind == CW_MEASURE)
        settle_number(ref, f);
    else if (ref->w->facts[f].kind == CW_STAMPED)
        ref->out->known[f] = answer_to(ref, f) != NULL ? CW_KNOWN : CW_UNKNOWN;
    else
        settle_finite(ref, f);
}

/* One round over a group; true when something has come nearer. */
static bool improve(const reference *ref, uint32_t group)
{
    const world *w = ref->w;
    world_truth *out = ref->out;
    bool changed = false;
    for (uint32_t r = 0; r < w->rule_count; r++) {
        const world_rule *rule = &w->rules[r];
        if (rule->group != group || rule->measures)
            continue;
        out->rules[r] = rule_distance(ref, rule);
        if (out->rules[r] < out->distance[rule->head]) {
            out->distance[rule->head] = out->rules[r];
            changed = true;
        }
    }
    for (uint32_t a = 0; a < w->atom_count; a++) {
        if (w->atoms[a].kind == CW_ATOM_STEP || w->atoms[a].group != group)
            continue;
        double distance = test_distance(ref, a);
        if (distance < out->distance[a]) {
            out->distance[a] = distance;
            changed = true;
        }
    }
    return changed;
}

static void find_sources(const reference *ref, uint32_t group)
{
    world_truth *out = ref->out;
    for (uint32_t f = 0; f < ref->w->fact_count; f++) {
        const cw_answer *answer = answer_to(ref, f);
        if (ref->w->facts[f].group != group || ref->w->facts[f].kind != CW_MEASURE)
            continue;
        out->source_count[f] = 0;
        if (answer != NULL)
            out->sources[f][out->source_count[f]++] = (world_source){0, answer->number, answer->error, 0};
        for (uint32_t r = 0; r < ref->w->rule_count; r++)
            if (ref->w->rules[r].measures && ref->w->rules[r].head == f &&
                source_of(ref, r, &out->sources[f][out->source_count[f]]))
                out->rules[r] = out->sources[f][out->source_count[f]++].distance;
    }
}

static void find_contested(const reference *ref);

void world_reference(const world *w, const world_answers *answers, world_truth *out)
{
    reference ref = {w, answers, out};
    memset(out, 0, sizeof *out);
    for (uint32_t a = 0; a < MAX_ATOMS; a++)
        out->distance[a] = INFINITY;
    for (uint32_t r = 0; r < MAX_RULES; r++)
        out->rules[r] = INFINITY;
    for (uint32_t group = 0; group < w->groups; group++) {
        /* Finite facts and steps first: no premise tests a number of its own group. */
        while (improve(&ref, group))
            ;
        for (uint32_t a = 0; a < w->atom_count; a++)
            out->atoms[a] = truth_at(out->distance[a]);
        find_sources(&ref, group);
        while (improve(&ref, group))
            ;
        for (uint32_t a = 0; a < w->atom_count; a++)
            out->atoms[a] = truth_at(out->distance[a]);
        for (uint32_t f = 0; f < w->fact_count; f++)
            if (w->facts[f].group == group)
                settle(&ref, f);
    }
    find_contested(&ref);
}

/* --- contested: clean is what can be had without a fact in conflict, as far as it is true --- */

typedef struct clean_set {
    bool atoms[MAX_ATOMS], numbers[MAX_FACTS];
} clean_set;

static bool clean_value(const reference *ref, const clean_set *clean, uint32_t f)
{
    if (ref->out->known[f] == CW_CONFLICT || ref->out->known[f] == CW_UNKNOWN)
        return false;
    if (answer_to(ref, f) != NULL)
        return true;
    if (ref->w->facts[f].kind == CW_MEASURE)
        return clean->numbers[f];
    for (uint32_t a = 0; a < ref->w->atom_count; a++)
        if (ref->w->atoms[a].kind == CW_ATOM_VALUE && ref->w->atoms[a].fact == f &&
            ref->w->atoms[a].value == ref->out->value[f])
            return clean->atoms[a];
    return false;
}

static bool clean_rule(const reference *ref, const clean_set *clean, uint32_t r, cw_truth truth)
{
    const world_rule *rule = &ref->w->rules[r];
    uint32_t count = 0;
    if (truth_at(ref->out->rules[r]) < truth)
        return false;
    for (uint32_t i = 0; i < rule->count; i++)
        count += truth_at(premise_distance(ref, &rule->premises[i])) >= truth &&
                 (rule->premises[i].absent || clean->atoms[rule->premises[i].atom]);
    for (uint32_t i = 0; rule->measures && i < (rule->formula == TWICE ? 1 : 2); i++)
        if (!clean_value(ref, clean, rule->inputs[i]))
            return false;
    return count >= rule->need;
}

static bool clean_test(const reference *ref, const clean_set *clean, uint32_t a)
{
    const world_atom *atom = &ref->w->atoms[a];
    const world_truth *out = ref->out;
    if (atom->kind == CW_ATOM_STEP)
        return false;
    if (atom->kind == CW_ATOM_VALUE || atom->kind == CW_ATOM_LIKE)
        return truth_at(test_distance(ref, a)) == out->atoms[a];
    if (atom->kind == CW_ATOM_KNOWN && answer_to(ref, atom->fact) != NULL)
        return true;
    if (atom->kind == CW_ATOM_KNOWN && finite_kind(ref->w->facts[atom->fact].kind)) {
        for (uint32_t i = 0; i < ref->w->atom_count; i++)
            if (ref->w->atoms[i].kind == CW_ATOM_VALUE && ref->w->atoms[i].fact == atom->fact &&
                out->atoms[i] == out->atoms[a] && clean->atoms[i])
                return true;
        return false;
    }
    for (uint32_t s = 0; s < out->source_count[atom->fact]; s++) {
        const world_source *source = &out->sources[atom->fact][s];
        double band =
            atom->kind == CW_ATOM_KNOWN ? 0 : distance_for(inside(atom->band, source->number, source->error));
        if (truth_at(fmax(band, source->distance)) != out->atoms[a])
            continue;
        if (source->rule == 0 || clean_rule(ref, clean, source->rule - 1, out->atoms[a]))
            return true;
    }
    return false;
}

static bool clean_atom(const reference *ref, const clean_set *clean, uint32_t a)
{
    const world_atom *atom = &ref->w->atoms[a];
    if (ref->out->atoms[a] == CW_NO ||
        (atom->kind != CW_ATOM_STEP && ref->out->known[atom->fact] == CW_CONFLICT))
        return false;
    if (clean_test(ref, clean, a))
        return true;
    for (uint32_t r = 0; r < ref->w->rule_count; r++)
        if (!ref->w->rules[r].measures && ref->w->rules[r].head == a &&
            clean_rule(ref, clean, r, ref->out->atoms[a]))
            return true;
    return false;
}

static bool clean_number(const reference *ref, const clean_set *clean, uint32_t f)
{
    cw_truth truth = ref->out->known[f] == CW_KNOWN ? CW_YES : CW_DOUBTFUL;
    if (ref->w->facts[f].kind != CW_MEASURE || ref->out->known[f] == CW_CONFLICT)
        return false;
    for (uint32_t s = 0; s < ref->out->source_count[f]; s++) {
        const world_source *source = &ref->out->sources[f][s];
        if (truth_at(source->distance) == truth &&
            (source->rule == 0 || clean_rule(ref, clean, source->rule - 1, truth)))
            return true;
    }
    return false;
}

static void find_contested(const reference *ref)
{
    clean_set clean = {0};
    for (bool changed = true; changed;) {
        changed = false;
        for (uint32_t a = 0; a < ref->w->atom_count; a++)
            if (!clean.atoms[a] && clean_atom(ref, &clean, a))
                changed = clean.atoms[a] = true;
        for (uint32_t f = 0; f < ref->w->fact_count; f++)
            if (!clean.numbers[f] && clean_number(ref, &clean, f))
                changed = clean.numbers[f] = true;
    }
    for (uint32_t f = 0; f < ref->w->fact_count; f++)
        ref->out->contested[f] = ref->out->known[f] != CW_UNKNOWN && ref->w->facts[f].kind != CW_STAMPED &&
                                 !clean_value(ref, &clean, f);
}
