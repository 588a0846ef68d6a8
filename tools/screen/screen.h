/* What people see: lines of at most 80 columns, wrapped by what the eye counts; bars; a little colour where
 * it is wanted. */
#ifndef TOOLS_SCREEN_SCREEN_H
#define TOOLS_SCREEN_SCREEN_H

#include <stdbool.h>
#include <stddef.h>

typedef enum screen_paint { TONE_PLAIN, TONE_STRONG, TONE_QUIET, TONE_ALARM, TONE_BAR } screen_paint;

/* Looks at the terminal, the locale and NO_COLOR once; everything below prints to standard output. */
void screen_start(bool no_color);
/* EXIT_DONE, or EXIT_FAILED when something could not be written. */
int screen_end(void);

void screen_line(void); /* an empty one */
/* The words, wrapped; the first line begins with `first`, the others with as many blanks. */
void screen_words(const char *first, const char *words);
void screen_tone(screen_paint tone, const char *first, const char *words);
/* Printf into screen_words. */
void screen_say(const char *first, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* head, blanks up to the column, and the words wrapped behind it. */
void screen_pair(const char *head, size_t column, const char *words);
/* A name, a bar and a chance in one line. */
void screen_bar(const char *name, double chance, const char *shown);
void screen_rule(const char *title);
void screen_prompt(const char *prompt);
void screen_echo(const char *line); /* what was read, where no terminal shows it */

/* "62 %", "under 1 %"; buffer of 16. */
const char *screen_chance(double chance, char *buffer);
/* "about 4 minutes", "half a minute"; buffer of 40. */
const char *screen_minutes(double minutes, char *buffer);

#endif
