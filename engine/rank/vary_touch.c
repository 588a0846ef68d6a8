/* What variations touch, how each cause is dealt with, and what they can move. */
#include "rank/vary.h"

#include <string.h>

/* -- Who is summed with whom -- */

void rank_vary_sort_members(rank_vary *vary)
{
    const uint32_t *root_of = vary->lanes.root_of, messages = vary->whole.message_count;
    for (uint32_t i = 0; i <= messages; i++)
        vary->roots[i] = (vary_root){0};
    for (uint32_t i = 0; i < messages; i++)
        vary->roots[vary->whole.messages[i].root + 1].cost += vary->whole.messages[i].cost;
    memset(vary->first_member, 0, ((size_t)messages + 2) * sizeof *vary->first_member);
    for (cw_cause_id id = 1; id <= vary->model->causes_count; id++)
        if (root_of[id] != 0)
            vary->first_member[root_of[id]]++;
    for (uint32_t root = 1; root <= messages; root++)
        vary->first_member[root] += vary->first_member[root - 1];
    for (cw_cause_id id = vary->model->causes_count; id > 0; id--)
        if (root_of[id] != 0)
            vary->members[--vary->first_member[root_of[id]]] = id;
    for (uint32_t root = 0; root < messages; root++) /* counted down, each stands at its own beginning */
        vary->first_member[root] = vary->first_member[root + 1];
    vary->first_member[messages] = 0;
    for (cw_cause_id id = 1; id <= vary->model->causes_count; id++)
        vary->first_member[messages] += root_of[id] != 0;
}

/* In members; none where it is summed with nobody. */
cw_run rank_vary_beside(const rank_vary *vary, cw_cause_id id)
{
    const uint32_t root = vary->lanes.root_of[id];
    if (root == 0)
        return (cw_run){0, 0};
    return (cw_run){vary->first_member[root - 1], vary->first_member[root] - vary->first_member[root - 1]};
}

/* -- What a variation touches -- */

/* NULL when memory fails. */
static vary_touch *touch(rank_vary *vary, vary_job *job, cw_cause_id id)
{
    if (vary->touch_of[id] != 0)
        return vary_touch_at(vary, job, vary->touch_of[id] - 1);
    vary_touch *added = cw_vec_add(&vary->touches);
    if (added != NULL) {
        *added = (vary_touch){.cause = id, .times = 1, .own = 1, .absent = 1};
        vary->touch_of[id] = ++job->touches.count;
    }
    return added;
}

static bool is_linked(const network *net, cw_cause_id id)
{
    const net_cause *cause = &net->causes[id];
    for (uint32_t i = 0; i < cause->parents.count; i++)
        if (rank_net_leads(net, &net->parents[cause->parents.first + i]))
            return true;
    return false;
}

static void count_roots(rank_vary *vary, const vary_job *job)
{
    for (uint32_t i = 0; i < job->touches.count; i++)
        vary_root_of(vary, vary_touch_at(vary, job, i)->cause)->touched = 0;
    for (uint32_t i = 0; i < job->touches.count; i++) {
        const vary_touch *t = vary_touch_at(vary, job, i);
        vary_root *root = vary_root_of(vary, t->cause);
        root->linked =
            (root->touched > 0 && root->linked) || (t->change != NULL && is_linked(&vary->net, t->cause));
        root->touched++;
    }
}

/* Single: the only one that varies of those summed with it. */
static vary_kind kind_of(const rank_vary *vary, cw_cause_id id)
{
    const vary_root *root = vary_root_of(vary, id);
    if (vary->whole.alone[id])
        return VARY_ALONE;
    return vary->lanes.root_of[id] != 0 && root->touched == 1 && !root->linked ? VARY_SINGLE : VARY_LANE;
}

static cw_status touch_showing(rank_vary *vary, vary_job *job)
{
    const network *net = &vary->net;
    const cw_run showing = job->fact != 0 ? net->showing[job->fact] : (cw_run){0, 0};
    for (uint32_t i = showing.first; i < showing.first + showing.count; i++) {
        double below;
        const cw_cause_id id = net->shows[i].cause;
        vary_touch *t = net->causes[id].possible ? touch(vary, job, id) : NULL;
        if (net->causes[id].possible && t == NULL)
            return CW_NO_MEMORY;
        if (t != NULL)
            t->times = rank_net_sign_draws(net->shows[i].sign, job->most, &below);
    }
    return CW_OK;
}

static cw_status touch_changed(rank_vary *vary, vary_job *job)
{
    for (uint32_t i = 0; i < job->change_count; i++) {
        const vary_change *change = &job->changes[i];
        const net_cause *cause = &vary->net.causes[change->cause];
        vary_touch *t = touch(vary, job, change->cause);
        if (t == NULL)
            return CW_NO_MEMORY;
        t->own = cause->own > 0 ? change->own / cause->own : 0;
        t->absent = (1 - change->own) / cause->absent;
        t->change = change;
    }
    return CW_OK;
}

cw_status rank_vary_find_touches(rank_vary *vary, vary_job *job)
{
    job->touches = (cw_run){(uint32_t)vary->touches.count, 0};
    cw_status status = touch_showing(vary, job);
    if (status == CW_OK)
        status = touch_changed(vary, job);
    count_roots(vary, job);
    for (uint32_t i = 0; i < job->touches.count; i++) {
        vary_touch *t = vary_touch_at(vary, job, i);
        t->kind = kind_of(vary, t->cause);
        vary->touch_of[t->cause] = 0;
    }
    return status;
}

/* -- What it moves -- */

static cw_status list_moved(rank_vary *vary, cw_cause_id id)
{
    cw_cause_id *added = vary->listed_in[id] == vary->lists ? NULL : cw_vec_add(&vary->moved);
    if (vary->listed_in[id] == vary->lists)
        return CW_OK;
    if (added != NULL)
        *added = id;
    vary->listed_in[id] = vary->lists;
    return added != NULL ? CW_OK : CW_NO_MEMORY;
}

/* All that it is summed with; the leaves of a finding that only leaves touch hang together without a sum. */
static cw_status list_beside(rank_vary *vary, cw_cause_id id)
{
    const rank_sweep *sweep = &vary->whole;
    const uint32_t leaf_of = vary->lanes.root_of[id] == 0 ? sweep->leaf_of[id] : 0;
    const cw_run members = rank_vary_beside(vary, id);
    vary_root *root = vary_root_of(vary, id);
    cw_status status = list_moved(vary, id);
    for (uint32_t i = 0; i < members.count && root->listed_in != vary->lists && status == CW_OK; i++)
        status = list_moved(vary, vary->members[members.first + i]);
    root->listed_in = vary->lists;
    for (cw_cause_id leaf = leaf_of != 0 ? sweep->leaves[leaf_of - 1] : 0; leaf != 0 && status == CW_OK;
         leaf = sweep->next_cause[leaf])
        status = list_moved(vary, leaf);
    return status;
}

/* By all that the job touches. */
cw_status rank_vary_list_moved(rank_vary *vary, const vary_job *job, cw_run *out)
{
    cw_status status = CW_OK;
    vary->lists++;
    out->first = (uint32_t)vary->moved.count;
    for (uint32_t i = 0; i < job->touches.count && status == CW_OK; i++)
        status = list_beside(vary, vary_touch_at(vary, job, i)->cause);
    out->count = (uint32_t)vary->moved.count - out->first;
    return status;
}
