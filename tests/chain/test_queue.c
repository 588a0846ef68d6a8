/* The queue against a list that is searched through. */
#include "chain/inside.h"
#include "chain/lab.h"
#include "support/random.h"

#include <criterion/criterion.h>
#include <stdio.h>

enum { NODES = 60 };

typedef struct entry {
    bool waits;
    uint32_t layer, rank;
} entry;

static bool before(const entry *a, const entry *b)
{
    return a->layer != b->layer ? a->layer < b->layer : a->rank < b->rank;
}

Test(queue, gives_the_lowest_first_whatever_was_changed_or_removed)
{
    chain_lab lab = lab_new();
    for (int i = 0; i < NODES; i++) {
        char name[16];
        snprintf(name, sizeof name, "f%d", i);
        lab_fact(&lab, name, "no yes");
    }
    lab_start(&lab);
    random_state random = random_start(31);
    entry entries[NODES + 1] = {0};
    uint32_t waiting = 0;
    for (int move = 0; move < 20000; move++) {
        chain_node node = 1 + random_below(&random, NODES);
        uint32_t rank;
        switch (random_below(&random, 4)) {
        case 0:
            chain_queue_remove(lab.chain, node);
            waiting -= entries[node].waits;
            entries[node].waits = false;
            break;
        case 1:
            node = chain_queue_take(lab.chain, &rank);
            cr_assert_eq(node == 0, waiting == 0);
            if (node == 0)
                break;
            cr_assert(entries[node].waits && entries[node].rank == rank);
            for (int i = 1; i <= NODES; i++)
                cr_assert(!entries[i].waits || !before(&entries[i], &entries[node]), "move %d", move);
            entries[node].waits = false;
            waiting--;
            break;
        default:
            waiting += !entries[node].waits;
            entries[node] = (entry){true, random_below(&random, 4),
                                    random_below(&random, 3) ? random_below(&random, 9) : NEVER};
            chain_queue_put(lab.chain, node, entries[node].layer, entries[node].rank);
        }
    }
    for (uint32_t rank; chain_queue_take(lab.chain, &rank) != 0;)
        ;
    lab_end(&lab);
}
