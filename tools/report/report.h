/* What is known, for people: the running top, conflicts, the end of the matter. */
#ifndef TOOLS_REPORT_REPORT_H
#define TOOLS_REPORT_REPORT_H

#include "corewright/corewright.h"

/* The first lines as bars. */
cw_status report_top(cw_session *session);
/* Answers so far, numbered, and what follows from them. */
cw_status report_list(cw_session *session);
/* Every conflict with both proofs. */
cw_status report_conflicts(cw_session *session);
/* The cautions of one check, before it is done. */
void report_check_cautions(const cw_check_info *check);
/* What cannot be told apart, and the cheapest check that would. */
void report_alike(const cw_next *next);
/* Winner, firmness, what else, what to do, what was not told; of a proof, the sheet. kept: the file that the
 * job is in, or NULL. */
cw_status report_end(const cw_pack *pack, cw_session *session, const char *kept);
/* teardown: part by part, the parts list, and whether what was found is explained. */
cw_status report_work(cw_session *session, const char *kept);
/* proof: the sheet line by line; passed, with what goes on the tag, or failed, with what is likely behind it.
 */
cw_status report_proof(cw_session *session, const char *kept);
cw_status report_proof_so_far(cw_session *session);
/* What has been decided, with the limits behind it; of one line, or of all (NULL). */
cw_status report_proof_why(cw_session *session, const char *line);
/* The unit in standard terms. */
cw_status report_description(cw_session *session);
/* In doubt because only the family of the unit in hand is known, not because of a reading. */
bool report_hangs_on_unit(const cw_fact_info *fact);
/* One paragraph after the other. */
void report_paragraphs(const char *const *paragraphs, size_t count);

#endif
