/* Messages as SARIF 2.1.0. The paragraphs of the standard stand beside what they ask for. */
#include "rules/sarif.h"
#include "rules/pages.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static json_t *text_object(json_writer *out, const char *words)
{
    json_t *one = json_object();
    json_put(out, one, "text", json_text(words));
    return one;
}

static const char *level(cw_message_kind kind) /* 3.27.10 */
{
    return kind == CW_MESSAGE_ERROR ? "error" : kind == CW_MESSAGE_WARNING ? "warning" : "note";
}

/* 3.4.3: a URI, so what is not plain in a path is written %XX; a whole path gets the scheme file. */
static json_t *uri(const char *path)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/";
    const char *scheme = path[0] == '/' ? "file://" : "";
    char *text = malloc(strlen(scheme) + 3 * strlen(path) + 1);
    if (text == NULL)
        return NULL;
    char *to = text + sprintf(text, "%s", scheme);
    for (const char *at = path; *at != '\0'; at++)
        to += strchr(plain, *at) != NULL ? sprintf(to, "%c", *at) : sprintf(to, "%%%02X", (unsigned char)*at);
    json_t *made = json_string(text);
    free(text);
    return made;
}

/* 3.30: lines and columns from 1; endColumn is one past the last character. */
static json_t *region(json_writer *out, uint32_t line, uint32_t column, uint32_t end_line,
                      uint32_t end_column)
{
    json_t *one = json_object();
    json_put(out, one, "startLine", json_integer(line));
    json_put(out, one, "startColumn", json_integer(column));
    if (end_line > line || (end_line == line && end_column > column)) {
        json_put(out, one, "endLine", json_integer(end_line));
        json_put(out, one, "endColumn", json_integer(end_column));
    }
    return one;
}

static json_t *location(json_writer *out, const char *file, json_t *where)
{
    json_t *one = json_object(), *physical = json_object(), *artifact = json_object();
    json_put(out, artifact, "uri", uri(file));
    json_put(out, physical, "artifactLocation", artifact);
    json_put(out, physical, "region", where);
    json_put(out, one, "physicalLocation", physical);
    return one;
}

static json_t *locations(json_writer *out, const cw_message *message)
{
    json_t *list = json_array();
    if (message->line > 0)
        json_push(out, list,
                  location(out, message->file,
                           region(out, message->line, message->character, message->end_line,
                                  message->end_character)));
    return list;
}

/* 3.27.22: what helps to understand the result, each with a message. */
static json_t *related(json_writer *out, const cw_message *message)
{
    json_t *list = json_array();
    json_t *one =
        location(out, message->other_file, region(out, message->other_line, message->other_character, 0, 0));
    json_put(out, one, "message", text_object(out, message->other_text));
    json_push(out, list, one);
    return list;
}

static json_t *message_object(json_writer *out, const cw_message *message)
{
    if (message->help == NULL)
        return text_object(out, message->text);
    size_t size = strlen(message->text) + strlen(message->help) + 10;
    char *words = malloc(size);
    if (words == NULL)
        return NULL;
    snprintf(words, size, "%s. Help: %s", message->text, message->help);
    json_t *one = text_object(out, words);
    free(words);
    return one;
}

/* Place among the rules listed so far; added when it is new. */
static size_t rule_index(json_writer *out, json_t *rules, const cw_message *message)
{
    size_t count = json_array_size(rules);
    for (size_t i = 0; i < count; i++)
        if (strcmp(json_string_value(json_object_get(json_array_get(rules, i), "id")), message->code) == 0)
            return i;
    json_t *one = json_object(), *help = json_object(), *usual = json_object();
    const code_page *page = page_find(message->code);
    const char *words = page != NULL ? page->text : message->summary;
    json_put(out, one, "id", json_text(message->code));
    json_put(out, one, "shortDescription", text_object(out, message->summary));
    json_put(out, help, "text", json_text(words));
    json_put(out, help, "markdown", json_text(words));
    json_put(out, one, "help", help);
    json_put(out, usual, "level", json_text(level(message->kind)));
    json_put(out, one, "defaultConfiguration", usual);
    json_push(out, rules, one);
    return count;
}

static json_t *result(json_writer *out, json_t *rules, const cw_message *message)
{
    json_t *one = json_object();
    json_put(out, one, "ruleId", json_text(message->code));
    json_put(out, one, "ruleIndex", json_integer((json_int_t)rule_index(out, rules, message)));
    json_put(out, one, "level", json_text(level(message->kind)));
    json_put(out, one, "message", message_object(out, message));
    json_put(out, one, "locations", locations(out, message));
    if (message->other_text != NULL && message->other_line > 0)
        json_put(out, one, "relatedLocations", related(out, message));
    return one;
}

static json_t *tool(json_writer *out, json_t *rules)
{
    json_t *one = json_object(), *driver = json_object();
    json_put(out, driver, "name", json_text("corewright"));
    json_put(out, driver, "version", json_text(CW_VERSION));
    json_put(out, driver, "rules", rules);
    json_put(out, one, "driver", driver);
    return one;
}

json_t *rules_sarif(json_writer *out, const cw_messages *messages)
{
    json_t *root = json_object(), *runs = json_array(), *run = json_object(), *results = json_array(),
           *rules = json_array();
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        json_push(out, results, result(out, rules, cw_messages_at(messages, i)));
    json_put(
        out, root, "$schema",
        json_text(
            "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"));
    json_put(out, root, "version", json_text("2.1.0"));
    json_put(out, run, "tool", tool(out, rules));
    json_put(out, run, "columnKind", json_text("unicodeCodePoints"));
    json_put(out, run, "results", results);
    json_push(out, runs, run);
    json_put(out, root, "runs", runs);
    return root;
}
