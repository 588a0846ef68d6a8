/* Files with bytes changed, dropped, doubled and moved: never a crash, and never silence where something is
 * wrong. */
#include "help.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST = 300, ROOM = 1 << 18 };

static size_t mutate(random_state *state, char *text, size_t size)
{
    static const char odd[] = "{}[]:,'\"-|>&*!#%@`\t\n\r \\=~?0\xff\xc3\xe2\x01";
    uint32_t changes = 1 + random_below(state, 4);
    for (uint32_t i = 0; i < changes && size > 8; i++) {
        size_t at = random_below(state, (uint32_t)size), run = 1 + random_below(state, 30);
        if (at + run > size)
            run = size - at;
        switch (random_below(state, 5)) {
        case 0:
            text[at] = odd[random_below(state, sizeof odd)];
            break;
        case 1:
            text[at] = (char)(text[at] ^ (1 << random_below(state, 8)));
            break;
        case 2:
            memmove(text + at, text + at + run, size - at - run);
            size -= run;
            break;
        case 3:
            if (size + run < ROOM) {
                memmove(text + at + run, text + at, size - at);
                size += run;
            }
            break;
        default: {
            size_t from = random_below(state, (uint32_t)(size - run + 1));
            memmove(text + at, text + from, at + run <= size ? run : 0);
        }
        }
    }
    return size;
}

static void check_result(const compiled *made, const char *name)
{
    size_t errors = cw_diags_errors(made->diags);
    cr_assert(made->status == CW_OK || made->status == CW_BAD_INPUT, "%s: status %d", name,
              (int)made->status);
    cr_assert_eq(made->status == CW_OK, errors == 0, "%s: status %d with %zu errors", name, (int)made->status,
                 errors);
    cr_assert_eq(made->model != NULL, made->status == CW_OK);
    free(messages(made)); /* every message can be shown */
}

static void mutate_mistakes(uint64_t seed, int rounds)
{
    static char names[MOST][80], text[ROOM];
    random_state state = random_start(seed);
    size_t count = bad_names(".yaml", names, MOST);
    for (int round = 0; round < rounds; round++) {
        const char *name = names[random_below(&state, (uint32_t)count)];
        char path[4096];
        size_t size;
        snprintf(path, sizeof path, CW_SOURCE_DIR "/tests/pack/bad/%s", name);
        char *original = read_file(path, &size);
        memcpy(text, original, size + 1);
        free(original);
        size = mutate(&state, text, size);
        text[size] = '\0';
        compiled made = compile_mistake(&cw_system_allocator, name, text, size);
        check_result(&made, name);
        compiled_free(&made);
    }
}

Test(mutations, of_the_mistakes_1)
{
    mutate_mistakes(1, 1000);
}

Test(mutations, of_the_mistakes_2)
{
    mutate_mistakes(2, 1000);
}

/* One file of a folder changed, all others as they are. */
static void mutate_folder(const char *folder, uint64_t seed, int rounds)
{
    static char text[ROOM];
    char names[MOST][80];
    cw_pack_file files[MOST];
    size_t count = 0;
    DIR *listing = opendir(folder);
    cr_assert_not_null(listing);
    for (struct dirent *at; (at = readdir(listing)) != NULL;) {
        if (strstr(at->d_name, ".yaml") == NULL || strlen(at->d_name) >= sizeof names[0])
            continue;
        char path[4096];
        snprintf(path, sizeof path, "%s/%s", folder, at->d_name);
        strcpy(names[count], at->d_name);
        files[count].name = names[count];
        files[count].text = read_file(path, &files[count].size);
        count++;
    }
    closedir(listing);
    random_state state = random_start(seed);
    for (int round = 0; round < rounds; round++) {
        uint32_t which = random_below(&state, (uint32_t)count);
        cw_pack_file whole = files[which];
        cr_assert_lt(whole.size, (size_t)ROOM);
        memcpy(text, whole.text, whole.size);
        files[which].text = text;
        files[which].size = mutate(&state, text, whole.size);
        compiled made = compile_files(&cw_system_allocator, files, count);
        check_result(&made, whole.name);
        compiled_free(&made);
        files[which] = whole;
    }
    for (size_t i = 0; i < count; i++)
        free((char *)files[i].text);
}

Test(mutations, of_the_generic_pack)
{
    mutate_folder(CW_SOURCE_DIR "/rules/charging-basics", 3, 60);
}

Test(mutations, of_the_catalogue_without_the_pack_it_needs)
{
    mutate_folder(CW_SOURCE_DIR "/rules/harbour-lane", 4, 60);
}

Test(mutations, of_the_box_of_five)
{
    mutate_folder(CW_SOURCE_DIR "/tests/outside/polybox/pack", 5, 400);
}

Test(mutations, of_the_two_frames)
{
    mutate_folder(CW_SOURCE_DIR "/tests/outside/trade/pack", 6, 400);
}
