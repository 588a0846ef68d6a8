/* apart: what the packs cannot tell apart. */
#include "apart/apart.h"
#include "commands.h"
#include "screen/screen.h"
#include "setup/number.h"
#include "setup/setup.h"
#include <stdio.h>
#include <string.h>

typedef struct apart_job {
    const cli_options *options;
    cw_pack *pack;
    cw_apart_wish wish;
    cw_apart *kinds[2]; /* units, causes; NULL: not wanted */
} apart_job;

char apart_letter(const char *place)
{
    return place != NULL ? (char)(place[0] - 'a' + 'A') : ' ';
}

/* Places are told once, where they change. */
void apart_words(const cw_apart_way *way, char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < way->count && used < size; i++) {
        const cw_apart_check *one = &way->checks[i];
        const bool last = i + 1 == way->count;
        const bool moves = last || strcmp(way->checks[i + 1].place, one->place) != 0;
        const int added =
            snprintf(out + used, size - used, "%s%s%s%s%s",
                     i == 0 ? ""
                     : last ? " and "
                            : ", ",
                     one->check->title, moves ? " (" : "", moves ? one->place : "", moves ? ")" : "");
        used += added > 0 ? (size_t)added : 0;
    }
}

int apart_hardest_first(const void *a, const void *b)
{
    const cw_apart_two *x = *(const cw_apart_two *const *)a, *y = *(const cw_apart_two *const *)b;
    if (x->told != y->told && (x->told >= CW_APART_LESS_SURELY || y->told >= CW_APART_LESS_SURELY))
        return x->told > y->told ? -1 : 1;
    if (x->told == CW_APART_LESS_SURELY && x->way.certainty != y->way.certainty)
        return x->way.certainty < y->way.certainty ? -1 : 1;
    if (x->way.minutes != y->way.minutes)
        return x->way.minutes > y->way.minutes ? -1 : 1;
    if (x->first != y->first)
        return x->first < y->first ? -1 : 1;
    return x->second < y->second ? -1 : x->second > y->second;
}

static int work_out(apart_job *job)
{
    const bool both = job->options->of_units == job->options->of_causes;
    const bool wanted[2] = {both || job->options->of_units, both || job->options->of_causes};
    for (int kind = 0; kind < 2; kind++) {
        if (!wanted[kind])
            continue;
        job->wish.causes = kind == 1;
        const cw_status status = cw_pack_apart(job->pack, &job->wish, &job->kinds[kind]);
        if (status != CW_OK)
            return explain_status(status, "apart", NULL);
    }
    return EXIT_DONE;
}

/* One picture holds one kind: the one that was named, or the only one there is. */
static int draw(const apart_job *job)
{
    const cw_apart *drawn = NULL;
    for (int kind = 0; kind < 2; kind++) {
        if (job->kinds[kind] == NULL || job->kinds[kind]->count < 2)
            continue;
        if (drawn != NULL) {
            fputs("corewright: error: --svg draws units or causes, not both\n"
                  "help: add --units or --causes\n",
                  stderr);
            return EXIT_WRONG;
        }
        drawn = job->kinds[kind];
    }
    if (drawn != NULL)
        return apart_draw(drawn, job->options->svg);
    fputs("corewright: error: there are no two of a kind to draw\n", stderr);
    return EXIT_WRONG;
}

static int report(const apart_job *job)
{
    if (job->options->json)
        return apart_json(job->pack, job->options, job->kinds[0], job->kinds[1]);
    for (int kind = 0; kind < 2; kind++)
        if (job->kinds[kind] != NULL)
            apart_report(job->kinds[kind]);
    return EXIT_DONE;
}

static int check_places(const cli_options *options)
{
    for (size_t i = 0; i < options->places.count; i++) {
        bool known = false;
        for (size_t p = 0; cw_place_at(p) != NULL; p++)
            known |= strcmp(cw_place_at(p), options->places.items[i]) == 0;
        if (!known)
            return setup_wrong_place(options->places.items[i]);
    }
    return EXIT_DONE;
}

int command_apart(const cli_options *options)
{
    cli_options named = *options;
    double sure = 95;
    if (options->rest.count > 0)
        named.packs = options->rest;
    apart_job job = {.options = options};
    int status = number_read("--sure", options->sure, 51, 99.9, &sure);
    if (status == EXIT_DONE)
        status = check_places(options);
    if (status == EXIT_DONE)
        status = setup_open_pack(&named, &job.pack);
    if (status != EXIT_DONE)
        return status;
    job.wish = (cw_apart_wish){
        .places = options->places.items, .place_count = options->places.count, .sure = sure / 100};
    status = work_out(&job);
    if (status == EXIT_DONE && options->svg != NULL)
        status = draw(&job);
    if (status == EXIT_DONE)
        status = report(&job);
    cw_apart_free(job.kinds[0]);
    cw_apart_free(job.kinds[1]);
    cw_pack_free(job.pack);
    return status;
}
