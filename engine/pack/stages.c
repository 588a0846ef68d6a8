/* In which stages a check can count, for those that do not say it: identify if a sign of a unit rests on its
 * answer, directly or through rules, or a line of the description; triage likewise for causes; teardown for
 * verdicts on parts, and for those that count for causes and can be done on the open unit; proof for lines of
 * the proof sheet. What decides whether such a check is asked counts with it. */
#include "pack/inside.h"

typedef struct fact_queue {
    fact_def **facts;
    size_t head, tail;
} fact_queue;

static void mark(fact_queue *queue, fact_def *fact, uint32_t stage)
{
    if ((fact->stages & stage) != 0)
        return;
    fact->stages |= stage;
    queue->facts[queue->tail++] = fact;
}

static void mark_all(fact_queue *queue, const cw_vec *facts, uint32_t stage)
{
    for (size_t i = 0; i < facts->count; i++)
        mark(queue, *CW_VEC_AT(facts, fact_def *, i), stage);
}

static void spread(fact_queue *queue, uint32_t stage)
{
    while (queue->head < queue->tail) {
        const fact_def *fact = queue->facts[queue->head++];
        for (const concluder *by = fact->rules; by != NULL; by = by->next)
            mark_all(queue, &by->rule->mentions, stage);
        if (fact->check != NULL)
            mark_all(queue, &fact->check->mentions, stage);
        if (fact->line != NULL)
            mark_all(queue, &fact->line->mentions, stage);
    }
}

static void mark_triage(compiler *c, fact_queue *queue)
{
    static const uint32_t triage = 1U << CW_TRIAGE;
    queue->head = queue->tail = 0;
    for (size_t i = 0; i < c->facts.count; i++)
        if (fact_at(c, i)->cause_sign)
            mark(queue, fact_at(c, i), triage);
    for (size_t i = 0; i < c->causes.count; i++)
        mark_all(queue, &CW_VEC_AT(&c->causes, cause_def, i)->mentions, triage);
    spread(queue, triage);
}

static void mark_teardown(compiler *c, fact_queue *queue)
{
    static const uint32_t teardown = 1U << CW_TEARDOWN, triage = 1U << CW_TRIAGE;
    queue->head = queue->tail = 0;
    for (size_t i = 0; i < c->facts.count; i++) {
        fact_def *fact = fact_at(c, i);
        bool opened = fact->check != NULL && (fact->stages & triage) != 0 &&
                      (fact->check->check.places & 1U << CW_AT_TEARDOWN) != 0;
        if (fact->verdict_on != 0 || opened)
            mark(queue, fact, teardown);
    }
    spread(queue, teardown);
}

static void mark_proof(compiler *c, fact_queue *queue)
{
    static const uint32_t proof = 1U << CW_PROOF;
    queue->head = queue->tail = 0;
    for (size_t i = 0; i < c->facts.count; i++)
        if (fact_at(c, i)->proof != 0)
            mark(queue, fact_at(c, i), proof);
    spread(queue, proof);
}

void work_out_stages(compiler *c)
{
    static const uint32_t identify = 1U << CW_IDENTIFY, every = (1U << CW_STAGE_COUNT) - 1;
    size_t count = c->facts.count;
    fact_queue queue = {take(c, count, sizeof *queue.facts), 0, 0};
    if (queue.facts == NULL)
        return;
    for (size_t i = 0; i < count; i++)
        if (fact_at(c, i)->unit_sign || fact_at(c, i)->described)
            mark(&queue, fact_at(c, i), identify);
    spread(&queue, identify);
    mark_triage(c, &queue);
    mark_teardown(c, &queue);
    mark_proof(c, &queue);
    for (size_t i = 0; i < count; i++) {
        const fact_def *fact = fact_at(c, i);
        check_def *check = fact->check;
        if (check == NULL)
            continue;
        if (!check->stages_given)
            check->check.stages = fact->stages;
        /* What tells units apart, or only sets the stage, is the same after a rebuild. */
        if (!check->lasting_given)
            check->check.lasting = fact->context || (check->check.stages & identify) != 0;
        if (!check->stages_given && fact->stages == 0)
            check->check.stages = every;
    }
}
