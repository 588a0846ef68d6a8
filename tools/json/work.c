/* The open unit as JSON: each part, the money, and what is not explained. */
#include "json/inside.h"

static json_t *cost(double money)
{
    return money > 0 ? json_real(money) : json_null();
}

static json_t *later(json_writer *out, const cw_work_part *part)
{
    json_t *array = json_array();
    for (size_t i = 0; i < part->later_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "part", json_text(part->later[i].part));
        json_put(out, one, "title", json_text(part->later[i].title));
        json_put(out, one, "cost", cost(part->later[i].cost));
        json_push(out, array, one);
    }
    return array;
}

static json_t *work(json_writer *out, const cw_work_part *list, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        const cw_work_part *part = &list[i];
        json_t *one = json_object();
        json_put(out, one, "part", json_text(part->part));
        json_put(out, one, "title", json_text(part->title));
        json_put(out, one, "verdict", json_text(part->verdict));
        json_put(out, one, "so_far", json_text(part->so_far));
        json_put(out, one, "doubtful", json_boolean(part->doubtful));
        json_put(out, one, "disputed", json_boolean(part->disputed));
        json_put(out, one, "always", json_boolean(part->always));
        json_put(out, one, "why", json_why(out, part->why));
        json_put(out, one, "measure", json_measures(out, part->measure, part->measure_count));
        json_put(out, one, "untold", json_texts(out, part->untold, part->untold_count));
        json_put(out, one, "later", later(out, part));
        json_put(out, one, "cost", cost(part->cost));
        json_push(out, array, one);
    }
    return array;
}

static json_t *sums(json_writer *out, const cw_work_sum *sum)
{
    json_t *one = json_object();
    json_put(out, one, "replace", json_real(sum->cost));
    json_put(out, one, "at_most", json_real(sum->at_most));
    json_put(out, one, "without_price", json_integer((json_int_t)sum->without_price));
    return one;
}

static json_t *unexplained(json_writer *out, const cw_explained *all)
{
    json_t *array = json_array();
    for (size_t i = 0; i < all->count; i++) {
        const cw_finding *finding = &all->findings[i];
        if (finding->explained)
            continue;
        json_t *one = json_object();
        json_put(out, one, "fact", json_text(finding->fact));
        json_put(out, one, "title", json_text(finding->title));
        json_put(out, one, "value", json_text(finding->value));
        json_put(out, one, "cause", json_text(finding->cause));
        json_put(out, one, "probability",
                 finding->cause != NULL ? json_real(finding->probability) : json_null());
        json_push(out, array, one);
    }
    return array;
}

void json_put_work(json_writer *out, json_t *root)
{
    const cw_work_part *list;
    size_t count;
    const cw_work_sum *sum;
    const cw_explained *all;
    if (out->status == CW_OK)
        out->status = cw_session_work(out->session, &list, &count);
    if (out->status == CW_OK)
        out->status = cw_session_work_sum(out->session, &sum);
    if (out->status == CW_OK)
        out->status = cw_session_explained(out->session, &all);
    if (out->status != CW_OK)
        return;
    json_put(out, root, "work", work(out, list, count));
    json_put(out, root, "cost", sums(out, sum));
    json_put(out, root, "explained", all->count > 0 ? json_boolean(all->explained) : json_null());
    json_put(out, root, "unexplained", unexplained(out, all));
}
