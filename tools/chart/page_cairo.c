/* Widths of text, and the page as PDF: the one file that knows cairo. */
#include "chart/page.h"
#include "screen/exit.h"
#include <cairo-pdf.h>
#include <errno.h>
#include <fontconfig/fontconfig.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FAMILY "DejaVu Sans"
#define NARROW 0.9     /* the face is a wide one: set as its condensed cut would be */
#define MEASURED 100.0 /* points at which glyphs are measured: widths grow with the size, unhinted */

struct page_scale {
    cairo_surface_t *surface;
    cairo_t *faces[FACE_COUNT];
};

static void choose(cairo_t *to, page_face face, double points)
{
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(to, options);
    cairo_font_options_destroy(options);
    cairo_select_font_face(to, FAMILY,
                           face == FACE_ITALIC ? CAIRO_FONT_SLANT_ITALIC : CAIRO_FONT_SLANT_NORMAL,
                           face == FACE_BOLD ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
    const cairo_matrix_t size = {.xx = points * NARROW, .yy = points};
    cairo_set_font_matrix(to, &size);
}

page_scale *page_scale_new(void)
{
    page_scale *scale = calloc(1, sizeof *scale);
    if (scale == NULL)
        return NULL;
    scale->surface = cairo_pdf_surface_create_for_stream(NULL, NULL, 1, 1); /* writes nothing */
    bool well = cairo_surface_status(scale->surface) == CAIRO_STATUS_SUCCESS;
    for (page_face face = FACE_PLAIN; face < FACE_COUNT; face++) {
        scale->faces[face] = cairo_create(scale->surface);
        choose(scale->faces[face], face, MEASURED);
        well = well && cairo_status(scale->faces[face]) == CAIRO_STATUS_SUCCESS;
    }
    if (well)
        return scale;
    page_scale_free(scale);
    return NULL;
}

void page_scale_free(page_scale *scale)
{
    if (scale == NULL)
        return;
    for (page_face face = FACE_PLAIN; face < FACE_COUNT; face++)
        cairo_destroy(scale->faces[face]);
    cairo_surface_destroy(scale->surface);
    cairo_debug_reset_static_data(); /* the fonts that cairo keeps, and what fontconfig keeps of them */
    FcFini();
    free(scale);
}

double page_width(page_scale *scale, const char *text, size_t size, page_face face, double points)
{
    char *copy = strndup(text, size);
    cairo_text_extents_t extents = {0};
    if (copy != NULL)
        cairo_text_extents(scale->faces[face], copy, &extents);
    free(copy);
    return extents.x_advance * points / MEASURED;
}

/* As much of a word as fits, whole characters of UTF-8, at least one. */
static size_t part_of(page_scale *scale, const char *word, size_t size, page_face face, double points,
                      double width)
{
    size_t fits = 0;
    for (size_t at = 1; at <= size; at++) {
        if (at < size && ((unsigned char)word[at] & 0xC0) == 0x80)
            continue;
        if (fits > 0 && page_width(scale, word, at, face, points) > width)
            break;
        fits = at;
    }
    return fits;
}

/* Word by word: cairo sets glyph by glyph without kerning, so that widths add up. */
bool page_wrap(page_scale *scale, const char **text, page_face face, double points, double width,
               page_line *out)
{
    const char *start = *text + strspn(*text, " \n");
    const double blank = page_width(scale, " ", 1, face, points);
    double used = 0;
    size_t taken = 0;
    if (*start == '\0')
        return false;
    for (;;) {
        const size_t blanks = taken > 0 ? strspn(start + taken, " \n") : 0;
        const size_t word = strcspn(start + taken + blanks, " \n");
        const double more =
            (double)blanks * blank + page_width(scale, start + taken + blanks, word, face, points);
        if (word == 0 || used + more > width)
            break;
        used += more;
        taken += blanks + word;
    }
    if (taken == 0) {
        taken = part_of(scale, start, strcspn(start, " \n"), face, points, width);
        used = page_width(scale, start, taken, face, points);
    }
    *out = (page_line){start, taken, used};
    *text = start + taken;
    return true;
}

static void draw(cairo_t *to, const page_item *item)
{
    switch (item->kind) {
    case PAGE_BOX:
        cairo_rectangle(to, item->x, item->y, item->w, item->h);
        cairo_set_source_rgb(to, item->grey, item->grey, item->grey);
        cairo_fill_preserve(to);
        cairo_set_source_rgb(to, 0, 0, 0);
        cairo_set_line_width(to, item->stroke);
        if (item->stroke > 0)
            cairo_stroke(to);
        cairo_new_path(to);
        break;
    case PAGE_RULE:
        cairo_move_to(to, item->x, item->y);
        cairo_rel_line_to(to, item->w, item->h);
        cairo_set_line_width(to, item->stroke);
        cairo_stroke(to);
        break;
    case PAGE_TEXT:
        choose(to, item->face, item->points);
        cairo_move_to(to, item->x, item->y);
        cairo_show_text(to, item->text);
        break;
    case PAGE_GROUP:
    case PAGE_GROUP_END:
        break;
    }
}

static cairo_status_t put(void *file, const unsigned char *data, unsigned size)
{
    return fwrite(data, 1, size, file) == size ? CAIRO_STATUS_SUCCESS : CAIRO_STATUS_WRITE_ERROR;
}

/* cairo's own files do not tell of a full disk. */
static cairo_status_t put_page(FILE *file, const page *from)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(put, file, from->width, from->height);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, from->title);
    cairo_t *to = cairo_create(surface);
    cairo_set_source_rgb(to, 0, 0, 0);
    for (size_t i = 0; i < from->count; i++)
        draw(to, &from->items[i]);
    cairo_show_page(to);
    cairo_surface_finish(surface);
    cairo_status_t status = cairo_status(to);
    if (status == CAIRO_STATUS_SUCCESS)
        status = cairo_surface_status(surface);
    cairo_destroy(to);
    cairo_surface_destroy(surface);
    return status;
}

int page_write_pdf(const page *from, const char *path)
{
    FILE *file = fopen(path, "wb");
    if (file == NULL) {
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(errno));
        return EXIT_FAILED;
    }
    const cairo_status_t status = put_page(file, from);
    const int broken = ferror(file);
    if ((fclose(file) | broken) == 0 && status == CAIRO_STATUS_SUCCESS)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: it could not be written whole\n", path);
    return EXIT_FAILED;
}
