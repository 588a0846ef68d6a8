/* What replay has in hand, and the ways it is told. */
#ifndef TOOLS_REPLAY_REPLAY_H
#define TOOLS_REPLAY_REPLAY_H

#include "replay/junit.h"
#include "screen/progress.h"
#include "setup/options.h"
#include "trial/rounds.h"
#include "trial/tally.h"

typedef struct replay {
    const cli_options *options;
    rounds over;
    tally tally;
    progress bar;
    junit junit;
    size_t told; /* cases told of, for the head above the first */
    bool failed; /* JSON ran out of memory */
} replay;

/* For people: a case that did not come out as labelled; then the sums. */
void replay_report_case(replay *all, const char *path, const trial *one);
void replay_report_sums(const replay *all);
/* As JSON, streamed. */
void replay_json_open(replay *all);
void replay_json_case(replay *all, const char *path, const trial *one, bool first);
int replay_json_close(replay *all);
/* As a test. */
void replay_junit_case(replay *all, const char *path, const trial *one);

/* One line on how the ranking came out, as "First: A (62 %). Right: B, at place 2 (30 %)." */
void replay_say_score(const cw_pack *pack, bool of_units, const trial_score *score, char *out, size_t size);
void replay_say_wrong(const trial_wrong *wrong, char *out, size_t size);

/* The table of sums by stage, of one pack (name "") or of several after one another. */
void replay_table_head(void);
void replay_table_row(const char *name, const tally_stage *stage);

#endif
