/* replay as JSON, as in rules/schema/replay.schema.json. */
#include "trial/json.h"
#include "replay/replay.h"

static json_writer writer_of(const replay *all)
{
    return (json_writer){.pack = all->over.pack, .status = CW_OK, .failed = all->failed};
}

void replay_json_open(replay *all)
{
    json_writer out = writer_of(all);
    json_t *head = json_object();
    json_put(&out, head, "packs", json_packs(&out));
    json_stream_open(&out, head, "cases");
    all->failed = out.failed;
}

static json_t *asked(json_writer *out, bool of_units, const trial_asked *one)
{
    json_t *object = json_object();
    json_put(out, object, "checks", json_texts(out, one->checks, one->questions));
    json_put(out, object, "minutes", json_real(one->minutes));
    json_put(out, object, "stop", json_text(one->stop));
    json_put_score(out, object, of_units, &one->score);
    return object;
}

void replay_json_case(replay *all, const char *path, const trial *one, bool first)
{
    static const char *const ends[] = {"bad", "stopped", "done"};
    json_writer out = writer_of(all);
    json_t *object = json_object();
    json_put(&out, object, "file", json_text(path));
    json_put(&out, object, "ended", json_text(ends[one->end]));
    if (one->end == TRIAL_BAD) {
        json_put(&out, object, "messages", json_trial_messages(&out, one));
    } else {
        bool of_units = trial_of_units(one->stage);
        json_put(&out, object, "case", json_text(one->name));
        json_put(&out, object, "stage", json_text(one->stage));
        json_put(&out, object, "as_labelled",
                 trial_labelled(one) ? json_boolean(trial_held(one)) : json_null());
        json_put_score(&out, object, of_units, &one->score);
        json_put(&out, object, "answers", json_integer((json_int_t)one->answers));
        json_put(&out, object, "minutes", json_real(one->minutes));
        json_put(&out, object, "sheet_labelled", json_boolean(one->sheet_labelled));
        json_put(&out, object, "description_lines", json_integer((json_int_t)one->described));
        json_put(&out, object, "wrong", json_trial_wrong(&out, one));
        json_put(&out, object, "asking", one->asked_too ? asked(&out, of_units, &one->asked) : json_null());
    }
    json_stream_element(&out, object, first);
    all->failed = out.failed;
}

int replay_json_close(replay *all)
{
    json_writer out = writer_of(all);
    json_t *rest = json_object();
    json_t *stages = json_array();
    tally_stage sum = tally_sum(&all->tally);
    for (size_t i = 0; i < TALLY_STAGES; i++) {
        if (all->tally.stages[i].cases > 0)
            json_push(&out, stages, json_tally_stage(&out, &all->tally.stages[i]));
    }
    json_put(&out, rest, "stages", stages);
    json_put(&out, rest, "all", json_tally_stage(&out, &sum));
    json_put(&out, rest, "mistakes", json_mistakes(&out, &all->tally));
    json_put(&out, rest, "bad", json_integer((json_int_t)all->tally.bad));
    return json_stream_close(&out, rest);
}
