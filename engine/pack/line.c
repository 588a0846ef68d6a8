/* Lines of the proof sheet: facts that are passed or failed. */
#include "pack/inside.h"

static void refuse_beside_proof(compiler *c, const fact_def *fact, const cw_node *const *fields)
{
    static const struct {
        int field;
        const char *key;
    } unwanted[] = {{key_fact_normal, "normal"},
                    {key_fact_background, "background"},
                    {key_fact_verdict_on, "verdict_on"}};
    for (size_t i = 0; i < sizeof unwanted / sizeof *unwanted; i++)
        if (fields[unwanted[i].field] != NULL)
            help(c,
                 complain(
                     c, PROOF_AS_OTHER, fields[unwanted[i].field]->span,
                     "'%s' means nothing here: '%s' is a line of the proof sheet, no sign and no verdict on "
                     "a part",
                     unwanted[i].key, fact->at->name),
                 "take it out, or 'proof'");
}

/* A line of the proof sheet, passed or failed. As with verdicts, the readings behind it are the signs. */
bool read_proof(compiler *c, fact_def *fact, const cw_node *const *fields)
{
    static const char *const words[CW_PROVED_COUNT] = {"pass", "fail"};
    const cw_node *place = fields[key_fact_proof];
    int32_t number = 0;
    bool needed = true;
    bool good = place->kind == CW_NODE_SCALAR &&
                read_whole(c, place, 0, place->size, "a place on the proof sheet", &number);
    if (place->kind != CW_NODE_SCALAR)
        help(c,
             complain(c, WRONG_SHAPE, place->span, "'proof' is a whole number: the place on the proof sheet"),
             "write one number, as 'proof: 10'");
    else if (good && number == 0)
        help(c, complain(c, OUT_OF_RANGE, place->span, "the places of the proof sheet are numbered from 1"),
             "write 'proof: 1' for the first line");
    bool right = has_choices(fact, words, CW_PROVED_COUNT);
    if (!right) {
        cw_diag *diag =
            complain(c, PROOF_CHOICES, fact->at->key->span,
                     "'%s' is a line of the proof sheet, so its choices are pass and fail", fact->at->name);
        help(c, diag, "write 'choices: [pass, fail]', in this order");
    }
    refuse_beside_proof(c, fact, fields);
    if (fields[key_fact_needed] != NULL)
        read_yes(c, fields[key_fact_needed], "needed", &needed);
    fact->proof = (uint32_t)number;
    fact->line = take(c, 1, sizeof *fact->line);
    if (fact->line == NULL)
        return false;
    fact->line->only_if_node = fields[key_fact_only_if];
    fact->line->mentions = CW_VEC_INIT(c->allocator, fact_def *);
    fact->optional = !needed;
    fact->context = true;
    return good && right;
}

void refuse_without_proof(compiler *c, const fact_def *fact, const cw_node *const *fields)
{
    const cw_node *const unwanted[] = {fields[key_fact_needed], fields[key_fact_only_if]};
    for (int i = 0; i < 2; i++)
        if (unwanted[i] != NULL)
            help(c,
                 complain(c, PROOF_AS_OTHER, unwanted[i]->span,
                          "'%s' means nothing here: '%s' is no line of the proof sheet",
                          i == 0 ? "needed" : "only_if", fact->at->name),
                 "take it out, or give the fact its place on the sheet, as 'proof: 10'");
}

void read_lines(compiler *c)
{
    for (size_t i = 0; i < c->facts.count && !c->no_memory; i++) {
        fact_def *fact = fact_at(c, i);
        if (fact->line == NULL || fact->line->only_if_node == NULL)
            continue;
        fact->line->scope = scope_of(&fact->each);
        fact->line->only_if =
            read_condition(c, &fact->line->scope, fact->line->only_if_node, &fact->line->mentions);
    }
}

void emit_lines(compiler *c)
{
    uint32_t bindings[MOST_BOUND];
    for (size_t i = 0; i < c->facts.count; i++) {
        const fact_def *fact = fact_at(c, i);
        if (fact->line == NULL || fact->line->only_if == NULL)
            continue;
        for (uint32_t k = 0; k < fact->each.ground && !c->no_memory && !c->too_many_rules; k++) {
            choose_things(c, &fact->each, k, bindings);
            cw_builder_fact_only_if(c->builder, fact->first + k,
                                    ground_atom(c, fact->line->only_if, bindings, 0));
        }
    }
}
