#include "image_room.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char top[64];

void image_enter(void)
{
    strcpy(top, "/tmp/cw-image-XXXXXX");
    cr_assert_not_null(mkdtemp(top));
}

static void remove_all(const char *path)
{
    DIR *folder = opendir(path);
    for (struct dirent *at; folder != NULL && (at = readdir(folder)) != NULL;) {
        char inner[PATH_MAX];
        if (strcmp(at->d_name, ".") == 0 || strcmp(at->d_name, "..") == 0)
            continue;
        snprintf(inner, sizeof inner, "%s/%s", path, at->d_name);
        remove_all(inner);
    }
    if (folder != NULL)
        closedir(folder);
    remove(path);
}

void image_leave(void)
{
    remove_all(top);
}

const char *image_in(const char *name)
{
    static char paths[8][PATH_MAX];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", top, name);
    return path;
}

void image_put(const char *name, const void *bytes, size_t size)
{
    FILE *file = fopen(image_in(name), "wb");
    cr_assert_not_null(file, "%s", name);
    cr_assert_eq(fwrite(bytes, 1, size, file), size);
    fclose(file);
}

void image_put_text(const char *name, const char *text)
{
    image_put(name, text, strlen(text));
}

const char image_upper[] =
    "pack: {name: upper, title: Upper, version: 3, needs: [lower], not_listed: 1 of 10}\n"
    "checks:\n"
    "  mark: {title: M, ask: M, text: yes, place: counter, minutes: 1}\n"
    "  idle: {title: I, ask: I, text: yes, place: counter, minutes: 1}\n"
    "facts:\n"
    "  half: {title: H, measure: voltage, unit: V}\n"
    "  size: {title: S, measure: length, unit: mm}\n"
    "  read: {title: R, measure: voltage, unit: V}\n"
    "rules:\n"
    "  a: {if: {volts: known}, then: {half: = volts / 2}, because: b, source: s}\n"
    "  s: {if: {volts: known}, then: {size: = bearing_bore(6203)}, because: b, source: s}\n"
    "  c: {if: [{lamp: on}, {mark: {like: '^T'}}], then: {dead: yes}, because: b, source: s}\n"
    "  d: {if: {half: above 1 V}, then: {dead: yes}, because: b, source: s}\n"
    "units:\n"
    "  tern: {title: T, source: s, signs: {lamp: {on: usually}, volts: 12 V +/- 1 V}, data: {half: 6 V},\n"
    "    versions: {x: {title: X, signs: {mark: {like: '^X', how_often: often}}, replaced_by: y}, y: {title: "
    "Y}}}\n";
const char image_lower[] =
    "pack: {name: lower, title: Lower, version: 1}\n"
    "checks:\n"
    "  lamp: {title: L, ask: L, choices: {off: '', on: {title: lit, also: [x]}}, background: {on: rarely}, "
    "place: counter, minutes: 1}\n"
    "  volts: {title: V, ask: V, measure: voltage, unit: V, range: 0 V to 20 V, reading_error: {m: 0.1 V}, "
    "place: bench, minutes: 1, cautions: [hot]}\n"
    "  left: {title: F, ask: F, text: yes, place: counter, minutes: 1}\n"
    "parts: {p: {title: P, where: unit, apart: 1, replaced_by: q}, q: {title: Q, where: vehicle}}\n"
    "cautions: {hot: {say: H, source: s, stop: no}}\n"
    "causes:\n"
    "  k: {title: K, part: p, seen: 1 %, signs: {dead: {yes: often}}, leads_to: {m: rarely}, source: s,\n"
    "    ruled_out_by: {lamp: off}, shifts: [{if: {lamp: on}, times: 2}], plan: {replace: [p], steps: "
    "[Look.]}}\n"
    "  m: {title: M, part: q, seen: 1 %, source: s}\n"
    "words: {g: {like: dim, not_like: not, say: d, suggests: {lamp: on}, even_denied: yes}, h: {before: "
    "no}}\n"
    "steps:\n"
    "  i: {title: I, do: D, source: s, part: p, after: [j], cautions: hot, mistake: M, comes_back_as: [k]}\n"
    "  j: {title: J, do: D, source: s}\n";

void image_put_packs(void)
{
    mkdir(image_in("upper"), 0777);
    mkdir(image_in("lower"), 0777);
    image_put_text("upper/pack.yaml", image_upper);
    image_put_text("lower/pack.yaml", image_lower);
}

compiled image_load_by(loading *how, const char *first, const char *second)
{
    const char *folders[] = {first, second};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status =
        how(&cw_system_allocator, folders, second == NULL ? 1 : 2, made.sources, made.diags, &made.model);
    return made;
}

void image_compile(const char *folder, const char *second, const char *file)
{
    const char *folders[] = {folder, second};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_image_make(&cw_system_allocator, folders, second == NULL ? 1 : 2, file, NULL,
                                made.sources, made.diags);
    char *told = messages(&made);
    cr_assert_eq(made.status, CW_OK, "%s", told);
    free(told);
    compiled_free(&made);
}

void image_expect_same(const char *image, const char *folder)
{
    compiled quick = image_load_by(cw_image_load, image, NULL),
             slow = image_load_by(cw_pack_load, folder, NULL);
    char *told = messages(&quick);
    cr_assert_not_null(quick.model, "%s is not used: %s", image, told);
    char *expected_told = messages(&slow);
    cr_expect_str_eq(told, expected_told);
    char *said = dump(quick.model), *expected = dump(slow.model);
    cr_expect_str_eq(said, expected);
    cr_expect_str_eq(quick.model->packs[0].sha256, slow.model->packs[0].sha256);
    free(said);
    free(expected);
    free(told);
    free(expected_told);
    compiled_free(&quick);
    compiled_free(&slow);
}

void image_expect_passed_over(const char *folder)
{
    compiled made = image_load_by(cw_image_load, folder, NULL);
    cr_expect_eq(made.status, CW_OK);
    cr_expect_null(made.model);
    cr_expect_eq(cw_diags_count(made.diags), 0u);
    compiled_free(&made);
}

void image_expect_refused(const char *image, const char *why)
{
    char expected[PATH_MAX * 2];
    snprintf(expected, sizeof expected,
             "error: '%s' cannot be used: %s\n"
             "help: compile its packs again: corewright rules FOLDER --compile\n",
             image, why);
    compiled made = image_load_by(cw_image_load, image, NULL);
    char *told = messages(&made);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_null(made.model);
    cr_expect_str_eq(told, expected);
    free(told);
    compiled_free(&made);
}

image_bytes image_whole(void)
{
    image_bytes image;
    image_put_packs();
    image_compile(image_in("upper"), NULL, NULL);
    image.bytes = read_file(image_in("upper/pack.image"), &image.size);
    return image;
}
