/* A binary heap of nodes with the place of each, so that a key can change while it waits. */
#include "chain/inside.h"

static void put_at(cw_chain *chain, uint32_t place, chain_node node, uint64_t key)
{
    chain->heap[place] = node;
    chain->keys[place] = key;
    chain->place[node] = place;
}

static void rise(cw_chain *chain, uint32_t place, chain_node node, uint64_t key)
{
    for (; place > 1 && chain->keys[place / 2] > key; place /= 2)
        put_at(chain, place, chain->heap[place / 2], chain->keys[place / 2]);
    put_at(chain, place, node, key);
}

static void sink(cw_chain *chain, uint32_t place, chain_node node, uint64_t key)
{
    for (uint32_t child; (child = place * 2) <= chain->waiting; place = child) {
        if (child < chain->waiting && chain->keys[child + 1] < chain->keys[child])
            child++;
        if (chain->keys[child] >= key)
            break;
        put_at(chain, place, chain->heap[child], chain->keys[child]);
    }
    put_at(chain, place, node, key);
}

/* Puts a node where another has left: it may belong higher or lower. */
static void settle_at(cw_chain *chain, uint32_t place, chain_node node, uint64_t key)
{
    if (place > 1 && chain->keys[place / 2] > key)
        rise(chain, place, node, key);
    else
        sink(chain, place, node, key);
}

void chain_queue_put(cw_chain *chain, chain_node node, uint32_t layer, uint32_t rank)
{
    uint64_t key = (uint64_t)layer << 32 | rank;
    uint32_t place = chain->place[node];
    if (place == 0)
        rise(chain, ++chain->waiting, node, key);
    else if (chain->keys[place] != key)
        settle_at(chain, place, node, key);
}

void chain_queue_remove(cw_chain *chain, chain_node node)
{
    uint32_t place = chain->place[node];
    if (place == 0)
        return;
    chain->place[node] = 0;
    uint32_t last = chain->waiting--;
    if (place != last)
        settle_at(chain, place, chain->heap[last], chain->keys[last]);
}

chain_node chain_queue_take(cw_chain *chain, uint32_t *rank)
{
    if (chain->waiting == 0)
        return 0;
    chain_node node = chain->heap[1];
    *rank = (uint32_t)chain->keys[1];
    chain_queue_remove(chain, node);
    return node;
}
