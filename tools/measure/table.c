#include "measure/table.h"
#include "screen/exit.h"
#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { MOST_BYTES = 256 << 20, MOST_COLUMNS = 32, MOST_ERRORS = 10, SURE = 3, CELL = 64, SHOWN = 100 };

/* How the numbers are written. */
typedef struct way {
    char between, decimal;
} way;

typedef struct cell {
    const char *text;
    size_t size;
} cell;

typedef struct reader {
    const char *path, *text;
    size_t size;
    way way;
    size_t columns; /* of the first line of numbers */
    size_t wanted;  /* 2: time and volts; 1: volts */
    double time_scale, volts_scale;
    size_t room, errors;
    trace_table *out;
} reader;

static bool blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

/* Without blanks and quotes around it. */
static cell trim(cell in, char between)
{
    while (in.size > 0 && (in.text[0] == '"' || (blank(in.text[0]) && in.text[0] != between))) {
        in.text++;
        in.size--;
    }
    while (in.size > 0 && (in.text[in.size - 1] == '"' || blank(in.text[in.size - 1])))
        in.size--;
    return in;
}

static size_t split(cell line, char between, cell *out)
{
    size_t count = 0, from = 0;
    for (size_t i = 0; i <= line.size; i++) {
        if (i < line.size && line.text[i] != between)
            continue;
        if (count < MOST_COLUMNS)
            out[count] = trim((cell){line.text + from, i - from}, between);
        count++;
        from = i + 1;
    }
    count = count < MOST_COLUMNS ? count : MOST_COLUMNS;
    while (count > 1 && out[count - 1].size == 0) /* a separator at the end of each line */
        count--;
    return count;
}

/* sign, digits with at most one decimal mark, exponent: no names, no hexadecimal, no grouping. */
static bool number(cell in, char decimal, double *out)
{
    char copy[CELL];
    size_t i = 0, digits = 0;
    if (in.size == 0 || in.size >= sizeof copy)
        return false;
    memcpy(copy, in.text, in.size);
    copy[in.size] = '\0';
    i += copy[i] == '+' || copy[i] == '-' ? 1 : 0;
    for (bool marked = false; (copy[i] >= '0' && copy[i] <= '9') || (!marked && copy[i] == decimal); i++) {
        if (copy[i] == decimal) {
            copy[i] = '.';
            marked = true;
        } else {
            digits++;
        }
    }
    if (digits == 0)
        return false;
    if (copy[i] == 'e' || copy[i] == 'E') {
        i += copy[i + 1] == '+' || copy[i + 1] == '-' ? 2 : 1;
        if (copy[i] < '0' || copy[i] > '9')
            return false;
        while (copy[i] >= '0' && copy[i] <= '9')
            i++;
    }
    *out = strtod(copy, NULL);
    return copy[i] == '\0' && isfinite(*out);
}

/* The line that begins at *at, which moves behind it. */
static cell next_line(const reader *in, size_t *at)
{
    size_t from = *at;
    const char *end = memchr(in->text + from, '\n', in->size - from);
    size_t to = end != NULL ? (size_t)(end - in->text) : in->size;
    *at = to < in->size ? to + 1 : to;
    if (to > from && in->text[to - 1] == '\r')
        to--;
    return (cell){in->text + from, to - from};
}

/* FILE:LINE:COLUMN: error: ..., the line and a caret. spot: where in the line; NULL: at no line. */
static void complain(reader *in, size_t line_number, cell line, const char *spot, const char *what,
                     const char *help)
{
    if (++in->errors > MOST_ERRORS)
        return;
    size_t before = spot != NULL ? (size_t)(spot - line.text) : 0, column = 1;
    for (size_t i = 0; i < before; i++) /* characters, not bytes */
        column += ((unsigned char)line.text[i] & 0xC0) != 0x80;
    fprintf(stderr, "%s:%zu:%zu: error: %s\n", in->path, line_number, column, what);
    if (spot != NULL && line.size > 0 && line.size <= SHOWN) {
        for (size_t i = 0; i < line.size; i++)
            fputc((unsigned char)line.text[i] < 0x20 ? ' ' : line.text[i], stderr);
        fprintf(stderr, "\n%*s^\n", (int)column - 1, "");
    }
    if (help != NULL)
        fprintf(stderr, "help: %s\n", help);
}

/* Columns of a line of numbers alone; 0 for any other. */
static size_t numbers(cell line, way how)
{
    cell cells[MOST_COLUMNS];
    size_t count = split(line, how.between, cells);
    for (size_t i = 0; i < count; i++) {
        double value;
        if (!number(cells[i], how.decimal, &value))
            return 0;
    }
    return count;
}

/* Whether lines from `at` on are numbers in this way, as many columns each, for SURE lines or to the end. */
static bool goes_on(const reader *in, size_t at, way how, size_t columns)
{
    for (size_t seen = 0; seen < SURE && at < in->size;) {
        cell line = next_line(in, &at);
        if (trim(line, 0).size == 0)
            continue;
        if (numbers(line, how) != columns)
            return false;
        seen++;
    }
    return true;
}

/* Finds the first line of numbers and how they are written. With volts alone a comma can only be a decimal
 * mark. */
static bool find_numbers(reader *in, size_t *start, size_t *line_number)
{
    static const way two[] = {{';', '.'}, {';', ','}, {'\t', '.'}, {'\t', ','}, {',', '.'}};
    static const way one[] = {{';', '.'}, {';', ','}};
    const way *ways = in->wanted == 1 ? one : two;
    size_t count = in->wanted == 1 ? 2 : 5;
    size_t at = 0;
    size_t alone = 0, alone_line = 0;
    for (size_t n = 1; at < in->size; n++) {
        size_t from = at;
        cell line = next_line(in, &at);
        for (size_t i = 0; i < count; i++) {
            size_t columns = numbers(line, ways[i]);
            if (columns == 1 && in->wanted == 2 && alone_line == 0 && goes_on(in, from, ways[i], 1)) {
                alone = from;
                alone_line = n;
            }
            if (columns < in->wanted || !goes_on(in, from, ways[i], columns))
                continue;
            in->way = ways[i];
            in->columns = columns;
            *start = from;
            *line_number = n;
            return true;
        }
    }
    *start = alone;
    *line_number = alone_line;
    return false;
}

/* "ms", "(ms)", "Time [ms]", "mV": what a unit's name multiplies by; 0 for what is none. */
static double scale_of(cell name, char base, char *unit)
{
    static const struct {
        const char *prefix;
        double scale;
    } prefixes[] = {{"", 1},        {"m", 1e-3}, {"u", 1e-6}, {"\xC2\xB5", 1e-6}, {"\xCE\xBC", 1e-6},
                    {"\xB5", 1e-6}, {"n", 1e-9}, {"k", 1e3}};
    for (size_t i = name.size; i > 0; i--) { /* the last bracket, or the whole */
        if (name.text[i - 1] == '(' || name.text[i - 1] == '[') {
            name = (cell){name.text + i, name.size - i};
            break;
        }
    }
    while (name.size > 0 && (name.text[name.size - 1] == ')' || name.text[name.size - 1] == ']'))
        name.size--;
    if (name.size == 0 || name.size > 3 || name.text[name.size - 1] != base)
        return 0;
    for (size_t i = 0; i < sizeof prefixes / sizeof *prefixes; i++) {
        size_t size = strlen(prefixes[i].prefix);
        if (size != name.size - 1 || memcmp(prefixes[i].prefix, name.text, size) != 0)
            continue;
        memcpy(unit, name.text, name.size);
        unit[name.size] = '\0';
        return prefixes[i].scale;
    }
    return 0;
}

static void read_head(reader *in, size_t end)
{
    for (size_t at = 0; at < end;) {
        cell cells[MOST_COLUMNS], line = next_line(in, &at);
        size_t count = split(line, in->way.between, cells);
        size_t volts = in->wanted - 1;
        double scale;
        if (in->wanted == 2 && (scale = scale_of(cells[0], 's', in->out->time_unit)) > 0)
            in->time_scale = scale;
        if (count > volts && (scale = scale_of(cells[volts], 'V', in->out->volts_unit)) > 0)
            in->volts_scale = scale;
    }
}

static bool grow(reader *in)
{
    if (in->out->count < in->room)
        return true;
    size_t room = in->room * 2 + 4096;
    double *time = realloc(in->out->time, room * sizeof *time);
    if (time != NULL)
        in->out->time = time;
    double *volts = realloc(in->out->volts, room * sizeof *volts);
    if (volts != NULL)
        in->out->volts = volts;
    in->room = time != NULL && volts != NULL ? room : in->room;
    return time != NULL && volts != NULL;
}

/* The number in one column; an error and false for what is none. */
static bool take(reader *in, size_t n, cell line, const cell *cells, size_t count, size_t column, double *out)
{
    char what[160];
    if (column >= count) {
        complain(in, n, line, line.text + line.size,
                 column == 0 ? "a time is missing" : "a voltage is missing", NULL);
        return false;
    }
    if (number(cells[column], in->way.decimal, out))
        return true;
    if (cells[column].size == 0)
        snprintf(what, sizeof what, "a number is missing");
    else
        snprintf(what, sizeof what, "'%.*s' is no number",
                 (int)(cells[column].size < CELL ? cells[column].size : CELL), cells[column].text);
    complain(in, n, line, cells[column].text, what, NULL);
    return false;
}

static int read_numbers(reader *in, size_t at, size_t n, double rate)
{
    for (; at < in->size && in->errors <= MOST_ERRORS; n++) {
        cell cells[MOST_COLUMNS], line = next_line(in, &at);
        if (trim(line, 0).size == 0)
            continue;
        size_t count = split(line, in->way.between, cells);
        double time = 0, volts = 0;
        if ((in->wanted == 2 && !take(in, n, line, cells, count, 0, &time)) ||
            !take(in, n, line, cells, count, in->wanted - 1, &volts))
            continue;
        trace_table *out = in->out;
        time = in->wanted == 2 ? time * in->time_scale : (double)out->count / rate;
        if (out->count > 0 && !(time > out->time[out->count - 1]))
            complain(in, n, line, cells[0].text, "time does not rise from the line before",
                     "where times are rounded too far, give the volts alone and --rate SAMPLES_A_SECOND");
        if (out->count >= TABLE_MOST) {
            complain(in, n, line, line.text, "more than 4000000 samples", NULL);
            break;
        }
        if (!grow(in)) {
            fputs("corewright: error: out of memory\n", stderr);
            return EXIT_FAILED;
        }
        out->time[out->count] = time;
        out->volts[out->count++] = volts * in->volts_scale;
    }
    if (in->errors > MOST_ERRORS)
        fprintf(stderr, "%s: error: and more of the kind\n", in->path);
    return in->errors > 0 ? EXIT_WRONG : EXIT_DONE;
}

static int refuse(const char *path, const char *what, const char *help)
{
    fprintf(stderr, "corewright: error: %s: %s\n", path, what);
    if (help != NULL)
        fprintf(stderr, "help: %s\n", help);
    return EXIT_WRONG;
}

static int no_numbers(reader *in, size_t start, size_t line_number)
{
    if (line_number == 0)
        return in->wanted == 1 ? refuse(in->path, "there is no column of volts alone in it",
                                        "--rate is for a file without times")
                               : refuse(in->path, "there are no columns of numbers in it",
                                        "a scope's CSV export has time and volts in each line");
    cell line = next_line(in, &start);
    complain(in, line_number, line, line.text, "there is one column of numbers: the times are missing",
             "where the file holds volts alone, --rate SAMPLES_A_SECOND says how fast they were taken");
    return EXIT_WRONG;
}

static int read_text(reader *in, double rate)
{
    size_t start, line_number;
    if (in->size >= 3 && memcmp(in->text, "\xEF\xBB\xBF", 3) == 0) {
        in->text += 3;
        in->size -= 3;
    }
    if (!find_numbers(in, &start, &line_number))
        return no_numbers(in, start, line_number);
    read_head(in, start);
    int exit_status = read_numbers(in, start, line_number, rate);
    if (exit_status != EXIT_DONE)
        return exit_status;
    if (in->out->count < TABLE_LEAST)
        return refuse(in->path, "fewer than 64 samples", "export the whole screen, not its measurements");
    return EXIT_DONE;
}

static int read_file(const char *path, char **text, size_t *size)
{
    struct stat about;
    FILE *file = stat(path, &about) == 0 ? fopen(path, "rb") : NULL;
    if (file == NULL) {
        int reason = errno;
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(reason));
        return reason == ENOENT || reason == ENOTDIR ? EXIT_WRONG : EXIT_FAILED;
    }
    int exit_status = EXIT_DONE;
    if (S_ISDIR(about.st_mode))
        exit_status = refuse(path, "a folder, not a file", NULL);
    else if (about.st_size == 0)
        exit_status = refuse(path, "the file is empty", NULL);
    else if (about.st_size > MOST_BYTES)
        exit_status = refuse(path, "larger than 256 MB", NULL);
    if (exit_status == EXIT_DONE) {
        *size = (size_t)about.st_size;
        *text = malloc(*size + 1);
        *size = *text != NULL ? fread(*text, 1, *size, file) : 0;
        if (*text == NULL || ferror(file) != 0) {
            fprintf(stderr, "corewright: error: %s: it could not be read\n", path);
            exit_status = EXIT_FAILED;
        }
    }
    fclose(file);
    return exit_status;
}

int table_read(const char *path, double rate, trace_table *out)
{
    char *text = NULL;
    size_t size = 0;
    *out = (trace_table){0};
    int exit_status = read_file(path, &text, &size);
    if (exit_status == EXIT_DONE) {
        reader in = {.path = path,
                     .text = text,
                     .size = size,
                     .wanted = rate > 0 ? 1 : 2,
                     .time_scale = 1,
                     .volts_scale = 1,
                     .out = out};
        exit_status = read_text(&in, rate);
    }
    free(text);
    if (exit_status != EXIT_DONE)
        table_free(out);
    return exit_status;
}

void table_free(trace_table *table)
{
    free(table->time);
    free(table->volts);
    *table = (trace_table){0};
}
