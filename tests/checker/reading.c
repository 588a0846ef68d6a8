/* What rules read of stamped texts. */
#include "checker/inside.h"

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

#include <ctype.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

bool ck_is_reading(const tree *node)
{
    return node != NULL && node->kind == TREE_MAP;
}

/* What the first parentheses catch, without blanks around; NULL for nothing. The caller frees it. */
static char *caught(const char *pattern, const char *text)
{
    int error;
    size_t offset;
    char *out = NULL;
    pcre2_code *code = pcre2_compile((PCRE2_SPTR)pattern, PCRE2_ZERO_TERMINATED,
                                     PCRE2_UTF | PCRE2_UCP | PCRE2_CASELESS, &error, &offset, NULL);
    if (code == NULL)
        ck_die("bad pattern %s", pattern);
    pcre2_match_data *data = pcre2_match_data_create_from_pattern(code, NULL);
    const int found = pcre2_match(code, (PCRE2_SPTR)text, strlen(text), 0, 0, data, NULL);
    const size_t *spans = pcre2_get_ovector_pointer(data);
    if (found > 1 && spans[2] != PCRE2_UNSET) {
        size_t start = spans[2], end = spans[3];
        while (start < end && isspace((unsigned char)text[start]))
            start++;
        while (end > start && isspace((unsigned char)text[end - 1]))
            end--;
        out = ck_copy_text(text + start, end - start);
    }
    pcre2_match_data_free(data);
    pcre2_code_free(code);
    return out;
}

static char *caught_of(const checker *c, const tree *reading, const bound *scope)
{
    const fact *text = ck_resolve(c, ck_tree_word(reading, "read"), scope);
    return text->answer.kind == CHECKER_TEXT ? caught(ck_tree_word(reading, "like"), text->text) : NULL;
}

bool ck_reads_number(const checker *c, const fact *f, const tree *reading, const bound *scope, double *out)
{
    const char *range = ck_tree_word(reading, "range");
    if (range == NULL && f->check)
        range = ck_tree_word(f->body, "range");
    char *text = caught_of(c, reading, scope);
    double low, high;
    bool ok = text != NULL && ck_quantity_read(text, ck_tree_word(reading, "unit"), out);
    if (ok && range != NULL)
        ok = ck_quantity_range(range, NULL, &low, &high) && *out >= low && *out <= high;
    free(text);
    return ok;
}

/* A blank, a hyphen or nothing may stand for '_'. */
static bool is_name(const char *name, const char *text)
{
    for (; *name != '\0'; name++) {
        if (*name == '_') {
            text += *text == ' ' || *text == '-' || *text == '_';
            continue;
        }
        if (tolower((unsigned char)*text) != *name)
            return false;
        text++;
    }
    return *text == '\0';
}

static bool is_word(const tree *node, const char *text)
{
    if (node == NULL)
        return false;
    if (node->kind == TREE_WORD)
        return strcasecmp(node->text, text) == 0;
    for (size_t i = 0; node->kind == TREE_LIST && i < node->count; i++)
        if (is_word(node->items[i], text))
            return true;
    return false;
}

static bool is_usual_word(const fact *f, size_t value, const char *text)
{
    if (f->kind == FACT_COUNT)
        return strspn(text, "0123456789") == strlen(text) && text[0] != '\0' &&
               atoi(text) == f->first + (int)value;
    const tree *choices = ck_tree_get(f->body, "choices");
    const tree *body = choices != NULL && choices->kind == TREE_MAP ? choices->items[value] : NULL;
    return is_name(f->values[value], text) || is_word(body, text) ||
           (body != NULL && body->kind == TREE_MAP &&
            (is_word(ck_tree_get(body, "title"), text) || is_word(ck_tree_get(body, "also"), text)));
}

bool ck_reads_value(const checker *c, const fact *f, const tree *reading, const bound *scope, size_t value)
{
    const tree *means = ck_tree_get(reading, "means");
    char *text = caught_of(c, reading, scope);
    bool met = text != NULL && means == NULL && is_usual_word(f, value, text);
    for (size_t i = 0; text != NULL && means != NULL && i < means->count; i++)
        met |=
            strcasecmp(means->keys[i]->text, text) == 0 && ck_find_value(f, means->items[i]->text) == value;
    free(text);
    return met;
}
