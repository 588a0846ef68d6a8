/* In which stages a check can count, for those that do not say it: identify if a sign of a unit rests on its
 * answer, directly or through rules; triage likewise for causes. What decides whether such a check is asked
 * counts with it. */
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
    }
}

void work_out_stages(compiler *c)
{
    static const uint32_t identify = 1U << CW_IDENTIFY, triage = 1U << CW_TRIAGE,
                          every = (1U << CW_STAGE_COUNT) - 1;
    size_t count = c->facts.count;
    fact_queue queue = {take(c, count, sizeof *queue.facts), 0, 0};
    if (queue.facts == NULL)
        return;
    for (size_t i = 0; i < count; i++)
        if (fact_at(c, i)->unit_sign)
            mark(&queue, fact_at(c, i), identify);
    spread(&queue, identify);
    queue.head = queue.tail = 0;
    for (size_t i = 0; i < count; i++)
        if (fact_at(c, i)->cause_sign)
            mark(&queue, fact_at(c, i), triage);
    for (size_t i = 0; i < c->causes.count; i++)
        mark_all(&queue, &CW_VEC_AT(&c->causes, cause_def, i)->mentions, triage);
    spread(&queue, triage);
    for (size_t i = 0; i < count; i++) {
        check_def *check = fact_at(c, i)->check;
        if (check == NULL || check->stages_given)
            continue;
        check->check.stages = fact_at(c, i)->stages != 0 ? fact_at(c, i)->stages : every;
    }
}
