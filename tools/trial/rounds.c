#include "trial/rounds.h"
#include "setup/number.h"
#include "setup/setup.h"
#include "trial/crew.h"

int rounds_find(const cli_options *options, size_t first, rounds *out)
{
    *out = (rounds){.threads = crew_processors()};
    const int status = number_count("--threads", options->threads, 1, 256, &out->threads);
    return status == EXIT_DONE
               ? corpus_find(options->rest.items + first, options->rest.count - first, &out->files)
               : status;
}

int rounds_open(const cli_options *options, rounds *out)
{
    int status = rounds_find(options, 0, out);
    if (status != EXIT_DONE)
        return status;
    status = setup_open_pack(options, &out->pack);
    if (status != EXIT_DONE)
        corpus_free(&out->files);
    return status;
}

void rounds_close(rounds *of)
{
    cw_pack_free(of->pack);
    corpus_free(&of->files);
}
