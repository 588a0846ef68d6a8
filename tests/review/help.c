#include "review/help.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>

compiled review_files(const cw_pack_file *files, size_t count, cw_review_limits limits)
{
    compiled made = compile_files(&cw_system_allocator, files, count);
    if (made.status == CW_OK) {
        cr_assert_eq(cw_review(made.model, &cw_system_allocator, limits, made.diags), CW_OK);
        cw_diags_sort(made.diags);
    }
    return made;
}

compiled review_beside_shop(const char *text, size_t size)
{
    size_t shop_size;
    char *shop = read_file(CORNER_SHOP "/pack.yaml", &shop_size);
    cr_assert_not_null(shop);
    cw_pack_file files[] = {{"example.yaml", text, size}, {"pack.yaml", shop, shop_size}};
    compiled made = review_files(files, 2, (cw_review_limits){0});
    free(shop);
    return made;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(a, b);
}

const char *codes_of(const compiled *made)
{
    static char list[2000];
    char codes[200][8];
    size_t count = 0;
    for (size_t i = 0; i < cw_diags_count(made->diags) && count < 200; i++) {
        const char *code = cw_code_name(cw_diags_at(made->diags, i)->code);
        size_t at = 0;
        while (at < count && strcmp(codes[at], code) != 0)
            at++;
        if (at == count)
            strcpy(codes[count++], code);
    }
    qsort(codes, count, sizeof codes[0], by_name);
    list[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        strcat(list, i > 0 ? " " : "");
        strcat(list, codes[i]);
    }
    return list;
}

size_t names_in(const char *folder, const char *ending, char names[][80], size_t room)
{
    DIR *open = opendir(folder);
    cr_assert_not_null(open);
    size_t count = 0;
    for (struct dirent *at; (at = readdir(open)) != NULL;) {
        size_t size = strlen(at->d_name), end = strlen(ending);
        if (size < end || strcmp(at->d_name + size - end, ending) != 0)
            continue;
        cr_assert(count < room && size < 80);
        strcpy(names[count++], at->d_name);
    }
    closedir(open);
    qsort(names, count, 80, by_name);
    return count;
}
