/* The view on one sheet: a heading, the tree from left to right, what the signs mean below it.
 *
 * Questions stand in columns of one width, ends to the right of the question they answer; each box as high as
 * its words need, each parent halfway down its children. Nothing overlaps, for a box and all behind it have a
 * strip of the sheet of their own. */
#ifndef TOOLS_CHART_LAYOUT_H
#define TOOLS_CHART_LAYOUT_H

#include "chart/view.h"

/* Capitals of 8.5 points are 2.2 mm high: read from 65 cm at a three-hundredth of the distance, a common rule
 * of thumb for signs (common practice, no source); those of 24 points, 6.2 mm, from not quite two metres. */
#define CHART_LEAST_POINTS 8.5
#define CHART_MOST_POINTS 24

typedef struct chart_sheet {
    const char *paper;         /* as named */
    double width, height;      /* points, the long side across */
    const char *title, *about; /* heading; owned by the caller */
    const char *const *notes;  /* paragraphs below the chart, before the cautions */
    size_t note_count;
} chart_sheet;

/* Draws the view in the largest type that fits, none below CHART_LEAST_POINTS. False: it does not fit, or
 * memory ran out (tree->status). */
bool chart_lay_out(chart_view *view, page_scale *scale, const chart_sheet *sheet, page *out);

#endif
