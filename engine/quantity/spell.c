/* Making a unit as people write it plain enough to look up. */
#include "quantity/inside.h"
#include <string.h>

size_t cw_blank_length(const char *text, size_t size)
{
    if (size == 0)
        return 0;
    uint32_t c = cw_utf8_decode(text, size);
    bool blank = c == ' ' || (c >= '\t' && c <= '\r') || c == 0xA0 || (c >= 0x2000 && c <= 0x200A) ||
                 c == 0x202F || c == 0x205F || c == 0x3000;
    return blank ? cw_utf8_length(text, size) : 0;
}

size_t cw_skip_blanks(const char *text, size_t size, size_t from)
{
    for (size_t length; (length = cw_blank_length(text + from, size - from)) > 0;)
        from += length;
    return from;
}

size_t cw_word_end(const char *text, size_t size, size_t from)
{
    while (from < size && cw_blank_length(text + from, size - from) == 0)
        from += cw_utf8_length(text + from, size - from);
    return from;
}

/* What a character outside ASCII stands for in a unit; NULL: nothing that we know. */
static const char *stand_in(uint32_t c)
{
    switch (c) {
    case 0xB5: /* micro sign */
    case 0x3BC:
        return "u";
    case 0x3A9: /* omega, ohm sign */
    case 0x2126:
        return "ohm";
    case 0xB0: /* degree sign, the ordinal that looks like it, ring above */
    case 0xBA:
    case 0x2DA:
        return "deg";
    case 0x2103:
        return "degC";
    case 0x2109:
        return "degF";
    case 0x2033: /* double prime, curly quotes */
    case 0x201C:
    case 0x201D:
        return "\"";
    case 0x2032: /* prime, curly apostrophes */
    case 0x2018:
    case 0x2019:
        return "'";
    case 0xB2:
        return "2";
    case 0xB7: /* middle dot, dot operator, hyphens */
    case 0x22C5:
    case 0x2010:
    case 0x2011:
        return " ";
    default:
        return NULL;
    }
}

/* The plain form of the character at the text's beginning; *length its bytes. "" drops it. */
static const char *plain_form(const char *text, size_t size, bool after_letter, size_t *length, char one[2])
{
    *length = cw_utf8_length(text, size);
    if (cw_blank_length(text, size) > 0)
        return " ";
    uint32_t c = cw_utf8_decode(text, size);
    if (c >= 0x80) {
        const char *form = stand_in(c);
        return form != NULL ? form : "?";
    }
    if (c == '-' && after_letter)
        return " ";
    if (c == '.' && after_letter)
        return "";
    if (c < 0x20)
        return "?";
    one[0] = (char)c;
    one[1] = '\0';
    return one;
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

cw_plain cw_plain_read(const char *text, size_t size)
{
    cw_plain out = {.size = 0};
    size_t length;
    for (size_t i = 0; i < size; i += length) {
        char one[2] = "";
        bool after_letter = out.size > 0 && is_letter(out.text[out.size - 1]);
        const char *form = plain_form(text + i, size - i, after_letter, &length, one);
        size_t form_size = strlen(form);
        bool again = *form == ' ' && (out.size == 0 || out.text[out.size - 1] == ' ');
        if (form_size == 0 || again) {
            if (out.size == 0 || form_size == 0)
                out.start[out.size] = i + length;
            continue;
        }
        if (out.size + form_size > CW_PLAIN_MAX)
            break;
        for (size_t k = 0; k < form_size; k++) {
            out.start[out.size] = i;
            out.text[out.size++] = form[k];
        }
        out.start[out.size] = i + length;
    }
    if (out.size > 0 && out.text[out.size - 1] == ' ')
        out.start[--out.size] = size; /* blanks at the end belong to nothing */
    out.text[out.size] = '\0';
    return out;
}
