#include "rank/network.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static uint32_t cause_signs(const cw_model *model)
{
    uint32_t count = 0;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        count += model->causes[id].signs.count;
    return count;
}

static uint32_t cause_links(const cw_model *model)
{
    uint32_t count = 0;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        count += model->causes[id].leads_to.count;
    return count;
}

/* Turns the links round, counting first: parents of each cause in order of their ids. */
static void turn_links(network *net)
{
    const cw_model *model = net->model;
    for (cw_cause_id from = 1; from <= model->causes_count; from++) {
        const cw_run run = model->causes[from].leads_to;
        for (uint32_t i = run.first; i < run.first + run.count; i++)
            net->causes[model->links[i].to].parents.count++;
    }
    uint32_t first = 0;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        net->causes[id].parents.first = first;
        first += net->causes[id].parents.count;
        net->causes[id].parents.count = 0;
    }
    for (cw_cause_id from = 1; from <= model->causes_count; from++) {
        const cw_run run = model->causes[from].leads_to;
        for (uint32_t i = run.first; i < run.first + run.count; i++) {
            cw_run *parents = &net->causes[model->links[i].to].parents;
            assert(from < model->links[i].to);
            net->parents[parents->first + parents->count++] =
                (net_parent){from, model->links[i].chance, 1 - model->links[i].chance};
        }
    }
}

/* Turns the signs round, counting first: for each fact its causes in order of their ids. */
static void turn_signs(network *net)
{
    const cw_model *model = net->model;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        for (uint32_t i = 0; i < model->causes[id].signs.count; i++)
            net->showing[model->signs[model->causes[id].signs.first + i].fact].count++;
    uint32_t first = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        net->showing[fact].first = first;
        first += net->showing[fact].count;
        net->showing[fact].count = 0;
    }
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        for (uint32_t i = 0; i < model->causes[id].signs.count; i++) {
            const cw_sign *sign = &model->signs[model->causes[id].signs.first + i];
            cw_run *showing = &net->showing[sign->fact];
            net->shows[showing->first + showing->count++] = (net_shows){id, sign};
        }
}

cw_status rank_net_new(network *net, const cw_model *model, const cw_allocator *allocator)
{
    *net = (network){.model = model,
                     .allocator = allocator,
                     .sign_count = cause_signs(model),
                     .link_count = cause_links(model)};
    bool failed = false;
    net->causes = rank_take(allocator, model->causes_count, sizeof *net->causes, &failed);
    net->live = rank_take(allocator, model->causes_count, sizeof *net->live, &failed);
    net->findings = rank_take(allocator, model->facts_count, sizeof *net->findings, &failed);
    net->touches = rank_take(allocator, net->sign_count, sizeof *net->touches, &failed);
    net->parents = rank_take(allocator, net->link_count, sizeof *net->parents, &failed);
    net->showing = rank_take(allocator, model->facts_count, sizeof *net->showing, &failed);
    net->shows = rank_take(allocator, net->sign_count, sizeof *net->shows, &failed);
    net->evidence_of = rank_take(allocator, model->facts_count, sizeof *net->evidence_of, &failed);
    net->finding_of = rank_take(allocator, model->facts_count, sizeof *net->finding_of, &failed);
    net->seen = rank_take(allocator, model->facts_count, sizeof *net->seen, &failed);
    if (failed) {
        rank_net_dispose(net);
        return CW_NO_MEMORY;
    }
    turn_links(net);
    turn_signs(net);
    return CW_OK;
}

void rank_net_dispose(network *net)
{
    const cw_model *model = net->model;
    rank_give(net->allocator, net->causes, model->causes_count, sizeof *net->causes);
    rank_give(net->allocator, net->live, model->causes_count, sizeof *net->live);
    rank_give(net->allocator, net->findings, model->facts_count, sizeof *net->findings);
    rank_give(net->allocator, net->touches, net->sign_count, sizeof *net->touches);
    rank_give(net->allocator, net->parents, net->link_count, sizeof *net->parents);
    rank_give(net->allocator, net->showing, model->facts_count, sizeof *net->showing);
    rank_give(net->allocator, net->shows, net->sign_count, sizeof *net->shows);
    rank_give(net->allocator, net->evidence_of, model->facts_count, sizeof *net->evidence_of);
    rank_give(net->allocator, net->finding_of, model->facts_count, sizeof *net->finding_of);
    rank_give(net->allocator, net->seen, model->facts_count, sizeof *net->seen);
}

static double up_to(const double *chances, uint32_t value, double *below)
{
    double sum = 0;
    for (uint32_t v = 0; v < value; v++)
        sum += chances[v];
    *below = sum;
    return sum + chances[value];
}

double rank_net_background(const cw_model *model, cw_fact_id fact, uint32_t value, double *below)
{
    return up_to(model->facts[fact].background, value, below);
}

double rank_net_sign_draws(const cw_sign *sign, uint32_t value, double *below)
{
    return up_to(sign->chances, value, below);
}

double rank_net_draws(const cw_model *model, cw_cause_id cause, cw_fact_id fact, uint32_t value,
                      double *below)
{
    const cw_sign *sign = rank_sign(model, model->causes[cause].signs, fact);
    if (sign != NULL)
        return up_to(sign->chances, value, below);
    *below = value == 0 ? 0 : 1;
    return 1;
}

bool rank_net_leads(const network *net, const net_parent *parent)
{
    return parent->chance > 0 && net->causes[parent->cause].possible;
}

bool rank_net_ruled_out(const cw_model *model, const cw_chain *chain, cw_cause_id id)
{
    const cw_atom_id atom = model->causes[id].ruled_out;
    return atom != 0 && cw_chain_truth(chain, atom) == CW_YES;
}

/* A shift multiplies the odds: p / (1 - p). */
double rank_net_own(const cw_model *model, const cw_chain *chain, cw_cause_id id)
{
    const cw_cause *cause = &model->causes[id];
    double times = 1;
    for (uint32_t i = cause->shifts.first; i < cause->shifts.first + cause->shifts.count; i++)
        if (cw_chain_truth(chain, model->shifts[i].atom) == CW_YES)
            times *= model->shifts[i].times;
    return cause->seen <= 0 ? 0 : cause->seen * times / (1 - cause->seen + cause->seen * times);
}

/* Parents come before their followers, so one pass tells what is possible. */
static void work_in_circumstances(network *net, const cw_chain *chain)
{
    const cw_model *model = net->model;
    net->live_count = 0;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        net_cause *cause = &net->causes[id];
        cause->weight = cause->lacks = 1;
        cause->touches = (cw_run){0, 0};
        cause->own = 0;
        cause->absent = 1;
        cause->possible = false;
        if (rank_net_ruled_out(model, chain, id))
            continue;
        cause->own = rank_net_own(model, chain, id);
        cause->absent = 1 - cause->own;
        cause->possible = cause->own > 0;
        for (uint32_t i = 0; i < cause->parents.count && !cause->possible; i++)
            cause->possible = rank_net_leads(net, &net->parents[cause->parents.first + i]);
        if (cause->possible)
            net->live[net->live_count++] = id;
    }
}

double rank_net_log_free(const network *net)
{
    double sum = net->log_factor;
    for (uint32_t i = 0; i < net->finding_count; i++)
        sum += net->findings[i].hit == 1 ? 0 : log(net->findings[i].hit);
    for (uint32_t i = 0; i < net->live_count; i++)
        sum += log1p(-net->causes[net->live[i]].own);
    return sum;
}

static void index_evidence(network *net, const cw_evidence *evidence, size_t count, const bool *left_out)
{
    for (uint32_t i = 0; i < net->seen_count; i++) {
        net->evidence_of[net->seen[i]] = 0;
        net->finding_of[net->seen[i]] = 0;
    }
    net->seen_count = 0;
    for (size_t i = 0; i < count; i++) {
        const cw_fact_id fact = evidence[i].fact;
        if (evidence[i].yields_to != 0 || (left_out != NULL && left_out[i]) ||
            net->model->facts[fact].values.count == 0)
            continue;
        assert(net->evidence_of[fact] == 0 && "one piece of evidence per fact");
        net->evidence_of[fact] = (uint32_t)i + 1;
        uint32_t to = net->seen_count++; /* by id, whatever the order of the evidence */
        for (; to > 0 && net->seen[to - 1] > fact; to--)
            net->seen[to] = net->seen[to - 1];
        net->seen[to] = fact;
    }
}

/* The finding for a touched fact, made on first touch. */
static uint32_t finding_for(network *net, const cw_evidence *seen, uint32_t index)
{
    uint32_t *finding = &net->finding_of[seen->fact];
    if (*finding == 0) {
        double miss;
        (void)rank_net_background(net->model, seen->fact, seen->value, &miss);
        const double hit = net->model->facts[seen->fact].background[seen->value];
        net->findings[net->finding_count++] = (net_finding){index, hit, miss};
        *finding = net->finding_count;
    }
    return *finding - 1;
}

/* What one sign says of what was seen: a factor, or a touch (false). `factor` is what a present cause adds.
 */
static bool is_factor(const cw_sign *sign, uint32_t value, double *hit, double *miss, double *factor)
{
    *hit = sign->chances[value];
    (void)up_to(sign->chances, value, miss);
    *factor = value == 0
                  ? *hit
                  : *miss; /* without a hit it can only spoil the finding, by drawing something worse */
    return value == 0 || *hit <= 0;
}

/* Factors are worked in, touches counted, so that each cause's can lie together. */
static void count_signs(network *net, const cw_evidence *seen)
{
    const cw_run showing = net->showing[seen->fact];
    for (uint32_t i = showing.first; i < showing.first + showing.count; i++) {
        net_cause *cause = &net->causes[net->shows[i].cause];
        double hit, miss, factor;
        if (!cause->possible)
            continue;
        if (is_factor(net->shows[i].sign, seen->value, &hit, &miss, &factor))
            cause->weight *= factor;
        else
            cause->touches.count++;
    }
}

static void work_in_touches(network *net, const cw_evidence *seen, uint32_t index)
{
    const cw_run showing = net->showing[seen->fact];
    for (uint32_t i = showing.first; i < showing.first + showing.count; i++) {
        net_cause *cause = &net->causes[net->shows[i].cause];
        double hit, miss, factor;
        if (!cause->possible || is_factor(net->shows[i].sign, seen->value, &hit, &miss, &factor))
            continue;
        const net_touch touch = {finding_for(net, seen, index), hit, miss};
        net->touches[cause->touches.first + cause->touches.count++] = touch;
        net->touch_count++;
    }
}

/* What no cause touches is the background's alone. */
static void work_in_background(network *net, const cw_evidence *evidence)
{
    for (uint32_t i = 0; i < net->seen_count; i++) {
        const cw_fact_id fact = net->seen[i];
        if (net->finding_of[fact] == 0)
            net->log_factor +=
                log(net->model->facts[fact].background[evidence[net->evidence_of[fact] - 1].value]);
    }
}

void rank_net_build(network *net, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                    const bool *left_out)
{
    net->finding_count = 0;
    net->touch_count = 0;
    net->log_factor = 0;
    work_in_circumstances(net, chain);
    index_evidence(net, evidence, count, left_out);
    for (uint32_t i = 0; i < net->seen_count; i++)
        count_signs(net, &evidence[net->evidence_of[net->seen[i]] - 1]);
    uint32_t first = 0;
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        cw_run *touches = &net->causes[id].touches;
        touches->first = first;
        first += touches->count;
        touches->count = 0;
    }
    for (uint32_t i = 0; i < net->seen_count; i++) {
        const uint32_t index = net->evidence_of[net->seen[i]] - 1;
        work_in_touches(net, &evidence[index], index);
    }
    work_in_background(net, evidence);
}
