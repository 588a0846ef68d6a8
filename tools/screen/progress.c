#include "screen/progress.h"
#include <stdio.h>
#include <unistd.h>

enum { WIDE = 40 };

progress progress_start(size_t of)
{
    return (progress){.terminal = isatty(STDERR_FILENO) == 1, .of = of, .hundredths = -1};
}

void progress_show(progress *bar, size_t done)
{
    int hundredths = bar->of > 0 ? (int)(done * 100 / bar->of) : 100;
    if (!bar->terminal || (hundredths == bar->hundredths && bar->shown))
        return;
    bar->hundredths = hundredths;
    bar->shown = true;
    char line[WIDE + 1];
    for (int i = 0; i < WIDE; i++)
        line[i] = i * 100 < hundredths * WIDE ? '#' : '.';
    line[WIDE] = '\0';
    fprintf(stderr, "\r  %s %3d %% of %zu", line, hundredths, bar->of);
    fflush(stderr);
}

void progress_clear(progress *bar)
{
    if (!bar->shown)
        return;
    fprintf(stderr, "\r%*s\r", 78, "");
    fflush(stderr);
    bar->shown = false;
}
