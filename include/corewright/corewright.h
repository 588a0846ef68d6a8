/* Corewright: which unit lies on the counter, what has failed in it, what to look at next and why.
 *
 *     cw_settings ──▶ cw_pack (immutable, shared by threads) ──▶ cw_session (one job in hand, one thread at a time)
 *
 * Calls return a status; words for people come as messages. Results are plain structs that belong to the session and
 * stay valid until it next changes. No globals, nothing is printed, only cw_pack_open and job.h touch files. */
#ifndef COREWRIGHT_H
#define COREWRIGHT_H

#include "corewright/apart.h"
#include "corewright/calc.h"
#include "corewright/description.h"
#include "corewright/explain.h"
#include "corewright/halt.h"
#include "corewright/job.h"
#include "corewright/learn.h"
#include "corewright/message.h"
#include "corewright/next.h"
#include "corewright/pack.h"
#include "corewright/proof.h"
#include "corewright/ranking.h"
#include "corewright/session.h"
#include "corewright/signal.h"
#include "corewright/status.h"
#include "corewright/steps.h"
#include "corewright/work.h"

#endif
