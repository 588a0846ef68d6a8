/* Steps of assembly: what the files of this room need of each other. */
#ifndef CW_SESSION_ASSEMBLY_H
#define CW_SESSION_ASSEMBLY_H

#include "corewright/ranking.h"
#include "session/inside.h"

/* The steps whose mistake comes back as this cause, as far as they apply to what is known of the unit and the
 * time is one when it shows. */
cw_status cw_find_slips(cw_session *session, cw_cause_id cause, const cw_slip **out, size_t *count);

#endif
