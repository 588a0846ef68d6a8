/* Units: family, frames, versions. Walked from the top, so that parents come before their children and hand
 * their signs, source and notes down. */
#include "pack/inside.h"

#include <string.h>

typedef struct above {
    uint32_t unit; /* index + 1 of the parent, 0 at the top */
    const sign_list *signs;
    const char *source, *notes;
} above;

static void read_unit(compiler *c, const entry *at, const above *parent);

static bool declare_unit(compiler *c, const cw_node *key)
{
    if (!name_is_valid(key->text, key->size)) {
        cw_diag *diag = complain(c, BAD_NAME, key->span, "'%s' cannot name a unit", key->text);
        help(c, diag,
             "a name is made of small letters, digits and '_', begins with a letter and has at most %d of "
             "them",
             MOST_NAME);
        return false;
    }
    if (strcmp(key->text, CW_NOT_LISTED_NAME) == 0) {
        cw_diag *diag = complain(c, BAD_NAME, key->span, "'%s' cannot name a unit", key->text);
        help(c, diag, "it stands for a unit that is in no catalogue");
        return false;
    }
    uint32_t first = declare_name(c, SECTION_units, key->text, key->size, (uint32_t)c->units.count);
    if (first == UINT32_MAX)
        return true;
    cw_diag *diag = complain(c, NAME_TAKEN, key->span, "a unit named '%s' is already there", key->text);
    cw_diag_second(c->diags, diag, CW_VEC_AT(&c->units, unit_def, first)->key->span, "first here");
    help(c, diag, "take another name, or take one of the two out");
    return false;
}

/* frames and versions together, by name */
static void read_children(compiler *c, const cw_node *frames, const cw_node *versions, const above *self,
                          uint32_t pack)
{
    const cw_node *maps[] = {frames, versions};
    size_t room = 0, count = 0;
    for (int i = 0; i < 2; i++)
        if (maps[i] != NULL && read_map(c, maps[i], i == 0 ? "frames" : "versions"))
            room += maps[i]->size;
    entry *children = take(c, room, sizeof *children);
    for (int i = 0; i < 2 && children != NULL; i++)
        for (size_t k = 0; maps[i] != NULL && maps[i]->kind == CW_NODE_MAP && k < maps[i]->size; k++)
            children[count++] = (entry){cw_node_key(maps[i], k)->text, cw_node_key(maps[i], k),
                                        cw_node_item(maps[i], k), pack, false};
    if (count > 0)
        sort_entries(children, count);
    for (size_t i = 0; i < count && !c->no_memory; i++)
        read_unit(c, &children[i], self);
}

void read_seen(compiler *c, const cw_node *node, unit_def *unit, bool leaf)
{
    unit->unit.seen = 1;
    if (node == NULL)
        return;
    if (leaf) {
        read_number(c, node, "seen", &unit->unit.seen);
        return;
    }
    cw_diag *diag = complain(c, WRONG_TEST, node->span,
                             "'seen' counts cores of a version, and '%s' has frames or versions below it",
                             unit->unit.name);
    help(c, diag, "say it of each version");
}

static void read_unit(compiler *c, const entry *at, const above *parent)
{
    const cw_node *fields[keys_of_unit];
    if (!declare_unit(c, at->key))
        return;
    unit_def unit = {.key = at->key,
                     .unit = {.name = at->name, .parent = parent->unit, .span = at->key->span}};
    bool read = read_fields(c, &shape_unit, at->name, at->key->span, at->body, fields);
    bool leaf = !read || (fields[key_unit_frames] == NULL && fields[key_unit_versions] == NULL);
    if (read) {
        unit.unit.title = read_optional_text(c, fields[key_unit_title], "title");
        unit.unit.notes =
            fields[key_unit_notes] == NULL ? parent->notes : read_text(c, fields[key_unit_notes], "notes");
        unit.unit.source = fields[key_unit_source] == NULL ? parent->source
                                                           : read_text(c, fields[key_unit_source], "source");
        if (unit.unit.source == NULL && fields[key_unit_source] == NULL && parent->unit == 0)
            help(c, complain(c, MISSING_KEY, at->key->span, "'%s' lacks the key 'source'", at->name),
                 "say where it comes from, as 'source: own measurements'");
        unit.unit.version = leaf;
        unit.replaced_by = fields[key_unit_replaced_by];
        read_seen(c, fields[key_unit_seen], &unit, leaf);
        read_data(c, fields[key_unit_data], unit.unit.source, &unit);
        read_signs(c, fields[key_unit_signs], SIGN_OF_UNIT, unit.unit.source, parent->signs, &unit.signs);
        learn_unit(c, &unit, leaf);
    }
    unit_def *slot = append(c, &c->units);
    if (slot == NULL)
        return;
    *slot = unit;
    above self = {(uint32_t)c->units.count, &unit.signs, unit.unit.source, unit.unit.notes};
    if (read && !leaf)
        read_children(c, fields[key_unit_frames], fields[key_unit_versions], &self, at->pack);
}

static void tell_unit_circle(compiler *c, const uint32_t *around, uint32_t count)
{
    const char **names = take(c, count, sizeof *names);
    cw_span *spans = take(c, count, sizeof *spans);
    for (uint32_t i = 0; i < count && names != NULL && spans != NULL; i++) {
        names[i] = CW_VEC_AT(&c->units, unit_def, around[i])->unit.name;
        spans[i] = CW_VEC_AT(&c->units, unit_def, around[i])->key->span;
    }
    if (!c->no_memory)
        tell_names_around(c, CW_DIAG_REPLACE_CYCLE, "units replace each other in a circle", names, spans,
                          count);
}

static void read_replacements(compiler *c)
{
    uint32_t *next = take(c, c->units.count, sizeof *next);
    for (size_t i = 0; i < c->units.count && next != NULL; i++) {
        unit_def *unit = CW_VEC_AT(&c->units, unit_def, i);
        uint32_t by;
        if (unit->replaced_by == NULL || !read_name(c, unit->replaced_by, SECTION_units, &by))
            continue;
        if (!CW_VEC_AT(&c->units, unit_def, by)->unit.version) {
            cw_diag *diag = complain(c, WRONG_TEST, unit->replaced_by->span, "'%s' is not a version",
                                     unit->replaced_by->text);
            help(c, diag, "only a version can be fitted in place of another");
            continue;
        }
        next[i] = unit->replacement = by + 1;
    }
    if (next != NULL)
        find_replacement_circles(c, next, (uint32_t)c->units.count, tell_unit_circle);
}

void read_units(compiler *c)
{
    static const sign_list no_signs;
    const above nothing = {0, &no_signs, NULL, NULL};
    for (size_t i = 0; i < c->entries[SECTION_units].count && !c->no_memory; i++)
        read_unit(c, CW_VEC_AT(&c->entries[SECTION_units], entry, i), &nothing);
    check_learned(c, SECTION_learned_units, SECTION_units);
    read_replacements(c);
}

/* Only versions have signs in the model. */
static uint32_t signs_of(const unit_def *unit)
{
    return unit->unit.version ? unit->signs.count : 0;
}

void emit_units(compiler *c)
{
    size_t signs = 0;
    for (size_t i = 0; i < c->units.count; i++)
        signs += signs_of(CW_VEC_AT(&c->units, unit_def, i));
    cw_builder_expect_units(c->builder, c->units.count, signs);
    for (size_t i = 0; i < c->units.count && !c->no_memory; i++) {
        const unit_def *unit = CW_VEC_AT(&c->units, unit_def, i);
        const uint32_t count = signs_of(unit);
        const cw_sign_spec *specs = count == 0 ? NULL : sign_specs(c, &unit->signs);
        if (!c->no_memory && cw_builder_unit(c->builder, &unit->unit, specs, count) == 0)
            c->no_memory = true;
        else
            emit_unit_data(c, unit, (cw_unit_id)i + 1);
    }
    for (size_t i = 0; i < c->units.count && !c->no_memory; i++) {
        uint32_t by = CW_VEC_AT(&c->units, unit_def, i)->replacement;
        if (by != 0)
            cw_builder_unit_replaced(c->builder, (cw_unit_id)i + 1, by);
    }
}
