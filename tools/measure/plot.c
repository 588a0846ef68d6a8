#include "measure/plot.h"
#include "screen/exit.h"
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WIDE = 66, TALL = 9, LEFT = 11 };

void plot_fit(plot *p)
{
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < p->count; i++) {
        if (p->x[i] < p->from || p->x[i] > p->to)
            continue;
        low = fmin(low, p->y[i]);
        high = fmax(high, p->y[i]);
    }
    double air = high > low ? (high - low) * 0.08 : 1;
    p->low = p->bars ? low : low - air;
    p->high = high + air;
}

/* Lowest and highest y in each column of the text; where a column has no sample, that before. */
static void columns_of(const plot *p, double (*out)[2])
{
    for (int c = 0; c < WIDE; c++)
        out[c][0] = out[c][1] = NAN;
    for (size_t i = 0; i < p->count; i++) {
        double share = (p->x[i] - p->from) / (p->to - p->from);
        if (!(share >= 0 && share <= 1))
            continue;
        int c = (int)fmin(share * WIDE, WIDE - 1);
        out[c][0] = fmin(out[c][0], p->y[i]); /* fmin and fmax pass NAN over */
        out[c][1] = fmax(out[c][1], p->y[i]);
    }
    for (int c = 1; c < WIDE; c++)
        if (isnan(out[c][0]))
            memcpy(out[c], out[c - 1], sizeof out[c]);
}

static int row_of(const plot *p, double y)
{
    double share = (y - p->low) / (p->high - p->low);
    return (int)fmin(fmax(share * TALL, 0), TALL - 1);
}

static void trim(char *line)
{
    size_t size = strlen(line);
    while (size > 0 && line[size - 1] == ' ')
        line[--size] = '\0';
}

/* The marks' first letters would not do: they are numbered above the curve, and named below. */
static void print_marks(const plot *p)
{
    char line[WIDE + 1];
    memset(line, ' ', WIDE);
    line[WIDE] = '\0';
    for (size_t i = 0; i < p->mark_count; i++) {
        double share = (p->marks[i].at - p->from) / (p->to - p->from);
        if (share >= 0 && share <= 1 && i < 26)
            line[(int)fmin(share * WIDE, WIDE - 1)] = (char)('a' + i);
    }
    trim(line);
    if (p->mark_count > 0)
        printf("%*s  %s\n", LEFT - 1, "", line);
}

static void print_names(const plot *p)
{
    for (size_t i = 0; i < p->mark_count && i < 26; i++)
        if (p->marks[i].at >= p->from && p->marks[i].at <= p->to)
            printf("%*s  %c  %s\n", LEFT - 1, "", (char)('a' + i), p->marks[i].name);
}

void plot_print(const plot *p)
{
    double columns[WIDE][2];
    columns_of(p, columns);
    printf("%s\n", p->title);
    print_marks(p);
    for (int row = TALL - 1; row >= 0; row--) {
        char line[WIDE + 1];
        for (int c = 0; c < WIDE; c++) {
            bool there = !isnan(columns[c][0]);
            int bottom = there && !p->bars ? row_of(p, columns[c][0]) : 0;
            bool filled = there && row >= bottom && row <= row_of(p, columns[c][1]);
            line[c] = ' ';
            if (filled)
                line[c] = p->bars ? '|' : '*';
        }
        line[WIDE] = '\0';
        trim(line);
        if (row == TALL - 1 || row == 0)
            printf("%*.4g |%s\n", LEFT - 1, row == 0 ? p->low : p->high, line);
        else
            printf("%*s |%s\n", LEFT - 1, row == TALL / 2 ? p->up : "", line);
    }
    char scale[WIDE + 1];
    int used = snprintf(scale, sizeof scale, "%.4g", p->from);
    int across = (int)strlen(p->across);
    char end[24];
    int last = snprintf(end, sizeof end, "%.4g", p->to);
    int gap = (WIDE - used - across - last) / 2;
    printf("%*s  %s%*s%s%*s%s\n", LEFT - 1, "", scale, gap, "", p->across, WIDE - used - across - last - gap,
           "", end);
    print_names(p);
}

/* SVG: a plane of W x H, the curve within margins. */
#define W 800.0
#define H 420.0
#define MARGIN_LEFT 80.0
#define MARGIN_RIGHT 20.0
#define MARGIN_TOP 110.0
#define MARGIN_BOTTOM 55.0
#define TICKS 5
#define MOST_POINTS 4000

static double across_at(const plot *p, double x)
{
    return MARGIN_LEFT + (x - p->from) / (p->to - p->from) * (W - MARGIN_LEFT - MARGIN_RIGHT);
}

static double down_at(const plot *p, double y)
{
    double share = fmin(fmax((y - p->low) / (p->high - p->low), 0), 1);
    return H - MARGIN_BOTTOM - share * (H - MARGIN_TOP - MARGIN_BOTTOM);
}

static void put_text(FILE *file, const char *text)
{
    for (; *text != '\0'; text++) {
        const char *special = *text == '<' ? "&lt;" : *text == '>' ? "&gt;" : *text == '&' ? "&amp;" : NULL;
        if (special != NULL)
            fputs(special, file);
        else if ((unsigned char)*text >= 0x20)
            fputc(*text, file);
    }
}

static void label(FILE *file, double x, double y, const char *more, const char *text)
{
    fprintf(file, "<text x=\"%.1f\" y=\"%.1f\" %s>", x, y, more);
    put_text(file, text);
    fputs("</text>\n", file);
}

static void draw_axes(FILE *file, const plot *p)
{
    double bottom = H - MARGIN_BOTTOM, right = W - MARGIN_RIGHT;
    fprintf(file, "<path d=\"M%.1f %.1fV%.1fH%.1f\" fill=\"none\" stroke=\"black\"/>\n", MARGIN_LEFT,
            MARGIN_TOP, bottom, right);
    for (int i = 0; i <= TICKS; i++) {
        char text[32];
        double x = p->from + (p->to - p->from) * i / TICKS, y = p->low + (p->high - p->low) * i / TICKS;
        snprintf(text, sizeof text, "%.4g", x);
        label(file, across_at(p, x), bottom + 18, "text-anchor=\"middle\"", text);
        snprintf(text, sizeof text, "%.4g", y);
        label(file, MARGIN_LEFT - 8, down_at(p, y) + 4, "text-anchor=\"end\"", text);
    }
    label(file, (MARGIN_LEFT + right) / 2, H - 14, "text-anchor=\"middle\"", p->across);
    label(file, 18, (MARGIN_TOP + bottom) / 2, "text-anchor=\"middle\" transform=\"rotate(-90 18 237)\"",
          p->up);
    label(file, MARGIN_LEFT, 24, "font-size=\"15\"", p->title);
}

static void draw_marks(FILE *file, const plot *p)
{
    for (size_t i = 0; i < p->mark_count; i++) {
        double x = across_at(p, p->marks[i].at), y = 44 + 15 * (double)(i % 4);
        if (p->marks[i].at < p->from || p->marks[i].at > p->to)
            continue;
        fprintf(file, "<path d=\"M%.1f %.1fV%.1f\" stroke=\"#b40\" stroke-dasharray=\"3 3\"/>\n", x, y + 4,
                H - MARGIN_BOTTOM);
        label(file, x, y, x > W / 2 ? "text-anchor=\"end\" fill=\"#b40\"" : "fill=\"#b40\"",
              p->marks[i].name);
    }
}

/* One point a step: of more samples than MOST_POINTS the highest of each step, for a spectrum's lines are
 * thin. */
static void draw_curve(FILE *file, const plot *p)
{
    size_t step = p->count / MOST_POINTS + 1;
    fputs("<path fill=\"none\" stroke=\"#036\" d=\"", file);
    char move = 'M';
    for (size_t i = 0; i < p->count; i += step) {
        size_t best = i;
        for (size_t k = i; k < i + step && k < p->count; k++)
            best = p->y[k] > p->y[best] ? k : best;
        if (p->x[best] < p->from || p->x[best] > p->to)
            continue;
        fprintf(file, "%c%.1f %.1f", move, across_at(p, p->x[best]), down_at(p, p->y[best]));
        move = 'L';
    }
    fputs("\"/>\n", file);
}

int plot_save(const plot *p, const char *path)
{
    FILE *file = fopen(path, "w");
    if (file == NULL) {
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(errno));
        return EXIT_FAILED;
    }
    fprintf(file,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%g\" height=\"%g\" viewBox=\"0 0 %g %g\" "
            "font-family=\"sans-serif\" font-size=\"12\">\n<title>",
            W, H, W, H);
    put_text(file, p->title);
    fputs("</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n", file);
    draw_axes(file, p);
    draw_marks(file, p);
    draw_curve(file, p);
    fputs("</svg>\n", file);
    int broken = ferror(file);
    if ((fclose(file) | broken) != 0) {
        fprintf(stderr, "corewright: error: %s: it could not be written whole\n", path);
        return EXIT_FAILED;
    }
    return EXIT_DONE;
}
