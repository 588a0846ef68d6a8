/* What of a network needs a bit, and in which order the bits are eliminated. */
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
    X(absent_factor)                                                                                         \
    X(present_factor)                                                                                        \
    X(alone)                                                                                                 \
    X(leaf_of)                                                                                               \
    X(before)                                                                                                \
    X(bit_of_cause)                                                                                          \
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

/* -- Counting -- */

/* Factors of the two halves; kept away from the smallest numbers, by powers of two. */
static void fold_in(rank_sweep *sweep, cw_cause_id id, double absent, double present)
{
    double *of_absent = &sweep->absent_factor[id], *of_present = &sweep->present_factor[id];
    *of_absent *= absent;
    *of_present *= present;
    if (*of_absent < 0x1p-200 && *of_present < 0x1p-200) {
        *of_absent *= 0x1p200;
        *of_present *= 0x1p200;
        sweep->log_factor -= 200 * RANK_LOG_2;
    }
}

/* A forced absence is worth what its own is, and to each present parent that it does not lead here. */
static void force_absent(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep->log_factor += log(cause->absent) + log(cause->lacks);
    for (uint32_t i = 0; i < cause->parents.count; i++)
        if (sweep_leads(sweep, sweep_parent(sweep, cause, i)))
            fold_in(sweep, sweep_parent(sweep, cause, i)->cause, 1, sweep_parent(sweep, cause, i)->stays);
}

static void count_cause(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++)
        sweep->finding_left[sweep_touch(sweep, cause, i)->finding]++;
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        if (!sweep_leads(sweep, sweep_parent(sweep, cause, i)))
            continue;
        sweep->cause_left[sweep_parent(sweep, cause, i)->cause]++;
        sweep->alone[sweep_parent(sweep, cause, i)->cause] = sweep->alone[id] = false;
    }
}

/* A finding that one cause alone touches needs no bit. */
static void fold_private_findings(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const net_touch *touch = sweep_touch(sweep, cause, i);
        const net_finding *background = &sweep->net->findings[touch->finding];
        if (sweep->finding_left[touch->finding] != 1)
            continue;
        fold_in(sweep, id, background->hit,
                background->hit * (touch->miss + touch->hit) + background->miss * touch->hit);
        sweep->finding_left[touch->finding] = 0;
    }
}

/* Its touch, when a cause in no link touches one shared finding alone; NULL otherwise. One that touches none
 * stands alone. */
static const net_touch *only_touch(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    const net_touch *only = NULL;
    uint32_t shared = 0;
    for (uint32_t i = 0; i < cause->touches.count; i++)
        if (sweep->finding_left[sweep_touch(sweep, cause, i)->finding] > 0) {
            only = sweep_touch(sweep, cause, i);
            shared++;
        }
    const bool linked = !sweep->alone[id];
    sweep->alone[id] = !linked && shared == 0;
    return !linked && shared == 1 && !sweep->no_leaves ? only : NULL;
}

/* A leaf becomes part of what its finding's background draws. */
static void fold_leaf(rank_sweep *sweep, cw_cause_id id, const net_touch *touch)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep_drawn *drawn = &sweep->drawn[touch->finding];
    const double absent = cause->absent * sweep->absent_factor[id],
                 present = cause->own * sweep->present_factor[id];
    sweep->leaf_of[id] = touch->finding + 1;
    sweep->before[id] = *drawn;
    sweep->next_cause[id] = sweep->leaves[touch->finding];
    sweep->leaves[touch->finding] = id;
    sweep->leaf_count[touch->finding]++;
    drawn->hit =
        drawn->hit * (absent + present * (touch->miss + touch->hit)) + drawn->miss * present * touch->hit;
    drawn->miss *= absent + present * touch->miss;
    if (drawn->hit < 0x1p-200 && drawn->miss < 0x1p-200) {
        drawn->hit *= 0x1p200;
        drawn->miss *= 0x1p200;
        sweep->log_factor -= 200 * RANK_LOG_2;
    }
}

static void start_counting(rank_sweep *sweep)
{
    const network *net = sweep->net;
    sweep->log_factor = net->log_factor;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->finding_left[i] = sweep->leaves[i] = sweep->leaf_count[i] = 0;
        sweep->drawn[i] = (sweep_drawn){net->findings[i].hit, net->findings[i].miss};
    }
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        sweep->absent_factor[id] = net->causes[id].lacks;
        sweep->present_factor[id] = net->causes[id].weight;
        sweep->cause_left[id] = sweep->leaf_of[id] = 0;
        sweep->alone[id] = true;
    }
}

void rank_sweep_count(rank_sweep *sweep)
{
    const network *net = sweep->net;
    start_counting(sweep);
    for (uint32_t i = 0; i < net->live_count; i++) {
        if (sweep_takes_part(sweep, net->live[i]))
            count_cause(sweep, net->live[i]);
        else
            force_absent(sweep, net->live[i]);
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->finding_left[i] == 0) /* all that could touch it are forced absent */
            sweep->log_factor += log(net->findings[i].hit);
    for (uint32_t i = 0; i < net->live_count; i++)
        if (sweep_takes_part(sweep, net->live[i]))
            fold_private_findings(sweep, net->live[i]);
    for (uint32_t i = 0; i < net->live_count; i++) {
        const net_touch *touch =
            sweep_takes_part(sweep, net->live[i]) ? only_touch(sweep, net->live[i]) : NULL;
        if (touch != NULL)
            fold_leaf(sweep, net->live[i], touch);
    }
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->finding_left[i] -= sweep->leaf_count[i];
        if (sweep->finding_left[i] == 0 && sweep->leaves[i] != 0) /* only leaves touch it */
            sweep->log_factor += log(sweep->drawn[i].hit);
    }
}

/* -- Room -- */

/* What a network can need at most, by its findings, the causes that lead, and the rest of its causes. */
typedef struct needs {
    size_t findings, bits, words, messages, steps, places, scopes;
} needs;

static needs needs_of(const network *net)
{
    size_t leading = 0, parents = 0;
    for (uint32_t i = 0; i < net->live_count; i++) {
        leading += net->model->causes[net->live[i]].leads_to.count > 0;
        parents += net->causes[net->live[i]].parents.count;
    }
    needs out = {.findings = (size_t)net->finding_count + 1, .bits = net->finding_count + leading + 1};
    out.words = (out.bits + 63) / 64;
    out.messages = out.bits + net->live_count;
    out.steps = net->live_count + out.messages + out.bits;
    out.scopes = out.messages * (out.bits < SWEEP_MAX_WIDTH ? out.bits : SWEEP_MAX_WIDTH);
    out.places = 2 * (net->touch_count + parents) + out.scopes;
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

static void number_bits(rank_sweep *sweep)
{
    const network *net = sweep->net;
    sweep->bit_count = 0;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->bit_of_finding[i] = 0;
        if (sweep->finding_left[i] == 0)
            continue;
        sweep->bits[sweep->bit_count++] = (sweep_bit){i, false};
        sweep->bit_of_finding[i] = sweep->bit_count;
    }
    for (uint32_t i = 0; i < net->live_count; i++) {
        sweep->bit_of_cause[net->live[i]] = 0;
        if (sweep->cause_left[net->live[i]] == 0)
            continue;
        sweep->bits[sweep->bit_count++] = (sweep_bit){net->live[i], true};
        sweep->bit_of_cause[net->live[i]] = sweep->bit_count;
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

/* The bits of one cause hang together; `row` is room for them. */
static void join_bits(rank_sweep *sweep, cw_cause_id id, uint64_t *row)
{
    const size_t words = words_of(sweep);
    const net_cause *cause = &sweep->net->causes[id];
    memset(row, 0, words * sizeof *row);
    if (sweep->cause_left[id] > 0)
        add_to_row(row, sweep->bit_of_cause[id] - 1);
    for (uint32_t i = 0; i < cause->touches.count; i++)
        if (sweep->finding_left[sweep_touch(sweep, cause, i)->finding] > 0)
            add_to_row(row, sweep->bit_of_finding[sweep_touch(sweep, cause, i)->finding] - 1);
    for (uint32_t i = 0; i < cause->parents.count; i++)
        if (sweep_leads(sweep, sweep_parent(sweep, cause, i)))
            add_to_row(row, sweep->bit_of_cause[sweep_parent(sweep, cause, i)->cause] - 1);
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

/* Cheapest first, ties by number: of findings in the order of their facts, then of causes. */
static void take_turns(rank_sweep *sweep)
{
    const uint32_t count = sweep->bit_count;
    bool too_wide = false;
    for (uint32_t bit = 0; bit < count; bit++) {
        sweep->degree[bit] = degree_of(sweep, bit);
        sweep->turn[bit] = UINT32_MAX;
    }
    for (uint32_t turn = 0; turn < count; turn++) {
        uint32_t best = UINT32_MAX, least = UINT32_MAX;
        for (uint32_t bit = 0; bit < count; bit++) {
            const uint32_t price = sweep->turn[bit] == UINT32_MAX ? price_of(sweep, bit) : UINT32_MAX;
            if (price >= least)
                continue;
            best = bit;
            least = price;
        }
        sweep->turn[best] = turn;
        too_wide |= sweep->degree[best] > SWEEP_MAX_WIDTH; /* the rest in any order: planning will tell */
        if (!too_wide)
            eliminate(sweep, best);
    }
}

static void renumber(rank_sweep *sweep)
{
    const network *net = sweep->net;
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->bit_of_finding[i] != 0)
            sweep->bit_of_finding[i] = sweep->turn[sweep->bit_of_finding[i] - 1] + 1;
    for (uint32_t i = 0; i < net->live_count; i++)
        if (sweep->bit_of_cause[net->live[i]] != 0)
            sweep->bit_of_cause[net->live[i]] = sweep->turn[sweep->bit_of_cause[net->live[i]] - 1] + 1;
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->bit_of_finding[i] != 0)
            sweep->bits[sweep->bit_of_finding[i] - 1] = (sweep_bit){i, false};
    for (uint32_t i = 0; i < net->live_count; i++)
        if (sweep->bit_of_cause[net->live[i]] != 0)
            sweep->bits[sweep->bit_of_cause[net->live[i]] - 1] = (sweep_bit){net->live[i], true};
}

cw_status rank_sweep_order(rank_sweep *sweep)
{
    if (make_block(sweep) != CW_OK)
        return CW_NO_MEMORY;
    sweep->forced = NULL;
    rank_sweep_count(sweep);
    if (sweep->hopeless)
        return CW_OK;
    number_bits(sweep);
    uint64_t *row = sweep->rows + sweep->bit_count * words_of(sweep);
    memset(sweep->rows, 0, sweep->bit_count * words_of(sweep) * sizeof *sweep->rows);
    for (uint32_t i = 0; i < sweep->net->live_count; i++)
        if (sweep_hangs(sweep, sweep->net->live[i]))
            join_bits(sweep, sweep->net->live[i], row);
    take_turns(sweep);
    renumber(sweep);
    return CW_OK;
}
