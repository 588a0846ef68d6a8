#include "chart/layout.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN 28.0  /* 10 mm: what printers leave white */
#define GUTTER 22.0  /* between columns: the lines run there */
#define LEADING 1.24 /* of the size of the type */
#define PAD 4.0      /* within a box */
#define GAP 5.0      /* least between boxes one above the other */
#define GAP_MOST 16.0
#define TITLE 1.9 /* size of the title over that of the type */
#define TAB_GREY 0.86

typedef struct layout {
    chart_view *view;
    page_scale *scale;
    const chart_sheet *sheet;
    page *out;                    /* NULL while measuring */
    double points, question, gap; /* type, width of a question, between boxes */
} layout;

static double lead(const layout *l)
{
    return l->points * LEADING;
}

/* -- Heading and notes -- */

/* Writes a paragraph across the sheet, or only measures it; returns the y below it. */
static double paragraph(const layout *l, const char *text, page_face face, double points, double y)
{
    page_line line;
    while (page_wrap(l->scale, &text, face, points, l->sheet->width - 2 * MARGIN, &line)) {
        if (l->out != NULL)
            page_text(l->out, &line, MARGIN, y + points, face, points);
        y += points * LEADING;
    }
    return y;
}

static double heading(const layout *l)
{
    double y = paragraph(l, l->sheet->title, FACE_BOLD, l->points * TITLE, MARGIN);
    y = paragraph(l, l->sheet->about, FACE_PLAIN, l->points, y + 2);
    if (l->out != NULL)
        page_add(
            l->out,
            (page_item){
                .kind = PAGE_RULE, .x = MARGIN, .y = y + 3, .w = l->sheet->width - 2 * MARGIN, .stroke = 1});
    return y + 3 + 2 * GAP;
}

static double notes(const layout *l, double y)
{
    if (l->out != NULL)
        page_add(
            l->out,
            (page_item){
                .kind = PAGE_RULE, .x = MARGIN, .y = y, .w = l->sheet->width - 2 * MARGIN, .stroke = 0.5});
    y += GAP;
    for (size_t i = 0; i < l->view->caution_count; i++) {
        char *text = page_format("Caution %zu: %s", i + 1, l->view->cautions[i]);
        if (text != NULL)
            y = paragraph(l, text, FACE_BOLD, l->points, y);
        else
            l->view->tree->status = CW_NO_MEMORY;
        free(text);
    }
    for (size_t i = 0; i < l->sheet->note_count; i++)
        y = paragraph(l, l->sheet->notes[i], FACE_PLAIN, l->points, y);
    return y;
}

/* -- Boxes -- */

/* Where the next piece goes. */
typedef struct pen {
    double x, y, left, width; /* y: top of the line; width: of a whole line */
} pen;

/* The first piece of a text that runs on goes into the line begun, where at least a word of it fits. */
static bool run_on(const layout *l, const char **text, page_face face, pen *at, chart_run *out)
{
    const double used = at->x - at->left + page_width(l->scale, " ", 1, FACE_PLAIN, l->points);
    const char *rest = *text;
    page_line piece;
    if (at->x <= at->left || !page_wrap(l->scale, &rest, face, l->points, at->width - used, &piece) ||
        piece.width > at->width - used || (*rest != '\0' && *rest != ' '))
        return false;
    *out = (chart_run){piece, face, at->left + used, at->y};
    at->x = at->left + used + piece.width;
    *text = rest;
    return true;
}

/* Sets a text; false: it is too long for the list. */
static bool set_text(const layout *l, const chart_words *words, pen *at, chart_run *runs, size_t *count)
{
    const char *text = words->text;
    page_line piece;
    if (*count == CHART_RUNS)
        return false;
    if (words->runs_on && run_on(l, &text, words->face, at, &runs[*count]))
        ++*count;
    while (page_wrap(l->scale, &text, words->face, l->points, at->width, &piece)) {
        if (*count == CHART_RUNS)
            return false;
        at->y += at->x > at->left ? lead(l) : 0;
        runs[(*count)++] = (chart_run){piece, words->face, at->left, at->y};
        at->x = at->left + piece.width;
    }
    return true;
}

static double widest_of(const chart_run *runs, size_t count)
{
    double widest = 0;
    for (size_t i = 0; i < count; i++)
        widest = fmax(widest, runs[i].x + runs[i].piece.width);
    return widest;
}

static double column_at(const layout *l, unsigned column)
{
    return MARGIN + column * (l->question + GUTTER);
}

/* The label stands above a question and beside an end, there at most a third of the width. */
static bool set_label(const layout *l, chart_box *box, double width)
{
    const bool end = box->count == 0;
    const double natural = page_width(l->scale, box->label, strlen(box->label), FACE_BOLD, l->points);
    pen at = {PAD, PAD / 2, PAD, end ? fmin(natural + 0.01, width / 3) : width - 2 * PAD};
    box->label_count = 0;
    box->tab_w = box->tab_h = 0;
    if (box->label[0] == '\0')
        return true;
    const bool fits =
        set_text(l, &(chart_words){box->label, FACE_BOLD, false}, &at, box->label_runs, &box->label_count);
    box->tab_w = end ? widest_of(box->label_runs, box->label_count) + PAD : width;
    box->tab_h = at.y + lead(l) + PAD / 2;
    return fits;
}

static bool set_words(const layout *l, chart_box *box, double width)
{
    const double left = box->count == 0 ? box->tab_w + PAD : PAD;
    pen at = {left, PAD / 2 + (box->count == 0 ? 0 : box->tab_h), left, width - left - PAD};
    bool fits = true;
    box->run_count = 0;
    for (size_t i = 0; fits && i < CHART_PARAGRAPHS; i++)
        if (box->words[i].text != NULL)
            fits = set_text(l, &box->words[i], &at, box->runs, &box->run_count);
    box->h = at.y + lead(l) + PAD / 2;
    return fits;
}

/* Wraps and measures. False: it cannot fit. */
static bool measure(const layout *l, chart_box *box)
{
    box->x = column_at(l, box->column);
    const double most = l->sheet->width - MARGIN - box->x;
    box->w = box->count > 0 ? l->question : most;
    if (box->w < 60 || most < box->w - 0.01)
        return false;
    bool fits = set_label(l, box, box->w) && set_words(l, box, box->w);
    if (box->count == 0) { /* no wider than needed */
        box->w = widest_of(box->runs, box->run_count) + PAD;
        box->h = fmax(box->h, box->tab_h);
        box->tab_h = box->h;
    }
    box->tall = 0;
    for (size_t i = 0; fits && i < box->count; i++) {
        fits = measure(l, box->children[i]);
        box->tall += box->children[i]->tall + (i > 0 ? l->gap : 0);
    }
    box->tall = fmax(box->tall, box->h);
    return fits;
}

/* Where lines come in: the middle of the first line. */
static double entry(const layout *l, const chart_box *box)
{
    return box->y + PAD / 2 + lead(l) / 2;
}

/* The box and all behind it get the strip from y on. */
static void place(const layout *l, chart_box *box, double y)
{
    double inside = 0;
    for (size_t i = 0; i < box->count; i++)
        inside += box->children[i]->tall + (i > 0 ? l->gap : 0);
    double at = y + (box->tall - inside) / 2;
    for (size_t i = 0; i < box->count; i++) {
        place(l, box->children[i], at);
        at += box->children[i]->tall + l->gap;
    }
    box->y = y + (box->tall - box->h) / 2;
    if (box->count > 0) { /* halfway down its children, within its strip */
        const double middle =
            (entry(l, box->children[0]) + entry(l, box->children[box->count - 1])) / 2 - box->h / 2;
        box->y = fmin(fmax(middle, y), y + box->tall - box->h);
    }
}

/* -- Drawing -- */

static void rule(const layout *l, double x, double y, double w, double h)
{
    page_add(l->out, (page_item){.kind = PAGE_RULE, .x = x, .y = y, .w = w, .h = h, .stroke = 0.8});
}

static void draw_branches(const layout *l, const chart_box *box)
{
    if (box->count == 0)
        return;
    const double trunk = box->x + l->question + GUTTER / 2, from = box->y + box->h / 2;
    double top = from, bottom = from;
    rule(l, box->x + box->w, from, trunk - box->x - box->w, 0);
    for (size_t i = 0; i < box->count; i++) {
        const double at = entry(l, box->children[i]);
        top = fmin(top, at);
        bottom = fmax(bottom, at);
        rule(l, trunk, at, box->children[i]->x - trunk, 0);
    }
    rule(l, trunk, top, 0, bottom - top);
}

static void draw_runs(const layout *l, const chart_box *box, const chart_run *runs, size_t count)
{
    for (size_t i = 0; i < count; i++)
        page_text(l->out, &runs[i].piece, box->x + runs[i].x, box->y + runs[i].y + l->points, runs[i].face,
                  l->points);
}

static void draw_text(const layout *l, const chart_box *box)
{
    page_add(l->out, (page_item){.kind = PAGE_BOX,
                                 .x = box->x,
                                 .y = box->y,
                                 .w = box->w,
                                 .h = box->h,
                                 .grey = 1,
                                 .stroke = box->count > 0 ? 0.7 : 1.8});
    if (box->label_count > 0)
        page_add(l->out, (page_item){.kind = PAGE_BOX,
                                     .x = box->x + 1,
                                     .y = box->y + 1,
                                     .w = box->tab_w - (box->count > 0 ? 2 : 1),
                                     .h = box->tab_h - (box->count > 0 ? 1 : 2),
                                     .grey = TAB_GREY});
    draw_runs(l, box, box->label_runs, box->label_count);
    draw_runs(l, box, box->runs, box->run_count);
}

/* "mount_style=pad|bolt_count=4": the way to a node. Owned by the caller. */
static char *way_to(const chart_tree *tree, int node)
{
    const chart_node *at = &tree->nodes[node];
    if (at->parent == CHART_NONE)
        return strdup("");
    char *before = way_to(tree, at->parent);
    char *way = before != NULL ? page_format("%s%s%s=%s", before, before[0] != '\0' ? "|" : "",
                                             tree->nodes[at->parent].check->name, at->value)
                               : NULL;
    free(before);
    return way;
}

static void add_group(const layout *l, char *raw)
{
    page_add(l->out, (page_item){.kind = PAGE_GROUP, .text = raw});
}

/* What programs read of an end: every way that leads to it. */
static void draw_ways(const layout *l, const chart_box *box)
{
    const chart_tree *tree = l->view->tree;
    for (size_t i = 0; i < box->node_count; i++) {
        const chart_node *node = &tree->nodes[box->nodes[i]];
        char *way = way_to(tree, box->nodes[i]);
        char *quoted = way != NULL ? page_quoted(way) : NULL;
        char *values = page_quoted(node->values != NULL ? node->values : "");
        add_group(l,
                  quoted != NULL && values != NULL
                      ? page_format("class=\"way\" data-answers=\"%s\" data-same=\"%s\" data-leader=\"%s\" "
                                    "data-chance=\"%.9f\" data-reach=\"%.9f\" data-minutes=\"%.6f\"",
                                    quoted, values, node->leader, node->chance, node->reach, node->spent)
                      : NULL);
        page_add(l->out, (page_item){.kind = PAGE_GROUP_END});
        free(way);
        free(quoted);
        free(values);
    }
}

static char *question_head(const chart_tree *tree, const chart_box *box, const char *label)
{
    const chart_node *node = &tree->nodes[box->nodes[0]];
    char *way = way_to(tree, box->nodes[0]);
    char *quoted = way != NULL ? page_quoted(way) : NULL;
    char *head =
        quoted != NULL
            ? page_format("class=\"question\" data-label=\"%s\" data-answers=\"%s\" data-check=\"%s\" "
                          "data-place=\"%s\" data-minutes=\"%.6f\" data-rest=\"%.9f\"",
                          label, quoted, node->check->name, node->place, node->minutes, box->rest)
            : NULL;
    free(way);
    free(quoted);
    return head;
}

static void draw(const layout *l, const chart_box *box)
{
    char *label = page_quoted(box->label);
    if (label == NULL)
        add_group(l, NULL);
    else
        add_group(l, box->count == 0 ? page_format("class=\"end\" data-label=\"%s\"", label)
                                     : question_head(l->view->tree, box, label));
    free(label);
    if (box->count == 0)
        draw_ways(l, box);
    draw_text(l, box);
    page_add(l->out, (page_item){.kind = PAGE_GROUP_END});
    draw_branches(l, box);
    for (size_t i = 0; i < box->count; i++)
        draw(l, box->children[i]);
}

/* -- Fitting -- */

/* The width of a question with which the tree is lowest; false: none fits. */
static bool best_width(layout *l, double room)
{
    const double across = l->sheet->width - 2 * MARGIN;
    double best = INFINITY, width = 0;
    for (int share = 11; share <= 34; share++) {
        l->question = across * share / 100;
        if (measure(l, l->view->root) && l->view->root->tall < best) {
            best = l->view->root->tall;
            width = l->question;
        }
    }
    l->question = width;
    return best <= room && measure(l, l->view->root);
}

/* What height is left goes between the boxes. */
static void spread(layout *l, double room)
{
    while (l->gap < GAP_MOST) {
        l->gap += 1;
        measure(l, l->view->root);
        if (l->view->root->tall <= room)
            continue;
        l->gap -= 1;
        break;
    }
    measure(l, l->view->root);
}

bool chart_lay_out(chart_view *view, page_scale *scale, const chart_sheet *sheet, page *out)
{
    *out = (page){.title = sheet->title, .width = sheet->width, .height = sheet->height};
    const int most = (int)(CHART_MOST_POINTS * 2), least = (int)(CHART_LEAST_POINTS * 2);
    for (int half = most; view->tree->status == CW_OK && half >= least; half--) {
        layout l = {.view = view, .scale = scale, .sheet = sheet, .points = half / 2.0, .gap = GAP};
        const double top = heading(&l), below = notes(&l, 0);
        const double room = sheet->height - MARGIN - below - 2 * GAP - top;
        if (!best_width(&l, room))
            continue;
        spread(&l, room);
        l.out = out;
        heading(&l);
        place(&l, view->root, top + fmax(0, (room - view->root->tall) / 2));
        draw(&l, view->root);
        notes(&l, sheet->height - MARGIN - below);
        view->tree->status = out->failed ? CW_NO_MEMORY : view->tree->status;
        return view->tree->status == CW_OK;
    }
    return false;
}
