#include "rank/bounds.h"

void rank_bounds_view(bounds_view *view, const cw_evidence *seen)
{
    const cw_model *model = view->net->model;
    view->most = rank_net_background(model, seen->fact, seen->value, &view->below);
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        view->cause_most[id] = rank_net_draws(model, id, seen->fact, seen->value, &view->cause_below[id]);
}

static bool may_be_present(const bounds_view *view, cw_cause_id id, const bool *absent)
{
    return view->net->causes[id].possible && !(absent != NULL && absent[id]);
}

bounds_range rank_bounds_finding(const bounds_view *view, cw_cause_id present, const bool *absent)
{
    double most_least = 1, most_all = 1, ratio_least = 1,
           ratio_all = 1; /* over the smallest set, the largest */
    for (cw_cause_id id = 1; id <= view->net->model->causes_count; id++) {
        if (!may_be_present(view, id, absent))
            continue;
        const double most = view->cause_most[id], ratio = most > 0 ? view->cause_below[id] / most : 0;
        most_all *= most;
        ratio_all *= ratio;
        if (id == present) {
            most_least *= most;
            ratio_least *= ratio;
        }
    }
    const double low = most_all * (view->most - view->below * ratio_least);
    const double high = most_least * (view->most - view->below * ratio_all);
    return (bounds_range){low > 0 ? low : 0, high > low ? high : low};
}

double rank_bounds_mean(const bounds_view *view, const double *by_cause, cw_cause_id present,
                        const bool *absent)
{
    double most = view->most, below = view->below;
    for (cw_cause_id id = 1; id <= view->net->model->causes_count; id++) {
        if (!may_be_present(view, id, absent))
            continue;
        const double there = id == present ? 1 : by_cause[id];
        most *= 1 - there + there * view->cause_most[id];
        below *= 1 - there + there * view->cause_below[id];
    }
    return most > below ? most - below : 0;
}

bounds_event rank_bounds_event(double probability)
{
    return (bounds_event){probability, {1, 1}, {1, 1}, 1, 1};
}

void rank_bounds_add(bounds_event *event, const bounds_view *view, const double *by_cause, const bool *group,
                     cw_cause_id alone)
{
    const bounds_range yes = rank_bounds_finding(view, alone, NULL), no = rank_bounds_finding(view, 0, group);
    event->yes.low *= yes.low;
    event->yes.high *= yes.high;
    event->no.low *= no.low;
    event->no.high *= no.high;
    event->yes_mean *= rank_bounds_mean(view, by_cause, alone, NULL);
    event->no_mean *= rank_bounds_mean(view, by_cause, 0, group);
}

/* p * yes / (p * yes + (1 - p) * no), `otherwise` where that is 0 / 0. */
static double weigh(double p, double yes, double no, double otherwise)
{
    const double for_it = p * yes, against = (1 - p) * no;
    return for_it + against > 0 ? for_it / (for_it + against) : otherwise;
}

void rank_bounds_close(const bounds_event *event, double *probability, double *low, double *high)
{
    *low = weigh(event->probability, event->yes.low, event->no.high, 0);
    *high = weigh(event->probability, event->yes.high, event->no.low, 1);
    const double mean = weigh(event->probability, event->yes_mean, event->no_mean, event->probability);
    *probability = mean < *low ? *low : mean > *high ? *high : mean;
}
