#include "counting.h"

#include "bench.h"
#include "workload.h"

#include <stdlib.h>
#include <string.h>

static bool take(counting *c)
{
    const size_t rules = c->rules, atoms = c->atoms;
    c->head = calloc(rules, sizeof *c->head);
    c->wants = calloc(rules, sizeof *c->wants);
    c->missing = calloc(rules, sizeof *c->missing);
    c->start = calloc(atoms + 2, sizeof *c->start);
    c->uses = calloc(2 * rules, sizeof *c->uses);
    c->queue = calloc(atoms, sizeof *c->queue);
    c->known = calloc(atoms, sizeof *c->known);
    return c->head != NULL && c->wants != NULL && c->missing != NULL && c->start != NULL && c->uses != NULL &&
           c->queue != NULL && c->known != NULL;
}

static void premises_of(const counting *c, uint32_t rule, uint32_t of[2])
{
    unsigned earlier[2];
    of[0] = c->rules;
    of[1] = c->rules + 1;
    if (rule < WORKLOAD_ROOTS)
        return;
    workload_premises(rule, earlier);
    of[0] = earlier[0];
    of[1] = earlier[1];
}

bool counting_new(unsigned rules, counting *out)
{
    uint32_t of[2];
    *out = (counting){.rules = rules, .atoms = rules + 2};
    if (!take(out)) {
        counting_free(out);
        return bench_failed("counting", CW_NO_MEMORY);
    }
    for (uint32_t r = 0; r < rules; r++) {
        out->head[r] = r;
        out->wants[r] = 2;
        premises_of(out, r, of);
        for (int i = 0; i < 2; i++)
            out->start[of[i] + 2]++;
    }
    for (uint32_t a = 2; a <= out->atoms + 1; a++)
        out->start[a] += out->start[a - 1];
    for (uint32_t r = 0; r < rules; r++) {
        premises_of(out, r, of);
        for (int i = 0; i < 2; i++)
            out->uses[out->start[of[i] + 1]++] = r;
    }
    return true;
}

void counting_free(counting *c)
{
    free(c->head);
    free(c->wants);
    free(c->missing);
    free(c->start);
    free(c->uses);
    free(c->queue);
    free(c->known);
}

void counting_reset(counting *c)
{
    memcpy(c->missing, c->wants, c->rules * sizeof *c->missing);
    memset(c->known, 0, c->atoms);
}

uint32_t counting_run(counting *c)
{
    uint32_t head = 0, tail = 0;
    for (uint32_t i = 0; i < 2; i++) {
        c->known[c->rules + i] = 1;
        c->queue[tail++] = c->rules + i;
    }
    while (head < tail) {
        const uint32_t atom = c->queue[head++];
        for (uint32_t u = c->start[atom]; u < c->start[atom + 1]; u++) {
            const uint32_t rule = c->uses[u];
            if (--c->missing[rule] > 0 || c->known[c->head[rule]])
                continue;
            c->known[c->head[rule]] = 1;
            c->queue[tail++] = c->head[rule];
        }
    }
    return tail;
}
