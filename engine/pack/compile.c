/* The order of work: packs (add.c), names, bodies, model. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

/* Every growing array with its items. */
#define COMPILER_VECS(X)                                                                                     \
    X(packs, pack_def)                                                                                       \
    X(facts, fact_def *)                                                                                     \
    X(kinds, thing_kind)                                                                                     \
    X(rules, rule_def *)                                                                                     \
    X(causes, cause_def)                                                                                     \
    X(units, unit_def)                                                                                       \
    X(data, datum_def)                                                                                       \
    X(patterns, uint32_t)                                                                                    \
    X(swap_numbers, uint32_t)                                                                                \
    X(swaps, swap_def)                                                                                       \
    X(words, word_def)                                                                                       \
    X(steps, step_def)                                                                                       \
    X(headings, heading_def)                                                                                 \
    X(specs, cw_sign_spec)                                                                                   \
    X(premises, cw_premise)                                                                                  \
    X(origin_rules, rule_def *)

cw_status compiler_start(compiler *c, const cw_allocator *allocator, cw_sources *sources, cw_diags *diags)
{
    *c = (compiler){.allocator = allocator, .sources = sources, .diags = diags};
#define MAKE(name, type) c->name = CW_VEC_INIT(allocator, type);
    COMPILER_VECS(MAKE)
#undef MAKE
    for (int i = 0; i < SECTION_COUNT; i++) {
        c->entries[i] = CW_VEC_INIT(allocator, entry);
        c->by_name[i] = CW_VEC_INIT(allocator, uint32_t);
    }
    c->errors_before = cw_diags_errors(diags);
    c->arena = cw_arena_new(allocator);
    c->names = c->arena == NULL ? NULL : cw_names_new(c->arena);
    c->data_names = c->names == NULL ? NULL : cw_names_new(c->arena);
    c->builder = c->data_names == NULL ? NULL : cw_builder_new(allocator);
    return c->builder == NULL ? CW_NO_MEMORY : CW_OK;
}

void compiler_end(compiler *c)
{
    for (size_t i = 0; i < c->rules.count; i++)
        cw_vec_dispose(&(*CW_VEC_AT(&c->rules, rule_def *, i))->mentions);
    for (size_t i = 0; i < c->causes.count; i++)
        cw_vec_dispose(&CW_VEC_AT(&c->causes, cause_def, i)->mentions);
    for (size_t i = 0; i < c->facts.count; i++) {
        if (fact_at(c, i)->check != NULL)
            cw_vec_dispose(&fact_at(c, i)->check->mentions);
        if (fact_at(c, i)->line != NULL)
            cw_vec_dispose(&fact_at(c, i)->line->mentions);
        if (fact_at(c, i)->implicit)
            cw_vec_dispose(&fact_at(c, i)->seen_values);
    }
#define UNMAKE(name, type) cw_vec_dispose(&c->name);
    COMPILER_VECS(UNMAKE)
#undef UNMAKE
    for (int i = 0; i < SECTION_COUNT; i++) {
        cw_vec_dispose(&c->entries[i]);
        cw_vec_dispose(&c->by_name[i]);
    }
    cw_builder_free(c->builder);
    cw_arena_free(c->arena);
    for (size_t i = 0; i < AHEAD_HANDS; i++)
        cw_arena_free(c->hands[i]);
}

static bool any_error(const compiler *c)
{
    return cw_diags_errors(c->diags) > c->errors_before;
}

/* Those named come as named, those only needed by name. */
static int by_pack_name(const void *a, const void *b)
{
    const pack_def *x = a, *y = b;
    return strcmp(x->info.name, y->info.name);
}

static void order_packs(compiler *c)
{
    size_t named = 0;
    while (named < c->packs.count && CW_VEC_AT(&c->packs, pack_def, named)->named)
        named++;
    if (c->packs.count > named + 1)
        qsort(CW_VEC_AT(&c->packs, pack_def, named), c->packs.count - named, sizeof(pack_def), by_pack_name);
}

static void read_all(compiler *c)
{
    void (*const steps[])(compiler *) = {
        declare_all, read_things, collect_rules, sort_facts,    read_facts,     read_cautions,   read_parts,
        read_prices, read_units,  emit_facts,    emit_cautions, emit_parts,     read_rules,      read_checks,
        read_lines,  read_causes, read_words,    read_assembly, order_assembly, read_description};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && !c->no_memory; i++)
        steps[i](c);
}

/* Rankings and explanations look for the atom of any value that a rule concludes or a sign speaks of. */
static void emit_value_atoms(compiler *c)
{
    for (size_t i = 0; i < c->facts.count; i++) {
        const fact_def *fact = fact_at(c, i);
        if (!fact->whole || !is_finite(fact) ||
            !(fact->unit_sign || fact->cause_sign || fact->datum || fact->rules != NULL))
            continue;
        for (uint32_t ground = 0; ground < fact->each.ground; ground++)
            for (uint32_t value = 0; value < fact->value_count; value++)
                cw_builder_value_atom(c->builder, fact->first + ground, value);
    }
}

/* Itself, or through what it needs; each pack is looked at once. */
static bool pack_needs(const compiler *c, const pack_def *pack, const pack_def *what, bool *seen)
{
    seen[pack - (const pack_def *)c->packs.items] = true;
    for (uint32_t i = 0; i < pack->needs_count; i++) {
        const pack_def *need =
            pack->needs[i].kind == CW_NODE_SCALAR ? find_pack(c, pack->needs[i].text) : NULL;
        if (need == NULL || (need != what && seen[need - (const pack_def *)c->packs.items]))
            continue;
        if (need == what || pack_needs(c, need, what, seen))
            return true;
    }
    return false;
}

/* A shop's own go before those of the packs that it needs; of several such, those of the one named first. */
static void emit_costs(compiler *c)
{
    const pack_def *from = NULL;
    for (size_t i = 0; i < c->packs.count; i++) {
        const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
        if (pack->fields[key_pack_costs] == NULL)
            continue;
        bool *seen = take(c, c->packs.count, sizeof *seen);
        if (seen == NULL)
            return;
        if (from == NULL || pack_needs(c, pack, from, seen))
            from = pack;
    }
    if (from != NULL)
        cw_builder_costs(c->builder, &from->costs);
}

static void emit_packs(compiler *c)
{
    for (size_t i = 0; i < c->packs.count; i++)
        cw_builder_pack(c->builder, &CW_VEC_AT(&c->packs, pack_def, i)->info);
    if (c->packs.count == 0)
        return;
    const pack_def *first = leading_pack(c);
    cw_builder_not_listed(c->builder, first->not_listed);
    cw_builder_no_fault(c->builder, first->no_fault);
    emit_costs(c);
}

/* With errors the builder still gets the rules and causes that are whole, because circles are only seen
 * there. */
static void emit_all(compiler *c)
{
    bool whole = !any_error(c) && !c->no_memory;
    if (whole) {
        emit_data(c);
        emit_value_atoms(c);
        work_out_stages(c);
        emit_checks(c);
        emit_lines(c);
        emit_units(c);
    }
    emit_causes(c, whole);
    if (whole && !any_error(c)) {
        emit_words(c);
        emit_assembly(c);
        emit_description(c);
        emit_packs(c);
    }
    if (c->too_many_rules && !any_error(c))
        help(c,
             complain(c, TOO_MANY, ((cw_span){0, 0, 0}),
                      "the packs make more than %d rules once 'each' is expanded", MOST_RULES),
             "let fewer rules name 'each', or each name fewer things");
}

static cw_status make_model(compiler *c, cw_model **out)
{
    cw_circle circle;
    emit_all(c);
    if (c->no_memory)
        return CW_NO_MEMORY;
    cw_status status = cw_builder_finish(c->builder, out, &circle);
    if (status == CW_BAD_INPUT)
        tell_circles(c, &circle);
    if (status == CW_OK && !any_error(c))
        lint(c, *out);
    return status;
}

cw_status compiler_finish(compiler *c, cw_model **out)
{
    order_packs(c);
    cw_status status = CW_NO_MEMORY;
    if (!c->no_memory)
        read_all(c);
    if (!c->no_memory)
        status = make_model(c, out);
    if (c->no_memory || cw_diags_lost(c->diags))
        status = CW_NO_MEMORY;
    else if (any_error(c))
        status = CW_BAD_INPUT;
    if (status != CW_OK) {
        cw_model_free(*out);
        *out = NULL;
    }
    cw_diags_sort(c->diags);
    return status;
}

cw_status cw_pack_compile(const cw_allocator *allocator, const cw_pack_text *packs, size_t count,
                          cw_sources *sources, cw_diags *diags, cw_model **out)
{
    *out = NULL;
    if (count == 0) {
        cw_diags_add(diags, CW_DIAG_NO_PACK, (cw_span){0, 0, 0}, "no pack is named");
        return cw_diags_lost(diags) ? CW_NO_MEMORY : CW_BAD_INPUT;
    }
    compiler c;
    cw_status status = compiler_start(&c, allocator, sources, diags);
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status = add_pack(&c, &packs[i], NULL, true) == NULL ? CW_NO_MEMORY : CW_OK;
    if (status == CW_OK) {
        check_needs(&c);
        status = compiler_finish(&c, out);
    }
    compiler_end(&c);
    return status;
}
