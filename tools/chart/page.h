/* One printed page: boxes, lines and text at points (1/72 inch) from its upper left corner, in black, grey
 * and white; measured, and written as SVG or PDF.
 *
 * Widths are those of the typeface in hand; SVG tells them to the viewer, which squeezes its own face to
 * them. Fonts, measuring and PDF are cairo's. */
#ifndef TOOLS_CHART_PAGE_H
#define TOOLS_CHART_PAGE_H

#include <stdbool.h>
#include <stddef.h>

typedef enum page_face { FACE_PLAIN, FACE_BOLD, FACE_ITALIC, FACE_COUNT } page_face;

/* Measures text. */
typedef struct page_scale page_scale;
page_scale *page_scale_new(void);        /* NULL: no memory */
void page_scale_free(page_scale *scale); /* NULL allowed */
double page_width(page_scale *scale, const char *text, size_t size, page_face face, double points);

/* A line of a wrapped text. */
typedef struct page_line {
    const char *text; /* within the text wrapped */
    size_t size;
    double width;
} page_line;
/* The next line of the text that is no wider, broken between words, a word that is too long within it; moves
 * *text on. False at the end. */
bool page_wrap(page_scale *scale, const char **text, page_face face, double points, double width,
               page_line *out);

typedef enum page_kind { PAGE_BOX, PAGE_RULE, PAGE_TEXT, PAGE_GROUP, PAGE_GROUP_END } page_kind;

/* BOX: x, y, w, h; fill and stroke. RULE: from x, y by w, h; stroke. TEXT: x and baseline y, w wide. GROUP:
 * SVG alone: what follows belongs together; text is its attributes. */
typedef struct page_item {
    page_kind kind;
    double x, y, w, h;
    double stroke; /* 0: none */
    double grey;   /* of a box, 1 is white */
    page_face face;
    double points;
    char *text; /* owned; NULL */
} page_item;

typedef struct page {
    const char *title;
    double width, height;
    page_item *items; /* owned */
    size_t count;
    bool failed; /* memory ran out: the page is not whole */
} page;

/* Takes over item.text, which may be NULL only where none is wanted. */
void page_add(page *to, page_item item);
void page_text(page *to, const page_line *line, double x, double y, page_face face, double points);
void page_free(page *old);

/* printf into memory of its own; NULL without memory. */
char *page_format(const char *format, ...) __attribute__((format(printf, 1, 2)));
/* The text as it may stand in an attribute of XML; NULL without memory. */
char *page_quoted(const char *text);

/* path NULL: standard output. Exit status, the reason on standard error. */
int page_write_svg(const page *from, const char *path);
int page_write_pdf(const page *from, const char *path);

#endif
