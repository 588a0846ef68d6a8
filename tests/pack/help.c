#include "help.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BAD CW_SOURCE_DIR "/tests/pack/bad/"

char *read_file(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    size_t room = 1 << 16, filled = 0;
    char *text = malloc(room + 1);
    for (size_t more; (more = fread(text + filled, 1, room - filled, file)) > 0;) {
        filled += more;
        if (filled == room)
            text = realloc(text, (room *= 2) + 1);
    }
    fclose(file);
    text[filled] = '\0';
    *size = filled;
    return text;
}

compiled compile_files(const cw_allocator *allocator, const cw_pack_file *files, size_t count)
{
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    cw_pack_text pack = {"mistakes", files, count};
    made.status = cw_pack_compile(allocator, &pack, 1, made.sources, made.diags, &made.model);
    return made;
}

compiled compile_text(const char *text)
{
    cw_pack_file file = {"pack.yaml", text, strlen(text)};
    return compile_files(&cw_system_allocator, &file, 1);
}

compiled compile_body(const char *body)
{
    return compile_mistake(&cw_system_allocator, "body.yaml", body, strlen(body));
}

void compiled_free(compiled *made)
{
    cw_model_free(made->model);
    cw_diags_free(made->diags);
    cw_sources_free(made->sources);
}

char *messages(const compiled *made)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    for (size_t i = 0; i < cw_diags_count(made->diags); i++)
        cw_diag_render(&text, made->sources, cw_diags_at(made->diags, i));
    char *copy = strdup(cw_text_get(&text));
    cw_text_dispose(&text);
    return copy;
}

static bool stands_alone(const char *name, const char *text)
{
    if (strncmp(name, "with-", 5) == 0)
        return false;
    return strncmp(name, "alone-", 6) == 0 || strncmp(text, "pack:", 5) == 0 ||
           strstr(text, "\npack:") != NULL;
}

compiled compile_mistake(const cw_allocator *allocator, const char *name, const char *text, size_t size)
{
    size_t header_size = 0;
    char *header = read_file(BAD "header.yaml", &header_size);
    cr_assert_not_null(header);
    cw_pack_file files[] = {{name, text, size}, {"header.yaml", header, header_size}};
    compiled made = compile_files(allocator, files, stands_alone(name, text) ? 1 : 2);
    free(header);
    return made;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

size_t bad_names(const char *ending, char names[][80], size_t room)
{
    DIR *folder = opendir(BAD);
    cr_assert_not_null(folder);
    size_t count = 0;
    for (struct dirent *at; (at = readdir(folder)) != NULL;) {
        size_t size = strlen(at->d_name), end = strlen(ending);
        if (size < end || strcmp(at->d_name + size - end, ending) != 0 ||
            strcmp(at->d_name, "header.yaml") == 0)
            continue;
        cr_assert(count < room && size < 80);
        strcpy(names[count++], at->d_name);
    }
    closedir(folder);
    qsort(names, count, 80, by_name);
    return count;
}
