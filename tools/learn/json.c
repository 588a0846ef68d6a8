/* learn as JSON, as in rules/schema/learn.schema.json. */
#include "learn/learn.h"
#include "json/inside.h"

static json_t *number(size_t count)
{
    return json_integer((json_int_t)count);
}

static json_t *one_value(json_writer *out, const cw_learned *one)
{
    static const char *const kinds[] = {"cause", "sign", "leads_to", "background", "unit", "unit_sign"};
    json_t *object = json_object();
    json_put(out, object, "kind", json_text(kinds[one->kind]));
    json_put(out, object, "owner", json_text(one->owner));
    json_put(out, object, "about", json_text(one->about));
    json_put(out, object, "value", json_text(one->value));
    json_put(out, object, "book", json_real(one->book));
    json_put(out, object, "seen", number(one->seen));
    json_put(out, object, "of", number(one->of));
    json_put(out, object, "laid_to", json_real(one->laid_to));
    json_put(out, object, "unseen", json_real(one->unseen));
    json_put(out, object, "posterior", json_real(one->posterior));
    json_put(out, object, "low", json_real(one->low));
    json_put(out, object, "high", json_real(one->high));
    json_put(out, object, "shop_low", json_real(one->shop_low));
    json_put(out, object, "shop_high", json_real(one->shop_high));
    json_put(out, object, "contradicts", json_boolean(one->contradicts));
    return object;
}

static json_t *jobs(json_writer *out, const learn_counts *counts)
{
    json_t *object = json_object();
    json_put(out, object, "causes", number(counts->causes));
    json_put(out, object, "units", number(counts->units));
    json_put(out, object, "no_label", number(counts->no_label));
    json_put(out, object, "unlisted", number(counts->unlisted));
    json_put(out, object, "stopped", number(counts->stopped));
    json_put(out, object, "rebuilt", number(counts->rebuilt));
    json_put(out, object, "bad", number(counts->bad));
    return object;
}

int learn_print_json(const learn *all, const cw_learned_list *learned)
{
    json_writer out = {.pack = all->over.pack, .status = CW_OK};
    json_t *root = json_object(), *values = json_array();
    for (size_t i = 0; i < learned->count; i++)
        json_push(&out, values, one_value(&out, &learned->items[i]));
    json_put(&out, root, "packs", json_packs(&out));
    json_put(&out, root, "worth", json_real(all->worth.rest));
    json_put(&out, root, "worth_seen", json_real(all->worth.seen));
    json_put(&out, root, "jobs", jobs(&out, &all->counts));
    json_put(&out, root, "impossible", number(learned->impossible));
    json_put(&out, root, "settled", json_boolean(learned->settled));
    json_put(&out, root, "learned", values);
    return json_finish(&out, root, "what was learned");
}
