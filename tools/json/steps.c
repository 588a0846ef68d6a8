/* The steps of assembly as JSON, as in rules/schema/steps.schema.json. */
#include "setup/setup.h"
#include "json/inside.h"
#include "json/json.h"

static json_t *cautions(json_writer *out, const cw_step_info *step)
{
    json_t *array = json_array();
    for (size_t i = 0; i < step->caution_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "name", json_text(step->cautions[i]->name));
        json_put(out, one, "say", json_text(step->cautions[i]->say));
        json_push(out, array, one);
    }
    return array;
}

static json_t *comebacks(json_writer *out, const cw_step_info *step)
{
    json_t *array = json_array();
    for (size_t i = 0; i < step->comeback_count; i++) {
        json_t *one = json_object();
        json_put(out, one, "cause", json_text(step->comes_back_as[i].cause));
        json_put(out, one, "title", json_text(step->comes_back_as[i].title));
        json_push(out, array, one);
    }
    return array;
}

static json_t *tells(json_writer *out, const cw_step_info *step)
{
    json_t *array = json_array();
    for (size_t i = 0; i < step->tell_count; i++)
        json_push(out, array, json_text(step->tells[i]->name));
    return array;
}

static json_t *describe(json_writer *out, const cw_step_info *step)
{
    json_t *one = json_object();
    json_put(out, one, "step", json_text(step->step));
    json_put(out, one, "title", json_text(step->title));
    json_put(out, one, "do", json_text(step->action));
    json_put(out, one, "part", json_text(step->part));
    json_put(out, one, "verdict", json_text(step->verdict));
    json_put(out, one, "doubtful", json_boolean(step->doubtful));
    json_put(out, one, "fitted", json_text(step->fitted));
    json_put(out, one, "cautions", cautions(out, step));
    json_put(out, one, "tool", json_text(step->tool));
    json_put(out, one, "figure", json_text(step->figure));
    json_put(out, one, "picture", json_text(step->picture));
    json_put(out, one, "mistake", json_text(step->mistake));
    json_put(out, one, "comes_back_as", comebacks(out, step));
    json_put(out, one, "because", json_text(step->because));
    json_put(out, one, "source", json_text(step->source));
    json_put(out, one, "instead_of", json_text(step->instead_of));
    json_put(out, one, "applies", json_text(step->perhaps ? "perhaps" : "yes"));
    json_put(out, one, "condition", json_text(step->condition));
    json_put(out, one, "told_by", tells(out, step));
    return one;
}

int json_print_steps(const cw_pack *pack, cw_session *session, const cw_steps *steps)
{
    json_writer out = {.pack = pack, .session = session, .status = CW_OK};
    json_t *root = json_object();
    json_t *array = json_array();
    for (size_t i = 0; i < steps->count; i++)
        json_push(&out, array, describe(&out, &steps->list[i]));
    json_put(&out, root, "packs", json_packs(&out));
    json_put(&out, root, "answers", json_answers(&out));
    json_put(&out, root, "steps", array);
    json_put(&out, root, "stopped", json_boolean(steps->stopped));
    json_put(&out, root, "conflicts", json_conflicts(&out));
    json_put(&out, root, "cautions", json_cautions(&out));
    return json_finish(&out, root, "the session");
}
