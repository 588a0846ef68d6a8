/* Inside the room: does the first cause stay first when every frequency is off by one word of the scale, all
 * at their worst at once?
 *
 * Whatever the frequencies are, one may divide all sums by what each cause's own absence is worth; what is
 * left then only grows with every frequency: a cause's own odds, what it draws, what the background draws;
 * but for links, whose both ends (it leads, it does not) are taken by themselves. So one network with all of
 * them a word down and one with all a word up enclose every sum between, and least(c) = down(c) / (down(c) +
 * up(not c)),   most(d) = up(d) / (up(d) + down(not d)). Where least(first) is above most(d) for every other
 * d, the first is firm. Piece by piece (base.h), for what hangs together with neither of them concerns
 * neither. It may be firm where this does not show it. */
#ifndef CW_RANK_FIRM_H
#define CW_RANK_FIRM_H

#include "rank/question.h"
#include "rank/word.h"

/* Of an exact question: *firm; *rival: the cause that may come first otherwise, 0 when firm. */
cw_status rank_firm(question *q, cw_cause_id first, cw_arena *arena, bool *firm, cw_cause_id *rival);

#endif
