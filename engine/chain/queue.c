/* Most changes spread by breadth: what hears of rank n waits for rank n + 1 of the same layer. Such nodes
 * stand in lines, facts to be settled in one of their own. All others wait in a binary heap, with the place
 * of each, so that a key can change. A node may stand in a line and in the heap, or twice in a line: whoever
 * takes it finds the work done. */
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

void chain_queue_line_up(cw_chain *chain, chain_line *line, chain_node node, uint32_t layer, uint32_t rank)
{
    const uint64_t key = (uint64_t)layer << 32 | rank;
    if (line->head == line->tail) {
        line->head = line->turn = line->tail = 0;
        line->key = key;
    }
    const bool now = key == line->key && line->turn == line->tail;
    if ((now || key == line->key + 1) && line->tail < line->room) {
        line->nodes[line->tail++] = node;
        line->turn += now;
    } else {
        chain_queue_put(chain, node, layer, rank);
    }
}

/* The key of whoever stands first. */
static uint64_t line_key(const chain_line *line)
{
    return line->head == line->tail ? UINT64_MAX : line->key + (line->head == line->turn);
}

/* Where those of one key have all been taken, the others are next. */
static void turn_line(chain_line *line)
{
    if (line->head == line->turn) {
        line->key++;
        line->turn = line->tail;
    }
}

bool chain_queue_front_first(cw_chain *chain)
{
    const uint64_t key = line_key(&chain->front);
    if (key == UINT64_MAX || key > chain_queue_first_key(chain) || key > line_key(&chain->settling))
        return false;
    turn_line(&chain->front);
    return true;
}

static chain_node take_of_line(chain_line *line, uint32_t *rank)
{
    turn_line(line);
    *rank = (uint32_t)line->key;
    return line->nodes[line->head++];
}

chain_node chain_queue_take(cw_chain *chain, uint32_t *rank)
{
    if (chain_queue_front_first(chain))
        return take_of_line(&chain->front, rank);
    const uint64_t settling = line_key(&chain->settling);
    if (settling < UINT64_MAX && settling <= chain_queue_first_key(chain))
        return take_of_line(&chain->settling, rank);
    if (chain->waiting == 0)
        return 0;
    chain_node node = chain->heap[1];
    *rank = (uint32_t)chain->keys[1];
    chain_queue_remove(chain, node);
    return node;
}
