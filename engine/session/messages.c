/* Diagnostics of the engine, turned into a list that a caller can keep. */
#include "corewright/message.h"
#include "session/door.h"
#include <string.h>

struct cw_messages {
    cw_allocator allocator;
    cw_arena *arena;
    cw_message *items;
    size_t count, errors;
};

static const char *keep(cw_arena *arena, const char *text)
{
    return cw_arena_text(arena, text, strlen(text));
}

static cw_message_kind kind_of(cw_severity severity)
{
    switch (severity) {
    case CW_NOTE:
        return CW_MESSAGE_NOTE;
    case CW_WARNING:
        return CW_MESSAGE_WARNING;
    case CW_ERROR:
        break;
    }
    return CW_MESSAGE_ERROR;
}

static bool fill(cw_arena *arena, cw_message *out, const cw_sources *sources, const cw_diag *diag,
                 cw_text *text)
{
    cw_place place = cw_source_place(sources, diag->span);
    cw_text_clear(text);
    cw_diag_render(text, sources, diag);
    if (text->status != CW_OK)
        return false;
    *out = (cw_message){.kind = kind_of(diag->severity),
                        .code = cw_code_name(diag->code),
                        .file = keep(arena, place.file),
                        .line = place.line,
                        .column = place.column,
                        .text = keep(arena, diag->message),
                        .rendered = keep(arena, cw_text_get(text))};
    if (diag->help != NULL && (out->help = keep(arena, diag->help)) == NULL)
        return false;
    return out->file != NULL && out->text != NULL && out->rendered != NULL;
}

static bool fill_all(cw_messages *messages, const cw_sources *sources, const cw_diags *diags)
{
    messages->count = cw_diags_count(diags);
    messages->errors = cw_diags_errors(diags);
    messages->items = CW_NEW_ARRAY(messages->arena, cw_message, messages->count);
    bool done = messages->items != NULL;
    cw_text text = CW_TEXT_INIT(&messages->allocator);
    for (size_t i = 0; done && i < messages->count; i++)
        done = fill(messages->arena, &messages->items[i], sources, cw_diags_at(diags, i), &text);
    cw_text_dispose(&text);
    return done;
}

cw_status cw_messages_make(const cw_allocator *allocator, const cw_sources *sources, const cw_diags *diags,
                           cw_messages **out)
{
    *out = NULL;
    if (cw_diags_lost(diags))
        return CW_NO_MEMORY;
    if (cw_diags_count(diags) == 0)
        return CW_OK;
    cw_messages *messages = cw_allocate(allocator, sizeof *messages);
    if (messages == NULL)
        return CW_NO_MEMORY;
    *messages = (cw_messages){.allocator = *allocator, .arena = cw_arena_new(allocator)};
    if (messages->arena == NULL || !fill_all(messages, sources, diags)) {
        cw_messages_free(messages);
        return CW_NO_MEMORY;
    }
    *out = messages;
    return CW_OK;
}

size_t cw_messages_count(const cw_messages *messages)
{
    return messages != NULL ? messages->count : 0;
}

const cw_message *cw_messages_at(const cw_messages *messages, size_t index)
{
    return index < cw_messages_count(messages) ? &messages->items[index] : NULL;
}

size_t cw_messages_errors(const cw_messages *messages)
{
    return messages != NULL ? messages->errors : 0;
}

void cw_messages_free(cw_messages *messages)
{
    if (messages == NULL)
        return;
    cw_arena_free(messages->arena);
    cw_allocator allocator = messages->allocator;
    cw_release(&allocator, messages, sizeof *messages);
}
