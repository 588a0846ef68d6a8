/* apart as JSON, as in rules/schema/apart.schema.json. */
#include "apart/apart.h"
#include "json/inside.h"

static json_t *number(uint64_t count)
{
    return json_integer((json_int_t)count);
}

static json_t *checks_of(json_writer *out, const cw_apart_check *checks, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        json_t *object = json_object();
        json_put(out, object, "check", json_text(checks[i].check->name));
        json_put(out, object, "title", json_text(checks[i].check->title));
        json_put(out, object, "place", json_text(checks[i].place));
        json_push(out, array, object);
    }
    return array;
}

static json_t *way_of(json_writer *out, const cw_apart_way *way)
{
    if (way->count == 0)
        return json_null();
    json_t *object = json_object();
    json_put(out, object, "checks", checks_of(out, way->checks, way->count));
    json_put(out, object, "minutes", json_real(way->minutes));
    json_put(out, object, "certainty", json_real(way->certainty));
    json_put(out, object, "place", json_text(way->place));
    return object;
}

static const char *const told_words[] = {"one", "several", "less_surely", "nothing"};

static json_t *pairs_of(json_writer *out, const cw_apart *apart)
{
    json_t *array = json_array();
    for (size_t i = 0; i < apart->list_count; i++) {
        const cw_apart_two *two = &apart->list[i];
        json_t *object = json_object(), *both = json_array();
        json_push(out, both, json_text(apart->members[two->first].id));
        json_push(out, both, json_text(apart->members[two->second].id));
        json_put(out, object, "between", both);
        json_put(out, object, "told", json_text(told_words[two->told]));
        json_put(out, object, "way", way_of(out, &two->way));
        json_put(out, object, "proven", json_boolean(two->proven));
        json_put(out, object, "circumstances", json_boolean(two->circumstances));
        json_push(out, array, object);
    }
    return array;
}

static json_t *groups_of(json_writer *out, const cw_apart *apart)
{
    json_t *array = json_array();
    for (size_t g = 0; g < apart->group_count; g++) {
        const cw_apart_together *group = &apart->groups[g];
        json_t *object = json_object(), *members = json_array();
        for (size_t m = 0; m < group->count; m++)
            json_push(out, members, json_text(apart->members[group->members[m]].id));
        json_put(out, object, "members", members);
        json_put(out, object, "only", json_text(group->only));
        json_put(out, object, "tells", way_of(out, &group->tells));
        json_push(out, array, object);
    }
    return array;
}

static json_t *smallest_of(json_writer *out, const cw_apart_smallest *set)
{
    json_t *object = json_object();
    json_put(out, object, "places", json_texts(out, set->places, set->place_count));
    json_put(out, object, "checks", checks_of(out, set->checks, set->count));
    json_put(out, object, "of", number(set->of));
    json_put(out, object, "minutes", json_real(set->minutes));
    json_put(out, object, "at_least", number(set->at_least));
    json_put(out, object, "exact", json_boolean(set->exact));
    json_put(out, object, "pairs", number(set->pairs));
    return object;
}

static json_t *counts_of(json_writer *out, const cw_apart *apart)
{
    json_t *object = json_object();
    for (size_t told = 0; told < 4; told++)
        json_put(out, object, told_words[told], number(apart->told[told]));
    return object;
}

static json_t *kind_of(json_writer *out, const cw_apart *apart)
{
    if (apart == NULL)
        return json_null();
    json_t *object = json_object(), *members = json_array();
    for (size_t m = 0; m < apart->count; m++) {
        json_t *member = json_object();
        json_put(out, member, "id", json_text(apart->members[m].id));
        json_put(out, member, "title", json_text(apart->members[m].title));
        json_push(out, members, member);
    }
    json_put(out, object, "members", members);
    json_put(out, object, "pairs", number(apart->pairs));
    json_put(out, object, "counts", counts_of(out, apart));
    json_put(out, object, "all_listed", json_boolean(apart->all));
    json_put(out, object, "list", pairs_of(out, apart));
    json_put(out, object, "groups", groups_of(out, apart));
    json_put(out, object, "smallest", smallest_of(out, &apart->smallest));
    json_put(out, object, "left_out", number(apart->left_out));
    json_put(out, object, "cut_short", json_boolean(apart->cut_short));
    return object;
}

int apart_json(const cw_pack *pack, const cli_options *options, const cw_apart *units, const cw_apart *causes)
{
    json_writer out = {.pack = pack, .status = CW_OK};
    json_t *root = json_object();
    json_put(&out, root, "packs", json_packs(&out));
    json_put(&out, root, "sure", json_real(units != NULL ? units->sure : causes->sure));
    json_put(&out, root, "places", json_texts(&out, options->places.items, options->places.count));
    json_put(&out, root, "units", kind_of(&out, units));
    json_put(&out, root, "causes", kind_of(&out, causes));
    return json_finish(&out, root, "apart");
}
