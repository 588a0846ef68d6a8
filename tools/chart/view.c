#include "chart/view.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool keep(chart_view *view, const void *made)
{
    if (made == NULL)
        view->tree->status = CW_NO_MEMORY;
    return made != NULL;
}

static void free_box(chart_box *box)
{
    if (box == NULL)
        return;
    for (size_t i = 0; i < box->count; i++)
        free_box(box->children[i]);
    for (size_t i = 0; i < CHART_PARAGRAPHS; i++)
        free(box->words[i].text);
    free(box->children);
    free(box->nodes);
    free(box->label);
    free(box);
}

/* -- Joining -- */

static bool same_end(const chart_end *a, const chart_end *b)
{
    return strcmp(a->head, b->head) == 0 && strcmp(a->act, b->act) == 0 &&
           strcmp(a->figure, b->figure) == 0 && strcmp(a->other, b->other) == 0;
}

/* The same is said from here on, but for figures. */
static bool same(const chart_view *view, const chart_box *a, const chart_box *b)
{
    const chart_node *x = &view->tree->nodes[a->nodes[0]], *y = &view->tree->nodes[b->nodes[0]];
    if (a->count != b->count)
        return false;
    if (a->count == 0)
        return same_end(&x->end, &y->end) && x->end.caution_count == y->end.caution_count;
    if (x->check != y->check || strcmp(x->place, y->place) != 0 || x->minutes != y->minutes)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (strcmp(a->children[i]->label, b->children[i]->label) != 0 ||
            !same(view, a->children[i], b->children[i]))
            return false;
    return true;
}

/* Moves the nodes of `from` and all behind it into `to`. */
static void take_nodes(chart_view *view, chart_box *to, const chart_box *from)
{
    int *more = realloc(to->nodes, (to->node_count + from->node_count) * sizeof *more);
    if (!keep(view, more))
        return; /* NOLINT(clang-analyzer-unix.Malloc): keep says no to NULL alone */
    to->nodes = more;
    memcpy(more + to->node_count, from->nodes, from->node_count * sizeof *more);
    to->node_count += from->node_count;
    to->rest += from->rest;
    for (size_t i = 0; i < to->count; i++)
        take_nodes(view, to->children[i], from->children[i]);
}

/* "4", "5" -> "4 or 5"; "4 or 5", "6" -> "4 to 6". */
static char *join_labels(const char *a, const char *b)
{
    char *end;
    const long low = strtol(b, &end, 10);
    const char *blank = strrchr(a, ' ');
    if (*end == '\0' && end != b && blank != NULL && strtol(blank + 1, NULL, 10) + 1 == low)
        return page_format("%ld to %s", strtol(a, NULL, 10), b);
    return page_format("%s or %s", a, b);
}

/* Puts the box among the children, or joins it to one that says the same. */
static void join_in(chart_view *view, chart_box *parent, chart_box *box)
{
    for (size_t i = 0; i < parent->count; i++) {
        chart_box *old = parent->children[i];
        if (!same(view, old, box))
            continue;
        char *label = join_labels(old->label, box->label);
        if (keep(view, label)) {
            free(old->label);
            old->label = label;
            take_nodes(view, old, box);
        }
        free_box(box);
        return;
    }
    chart_box **more = realloc(parent->children, (parent->count + 1) * sizeof *more);
    if (!keep(view, more)) {
        free_box(box);
        return;
    }
    parent->children = more;
    more[parent->count++] = box;
}

/* -- Making -- */

static chart_box *make(chart_view *view, int node, unsigned left);

static void drop_children(chart_box *box)
{
    for (size_t i = 0; i < box->count; i++)
        free_box(box->children[i]);
    box->count = 0;
    box->rest = 0;
}

/* A question of which one answer alone is drawn, or all say the same, is none. */
static void make_children(chart_view *view, chart_box *box, int node, unsigned left)
{
    const chart_node *at = &view->tree->nodes[node];
    if (at->check == NULL || left == 0)
        return;
    for (int i = at->first; i < at->first + at->count && view->tree->status == CW_OK; i++) {
        const chart_node *child = &view->tree->nodes[i];
        if (child->reach < view->share) {
            box->rest += child->reach;
            continue;
        }
        chart_box *made = make(view, i, left - 1);
        if (made != NULL)
            join_in(view, box, made);
    }
    if (box->count < 2)
        drop_children(box);
}

static chart_box *make(chart_view *view, int node, unsigned left)
{
    const char *label = view->tree->nodes[node].label;
    chart_box *box = calloc(1, sizeof *box);
    if (!keep(view, box))
        return NULL;
    box->nodes = malloc(sizeof *box->nodes);
    box->label = strdup(label != NULL ? label : "");
    if (!keep(view, box->nodes) || !keep(view, box->label)) {
        free_box(box);
        return NULL;
    }
    box->nodes[box->node_count++] = node;
    make_children(view, box, node, left);
    if (box->count == 0)
        chart_tell(view->tree, node);
    if (view->tree->status == CW_OK)
        return box;
    free_box(box);
    return NULL;
}

/* -- Words -- */

static size_t number_caution(chart_view *view, const char *say)
{
    for (size_t i = 0; i < view->caution_count; i++)
        if (strcmp(view->cautions[i], say) == 0)
            return i + 1;
    if (view->caution_count == sizeof view->cautions / sizeof *view->cautions)
        return view->caution_count;
    char *copy = strdup(say);
    if (keep(view, copy))
        view->cautions[view->caution_count++] = copy;
    return view->caution_count; /* NOLINT(clang-analyzer-unix.Malloc): keep says no to NULL alone */
}

/* "Caution 1, 3" */
static void add_number(chart_view *view, char *text, size_t size, const char *say)
{
    const size_t used = strlen(text);
    snprintf(text + used, size - used, "%s%zu", used == 0 ? "Caution " : ", ", number_caution(view, say));
}

static void put(chart_view *view, chart_box *box, size_t at, page_face face, bool runs_on, char *text)
{
    keep(view, text);
    box->words[at] = (chart_words){text, face, runs_on};
}

static void word_question(chart_view *view, chart_box *box)
{
    const chart_node *node = &view->tree->nodes[box->nodes[0]];
    char minutes[24], cautions[120] = "";
    for (size_t i = 0; i < node->check->caution_count; i++)
        add_number(view, cautions, sizeof cautions, node->check->cautions[i]->say);
    put(view, box, 0, FACE_BOLD, false, strdup(cautions));
    put(view, box, 1, FACE_PLAIN, false, strdup(node->check->ask));
    put(view, box, 2, FACE_ITALIC, true,
        page_format("%s,\xC2\xA0%s", node->place, chart_minutes(node->minutes, minutes)));
}

/* "71 %", or "71 to 85 %" where joined branches differ. */
static char *say_figure(const chart_view *view, const chart_box *box)
{
    const chart_node *node = &view->tree->nodes[box->nodes[0]];
    char minutes[24];
    double low = 1, high = 0;
    for (size_t i = 0; i < box->node_count; i++) {
        low = fmin(low, view->tree->nodes[box->nodes[i]].chance);
        high = fmax(high, view->tree->nodes[box->nodes[i]].chance);
    }
    /* Never quite 100 of 100. */
    const int from = (int)fmin(round(low * 100), 99), to = (int)fmin(round(high * 100), 99);
    const char *where = node->end.figure, *comma = where[0] != '\0' ? ", " : "";
    chart_minutes(node->spent, minutes);
    const char *low_words = high < CHART_LIKELY ? "only " : "";
    return from == to ? page_format("%s%d\xC2\xA0%%%s%s, after %s.", low_words, from, comma, where, minutes)
                      : page_format("%s%d to %d\xC2\xA0%%%s%s, after %s.", low_words, from, to, comma, where,
                                    minutes);
}

static void word_end(chart_view *view, chart_box *box)
{
    const chart_node *node = &view->tree->nodes[box->nodes[0]];
    char cautions[120] = "";
    for (size_t i = 0; i < node->end.caution_count; i++)
        add_number(view, cautions, sizeof cautions, node->end.cautions[i]);
    put(view, box, 0, FACE_BOLD, false, page_format("%s:", node->end.head));
    put(view, box, 1, FACE_PLAIN, true, node->leader[0] != '\0' ? say_figure(view, box) : strdup(""));
    put(view, box, 2, FACE_PLAIN, true, strdup(node->end.other));
    put(view, box, 3, FACE_BOLD, false, strdup(cautions));
    put(view, box, 4, FACE_PLAIN, cautions[0] != '\0', strdup(node->end.act));
}

static void word(chart_view *view, chart_box *box, unsigned column)
{
    box->column = column;
    if (box->count == 0)
        word_end(view, box);
    else
        word_question(view, box);
    view->measured |= view->tree->nodes[box->nodes[0]].measured;
    view->left_out += box->rest;
    view->columns = box->count > 0 && column + 1 > view->columns ? column + 1 : view->columns;
    for (size_t i = 0; i < box->count; i++)
        word(view, box->children[i], column + 1);
}

void chart_view_make(chart_tree *tree, unsigned deep, double share, chart_view *out)
{
    *out = (chart_view){.tree = tree, .deep = deep, .share = share};
    out->root = tree->status == CW_OK ? make(out, 0, deep) : NULL;
    if (out->root != NULL)
        word(out, out->root, 0);
}

void chart_view_dispose(chart_view *view)
{
    free_box(view->root);
    for (size_t i = 0; i < view->caution_count; i++)
        free(view->cautions[i]);
    *view = (chart_view){0};
}
