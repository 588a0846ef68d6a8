#include "chart/tree.h"
#include "chart/page.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* An answer, or several that come to the same, before it is a node. */
typedef struct branch {
    char *label, *value, *values;
    size_t group;
    double chance;
} branch;

typedef struct branches {
    branch *items;
    size_t count;
} branches;

static bool keep(chart_tree *tree, const void *made)
{
    if (made == NULL)
        tree->status = CW_NO_MEMORY;
    return made != NULL;
}

/* -- Walking -- */

/* Gives the answers on the way to the node, from the root on. */
static void walk_to(chart_tree *tree, int node)
{
    int way[CHART_DEEPEST + 1];
    int steps = 0;
    for (int n = node; tree->nodes[n].parent != CHART_NONE; n = tree->nodes[n].parent)
        way[steps++] = n;
    while (steps-- > 0 && tree->status == CW_OK) {
        const chart_node *at = &tree->nodes[way[steps]], *from = &tree->nodes[at->parent];
        tree->status = cw_session_here(tree->session, from->place);
        if (tree->status == CW_OK)
            tree->status = cw_session_answer(tree->session, from->check->name, at->value, NULL, NULL, NULL);
    }
}

static void walk_back(chart_tree *tree, int node)
{
    for (int n = tree->nodes[node].parent; n != CHART_NONE; n = tree->nodes[n].parent) {
        cw_status status = cw_session_withdraw(tree->session, tree->nodes[n].check->name);
        if (tree->status == CW_OK && status != CW_NOT_FOUND)
            tree->status = status;
    }
    if (tree->status == CW_OK)
        tree->status = cw_session_here(tree->session, tree->here);
}

/* -- Branches -- */

static void free_branch(branch *old)
{
    free(old->label);
    free(old->value);
    free(old->values);
}

static void free_branches(branches *list)
{
    for (size_t i = 0; i < list->count; i++)
        free_branch(&list->items[i]);
    free(list->items);
}

/* Takes the branch over. */
static void add_branch(chart_tree *tree, branches *list, branch made)
{
    const bool whole = keep(tree, made.label) && keep(tree, made.value) && keep(tree, made.values);
    branch *more = whole ? realloc(list->items, (list->count + 1) * sizeof *more) : NULL;
    if (more != NULL) {
        list->items = more;
        list->items[list->count++] = made;
        return;
    }
    keep(tree, more);
    free_branch(&made);
}

/* What would be first after the answer. */
static const char *leader_after(chart_tree *tree, const char *check, const char *answer)
{
    const char *id = "";
    double chance;
    tree->status = cw_session_answer(tree->session, check, answer, NULL, NULL, NULL);
    if (tree->status != CW_OK)
        return id;
    tree->status = chart_leader(tree, &id, &chance);
    if (tree->status == CW_OK)
        tree->status = cw_session_withdraw(tree->session, check);
    return id;
}

/* Lists from the session end with the next change: what is kept of them is copied. */
typedef struct stretch {
    char *answer, *low, *high;
    double chance;
} stretch;

static char *copy_or_null(const char *text)
{
    return text != NULL ? strdup(text) : NULL;
}

static char *say_stretch(const stretch *from, const stretch *to)
{
    if (from->low == NULL && to->high == NULL)
        return strdup("any reading");
    if (from->low == NULL)
        return page_format("below %s", to->high);
    if (to->high == NULL)
        return page_format("above %s", from->low);
    /* "96 to 104 mm": the unit once. */
    const char *unit = strchr(from->low, ' ');
    const char *other = strchr(to->high, ' ');
    const bool same = unit != NULL && other != NULL && strcmp(unit, other) == 0;
    return page_format("%.*s to %s", (int)(same ? unit - from->low : (long)strlen(from->low)), from->low,
                       to->high);
}

/* Neighbours with the same thing first, from `at` on, become one branch. Returns the first behind them. */
static size_t join_stretches(chart_tree *tree, const char *check, const stretch *all, size_t count, size_t at,
                             branches *out)
{
    const char *leader = leader_after(tree, check, all[at].answer);
    size_t end = at, best = at;
    double chance = 0;
    while (end < count && tree->status == CW_OK &&
           (end == at || strcmp(leader, leader_after(tree, check, all[end].answer)) == 0)) {
        chance += all[end].chance;
        best = all[end].chance > all[best].chance ? end : best;
        end++;
    }
    if (tree->status != CW_OK)
        return count;
    add_branch(tree, out,
               (branch){.label = say_stretch(&all[at], &all[end - 1]),
                        .value = strdup(all[best].answer),
                        .values = strdup(all[best].answer),
                        .chance = chance});
    return end;
}

static void branch_readings(chart_tree *tree, const cw_check_info *check, const cw_foreseen *list,
                            size_t count, branches *out)
{
    stretch *all = calloc(count + 1, sizeof *all);
    for (size_t i = 0; keep(tree, all) && i < count; i++)
        all[i] = (stretch){strdup(list[i].answer), copy_or_null(list[i].low_shown),
                           copy_or_null(list[i].high_shown), list[i].chance};
    for (size_t i = 0; all != NULL && i < count; i++)
        keep(tree, all[i].answer);
    for (size_t at = 0; tree->status == CW_OK && at < count;)
        at = join_stretches(tree, check->name, all, count, at, out);
    for (size_t i = 0; all != NULL && i < count; i++) {
        free(all[i].answer);
        free(all[i].low);
        free(all[i].high);
    }
    free(all);
}

static size_t asked_at(const cw_check_info *check, const char *answer)
{
    for (size_t i = 0; i < check->choice_count; i++)
        if (strcmp(check->choices[i].name, answer) == 0)
            return i;
    return check->choice_count;
}

/* "4", "5" -> "4 or 5"; "4 or 5", "6" -> "4 to 6" for counts. */
static char *add_label(const cw_check_info *check, const char *label, const char *shown)
{
    const char *last = strrchr(label, ' ');
    last = last != NULL ? last + 1 : label;
    if (check->kind != CW_ANSWER_COUNT || strtol(shown, NULL, 10) != strtol(last, NULL, 10) + 1 ||
        last == label)
        return page_format("%s or %s", label, shown);
    return page_format("%ld to %s", strtol(label, NULL, 10), shown);
}

/* Answers of the same group are one branch. */
static bool join_choice(chart_tree *tree, const cw_check_info *check, const cw_foreseen *one, branches *out)
{
    for (size_t i = 0; i < out->count; i++) {
        branch *old = &out->items[i];
        if (old->group != one->group)
            continue;
        char *label = add_label(check, old->label, one->shown);
        char *values = page_format("%s|%s", old->values, one->answer);
        if (!keep(tree, label) || !keep(tree, values)) {
            free(label);
            free(values);
            return true;
        }
        free(old->label);
        free(old->values);
        old->label = label;
        old->values = values;
        old->chance += one->chance;
        return true;
    }
    return false;
}

/* In the order in which they are asked. */
static void branch_choices(chart_tree *tree, const cw_check_info *check, const cw_foreseen *list,
                           size_t count, branches *out)
{
    for (size_t place = 0; place <= check->choice_count; place++) {
        for (size_t i = 0; i < count && tree->status == CW_OK; i++) {
            if (asked_at(check, list[i].answer) != place || join_choice(tree, check, &list[i], out))
                continue;
            add_branch(tree, out,
                       (branch){.label = strdup(list[i].shown),
                                .value = strdup(list[i].answer),
                                .values = strdup(list[i].answer),
                                .group = list[i].group,
                                .chance = list[i].chance});
        }
    }
}

/* -- Nodes -- */

static bool add_node(chart_tree *tree, chart_node node)
{
    chart_node *more = realloc(tree->nodes, (size_t)(tree->count + 1) * sizeof *more);
    if (!keep(tree, more))
        return false;
    tree->nodes = more;
    tree->nodes[tree->count++] = node;
    return true;
}

static void add_children(chart_tree *tree, int node, branches *list)
{
    const chart_node from = tree->nodes[node];
    tree->nodes[node].first = tree->count;
    for (size_t i = 0; i < list->count && tree->status == CW_OK; i++) {
        branch *one = &list->items[i];
        chart_node made = {.parent = node,
                           .deep = from.deep + 1,
                           .label = one->label,
                           .value = one->value,
                           .values = one->values,
                           .reach = from.reach * one->chance,
                           .spent = from.spent + from.minutes,
                           .measured = from.check->kind == CW_ANSWER_MEASURE,
                           .leader = ""};
        if (!add_node(tree, made))
            return;
        one->label = one->value = one->values = NULL;
        tree->nodes[node].count++;
    }
}

/* The engine's first that can be drawn. What is asked for the description alone tells no unit. */
static const cw_next_check *to_draw(const cw_next *next)
{
    for (size_t i = 0; next->stop == CW_GO_ON && i < next->count; i++) {
        const cw_next_check *one = &next->checks[i];
        if (one->line == NULL && one->check->kind != CW_ANSWER_TEXT && one->check->kind != CW_ANSWER_UNIT)
            return one;
    }
    return NULL;
}

static void branch_out(chart_tree *tree, int node)
{
    const cw_check_info *check = tree->nodes[node].check;
    const cw_foreseen *list;
    size_t count;
    branches found = {0};
    tree->status = cw_session_foresee(tree->session, check->name, &list, &count);
    if (tree->status == CW_OK && check->kind == CW_ANSWER_MEASURE)
        branch_readings(tree, check, list, count, &found);
    else if (tree->status == CW_OK)
        branch_choices(tree, check, list, count, &found);
    if (tree->status == CW_OK)
        add_children(tree, node, &found);
    free_branches(&found);
}

/* The session stands at the node. */
static void ask(chart_tree *tree, int node)
{
    const cw_next *next;
    tree->status = cw_session_next(tree->session, &next);
    if (tree->status != CW_OK)
        return;
    chart_node *at = &tree->nodes[node];
    const cw_next_check *one = to_draw(next);
    tree->cut |= next->cut_short;
    if (one == NULL)
        return;
    at->check = one->check;
    at->place = one->place;
    at->minutes = one->minutes;
    branch_out(tree, node);
}

static void open_node(chart_tree *tree, int node, unsigned deep)
{
    walk_to(tree, node);
    if (tree->status == CW_OK) {
        chart_node *at = &tree->nodes[node];
        tree->status = chart_leader(tree, &at->leader, &at->chance);
        /* With less than twice what is drawn no two branches could be. */
        const bool worth = at->chance < CHART_SURE && at->deep < deep && at->reach >= 2 * CHART_RARE;
        if (tree->status == CW_OK && worth)
            ask(tree, node);
    }
    walk_back(tree, node);
}

void chart_grow(const cw_pack *pack, cw_session *session, const char *here, unsigned deep, chart_tree *out)
{
    *out = (chart_tree){.pack = pack,
                        .session = session,
                        .here = here,
                        .of_units = strcmp(cw_session_stage(session), "identify") == 0};
    chart_node root = {.parent = CHART_NONE, .reach = 1, .leader = ""};
    if (!add_node(out, root))
        return;
    for (int i = 0; i < out->count && out->status == CW_OK; i++)
        if (out->nodes[i].reach >= CHART_RARE)
            open_node(out, i, deep);
}

void chart_tell(chart_tree *tree, int node)
{
    chart_end *end = &tree->nodes[node].end;
    if (end->told || tree->status != CW_OK)
        return;
    walk_to(tree, node);
    if (tree->status == CW_OK)
        tree->status = chart_end_of(tree, &tree->nodes[node], end);
    end->told = true;
    walk_back(tree, node);
}

void chart_tree_free(chart_tree *tree)
{
    for (int i = 0; i < tree->count; i++) {
        chart_node *node = &tree->nodes[i];
        free(node->label);
        free(node->value);
        free(node->values);
        free(node->end.head);
        free(node->end.figure);
        free(node->end.other);
        free(node->end.act);
        for (size_t k = 0; k < node->end.caution_count; k++)
            free(node->end.cautions[k]);
    }
    free(tree->nodes);
    *tree = (chart_tree){0};
}
