/* What the allowed checks cannot tell apart. Two suspects are apart when some answer of some open check is
 * likelier for one of them; or when their signs differ on a fact that several answers together, or a check
 * that opens later, could bring to light. The second look takes everything at its best, so it may miss twins
 * but never makes them up. */
#include "ask/twins.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double suspect_unit = 0.02, suspect_cause = 0.05;

/* -- Suspects -- */

static void sort_suspects(ask_suspects *s, const double *chance)
{
    for (uint32_t i = 1; i < s->count; i++)
        for (uint32_t k = i; k > 0 && chance[s->members[k]] > chance[s->members[k - 1]]; k--) {
            uint32_t moved = s->members[k];
            s->members[k] = s->members[k - 1];
            s->members[k - 1] = moved;
        }
}

cw_status ask_suspects_new(ask_call *call, const ask_footing *f, ask_suspects *out)
{
    const cw_asker *asker = call->asker;
    bool units = call->about == CW_ABOUT_UNITS;
    uint32_t first = units ? 0 : 1, end = units ? asker->hypothesis_count : asker->model->causes_count + 1;
    *out = (ask_suspects){.members = CW_NEW_ARRAY(asker->call, uint32_t, end)};
    if (out->members == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = first; i < end; i++)
        if (f->chance[i] >= (units ? suspect_unit : suspect_cause))
            out->members[out->count++] = i;
    sort_suspects(out, f->chance);
    out->together = (uint64_t)out->count * (out->count > 0 ? out->count - 1 : 0) / 2;
    out->apart = CW_NEW_ARRAY(asker->call, bool, (size_t)out->count * out->count);
    return out->apart == NULL ? CW_NO_MEMORY : CW_OK;
}

bool ask_parted(const ask_class *class, uint32_t a, uint32_t b)
{
    double x = class->moved[a], y = class->moved[b];
    return fabs(x - y) > ASK_ALIKE * fmax(x, y);
}

static void part(ask_suspects *s, uint32_t a, uint32_t b)
{
    s->apart[a * s->count + b] = s->apart[b * s->count + a] = true;
    s->together--;
}

/* The same of a column: what the members show of it by their signs, one row of values for each. */
double *ask_column_shows(const ask_call *call, cw_fact_id fact, const uint32_t *members, uint32_t count)
{
    const cw_asker *asker = call->asker;
    const uint32_t values = asker->model->facts[fact].values.count;
    double *shows = CW_NEW_ARRAY(asker->check, double, (size_t)count *values);
    for (uint32_t i = 0; shows != NULL && i < count; i++)
        cw_identity_chances(asker->tables, fact, asker->hypotheses[members[i]],
                            cw_identity_swapped(asker->tables, fact), &shows[(size_t)i * values]);
    return shows;
}

bool ask_parted_in_column(const double *shows, uint32_t values, uint32_t a, uint32_t b)
{
    bool apart = false;
    for (uint32_t v = 0; v < values && !apart; v++) {
        const double x = shows[(size_t)a * values + v], y = shows[(size_t)b * values + v];
        apart = fabs(x - y) > ASK_ALIKE * fmax(x, y);
    }
    return apart;
}

static cw_status part_by_column(const ask_call *call, ask_suspects *s, cw_fact_id fact)
{
    const double *shows = ask_column_shows(call, fact, s->members, s->count);
    if (shows == NULL)
        return CW_NO_MEMORY;
    for (uint32_t a = 0; a < s->count; a++)
        for (uint32_t b = 0; b < a; b++)
            if (!s->apart[a * s->count + b] &&
                ask_parted_in_column(shows, call->asker->model->facts[fact].values.count, a, b))
                part(s, a, b);
    return CW_OK;
}

cw_status ask_suspects_seen(const ask_call *call, ask_suspects *s, const ask_weighed *weighed)
{
    if (weighed->column != 0)
        return s->together > 0 ? part_by_column(call, s, weighed->column) : CW_OK;
    for (uint32_t c = 0; c < weighed->class_count && s->together > 0; c++)
        for (uint32_t a = 0; weighed->classes[c].moved != NULL && a < s->count; a++)
            for (uint32_t b = 0; b < a; b++)
                if (!s->apart[a * s->count + b] &&
                    ask_parted(&weighed->classes[c], s->members[a], s->members[b]))
                    part(s, a, b);
    return CW_OK;
}

/* -- Together -- */

/* The first suspect not yet taken and all that is like it. Not listed is no twin: there is nothing to name.
 */
static void gather(const ask_suspects *s, uint32_t leader, bool units, bool *taken, ask_group *g)
{
    g->count = 0;
    for (uint32_t i = leader; i < s->count; i++) {
        if (taken[i] || s->apart[leader * s->count + i] || (units && s->members[i] == 0))
            continue;
        taken[i] = true;
        g->members[g->count++] = s->members[i];
    }
}

static cw_status hand_out(ask_call *call, const ask_footing *f, const ask_group *g, cw_arena *arena,
                          cw_twins *out)
{
    bool units = call->about == CW_ABOUT_UNITS;
    uint32_t *members = CW_NEW_ARRAY(arena, uint32_t, g->count);
    if (members == NULL)
        return CW_NO_MEMORY;
    out->members = members;
    out->count = g->count;
    out->probability = f->chance[g->members[0]];
    for (uint32_t i = 0; i < g->count; i++) {
        members[i] = units ? call->asker->hypotheses[g->members[i]] : g->members[i];
        out->probability += units && i > 0 ? f->chance[g->members[i]] : 0;
    }
    return CW_OK;
}

static cw_status part_further(ask_call *call, const ask_footing *f, ask_suspects *s)
{
    ask_look near;
    if (s->together == 0)
        return CW_OK;
    cw_status status = ask_look_new(call, f, call->limits->places, false, &near);
    for (uint32_t a = 0; status == CW_OK && a < s->count; a++)
        for (uint32_t b = 0; b < a; b++)
            if (!s->apart[a * s->count + b] && ask_could_part(&near, s->members[a], s->members[b]))
                part(s, a, b);
    return status;
}

cw_status ask_twins(ask_call *call, const ask_footing *f, ask_suspects *s, cw_arena *arena, cw_advice *advice,
                    bool *all_that_remains)
{
    cw_asker *asker = call->asker;
    bool units = call->about == CW_ABOUT_UNITS, *taken = CW_NEW_ARRAY(asker->call, bool, s->count);
    ask_group g = {CW_NEW_ARRAY(asker->call, uint32_t, s->count), 0};
    cw_twins *twins = CW_NEW_ARRAY(arena, cw_twins, s->count);
    ask_look wide[2] = {{0}, {0}};
    *all_that_remains = false;
    if (taken == NULL || g.members == NULL || twins == NULL)
        return CW_NO_MEMORY;
    advice->twins = twins;
    cw_status status = part_further(call, f, s);
    for (uint32_t i = 0; i < s->count && status == CW_OK; i++) {
        if (taken[i])
            continue;
        gather(s, i, units, taken, &g);
        if (g.count < 2)
            continue;
        cw_twins *next = &twins[advice->twins_count];
        status = hand_out(call, f, &g, arena, next);
        if (status == CW_OK)
            status = ask_name_teller(call, f, wide, &g, &next->tells);
        advice->twins_count += status == CW_OK ? 1 : 0;
        *all_that_remains |= units && (g.count == s->count || next->probability >= call->limits->sure);
    }
    return status;
}
