#include "rank/bounds.h"

/* Products over the sets at the two ends: of S(<= v), and of S(< v) / S(<= v). */
typedef struct ends {
    double most_least, most_all; /* S(<= v) over the smallest and the largest set */
    double ratio_least, ratio_all;
} ends;

static ends ends_of(const network *net, const cw_evidence *seen, cw_cause_id present, const bool *absent)
{
    ends out = {1, 1, 1, 1};
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        if (!net->causes[id].possible || (absent != NULL && absent[id]))
            continue;
        double below;
        const double most = rank_net_draws(net->model, id, seen->fact, seen->value, &below);
        const double ratio = most > 0 ? below / most : 0;
        out.most_all *= most;
        out.ratio_all *= ratio;
        if (id == present) {
            out.most_least *= most;
            out.ratio_least *= ratio;
        }
    }
    return out;
}

bounds_range rank_bounds_finding(const network *net, const cw_evidence *seen, cw_cause_id present,
                                 const bool *absent)
{
    double below;
    const double most = rank_net_background(net->model, seen->fact, seen->value, &below);
    const ends at = ends_of(net, seen, present, absent);
    const double low = at.most_all * (most - below * at.ratio_least);
    const double high = at.most_least * (most - below * at.ratio_all);
    return (bounds_range){low > 0 ? low : 0, high > low ? high : low};
}

double rank_bounds_mean(const network *net, const cw_evidence *seen, const double *by_cause,
                        cw_cause_id present, const bool *absent)
{
    double lower;
    double most = rank_net_background(net->model, seen->fact, seen->value, &lower);
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        if (!net->causes[id].possible || (absent != NULL && absent[id]))
            continue;
        double below;
        const double up_to = rank_net_draws(net->model, id, seen->fact, seen->value, &below);
        const double there = id == present ? 1 : by_cause[id];
        most *= 1 - there + there * up_to;
        lower *= 1 - there + there * below;
    }
    return most > lower ? most - lower : 0;
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
