/* What of the tree is drawn: so many questions deep, without what is rarer than a share, alike branches
 * joined. */
#ifndef TOOLS_CHART_VIEW_H
#define TOOLS_CHART_VIEW_H

#include "chart/page.h"
#include "chart/tree.h"

typedef struct chart_view chart_view;

/* A paragraph of a box. */
typedef struct chart_words {
    char *text; /* owned; "" is left out */
    page_face face;
    bool runs_on; /* in the line in which the one before it ends */
} chart_words;
/* A piece of a line of a box, from its upper left corner. */
typedef struct chart_run {
    page_line piece;
    page_face face;
    double x, y;
} chart_run;
enum { CHART_PARAGRAPHS = 5, CHART_RUNS = 40 };

typedef struct chart_box {
    int *nodes; /* owned: of the tree; several where branches were joined; the first speaks for all */
    size_t node_count;
    struct chart_box **children; /* owned; none: an end */
    size_t count;
    unsigned column;
    char *label; /* owned: the answers that lead here; "" for the root */
    chart_words words[CHART_PARAGRAPHS];
    double rest; /* chance of a job to come to an answer here that is not drawn */
    /* On the page; layout.c. */
    chart_run label_runs[CHART_RUNS], runs[CHART_RUNS];
    size_t label_count, run_count;
    double x, y, w, h, tall; /* tall: with all that stands behind it */
    double tab_w, tab_h;     /* the grey corner of the label: on top of a question, beside an end */
} chart_box;

struct chart_view {
    chart_tree *tree;
    unsigned deep;      /* at most */
    double share;       /* rarer ways are not drawn */
    chart_box *root;    /* owned */
    unsigned columns;   /* of questions: so deep it is */
    double left_out;    /* chance of a job to come to something not drawn */
    bool measured;      /* stretches of readings are drawn */
    char *cautions[24]; /* owned: numbered from 1 */
    size_t caution_count;
};

/* tree->status says whether it went well; dispose of it either way. */
void chart_view_make(chart_tree *tree, unsigned deep, double share, chart_view *out);
void chart_view_dispose(chart_view *view);

#endif
