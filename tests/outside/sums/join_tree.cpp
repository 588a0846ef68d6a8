#include "join_tree.h"

#include <dlib/bayes_utils.h>
#include <dlib/directed_graph.h>
#include <dlib/graph.h>
#include <dlib/graph_utils.h>

using namespace dlib;
using namespace dlib::bayes_node_utils;

typedef directed_graph<bayes_node>::kernel_1a_c network;
typedef dlib::set<unsigned long>::compare_1b_c nodes_of;
typedef graph<nodes_of, nodes_of>::kernel_1a_c tree;

static void set_table(network &net, unsigned at, const join_node &node)
{
    assignment parents;
    for (unsigned i = 0; i < node.parent_count; i++)
        parents.add(node.parents[i], 0);
    for (unsigned set = 0; set < 1u << node.parent_count; set++) {
        double absent = 1 - node.leak;
        for (unsigned i = 0; i < node.parent_count; i++) {
            parents[node.parents[i]] = set >> i & 1;
            if (set >> i & 1)
                absent *= 1 - node.chances[i];
        }
        set_node_probability(net, at, 0, parents, absent);
        set_node_probability(net, at, 1, parents, 1 - absent);
    }
}

void join_tree_posteriors(const join_node *nodes, unsigned count, double *out)
{
    network net;
    net.set_number_of_nodes(count);
    for (unsigned at = 0; at < count; at++) {
        set_node_num_values(net, at, 2);
        for (unsigned i = 0; i < nodes[at].parent_count; i++)
            net.add_edge(nodes[at].parents[i], at);
    }
    for (unsigned at = 0; at < count; at++) {
        set_table(net, at, nodes[at]);
        if (nodes[at].seen >= 0) {
            set_node_value(net, at, static_cast<unsigned long>(nodes[at].seen));
            set_node_as_evidence(net, at);
        }
    }
    tree joined;
    create_moral_graph(net, joined);
    create_join_tree(joined, joined);
    bayesian_network_join_tree solution(net, joined);
    for (unsigned at = 0; at < count; at++)
        out[at] = solution.probability(at)(1);
}
