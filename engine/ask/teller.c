/* What would tell suspects apart that nothing else does. */
#include "ask/twins.h"

#include <stdlib.h>
#include <string.h>

static cw_status parts_group(const ask_call *call, const ask_weighed *weighed, const ask_group *g, bool *out)
{
    *out = false;
    for (uint32_t c = 0; c < weighed->class_count; c++)
        for (uint32_t i = 1; weighed->classes[c].moved != NULL && i < g->count; i++)
            *out |= ask_parted(&weighed->classes[c], g->members[0], g->members[i]);
    if (weighed->column == 0)
        return CW_OK;
    const double *shows = ask_column_shows(call, weighed->column, g->members, g->count);
    for (uint32_t i = 1; shows != NULL && i < g->count; i++)
        *out |= ask_parted_in_column(shows, call->asker->model->facts[weighed->column].values.count, 0, i);
    return shows == NULL ? CW_NO_MEMORY : CW_OK;
}

/* What could be asked, fewest minutes first. */
typedef struct candidate {
    cw_proposal proposal;
    bool leads; /* perhaps with others, to a fact on which the members differ */
} candidate;

/* Its own fact, or one that is concluded from it; what no rule that matters reads leads no further. */
static cw_status leads_to_parting(const ask_look *l, cw_check_id check, const bool *differs, bool *out)
{
    const cw_asker *asker = l->call->asker;
    const cw_model *model = asker->model;
    const cw_fact_id asked = model->checks[check].fact;
    bool *atoms = NULL;
    *out = differs[asked];
    if (*out || !asker->matter[l->call->about].through[asked])
        return CW_OK;
    cw_arena_reset(asker->trial);
    const cw_status status = ask_forward(asker, check, asker->trial, &atoms);
    for (uint32_t fact = 1; status == CW_OK && fact <= model->facts_count && !*out; fact++)
        for (uint32_t i = 0; differs[fact] && i < model->facts[fact].atoms.count && !*out; i++)
            *out = atoms[model->fact_atoms[model->facts[fact].atoms.first + i]];
    return status;
}

static int fewest_minutes_first(const void *a, const void *b)
{
    const cw_proposal *x = &((const candidate *)a)->proposal, *y = &((const candidate *)b)->proposal;
    if (x->minutes != y->minutes)
        return x->minutes < y->minutes ? -1 : 1;
    return (x->check > y->check) - (x->check < y->check);
}

/* Of causes, only what leads somewhere. */
static cw_status find_candidates(const ask_look *wide, const ask_group *g, candidate **out, size_t *count)
{
    const ask_call *call = wide->call;
    const cw_model *model = call->asker->model;
    bool *differs = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->facts_count + 1);
    candidate *list = CW_ROOM(call->asker->call, candidate, model->checks_count);
    cw_status status = differs != NULL && list != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        ask_mark_differing(wide, g, differs);
    *out = list;
    *count = 0;
    for (cw_check_id id = 1; id <= model->checks_count && status == CW_OK; id++) {
        candidate next = {.leads = false};
        if (!wide->reach.checks[id] || !ask_place(model, id, 0, call->limits->here, &next.proposal))
            continue;
        status = leads_to_parting(wide, id, differs, &next.leads);
        if (next.leads || call->about == CW_ABOUT_UNITS)
            list[(*count)++] = next;
    }
    if (*count > 1)
        qsort(list, *count, sizeof *list, fewest_minutes_first);
    return status;
}

static bool sooner(const cw_model *model, const cw_proposal *a, const cw_proposal *b)
{
    if (b->check == 0 || a->minutes != b->minutes)
        return b->check == 0 || a->minutes < b->minutes;
    if (fabs(a->bits - b->bits) > ASK_ALIKE)
        return a->bits > b->bits;
    return strcmp(model->checks[a->check].name, model->checks[b->check].name) < 0;
}

/* The best that parts them by an answer (units), and the best that leads there. */
typedef struct best {
    cw_proposal parts, leads;
} best;

static cw_status compare(ask_call *call, const ask_group *g, const candidate *next,
                         const ask_weighed *weighed, best *found)
{
    const cw_model *model = call->asker->model;
    cw_proposal p = next->proposal;
    bool parts = false;
    const cw_status status = call->about == CW_ABOUT_UNITS ? parts_group(call, weighed, g, &parts) : CW_OK;
    p.bits = weighed->bits;
    p.worth = p.bits / p.minutes;
    if (parts && sooner(model, &p, &found->parts))
        found->parts = p;
    if (next->leads && sooner(model, &p, &found->leads))
        found->leads = p;
    return status;
}

/* Several that take as many minutes: all are foreseen before the first is ranked. */
static cw_status try_alike(ask_call *call, const ask_footing *f, const ask_group *g, const candidate *list,
                           size_t count, best *found)
{
    ask_trial trials[ASK_TOGETHER];
    cw_status status = CW_OK;
    ask_try_anew(call);
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status = ask_try_begin(call, f, list[i].proposal.check, &trials[i]);
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        status = ask_try_end(&trials[i]);
        if (status == CW_OK)
            status = compare(call, g, &list[i], &trials[i].weighed, found);
    }
    return status;
}

static size_t count_alike(const candidate *list, size_t count, size_t most)
{
    size_t alike = 1;
    while (alike < count && alike < most && list[alike].proposal.minutes == list[0].proposal.minutes)
        alike++;
    return alike;
}

/* `wide`: all that could be asked at any place. In units an answer that parts them outranks one that only
 * leads there. What takes more minutes than what is found already need not be tried. */
static cw_status find_teller(const ask_look *wide, const ask_footing *f, const ask_group *g,
                             cw_proposal *tells)
{
    ask_call *call = wide->call;
    const bool units = call->about == CW_ABOUT_UNITS;
    best found = {{0}, {0}};
    candidate *list;
    size_t count;
    cw_status status = find_candidates(wide, g, &list, &count);
    for (size_t i = 0; i < count && status == CW_OK;) {
        const cw_proposal *so_far = units ? &found.parts : &found.leads;
        const size_t alike = count_alike(list + i, count - i, units ? 1 : ASK_TOGETHER);
        if (so_far->check != 0 && list[i].proposal.minutes > so_far->minutes)
            break;
        status = try_alike(call, f, g, list + i, alike, &found);
        i += alike;
    }
    *tells = found.parts.check != 0 ? found.parts : found.leads;
    return status;
}

/* What could be asked at any place, then what was left open as well: that is looked through only where
 * nothing else would tell. Each is made when first needed. */
cw_status ask_name_teller(ask_call *call, const ask_footing *f, ask_look wide[2], const ask_group *g,
                          cw_proposal *tells)
{
    cw_status status = CW_OK;
    *tells = (cw_proposal){0};
    for (int again = 0; again < 2 && status == CW_OK && tells->check == 0; again++) {
        if (wide[again].call == NULL)
            status = ask_look_new(call, f, 0, again == 1, &wide[again]);
        if (status == CW_OK)
            status = find_teller(&wide[again], f, g, tells);
    }
    return status;
}
