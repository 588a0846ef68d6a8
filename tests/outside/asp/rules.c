#include "outside/asp/rules.h"

#include <criterion/criterion.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const char *const kind_names[KINDS] = {"diode", "phase"};
static const char *const thing_names[KINDS][MAX_THINGS] = {{"d1", "d2", "d3", "d4"}, {"u", "v", "w", "x"}};
static const char *const choice_names[] = {"v0", "v1", "v2"};
static const char *const yes_names[] = {"no", "yes"};

static void put(char *text, size_t *size, const char *format, ...) __attribute__((format(printf, 3, 4)));
static void put(char *text, size_t *size, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    *size += (size_t)vsnprintf(text + *size, RULES_TEXT - *size, format, arguments);
    va_end(arguments);
    cr_assert_lt(*size, (size_t)RULES_TEXT);
}

#define YAML(set, ...) put((set)->yaml, &(set)->yaml_size, __VA_ARGS__)
#define PROGRAM(set, ...) put((set)->program, &(set)->program_size, __VA_ARGS__)

static const char *value_name(const predicate *p, unsigned value)
{
    return p->values == 0 ? yes_names[value] : choice_names[value];
}

static unsigned value_count(const predicate *p)
{
    return p->values == 0 ? 2 : p->values;
}

/* --- what is bound where: variable Xi runs over kinds[i] --- */

typedef struct variables {
    unsigned kinds[6];
    unsigned count;
} variables;

/* The innermost variable of the kind; count when there is none. */
static unsigned variable_of(const variables *vars, unsigned kind)
{
    for (unsigned i = vars->count; i > 0; i--)
        if (vars->kinds[i - 1] == kind)
            return i - 1;
    return vars->count;
}

/* "(X0,X1" and so on, without the closing parenthesis; 0 stands first so that there is always an argument. */
static void put_arguments(rule_set *set, const variables *vars)
{
    PROGRAM(set, "(0");
    for (unsigned i = 0; i < vars->count; i++)
        PROGRAM(set, ",X%u", i);
}

static void put_domain(rule_set *set, const variables *vars)
{
    for (unsigned i = 0; i < vars->count; i++)
        PROGRAM(set, ", %s(X%u)", kind_names[vars->kinds[i]], i);
}

/* One premise's place: which helper stands for it. Rules of a helper are written when its parts are known. */
static unsigned new_helper(rule_set *set)
{
    return set->helpers++;
}

static void put_helper(rule_set *set, unsigned helper, const variables *vars)
{
    PROGRAM(set, "c%u", helper);
    put_arguments(set, vars);
    PROGRAM(set, ")");
}

/* "c7(0,X0) :- t(0), diode(X0)": the body may go on behind it. */
static void put_head(rule_set *set, unsigned helper, const variables *vars)
{
    put_helper(set, helper, vars);
    PROGRAM(set, " :- t(0)");
    put_domain(set, vars);
}

typedef struct maker {
    rule_set *set;
    random_state *random;
    unsigned stratum; /* tests may go up to here, in an absence only below */
} maker;

/* --- tests --- */

/* Chooses a predicate that can be named here. */
static const predicate *choose(const maker *m, bool absent, const variables *vars, unsigned things[KINDS],
                               bool *named)
{
    for (unsigned tries = 0; tries < 200; tries++) {
        const predicate *p = &m->set->predicates[random_below(m->random, m->set->count)];
        if (absent || p->measure ? p->stratum >= m->stratum : p->stratum > m->stratum)
            continue;
        bool bound = true, any = false;
        for (unsigned k = 0; k < KINDS; k++) {
            any |= p->over[k];
            bound &= !p->over[k] || variable_of(vars, k) < vars->count;
            things[k] = random_below(m->random, m->set->things[k]);
        }
        *named = any && (!bound || random_below(m->random, 4) == 0);
        return p;
    }
    return &m->set->predicates[0];
}

static void put_yaml_name(rule_set *set, const predicate *p, bool named, const unsigned things[KINDS])
{
    YAML(set, "%s%s", named ? "\"" : "", p->name);
    for (unsigned k = 0, first = 1; k < KINDS && named; k++) {
        if (!p->over[k])
            continue;
        YAML(set, "%s%s", first ? "[" : ",", thing_names[k][things[k]]);
        first = 0;
    }
    YAML(set, "%s", named ? "]\"" : "");
}

/* "f3(X0,u," up to the value. */
static void put_predicate(rule_set *set, const predicate *p, bool named, const unsigned things[KINDS],
                          const variables *vars)
{
    PROGRAM(set, "%s(", p->name);
    for (unsigned k = 0; k < KINDS; k++) {
        if (p->over[k] && named)
            PROGRAM(set, "%s,", thing_names[k][things[k]]);
        else if (p->over[k])
            PROGRAM(set, "X%u,", variable_of(vars, k));
    }
}

/* "2.25 V": a quarter off the readings, which are halves, so that no limit is met by rounding. */
static void put_volts(rule_set *set, unsigned quarters)
{
    YAML(set, "%u.%02u V", quarters / 4, quarters % 4 * 25);
}

static void put_band(maker *m)
{
    static const char *const words[] = {"above ", "below ", "at least ", "at most "};
    unsigned form = random_below(m->random, 6), low = random_below(m->random, 24);
    if (form == 5) {
        YAML(m->set, "known");
        return;
    }
    YAML(m->set, "%s", form < 4 ? words[form] : "");
    put_volts(m->set, low);
    if (form == 4) {
        YAML(m->set, " to ");
        put_volts(m->set, low + 1 + random_below(m->random, 8));
    }
}

/* Which unit is in hand: true and open at every height of the tree. */
static void put_unit_test(maker *m)
{
    unsigned form = random_below(m->random, 6), unit = random_below(m->random, UNITS);
    if (form == 0)
        YAML(m->set, "{unit: known}");
    else if (form == 1)
        YAML(m->set, "{unit: not u%u}", unit);
    else if (form == 2)
        YAML(m->set, "{unit: [u%u, u%u]}", unit, (unit + 1) % UNITS);
    else if (form == 3)
        YAML(m->set, "{unit: not_listed}");
    else
        YAML(m->set, "{unit: u%u}", unit);
}

static unsigned make_test(maker *m, bool absent, const variables *vars)
{
    rule_set *set = m->set;
    if (set->units && random_below(m->random, 6) == 0) {
        put_unit_test(m);
        return new_helper(set);
    }
    unsigned things[KINDS], helper = new_helper(set);
    bool named = false;
    const predicate *p = choose(m, absent, vars, things, &named);
    unsigned value = random_below(m->random, value_count(p)), form = random_below(m->random, 6);
    YAML(set, "{");
    put_yaml_name(set, p, named, things);
    if (p->measure) {
        YAML(set, ": ");
        put_band(m);
        YAML(set, "}");
        return helper;
    }
    if (form == 0)
        YAML(set, ": known}");
    else if (form == 1)
        YAML(set, ": not %s}", value_name(p, value));
    else if (form == 2)
        YAML(set, ": [%s, %s]}", value_name(p, 0), value_name(p, 1));
    else
        YAML(set, ": %s}", value_name(p, value));
    for (unsigned v = 0; v < value_count(p); v++) {
        if (form == 1 ? v == value : form == 2 ? v > 1 : form > 2 && v != value)
            continue;
        put_head(set, helper, vars);
        PROGRAM(set, ", ");
        put_predicate(set, p, named, things, vars);
        PROGRAM(set, "%s).\n", value_name(p, v));
    }
    return helper;
}

/* --- groups --- */

static unsigned make_condition(maker *m, bool absent, const variables *vars, unsigned depth);

static unsigned make_parts(maker *m, const char *word, bool absent, const variables *vars, unsigned depth)
{
    rule_set *set = m->set;
    unsigned parts[3], count = 1 + random_below(m->random, 3), helper = new_helper(set);
    bool all = word[1] == 'l', none = word[0] == 'n';
    YAML(set, "{%s: [", word);
    for (unsigned i = 0; i < count; i++) {
        YAML(set, "%s", i > 0 ? ", " : "");
        parts[i] = make_condition(m, absent || none, vars, depth + 1);
    }
    YAML(set, "]}");
    for (unsigned i = 0; i < count; i++) {
        if (i == 0 || (!all && !none))
            put_head(set, helper, vars);
        PROGRAM(set, "%s", none ? ", not " : ", ");
        put_helper(set, parts[i], vars);
        if (i + 1 == count || (!all && !none))
            PROGRAM(set, ".\n");
    }
    return helper;
}

static unsigned make_quantified(maker *m, bool absent, const variables *vars, unsigned depth)
{
    rule_set *set = m->set;
    unsigned kind = random_below(m->random, KINDS), form = random_below(m->random, 4),
             helper = new_helper(set);
    unsigned need = 1 + random_below(m->random, set->things[kind]);
    variables inner = *vars;
    inner.kinds[inner.count++] = kind;
    static const char *const words[] = {"some", "every", "no"};
    if (form < 3)
        YAML(set, "{%s %s: [", words[form], kind_names[kind]);
    else
        YAML(set, "{at least %u %s: [", need, kind_names[kind]);
    unsigned part = make_condition(m, absent || form == 2, &inner, depth + 1);
    YAML(set, "]}");
    const char *domain = kind_names[kind];
    unsigned x = vars->count;
    put_head(set, helper, vars);
    if (form == 0) {
        PROGRAM(set, ", %s(X%u), ", domain, x);
        put_helper(set, part, &inner);
    } else if (form == 3) {
        PROGRAM(set, ", %u <= #count { X%u : ", need, x);
        put_helper(set, part, &inner);
        PROGRAM(set, ", %s(X%u) }", domain, x);
    } else {
        PROGRAM(set, "%s", form == 1 ? ", " : ", not ");
        put_helper(set, part, &inner);
        PROGRAM(set, " : %s(X%u)", domain, x);
    }
    PROGRAM(set, ".\n");
    return helper;
}

static unsigned make_condition(maker *m, bool absent, const variables *vars, unsigned depth)
{
    unsigned form = random_below(m->random, depth >= 3 ? 1 : 8);
    switch (form) {
    case 4:
        return make_parts(m, "all", absent, vars, depth);
    case 5:
        return make_parts(m, "any", absent, vars, depth);
    case 6:
        return m->stratum == 0 ? make_test(m, absent, vars) : make_parts(m, "none", absent, vars, depth);
    case 7:
        return m->stratum == 0 ? make_test(m, absent, vars) : make_quantified(m, absent, vars, depth);
    default:
        return make_test(m, absent, vars);
    }
}

/* --- rules --- */

static void put_each(rule_set *set, const bool over[KINDS], const char *behind)
{
    if (!over[0] && !over[1])
        return;
    YAML(set, "each: [");
    for (unsigned k = 0; k < KINDS; k++)
        if (over[k])
            YAML(set, "%s%s", k > 0 && over[0] ? ", " : "", kind_names[k]);
    YAML(set, "]%s", behind);
}

/* "= f0 - f2[d1]" over measures of lower strata, or a call; false when there are none that can be named. What
 * jumps (pole pairs) does so between the halves and quarters that stand here. */
static bool put_formula(maker *m, const variables *vars)
{
    static const char *const forms[][3] = {{"= ", " + ", ""},
                                           {"= ", " - ", ""},
                                           {"= ", " + 2 * ", ""},
                                           {"= max(1 V, ", ", ", ", 2.5 V)"},
                                           {"= set_point_at(", ", 20 degC, 0.5 * ", ", 40 degC)"},
                                           {"= count_pole_pairs(", " / 1 V * 40 Hz, 1200 rpm) * ", ""}};
    rule_set *set = m->set;
    size_t start = set->yaml_size;
    const char *const *form = forms[random_below(m->random, sizeof forms / sizeof *forms)];
    for (unsigned i = 0, tries = 0; i < 2; tries++) {
        unsigned things[KINDS];
        bool named = false;
        const predicate *p = choose(m, true, vars, things, &named);
        if (tries == 100) {
            set->yaml_size = start;
            return false;
        }
        if (!p->measure || p->stratum >= m->stratum)
            continue;
        YAML(set, "%s%s", form[i], p->name);
        for (unsigned k = 0, first = 1; k < KINDS && named; k++) {
            if (!p->over[k])
                continue;
            YAML(set, "%s%s", first ? "[" : ",", thing_names[k][things[k]]);
            first = 0;
        }
        YAML(set, "%s", named ? "]" : "");
        i++;
    }
    YAML(set, "%s", form[2]);
    return true;
}

/* One formula for a measured fact, so that it does not matter which of several is nearest to the answers. Its
 * inputs may make up the whole rule, but `if` wants something. */
static void make_measure_rule(maker *m, predicate *head)
{
    rule_set *set = m->set;
    variables vars = {.count = 0};
    size_t start = set->yaml_size;
    for (unsigned k = 0; k < KINDS; k++)
        if (head->over[k])
            vars.kinds[vars.count++] = k;
    m->stratum = head->stratum;
    if (head->worked_out || head->stratum == 0)
        return;
    YAML(set, "  r%u:\n    ", set->rules);
    put_each(set, head->over, "\n    ");
    YAML(set, "if: [");
    make_condition(m, false, &vars, 1);
    YAML(set, "]\n    then:\n      %s: ", head->name);
    if (!put_formula(m, &vars)) {
        set->yaml_size = start;
        set->yaml[start] = '\0';
        return;
    }
    YAML(set, "\n    because: b\n    source: s\n");
    head->worked_out = true;
    set->rules++;
}

static void make_rule(maker *m)
{
    rule_set *set = m->set;
    predicate *head = &set->predicates[random_below(m->random, set->count)];
    if (head->measure) {
        make_measure_rule(m, head);
        return;
    }
    variables vars = {.count = 0};
    bool over[KINDS];
    for (unsigned k = 0; k < KINDS; k++) {
        over[k] = head->over[k] || random_below(m->random, 4) == 0;
        if (over[k])
            vars.kinds[vars.count++] = k;
    }
    m->stratum = head->stratum;
    unsigned parts[3], count = 1 + random_below(m->random, 3),
                       value = random_below(m->random, value_count(head));
    YAML(set, "  r%u: {", set->rules++);
    put_each(set, over, ", ");
    YAML(set, "if: [");
    for (unsigned i = 0; i < count; i++) {
        YAML(set, "%s", i > 0 ? ", " : "");
        parts[i] = make_condition(m, false, &vars, 0);
    }
    YAML(set, "], then: {%s: %s}, because: b, source: s}\n", head->name, value_name(head, value));
    put_predicate(set, head, false, NULL, &vars);
    PROGRAM(set, "%s) :- t(0)", value_name(head, value));
    put_domain(set, &vars);
    for (unsigned i = 0; i < count; i++) {
        PROGRAM(set, ", ");
        put_helper(set, parts[i], &vars);
    }
    PROGRAM(set, ".\n");
}

static void make_predicates(rule_set *set, random_state *random, bool measures)
{
    set->count = 6 + random_below(random, MAX_PREDICATES - 5);
    for (unsigned i = 0; i < set->count; i++) {
        predicate *p = &set->predicates[i];
        *p = (predicate){.check = i < 3 || random_below(random, 4) == 0, .stratum = i * 4 / set->count};
        snprintf(p->name, sizeof p->name, "f%u", i);
        p->values = random_below(random, 2) ? 0 : 3;
        p->measure = measures && i > 0 && random_below(random, 3) == 0;
        p->over[0] = random_below(random, 2);
        p->over[1] = random_below(random, 3) == 0;
        if (i == 0)
            p->over[0] = p->over[1] = false; /* one that can be named everywhere */
    }
}

static void put_declarations(rule_set *set, bool checks)
{
    YAML(set, "%s:\n", checks ? "checks" : "facts");
    for (unsigned i = 0; i < set->count; i++) {
        const predicate *p = &set->predicates[i];
        if (p->check != checks)
            continue;
        YAML(set, "  %s: {", p->name);
        put_each(set, p->over, ", ");
        if (p->measure)
            YAML(set, "measure: voltage, unit: V, %s",
                 checks ? "range: -99 V to 99 V, reading_error: {fine: 0 V, fair: 0.75 V, rough: 2.25 V}, "
                        : "");
        YAML(set, "title: t%s%s}\n", checks ? ", ask: a, place: bench, minutes: 1" : "",
             p->values == 0 || p->measure ? "" : ", choices: [v0, v1, v2]");
    }
}

static void put_things(rule_set *set)
{
    YAML(set, "things:\n");
    for (unsigned k = 0; k < KINDS; k++) {
        YAML(set, "  %s: [", kind_names[k]);
        for (unsigned t = 0; t < set->things[k]; t++) {
            YAML(set, "%s%s", t > 0 ? ", " : "", thing_names[k][t]);
            PROGRAM(set, "%s(%s). ", kind_names[k], thing_names[k][t]);
        }
        YAML(set, "]\n");
    }
    PROGRAM(set, "t(0).\n");
}

static bool has_facts(const rule_set *set)
{
    for (unsigned i = 0; i < set->count; i++)
        if (!set->predicates[i].check)
            return true;
    return false;
}

/* A value of some facts, one in three. Two sources of a measured fact would need the distance from the
 * answers to part them. */
static void put_data(rule_set *set, random_state *random)
{
    bool first = true;
    for (unsigned i = 0; i < set->count; i++) {
        const predicate *p = &set->predicates[i];
        unsigned things[KINDS];
        for (unsigned k = 0; k < KINDS; k++)
            things[k] = random_below(random, set->things[k]);
        if (random_below(random, 3) != 0 || (p->measure && p->worked_out))
            continue;
        YAML(set, "%s", first ? ", data: {" : ", ");
        first = false;
        put_yaml_name(set, p, p->over[0] || p->over[1], things);
        YAML(set, ": ");
        if (!p->measure) {
            YAML(set, "%s", value_name(p, random_below(random, value_count(p))));
            continue;
        }
        put_volts(set, random_below(random, 24));
        if (random_below(random, 2) == 0)
            YAML(set, " +/- 0.5 V");
    }
    YAML(set, "%s", first ? "" : "}");
}

/* u0 over u1 over u2 and u3; u4 by itself. */
static void put_units(rule_set *set, random_state *random)
{
    static const char *const opens[UNITS] = {"  u0: {title: t, source: s", ", frames: {u1: {title: t",
                                             ", versions: {u2: {title: t", ", u3: {title: t",
                                             "  u4: {title: t, source: s"};
    static const char *const closes[UNITS] = {"", "", "}", "}}}}}\n", "}\n"};
    YAML(set, "units:\n");
    for (unsigned u = 0; u < UNITS; u++) {
        YAML(set, "%s", opens[u]);
        put_data(set, random);
        YAML(set, "%s", closes[u]);
    }
}

void rules_random(rule_set *set, random_state *random, bool measures)
{
    *set =
        (rule_set){.things = {2 + random_below(random, 3), 1 + random_below(random, 3)}, .units = measures};
    make_predicates(set, random, measures);
    YAML(set, "pack: {name: random, title: t, version: 1}\n");
    put_things(set);
    put_declarations(set, true);
    if (has_facts(set))
        put_declarations(set, false);
    YAML(set, "rules:\n");
    unsigned rules = 5 + random_below(random, 20);
    for (unsigned r = 0; r < rules; r++)
        make_rule(&(maker){.set = set, .random = random});
    if (set->units)
        put_units(set, random);
    for (unsigned i = 0; i < set->count; i++)
        PROGRAM(set, "#show %s/%d.\n", set->predicates[i].name,
                1 + set->predicates[i].over[0] + set->predicates[i].over[1]);
}

bool rules_answer(rule_set *set, random_state *random, unsigned at, unsigned first, unsigned second,
                  char name[48], const char **value)
{
    const predicate *p = &set->predicates[at];
    const unsigned things[KINDS] = {first, second};
    size_t used = (size_t)snprintf(name, 48, "%s", p->name);
    if (!p->check || random_below(random, 3) == 0)
        return false;
    for (unsigned k = 0; k < KINDS; k++)
        if ((!p->over[k] && things[k] > 0) || things[k] >= set->things[k])
            return false; /* once for a predicate that is not over this kind */
    static const char *const volts[] = {"0.5 V", "1 V", "2.5 V", "3 V", "4.5 V", "6 V"};
    *value =
        p->measure ? volts[random_below(random, 6)] : value_name(p, random_below(random, value_count(p)));
    PROGRAM(set, "%s(", p->name);
    for (unsigned k = 0; k < KINDS; k++) {
        if (!p->over[k])
            continue;
        used += (size_t)snprintf(name + used, 48 - used, "%s%s", strchr(name, '[') == NULL ? "[" : ",",
                                 thing_names[k][things[k]]);
        PROGRAM(set, "%s,", thing_names[k][things[k]]);
    }
    if (strchr(name, '[') != NULL)
        snprintf(name + used, 48 - used, "]");
    PROGRAM(set, "%s).\n", *value);
    return true;
}
