/* Two rules that differ in one limit on one reading, conclude the same, and between them leave no reading
 * out: then the reading decides nothing, and one of the two was meant to conclude something else. */
#include "review/inside.h"

/* Every reading that the check can give lies in one of the two. */
static bool leave_nothing_out(cw_interval a, cw_interval b, cw_interval range)
{
    if (a.low > b.low) {
        cw_interval swap = a;
        a = b;
        b = swap;
    }
    bool from_start = a.low < range.low || (a.low == range.low && !a.low_open);
    bool to_end = b.high > range.high || (b.high == range.high && !b.high_open);
    bool meet = b.low < a.high || (b.low == a.high && !(b.low_open && a.high_open));
    return from_start && to_end && meet;
}

static bool has_premise(const cw_model *model, const cw_rule *rule, const cw_premise *wanted)
{
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *at = &model->premises[rule->premises.first + i];
        if (at->atom == wanted->atom && at->absent == wanted->absent)
            return true;
    }
    return false;
}

/* The one premise of `rule` that the other lacks; NULL when it is not exactly one. */
static const cw_premise *odd_one(const cw_model *model, const cw_rule *rule, const cw_rule *other)
{
    const cw_premise *odd = NULL;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *at = &model->premises[rule->premises.first + i];
        if (has_premise(model, other, at))
            continue;
        if (odd != NULL)
            return NULL;
        odd = at;
    }
    return odd;
}

/* The check that decides nothing; 0 if there is none. */
static cw_check_id idle_check(const cw_model *model, const cw_rule *a, const cw_rule *b)
{
    if (a->premises.count != b->premises.count || a->need != a->premises.count ||
        b->need != b->premises.count)
        return 0;
    const cw_premise *x = odd_one(model, a, b), *y = odd_one(model, b, a);
    if (x == NULL || y == NULL || x->absent || y->absent)
        return 0;
    const cw_atom *p = &model->atoms[x->atom], *q = &model->atoms[y->atom];
    if (p->kind != CW_ATOM_BAND || q->kind != CW_ATOM_BAND || p->fact != q->fact)
        return 0;
    cw_check_id check = model->facts[p->fact].check;
    return check != 0 && leave_nothing_out(p->band, q->band, model->checks[check].range) ? check : 0;
}

static void warn_either(reviewer *r, const cw_rule *a, const cw_rule *b, cw_check_id check)
{
    const cw_model *model = r->model;
    const cw_origin *x = &model->origins[a->origin], *y = &model->origins[b->origin];
    if (x->span.source > y->span.source ||
        (x->span.source == y->span.source && x->span.start > y->span.start)) {
        const cw_origin *swap = x;
        x = y;
        y = swap;
    }
    cw_diag *diag =
        review_warn(r, CW_DIAG_EITHER_WAY, y->span, "'%s' and '%s' conclude the same, whatever '%s' reads",
                    x->name, y->name, model->checks[check].name);
    cw_diag_second(r->diags, diag, x->span, "the other rule");
    advise(r, diag, "was one of the two to conclude something else?");
}

void review_either_way(reviewer *r)
{
    const cw_model *model = r->model;
    for (cw_atom_id id = 1; id <= model->atoms_count; id++) {
        const cw_atom *atom = &model->atoms[id];
        for (uint32_t i = 0; atom->kind != CW_ATOM_STEP && i < atom->concluded_by.count; i++)
            for (uint32_t k = 0; k < i; k++) {
                const cw_rule *a = &model->rules[model->concludes[atom->concluded_by.first + i]],
                              *b = &model->rules[model->concludes[atom->concluded_by.first + k]];
                cw_check_id check =
                    review_is_written(model, a) && review_is_written(model, b) ? idle_check(model, a, b) : 0;
                if (check != 0)
                    warn_either(r, a, b, check);
            }
    }
}
