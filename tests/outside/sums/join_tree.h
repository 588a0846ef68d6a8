/* dlib's join tree over yes-or-no nodes, each a noisy-OR of its parents with a leak. */
#ifndef CW_TESTS_SUMS_JOIN_TREE_H
#define CW_TESTS_SUMS_JOIN_TREE_H

#ifdef __cplusplus
extern "C" {
#endif

enum { JOIN_PARENTS = 6 };

typedef struct join_node {
    double leak;
    unsigned parent_count, parents[JOIN_PARENTS]; /* nodes before it */
    double chances[JOIN_PARENTS];
    int seen; /* 0, 1; -1 = not */
} join_node;

/* P(yes | what is seen), by node. */
void join_tree_posteriors(const join_node *nodes, unsigned count, double *out);

#ifdef __cplusplus
}
#endif

#endif
