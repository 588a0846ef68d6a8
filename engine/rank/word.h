/* Inside the room: the scale of frequencies, as steps. */
#ifndef CW_RANK_WORD_H
#define CW_RANK_WORD_H

/* A frequency `by` words of the scale higher: words are steps in log-odds, between them in proportion,
 * beyond them like the last step. 0 and 1 stay. */
double rank_word_off(double frequency, double by);

#endif
