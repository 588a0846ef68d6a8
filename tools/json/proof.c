/* The proof sheet as JSON. */
#include "json/inside.h"

static json_t *untold(json_writer *out, const cw_proof_line *line)
{
    json_t *array = json_array();
    for (size_t i = 0; i < line->untold_count; i++)
        json_push(out, array, json_text(line->untold[i]->name));
    return array;
}

static json_t *readings(json_writer *out, const cw_proof_line *line)
{
    json_t *array = json_array();
    for (size_t i = 0; i < line->reading_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "check", json_text(line->readings[i].check));
        json_put(out, one, "title", json_text(line->readings[i].title));
        json_put(out, one, "shown", json_text(line->readings[i].shown));
        json_put(out, one, "circumstance", json_boolean(line->readings[i].circumstance));
        json_push(out, array, one);
    }
    return array;
}

static json_t *lines(json_writer *out, const cw_proof_line *list, size_t count)
{
    json_t *array = json_array();
    for (size_t i = 0; i < count; i++) {
        const cw_proof_line *line = &list[i];
        json_t *one = json_object();
        json_put(out, one, "fact", json_text(line->fact));
        json_put(out, one, "title", json_text(line->title));
        json_put(out, one, "verdict", json_text(line->verdict));
        json_put(out, one, "doubtful", json_boolean(line->doubtful));
        json_put(out, one, "disputed", json_boolean(line->disputed));
        json_put(out, one, "needed", json_boolean(line->needed));
        json_put(out, one, "why", json_why(out, line->why));
        json_put(out, one, "measure", json_measures(out, line->measure, line->measure_count));
        json_put(out, one, "untold", untold(out, line));
        json_put(out, one, "readings", readings(out, line));
        json_push(out, array, one);
    }
    return array;
}

void json_put_proof(json_writer *out, json_t *root)
{
    const cw_proof_line *list;
    size_t count;
    const cw_proof_sum *sum;
    if (out->status == CW_OK)
        out->status = cw_session_proof_lines(out->session, &list, &count);
    if (out->status == CW_OK)
        out->status = cw_session_proof_sum(out->session, &sum);
    if (out->status != CW_OK)
        return;
    json_t *proof = json_object();
    json_put(out, proof, "result", json_text(sum->result));
    json_put(out, proof, "lines", lines(out, list, count));
    json_put(out, root, "proof", proof);
}
