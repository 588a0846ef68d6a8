#include "setup/number.h"
#include "setup/options.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int number_read(const char *word, const char *text, double low, double high, double *out)
{
    char *end;
    if (text == NULL)
        return EXIT_DONE;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || strpbrk(text, "xXnN") != NULL) {
        fprintf(stderr, "corewright: error: %s wants a plain number, not '%s'\n", word, text);
        return EXIT_WRONG;
    }
    if (!(value >= low && value <= high)) {
        fprintf(stderr, "corewright: error: %s is to be between %g and %g, not %s\n", word, low, high, text);
        return EXIT_WRONG;
    }
    *out = value;
    return EXIT_DONE;
}

int number_count(const char *word, const char *text, unsigned low, unsigned high, unsigned *out)
{
    double value = *out;
    int exit_status = number_read(word, text, low, high, &value);
    if (exit_status == EXIT_DONE && value != floor(value)) {
        fprintf(stderr, "corewright: error: %s wants a whole number, not %s\n", word, text);
        return EXIT_WRONG;
    }
    *out = (unsigned)value;
    return exit_status;
}

int number_poles(const char *text, unsigned *out)
{
    int status = number_count("--poles", text, 2, 64, out);
    if (status == EXIT_DONE && *out % 2 != 0) {
        fputs("corewright: error: --poles counts both kinds, so it is even\n", stderr);
        status = EXIT_WRONG;
    }
    return status;
}
