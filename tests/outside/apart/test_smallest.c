/* The smallest set of checks against gringo and clasp: fewest checks first, then fewest minutes. */
#include "outside/apart/shop.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

typedef struct optimum {
    long count, minutes; /* minutes in tenths */
    bool found;
} optimum;

/* "Optimization: 4 63": the last one is the best; it must be proven. */
static optimum ask_solver(const char *program)
{
    char path[] = "/tmp/cw-smallest-XXXXXX", command[200], line[400];
    optimum best = {0};
    bool proven = false;
    const int handle = mkstemp(path);
    FILE *file = handle >= 0 ? fdopen(handle, "w") : NULL;
    cr_assert_not_null(file);
    fputs(program, file);
    fclose(file);
    snprintf(command, sizeof command, "gringo --warn=none '%s' | clasp 2>/dev/null", path);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    while (fgets(line, sizeof line, pipe) != NULL) {
        best.found |= sscanf(line, "Optimization: %ld %ld", &best.count, &best.minutes) == 2;
        proven |= strncmp(line, "OPTIMUM FOUND", 13) == 0;
    }
    pclose(pipe); /* clasp ends with 10, 20 or 30 */
    remove(path);
    cr_assert(best.found && proven, "needs the Debian packages 'gringo' and 'clasp'");
    return best;
}

/* For every two the sights that are sure, or nearly as sure as the surest. */
static long write_pairs(const shop *s, double sure, FILE *out)
{
    long pairs = 0;
    for (int a = 0; a < s->member_count; a++)
        for (int b = a + 1; b < s->member_count; b++) {
            double most = 0;
            for (int i = 0; i < s->sight_count; i++)
                most = fmax(most, shop_parts(&s->sights[i], (1u << s->sights[i].shown) - 1, a, b));
            if (most < 1e-6)
                continue;
            pairs++;
            fputs(":- ", out);
            bool first = true;
            for (int i = 0; i < s->sight_count; i++) {
                const double parts = shop_parts(&s->sights[i], (1u << s->sights[i].shown) - 1, a, b);
                if (parts < fmin(2 * sure - 1, 0.98 * most))
                    continue;
                fprintf(out, "%snot had(%d)", first ? "" : ", ", i);
                first = false;
            }
            fputs(".\n", out);
        }
    return pairs;
}

static char *write_program(const shop *s, double sure, long *pairs)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    for (int c = 0; c < s->check_count; c++)
        fprintf(out, "{done(%d)}. cost(%d,%.0f).\n", c, c, 10 * s->checks[c].minutes);
    for (int i = 0; i < s->sight_count; i++) {
        const unsigned takes = shop_takes(s, &s->sights[i]);
        fprintf(out, "had(%d)", i);
        const char *before = " :- ";
        for (int c = 0; c < s->check_count; c++)
            if ((takes >> c & 1) != 0) {
                fprintf(out, "%sdone(%d)", before, c);
                before = ", ";
            }
        fputs(".\n", out);
    }
    *pairs = write_pairs(s, sure, out);
    fputs("#minimize {1@2,C : done(C)}.\n#minimize {M@1,C : done(C), cost(C,M)}.\n", out);
    fclose(out);
    return text;
}

static void compare(random_state *random, int round)
{
    static shop s;
    const shop_size size = {6 + (int)random_below(random, 7), (int)random_below(random, 3),
                            6 + (int)random_below(random, 8), 0, false};
    shop_make(&s, random, round % 2 == 0, size);
    const double sure = random_between(random, 0.6, 0.97);
    cw_pack *pack = shop_open(&s);
    cw_apart *apart = NULL;
    const cw_apart_wish wish = {.causes = s.causes, .sure = sure};
    cr_assert_eq(cw_pack_apart(pack, &wish, &apart), CW_OK);
    long pairs = 0;
    char *program = write_program(&s, sure, &pairs);
    const optimum best = ask_solver(program);
    const cw_apart_smallest *set = &apart->smallest;
    cr_expect_eq((long)set->pairs, pairs, "round %d", round);
    cr_expect(set->exact);
    cr_expect_eq((long)set->count, best.count, "round %d: %zu against %ld\n%s\n%s", round, set->count,
                 best.count, s.text, program);
    cr_expect_eq(set->at_least, set->count);
    cr_expect_eq(lround(10 * set->minutes), best.minutes, "round %d: %g min against %g\n%s\n%s", round,
                 set->minutes, (double)best.minutes / 10, s.text, program);
    free(program);
    cw_apart_free(apart);
    cw_pack_free(pack);
}

Test(smallest, is_the_optimum_of_clasp)
{
    random_state random = random_start(20261130);
    for (int round = 0; round < 50; round++)
        compare(&random, round);
}
