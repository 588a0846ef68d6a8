/* The page and its SVG. */
#include "chart/page.h"
#include "screen/exit.h"
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void page_add(page *to, page_item item)
{
    const size_t step = 256;
    if (to->count % step == 0 && !to->failed) {
        page_item *more = realloc(to->items, (to->count + step) * sizeof *more);
        to->failed = more == NULL;
        if (more != NULL)
            to->items = more;
    }
    to->failed |= item.text == NULL && (item.kind == PAGE_TEXT || item.kind == PAGE_GROUP);
    if (to->failed)
        free(item.text);
    else
        to->items[to->count++] = item;
}

void page_text(page *to, const page_line *line, double x, double y, page_face face, double points)
{
    page_add(to, (page_item){.kind = PAGE_TEXT,
                             .x = x,
                             .y = y,
                             .w = line->width,
                             .face = face,
                             .points = points,
                             .text = strndup(line->text, line->size)});
}

void page_free(page *old)
{
    for (size_t i = 0; i < old->count; i++)
        free(old->items[i].text);
    free(old->items);
    *old = (page){0};
}

char *page_format(const char *format, ...)
{
    char *text = NULL;
    size_t size;
    FILE *memory = open_memstream(&text, &size);
    if (memory == NULL)
        return NULL;
    va_list arguments;
    va_start(arguments, format);
    vfprintf(memory, format, arguments); /* NOLINT(clang-analyzer-valist.Uninitialized) */
    va_end(arguments);
    if (fclose(memory) == 0)
        return text;
    free(text);
    return NULL;
}

static void put_escaped(FILE *file, const char *text)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '<':
            fputs("&lt;", file);
            break;
        case '>':
            fputs("&gt;", file);
            break;
        case '&':
            fputs("&amp;", file);
            break;
        case '"':
            fputs("&quot;", file);
            break;
        default:
            fputc((unsigned char)*text < 0x20 ? ' ' : *text, file);
        }
    }
}

char *page_quoted(const char *text)
{
    char *out = NULL;
    size_t size;
    FILE *memory = open_memstream(&out, &size);
    if (memory == NULL)
        return NULL;
    put_escaped(memory, text);
    if (fclose(memory) == 0)
        return out;
    free(out);
    return NULL;
}

static void put_item(FILE *file, const page_item *item)
{
    static const char *const faces[FACE_COUNT] = {"", " font-weight=\"bold\"", " font-style=\"italic\""};
    switch (item->kind) {
    case PAGE_BOX:
        fprintf(file, "<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"#%02x%02x%02x\"",
                item->x, item->y, item->w, item->h, (unsigned)(item->grey * 255),
                (unsigned)(item->grey * 255), (unsigned)(item->grey * 255));
        if (item->stroke > 0)
            fprintf(file, " stroke=\"black\" stroke-width=\"%.2f\"", item->stroke);
        fputs("/>\n", file);
        break;
    case PAGE_RULE:
        fprintf(file,
                "<line x1=\"%.2f\" y1=\"%.2f\" x2=\"%.2f\" y2=\"%.2f\" stroke=\"black\" "
                "stroke-width=\"%.2f\"/>\n",
                item->x, item->y, item->x + item->w, item->y + item->h, item->stroke);
        break;
    case PAGE_TEXT:
        fprintf(file,
                "<text x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\" textLength=\"%.2f\" "
                "lengthAdjust=\"spacingAndGlyphs\"%s>",
                item->x, item->y, item->points, item->w, faces[item->face]);
        put_escaped(file, item->text);
        fputs("</text>\n", file);
        break;
    case PAGE_GROUP:
        fprintf(file, "<g %s>\n", item->text);
        break;
    case PAGE_GROUP_END:
        fputs("</g>\n", file);
        break;
    }
}

static void put_page(FILE *file, const page *from)
{
    const double mm = 25.4 / 72;
    fprintf(file,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.1fmm\" height=\"%.1fmm\" "
            "viewBox=\"0 0 %.2f %.2f\" font-family=\"'DejaVu Sans Condensed', 'Liberation Sans', Arial, "
            "sans-serif\">\n<title>",
            from->width * mm, from->height * mm, from->width, from->height);
    put_escaped(file, from->title);
    fputs("</title>\n<rect class=\"paper\" width=\"100%\" height=\"100%\" fill=\"white\"/>\n", file);
    for (size_t i = 0; i < from->count; i++)
        put_item(file, &from->items[i]);
    fputs("</svg>\n", file);
}

int page_write_svg(const page *from, const char *path)
{
    if (path == NULL) {
        put_page(stdout, from);
        return EXIT_DONE;
    }
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(errno));
        return EXIT_FAILED;
    }
    put_page(file, from);
    const int broken = ferror(file);
    if ((fclose(file) | broken) == 0)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: it could not be written whole\n", path);
    return EXIT_FAILED;
}
