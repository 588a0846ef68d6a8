/* Making, copying and freeing a chain: two blocks, one for what stays, one for what changes. */
#include "chain/inside.h"

#include "base/vec.h"
#include <assert.h>
#include <stdalign.h>
#include <string.h>

/* Pieces laid one behind the other. The first round, without a base, only adds up. */
typedef struct layout {
    unsigned char *base;
    size_t size;
    bool too_large;
} layout;

static void *piece(layout *block, size_t count, size_t item)
{
    size_t bytes, end;
    if (!cw_size_times(count, item, &bytes) || !cw_size_plus(bytes, alignof(max_align_t) - 1, &bytes) ||
        !cw_size_plus(block->size, bytes & ~(alignof(max_align_t) - 1), &end)) {
        block->too_large = true;
        return NULL;
    }
    void *place = block->base == NULL ? NULL : block->base + block->size;
    block->size = end;
    return place;
}

#define PIECE(block, member, count) ((member) = piece((block), (count), sizeof *(member)))

static void lay_list(layout *block, chain_list *list, size_t last, size_t entries)
{
    PIECE(block, list->start, last + 3);
    PIECE(block, list->items, entries);
}

static void lay_scratch(layout *block, cw_chain *chain, size_t nodes)
{
    size_t widest = chain->index.widest;
    PIECE(block, chain->scratch, 1);
    chain_scratch none = {0}, *scratch = chain->scratch == NULL ? &none : chain->scratch;
    PIECE(block, scratch->seen, nodes);
    PIECE(block, scratch->depth, nodes);
    PIECE(block, scratch->nodes, nodes);
    PIECE(block, scratch->waiting, nodes);
    PIECE(block, scratch->nodes_tainted, nodes);
    PIECE(block, scratch->ranks, widest);
    PIECE(block, scratch->values, widest);
    PIECE(block, scratch->errors, widest);
    PIECE(block, scratch->read, chain->index.formulas);
    PIECE(block, scratch->truths, widest);
    PIECE(block, scratch->taint, nodes);
}

/* Index, scratch and queue. */
static size_t lay_fixed(layout *block, cw_chain *chain, size_t premises, size_t inputs)
{
    const cw_model *model = chain->model;
    chain_index *index = &chain->index;
    size_t atoms = model->atoms_count, facts = model->facts_count;
    lay_list(block, &index->uses, atoms, premises);
    lay_list(block, &index->sources, facts, index->formulas);
    lay_list(block, &index->readers, facts, inputs);
    PIECE(block, index->rule_of, index->formulas);
    PIECE(block, index->all, (size_t)model->rules_count + 1);
    PIECE(block, index->head, (size_t)model->rules_count + 1);
    PIECE(block, index->atom_layer, atoms + 1);
    PIECE(block, index->fact_layer, facts + 1);
    PIECE(block, index->known_atom, facts + 1);
    PIECE(block, index->only_atom, facts + 1);
    PIECE(block, index->text_check, index->texts);
    PIECE(block, index->tells, atoms + 1);
    lay_scratch(block, chain, atoms + facts + 1);
    size_t nodes = atoms + facts + 1 + index->formulas;
    PIECE(block, chain->front.nodes, atoms + 1);
    PIECE(block, chain->settling.nodes, facts + 1);
    chain->front.room = model->atoms_count + 1;
    chain->settling.room = model->facts_count + 1;
    PIECE(block, chain->keys, nodes + 1);
    PIECE(block, chain->heap, nodes + 1);
    PIECE(block, chain->place, nodes);
    return block->size;
}

static size_t lay_state(layout *block, cw_chain *chain)
{
    const cw_model *model = chain->model;
    size_t atoms = (size_t)model->atoms_count + 1, facts = (size_t)model->facts_count + 1;
    PIECE(block, chain->answers, (size_t)model->checks_count + 1);
    PIECE(block, chain->formula, chain->index.formulas);
    PIECE(block, chain->read, chain->index.formulas);
    PIECE(block, chain->atom, atoms);
    PIECE(block, chain->brief, (size_t)model->rules_count + 1);
    PIECE(block, chain->come, (size_t)model->rules_count + 1);
    PIECE(block, chain->pick, facts);
    PIECE(block, chain->conflicts, facts);
    PIECE(block, chain->texts, (size_t)chain->index.texts * (CW_ANSWER_MAX_TEXT + 1));
    PIECE(block, chain->seed, atoms);
    PIECE(block, chain->known, facts);
    return block->size;
}

static void *zeroed(const cw_allocator *allocator, const layout *block)
{
    void *memory = block->too_large ? NULL : cw_allocate(allocator, block->size);
    if (memory != NULL)
        memset(memory, 0, block->size);
    return memory;
}

static bool take_memory(cw_chain *chain)
{
    size_t premises, inputs;
    chain_index_measure(chain->model, &chain->index, &premises, &inputs);
    layout fixed = {0}, state = {0};
    chain->fixed_size = lay_fixed(&fixed, chain, premises, inputs);
    chain->state_size = lay_state(&state, chain);
    chain->fixed_block = zeroed(&chain->allocator, &fixed);
    if (chain->fixed_block == NULL)
        return false;
    chain->state_block = zeroed(&chain->allocator, &state);
    if (chain->state_block == NULL) {
        cw_release(&chain->allocator, chain->fixed_block, chain->fixed_size);
        return false;
    }
    lay_fixed(&(layout){.base = chain->fixed_block}, chain, premises, inputs);
    lay_state(&(layout){.base = chain->state_block}, chain);
    return true;
}

cw_status cw_chain_new(const cw_model *model, const cw_allocator *allocator, cw_chain **out)
{
    *out = NULL;
    if (model->atoms_count > CHAIN_MOST || model->rules_count > CHAIN_MOST || model->facts_count > CHAIN_MOST)
        return CW_LIMIT;
    cw_chain *chain = cw_allocate(allocator, sizeof *chain);
    if (chain == NULL)
        return CW_NO_MEMORY;
    *chain = (cw_chain){.model = model, .allocator = *allocator};
    if (!take_memory(chain)) {
        cw_release(allocator, chain, sizeof *chain);
        return CW_NO_MEMORY;
    }
    chain_index_fill(model, &chain->index);
    chain_start(chain);
    *out = chain;
    return CW_OK;
}

void cw_chain_free(cw_chain *chain)
{
    if (chain == NULL)
        return;
    cw_allocator allocator = chain->allocator;
    cw_release(&allocator, chain->state_block, chain->state_size);
    cw_release(&allocator, chain->fixed_block, chain->fixed_size);
    cw_release(&allocator, chain, sizeof *chain);
}

char *chain_text_place(const cw_chain *chain, cw_check_id check)
{
    uint32_t low = 0, high = chain->index.texts - 1;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (chain->index.text_check[middle] < check)
            low = middle + 1;
        else
            high = middle;
    }
    assert(chain->index.text_check[low] == check);
    return &chain->texts[(size_t)low * (CW_ANSWER_MAX_TEXT + 1)];
}

void cw_chain_copy(cw_chain *to, const cw_chain *from)
{
    assert(to->model == from->model && from->waiting == 0);
    if (to == from)
        return;
    memcpy(to->state_block, from->state_block, from->state_size);
    to->conflicts_count = from->conflicts_count;
    to->steps = from->steps;
    to->version = from->version;
    to->scratch->taint_version = 0; /* the versions of two chains have nothing in common */
    for (uint32_t i = 0; i < to->index.texts; i++) {
        cw_answer *answer = &to->answers[to->index.text_check[i]];
        if (answer->text != NULL)
            answer->text = chain_text_place(to, to->index.text_check[i]);
    }
}

cw_truth cw_chain_truth(const cw_chain *chain, cw_atom_id atom)
{
    return atom == 0 || atom > chain->model->atoms_count ? CW_NO : chain_truth_of(chain->atom[atom].rank);
}

uint64_t cw_chain_steps(const cw_chain *chain)
{
    return chain->steps;
}

uint64_t cw_chain_version(const cw_chain *chain)
{
    return chain->version;
}

const cw_model *cw_chain_model(const cw_chain *chain)
{
    return chain->model;
}
