#include "outside/asp/solver.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void solver_needed(void)
{
    cr_assert_eq(system("command -v gringo >/dev/null && command -v clasp >/dev/null"), 0,
                 "this test needs the Debian packages 'gringo' and 'clasp'");
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static char *read_all(FILE *pipe)
{
    size_t room = 1 << 16, used = 0;
    char *text = malloc(room);
    for (;;) {
        used += fread(text + used, 1, room - used - 1, pipe);
        if (used < room - 1)
            break;
        text = realloc(text, room *= 2);
    }
    text[used] = '\0';
    return text;
}

/* "Answer: 1" and on the next line the atoms, parted by blanks. */
static void take_atoms(solver_answer *answer)
{
    char *line = strstr(answer->text, "Answer: 1\n"), *rest = NULL;
    for (const char *at = answer->text; (at = strstr(at, "Answer: ")) != NULL; at++)
        answer->sets++;
    if (line == NULL)
        return;
    line += strlen("Answer: 1\n");
    line[strcspn(line, "\n")] = '\0';
    size_t room = strlen(line) / 2 + 1;
    answer->atoms = calloc(room, sizeof *answer->atoms);
    for (char *word = strtok_r(line, " ", &rest); word != NULL; word = strtok_r(NULL, " ", &rest))
        answer->atoms[answer->count++] = word;
    qsort(answer->atoms, answer->count, sizeof *answer->atoms, by_text);
}

solver_answer solver_run(const char *path, const char *program)
{
    solver_answer answer = {0};
    char command[1200];
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file, "%s", path);
    fputs(program, file);
    fclose(file);
    snprintf(command, sizeof command, "gringo --warn=none '%s' | clasp 0 2>/dev/null", path);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    answer.text = read_all(pipe);
    pclose(pipe); /* clasp ends with 10, 20 or 30 */
    take_atoms(&answer);
    cr_assert_eq(answer.sets, 1u, "%zu answer sets of %s:\n%s", answer.sets, path, answer.text);
    unlink(path);
    return answer;
}

void solver_forget(solver_answer *answer)
{
    free(answer->atoms);
    free(answer->text);
}

bool solver_same(char *const *a, size_t a_count, char *const *b, size_t b_count, const char **first)
{
    size_t i = 0;
    while (i < a_count && i < b_count && strcmp(a[i], b[i]) == 0)
        i++;
    if (i == a_count && i == b_count)
        return true;
    *first = i == a_count ? b[i] : i == b_count ? a[i] : strcmp(a[i], b[i]) < 0 ? a[i] : b[i];
    return false;
}
