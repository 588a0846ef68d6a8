/* What a caution ends when a rule raises it. */
#ifndef COREWRIGHT_HALT_H
#define COREWRIGHT_HALT_H

typedef enum cw_halt {
    CW_HALT_NOTHING,
    CW_HALT_WORK, /* asking, plans, steps and sheets; what is likely is still told, to those who may act on it */
    CW_HALT_ALL   /* everything: the caution is all that is said */
} cw_halt;

#endif
