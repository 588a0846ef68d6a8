/* How often causes come about by themselves, and bring others about. Where a unit with nothing wrong is
 * seldom brought in, all of them hang together through the jobs that nobody sees. */
#include "learn/inside.h"
#include "learn/noisy.h"

typedef struct presence {
    sum real; /* rows about causes */
    const row *const *kinds;
    size_t kind_count;
    makers all;
    learn_group *groups;
    uint32_t group_count;
    learn_came_in *came_in; /* beside kinds */
    uint32_t *lists;        /* room for the groups of each kind */
} presence;

static cw_cause_id about(const sum *of, const row *one)
{
    return numbers_of(of->learner, one)[AT_ABOUT];
}

static cw_status make_sources(presence *of)
{
    const cw_model *model = of->real.learner->model;
    cw_status status = learn_makers(&of->real, &of->all);
    for (uint32_t i = 0; i < of->all.count && status == CW_OK; i++) {
        const uint32_t maker = of->all.numbers[i];
        const bool own = maker <= model->causes_count;
        const double chance =
            own ? model->causes[maker].seen : model->links[maker - model->causes_count - 1].chance;
        status = learn_source_from(&of->real, &of->all, i, (double[]){1 - chance, chance},
                                   own ? of->real.worth.seen : of->real.worth.rest, 2, true);
        if (status == CW_OK)
            of->all.sources[i].odds = own;
    }
    return status;
}

/* What a job of this kind does to the odds of the cause; 0: it is ruled out. */
static double times_in(const presence *of, const row *kind, cw_cause_id cause)
{
    const uint32_t *numbers = numbers_of(of->real.learner, kind);
    for (uint32_t k = AT_MAKERS; k + 2 < kind->size; k += 3)
        if (numbers[k] == cause)
            return number_of(numbers[k + 1], numbers[k + 2]);
    return 1;
}

/* The group that says the cause was absent, nobody having come, with these odds; one for all kinds alike. */
static uint32_t unseen_group(presence *of, const uint32_t *source, uint32_t first, double times)
{
    for (uint32_t g = first; g < of->group_count; g++)
        if (of->groups[g].times == times)
            return g;
    of->groups[of->group_count] =
        (learn_group){.sources = source, .count = 1, .times = times, .unseen = true};
    return of->group_count++;
}

static cw_status add_unseen(presence *of, cw_cause_id cause)
{
    const uint32_t first = of->group_count;
    uint32_t *source = CW_NEW_ARRAY(of->real.arena, uint32_t, 1);
    if (source == NULL)
        return CW_NO_MEMORY;
    *source = learn_maker_index(&of->all, cause);
    for (size_t i = 0; i < of->kind_count; i++) {
        learn_came_in *kind = &of->came_in[i];
        const double times = times_in(of, of->kinds[i], cause);
        uint32_t *list = of->lists + i * of->real.learner->model->causes_count;
        if (times <= 0)
            continue;
        list[kind->count++] = unseen_group(of, source, first, times);
        kind->groups = list;
    }
    return CW_OK;
}

/* Of one cause after the other: what was seen of it, then what was not. */
static cw_status make_groups(presence *of)
{
    const sum *real = &of->real;
    const size_t causes = real->learner->model->causes_count;
    of->groups = CW_NEW_ARRAY(real->arena, learn_group, real->count + of->kind_count * causes);
    of->came_in = CW_NEW_ARRAY(real->arena, learn_came_in, of->kind_count);
    of->lists = CW_NEW_ARRAY(real->arena, uint32_t, of->kind_count * causes);
    cw_status status = of->groups == NULL || of->came_in == NULL || of->lists == NULL ? CW_NO_MEMORY : CW_OK;
    for (size_t i = 0; i < of->kind_count && status == CW_OK; i++)
        of->came_in[i].cases = (double)of->kinds[i]->cases;
    for (size_t i = 0; i < real->count && status == CW_OK; i++) {
        status = learn_group_of(real, &of->all, real->rows[i], &of->groups[of->group_count++]);
        const cw_cause_id cause = about(real, real->rows[i]);
        const bool last = i + 1 == real->count || about(real, real->rows[i + 1]) != cause;
        if (status == CW_OK && last && of->kind_count > 0)
            status = add_unseen(of, cause);
    }
    return status;
}

static cw_status append_all(const presence *of)
{
    const cw_model *model = of->real.learner->model;
    cw_status status = CW_OK;
    for (uint32_t i = 0; i < of->all.count && status == CW_OK; i++) {
        const uint32_t maker = of->all.numbers[i];
        cw_lesson lesson = {.value = 1};
        if (maker <= model->causes_count) {
            lesson.kind = CW_LESSON_CAUSE;
            lesson.cause = maker;
            lesson.book = model->causes[maker].seen;
            lesson.worth = of->real.worth.seen;
        } else {
            const cw_link *link = &model->links[maker - model->causes_count - 1];
            lesson.kind = CW_LESSON_LEADS_TO;
            lesson.cause = link->from;
            lesson.to = link->to;
            lesson.book = link->chance;
            lesson.worth = of->real.worth.rest;
        }
        status = learn_append_from(&of->real, &of->all, i, lesson);
    }
    return status;
}

cw_status learn_presence(const sum *of)
{
    presence all = {.real = *of, .kinds = of->rows};
    while (all.kind_count < of->count && about(of, of->rows[all.kind_count]) == 0)
        all.kind_count++;
    all.real.rows += all.kind_count;
    all.real.count -= all.kind_count;
    cw_status status = make_sources(&all);
    if (status == CW_OK)
        status = make_groups(&all);
    if (status != CW_OK)
        return status;
    learn_noisy noisy = {.sources = all.all.sources,
                         .source_count = all.all.count,
                         .groups = all.groups,
                         .group_count = all.group_count,
                         .came_in = all.came_in,
                         .came_in_count = (uint32_t)all.kind_count};
    status = learn_noisy_sum(of, &noisy);
    return status == CW_OK ? append_all(&all) : status;
}
