/* In which order the bits of a network are eliminated, and room for them. */
#include "rank/inside.h"
#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* More bits than this count as too dear: their table alone would be 32 MiB. */
#define MOST_BITS 16384
/* Up to so many a thorough order is looked for. */
#define THOROUGH_BITS 64

#define BY_CAUSE(X)                                                                                          \
    X(cause_left)                                                                                            \
    X(led)                                                                                                   \
    X(led_left)                                                                                              \
    X(absent_factor)                                                                                         \
    X(present_factor)                                                                                        \
    X(alone)                                                                                                 \
    X(leaf_of)                                                                                               \
    X(before)                                                                                                \
    X(bit_of_cause)                                                                                          \
    X(bit_of_led)                                                                                            \
    X(cause_to_come)                                                                                         \
    X(placed)                                                                                                \
    X(line)                                                                                                  \
    X(next_cause)

cw_status rank_sweep_new(rank_sweep *sweep, const network *net, const cw_allocator *allocator)
{
    *sweep = (rank_sweep){.net = net, .allocator = allocator, .lanes = 1};
    const size_t causes = net->model->causes_count;
    bool failed = false;
#define TAKE(name) sweep->name = rank_take(allocator, causes, sizeof *sweep->name, &failed);
    BY_CAUSE(TAKE)
#undef TAKE
    if (failed) {
        rank_sweep_dispose(sweep);
        return CW_NO_MEMORY;
    }
    return CW_OK;
}

void rank_sweep_dispose(rank_sweep *sweep)
{
    const size_t causes = sweep->net->model->causes_count;
#define GIVE(name) rank_give(sweep->allocator, sweep->name, causes, sizeof *sweep->name);
    BY_CAUSE(GIVE)
#undef GIVE
    if (sweep->numbers != NULL)
        cw_release(sweep->allocator, sweep->numbers, sweep->numbers_room * sizeof *sweep->numbers);
    if (sweep->block != NULL)
        cw_release(sweep->allocator, sweep->block, sweep->block_size);
}

/* -- Room -- */

/* What a network can need at most, by its findings, the causes that lead or are led to, and the rest of its
 * causes. */
typedef struct needs {
    size_t findings, bits, words, messages, steps, places, scopes;
} needs;

static needs needs_of(const network *net)
{
    size_t linked = 0, parents = 0;
    for (uint32_t i = 0; i < net->live_count; i++) {
        linked += net->model->causes[net->live[i]].leads_to.count > 0;
        linked += net->causes[net->live[i]].parents.count > 0;
        parents += net->causes[net->live[i]].parents.count;
    }
    needs out = {.findings = (size_t)net->finding_count + 1, .bits = net->finding_count + linked + 1};
    out.words = (out.bits + 63) / 64;
    out.messages = out.bits + net->live_count;
    out.steps = net->live_count + out.messages + out.bits;
    out.scopes = out.messages * (out.bits < SWEEP_MAX_WIDTH ? out.bits : SWEEP_MAX_WIDTH);
    out.places = 2 * (net->touch_count + parents + net->live_count) + out.scopes;
    return out;
}

/* All arrays of a network in one block, the strictest alignment first. `block` NULL: only how much. */
static size_t carve(rank_sweep *sweep, const needs *n, char *block)
{
    size_t used = 0;
#define CARVE(name, count)                                                                                   \
    if (block != NULL)                                                                                       \
        sweep->name = (void *)(block + used);                                                                \
    used += ((count) * sizeof *sweep->name + 15) / 16 * 16;
    CARVE(drawn, n->findings)
    CARVE(finding_left, n->findings)
    CARVE(bit_of_finding, n->findings)
    CARVE(leaves, n->findings)
    CARVE(leaf_count, n->findings)
    CARVE(finding_to_come, n->findings)
    CARVE(opened, n->findings)
    CARVE(rows, n->bits * n->words)
    CARVE(bits, n->bits)
    CARVE(turn, n->bits)
    CARVE(first_cause, n->bits)
    CARVE(first_message, n->bits)
    CARVE(degree, n->bits)
    CARVE(held_back, n->bits)
    CARVE(steps, n->steps)
    CARVE(messages, n->messages)
    CARVE(places, n->places)
    CARVE(scopes, n->scopes)
    CARVE(logs, n->messages * SWEEP_LANES)
    CARVE(state, (size_t)SWEEP_MAX_WIDTH + 1)
#undef CARVE
    return used;
}

static cw_status make_block(rank_sweep *sweep)
{
    needs n = needs_of(sweep->net);
    sweep->hopeless = n.bits > MOST_BITS;
    if (sweep->hopeless) /* counting still works */
        n = (needs){.findings = n.findings, .bits = 1, .words = 1};
    const size_t size = carve(sweep, &n, NULL);
    if (size > sweep->block_size) {
        void *block = cw_allocate(sweep->allocator, size);
        if (block == NULL)
            return CW_NO_MEMORY;
        if (sweep->block != NULL)
            cw_release(sweep->allocator, sweep->block, sweep->block_size);
        sweep->block = block;
        sweep->block_size = size;
    }
    (void)carve(sweep, &n, sweep->block);
    return CW_OK;
}

/* -- Ordering -- */

static void choose_led(rank_sweep *sweep)
{
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const net_cause *cause = &sweep->net->causes[sweep->net->live[i]];
        uint32_t parents = 0;
        for (uint32_t k = 0; k < cause->parents.count; k++)
            parents += sweep_leads(sweep, sweep_parent(sweep, cause, k));
        sweep->led[sweep->net->live[i]] = sweep->led_from > 0 && parents >= sweep->led_from;
    }
}

static uint32_t new_bit(rank_sweep *sweep, uint32_t who, sweep_bit_kind kind)
{
    sweep->bits[sweep->bit_count] = (sweep_bit){who, kind};
    return ++sweep->bit_count;
}

static void number_bits(rank_sweep *sweep)
{
    const network *net = sweep->net;
    sweep->bit_count = 0;
    for (uint32_t i = 0; i < net->finding_count; i++)
        sweep->bit_of_finding[i] = sweep->finding_left[i] > 0 ? new_bit(sweep, i, SWEEP_DRAWN) : 0;
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        sweep->bit_of_cause[id] = sweep->cause_left[id] > 0 ? new_bit(sweep, id, SWEEP_PRESENT) : 0;
        sweep->bit_of_led[id] = sweep->led_left[id] > 0 ? new_bit(sweep, id, SWEEP_LED) : 0;
    }
}

static size_t words_of(const rank_sweep *sweep)
{
    return ((size_t)sweep->bit_count + 63) / 64;
}

static uint64_t *row_of(const rank_sweep *sweep, uint32_t bit)
{
    return sweep->rows + bit * words_of(sweep);
}

static void add_to_row(uint64_t *row, uint32_t bit)
{
    row[bit / 64] |= (uint64_t)1 << bit % 64;
}

/* The bits that the cause speaks of. */
static void find_bits(const rank_sweep *sweep, cw_cause_id id, uint64_t *row)
{
    const net_cause *cause = &sweep->net->causes[id];
    memset(row, 0, words_of(sweep) * sizeof *row);
    if (sweep->cause_left[id] > 0)
        add_to_row(row, sweep->bit_of_cause[id] - 1);
    if (sweep_is_led(sweep, id))
        add_to_row(row, sweep->bit_of_led[id] - 1);
    for (uint32_t i = 0; i < cause->touches.count; i++)
        if (sweep->finding_left[sweep_touch(sweep, cause, i)->finding] > 0)
            add_to_row(row, sweep->bit_of_finding[sweep_touch(sweep, cause, i)->finding] - 1);
    for (uint32_t i = 0; i < cause->parents.count && !sweep_is_led(sweep, id); i++)
        if (sweep_leads(sweep, sweep_parent(sweep, cause, i)))
            add_to_row(row, sweep->bit_of_cause[sweep_parent(sweep, cause, i)->cause] - 1);
    for (uint32_t i = 0; i < sweep->net->model->causes[id].leads_to.count; i++) {
        double chance;
        const cw_cause_id led = sweep_led_follower(sweep, id, i, &chance);
        if (led != 0)
            add_to_row(row, sweep->bit_of_led[led] - 1);
    }
}

/* They hang together; `row` is room for them. */
static void join_bits(rank_sweep *sweep, cw_cause_id id, uint64_t *row)
{
    const size_t words = words_of(sweep);
    find_bits(sweep, id, row);
    for (uint32_t bit = 0; bit < sweep->bit_count; bit++)
        for (size_t w = 0; row[bit / 64] >> bit % 64 & 1 && w < words; w++)
            row_of(sweep, bit)[w] |= row[w];
}

/* Without itself. */
static uint32_t degree_of(const rank_sweep *sweep, uint32_t bit)
{
    uint32_t count = 0;
    for (size_t w = 0; w < words_of(sweep); w++)
        for (uint64_t rest = row_of(sweep, bit)[w]; rest != 0; rest &= rest - 1)
            count++;
    return count > 0 ? count - 1 : 0;
}

/* All that hang together with the bit do so with each other from now on, and no more with it. */
static void eliminate(rank_sweep *sweep, uint32_t bit)
{
    const size_t words = words_of(sweep);
    const uint64_t *gone = row_of(sweep, bit);
    for (uint32_t other = 0; other < sweep->bit_count; other++) {
        if (other == bit || !(gone[other / 64] >> other % 64 & 1))
            continue;
        uint64_t *row = row_of(sweep, other);
        for (size_t w = 0; w < words; w++)
            row[w] |= gone[w];
        row[bit / 64] &= ~((uint64_t)1 << bit % 64);
        sweep->degree[other] = degree_of(sweep, other);
    }
}

/* How many that hang together with the bit do not do so with each other yet, each pair twice. */
static uint32_t fill_of(const rank_sweep *sweep, uint32_t bit)
{
    const size_t words = words_of(sweep);
    const uint64_t *row = row_of(sweep, bit);
    uint32_t count = 0;
    for (uint32_t other = 0; other < sweep->bit_count; other++)
        for (size_t w = 0; other != bit && (row[other / 64] >> other % 64 & 1) && w < words; w++)
            for (uint64_t rest = row[w] & ~row_of(sweep, other)[w]; rest != 0; rest &= rest - 1)
                count++;
    return count;
}

/* A thorough order joins as few as it can (least fill), else as few as hang together (least degree). */
static uint32_t price_of(const rank_sweep *sweep, uint32_t bit)
{
    const bool thorough = sweep->thorough && sweep->bit_count <= THOROUGH_BITS;
    return thorough ? fill_of(sweep, bit) * THOROUGH_BITS + sweep->degree[bit] : sweep->degree[bit];
}

/* One more (or one less, when its turn has come) that must come before the cause's other bits, and before
 * those of followers that need its presence: no message is to know of it before it is worked in itself. */
static void hold_back(rank_sweep *sweep, cw_cause_id id, uint32_t by, uint64_t *row)
{
    const cw_model *model = sweep->net->model;
    const cw_run run = model->causes[id].leads_to;
    find_bits(sweep, id, row);
    for (uint32_t bit = 0; bit < sweep->bit_count; bit++)
        if ((row[bit / 64] >> bit % 64 & 1) && bit + 1 != sweep->bit_of_led[id])
            sweep->held_back[bit] += by;
    for (uint32_t i = run.first; i < run.first + run.count; i++) {
        const cw_cause_id follower = model->links[i].to;
        if (!sweep_hangs(sweep, follower) || sweep_is_led(sweep, follower))
            continue;
        find_bits(sweep, follower, row);
        for (uint32_t bit = 0; bit < sweep->bit_count; bit++)
            sweep->held_back[bit] += row[bit / 64] >> bit % 64 & 1 ? by : 0;
    }
}

static void start_turns(rank_sweep *sweep, uint64_t *row)
{
    for (uint32_t bit = 0; bit < sweep->bit_count; bit++) {
        sweep->degree[bit] = degree_of(sweep, bit);
        sweep->turn[bit] = UINT32_MAX;
        sweep->held_back[bit] = 0;
    }
    for (uint32_t bit = 0; bit < sweep->bit_count; bit++)
        if (sweep->bits[bit].kind == SWEEP_LED)
            hold_back(sweep, sweep->bits[bit].who, 1, row);
}

/* Cheapest first, ties by number: of findings in the order of their facts, then of causes. */
static uint32_t next_bit(const rank_sweep *sweep)
{
    uint32_t best = UINT32_MAX, least = UINT32_MAX;
    for (uint32_t bit = 0; bit < sweep->bit_count; bit++) {
        const bool may = sweep->turn[bit] == UINT32_MAX && sweep->held_back[bit] == 0;
        const uint32_t price = may ? price_of(sweep, bit) : UINT32_MAX;
        if (price >= least)
            continue;
        best = bit;
        least = price;
    }
    return best;
}

static void take_turns(rank_sweep *sweep, uint64_t *row)
{
    bool too_wide = false;
    start_turns(sweep, row);
    for (uint32_t turn = 0; turn < sweep->bit_count; turn++) {
        const uint32_t best = next_bit(sweep);
        assert(best != UINT32_MAX && "causes lead on in no circle");
        sweep->turn[best] = turn;
        if (sweep->bits[best].kind == SWEEP_LED)
            hold_back(sweep, sweep->bits[best].who, UINT32_MAX, row);
        too_wide |= sweep->degree[best] > SWEEP_MAX_WIDTH; /* the rest in any order: planning will tell */
        if (!too_wide)
            eliminate(sweep, best);
    }
}

static void renumber_one(rank_sweep *sweep, uint32_t *bit, uint32_t who, sweep_bit_kind kind)
{
    if (*bit == 0)
        return;
    *bit = sweep->turn[*bit - 1] + 1;
    sweep->bits[*bit - 1] = (sweep_bit){who, kind};
}

static void renumber(rank_sweep *sweep)
{
    const network *net = sweep->net;
    for (uint32_t i = 0; i < net->finding_count; i++)
        renumber_one(sweep, &sweep->bit_of_finding[i], i, SWEEP_DRAWN);
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        renumber_one(sweep, &sweep->bit_of_cause[id], id, SWEEP_PRESENT);
        renumber_one(sweep, &sweep->bit_of_led[id], id, SWEEP_LED);
    }
}

cw_status rank_sweep_order(rank_sweep *sweep)
{
    if (make_block(sweep) != CW_OK)
        return CW_NO_MEMORY;
    sweep->forced = NULL;
    choose_led(sweep);
    rank_sweep_count(sweep);
    if (sweep->hopeless)
        return CW_OK;
    number_bits(sweep);
    uint64_t *row = sweep->rows + sweep->bit_count * words_of(sweep);
    memset(sweep->rows, 0, sweep->bit_count * words_of(sweep) * sizeof *sweep->rows);
    for (uint32_t i = 0; i < sweep->net->live_count; i++)
        if (sweep_hangs(sweep, sweep->net->live[i]))
            join_bits(sweep, sweep->net->live[i], row);
    take_turns(sweep, row);
    renumber(sweep);
    return CW_OK;
}
