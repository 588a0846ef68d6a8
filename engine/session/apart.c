/* What a pack cannot tell apart, in the words of callers. */
#include "ask/apart.h"
#include "corewright/apart.h"
#include "session/inside.h"

/* The arena owns it all, what is handed out too. */
typedef struct kept_apart {
    cw_apart shown; /* first: what callers have */
    cw_allocator allocator;
    cw_arena *arena;
} kept_apart;

static cw_apart_check check_of(const cw_pack *pack, cw_check_id check, cw_where place)
{
    return (cw_apart_check){&pack->checks[check - 1], cw_where_name(place)};
}

static cw_status say_checks(const cw_pack *pack, cw_arena *arena, const cw_check_id *checks,
                            const cw_where *places, uint32_t count, const cw_apart_check **out)
{
    cw_apart_check *list = CW_NEW_ARRAY(arena, cw_apart_check, count);
    for (uint32_t i = 0; list != NULL && i < count; i++)
        list[i] = check_of(pack, checks[i], places[i]);
    *out = list;
    return list == NULL ? CW_NO_MEMORY : CW_OK;
}

static cw_status say_way(const cw_pack *pack, cw_arena *arena, const cw_apart_set *set, cw_apart_way *out)
{
    *out = (cw_apart_way){.count = set->count,
                          .minutes = set->minutes,
                          .certainty = set->count > 0 ? set->certainty : 0.5,
                          .place = set->count > 0 ? cw_where_name(set->place) : NULL};
    return say_checks(pack, arena, set->checks, set->places, set->count, &out->checks);
}

static cw_status say_members(const cw_pack *pack, const cw_apart_result *r, cw_arena *arena, cw_apart *out)
{
    const cw_model *model = pack->model;
    cw_apart_member *members = CW_NEW_ARRAY(arena, cw_apart_member, r->count);
    for (uint32_t m = 0; members != NULL && m < r->count; m++) {
        const uint32_t id = r->members[m];
        members[m] = out->causes ? (cw_apart_member){model->causes[id].name, model->causes[id].title}
                                 : (cw_apart_member){model->units[id].name, model->units[id].title};
    }
    out->members = members;
    out->count = r->count;
    return members == NULL ? CW_NO_MEMORY : CW_OK;
}

static cw_status say_pairs(const cw_pack *pack, const cw_apart_result *r, cw_arena *arena, cw_apart *out)
{
    static const cw_apart_told told[] = {[CW_APART_ONE] = CW_APART_BY_ONE,
                                         [CW_APART_SEVERAL] = CW_APART_BY_SEVERAL,
                                         [CW_APART_HARDLY] = CW_APART_LESS_SURELY,
                                         [CW_APART_NOT] = CW_APART_BY_NOTHING};
    cw_apart_two *list = CW_NEW_ARRAY(arena, cw_apart_two, r->list_count);
    cw_status status = list == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t i = 0; i < r->list_count && status == CW_OK; i++) {
        const cw_apart_pair *pair = &r->list[i];
        list[i] = (cw_apart_two){.first = pair->a,
                                 .second = pair->b,
                                 .told = told[pair->how],
                                 .proven = pair->proven,
                                 .circumstances = pair->shifted};
        status = say_way(pack, arena, &pair->set, &list[i].way);
    }
    for (int how = CW_APART_ONE; how <= CW_APART_NOT; how++) {
        out->told[told[how]] = r->pairs[how];
        out->pairs += r->pairs[how];
    }
    for (int w = 0; w < CW_WHERE_COUNT; w++)
        out->one_at[w] = r->by_place[w];
    out->list = list;
    out->list_count = r->list_count;
    out->all = r->all;
    return status;
}

static cw_status say_groups(const cw_pack *pack, const cw_apart_result *r, cw_arena *arena, cw_apart *out)
{
    cw_apart_together *groups = CW_NEW_ARRAY(arena, cw_apart_together, r->group_count);
    cw_status status = groups == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t g = 0; g < r->group_count && status == CW_OK; g++) {
        const cw_apart_group *group = &r->groups[g];
        size_t *members = CW_NEW_ARRAY(arena, size_t, group->count);
        for (uint32_t m = 0; members != NULL && m < group->count; m++)
            members[m] = group->members[m];
        groups[g] =
            (cw_apart_together){.members = members,
                                .count = group->count,
                                .only = group->only == CW_WHERE_COUNT ? NULL : cw_where_name(group->only)};
        status = members == NULL ? CW_NO_MEMORY : say_way(pack, arena, &group->tells, &groups[g].tells);
    }
    out->groups = groups;
    out->group_count = r->group_count;
    return status;
}

static cw_status say_smallest(const cw_pack *pack, const cw_apart_cover *cover, cw_arena *arena,
                              cw_apart_smallest *out)
{
    const char **places = CW_NEW_ARRAY(arena, const char *, CW_WHERE_COUNT);
    if (places == NULL)
        return CW_NO_MEMORY;
    for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT; w++)
        if ((cover->places >> w & 1) != 0)
            places[out->place_count++] = cw_where_name(w);
    out->places = places;
    out->count = cover->count;
    out->of = cover->of;
    out->minutes = cover->minutes;
    out->at_least = cover->at_least;
    out->exact = cover->exact;
    out->pairs = cover->pairs;
    return say_checks(pack, arena, cover->checks, cover->at, cover->count, &out->checks);
}

static cw_status say(const cw_pack *pack, const cw_apart_result *r, cw_arena *arena, cw_apart *out)
{
    cw_status status = say_members(pack, r, arena, out);
    if (status == CW_OK)
        status = say_pairs(pack, r, arena, out);
    if (status == CW_OK)
        status = say_groups(pack, r, arena, out);
    out->left_out = r->left_out;
    out->cut_short = r->cut_short;
    return status == CW_OK ? say_smallest(pack, &r->cover, arena, &out->smallest) : status;
}

static cw_status limits_of(const cw_apart_wish *wish, cw_apart_limits *out)
{
    *out = (cw_apart_limits){.about = wish->causes ? CW_ABOUT_CAUSES : CW_ABOUT_UNITS, .sure = wish->sure};
    if (wish->place_count > 0 && wish->places == NULL)
        return CW_BAD_CALL;
    if (wish->sure != 0 && !(wish->sure > 0.5 && wish->sure < 1))
        return CW_BAD_CALL;
    for (size_t i = 0; i < wish->place_count; i++) {
        cw_where where;
        if (wish->places[i] == NULL || !cw_where_find(wish->places[i], &where))
            return CW_NOT_FOUND;
        out->places |= 1u << where;
    }
    return CW_OK;
}

static cw_status work_out(const cw_pack *pack, const cw_apart_limits *limits, kept_apart *kept)
{
    cw_asker *asker = NULL;
    cw_apart_result result;
    const cw_identity_tables *tables;
    cw_status status = cw_pack_tables(pack, &tables);
    if (status == CW_OK)
        status = cw_asker_new(pack->model, tables, &pack->allocator, &asker);
    if (status == CW_OK)
        status = cw_ask_apart(asker, limits, kept->arena, &result);
    if (status == CW_OK)
        status = say(pack, &result, kept->arena, &kept->shown);
    cw_asker_free(asker);
    return status;
}

cw_status cw_pack_apart(const cw_pack *pack, const cw_apart_wish *wish, cw_apart **out)
{
    cw_apart_limits limits;
    if (out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    if (pack == NULL || wish == NULL)
        return CW_BAD_CALL;
    cw_status status = limits_of(wish, &limits);
    if (status != CW_OK)
        return status;
    kept_apart *kept = cw_allocate(&pack->allocator, sizeof *kept);
    if (kept == NULL)
        return CW_NO_MEMORY;
    *kept = (kept_apart){.allocator = pack->allocator, .arena = cw_arena_new(&pack->allocator)};
    kept->shown.causes = wish->causes;
    kept->shown.sure = wish->sure != 0 ? wish->sure : CW_APART_SURE;
    status = kept->arena == NULL ? CW_NO_MEMORY : work_out(pack, &limits, kept);
    if (status == CW_OK)
        *out = &kept->shown;
    else
        cw_apart_free(&kept->shown);
    return status;
}

void cw_apart_free(cw_apart *apart)
{
    if (apart == NULL)
        return;
    kept_apart *kept = (kept_apart *)(void *)apart;
    const cw_allocator allocator = kept->allocator;
    cw_arena_free(kept->arena);
    cw_release(&allocator, kept, sizeof *kept);
}
