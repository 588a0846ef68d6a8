/* Against dlib's join tree: sparse networks of forty causes in layers. */
#include "join_tree.h"
#include "network.h"
#include <criterion/criterion.h>

static void add_parent(join_node *node, uint32_t parent, double chance)
{
    cr_assert_lt(node->parent_count, (unsigned)JOIN_PARENTS);
    node->parents[node->parent_count] = parent;
    node->chances[node->parent_count++] = chance;
}

/* Causes first, then findings. The join tree is for one piece: a cause that nothing links is tied to the
 * first by a link of no effect. */
static void nodes_of(const sums_network *net, join_node *nodes)
{
    for (uint32_t c = 0; c < net->cause_count; c++)
        nodes[c] = (join_node){.leak = net->own[c], .seen = -1};
    for (uint32_t i = 0; i < net->link_count; i++)
        add_parent(&nodes[net->links[i].to], net->links[i].from, net->links[i].chance);
    for (uint32_t c = 1; c < net->cause_count; c++)
        if (nodes[c].parent_count == 0)
            add_parent(&nodes[c], 0, 0);
    for (uint32_t f = 0; f < net->finding_count; f++)
        nodes[net->cause_count + f] =
            (join_node){.leak = net->findings[f].background[1], .seen = (int)net->findings[f].seen};
    for (uint32_t i = 0; i < net->sign_count; i++)
        add_parent(&nodes[net->cause_count + net->signs[i].finding], net->signs[i].cause,
                   net->signs[i].chances[1]);
}

Test(sums, a_hundred_sparse_networks_equal_a_join_tree)
{
    random_state random = random_start(22);
    static sums_network net;
    for (int round = 0; round < 100; round++) {
        join_node nodes[SUMS_CAUSES + SUMS_FINDINGS];
        double want[SUMS_CAUSES + SUMS_FINDINGS], got[SUMS_CAUSES];
        sums_sparse(&net, &random, 40, 5 + random_below(&random, 11));
        nodes_of(&net, nodes);
        join_tree_posteriors(nodes, net.cause_count + net.finding_count, want);
        cr_assert_geq(sums_rank(&net, got), 0, "exact");
        for (uint32_t c = 0; c < net.cause_count; c++)
            cr_assert_float_eq(got[c], want[c], 1e-9);
    }
}
