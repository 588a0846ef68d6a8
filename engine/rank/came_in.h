/* Inside the room: what it says that somebody has brought it in.
 *
 * With nothing listed wrong he seldom does: model->idle times as often as with something. That is one more
 * finding, and every cause shows it always; so by Bayes' rule, for whatever implies a cause,
 *
 *     P(x | evidence, came in) = P(x | evidence) / s,   s = 1 - P(nothing | evidence) (1 - idle),
 *
 * and s is also what P(evidence) shrinks by. It takes no pass over the causes, and with idle = 1 changes
 * nothing. Evidence that the model calls impossible is left as it is. */
#ifndef CW_RANK_CAME_IN_H
#define CW_RANK_CAME_IN_H

#include "rank/causes.h"

/* False: nothing below changes anything. */
bool rank_came_in_counts(const cw_model *model);
/* by_cause: by id, from 1; changed in place. */
void rank_came_in_tried(const cw_model *model, double *by_cause, cw_causes_tried *out);
/* probability, low, high: by id, from 1; parts likewise, or NULL. All changed in place, as are the sums in
 * *out. */
void rank_came_in(const cw_model *model, double *probability, double *low, double *high, double *parts,
                  cw_causes *out);

#endif
