/* Inside the room: causes that no link and no finding above normal joins, through any number of others, are
 * independent given the evidence. */
#ifndef CW_RANK_PARTS_H
#define CW_RANK_PARTS_H

#include "rank/network.h"

/* part, by cause: the first cause of its part, 0 where it is not possible; finding_part, by finding: of a
 * cause that touches it. */
void rank_parts_find(const network *net, uint32_t *part, uint32_t *finding_part);
/* As if no other cause were possible; the network is good for nothing but planning then. */
void rank_parts_keep_one(network *net, const uint32_t *part, cw_cause_id first);

#endif
