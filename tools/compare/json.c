/* compare as JSON, as in rules/schema/compare.schema.json. */
#include "trial/json.h"
#include "compare/compare.h"

static json_writer writer_of(const compare *all, int side)
{
    return (json_writer){.pack = all->packs[side], .status = CW_OK, .failed = all->failed};
}

void compare_json_open(compare *all)
{
    json_writer was = writer_of(all, 0), now = writer_of(all, 1);
    json_t *head = json_object();
    json_put(&was, head, "old_packs", json_packs(&was));
    json_put(&now, head, "new_packs", json_packs(&now));
    json_stream_open(&now, head, "cases");
    all->failed = was.failed || now.failed;
}

static json_t *side_of(json_writer *out, const trial *one)
{
    static const char *const ends[] = {"bad", "stopped", "done"};
    json_t *object = json_object();
    json_put(out, object, "ended", json_text(ends[one->end]));
    if (one->end == TRIAL_BAD) {
        json_put(out, object, "messages", json_trial_messages(out, one));
        return object;
    }
    json_put_score(out, object, trial_of_units(one->stage), &one->score);
    json_put(out, object, "wrong", json_trial_wrong(out, one));
    return object;
}

static json_t *fact_side(json_writer *out, const char *shown, const char *rule, bool open)
{
    if (shown == NULL)
        return json_null();
    json_t *object = json_object();
    json_put(out, object, "shown", json_text(shown));
    json_put(out, object, "rule", json_text(rule));
    json_put(out, object, "counts", json_boolean(!open));
    return object;
}

static json_t *difference_of(json_writer *out, const difference *one)
{
    static const char *const kinds[] = {"line", "fact", "seen", "sign"};
    json_t *object = json_object();
    json_put(out, object, "what", json_text(kinds[one->kind]));
    json_put(out, object, "follows", json_boolean(one->follows));
    if (one->line != NULL)
        json_put(out, object, "line", json_text(one->line));
    switch (one->kind) {
    case DIFFERS_LINE:
        json_put(out, object, "only_in", json_text(one->in_new ? "new" : "old"));
        break;
    case DIFFERS_FACT:
        json_put(out, object, "fact", json_text(one->fact));
        json_put(out, object, "title", json_text(one->title));
        json_put(out, object, "old", fact_side(out, one->was, one->was_rule, one->was_open));
        json_put(out, object, "new", fact_side(out, one->now, one->now_rule, one->now_open));
        break;
    case DIFFERS_SEEN:
        json_put(out, object, "old_probability", json_real(one->before));
        json_put(out, object, "new_probability", json_real(one->after));
        break;
    case DIFFERS_SIGN:
        json_put(out, object, "check", json_text(one->check));
        json_put(out, object, "through", json_text(one->fact));
        json_put(out, object, "title", json_text(one->title));
        json_put(out, object, "old_rule", json_text(one->was_rule));
        json_put(out, object, "new_rule", json_text(one->now_rule));
        json_put(out, object, "old_bits", json_real(one->before));
        json_put(out, object, "new_bits", json_real(one->after));
        break;
    }
    return object;
}

static void put_both(compare *all, json_t *object, const compared *one)
{
    json_writer was = writer_of(all, 0), now = writer_of(all, 1);
    json_t *array = json_array();
    json_put(&now, object, "case", json_text(one->now.name));
    json_put(&now, object, "stage", json_text(one->now.stage));
    json_put(&now, object, "first_changed", json_boolean(one->first_changed));
    json_put(&was, object, "old", side_of(&was, &one->was));
    json_put(&now, object, "new", side_of(&now, &one->now));
    for (size_t i = 0; i < one->differences.count; i++)
        json_push(&now, array, difference_of(&now, &one->differences.list[i]));
    json_put(&now, object, "differences", array);
    all->failed = all->failed || was.failed || now.failed;
}

void compare_json_case(compare *all, const char *path, const compared *one, bool first)
{
    static const char *const verdicts[] = {[COMPARE_SAME] = "same",
                                           [COMPARE_BETTER] = "better",
                                           [COMPARE_WORSE] = "worse",
                                           [COMPARE_UNLABELLED] = "unlabelled",
                                           [COMPARE_ONLY_OLD] = "only_old",
                                           [COMPARE_ONLY_NEW] = "only_new",
                                           [COMPARE_BAD] = "bad"};
    json_writer out = writer_of(all, 1);
    json_t *object = json_object();
    json_put(&out, object, "file", json_text(path));
    json_put(&out, object, "verdict", json_text(verdicts[one->verdict]));
    if (one->verdict == COMPARE_BAD) {
        const trial file = {.messages = one->messages, .problem = one->was.problem};
        json_put(&out, object, "messages",
                 json_trial_messages(&out, one->messages != NULL ? &file : &one->now));
    } else {
        put_both(all, object, one);
    }
    json_stream_element(&out, object, first);
    all->failed = all->failed || out.failed;
}

static json_t *sums_of(json_writer *out, const tally *sums)
{
    json_t *object = json_object(), *stages = json_array();
    tally_stage all = tally_sum(sums);
    for (size_t i = 0; i < TALLY_STAGES; i++) {
        if (sums->stages[i].cases > 0)
            json_push(out, stages, json_tally_stage(out, &sums->stages[i]));
    }
    json_put(out, object, "stages", stages);
    json_put(out, object, "all", json_tally_stage(out, &all));
    return object;
}

int compare_json_close(compare *all)
{
    static const char *const keys[] = {"same",     "better",   "worse", "unlabelled",
                                       "only_old", "only_new", "bad"};
    json_writer was = writer_of(all, 0), now = writer_of(all, 1);
    json_t *rest = json_object(), *counts = json_object();
    json_put(&was, rest, "old", sums_of(&was, &all->tallies[0]));
    json_put(&now, rest, "new", sums_of(&now, &all->tallies[1]));
    for (size_t i = 0; i < COMPARE_VERDICTS; i++)
        json_put(&now, counts, keys[i], json_integer((json_int_t)all->counts[i]));
    json_put(&now, counts, "first_changed", json_integer((json_int_t)all->first_changed));
    json_put(&now, rest, "counts", counts);
    now.failed = now.failed || was.failed;
    return json_stream_close(&now, rest);
}
