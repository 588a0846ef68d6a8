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

/* Counted in characters, from 1, as programs count; the eye's columns differ where characters are wide or
 * join. */
static uint32_t character_of(const cw_sources *sources, cw_span span)
{
    size_t size, rest;
    const char *text = cw_source_text(sources, span.source, &size);
    const char *line = cw_source_line(sources, span.source, span.start, &rest);
    uint32_t count = 1;
    if (size == 0) /* no such source, or an empty one: nothing stands before it */
        return count;
    for (const char *at = line; at < text + span.start;
         at += cw_utf8_length(at, (size_t)(text + span.start - at)))
        count++;
    return count;
}

static bool fill_other(cw_arena *arena, cw_message *out, const cw_sources *sources, const cw_diag *diag)
{
    if (diag->second_message == NULL)
        return true;
    cw_place place = cw_source_place(sources, diag->second);
    out->other_file = keep(arena, place.file);
    out->other_text = keep(arena, diag->second_message);
    out->other_line = place.line;
    out->other_column = place.column;
    out->other_character = character_of(sources, diag->second);
    return out->other_file != NULL && out->other_text != NULL;
}

static void fill_spot(cw_message *out, const cw_sources *sources, cw_span span)
{
    const cw_span end = {span.source, span.end, span.end};
    cw_place place = cw_source_place(sources, span), past = cw_source_place(sources, end);
    if (place.line == 0)
        return;
    out->line = place.line;
    out->column = place.column;
    out->character = character_of(sources, span);
    out->end_line = past.line;
    out->end_column = past.column;
    out->end_character = character_of(sources, end);
}

static bool fill(cw_arena *arena, cw_message *out, const cw_sources *sources, const cw_diag *diag,
                 cw_text *text)
{
    cw_text_clear(text);
    cw_diag_render(text, sources, diag);
    if (text->status != CW_OK)
        return false;
    *out = (cw_message){.kind = kind_of(diag->severity),
                        .code = cw_code_name(diag->code),
                        .summary = cw_code_summary(diag->code),
                        .file = keep(arena, cw_source_place(sources, diag->span).file),
                        .text = keep(arena, diag->message),
                        .rendered = keep(arena, cw_text_get(text))};
    fill_spot(out, sources, diag->span);
    if (diag->help != NULL && (out->help = keep(arena, diag->help)) == NULL)
        return false;
    return out->file != NULL && out->text != NULL && out->rendered != NULL &&
           fill_other(arena, out, sources, diag);
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
