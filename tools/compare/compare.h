/* What compare has in hand, and the ways it is told. */
#ifndef TOOLS_COMPARE_COMPARE_H
#define TOOLS_COMPARE_COMPARE_H

#include "compare/differ.h"
#include "screen/progress.h"
#include "setup/options.h"
#include "trial/rounds.h"
#include "trial/tally.h"

/* How much more or less probable the truth must become, at the same place, for the case to count as better or
 * worse. */
#define COMPARE_MARGIN 0.1

typedef enum compare_verdict {
    COMPARE_SAME,
    COMPARE_BETTER,
    COMPARE_WORSE,
    COMPARE_UNLABELLED,
    COMPARE_ONLY_OLD, /* the new packs cannot take it; with a label that is worse */
    COMPARE_ONLY_NEW, /* the old packs cannot */
    COMPARE_BAD,      /* neither can */
    COMPARE_VERDICTS
} compare_verdict;

typedef struct compared {
    cw_messages *messages; /* owned: of a file that cannot be read */
    trial was, now;
    differences differences; /* only where the first or the verdict changed */
    compare_verdict verdict;
    bool first_changed;
} compared;

typedef struct compare {
    const cli_options *options;
    const cw_pack *packs[2]; /* old, new */
    cw_session *untold[2][TALLY_STAGES];
    const cw_ranking *rankings[2][TALLY_STAGES]; /* of those */
    rounds over;                                 /* opens no packs: there are two */
    tally tallies[2];                            /* of cases that both can take */
    size_t counts[COMPARE_VERDICTS], first_changed,
        worse; /* worse: with those that only the old packs can take */
    progress bar;
    size_t told;
    bool failed;
} compare;

/* Worse: the right one falls from the first place, or out of the first three; a line of sheet or description
 * that was as labelled no longer is; or at an equal place the truth loses COMPARE_MARGIN. Better: the same
 * the other way round. */
compare_verdict compare_judge(const trial *was, const trial *now);

void compare_report_case(compare *all, const char *path, const compared *one);
void compare_report_sums(const compare *all);
void compare_json_open(compare *all);
void compare_json_case(compare *all, const char *path, const compared *one, bool first);
int compare_json_close(compare *all);

#endif
