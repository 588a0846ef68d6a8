#include "bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

bool bench_failed(const char *what, cw_status status)
{
    fprintf(stderr, "cw_bench: %s: %s\n", what, cw_status_text(status));
    return false;
}

static double read_clock(clockid_t which)
{
    struct timespec time;
    clock_gettime(which, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

double bench_now(void)
{
    return read_clock(CLOCK_PROCESS_CPUTIME_ID);
}

double bench_clock(void)
{
    return read_clock(CLOCK_MONOTONIC);
}

void bench_best(double *best, double milliseconds)
{
    if (*best == 0 || milliseconds < *best)
        *best = milliseconds;
}

static void *resize_counted(void *context, void *old, size_t old_size, size_t new_size)
{
    bench_memory *memory = context;
    void *new = NULL;
    if (new_size == 0)
        free(old);
    else if ((new = realloc(old, new_size)) == NULL)
        return NULL;
    memory->calls++;
    memory->held += new_size - old_size;
    memory->peak = memory->held > memory->peak ? memory->held : memory->peak;
    return new;
}

cw_settings bench_counted(bench_memory *memory)
{
    return (cw_settings){resize_counted, memory};
}

bool bench_open(const cw_settings *settings, const char *const *folders, size_t count, cw_pack **out)
{
    cw_messages *messages = NULL;
    const cw_status status = cw_pack_read(settings, folders, count, &messages, out);
    for (size_t i = 0; status != CW_OK && i < cw_messages_count(messages); i++)
        fputs(cw_messages_at(messages, i)->rendered, stderr);
    cw_messages_free(messages);
    return status == CW_OK || bench_failed("packs", status);
}

bool bench_give(cw_session *session, const char *check, const char *value)
{
    cw_messages *messages = NULL;
    const cw_status status = cw_session_answer(session, check, value, NULL, NULL, &messages);
    cw_messages_free(messages);
    return status == CW_OK || bench_failed(check, status);
}
