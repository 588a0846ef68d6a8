#include "screen/screen.h"
#include "screen/exit.h"
#include <errno.h>
#include <langinfo.h>
#include <locale.h>
#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { WIDTH = 80, NAME = 42, BAR = 22 };

/* How this run prints; set once before anything is printed. */
static struct {
    bool colour, utf8;
} look;

void screen_start(bool no_color)
{
    setlocale(LC_CTYPE, "");
    const char *forbidden = getenv("NO_COLOR");
    const char *terminal = getenv("TERM");
    look.utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    look.colour = !no_color && (forbidden == NULL || forbidden[0] == '\0') && isatty(STDOUT_FILENO) == 1 &&
                  (terminal == NULL || strcmp(terminal, "dumb") != 0);
}

int screen_end(void)
{
    if (fflush(stdout) == 0 && !ferror(stdout))
        return EXIT_DONE;
    fprintf(stderr, "corewright: error: cannot write to standard output: %s\n", strerror(errno));
    return EXIT_FAILED;
}

static void begin_tone(screen_paint tone)
{
    static const char *const codes[] = {"", "\033[1m", "\033[2m", "\033[1;31m", "\033[36m"};
    if (look.colour)
        fputs(codes[tone], stdout);
}

static void end_tone(screen_paint tone)
{
    if (look.colour && tone != TONE_PLAIN)
        fputs("\033[0m", stdout);
}

/* One character: its length in bytes, its columns, and whether it may be printed as it is. */
typedef struct glyph {
    size_t length, columns;
    bool visible;
} glyph;

static bool is_wide(uint32_t c)
{
    return (c >= 0x1100 && c <= 0x115F) || (c >= 0x2E80 && c <= 0xA4CF) || (c >= 0xAC00 && c <= 0xD7A3) ||
           (c >= 0xF900 && c <= 0xFAFF) || (c >= 0xFE30 && c <= 0xFE6F) || (c >= 0xFF00 && c <= 0xFF60) ||
           (c >= 0xFFE0 && c <= 0xFFE6) || (c >= 0x1F300 && c <= 0x1FAFF) || (c >= 0x20000 && c <= 0x3FFFD);
}

static bool is_combining(uint32_t c)
{
    return (c >= 0x0300 && c <= 0x036F) || (c >= 0x1AB0 && c <= 0x1AFF) || (c >= 0x1DC0 && c <= 0x1DFF) ||
           (c >= 0x20D0 && c <= 0x20FF) || (c >= 0xFE00 && c <= 0xFE0F) || (c >= 0xFE20 && c <= 0xFE2F) ||
           (c >= 0x200B && c <= 0x200F);
}

static glyph look_at(const char *text)
{
    const unsigned char *c = (const unsigned char *)text;
    if (c[0] < 0x80)
        return (glyph){1, 1, c[0] >= 0x20 && c[0] != 0x7F};
    size_t length = c[0] >= 0xF0 ? 4 : c[0] >= 0xE0 ? 3 : c[0] >= 0xC2 ? 2 : 0;
    uint32_t code = c[0] & (0x7Fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((c[i] & 0xC0) != 0x80)
            return (glyph){1, 1, false};
        code = code << 6 | (c[i] & 0x3Fu);
    }
    if (length == 0)
        return (glyph){1, 1, false};
    bool control = (code >= 0x80 && code < 0xA0) || (code >= 0x202A && code <= 0x202E) || code == 0x2028 ||
                   code == 0x2029;
    return (glyph){length, is_combining(code) ? 0 : is_wide(code) ? 2 : 1, !control};
}

static size_t columns_of(const char *text, size_t size)
{
    size_t columns = 0;
    for (size_t i = 0; i < size;) {
        glyph next = look_at(text + i);
        columns += next.columns;
        i += next.length;
    }
    return columns;
}

/* Nothing in a pack or an answer can move the cursor: what is not visible becomes a blank. */
static void put(const char *text, size_t size)
{
    for (size_t i = 0; i < size;) {
        glyph next = look_at(text + i);
        if (next.visible)
            fwrite(text + i, 1, next.length, stdout);
        else
            fputc(' ', stdout);
        i += next.length;
    }
}

static void blanks(size_t count)
{
    while (count-- > 0)
        fputc(' ', stdout);
}

/* Bytes of the text that fill at most `room` columns; at least one character. */
static size_t fitting(const char *text, size_t size, size_t room)
{
    size_t i = 0;
    size_t columns = 0;
    while (i < size) {
        glyph next = look_at(text + i);
        if (columns + next.columns > room && i > 0)
            break;
        columns += next.columns;
        i += next.length;
    }
    return i;
}

/* Prints words from `column` on, wrapped at WIDTH, later lines behind `indent` blanks. */
static void flow(const char *words, size_t column, size_t indent)
{
    bool fresh = true;
    const char *c = words;
    while (*c != '\0') {
        size_t gap = strspn(c, " \t\n");
        c += gap;
        size_t size = strcspn(c, " \t\n");
        if (size == 0)
            break;
        if (c[size] == ' ' && c[size + 1] == '%') /* "62 %" stays together */
            size += 1 + strcspn(c + size + 1, " \t\n");
        size_t columns = columns_of(c, size);
        if (!fresh && column + 1 + columns > WIDTH) {
            fputc('\n', stdout);
            blanks(indent);
            column = indent;
            fresh = true;
        }
        if (!fresh) {
            fputc(' ', stdout);
            column++;
        }
        while (column + columns > WIDTH) { /* a word longer than a line */
            size_t part = fitting(c, size, WIDTH - column);
            put(c, part);
            fputc('\n', stdout);
            blanks(indent);
            column = indent;
            c += part;
            size -= part;
            columns = columns_of(c, size);
        }
        put(c, size);
        column += columns;
        c += size;
        fresh = false;
    }
    fputc('\n', stdout);
}

void screen_line(void)
{
    fputc('\n', stdout);
}

void screen_tone(screen_paint tone, const char *first, const char *words)
{
    begin_tone(tone);
    fputs(first, stdout);
    size_t column = columns_of(first, strlen(first));
    flow(words, column, column);
    end_tone(tone);
}

void screen_words(const char *first, const char *words)
{
    screen_tone(TONE_PLAIN, first, words);
}

void screen_say(const char *first, const char *format, ...)
{
    char *words = NULL;
    size_t size;
    FILE *memory = open_memstream(&words, &size);
    if (memory == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    vfprintf(memory, format, arguments); /* NOLINT(clang-analyzer-valist.Uninitialized) */
    va_end(arguments);
    if (fclose(memory) == 0)
        screen_words(first, words);
    free(words);
}

void screen_pair(const char *head, size_t column, const char *words)
{
    size_t used = columns_of(head, strlen(head));
    put(head, strlen(head));
    if (used + 1 > column) {
        fputc('\n', stdout);
        used = 0;
    }
    blanks(column - used);
    flow(words, column, column);
}

/* A bar in eighths of a column, or in whole ones without UTF-8. */
static void draw(double chance)
{
    static const char *const eighths[] = {"",
                                          "\xE2\x96\x8F",
                                          "\xE2\x96\x8E",
                                          "\xE2\x96\x8D",
                                          "\xE2\x96\x8C",
                                          "\xE2\x96\x8B",
                                          "\xE2\x96\x8A",
                                          "\xE2\x96\x89"};
    int parts = look.utf8 ? 8 : 1;
    int filled = (int)lround(chance * BAR * parts);
    filled = filled < 0 ? 0 : filled > BAR * parts ? BAR * parts : filled;
    if (filled == 0 && chance > 0.001)
        filled = look.utf8 ? 1 : 0;
    begin_tone(TONE_BAR);
    for (int i = 0; i < filled / parts; i++)
        fputs(look.utf8 ? "\xE2\x96\x88" : "#", stdout);
    if (filled % parts != 0)
        fputs(eighths[filled % parts], stdout);
    end_tone(TONE_BAR);
    blanks((size_t)(BAR - filled / parts - (filled % parts != 0)));
}

void screen_bar(const char *name, double chance, const char *shown)
{
    size_t size = strlen(name);
    size_t used = columns_of(name, size);
    const char *dots = look.utf8 ? "\xE2\x80\xA6" : ".";
    blanks(2);
    if (used > NAME) {
        size = fitting(name, size, NAME - 1);
        put(name, size);
        fputs(dots, stdout);
        used = columns_of(name, size) + 1;
    } else {
        put(name, size);
    }
    blanks(NAME - used + 1);
    draw(chance);
    printf(" %9s\n", shown);
}

void screen_rule(const char *title)
{
    size_t used = columns_of(title, strlen(title));
    begin_tone(TONE_STRONG);
    fputs(title, stdout);
    end_tone(TONE_STRONG);
    fputc(' ', stdout);
    begin_tone(TONE_QUIET);
    for (size_t i = used + 1; i < WIDTH - 2; i++)
        fputs(look.utf8 ? "\xE2\x94\x80" : "-", stdout);
    end_tone(TONE_QUIET);
    fputc('\n', stdout);
}

void screen_prompt(const char *prompt)
{
    begin_tone(TONE_STRONG);
    fputs(prompt, stdout);
    end_tone(TONE_STRONG);
    fflush(stdout);
}

void screen_echo(const char *line)
{
    put(line, strlen(line));
    fputc('\n', stdout);
}

const char *screen_chance(double chance, char *buffer)
{
    if (chance > 0 && chance <= 0.005) /* a half would be rounded to the even nought */
        return "under 1 %";
    if (chance < 1 && chance >= 0.995)
        return "over 99 %";
    snprintf(buffer, 16, "%.0f %%", chance * 100);
    return buffer;
}

const char *screen_minutes(double minutes, char *buffer)
{
    if (minutes < 0.4)
        return "a moment";
    if (minutes < 0.75)
        return "half a minute";
    if (minutes < 1.5)
        return "about a minute";
    snprintf(buffer, 40, "about %.0f minutes", minutes);
    return buffer;
}
