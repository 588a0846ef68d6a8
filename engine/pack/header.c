/* A pack's header, and what packs need of each other. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

static bool pack_name_is_valid(const char *text, size_t size)
{
    for (size_t i = 0; i < size; i++)
        if (!((text[i] >= 'a' && text[i] <= 'z') || (text[i] >= '0' && text[i] <= '9') || text[i] == '-'))
            return false;
    return size > 0 && size <= MOST_NAME && text[0] != '-';
}

static void read_pack_name(compiler *c, const cw_node *node, pack_def *pack)
{
    if (read_text(c, node, "name") == NULL)
        return;
    if (pack_name_is_valid(node->text, node->size)) {
        pack->info.name = node->text;
        return;
    }
    cw_diag *diag = complain(c, BAD_NAME, node->span, "'%s' cannot name a pack", node->text);
    help(c, diag, "a pack's name is made of small letters, digits and hyphens");
}

static void read_version(compiler *c, const cw_node *node, pack_def *pack)
{
    int32_t version;
    if (node->kind != CW_NODE_SCALAR) {
        help(c, complain(c, WRONG_SHAPE, node->span, "'version' is a whole number"), "count up: 1, 2, 3");
        return;
    }
    if (!read_whole(c, node, 0, node->size, "'version'", &version))
        return;
    if (version < 1)
        help(c, complain(c, OUT_OF_RANGE, node->span, "versions count from 1"), "begin with 'version: 1'");
    pack->info.version = (uint32_t)version;
}

static void read_spent(compiler *c, const cw_node *node, const char *what, cw_spent *out)
{
    const cw_node *fields[keys_of_spent];
    if (node == NULL || !read_fields(c, &shape_spent, what, node->span, node, fields))
        return;
    if (fields[key_spent_minutes] != NULL)
        read_number(c, fields[key_spent_minutes], "minutes", &out->minutes);
    if (fields[key_spent_money] != NULL)
        read_number(c, fields[key_spent_money], "money", &out->money);
}

static void read_reach(compiler *c, const cw_node *node, double *reach)
{
    static const struct {
        int key;
        cw_where where;
    } places[] = {{key_reach_counter, CW_AT_COUNTER},
                  {key_reach_vehicle, CW_AT_VEHICLE},
                  {key_reach_bench, CW_AT_BENCH},
                  {key_reach_teardown, CW_AT_TEARDOWN}};
    const cw_node *fields[keys_of_reach];
    if (node == NULL || !read_fields(c, &shape_reach, "reach", node->span, node, fields))
        return;
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        if (fields[places[i].key] != NULL)
            read_number(c, fields[places[i].key], cw_where_name(places[i].where), &reach[places[i].where]);
}

static void read_costs(compiler *c, const cw_node *node, cw_costs *costs)
{
    const cw_node *fields[keys_of_costs];
    if (node == NULL || !read_fields(c, &shape_costs, "costs", node->span, node, fields))
        return;
    if (fields[key_costs_hour] != NULL)
        read_number(c, fields[key_costs_hour], "hour", &costs->hour);
    read_reach(c, fields[key_costs_reach], costs->reach);
    read_spent(c, fields[key_costs_comeback], "comeback", &costs->comeback);
    read_spent(c, fields[key_costs_exchange], "exchange", &costs->exchange);
}

void read_header(compiler *c, pack_def *pack)
{
    pack->not_listed = 0.05;
    pack->blunders = 0.02;
    pack->info.name = pack->info.title = "";
    if (pack->header == NULL) {
        if (!c->holes)
            help(c,
                 complain(c, NO_HEADER, ((cw_span){0, 0, 0}),
                          "the pack '%s' has no header: no file holds the key 'pack'", pack->folder),
                 "begin one of its files with: pack: {name: my-shop, title: My shop, version: 1}");
        return;
    }
    const cw_node **fields = pack->fields;
    if (!read_fields(c, &shape_pack, NULL, pack->header_key->span, pack->header, fields))
        return;
    if (fields[key_pack_name] != NULL)
        read_pack_name(c, fields[key_pack_name], pack);
    const char *title = read_optional_text(c, fields[key_pack_title], "title");
    if (title != NULL)
        pack->info.title = title;
    if (fields[key_pack_version] != NULL)
        read_version(c, fields[key_pack_version], pack);
    if (fields[key_pack_not_listed] != NULL)
        read_frequency(c, fields[key_pack_not_listed], &pack->not_listed);
    if (fields[key_pack_no_fault] != NULL)
        read_frequency(c, fields[key_pack_no_fault], &pack->no_fault);
    if (fields[key_pack_blunders] != NULL)
        read_frequency(c, fields[key_pack_blunders], &pack->blunders);
    read_costs(c, fields[key_pack_costs], &pack->costs);
    const cw_node *needs = fields[key_pack_needs];
    size_t count;
    if (needs != NULL && !(needs->kind == CW_NODE_LIST && needs->size == 0) &&
        read_list(c, needs, "needs", &pack->needs, &count))
        pack->needs_count = (uint32_t)count;
}

pack_def *find_pack(const compiler *c, const char *name)
{
    for (size_t i = 0; i < c->packs.count; i++) {
        pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
        if (strcmp(pack->info.name, name) == 0)
            return pack;
    }
    return NULL;
}

static void check_names(compiler *c)
{
    for (size_t i = 0; i < c->packs.count; i++) {
        const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i), *first = find_pack(c, pack->info.name);
        if (first == pack || pack->info.name[0] == '\0')
            continue;
        cw_diag *diag = complain(c, NAME_TAKEN, pack->fields[key_pack_name]->span,
                                 "another pack is named '%s' too", pack->info.name);
        cw_diag_second(c->diags, diag, first->fields[key_pack_name]->span, "first here");
        help(c, diag, "give one of the two another name, or leave its folder out");
    }
}

static void missing_pack(compiler *c, const pack_def *pack, const cw_node *need)
{
    cw_diag *diag =
        complain(c, PACK_MISSING, need->span, "the pack '%s' is needed and not to be found", need->text);
    cw_nearest nearest = cw_nearest_start(need->text);
    for (size_t i = 0; i < c->packs.count; i++)
        cw_nearest_try(&nearest, CW_VEC_AT(&c->packs, pack_def, i)->info.name);
    if (nearest.best == NULL && c->from_disk)
        nearest.best = nearest_beside(c, pack->folder, need->text);
    if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else
        help(c, diag, "name its folder too, or put it beside this pack's folder");
    c->holes = true;
}

/* Packs that need nothing outstanding are struck off, round after round; what stays runs into a circle. */
static uint32_t strike_off(const compiler *c, bool *done)
{
    uint32_t left = (uint32_t)c->packs.count;
    for (bool more = true; more;) {
        more = false;
        for (size_t i = 0; i < c->packs.count; i++) {
            const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
            bool free = !done[i];
            for (uint32_t k = 0; k < pack->needs_count && free; k++) {
                const pack_def *need =
                    pack->needs[k].kind == CW_NODE_SCALAR ? find_pack(c, pack->needs[k].text) : NULL;
                free = need == NULL || done[need - (const pack_def *)c->packs.items];
            }
            done[i] |= free;
            left -= free;
            more |= free;
        }
    }
    return left;
}

/* The circle reached from a pack that was not struck off: always on to its first outstanding need. */
static void tell_pack_circle(compiler *c, const bool *done, size_t start)
{
    size_t count = c->packs.count, length = 0;
    const char **names = take(c, count + 1, sizeof *names);
    cw_span *spans = take(c, count + 1, sizeof *spans);
    size_t *at = take(c, count + 1, sizeof *at);
    if (names == NULL || spans == NULL || at == NULL)
        return;
    size_t here = start, from = SIZE_MAX;
    while (from == SIZE_MAX) {
        at[length++] = here;
        const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, here);
        for (uint32_t k = 0; k < pack->needs_count; k++) {
            const pack_def *need =
                pack->needs[k].kind == CW_NODE_SCALAR ? find_pack(c, pack->needs[k].text) : NULL;
            if (need == NULL || done[need - (const pack_def *)c->packs.items])
                continue;
            names[length - 1] = pack->info.name;
            spans[length - 1] = pack->needs[k].span;
            here = (size_t)(need - (const pack_def *)c->packs.items);
            break;
        }
        for (size_t i = 0; i < length && from == SIZE_MAX; i++)
            if (at[i] == here)
                from = i;
    }
    tell_names_around(c, CW_DIAG_PACK_CYCLE, "packs need each other in a circle", names + from, spans + from,
                      (uint32_t)(length - from));
}

void check_needs(compiler *c)
{
    check_names(c);
    for (size_t i = 0; i < c->packs.count; i++) {
        const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
        for (uint32_t k = 0; k < pack->needs_count; k++) {
            const cw_node *need = &pack->needs[k];
            if (need->kind != CW_NODE_SCALAR || need->size == 0)
                help(c, complain(c, WRONG_SHAPE, need->span, "the name of a pack belongs here"),
                     "write it alone, as 'charging-basics'");
            else if (find_pack(c, need->text) == NULL)
                missing_pack(c, pack, need);
        }
    }
    bool *done = take(c, c->packs.count, sizeof *done);
    if (done == NULL || strike_off(c, done) == 0)
        return;
    size_t start = 0;
    while (done[start])
        start++;
    tell_pack_circle(c, done, start);
}
