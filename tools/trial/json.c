#include "trial/json.h"
#include "screen/exit.h"
#include "setup/setup.h"
#include <stdio.h>

static json_t *number(size_t count)
{
    return json_integer((json_int_t)count);
}

json_t *json_trial_messages(json_writer *out, const trial *one)
{
    json_t *array = json_array();
    for (size_t i = 0; i < cw_messages_count(one->messages); i++) {
        const cw_message *message = cw_messages_at(one->messages, i);
        json_t *object = json_object();
        json_put(out, object, "code", json_text(message->code));
        json_put(out, object, "line", json_integer(message->line));
        json_put(out, object, "column", json_integer(message->column));
        json_put(out, object, "text", json_text(message->text));
        json_put(out, object, "help", json_text(message->help));
        json_push(out, array, object);
    }
    if (one->problem != NULL) {
        json_t *object = json_object();
        json_put(out, object, "code", json_null());
        json_put(out, object, "line", json_integer(0));
        json_put(out, object, "column", json_integer(0));
        json_put(out, object, "text", json_text(one->problem));
        json_put(out, object, "help", json_null());
        json_push(out, array, object);
    }
    return array;
}

static json_t *said(json_writer *out, bool of_units, const char *name, double probability)
{
    json_t *object = json_object();
    json_put(out, object, "id", json_text(name));
    json_put(out, object, "title", json_text(trial_title(out->pack, of_units, name)));
    json_put(out, object, "probability", json_real(probability));
    return object;
}

void json_put_score(json_writer *out, json_t *object, bool of_units, const trial_score *score)
{
    json_t *right = json_null();
    if (score->labelled && score->place > 0) {
        right = said(out, of_units, score->right, score->right_said);
        json_put(out, right, "place", number(score->place));
    }
    json_put(out, object, "first",
             score->first[0] != '\0' ? said(out, of_units, score->first, score->first_said) : json_null());
    json_put(out, object, "right", right);
    json_put(out, object, "truth",
             score->labelled ? said(out, of_units, score->truth, score->truth_said) : json_null());
    json_put(out, object, "log_loss", score->labelled ? json_real(score->log_loss) : json_null());
    json_put(out, object, "brier", score->labelled ? json_real(score->brier) : json_null());
}

json_t *json_trial_wrong(json_writer *out, const trial *one)
{
    json_t *array = json_array();
    for (size_t i = 0; i < one->wrong_count; i++) {
        const trial_wrong *wrong = &one->wrong[i];
        json_t *object = json_object();
        json_put(out, object, "of", json_text(wrong->sheet ? "sheet" : "description"));
        json_put(out, object, "fact", json_text(wrong->fact[0] != '\0' ? wrong->fact : NULL));
        json_put(out, object, "says", json_text(wrong->says));
        json_put(out, object, "label", json_text(wrong->wanted));
        json_push(out, array, object);
    }
    return array;
}

/* The mean, or null of nothing. */
static json_t *mean(double sum, size_t count)
{
    return count > 0 ? json_real(sum / (double)count) : json_null();
}

static void put_rank(json_writer *out, json_t *object, const tally_rank *rank)
{
    json_put(out, object, "ranked", number(rank->count));
    json_put(out, object, "right_first", number(rank->first));
    json_put(out, object, "right_in_three", number(rank->top3));
    json_put(out, object, "truth", mean(rank->truth, rank->count));
    json_put(out, object, "log_loss", mean(rank->log_loss, rank->count));
    json_put(out, object, "brier", mean(rank->brier, rank->count));
}

static json_t *bands(json_writer *out, const trial_band *list)
{
    json_t *array = json_array();
    for (size_t i = 0; i < TRIAL_BANDS; i++) {
        double low, high;
        json_t *object = json_object();
        tally_interval(list[i].came_true, list[i].count, &low, &high);
        json_put(out, object, "from", json_real((double)i / TRIAL_BANDS));
        json_put(out, object, "to", json_real((double)(i + 1) / TRIAL_BANDS));
        json_put(out, object, "count", number(list[i].count));
        json_put(out, object, "came_true", number(list[i].came_true));
        json_put(out, object, "said", mean(list[i].said, list[i].count));
        json_put(out, object, "share", mean((double)list[i].came_true, list[i].count));
        json_put(out, object, "low", json_real(low));
        json_put(out, object, "high", json_real(high));
        json_push(out, array, object);
    }
    return array;
}

json_t *json_tally_stage(json_writer *out, const tally_stage *stage)
{
    json_t *object = json_object();
    json_put(out, object, "stage", json_text(stage->stage));
    json_put(out, object, "cases", number(stage->cases));
    json_put(out, object, "labelled", number(stage->labelled));
    json_put(out, object, "as_labelled", number(stage->held));
    json_put(out, object, "stopped", number(stage->stopped));
    put_rank(out, object, &stage->ranks);
    json_put(out, object, "answers", mean((double)stage->answers, stage->cases));
    json_put(out, object, "minutes", mean(stage->minutes, stage->cases));
    json_put(out, object, "sheets", number(stage->sheets));
    json_put(out, object, "sheets_right", number(stage->sheets_right));
    json_put(out, object, "description_lines", number(stage->described));
    json_put(out, object, "description_lines_right", number(stage->described_right));
    json_t *asking = json_null();
    if (stage->asked > 0) {
        asking = json_object();
        json_put(out, asking, "cases", number(stage->asked));
        json_put(out, asking, "questions", mean((double)stage->questions, stage->asked));
        json_put(out, asking, "minutes", mean(stage->asked_minutes, stage->asked));
        put_rank(out, asking, &stage->asked_ranks);
    }
    json_put(out, object, "asking", asking);
    if (stage->stage != NULL) {
        json_put(out, object, "calibration_of_first", bands(out, stage->first));
        json_put(out, object, "calibration_of_all", bands(out, stage->all));
    }
    return object;
}

json_t *json_mistakes(json_writer *out, const tally *all)
{
    json_t *array = json_array();
    for (size_t i = 0; i < all->mistake_count; i++) {
        const tally_mistake *one = &all->mistakes[i];
        json_t *object = json_object();
        json_put(out, object, "stage", json_text(one->stage));
        json_put(out, object, "truth", json_text(one->truth));
        json_put(out, object, "truth_title", json_text(trial_title(out->pack, one->of_units, one->truth)));
        json_put(out, object, "taken_for", json_text(one->taken_for));
        json_put(out, object, "taken_for_title",
                 json_text(trial_title(out->pack, one->of_units, one->taken_for)));
        json_put(out, object, "count", number(one->count));
        json_push(out, array, object);
    }
    return array;
}

enum { FLAGS = JSON_REAL_PRECISION(12) | JSON_ENCODE_ANY };

/* The members of an object, a line each, every one with a comma before it but the first of all. */
static void print_members(json_writer *out, json_t *object, bool first)
{
    const char *key;
    json_t *value;
    json_object_foreach(object, key, value)
    {
        printf("%s\n  \"%s\": ", first ? "" : ",", key);
        out->failed |= json_dumpf(value, stdout, FLAGS) != 0;
        first = false;
    }
    json_decref(object);
}

void json_stream_open(json_writer *out, json_t *head, const char *array)
{
    putchar('{');
    print_members(out, head, true);
    printf(",\n  \"%s\": [", array);
}

void json_stream_element(json_writer *out, json_t *element, bool first)
{
    printf("%s\n    ", first ? "" : ",");
    out->failed |= json_dumpf(element, stdout, FLAGS) != 0;
    json_decref(element);
}

int json_stream_close(json_writer *out, json_t *rest)
{
    fputs("\n  ]", stdout);
    print_members(out, rest, false);
    fputs("\n}\n", stdout);
    if (out->failed && out->status == CW_OK)
        out->status = CW_NO_MEMORY;
    return explain_status(out->status, "the result", NULL);
}
