#include "base/text.h"
#include "pack/yaml_inside.h"

/* A control character that no text file holds. Without branches, so that many bytes are looked at at once. */
static unsigned char is_odd(unsigned char byte)
{
    return (unsigned char)(((byte < 0x20) & (byte != '\n') & (byte != '\t') & (byte != '\r')) |
                           (byte == 0x7f));
}

/* The first such byte; `size` if there is none, as nearly always. */
size_t yaml_find_odd(const char *text, size_t size)
{
    unsigned char any = 0;
    for (size_t i = 0; i < size; i++)
        any |= is_odd((unsigned char)text[i]);
    size_t at = any == 0 ? size : 0;
    while (at < size && is_odd((unsigned char)text[at]) == 0)
        at++;
    return at;
}

static bool any_high(const char *text, size_t size)
{
    unsigned char high = 0;
    for (size_t i = 0; i < size; i++)
        high |= (unsigned char)text[i];
    return (high & 0x80) != 0;
}

bool yaml_is_ascii(const yaml_text *text)
{
    return !any_high(text->bytes, text->size);
}

bool yaml_bytes_fit(const yaml_text *text)
{
    const char *bytes = text->bytes;
    const size_t good = yaml_is_ascii(text) ? text->size : cw_utf8_error(bytes, text->size);
    const size_t i = yaml_find_odd(bytes, good);
    if (i < good) {
        unsigned char byte = (unsigned char)bytes[i];
        cw_span span = {text->source, (uint32_t)i, (uint32_t)i + 1};
        if (byte == 0)
            cw_diag_help(
                text->diags,
                cw_diags_add(text->diags, CW_DIAG_NUL_BYTE, span, "a NUL byte, which no text file holds"),
                "save the file as plain text in UTF-8");
        else
            cw_diag_help(
                text->diags,
                cw_diags_add(text->diags, CW_DIAG_YAML_SYNTAX, span, "a control character (code %u)", byte),
                "take it out and type anew what is to stand there; no eye sees it in an editor");
        return false;
    }
    if (good == text->size)
        return true;
    cw_span span = {text->source, (uint32_t)good, (uint32_t)good + 1};
    cw_diag *diag =
        cw_diags_add(text->diags, CW_DIAG_NOT_UTF8, span,
                     "byte 0x%02X does not belong to any character in UTF-8", (unsigned char)bytes[good]);
    cw_diag_help(text->diags, diag, "save the file as UTF-8");
    return false;
}
