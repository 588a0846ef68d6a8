/* Which check is worth its minutes. For each check that may be asked (stage, place, only_if, not answered,
 * not already concluded) every answer it can give is tried on a scratch chain, ranked, and weighed by its
 * probability.
 *
 * Answers. Each value of a finite check. A measured check falls into pieces: split at the limits that rules
 * set on it, or on what formulas work out from it with what is known; at three standard deviations to both
 * sides of each nominal of the units, and midway between neighbouring nominals. A stamped check: for each
 * pattern that is spoken of, a text made up to match it (left out where none is found), and a text that
 * matches none. "Can't tell" tells nothing.
 *
 * Information of one answer v, in bits, from what was believed before to what would be believed after
 * (Kullback & Leibler 1951):
 *
 * - units: sum over versions and "not listed" of after * log2(after / before);
 *
 * - causes: the same of each cause alone (there or not), summed, plus twice that of "unit at fault": a good
 *   unit exchanged under warranty is the dearest mistake.
 *
 * bits = sum over v of P(v) * information(v). Where the chances P(v | hypothesis) are whole (direct signs,
 * and facts whose values the answers cover) this is the mutual information of Quinlan 1986: the expected fall
 * of the entropies.
 *
 * Chance of an answer. Answers that lead to the same evidence E(v) form a class, of probability P(E(v)) /
 * P(E) (for the pieces of a measured sign: the integral of its density), scaled to sum to 1. The class that
 * adds no evidence gets what the others leave, at least its share of the number of answers. Answers that
 * change nothing but circumstances (shifts, ruled_out_by) share alike, times P(E | circumstance) / P(E). What
 * is swapped together hangs together here, too: what has been seen of a unit's pulley says how likely it is
 * that the pulley was swapped, and with that what else it will show.
 *
 * Two checks that tell something only together (a rule that needs both) are looked at in pairs when no single
 * check is worth asking: the cheaper comes first, `with` names the other, bits and worth are those of the
 * pair.
 *
 * Order. By bits per minute, with the way to the place; opening the unit counts with closing it again, since
 * it cannot be undone. What one check after the other comes to in the end is another matter: where few
 * hypotheses hold nearly all of what is believed, the check with which the job takes least on average is put
 * first (policy.h). Units: least minutes until one is sure. Triage, where repairs say their minutes: least
 * cost until what is wrong is cured or the job is handed back, in the shop's money if it is said what an hour
 * costs, else in minutes; in money, and where hardly more than one fault is to be expected, asking stops when
 * every check costs more than it saves.
 *
 * Teardown. What is due for a verdict on a part comes first, whatever it tells of causes: part by part, the
 * part that comes off first (then that of fewest minutes), within it the cheapest check. The others follow in
 * their order.
 *
 * Proof. Only what is due for lines of the proof sheet is asked, whatever it tells of causes: line by line in
 * the order of the sheet, within a line what sets the stage first, then the cheapest check.
 *
 * Identify. When nothing more is worth asking, or it was told that no list has it, and no unit of the list
 * holds (cw_ask_unlisted), what is still missing of the description is asked: the cheapest check first, where
 * the person is, at the counter, or at the places allowed. */
#ifndef CW_ASK_ASK_H
#define CW_ASK_ASK_H

#include "base/places.h"
#include "rank/causes.h"
#include "rank/identity.h"

typedef struct cw_proposal {
    cw_check_id check;
    cw_check_id with; /* bits come only together with this one, to be done next; 0 = by itself */
    cw_where place;   /* where one is already, else the nearest allowed */
    bool opens;       /* the unit is opened for it, which cannot be undone */
    double minutes;   /* of this check, with the way there */
    double bits;
    double worth;    /* bits per minute (of both checks of a pair); for the description lines per minute */
    bool first;      /* the pack wants it asked before the others now, if it tells anything */
    bool by_itself;  /* the steps ran out before it was weighed: bits are those it would have if nothing else
                        had been seen */
    double expected; /* what finding the unit takes in minutes, or the job costs, with this one first; below
                        0: not worked out */
    cw_part_id part; /* teardown: it is due for a verdict on this part; 0 = it is not */
    cw_fact_id
        line; /* proof: it is due for this line of the sheet; identify: of the description; 0 = it is not */
} cw_proposal;

typedef struct cw_ask_limits {
    cw_stage stage;     /* CW_STAGE_COUNT: checks of every stage */
    uint32_t places;    /* mask of allowed places; 0 = all */
    cw_where here;      /* where the person is now */
    double enough_bits; /* below this a check is not worth asking; 0 = CW_ASK_ENOUGH_BITS; < 0: all count */
    double sure;        /* asking stops when the first line is this probable; 0 = CW_ASK_SURE */
    uint64_t max_steps; /* counted, of all trials together; 0 = CW_ASK_STEPS */
} cw_ask_limits;
#define CW_ASK_ENOUGH_BITS 0.01
#define CW_ASK_SURE 0.97
#define CW_ASK_STEPS 120000000u

/* Hypotheses that the checks allowed cannot tell apart, whatever they give, in any number. Units: of those
 * with at least 2 in 100; causes: 5 in 100. */
typedef struct cw_twins {
    const uint32_t *members; /* unit or cause ids, at least two, most probable first */
    uint32_t count;
    double probability; /* units: of any of them; causes: of the first */
    cw_proposal tells;  /* the check of fewest minutes, at any place, that would (then units: of most bits;
                           causes, whose bits stay 0: that on which they differ most); where there is none,
                           one that was left open with "can't tell"; check 0: none at all */
} cw_twins;

/* What can be done about causes at once: changing the same parts, or another unit in place of this one. */
typedef struct cw_repair {
    const cw_cause_id *causes; /* that it cures, most probable first */
    uint32_t cause_count;
    bool exchange;       /* of the whole unit */
    double probability;  /* that it cures by itself */
    double minutes;      /* of work */
    double parts;        /* in money; those without a price are left out */
    cw_part_id no_price; /* the first of these; 0 = none */
    double cost;         /* in the measure of the costing */
} cw_repair;

/* NOT_ASKED: not triage, or nothing to decide. NO_MINUTES: it is not said what a likely repair takes.
 * TOO_OPEN: more than a fifth of what may be wrong is spread over unlikely causes. */
typedef enum cw_costed { CW_COSTED_NOT_ASKED, CW_COSTED_NO_MINUTES, CW_COSTED_TOO_OPEN, CW_COSTED } cw_costed;
typedef enum cw_way { CW_WAY_TEST, CW_WAY_REPAIR, CW_WAY_HAND_BACK } cw_way;

/* Triage: what the ways to go on come to on average, to the end of the job. One fault at a time, or two
 * likely ones together with the chance that both are there; what else is believed of the causes is taken in
 * proportion. A repair that does not cure, or mends one of two faults, is followed by what is best then; a
 * job handed back uncured comes back. */
typedef struct cw_costing {
    cw_costed state;
    cw_cause_id lacks; /* NO_MINUTES: the repair of this one */
    bool money;        /* else all costs are minutes, and parts cost nothing */
    cw_way best;
    cw_proposal first;        /* the check that TEST begins with; check 0: none tells anything */
    double test, repair;      /* below 0: there is none */
    double hand_back;         /* as it is; below 0: not said what a comeback costs */
    const cw_repair *repairs; /* in the order that costs least */
    uint32_t repair_count;    /* of all */
    uint32_t worth_count;     /* behind so many of them it costs less to hand back what is left */
    /* The repair made first mends `mended` and leaves `behind`: both are there with this chance, and it takes
     * two repairs then. 0: there is no such pair that is likely. */
    cw_cause_id mended, behind;
    double both;
} cw_costing;

/* SURE: the first line is; with causes, whether the unit is at fault must be as sure.
 * NOTHING_HELPS: no check has enough bits; with units also when what remains are twins.
 * COSTS_MORE: every check costs more than it saves. */
typedef enum cw_ask_stop {
    CW_STOP_NOT,
    CW_STOP_SURE,
    CW_STOP_NOTHING_HELPS,
    CW_STOP_CAUTION,
    CW_STOP_COSTS_MORE
} cw_ask_stop;

typedef struct cw_advice {
    const cw_proposal *checks; /* those worth asking, the pack's first ones first, then the one that costs
                                  least where that is known, then those weighed, then best worth; ties by
                                  minutes, then name. None on stop */
    size_t count;
    bool stop; /* nothing more is worth asking */
    cw_ask_stop why;
    const cw_twins *twins;
    size_t twins_count;
    cw_costing costing;
    bool cut_short; /* max_steps was spent: what was weighed is exact, the rest stands behind it, by_itself */
    uint64_t steps; /* spent */
} cw_advice;

/* The walk over its pointers, for images: it lives in the model's arena then. */
void cw_advice_places(const cw_advice *advice, cw_places *places);

/* An answer that a check can give now, and how likely it is: as weighed for asking (above). Answers of one
 * group come to the same evidence, and share its chance alike. */
typedef struct cw_prospect {
    cw_answer answer; /* of a measured check: a reading in the middle of the piece; texts live as long as the
                         asker */
    double low, high; /* measures: the piece, base unit; the outermost reach to infinity */
    uint32_t group;
    double chance; /* of all of them 1 */
} cw_prospect;

/* What is still to be measured before a part, or a line of the proof sheet, can be decided on. */
typedef struct cw_due {
    cw_part_id part; /* 0: a line of the sheet */
    cw_fact_id line; /* 0: a part */
    uint32_t apart;  /* of a part: its place in the order in which a unit comes apart; UINT32_MAX: not said */
    const cw_proposal
        *checks; /* in the order in which they are asked; at least one; bits are not looked at */
    size_t count;
    double minutes;             /* of all of them */
    const cw_fact_id *verdicts; /* of a part: which of its verdicts wait */
    size_t verdict_count;
} cw_due;

/* A line of the description that is not known, and what would tell it. */
typedef struct cw_missing {
    cw_fact_id fact;
    const cw_proposal *checks; /* fewest minutes first; at least one */
    size_t count;
} cw_missing;

/* Scratch chains and tables of one session. Model and tables must outlive it. */
typedef struct cw_asker cw_asker;
cw_status cw_asker_new(const cw_model *model, const cw_identity_tables *tables, const cw_allocator *allocator,
                       cw_asker **out);
void cw_asker_free(cw_asker *asker); /* NULL allowed */

/* Lives in the arena. The chain is only read. Depends on the set of answers alone, not on the order of
 * anything. CW_NO_MEMORY. */
cw_status cw_ask_next(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, cw_arena *arena,
                      cw_advice *out);
/* All answers of one check, in order; the places of the limits have no say. None where no rule and no sign
 * reads it, the answers so far fit nothing, or the steps run out. CW_NO_MEMORY. */
cw_status cw_ask_foresee(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                         cw_check_id check, cw_arena *arena, const cw_prospect **out, size_t *count);
/* The parts that wait for checks allowed by stage and places, as the unit comes apart, then fewest minutes
 * first. A part that is always changed, or must be replaced as it stands, waits for nothing. left_open_too:
 * those that were answered with "can't tell" count as if they could still be told. CW_NO_MEMORY. */
cw_status cw_ask_due(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, bool left_open_too,
                     cw_arena *arena, const cw_due **out, size_t *count);
/* The lines of the proof sheet, in its order: by their places, those of one place by name. In the arena. */
cw_status cw_ask_sheet(const cw_model *model, cw_arena *arena, const cw_fact_id **out, size_t *count);
/* The same for the lines of the proof sheet that are not decided, in the order of the sheet. */
cw_status cw_ask_lines(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                       bool left_open_too, cw_arena *arena, const cw_due **out, size_t *count);
/* The checks, of every stage and at any place, from which it could still follow that the atom holds; fewest
 * minutes first. None where it holds, or where nothing could make it hold any more. */
typedef struct cw_tellers {
    const cw_proposal *checks;
    size_t count;
} cw_tellers;
/* For each atom (0: none), in the arena. CW_NO_MEMORY. */
cw_status cw_ask_tellers(cw_asker *asker, const cw_chain *chain, cw_where here, const cw_atom_id *atoms,
                         size_t count, cw_arena *arena, const cw_tellers **out);
/* The lines of the description that are not known and wait for checks allowed, in the order of telling.
 * left_open_too as above. CW_NO_MEMORY. */
cw_status cw_ask_missing(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                         bool left_open_too, cw_arena *arena, const cw_missing **out, size_t *count);
/* True when no unit holds: it was told so; or nothing was told of it, and "not listed" is at least as
 * probable as any family, or no family has even odds. chance: by unit id, of versions, [0] of "not listed";
 * used up. */
bool cw_ask_unlisted(const cw_chain *chain, double *chance);
/* True when the check may be asked: stage, place, only_if holds (doubtful counts), neither answered (can't
 * tell included) nor concluded. */
bool cw_ask_open(const cw_chain *chain, cw_check_id check, const cw_ask_limits *limits);

#endif
