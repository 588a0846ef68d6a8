/* Two causes at once, from the chance of either: an exact sum without both of them. */
#include "rank/question.h"

#include <math.h>

/* P(one | two) is left as it is by somebody having brought it in (came_in.h): with a cause he comes. */
static cw_status find_both(question *q, cw_cause_pair *pair)
{
    cw_causes_scratch *scratch = q->scratch;
    const double one = scratch->given_kept[pair->one], other = scratch->given_kept[pair->other];
    estimate either;
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++)
        scratch->group[id] = id == pair->one || id == pair->other;
    const cw_status status = question_any_of_group(q, &either);
    if (status == CW_OK && one > 0)
        pair->given_one = fmin(fmax(one + other - either.probability, 0) / one, 1);
    return status;
}

cw_status cw_causes_both(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                         size_t count, uint64_t max_steps, cw_cause_pair *pairs, uint32_t pair_count,
                         uint64_t *steps)
{
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    cw_status status = question_solve(&q, pair_count);
    for (uint32_t i = 0; i < pair_count; i++)
        pairs[i].given_one = -1;
    for (uint32_t i = 0; i < pair_count && status == CW_OK && q.exact && !q.impossible; i++)
        status = find_both(&q, &pairs[i]);
    *steps += (uint64_t)q.steps;
    return status;
}
