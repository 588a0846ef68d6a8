/* What it says that somebody has brought it in: see the header. */
#include "rank/came_in.h"

#include <math.h>

/* s, and its values where "nothing" is at its bounds: s falls as "nothing" grows, so that each bound of what
 * implies a cause belongs to the bound of "nothing" on the same side. */
typedef struct share {
    double middle, low, high;
} share;

static double share_of(const cw_model *model, double nothing)
{
    return 1 - nothing * (1 - model->idle);
}

static void raise(const share *s, double *probability, double *low, double *high)
{
    *probability = fmin(*probability / s->middle, 1);
    *low = fmin(*low / s->low, *probability);
    *high = fmax(fmin(*high / s->high, 1), *probability);
}

bool rank_came_in_counts(const cw_model *model)
{
    return model->idle < 1;
}

void rank_came_in_tried(const cw_model *model, double *by_cause, cw_causes_tried *out)
{
    if (!rank_came_in_counts(model) || out->evidence_probability <= 0)
        return;
    const double s = share_of(model, out->nothing);
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        by_cause[id] = fmin(by_cause[id] / s, 1);
    out->unit_at_fault = fmin(out->unit_at_fault / s, 1);
    out->nothing *= model->idle / s;
    out->evidence_probability *= s;
}

void rank_came_in(const cw_model *model, double *probability, double *low, double *high, double *parts,
                  cw_causes *out)
{
    if (!rank_came_in_counts(model) || out->evidence_probability <= 0)
        return;
    const share s = {share_of(model, out->nothing), share_of(model, out->nothing_low),
                     share_of(model, out->nothing_high)};
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        raise(&s, &probability[id], &low[id], &high[id]);
    for (cw_part_id part = 1; parts != NULL && part <= model->parts_count; part++)
        parts[part] = fmin(parts[part] / s.middle, 1);
    raise(&s, &out->unit_at_fault, &out->unit_at_fault_low, &out->unit_at_fault_high);
    out->nothing *= model->idle / s.middle;
    out->nothing_low *= model->idle / s.low;
    out->nothing_high *= model->idle / s.high;
    out->evidence_probability *= s.middle;
}
