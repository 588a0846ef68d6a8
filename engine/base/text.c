#include "base/text.h"
#include "base/vec.h"
#include <stdio.h>
#include <string.h>

/* Room for that many more bytes and the NUL behind them. */
static bool make_room(cw_text *text, size_t more)
{
    if (text->status != CW_OK)
        return false;
    size_t needed;
    if (!cw_size_plus(text->size, more, &needed) || !cw_size_plus(needed, 1, &needed)) {
        text->status = CW_NO_MEMORY;
        return false;
    }
    if (needed <= text->capacity)
        return true;
    size_t capacity = text->capacity < 32 ? 64 : text->capacity + text->capacity / 2;
    if (capacity < needed)
        capacity = needed;
    char *data = text->allocator->resize(text->allocator->context, text->data, text->capacity, capacity);
    if (data == NULL) {
        text->status = CW_NO_MEMORY;
        return false;
    }
    text->data = data;
    text->capacity = capacity;
    return true;
}

void cw_text_add_bytes(cw_text *text, const char *bytes, size_t size)
{
    if (!make_room(text, size))
        return;
    if (size > 0)
        memcpy(text->data + text->size, bytes, size);
    text->size += size;
    text->data[text->size] = '\0';
}

void cw_text_add(cw_text *text, const char *bytes)
{
    cw_text_add_bytes(text, bytes, strlen(bytes));
}

void cw_text_format_list(cw_text *text, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    int size = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (size < 0) { /* the formatted text would pass INT_MAX bytes */
        if (text->status == CW_OK)
            text->status = CW_NO_MEMORY;
    } else if (make_room(text, (size_t)size)) {
        vsnprintf(text->data + text->size, (size_t)size + 1, format, arguments);
        text->size += (size_t)size;
    }
}

void cw_text_format(cw_text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    cw_text_format_list(text, format, arguments);
    va_end(arguments);
}

const char *cw_text_get(const cw_text *text)
{
    return text->data != NULL ? text->data : "";
}

void cw_text_clear(cw_text *text)
{
    text->size = 0;
    text->status = CW_OK;
    if (text->data != NULL)
        text->data[0] = '\0';
}

void cw_text_dispose(cw_text *text)
{
    cw_release(text->allocator, text->data, text->capacity);
    *text = CW_TEXT_INIT(text->allocator);
}

bool cw_text_equal(const char *a, const char *b)
{
    return strcmp(a, b) == 0;
}
