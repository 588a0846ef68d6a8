/* Every two of a kind as a matrix, one half of it: the letter of the place and a pattern in each square, the
 * colour only beside them. */
#include "apart/apart.h"
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CELL = 15, TOP = 150, EDGE = 16, MOST = 200, SOME = 60, NAME = 44, TIP = 600 };

typedef struct canvas {
    FILE *file;
    const cw_apart *apart;
    const size_t *shown; /* members, in order */
    size_t count;
    const cw_apart_two **cells; /* by row, then column: the later member in the row; NULL: not listed */
    int left;
} canvas;

/* What XML 1.0 has no place for is left out; `most` characters, then "...". */
static void put_text(FILE *file, const char *text, size_t most)
{
    size_t count = 0;
    for (; *text != '\0'; text++) {
        const unsigned char c = (unsigned char)*text;
        const char *special = c == '<' ? "&lt;" : c == '>' ? "&gt;" : c == '&' ? "&amp;" : NULL;
        count += (c & 0xC0) != 0x80;
        if (count > most) {
            fputs("...", file);
            return;
        }
        if (special != NULL)
            fputs(special, file);
        else if (c >= 0x20)
            fputc(c, file);
    }
}

static void label(FILE *file, double x, double y, const char *more, const char *text)
{
    fprintf(file, "<text x=\"%.1f\" y=\"%.1f\"%s>", x, y, more);
    put_text(file, text, 200);
    fputs("</text>\n", file);
}

/* Each kind of square: plain, stripes one way, stripes both ways, black. */
static void define(FILE *file)
{
    fputs("<defs>\n"
          "<pattern id=\"several\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">"
          "<rect width=\"5\" height=\"5\" fill=\"#fff3c4\"/>"
          "<path d=\"M0 5L5 0\" stroke=\"#b8a45a\" stroke-width=\"0.8\"/></pattern>\n"
          "<pattern id=\"less\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\">"
          "<rect width=\"5\" height=\"5\" fill=\"#f6b48f\"/>"
          "<path d=\"M0 5L5 0M0 0L5 5\" stroke=\"#a4532a\" stroke-width=\"0.8\"/></pattern>\n"
          "</defs>\n",
          file);
}

static const char *fill_of(cw_apart_told told)
{
    static const char *const fills[] = {"#eaf5ee", "url(#several)", "url(#less)", "#000000"};
    return fills[told];
}

/* One square with its letter; the letter lies on a light ground where there are stripes. */
static void draw_square(FILE *file, double x, double y, cw_apart_told told, char letter)
{
    const char text[2] = {told == CW_APART_BY_NOTHING ? '=' : letter, '\0'};
    fprintf(file,
            "<rect x=\"%.1f\" y=\"%.1f\" width=\"%d\" height=\"%d\" fill=\"%s\" stroke=\"#888\" "
            "stroke-width=\"0.4\"/>",
            x, y, CELL, CELL, fill_of(told));
    if (told == CW_APART_BY_SEVERAL || told == CW_APART_LESS_SURELY)
        fprintf(file, "<circle cx=\"%.1f\" cy=\"%.1f\" r=\"5.2\" fill=\"white\"/>", x + CELL / 2.0,
                y + CELL / 2.0);
    label(file, x + CELL / 2.0, y + CELL - 4,
          told == CW_APART_BY_NOTHING ? " text-anchor=\"middle\" fill=\"white\" font-weight=\"bold\""
                                      : " text-anchor=\"middle\"",
          text);
}

static void draw_tip(const canvas *c, const cw_apart_two *two)
{
    char words[TIP], by[TIP - 200];
    apart_words(&two->way, by, sizeof by);
    if (two->told == CW_APART_BY_NOTHING)
        snprintf(words, sizeof words, ": nothing tells them");
    else
        snprintf(words, sizeof words, ": %.0f %% sure, %.4g min, %s", floor(two->way.certainty * 100 + 1e-6),
                 two->way.minutes, by);
    fputs("<title>", c->file);
    put_text(c->file, c->apart->members[two->first].title, 200);
    fputs(" | ", c->file);
    put_text(c->file, c->apart->members[two->second].title, 200);
    put_text(c->file, words, TIP);
    fputs("</title>", c->file);
}

static void draw_matrix(const canvas *c)
{
    for (size_t row = 0; row < c->count; row++) {
        const double y = TOP + (double)row * CELL;
        char number[24];
        snprintf(number, sizeof number, "%zu", row + 1);
        fprintf(c->file, "<text x=\"%d\" y=\"%.1f\" text-anchor=\"end\">", c->left - 6, y + CELL - 4);
        put_text(c->file, c->apart->members[c->shown[row]].title, NAME);
        fprintf(c->file, "  %s</text>\n", number);
        for (size_t column = 0; column < row; column++) {
            const cw_apart_two *two = c->cells[row * c->count + column];
            if (two == NULL)
                continue;
            fputs("<g>", c->file);
            draw_tip(c, two);
            draw_square(c->file, c->left + (double)column * CELL, y, two->told, apart_letter(two->way.place));
            fputs("</g>\n", c->file);
        }
        label(c->file, c->left + ((double)row + 0.5) * CELL, y + CELL - 4,
              " text-anchor=\"middle\" font-weight=\"bold\" font-size=\"8\"", number);
    }
}

static void draw_legend(const canvas *c)
{
    static const char *const says[] = {"one look is sure: letter of the place where the cheapest ends",
                                       "several looks together are sure: the place where the last one is",
                                       "told, but less surely", "nothing allowed tells them"};
    char title[192];
    snprintf(title, sizeof title, "%s: what cannot be told apart", c->apart->causes ? "Causes" : "Units");
    label(c->file, EDGE, 26, " font-size=\"15\"", title);
    snprintf(title, sizeof title,
             "C counter, V vehicle, B bench, T teardown. Sure: the right one of two in %.4g of 100, both as "
             "likely beforehand.%s",
             c->apart->sure * 100,
             c->count < c->apart->count ? " Those hardest to tell; what is left white is easier." : "");
    label(c->file, EDGE, 46, "", title);
    for (int told = 0; told < 4; told++) {
        const double y = 58 + 19.0 * told;
        draw_square(c->file, EDGE, y, (cw_apart_told)told, 'C');
        label(c->file, EDGE + CELL + 8, y + CELL - 4, "", says[told]);
    }
}

static void draw_all(const canvas *c)
{
    const int wide = c->left + (int)c->count * CELL + EDGE, width = wide < 760 ? 760 : wide;
    const int height = TOP + (int)c->count * CELL + EDGE;
    fprintf(c->file,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\" "
            "font-family=\"sans-serif\" font-size=\"11\">\n<title>%s: what cannot be told apart</title>\n",
            width, height, width, height, c->apart->causes ? "Causes" : "Units");
    define(c->file);
    fputs("<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n", c->file);
    draw_legend(c);
    draw_matrix(c);
    fputs("</svg>\n", c->file);
}

/* All; of many those that stand in the hardest pairs, each with its place in the order of members. */
static size_t choose(const cw_apart *apart, size_t *shown, size_t *place)
{
    const size_t none = (size_t)-1;
    size_t count = 0;
    const cw_apart_two **order = calloc(apart->list_count + 1, sizeof *order);
    for (size_t m = 0; m < apart->count; m++)
        place[m] = apart->count <= MOST ? m : none;
    for (size_t i = 0; order != NULL && i < apart->list_count; i++)
        order[i] = &apart->list[i];
    if (order != NULL && apart->count > MOST)
        qsort(order, apart->list_count, sizeof *order, apart_hardest_first);
    for (size_t i = 0, chosen = 0; order != NULL && apart->count > MOST && i < apart->list_count; i++) {
        const size_t both[2] = {order[i]->first, order[i]->second};
        for (int k = 0; k < 2 && chosen < SOME; k++)
            if (place[both[k]] == none) {
                place[both[k]] = 0;
                chosen++;
            }
    }
    free(order);
    for (size_t m = 0; m < apart->count; m++)
        if (place[m] != none) {
            place[m] = count;
            shown[count++] = m;
        }
    return count;
}

static bool lay_out(canvas *c, size_t *shown, size_t *place)
{
    const size_t none = (size_t)-1;
    size_t longest = 0;
    c->shown = shown;
    c->count = choose(c->apart, shown, place);
    c->cells = calloc(c->count * c->count + 1, sizeof *c->cells);
    for (size_t i = 0; c->cells != NULL && i < c->apart->list_count; i++) {
        const cw_apart_two *two = &c->apart->list[i];
        if (place[two->first] != none && place[two->second] != none)
            c->cells[place[two->second] * c->count + place[two->first]] = two;
    }
    for (size_t i = 0; i < c->count; i++) {
        const size_t size = strlen(c->apart->members[shown[i]].title);
        longest = size > longest ? size : longest;
    }
    c->left = EDGE + 30 + (int)(6.3 * (double)(longest < NAME ? longest : NAME + 3));
    return c->cells != NULL;
}

static int write_file(const canvas *c, const char *path)
{
    canvas out = *c;
    out.file = fopen(path, "w");
    if (out.file == NULL) {
        const int reason = errno;
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(reason));
        return reason == ENOENT || reason == ENOTDIR || reason == EISDIR ? EXIT_WRONG : EXIT_FAILED;
    }
    draw_all(&out);
    const int broken = ferror(out.file);
    if ((fclose(out.file) | broken) == 0)
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: %s: it could not be written whole\n", path);
    return EXIT_FAILED;
}

int apart_draw(const cw_apart *apart, const char *path)
{
    size_t *shown = calloc(apart->count + 1, sizeof *shown), *place = calloc(apart->count + 1, sizeof *place);
    canvas c = {.apart = apart};
    int status = EXIT_FAILED;
    if (shown != NULL && place != NULL && lay_out(&c, shown, place))
        status = write_file(&c, path);
    else
        fputs("corewright: error: out of memory\n", stderr);
    free(c.cells);
    free(shown);
    free(place);
    return status;
}
