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
    double leads; /* perhaps with others, to a fact on which the members differ by so much; 0: to none */
} candidate;

/* Its own fact, or one that is concluded from it; what no rule that matters reads leads no further. */
static cw_status leads_to_parting(const ask_look *l, cw_check_id check, const double *differs, double *out)
{
    const cw_asker *asker = l->call->asker;
    const cw_model *model = asker->model;
    const cw_fact_id asked = model->checks[check].fact;
    bool *atoms = NULL;
    *out = differs[asked];
    if (!asker->matter[l->call->about].through[asked])
        return CW_OK;
    cw_arena_reset(asker->trial);
    const cw_status status = ask_forward(asker, check, asker->trial, &atoms);
    for (uint32_t fact = 1; status == CW_OK && fact <= model->facts_count; fact++)
        for (uint32_t i = 0; differs[fact] > *out && i < model->facts[fact].atoms.count; i++)
            if (atoms[model->fact_atoms[model->facts[fact].atoms.first + i]])
                *out = differs[fact];
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
    double *differs = CW_NEW_ARRAY(call->asker->call, double, (size_t)model->facts_count + 1);
    candidate *list = CW_ROOM(call->asker->call, candidate, model->checks_count);
    cw_status status = differs != NULL && list != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        ask_mark_differing(wide, g, differs);
    *out = list;
    *count = 0;
    for (cw_check_id id = 1; id <= model->checks_count && status == CW_OK; id++) {
        candidate next = {.leads = 0};
        if (!wide->reach.checks[id] || !ask_place(model, id, 0, call->limits->here, &next.proposal))
            continue;
        status = leads_to_parting(wide, id, differs, &next.leads);
        if (next.leads > 0 || call->about == CW_ABOUT_UNITS)
            list[(*count)++] = next;
    }
    if (*count > 1)
        qsort(list, *count, sizeof *list, fewest_minutes_first);
    return status;
}

/* Of causes no answer needs to be tried: what they differ on most is what parts them best. */
static void causes_teller(const cw_model *model, const candidate *list, size_t count, cw_proposal *tells)
{
    const candidate *best = NULL;
    for (size_t i = 0; i < count && list[i].proposal.minutes <= list[0].proposal.minutes; i++)
        if (best == NULL || list[i].leads > best->leads + ASK_ALIKE ||
            (list[i].leads > best->leads - ASK_ALIKE && strcmp(model->checks[list[i].proposal.check].name,
                                                               model->checks[best->proposal.check].name) < 0))
            best = &list[i];
    if (best != NULL)
        *tells = best->proposal;
}

static bool sooner(const cw_model *model, const cw_proposal *a, const cw_proposal *b)
{
    if (b->check == 0 || a->minutes != b->minutes)
        return b->check == 0 || a->minutes < b->minutes;
    if (fabs(a->bits - b->bits) > ASK_ALIKE)
        return a->bits > b->bits;
    return strcmp(model->checks[a->check].name, model->checks[b->check].name) < 0;
}

/* Units: the best that parts them by an answer, and the best that leads there. An answer that parts them
 * outranks one that only leads there. What takes more minutes than what is found already need not be tried.
 */
static cw_status units_teller(ask_call *call, const ask_footing *f, const ask_group *g, const candidate *list,
                              size_t count, cw_proposal *tells)
{
    const cw_model *model = call->asker->model;
    cw_proposal parts = {0}, leads = {0};
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        cw_proposal p = list[i].proposal;
        ask_weighed weighed;
        bool parted = false;
        if (parts.check != 0 && p.minutes > parts.minutes)
            break;
        status = ask_try_all(call, f, p.check, &weighed);
        if (status == CW_OK)
            status = parts_group(call, &weighed, g, &parted);
        if (status != CW_OK)
            break;
        p.bits = weighed.bits;
        p.worth = p.bits / p.minutes;
        if (parted && sooner(model, &p, &parts))
            parts = p;
        if (list[i].leads > 0 && sooner(model, &p, &leads))
            leads = p;
    }
    *tells = parts.check != 0 ? parts : leads;
    return status;
}

/* `wide`: all that could be asked at any place. */
static cw_status find_teller(const ask_look *wide, const ask_footing *f, const ask_group *g,
                             cw_proposal *tells)
{
    ask_call *call = wide->call;
    candidate *list;
    size_t count;
    const cw_status status = find_candidates(wide, g, &list, &count);
    if (status != CW_OK || call->about == CW_ABOUT_UNITS)
        return status == CW_OK ? units_teller(call, f, g, list, count, tells) : status;
    causes_teller(call->asker->model, list, count, tells);
    return CW_OK;
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
