/* Learned frequencies: what a shop's closed jobs say, in place of what the book says of the same thing. They
 * stand in sections of their own, so that the book stays as it is; they replace, and never add anything. */
#include "pack/inside.h"

#include <string.h>

static const entry *find_learned(const compiler *c, section of, const cw_node *key)
{
    const uint32_t at = find_entry(c, of, key->text, key->size);
    return at == UINT32_MAX ? NULL : CW_VEC_AT(&c->entries[of], entry, at);
}

static void not_in_book(compiler *c, cw_span span, const char *owner, const char *what, const char *name)
{
    cw_diag *diag = complain(c, NOT_IN_BOOK, span, "'%s' has no %s '%s' to be learned", owner, what, name);
    help(c, diag, "what is learned replaces what a pack says of it; say it there first");
}

static bool has_sign(const sign_list *signs, const sign_def *sign)
{
    for (uint32_t i = 0; i < signs->count; i++)
        if (signs->signs[i]->fact == sign->fact && signs->signs[i]->ground == sign->ground)
            return true;
    return false;
}

/* Those of the book that are learned count as learned. */
static void learn_signs(compiler *c, const cw_node *node, sign_owner owner, const char *name,
                        const char *source, sign_list *signs)
{
    const sign_list book = *signs;
    if (node == NULL)
        return;
    read_signs(c, node, owner, source, &book, signs);
    for (uint32_t i = 0; i < signs->count && signs->count > book.count && !c->no_memory; i++)
        if (!has_sign(&book, signs->signs[i]))
            not_in_book(c, signs->signs[i]->sign.span, name, "sign", signs->signs[i]->fact->at->name);
}

static void learn_links(compiler *c, const cw_node *node, cause_def *cause)
{
    if (node == NULL || !read_map(c, node, "leads_to"))
        return;
    link_def *links = take(c, cause->leads_to_count, sizeof *links);
    if (links == NULL)
        return;
    if (cause->leads_to_count > 0)
        memcpy(links, cause->leads_to, cause->leads_to_count * sizeof *links);
    cause->leads_to = links;
    for (size_t i = 0; i < node->size; i++) {
        const cw_node *key = cw_node_key(node, i);
        uint32_t to, at = 0;
        double chance;
        if (!read_name(c, key, SECTION_causes, &to) || !read_frequency(c, cw_node_item(node, i), &chance))
            continue;
        while (at < cause->leads_to_count && links[at].to != to)
            at++;
        if (at < cause->leads_to_count)
            links[at].chance = chance;
        else
            not_in_book(c, key->span, cause->at->name, "link to", key->text);
    }
}

void learn_cause(compiler *c, cause_def *cause)
{
    const entry *at = find_learned(c, SECTION_learned_causes, cause->at->key);
    const cw_node *fields[keys_of_learned_cause];
    if (at == NULL || !read_fields(c, &shape_learned_cause, at->name, at->key->span, at->body, fields))
        return;
    const char *source = read_optional_text(c, fields[key_learned_cause_source], "source");
    if (fields[key_learned_cause_seen] != NULL)
        read_frequency(c, fields[key_learned_cause_seen], &cause->cause.seen);
    learn_signs(c, fields[key_learned_cause_signs], SIGN_OF_CAUSE, at->name, source, &cause->signs);
    learn_links(c, fields[key_learned_cause_leads_to], cause);
}

void learn_unit(compiler *c, unit_def *unit, bool leaf)
{
    const entry *at = find_learned(c, SECTION_learned_units, unit->key);
    const cw_node *fields[keys_of_learned_unit];
    if (at == NULL || !read_fields(c, &shape_learned_unit, at->name, at->key->span, at->body, fields))
        return;
    const char *source = read_optional_text(c, fields[key_learned_unit_source], "source");
    if (fields[key_learned_unit_seen] != NULL)
        read_seen(c, fields[key_learned_unit_seen], unit, leaf);
    learn_signs(c, fields[key_learned_unit_signs], SIGN_OF_UNIT, at->name, source, &unit->signs);
}

/* One that can be a sign of causes: others have no background. */
static bool has_background(compiler *c, const cw_node *key, const fact_def *fact)
{
    if (!fact->whole) /* has been complained of */
        return false;
    if (is_finite(fact) && fact->kind != CW_WHICH_UNIT && fact->verdict_on == 0 && fact->proof == 0)
        return true;
    cw_diag *diag = complain(c, NOT_IN_BOOK, key->span, "'%s' has no background to be learned", key->text);
    help(c, diag, "only what can be a sign of causes has one: yes or no, choices and counts");
    return false;
}

void learn_backgrounds(compiler *c)
{
    const cw_vec *all = &c->entries[SECTION_learned_background];
    for (size_t i = 0; i < all->count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(all, entry, i);
        const uint32_t found = find_entry(c, SECTION_checks, at->key->text, at->key->size);
        if (found == UINT32_MAX) {
            unknown_name(c, at->key->span, SECTION_facts, at->name);
            continue;
        }
        fact_def *fact = fact_at(c, found);
        if (!has_background(c, at->key, fact))
            continue;
        double *background = take(c, fact->value_count, sizeof *background);
        if (background != NULL && read_distribution(c, fact, at->body, 0, background))
            fact->background = background;
    }
}

void check_learned(compiler *c, section learned, section book)
{
    for (size_t i = 0; i < c->entries[learned].count && !c->no_memory; i++) {
        const cw_node *key = CW_VEC_AT(&c->entries[learned], entry, i)->key;
        if (find_entry(c, book, key->text, key->size) == UINT32_MAX)
            unknown_name(c, key->span, book, key->text);
    }
}

bool is_learned(section of)
{
    return of == SECTION_learned_causes || of == SECTION_learned_units || of == SECTION_learned_background;
}

/* A pack that only says what was learned is put before the book without being one. */
const pack_def *leading_pack(const compiler *c)
{
    const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, 0);
    for (size_t i = 0; i < c->packs.count && pack->learned && pack->needs_count > 0; i++) {
        const pack_def *need =
            pack->needs[0].kind == CW_NODE_SCALAR ? find_pack(c, pack->needs[0].text) : NULL;
        if (need == NULL)
            break;
        pack = need;
    }
    return pack;
}
