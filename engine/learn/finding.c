/* What causes show. */
#include "learn/inside.h"
#include "learn/noisy.h"

#include <math.h>

cw_status learn_append_from(const sum *of, const makers *all, uint32_t i, cw_lesson lesson)
{
    const learn_source *source = &all->sources[i];
    const uint32_t value = lesson.value;
    lesson.seen = learn_seen(of, all->numbers[i], value);
    lesson.of = learn_cases(of, all->numbers[i]);
    lesson.laid_to = source->expected[value];
    lesson.posterior = source->chance[value];
    lesson.unseen = lesson.kind == CW_LESSON_CAUSE ? fmax(source->cases - (double)lesson.of, 0) : 0;
    if (lesson.of == 0 || (lesson.book <= 0 && lesson.posterior <= 0))
        return CW_OK;
    return learn_append(of, lesson, source->prior[value], source->worth[value]);
}

static cw_cause_id cause_of(const cw_model *model, uint32_t sign)
{
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        if (sign >= model->causes[id].signs.first &&
            sign < model->causes[id].signs.first + model->causes[id].signs.count)
            return id;
    return 0;
}

/* What is normal is what is left. */
cw_status learn_finding(const sum *of)
{
    const cw_model *model = of->learner->model;
    const cw_fact_id fact = numbers_of(of->learner, of->rows[0])[AT_ABOUT];
    const uint32_t values = model->facts[fact].values.count;
    makers all;
    cw_status status = learn_makers(of, &all);
    for (uint32_t i = 0; i < all.count && status == CW_OK; i++) {
        const bool background = all.numbers[i] == 0;
        status = learn_source_from(of, &all, i,
                                   background ? model->facts[fact].background
                                              : model->signs[all.numbers[i] - 1].chances,
                                   of->worth.rest, values, !background);
    }
    learn_group *groups = status == CW_OK ? CW_NEW_ARRAY(of->arena, learn_group, of->count) : NULL;
    if (status == CW_OK && groups == NULL)
        status = CW_NO_MEMORY;
    for (size_t i = 0; i < of->count && status == CW_OK; i++)
        status = learn_group_of(of, &all, of->rows[i], &groups[i]);
    learn_noisy noisy = {.sources = all.sources,
                         .source_count = all.count,
                         .groups = groups,
                         .group_count = (uint32_t)of->count};
    if (status == CW_OK)
        status = learn_noisy_sum(of, &noisy);
    for (uint32_t i = 0; i < all.count && status == CW_OK; i++)
        for (uint32_t v = 1; v < values && status == CW_OK; v++) {
            cw_lesson lesson = {
                .kind = CW_LESSON_BACKGROUND, .fact = fact, .value = v, .worth = of->worth.rest};
            if (all.numbers[i] == 0) {
                lesson.book = model->facts[fact].background[v];
            } else {
                const cw_sign *sign = &model->signs[all.numbers[i] - 1];
                lesson.kind = CW_LESSON_SIGN;
                lesson.cause = cause_of(model, all.numbers[i] - 1);
                lesson.fact = sign->fact;
                lesson.book = sign->chances[v];
            }
            status = learn_append_from(of, &all, i, lesson);
        }
    return status;
}
