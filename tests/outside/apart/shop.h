/* Random packs that know themselves what their members show: the slow, obvious side of the tests beside this.
 *
 * A *sight* is what a member shows: the answer to a check that signs sit on, or a fact that rules conclude
 * from two checks, value by value. No check belongs to two sights but one that only sets the stage. */
#ifndef CW_TESTS_OUTSIDE_APART_SHOP_H
#define CW_TESTS_OUTSIDE_APART_SHOP_H

#include "corewright/corewright.h"
#include "support/random.h"
#include <stdbool.h>

enum { SHOP_CHECKS = 16, SHOP_SIGHTS = 16, SHOP_MEMBERS = 14, SHOP_VALUES = 3, SHOP_TEXT = 60000 };

typedef struct shop_check {
    int values; /* 0: measured, from 0 V to 20 V, with a limit at 10 V */
    int place;  /* as in cw_place_at */
    double minutes;
    bool context;
    int gate, gate_value; /* asked only while that check has that value; -1: always */
    double swapped, blunders;
} shop_check;

typedef struct shop_sight {
    int check;     /* a check's own answer; -1: a fact */
    int stage, by; /* fact: concluded while the check `stage` has its value 1, from the answer to `by` */
    int values;
    int shown; /* of a fact: so many of its values, the first ones, are ever concluded */
    double background[SHOP_VALUES];
    bool signed_[SHOP_MEMBERS];
    double own[SHOP_MEMBERS][SHOP_VALUES];    /* as the pack says */
    double chance[SHOP_MEMBERS][SHOP_VALUES]; /* what the member shows */
} shop_sight;

typedef struct shop {
    bool causes, weak;
    int check_count, sight_count, member_count;
    shop_check checks[SHOP_CHECKS];
    shop_sight sights[SHOP_SIGHTS];
    double seen[SHOP_MEMBERS];
    double reach[4];
    char text[SHOP_TEXT];
} shop;

typedef struct shop_size {
    int plain, facts, members;
    int anywhere; /* of 8 checks so many are not at the counter */
    bool weak;    /* no sight says much by itself */
} shop_size;

void shop_make(shop *s, random_state *random, bool causes, shop_size size);
/* Written to a folder of its own, opened, and the folder removed. */
cw_pack *shop_open(const shop *s);
/* Checks that the sight takes, as a mask. */
unsigned shop_takes(const shop *s, const shop_sight *sight);
/* Half the sum of differences, where the values of the mask are told and all others are one. */
double shop_parts(const shop_sight *sight, unsigned told, int a, int b);
/* With each way once; the mask must be possible at the places (mask). */
double shop_minutes(const shop *s, unsigned checks);

#endif
