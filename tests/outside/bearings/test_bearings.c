/* Boundary dimensions both ways, and the multiples that bearing data centres publish. */
#include "bench/bearing.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static FILE *table(const char *name)
{
    char path[300], heading[100];
    snprintf(path, sizeof path, "%s/tests/outside/bearings/%s", CW_SOURCE_DIR, name);
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "cannot read %s", path);
    cr_assert_not_null(fgets(heading, sizeof heading, file));
    return file;
}

/* Every listed bearing is found by its name and by its three dimensions, and nothing else is. The 160 series
 * is not ours: it shares bore and outside with the 60 series and must not be taken for it when the width was
 * measured. */
Test(bearings, dimensions_both_ways)
{
    FILE *file = table("sizes.csv");
    char name[16];
    double bore, outside, width;
    int rows = 0;
    for (; fscanf(file, " %15[^,],%lf,%lf,%lf", name, &bore, &outside, &width) == 4; rows++) {
        const cw_bearing_size *found[4];
        const size_t count = cw_bearing_match(bore / 1e3, outside / 1e3, width / 1e3, 0.4e-3, found, 4);
        const cw_bearing_size *size = cw_bearing_find(name);
        if (strlen(name) == 5) {
            cr_expect_eq(count, 0, "%s taken for %s", name, count > 0 ? found[0]->name : "");
            cr_expect_null(size);
            continue;
        }
        cr_assert_eq(count, 1, "%s: %zu found", name, count);
        cr_assert_not_null(size, "%s", name);
        cr_expect_eq(found[0], size);
        cr_expect_str_eq(size->name, name);
        cr_expect(fabs(size->bore * 1e3 - bore) < 1e-9 && fabs(size->outside * 1e3 - outside) < 1e-9 &&
                      fabs(size->width * 1e3 - width) < 1e-9,
                  "%s", name);
    }
    fclose(file);
    cr_assert_eq(rows, 26);
    cr_assert_null(cw_bearing_at(21));
}

/* `turns`: 2 where the published rolling element figure counts both rings. */
Test(bearings, published_multiples)
{
    FILE *file = table("tones.csv");
    char name[16];
    cw_bearing_shape shape = {0};
    cw_bearing_tones printed;
    double turns, share;
    int rows = 0;
    for (; fscanf(file, " %15[^,],%u,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", name, &shape.balls, &shape.ball,
                  &shape.pitch, &printed.cage, &printed.outer, &printed.inner, &printed.ball, &turns,
                  &share) == 10;
         rows++) {
        cw_bearing_tones ours;
        cr_assert_eq(cw_bearing_listen(&shape, &ours), CW_OK);
        cr_expect_leq(fabs(ours.cage - printed.cage), share, "%s: cage %g", name, ours.cage);
        cr_expect_leq(fabs(ours.outer - printed.outer), share, "%s: outer %g", name, ours.outer);
        cr_expect_leq(fabs(ours.inner - printed.inner), share, "%s: inner %g", name, ours.inner);
        cr_expect_leq(fabs(ours.ball * turns - printed.ball), fmax(share, turns * 1e-3), "%s: ball %g", name,
                      ours.ball);
    }
    fclose(file);
    cr_assert_eq(rows, 3);
}
