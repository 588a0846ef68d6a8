/* Rules that another one makes needless: it concludes the same, whenever they do, and asks for no more. */
#include "review/inside.h"

enum { DEEP = 4 }; /* conditions within conditions that are looked through */

static bool all_implied(const cw_model *model, const cw_premise *given, uint32_t count, const cw_rule *wanted,
                        int depth);

static bool within(cw_interval inner, cw_interval outer)
{
    bool low = inner.low > outer.low || (inner.low == outer.low && (inner.low_open || !outer.low_open));
    bool high =
        inner.high < outer.high || (inner.high == outer.high && (inner.high_open || !outer.high_open));
    return low && high;
}

/* One thing that holds makes the other hold. */
static bool atom_implies(const cw_model *model, cw_atom_id given, cw_atom_id wanted, int depth)
{
    const cw_atom *a = &model->atoms[given], *b = &model->atoms[wanted];
    if (given == wanted)
        return true;
    if (a->kind == CW_ATOM_BAND && b->kind == CW_ATOM_BAND)
        return a->fact == b->fact && within(a->band, b->band);
    if (a->kind == CW_ATOM_UNIT && b->kind == CW_ATOM_UNIT)
        return cw_unit_within(model, a->value, b->value);
    if (b->kind == CW_ATOM_KNOWN && a->kind != CW_ATOM_STEP)
        return a->fact == b->fact;
    if (a->kind != CW_ATOM_STEP || depth == 0 || a->concluded_by.count == 0)
        return false;
    for (uint32_t i = 0; i < a->concluded_by.count; i++) {
        const cw_rule *way = &model->rules[model->concludes[a->concluded_by.first + i]];
        const cw_premise want = {wanted, false};
        bool one = false;
        for (uint32_t k = 0; k < way->premises.count && way->need == way->premises.count && !one; k++) {
            const cw_premise *have = &model->premises[way->premises.first + k];
            one = !have->absent && atom_implies(model, have->atom, want.atom, depth - 1);
        }
        if (!one)
            return false;
    }
    return true;
}

static bool premise_implied(const cw_model *model, const cw_premise *given, uint32_t count, cw_premise wanted,
                            int depth)
{
    for (uint32_t i = 0; i < count; i++) {
        if (given[i].absent != wanted.absent)
            continue;
        if (wanted.absent ? atom_implies(model, wanted.atom, given[i].atom, depth)
                          : atom_implies(model, given[i].atom, wanted.atom, depth))
            return true;
    }
    const cw_atom *atom = &model->atoms[wanted.atom];
    if (wanted.absent || atom->kind != CW_ATOM_STEP || depth == 0)
        return false;
    for (uint32_t i = 0; i < atom->concluded_by.count; i++)
        if (all_implied(model, given, count, &model->rules[model->concludes[atom->concluded_by.first + i]],
                        depth - 1))
            return true;
    return false;
}

static bool all_implied(const cw_model *model, const cw_premise *given, uint32_t count, const cw_rule *wanted,
                        int depth)
{
    uint32_t implied = 0;
    for (uint32_t i = 0; i < wanted->premises.count; i++)
        implied += premise_implied(model, given, count, model->premises[wanted->premises.first + i], depth);
    return implied >= wanted->need;
}

/* Holds whenever the other does. Only rules that need all their premises are looked at from that side. */
static bool covers(const cw_model *model, const cw_rule *wide, const cw_rule *narrow)
{
    return narrow->need == narrow->premises.count &&
           all_implied(model, &model->premises[narrow->premises.first], narrow->premises.count, wide, DEEP);
}

static bool same_place(cw_span a, cw_span b)
{
    return a.source == b.source && a.start == b.start;
}

/* Of two that ask for the same, the one that stands later is the needless one. */
static bool stands_before(cw_span a, cw_span b)
{
    return a.source != b.source ? a.source < b.source : a.start < b.start;
}

/* Another written rule that makes this one needless; 0 if there is none. */
static cw_rule_id find_cover(const cw_model *model, cw_rule_id id)
{
    const cw_rule *rule = &model->rules[id];
    cw_run others = model->atoms[rule->head].concluded_by;
    for (uint32_t i = 0; i < others.count; i++) {
        cw_rule_id other_id = model->concludes[others.first + i];
        const cw_rule *other = &model->rules[other_id];
        if (other_id == id || !review_is_written(model, other))
            continue;
        cw_span here = model->origins[rule->origin].span, there = model->origins[other->origin].span;
        if (same_place(here, there) || !covers(model, other, rule))
            continue;
        if (!covers(model, rule, other) || stands_before(there, here))
            return other_id;
    }
    return 0;
}

static void warn_shadow(reviewer *r, uint32_t origin, cw_rule_id by)
{
    const cw_origin *needless = &r->model->origins[origin],
                    *other = &r->model->origins[r->model->rules[by].origin];
    cw_diag *diag = review_warn(r, CW_DIAG_SHADOWED, needless->span,
                                "'%s' is needless: '%s' concludes the same and asks for no more",
                                needless->name, other->name);
    cw_diag_second(r->diags, diag, other->span, "this one");
    advise(r, diag,
           "take one of the two out, or add what makes '%s' the special case and let it conclude more",
           needless->name);
}

/* A rule as written is needless when all that it concludes is; each of its conclusions is a ground rule. */
void review_shadows(reviewer *r)
{
    const cw_model *model = r->model;
    uint32_t origins = model->origins_count;
    bool *needed = review_take(r, (size_t)origins + 1, sizeof *needed);
    cw_rule_id *cover = review_take(r, (size_t)origins + 1, sizeof *cover);
    if (needed == NULL || cover == NULL)
        return;
    for (cw_rule_id id = 1; id <= model->rules_count; id++) {
        const cw_rule *rule = &model->rules[id];
        if (!review_is_written(model, rule) || needed[rule->origin])
            continue;
        cw_rule_id by = rule->head != 0 ? find_cover(model, id) : 0;
        needed[rule->origin] = by == 0;
        if (by != 0)
            cover[rule->origin] = by;
    }
    for (uint32_t first = 1, next; first <= origins; first = next) {
        bool any = false;
        for (next = first;
             next <= origins && same_place(model->origins[next].span, model->origins[first].span); next++)
            any |= needed[next] || cover[next] == 0;
        if (!any)
            warn_shadow(r, first, cover[first]);
    }
}
