/* The question order of a pack as a tree: a session answers, branch by branch.
 *
 * Each node is a state of the session: the answers given before, then those on the way to it. It asks the
 * first check the engine would that can be drawn (no stamped text), and has a child for each group of answers
 * that come to the same. Readings stand for stretches: neighbouring stretches with the same thing first are
 * one child, worked out from the likeliest of them. Nothing is asked where the engine stops, where the first
 * is CHART_SURE, or on ways too rare to be drawn twice (CHART_RARE). "Can't tell" is no branch. */
#ifndef TOOLS_CHART_TREE_H
#define TOOLS_CHART_TREE_H

#include "setup/setup.h"

#define CHART_SURE 0.90   /* chance of the first that is enough for a wall */
#define CHART_LIKELY 0.50 /* from which something is done about it */
#define CHART_RARE 0.02   /* ways that fewer jobs come to are never drawn */
enum { CHART_DEEPEST = 8, CHART_NONE = -1 };

/* What a way comes to; worked out when it is drawn as an end. */
typedef struct chart_end {
    bool told;
    char *head;        /* owned: what it is */
    char *figure;      /* owned: words around the chance: "outside the unit"; "" */
    char *other;       /* owned: what it is if not; "" */
    char *act;         /* owned: what to do first; "" */
    char *cautions[4]; /* owned: sentences */
    size_t caution_count;
} chart_end;

typedef struct chart_node {
    int parent;                 /* CHART_NONE: the root */
    int first, count;           /* children stand together */
    unsigned deep;              /* questions answered */
    char *label;                /* owned: the answers that lead here, for people */
    char *value;                /* owned: one of them, as a case has it */
    char *values;               /* owned: all of them, '|' between; readings: the one */
    double reach;               /* chance that a job comes here */
    double spent;               /* minutes on the way */
    const char *leader;         /* id of what is first here, not_listed, nothing_found; "": nothing */
    double chance;              /* of the leader */
    bool measured;              /* its label is a stretch of readings */
    const cw_check_info *check; /* asked here; NULL: nothing */
    const char *place;
    double minutes;
    chart_end end;
} chart_node;

typedef struct chart_tree {
    const cw_pack *pack;
    cw_session *session;
    const char *here; /* where one begins */
    bool of_units;
    chart_node *nodes; /* owned; [0] is the root */
    int count;
    bool cut; /* of some question not every check was weighed: the engine ran out of steps */
    cw_status status;
} chart_tree;

/* The session holds what is given; it is as before afterwards. Check status. here: where work begins. */
void chart_grow(const cw_pack *pack, cw_session *session, const char *here, unsigned deep, chart_tree *out);
/* Works out nodes[node].end where that has not been done. */
void chart_tell(chart_tree *tree, int node);
void chart_tree_free(chart_tree *tree);

/* chart_end.c: the session stands at the node. */
cw_status chart_end_of(const chart_tree *tree, const chart_node *node, chart_end *out);
/* What is first now: its id lives as long as the pack. */
cw_status chart_leader(const chart_tree *tree, const char **id, double *chance);
/* "12 s", "1.5 min"; buffer of 24. */
const char *chart_minutes(double minutes, char *buffer);

#endif
