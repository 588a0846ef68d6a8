/* The values of one finding exclude each other and one of them is true, so that the chances of all but one,
 * and what would be believed then, say the same of the last. The normal value is left for last: it is the
 * likeliest, and what is left over for it is large enough to be divided by. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

/* Below this share nothing is left over: the difference of sums would show its rounding. */
static const double least_left = 0.1;

struct ask_rest {
    cw_fact_id fact;  /* all classes so far set a value of this one and nothing else; 0 = none yet */
    bool broken;      /* or one did something else */
    uint32_t waiting; /* class that sets the normal value */
    uint32_t others;  /* classes noted */
    double weight, fault, nothing;
    double *by_cause; /* weighed sums over the classes noted */
};

cw_status ask_rest_new(ask_call *call, ask_rest **out)
{
    ask_rest *rest = CW_NEW(call->asker->check, ask_rest);
    double *by_cause = CW_NEW_ARRAY(call->asker->check, double, (size_t)call->asker->model->causes_count + 1);
    if (rest == NULL || by_cause == NULL)
        return CW_NO_MEMORY;
    *rest = (ask_rest){.waiting = UINT32_MAX, .by_cause = by_cause};
    *out = rest;
    return CW_OK;
}

/* The one piece that the class adds; NULL when it does anything else. */
static const cw_evidence *only_piece(const ask_call *call, const ask_footing *f, const ask_class *class)
{
    const cw_evidence *only = NULL;
    size_t k = 0;
    if (f->alone || class->count != f->count + 1 ||
        memcmp(class->circumstances, f->circumstances, call->asker->circumstance_count * sizeof(bool)) != 0)
        return NULL;
    for (size_t i = 0; i < class->count; i++) {
        if (k < f->count && ask_same_piece(&f->evidence[k], &class->evidence[i]))
            k++;
        else if (only == NULL)
            only = &class->evidence[i];
        else
            return NULL;
    }
    return only;
}

static const cw_evidence *value_set(ask_rest *rest, const ask_call *call, const ask_footing *f,
                                    const ask_class *class)
{
    const cw_evidence *only = only_piece(call, f, class);
    if (only == NULL || (rest->fact != 0 && only->fact != rest->fact)) {
        rest->broken = true;
        return NULL;
    }
    rest->fact = only->fact;
    return only;
}

bool ask_rest_waits(ask_rest *rest, const ask_call *call, const ask_footing *f, const ask_class *class,
                    uint32_t index)
{
    const cw_evidence *only = value_set(rest, call, f, class);
    if (only == NULL || rest->broken || only->value != 0)
        return false;
    rest->waiting = index;
    return true;
}

void ask_rest_note(ask_rest *rest, const ask_call *call, const ask_class *class, const cw_causes_tried *tried)
{
    rest->others++;
    rest->weight += class->weight;
    rest->fault += class->weight * tried->unit_at_fault;
    rest->nothing += class->weight * tried->nothing;
    for (uint32_t id = 1; id <= call->asker->model->causes_count; id++)
        rest->by_cause[id] += class->weight * tried->by_cause[id];
}

uint32_t ask_rest_waiting(const ask_rest *rest)
{
    return rest->waiting;
}

static double left(double before, double sum, double weight)
{
    return fmin(fmax((before - sum) / weight, 0), 1);
}

bool ask_rest_take(ask_rest *rest, const ask_call *call, const ask_footing *f, ask_class *class)
{
    const cw_model *model = call->asker->model;
    double weight = 1 - rest->weight;
    if (rest->broken || rest->others + 1 != model->facts[rest->fact].values.count || weight < least_left)
        return false;
    for (uint32_t id = 1; id <= model->causes_count; id++)
        rest->by_cause[id] = left(f->chance[id], rest->by_cause[id], weight);
    double fault = left(f->at_fault, rest->fault, weight);
    class->weight = weight;
    class->bits = ask_gained_each(&f->beliefs, rest->by_cause, NULL, (size_t)model->causes_count + 1) +
                  2 * ask_gained_one(f->at_fault, fault);
    ask_table_given(
        call, f,
        &(cw_causes_tried){.by_cause = rest->by_cause, .nothing = left(f->nothing, rest->nothing, weight)},
        class);
    return true;
}
