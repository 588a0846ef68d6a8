/* Steps of assembly for people: one, or all of them as a sheet. */
#ifndef TOOLS_REPORT_STEPS_H
#define TOOLS_REPORT_STEPS_H

#include "corewright/corewright.h"

/* It hangs on which unit is in hand, and nobody has said. */
bool steps_wait_for_unit(const cw_step_info *step);
/* What to do, with all that stands before it: its cautions, the part, tool and figure. */
void report_step(const cw_step_info *step);
/* The mistake, what it comes back as, the reason and the source. */
void report_mistake(const cw_step_info *step);
/* What was told, which cautions rules have raised, what goes in new; how many steps wait for the unit. */
cw_status report_steps_head(cw_session *session, const cw_steps *steps);
/* The whole, to be printed and hung up. */
cw_status report_steps(cw_session *session, const cw_steps *steps);

#endif
