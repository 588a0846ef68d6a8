/* Inside the room: one question put to the causes, circumstances and findings worked in. Everything that a
 * finding at its normal value, or one that no cause touches, has to say is a plain factor here; what is left
 * are `findings`. */
#ifndef CW_RANK_NETWORK_H
#define CW_RANK_NETWORK_H

#include "rank/causes.h"
#include "rank/inside.h"

/* A finding above normal that some possible cause can bring about. hit and miss: the background draws the
 * value seen, a lower one. */
typedef struct net_finding {
    uint32_t evidence; /* index in the evidence */
    double hit, miss;
} net_finding;

/* The same of one present cause. */
typedef struct net_touch {
    uint32_t finding;
    double hit, miss;
} net_touch;

/* What leads to a cause, fixed by the model: the causes before it, in order of id. */
typedef struct net_parent {
    cw_cause_id cause;
    double chance, stays; /* that it leads, that it does not */
} net_parent;

/* A sign the other way round: who shows it. */
typedef struct net_shows {
    cw_cause_id cause;
    const cw_sign *sign;
} net_shows;

typedef struct net_cause {
    bool possible;  /* false: ruled out, or nothing can bring it about */
    double own;     /* comes about by itself */
    double absent;  /* does not: 1 - own */
    double weight;  /* factor when present */
    double lacks;   /* factor when absent: 1, but for bounds */
    cw_run touches; /* network touches */
    cw_run parents; /* network parents */
} net_cause;

typedef struct network {
    const cw_model *model;
    const cw_allocator *allocator;
    net_cause *causes; /* by id, from 1 */
    cw_cause_id *live; /* those that are possible, in order of id */
    uint32_t live_count;
    net_finding *findings; /* at most one per fact */
    uint32_t finding_count;
    net_touch *touches;
    uint32_t touch_count;
    net_parent *parents;
    cw_run *showing; /* by fact: the causes with a sign on it, in net_shows */
    net_shows *shows;
    uint32_t *evidence_of; /* by fact: 1 + index in the evidence, 0 = none */
    uint32_t *finding_of;  /* by fact: 1 + index in findings */
    cw_fact_id *seen;      /* facts with an entry in evidence_of */
    uint32_t seen_count;
    uint32_t sign_count; /* of all causes: the most touches there can be */
    uint32_t link_count;
    double log_factor; /* logarithm of the constant factors; -INFINITY when one is 0 */
} network;

cw_status rank_net_new(network *net, const cw_model *model, const cw_allocator *allocator);
void rank_net_dispose(network *net);

/* left_out[i]: as if evidence i had not been seen; NULL: none. */
void rank_net_build(network *net, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                    const bool *left_out);

/* Chance that the cause, present, draws at most `value` (below: less than it); 1 without a sign on the fact.
 */
double rank_net_draws(const cw_model *model, cw_cause_id cause, cw_fact_id fact, uint32_t value,
                      double *below);
/* The same of the background. */
double rank_net_background(const cw_model *model, cw_fact_id fact, uint32_t value, double *below);
double rank_net_sign_draws(const cw_sign *sign, uint32_t value, double *below);
/* Circumstances: it is ruled out; how often it comes about by itself if it is not. */
bool rank_net_ruled_out(const cw_model *model, const cw_chain *chain, cw_cause_id id);
double rank_net_own(const cw_model *model, const cw_chain *chain, cw_cause_id id);
/* Logarithm of P(no cause at all, and the findings); the background draws every value seen. */
double rank_net_log_free(const network *net);
/* The link counts: both ends possible, chance above 0. */
bool rank_net_leads(const network *net, const net_parent *parent);

#endif
