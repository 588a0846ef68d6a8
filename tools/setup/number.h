/* Numbers on the command line. */
#ifndef TOOLS_SETUP_NUMBER_H
#define TOOLS_SETUP_NUMBER_H

/* The number that stands behind an option, plain, between low and high. EXIT_DONE, or EXIT_WRONG with a
 * message on standard error. *out keeps its value when text is NULL. */
int number_read(const char *word, const char *text, double low, double high, double *out);
/* The same for a whole number. */
int number_count(const char *word, const char *text, unsigned low, unsigned high, unsigned *out);
/* What stands behind --poles: both kinds counted. */
int number_poles(const char *text, unsigned *out);

#endif
