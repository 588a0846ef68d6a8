/* One curve over an axis, in 80 columns of text or as SVG, with places on it named. */
#ifndef TOOLS_MEASURE_PLOT_H
#define TOOLS_MEASURE_PLOT_H

#include <stdbool.h>
#include <stddef.h>

typedef struct plot_mark {
    double at;
    const char *name;
} plot_mark;

typedef struct plot {
    const char *title, *across, *up; /* axes with their units */
    const double *x, *y;             /* rising x */
    size_t count;
    double from, to;  /* x shown */
    double low, high; /* y shown */
    bool bars;        /* filled from below: a spectrum; otherwise a line: a wave */
    const plot_mark *marks;
    size_t mark_count;
} plot;

/* At most 80 columns and 16 lines to standard output. */
void plot_print(const plot *p);
/* A new file, or over an old one. EXIT_DONE, or EXIT_FAILED with a message on standard error. */
int plot_save(const plot *p, const char *path);
/* low and high around all y within from and to, with some air. */
void plot_fit(plot *p);

#endif
