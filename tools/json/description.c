/* The unit in standard terms as JSON: headings, their lines, how each is known or what would tell it. */
#include "json/inside.h"

static const char *by_word(cw_known_by by)
{
    static const char *const words[] = {[CW_KNOWN_BY_NOTHING] = NULL,
                                        [CW_KNOWN_BY_ANSWER] = "answer",
                                        [CW_KNOWN_BY_RULE] = "rule",
                                        [CW_KNOWN_BY_UNIT] = "unit",
                                        [CW_KNOWN_BY_CONFLICT] = "conflict"};
    return words[by];
}

static json_t *tellers(json_writer *out, const cw_description_line *line)
{
    json_t *array = json_array();
    for (size_t i = 0; i < line->teller_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(line->tellers[i].check->name));
        json_put(out, one, "title", json_text(line->tellers[i].check->title));
        json_put(out, one, "place", json_text(line->tellers[i].place));
        json_put(out, one, "minutes", json_real(line->tellers[i].minutes));
        json_push(out, array, one);
    }
    return array;
}

static json_t *swaps(json_writer *out, const cw_description_line *line)
{
    json_t *array = json_array();
    for (size_t i = 0; i < line->swap_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(line->swaps[i].check->name));
        json_put(out, one, "title", json_text(line->swaps[i].check->title));
        json_put(out, one, "share", json_real(line->swaps[i].share));
        json_push(out, array, one);
    }
    return array;
}

static json_t *sides(json_writer *out, const cw_conflict_info *conflict)
{
    json_t *array = json_array();
    for (size_t i = 0; conflict != NULL && i < conflict->side_count; i++)
        json_push(out, array, json_text(conflict->sides[i].value));
    return array;
}

static json_t *line_of(json_writer *out, const cw_description_line *line)
{
    const cw_fact_info *why = line->why;
    json_t *one = json_object();
    json_put(out, one, "fact", json_text(line->fact));
    json_put(out, one, "title", json_text(line->title));
    json_put(out, one, "value", json_text(line->value));
    json_put(out, one, "shown", json_text(line->shown));
    json_put(out, one, "known_by", json_text(by_word(line->by)));
    json_put(out, one, "tool", json_text(line->tool));
    json_put(out, one, "rule", json_text(why != NULL ? why->rule : NULL));
    json_put(out, one, "from", why != NULL ? json_fact_from(out, why) : json_array());
    json_put(out, one, "because", json_text(why != NULL ? why->because : NULL));
    json_put(out, one, "source", json_text(why != NULL ? why->source : NULL));
    json_put(out, one, "sides", sides(out, line->conflict));
    json_put(out, one, "doubtful", json_boolean(line->doubtful));
    json_put(out, one, "contested", json_boolean(line->contested));
    json_put(out, one, "swapped", swaps(out, line));
    json_put(out, one, "untold", json_boolean(line->untold));
    json_put(out, one, "tells", tellers(out, line));
    return one;
}

void json_put_description(json_writer *out, json_t *root)
{
    const cw_description *all;
    if (out->status == CW_OK)
        out->status = cw_session_description(out->session, &all);
    if (out->status != CW_OK)
        return;
    json_t *array = json_array();
    for (size_t i = 0; i < all->count; i++) {
        json_t *heading = json_object();
        json_t *lines = json_array();
        for (size_t k = 0; k < all->headings[i].count; k++)
            json_push(out, lines, line_of(out, &all->headings[i].lines[k]));
        json_put(out, heading, "heading", json_text(all->headings[i].heading));
        json_put(out, heading, "title", json_text(all->headings[i].title));
        json_put(out, heading, "lines", lines);
        json_push(out, array, heading);
    }
    json_put(out, root, "unlisted", json_boolean(all->unlisted));
    json_put(out, root, "description", array);
}
