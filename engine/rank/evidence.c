#include "rank/evidence.h"

#include <stdlib.h>
#include <string.h>

typedef struct candidate {
    cw_evidence evidence;
    const char *name;
    const cw_fact_id *readings; /* context left out */
    size_t reading_count;
    uint32_t depth, signs;
} candidate;

typedef struct collector {
    const cw_chain *chain;
    const cw_model *model;
    cw_arena *arena;
    const cw_evidence_facts *facts;
    cw_fact_id *readings; /* room for those of one fact */
    cw_fact_id *known;    /* room for all of `facts` */
} collector;

/* How many of those it is about have a sign on the fact. */
static uint32_t signs_on(cw_about about, const cw_fact *fact)
{
    return about == CW_ABOUT_CAUSES ? fact->cause_signs : fact->unit_signs;
}

/* The value as evidence; false when there is none. A measure counts where its check says what is possible
 * (units alone have signs on measures and texts). */
static bool value_of(const collector *c, cw_fact_id id, cw_evidence *out)
{
    const cw_fact *fact = &c->model->facts[id];
    const bool finite = fact->values.count > 0;
    uint32_t value = 0;
    if (finite ? cw_chain_value(c->chain, id, &value) != CW_KNOWN : fact->check == 0)
        return false;
    *out = (cw_evidence){.fact = id, .value = value};
    if (finite)
        return true;
    if (fact->kind == CW_MEASURE)
        return cw_chain_number(c->chain, id, &out->number, &out->error) == CW_KNOWN;
    out->text = cw_chain_text(c->chain, id);
    return out->text != NULL;
}

static cw_status keep_readings(const collector *c, candidate *out)
{
    const size_t all = cw_chain_readings(c->chain, out->evidence.fact, c->readings, c->model->facts_count);
    size_t count = 0;
    for (size_t i = 0; i < all; i++)
        if (!c->model->facts[c->readings[i]].context)
            c->readings[count++] = c->readings[i];
    cw_fact_id *readings = CW_NEW_ARRAY(c->arena, cw_fact_id, count);
    if (readings == NULL)
        return CW_NO_MEMORY;
    if (count > 0)
        memcpy(readings, c->readings, count * sizeof *readings);
    out->readings = readings;
    out->reading_count = count;
    return CW_OK;
}

/* The text is copied: evidence outlives changes of the chain. */
static cw_status keep_text(const collector *c, candidate *out)
{
    if (out->evidence.text == NULL)
        return CW_OK;
    out->evidence.text = cw_arena_text(c->arena, out->evidence.text, strlen(out->evidence.text));
    return out->evidence.text == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Those that are candidates now, in c->known; few of all, so the candidates themselves are made afterwards.
 */
static size_t find_known(const collector *c)
{
    size_t count = 0;
    cw_evidence value;
    for (size_t i = 0; i < c->facts->count; i++) {
        const cw_fact_id id = c->facts->ids[i];
        if (value_of(c, id, &value) && !cw_chain_contested(c->chain, id))
            c->known[count++] = id;
    }
    return count;
}

static cw_status find_candidates(const collector *c, candidate **out, size_t *count)
{
    *count = find_known(c);
    *out = CW_NEW_ARRAY(c->arena, candidate, *count);
    if (*out == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < *count; i++) {
        candidate *next = &(*out)[i];
        const cw_fact_id id = c->known[i];
        (void)value_of(c, id, &next->evidence);
        next->name = c->model->facts[id].name;
        next->depth = cw_chain_depth(c->chain, id);
        next->signs = signs_on(c->facts->about, &c->model->facts[id]);
        if (keep_readings(c, next) != CW_OK || keep_text(c, next) != CW_OK)
            return CW_NO_MEMORY;
    }
    return CW_OK;
}

static int most_specific_first(const void *a, const void *b)
{
    const candidate *left = *(candidate *const *)a, *right = *(candidate *const *)b;
    if (left->reading_count != right->reading_count)
        return left->reading_count > right->reading_count ? -1 : 1;
    if (left->depth != right->depth)
        return left->depth > right->depth ? -1 : 1;
    if (left->signs != right->signs)
        return left->signs > right->signs ? -1 : 1;
    return strcmp(left->name, right->name);
}

/* From the most specific down, each takes its readings unless one is taken; `taken` names, by reading, the
 * place in that order of who has it, so that of several the most specific is named. */
static void settle(candidate **order, size_t count, uint32_t *taken)
{
    for (size_t i = 0; i < count; i++) {
        uint32_t first = UINT32_MAX;
        for (size_t r = 0; r < order[i]->reading_count; r++) {
            const uint32_t holder = taken[order[i]->readings[r]];
            if (holder != 0 && holder - 1 < first)
                first = holder - 1;
        }
        if (first != UINT32_MAX) {
            order[i]->evidence.yields_to = order[first]->evidence.fact;
            continue;
        }
        for (size_t r = 0; r < order[i]->reading_count; r++)
            taken[order[i]->readings[r]] = (uint32_t)i + 1;
    }
}

cw_status cw_evidence_find_facts(const cw_model *model, cw_about about, cw_arena *arena,
                                 cw_evidence_facts *out)
{
    cw_fact_id *ids = CW_ROOM(arena, cw_fact_id, model->facts_count);
    if (ids == NULL)
        return CW_NO_MEMORY;
    *out = (cw_evidence_facts){about, ids, 0};
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        if (signs_on(about, &model->facts[id]) != 0 && !model->facts[id].context)
            ids[out->count++] = id;
    return CW_OK;
}

cw_status cw_evidence_collect(const cw_chain *chain, cw_about about, cw_arena *arena, const cw_evidence **out,
                              size_t *count)
{
    cw_evidence_facts facts;
    const cw_status status = cw_evidence_find_facts(cw_chain_model(chain), about, arena, &facts);
    return status == CW_OK ? cw_evidence_collect_among(chain, &facts, arena, out, count) : status;
}

cw_status cw_evidence_collect_among(const cw_chain *chain, const cw_evidence_facts *facts, cw_arena *arena,
                                    const cw_evidence **out, size_t *count)
{
    collector c = {.chain = chain, .model = cw_chain_model(chain), .arena = arena, .facts = facts};
    candidate *candidates;
    size_t found;
    c.readings = CW_ROOM(arena, cw_fact_id, c.model->facts_count);
    c.known = CW_ROOM(arena, cw_fact_id, facts->count);
    if (c.readings == NULL || c.known == NULL || find_candidates(&c, &candidates, &found) != CW_OK)
        return CW_NO_MEMORY;
    candidate **order = CW_NEW_ARRAY(arena, candidate *, found);
    uint32_t *taken = CW_NEW_ARRAY(arena, uint32_t, (size_t)c.model->facts_count + 1);
    cw_evidence *evidence = CW_NEW_ARRAY(arena, cw_evidence, found);
    if (order == NULL || taken == NULL || evidence == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < found; i++)
        order[i] = &candidates[i];
    qsort(order, found, sizeof(candidate *), most_specific_first);
    settle(order, found, taken);
    for (size_t i = 0; i < found; i++)
        evidence[i] = candidates[i].evidence;
    *out = evidence;
    *count = found;
    return CW_OK;
}
