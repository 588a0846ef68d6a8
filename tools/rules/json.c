#include "rules/json.h"
#include "rules/sarif.h"
#include "screen/exit.h"
#include "setup/setup.h"
#include "json/inside.h"
#include <string.h>

static const char *kind_word(cw_message_kind kind)
{
    return kind == CW_MESSAGE_ERROR ? "error" : kind == CW_MESSAGE_WARNING ? "warning" : "note";
}

static json_t *number_or_null(uint32_t number)
{
    return number > 0 ? json_integer(number) : json_null();
}

static json_t *other_spot(json_writer *out, const cw_message *message)
{
    if (message->other_text == NULL)
        return json_null();
    json_t *one = json_object();
    json_put(out, one, "file", json_text(message->other_file));
    json_put(out, one, "line", number_or_null(message->other_line));
    json_put(out, one, "column", number_or_null(message->other_column));
    json_put(out, one, "text", json_text(message->other_text));
    return one;
}

static json_t *describe(json_writer *out, const cw_message *message)
{
    json_t *one = json_object();
    json_put(out, one, "code", json_text(message->code));
    json_put(out, one, "kind", json_text(kind_word(message->kind)));
    json_put(out, one, "summary", json_text(message->summary));
    json_put(out, one, "file", message->line > 0 ? json_text(message->file) : json_null());
    json_put(out, one, "line", number_or_null(message->line));
    json_put(out, one, "column", number_or_null(message->column));
    json_put(out, one, "end_line", number_or_null(message->end_line));
    json_put(out, one, "end_column", number_or_null(message->end_column));
    json_put(out, one, "text", json_text(message->text));
    json_put(out, one, "help", json_text(message->help));
    json_put(out, one, "other", other_spot(out, message));
    return one;
}

static json_t *count_of(const cw_messages *messages, cw_message_kind kind)
{
    json_int_t count = 0;
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        count += cw_messages_at(messages, i)->kind == kind;
    return json_integer(count);
}

static json_t *plain(json_writer *out, const cw_messages *messages)
{
    json_t *root = json_object(), *list = json_array();
    json_put(out, root, "packs", out->pack != NULL ? json_packs(out) : json_array());
    json_put(out, root, "errors", json_integer((json_int_t)cw_messages_errors(messages)));
    json_put(out, root, "warnings", count_of(messages, CW_MESSAGE_WARNING));
    json_put(out, root, "notes", count_of(messages, CW_MESSAGE_NOTE));
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        json_push(out, list, describe(out, cw_messages_at(messages, i)));
    json_put(out, root, "messages", list);
    return root;
}

int rules_print_json(const cw_pack *pack, const cw_messages *messages, cw_status status, const char *about,
                     bool sarif)
{
    if (status != CW_OK && status != CW_BAD_INPUT)
        return explain_status(status, about, messages);
    json_writer out = {.pack = pack, .status = CW_OK};
    json_t *root = sarif ? rules_sarif(&out, messages) : plain(&out, messages);
    int exit_status = json_finish(&out, root, about);
    return exit_status == EXIT_DONE && status == CW_BAD_INPUT ? EXIT_NEGATIVE : exit_status;
}
