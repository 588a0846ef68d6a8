/* Where an entry belongs: which file of the pack, and where its name stands already. */
#include "begin/begin.h"
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

const char *begin_section(begin_kind kind)
{
    static const char *const sections[BEGIN_KINDS] = {"units", "units", "causes", "checks"};
    return sections[kind];
}

/* Looks for a name in the files of one folder, and prints where it stands. */
static bool stands_in(const char *folder, const char *section, const char *name, bool deep)
{
    begin_files files;
    bool found = false;
    if (begin_read_files(folder, &files) == EXIT_DONE) {
        for (size_t i = 0; i < files.count && !found; i++) {
            size_t line = begin_entry_line(files.items[i].text, files.items[i].size, section, name, deep);
            found = line > 0;
            if (found)
                fprintf(stderr, "%s/%s:%zu: note: it stands here\n", folder, files.items[i].name, line);
        }
    }
    begin_free_files(&files);
    return found;
}

/* In this pack, or in one that it needs, which lies beside it. */
static void say_where(const begin *all, const char *section, const char *name, bool deep)
{
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(all->pack, &headers);
    bool found = stands_in(all->folder, section, name, deep);
    for (size_t i = 1; i < count && !found; i++) {
        char folder[PATH_MAX];
        struct stat about;
        int size = snprintf(folder, sizeof folder, "%s/../%s", all->folder, headers[i].name);
        if (size > 0 && (size_t)size < sizeof folder && stat(folder, &about) == 0)
            found = stands_in(folder, section, name, deep);
    }
}

static const char *taken_by(const begin *all, const char *name)
{
    const char *near;
    cw_fact_entry fact;
    size_t at;
    switch (all->kind) {
    case BEGIN_FAMILY:
    case BEGIN_VERSION:
        return cw_pack_unit_title(all->pack, name);
    case BEGIN_CAUSE:
        return cw_pack_cause_title(all->pack, name);
    case BEGIN_CHECK:
        at = begin_fact(all->pack, name, &near);
        return cw_pack_fact_at(all->pack, at, &fact) ? fact.title : NULL;
    case BEGIN_KINDS:
        break;
    }
    return NULL;
}

bool begin_taken(const begin *all, const char *name, bool a_version)
{
    const char *title = taken_by(all, name);
    if (title == NULL)
        return false;
    fprintf(stderr, "corewright: error: the name %s is taken: %s\n", name, title);
    say_where(all, begin_section(all->kind), name, a_version);
    if (all->kind == BEGIN_CHECK && cw_pack_check(all->pack, name, NULL) == NULL)
        say_where(all, "facts", name, false);
    fputs("help: take another name, or change the entry there by hand\n", stderr);
    return true;
}

/* How much of a file is like the entry to be written. */
typedef struct likeness {
    const begin *all;
    const char *where; /* of the part: unit, vehicle, installation */
    size_t entries, alike;
    char last[LAYOUT_WIDTH];
} likeness;

static const char *where_of(const begin *all, const char *name)
{
    cw_part_entry part;
    for (size_t i = 0; cw_pack_part_at(all->pack, i, &part); i++)
        if (strcmp(part.name, name) == 0)
            return part.where;
    return "";
}

static void compare_line(void *context, const char *entry, const char *key, const char *rest)
{
    likeness *like = context;
    if (key[0] == '\0') {
        like->entries++;
        snprintf(like->last, sizeof like->last, "%s", entry);
    } else if (like->all->kind == BEGIN_CAUSE && strcmp(key, "part") == 0) {
        like->alike += strcmp(where_of(like->all, rest), like->where) == 0;
    } else if (like->all->kind == BEGIN_CHECK && strcmp(key, "place") == 0) {
        like->alike += strcmp(rest, begin_value(like->all, 0, "place")) == 0;
    }
}

/* A file named for the one family in it is that family's own. */
static bool is_own(const begin *all, const begin_file *file, const likeness *like)
{
    size_t size = strlen(file->name) - strlen(".yaml");
    if (all->kind != BEGIN_FAMILY || like->entries != 1 || strlen(like->last) != size)
        return false;
    for (size_t i = 0; i < size; i++)
        if (file->name[i] != like->last[i] && !(file->name[i] == '-' && like->last[i] == '_'))
            return false;
    return true;
}

/* The file with most entries that are alike, else with most entries; NULL: none has such a section. */
static begin_file *best_file(const begin *all, const begin_files *files)
{
    begin_file *best = NULL;
    size_t most_alike = 0, most = 0;
    const char *part = begin_value(all, 0, "part");
    for (size_t i = 0; i < files->count; i++) {
        begin_file *file = &files->items[i];
        likeness like = {.all = all, .where = part != NULL ? where_of(all, part) : ""};
        begin_each_line(file->text, file->size, begin_section(all->kind), compare_line, &like);
        if (like.entries == 0 || is_own(all, file, &like))
            continue;
        if (best == NULL || like.alike > most_alike || (like.alike == most_alike && like.entries > most)) {
            best = file;
            most_alike = like.alike;
            most = like.entries;
        }
    }
    return best;
}

/* What every file of the pack begins with, for editors: a new one does so too. */
static int first_text(const begin *all, const begin_files *files, begin_file *file)
{
    const char *mark = "# yaml-language-server:";
    const char *line = "", *title = begin_value(all, 0, "title");
    size_t size = 0, more;
    for (size_t i = 0; i < files->count && size == 0; i++) {
        if (files->items[i].there && strncmp(files->items[i].text, mark, strlen(mark)) == 0) {
            line = files->items[i].text;
            size = strcspn(line, "\r\n");
        }
    }
    more = size + strlen(title) + 40;
    file->text = malloc(more);
    if (file->text == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    int wrote = snprintf(file->text, more, "%.*s%s", (int)size, line, size > 0 ? "\n" : "");
    if (all->kind == BEGIN_FAMILY && wrote >= 0)
        wrote += snprintf(file->text + wrote, more - (size_t)wrote, "# %s\n", title);
    file->size = (size_t)wrote;
    return EXIT_DONE;
}

static begin_file *find_file(begin_files *files, const char *name)
{
    for (size_t i = 0; i < files->count; i++)
        if (strcmp(files->items[i].name, name) == 0)
            return &files->items[i];
    return NULL;
}

/* The file of that name; a new one where there is none. */
static begin_file *named_file(const begin *all, begin_files *files, const char *name)
{
    begin_file *file = find_file(files, name);
    if (file != NULL)
        return file;
    file = begin_add_file(files, name);
    if (file == NULL) {
        explain_status(CW_NO_MEMORY, "begin", NULL);
        return NULL;
    }
    return first_text(all, files, file) == EXIT_DONE ? file : NULL;
}

void begin_layout_for(const begin *all, const char *text, size_t size, begin_layout *out)
{
    if (all->kind == BEGIN_VERSION)
        begin_read_nested(text, size, begin_section(all->kind), begin_value(all, 0, "family"), BEGIN_VERSIONS,
                          out);
    else
        begin_read_layout(text, size, begin_section(all->kind), out);
}

/* A version goes where its family stands. */
static begin_file *file_of_family(const begin *all, begin_files *files)
{
    const char *family = begin_value(all, 0, "family"), *wanted = all->options->file;
    for (size_t i = 0; i < files->count; i++) {
        begin_file *file = &files->items[i];
        if ((wanted == NULL || strcmp(file->name, wanted) == 0) &&
            begin_entry_line(file->text, file->size, begin_section(all->kind), family, true) > 0)
            return file;
    }
    fprintf(stderr,
            "corewright: error: %s/%s: '%s' does not stand here, and a version stands in its family's file\n",
            all->folder, wanted != NULL ? wanted : "", family);
    if (wanted == NULL)
        say_where(all, begin_section(all->kind), family, true);
    fputs(wanted == NULL ? "help: name the folder of the pack in which the family stands\n"
                         : "help: leave --file out\n",
          stderr);
    return NULL;
}

begin_file *begin_choose(const begin *all, begin_files *files)
{
    char name[NAME_MAX + 1];
    const char *wanted = all->options->file;
    if (all->kind == BEGIN_VERSION)
        return file_of_family(all, files);
    if (wanted != NULL) {
        if (strchr(wanted, '/') != NULL || !begin_is_yaml(wanted) || strlen(wanted) > NAME_MAX) {
            fprintf(stderr,
                    "corewright: error: --file %s: the name of a file in the pack is wanted, NAME.yaml\n",
                    wanted);
            return NULL;
        }
        return named_file(all, files, wanted);
    }
    begin_file *best = best_file(all, files);
    if (best != NULL)
        return best;
    if (all->kind == BEGIN_FAMILY)
        snprintf(name, sizeof name, "%s.yaml", begin_value(all, 0, "name"));
    else
        snprintf(name, sizeof name, "%s.yaml", begin_section(all->kind));
    for (char *at = name; *at != '\0'; at++)
        *at = *at == '_' ? '-' : *at;
    return named_file(all, files, name);
}
