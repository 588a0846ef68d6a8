/* Compiled images: what comes out is what the packs say, and nothing that is not whole, of this build and of
 * these very files is taken. dl_iterate_phdr wants the GNU names. */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */
#include "help.h"
#include "model/image_inside.h"
#include "support/failing.h"
#include "support/random.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <limits.h>
#include <link.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SHIPPED CW_SOURCE_DIR "/rules/harbour-lane"

/* --- A folder to work in --- */

static char top[64];

static void enter(void)
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

static void leave(void)
{
    remove_all(top);
}

TestSuite(image, .init = enter, .fini = leave);

/* A path below the folder; one of eight, in turn. */
static const char *in(const char *name)
{
    static char paths[8][PATH_MAX];
    static int turn;
    char *path = paths[turn++ % 8];
    snprintf(path, sizeof paths[0], "%s/%s", top, name);
    return path;
}

static void put(const char *name, const void *bytes, size_t size)
{
    FILE *file = fopen(in(name), "wb");
    cr_assert_not_null(file, "%s", name);
    cr_assert_eq(fwrite(bytes, 1, size, file), size);
    fclose(file);
}

static void put_text(const char *name, const char *text)
{
    put(name, text, strlen(text));
}

/* Two packs, one of which needs the other: something of every construct, and two warnings. */
static const char upper[] =
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
static const char lower[] =
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

static void put_packs(void)
{
    mkdir(in("upper"), 0777);
    mkdir(in("lower"), 0777);
    put_text("upper/pack.yaml", upper);
    put_text("lower/pack.yaml", lower);
}

/* --- Loading --- */

typedef cw_status loading(const cw_allocator *allocator, const char *const *folders, size_t count,
                          cw_sources *sources, cw_diags *diags, cw_model **out);

static compiled load_by(loading *how, const char *first, const char *second)
{
    const char *folders[] = {first, second};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status =
        how(&cw_system_allocator, folders, second == NULL ? 1 : 2, made.sources, made.diags, &made.model);
    return made;
}

static void compile(const char *folder, const char *second, const char *file)
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

/* The image is used for the folder, and says what the packs say: model, messages with their places. */
static void expect_same(const char *image, const char *folder)
{
    compiled quick = load_by(cw_image_load, image, NULL), slow = load_by(cw_pack_load, folder, NULL);
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

/* Beside its pack it is passed over without a word. */
static void expect_passed_over(const char *folder)
{
    compiled made = load_by(cw_image_load, folder, NULL);
    cr_expect_eq(made.status, CW_OK);
    cr_expect_null(made.model);
    cr_expect_eq(cw_diags_count(made.diags), 0u);
    compiled_free(&made);
}

/* Named itself, this is said of it. */
static void expect_refused(const char *image, const char *why)
{
    char expected[PATH_MAX * 2];
    snprintf(expected, sizeof expected,
             "error: '%s' cannot be used: %s\n"
             "help: compile its packs again: corewright rules FOLDER --compile\n",
             image, why);
    compiled made = load_by(cw_image_load, image, NULL);
    char *told = messages(&made);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_null(made.model);
    cr_expect_str_eq(told, expected);
    free(told);
    compiled_free(&made);
}

/* --- What comes out --- */

Test(image, says_what_its_packs_say)
{
    put_packs();
    compile(in("upper"), NULL, NULL);
    expect_same(in("upper"), in("upper"));
    expect_same(in("upper/pack.image"), in("upper"));
    compiled made = load_by(cw_image_load, in("upper"), NULL);
    cr_expect_eq(cw_diags_count(made.diags), 2u);
    compiled_free(&made);
}

Test(image, of_the_shipped_packs_says_what_they_say)
{
    compile(SHIPPED, NULL, in("shipped.image"));
    compiled quick = load_by(cw_image_load, in("shipped.image"), NULL);
    compiled slow = load_by(cw_pack_load, SHIPPED, NULL);
    cr_assert_not_null(quick.model);
    char *said = dump(quick.model), *expected = dump(slow.model);
    cr_expect_str_eq(said, expected);
    free(said);
    free(expected);
    compiled_free(&quick);
    compiled_free(&slow);
}

/* The first lies where it wants to, the second cannot and is moved. */
Test(image, says_the_same_at_another_address)
{
    put_packs();
    compile(in("upper"), NULL, NULL);
    compiled first = load_by(cw_image_load, in("upper"), NULL);
    compiled second = load_by(cw_image_load, in("upper"), NULL);
    cr_assert_not_null(first.model);
    cr_assert_not_null(second.model);
    cr_expect_neq(first.model->facts, second.model->facts);
    char *said = dump(first.model), *again = dump(second.model);
    cr_expect_str_eq(said, again);
    compiled_free(&first);
    free(again);
    again = dump(second.model);
    cr_expect_str_eq(said, again, "the second stays when the first has gone");
    free(said);
    free(again);
    compiled_free(&second);
}

Test(image, of_several_folders_has_its_own_place)
{
    char place[PATH_MAX];
    put_packs();
    const char *both[] = {in("lower/"), in("upper"), in("upper")};
    cr_assert(cw_image_place(both, 3, place, sizeof place));
    cr_expect_str_eq(place, in("lower/pack+upper.image"));
    compile(both[0], both[1], NULL);
    expect_passed_over(in("lower"));
    expect_passed_over(in("upper"));
    compiled quick = load_by(cw_image_load, both[0], both[1]), slow = load_by(cw_pack_load, both[0], both[1]);
    cr_assert_not_null(quick.model);
    char *said = dump(quick.model), *expected = dump(slow.model);
    cr_expect_str_eq(said, expected);
    free(said);
    free(expected);
    cr_expect_str_eq(quick.model->packs[0].name, "lower", "in the order named");
    compiled_free(&quick);
    compiled_free(&slow);
    cr_expect_not(cw_image_place(both, 2, place, 20), "it has to fit");
}

Test(image, can_be_moved_with_its_packs_and_lie_elsewhere)
{
    put_packs();
    mkdir(in("images"), 0777);
    compile(in("upper"), NULL, in("images/mine.image"));
    expect_same(in("images/mine.image"), in("images/../upper"));
    char inner[PATH_MAX], moved[PATH_MAX];
    snprintf(moved, sizeof moved, "%s/all", top);
    mkdir(moved, 0777);
    const char *names[] = {"images", "upper", "lower"};
    for (size_t i = 0; i < 3; i++) {
        snprintf(inner, sizeof inner, "all/%s", names[i]);
        cr_assert_eq(rename(in(names[i]), in(inner)), 0);
    }
    expect_same(in("all/images/mine.image"), in("all/images/../upper"));
    cr_assert_eq(chdir(in("all/images")), 0);
    compiled made = load_by(cw_image_load, "mine.image", NULL);
    cr_expect_not_null(made.model);
    compiled_free(&made);
}

/* --- What is not taken --- */

typedef struct whole {
    char *bytes;
    size_t size;
} whole;

static whole make_image(void)
{
    whole image;
    put_packs();
    compile(in("upper"), NULL, NULL);
    image.bytes = read_file(in("upper/pack.image"), &image.size);
    return image;
}

/* The image with other bytes in its head, and, if `sealed`, the checksum that goes with them. */
static void put_changed(const whole *image, size_t at, const void *bytes, size_t size, bool sealed)
{
    char *changed = malloc(image->size);
    cw_image_head head;
    memcpy(changed, image->bytes, image->size);
    memcpy(changed + at, bytes, size);
    memcpy(&head, changed, sizeof head);
    if (sealed) {
        head.sum = image_sum(&head, changed);
        memcpy(changed, &head, sizeof head);
    }
    put("upper/pack.image", changed, image->size);
    free(changed);
}

Test(image, of_another_build_or_machine_is_not_taken)
{
    whole image = make_image();
    const uint32_t turned = 0x04030201, narrow = 4;
    put_changed(&image, offsetof(cw_image_head, stamp), "0000", 4, true);
    expect_passed_over(in("upper"));
    expect_refused(in("upper/pack.image"), "it was compiled by another build of corewright");
    put_changed(&image, offsetof(cw_image_head, order), &turned, sizeof turned, true);
    expect_passed_over(in("upper"));
    expect_refused(in("upper/pack.image"), "it was compiled for another kind of machine");
    put_changed(&image, offsetof(cw_image_head, word), &narrow, sizeof narrow, true);
    expect_refused(in("upper/pack.image"), "it was compiled for another kind of machine");
    put_changed(&image, 0, "C", 1, true);
    expect_refused(in("upper/pack.image"), "it is no compiled image of packs");
    put_changed(&image, 0, "c", 1, true);
    expect_same(in("upper/pack.image"), in("upper"));
    free(image.bytes);
}

/* Another pcre2's bytes, with everything else as it should be. */
Test(image, of_patterns_of_another_library_is_not_taken)
{
    whole image = make_image();
    cw_image_head head;
    memcpy(&head, image.bytes, sizeof head);
    cr_assert_gt(head.codes.count, 0u);
    put_changed(&image, (size_t)head.codes.at, "\xFF\xFF\xFF", 3, true);
    expect_passed_over(in("upper"));
    expect_refused(in("upper/pack.image"), "it was compiled by another build of corewright");
    free(image.bytes);
}

Test(image, cut_short_or_grown_is_not_taken)
{
    whole image = make_image();
    for (size_t size = 0; size < image.size; size += size < sizeof(cw_image_head) ? 7 : 997) {
        put("upper/pack.image", image.bytes, size);
        expect_passed_over(in("upper"));
        expect_refused(in("upper/pack.image"), size < sizeof CW_IMAGE_MAGIC - 1
                                                   ? "it is no compiled image of packs"
                                                   : "it is damaged");
    }
    char *grown = calloc(image.size + 1, 1);
    memcpy(grown, image.bytes, image.size);
    put("upper/pack.image", grown, image.size + 1);
    expect_refused(in("upper/pack.image"), "it is damaged");
    free(grown);
    free(image.bytes);
}

/* Every byte of the head, and many of the rest. */
Test(image, with_any_bit_turned_is_not_taken)
{
    whole image = make_image();
    random_state random = random_start(4711);
    for (size_t i = 0; i < sizeof(cw_image_head) + 500; i++) {
        const size_t at = i < sizeof(cw_image_head) ? i : random_next(&random) % image.size;
        const char was = image.bytes[at];
        image.bytes[at] ^= (char)(1 << random_below(&random, 8));
        put("upper/pack.image", image.bytes, image.size);
        compiled made = load_by(cw_image_load, in("upper/pack.image"), NULL);
        cr_assert_null(made.model, "byte %zu", at);
        cr_assert_eq(made.status, CW_BAD_INPUT);
        cr_assert_eq(cw_diags_count(made.diags), 1u);
        compiled_free(&made);
        expect_passed_over(in("upper"));
        image.bytes[at] = was;
    }
    free(image.bytes);
}

static const char *changed_since(const char *pack, const char *folder)
{
    static char words[PATH_MAX];
    snprintf(words, sizeof words, "the pack '%s' in '%s' has changed since", pack, folder);
    return words;
}

Test(image, of_packs_that_have_changed_is_not_taken)
{
    char other[sizeof upper], image[PATH_MAX];
    free(make_image().bytes);
    strcpy(image, in("upper/pack.image"));
    memcpy(other, upper, sizeof upper);
    *strstr(other, "version: 3") = 'V';
    put_text("upper/pack.yaml", other);
    expect_passed_over(in("upper"));
    expect_refused(image, changed_since("upper", in("upper")));
    put_text("upper/pack.yaml", upper);
    put_text("upper/more.yaml", "parts: {}\n");
    expect_refused(image, changed_since("upper", in("upper")));
    remove(in("upper/more.yaml"));
    put_text("upper/.hidden.yaml", "no: pack file\n");
    expect_same(image, in("upper"));
    cr_assert_eq(rename(in("upper/pack.yaml"), in("upper/other.yaml")), 0);
    expect_refused(image, changed_since("upper", in("upper")));
    cr_assert_eq(rename(in("upper/other.yaml"), in("upper/pack.yaml")), 0);
    put_text("lower/pack.yaml", "pack: {name: lower, title: Lower, version: 2}\n");
    expect_passed_over(in("upper"));
    expect_refused(image, changed_since("lower", in("lower")));
    put_text("lower/pack.yaml", lower);
    expect_same(image, in("upper"));
    remove(in("lower/pack.yaml"));
    expect_refused(image, changed_since("lower", in("lower")));
    remove(in("lower"));
    expect_passed_over(in("upper"));
    expect_refused(image, "the pack 'lower' is not to be found");
}

/* A third pack needs `far`; when it was compiled only the second one's neighbour was there. */
Test(image, whose_needed_pack_would_now_come_from_elsewhere_is_not_taken)
{
    mkdir(in("a"), 0777);
    mkdir(in("b"), 0777);
    mkdir(in("a/one"), 0777);
    mkdir(in("b/two"), 0777);
    mkdir(in("b/far"), 0777);
    put_text("a/one/p.yaml", "pack: {name: one, title: One, version: 1, needs: [far]}\n");
    put_text("b/two/p.yaml", "pack: {name: two, title: Two, version: 1, needs: [far]}\n");
    put_text("b/far/p.yaml", "pack: {name: far, title: Far, version: 1}\n");
    compile(in("a/one"), in("b/two"), NULL);
    compiled made = load_by(cw_image_load, in("a/one"), in("b/two"));
    cr_expect_not_null(made.model);
    compiled_free(&made);
    mkdir(in("a/far"), 0777);
    put_text("a/far/p.yaml", "pack: {name: far, title: Nearer, version: 1}\n");
    made = load_by(cw_image_load, in("a/one"), in("b/two"));
    cr_expect_null(made.model);
    compiled_free(&made);
}

Test(image, that_is_something_else_is_told)
{
    put_packs();
    put_text("text.image", "pack: {name: a}\n");
    expect_refused(in("text.image"), "it is no compiled image of packs");
    put_text("empty.image", "");
    expect_refused(in("empty.image"), "it is no compiled image of packs");
    compile(in("upper"), NULL, NULL);
    compiled made = load_by(cw_image_load, in("upper/pack.image"), in("lower"));
    char *told = messages(&made);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect(strstr(told, "a compiled image stands alone, its packs are in it") != NULL, "%s", told);
    free(told);
    compiled_free(&made);
    remove(in("upper/pack.image"));
    mkdir(in("upper/pack.image"), 0777);
    expect_passed_over(in("upper"));
}

Test(image, of_packs_with_mistakes_is_not_made)
{
    put_packs();
    put_text("upper/bad.yaml", "rules: {z: {if: {lampp: on}, then: {dead: yes}, because: b, source: s}}\n");
    const char *folders[] = {in("upper")};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_image_make(&cw_system_allocator, folders, 1, NULL, NULL, made.sources, made.diags);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_eq(cw_diags_errors(made.diags), 1u);
    cr_expect_neq(access(in("upper/pack.image"), F_OK), 0);
    compiled_free(&made);
}

Test(image, that_cannot_be_written_is_told)
{
    put_packs();
    const char *folders[] = {in("upper")};
    const char *places[] = {in("nowhere/x.image"), in("lower")};
    const char *why[] = {"No such file or directory", "Is a directory"};
    for (int i = 0; i < 2; i++) {
        char expected[PATH_MAX * 2];
        snprintf(expected, sizeof expected, "error: '%s' cannot be written: %s\n", places[i], why[i]);
        compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                         .diags = cw_diags_new(&cw_system_allocator)};
        made.status =
            cw_image_make(&cw_system_allocator, folders, 1, places[i], NULL, made.sources, made.diags);
        char *told = messages(&made);
        cr_expect_eq(made.status, CW_CANNOT_WRITE);
        cr_expect(strstr(told, expected) != NULL, "%s", told);
        free(told);
        compiled_free(&made);
    }
}

/* --- Memory --- */

Test(image, may_find_no_memory_at_any_request_while_it_is_used)
{
    free(make_image().bytes);
    for (int once = 0; once < 2; once++) {
        for (size_t allowed = 0;; allowed++) {
            failing memory;
            (once ? failing_start_once : failing_start)(&memory, allowed);
            const char *folders[] = {in("upper/pack.image")};
            compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                             .diags = cw_diags_new(&cw_system_allocator)};
            made.status = cw_image_load(&memory.allocator, folders, 1, made.sources, made.diags, &made.model);
            cr_assert_eq(made.status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu granted", allowed);
            cr_assert_eq(made.model == NULL, memory.refused);
            cr_assert(!memory.refused || cw_diags_count(made.diags) == 0);
            compiled_free(&made);
            cr_assert_eq(failing_bytes(&memory), 0u);
            if (!memory.refused)
                break;
        }
    }
}

Test(image, may_find_no_memory_at_any_request_while_it_is_made)
{
    put_packs();
    random_state random = random_start(12);
    for (size_t allowed = 0;; allowed += 1 + random_below(&random, 5)) {
        failing memory;
        failing_start_once(&memory, allowed);
        const char *folders[] = {in("upper")};
        compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                         .diags = cw_diags_new(&cw_system_allocator)};
        made.status = cw_image_make(&memory.allocator, folders, 1, NULL, NULL, made.sources, made.diags);
        cr_assert_eq(made.status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu granted", allowed);
        compiled_free(&made);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    expect_same(in("upper"), in("upper"));
}

/* --- No pointer is forgotten --- */

typedef struct range {
    uintptr_t from, size;
} range;

typedef struct ranges {
    range items[20000];
    size_t count;
} ranges;

static void add_range(ranges *all, uintptr_t from, size_t size)
{
    cr_assert_lt(all->count, sizeof all->items / sizeof *all->items);
    all->items[all->count++] = (range){from, size};
}

static void add_run(void *context, const void *bytes, size_t size)
{
    add_range(context, (uintptr_t)bytes, size);
}

static int add_module(struct dl_phdr_info *module, size_t size, void *context)
{
    (void)size;
    for (int i = 0; i < module->dlpi_phnum; i++)
        if (module->dlpi_phdr[i].p_type == PT_LOAD)
            add_range(context, module->dlpi_addr + module->dlpi_phdr[i].p_vaddr,
                      module->dlpi_phdr[i].p_memsz);
    return 0;
}

static bool lies_in(const ranges *all, uintptr_t address)
{
    for (size_t i = 0; i < all->count; i++)
        if (address - all->items[i].from < all->items[i].size)
            return true;
    return false;
}

static void write_one(const char *folder, compiled *made, ranges *arena, unsigned char **bytes, size_t *size)
{
    *made = load_by(cw_pack_load, folder, NULL);
    cr_assert_not_null(made->model);
    cw_arena_runs(made->model->arena, add_run, arena);
    const cw_image_rest rest = {.stamp = "", .messages = made->diags};
    cr_assert_eq(cw_image_write(&cw_system_allocator, made->model, &rest, bytes, size), CW_OK);
}

/* Of one pack loaded twice: a word that leads into the one's arena here and the other's there, or into the
 * program, and is not among those that are moved. */
static void expect_none_forgotten(const char *folder)
{
    static ranges arenas[2], modules;
    compiled made[2];
    unsigned char *bytes[2];
    size_t sizes[2];
    arenas[0].count = arenas[1].count = modules.count = 0;
    for (int i = 0; i < 2; i++)
        write_one(folder, &made[i], &arenas[i], &bytes[i], &sizes[i]);
    dl_iterate_phdr(add_module, &modules);
    cr_assert_eq(sizes[0], sizes[1]);
    cw_image_head head;
    memcpy(&head, bytes[0], sizeof head);
    const uint64_t *bits = (const uint64_t *)(void *)(bytes[0] + head.words.at);
    size_t moved = 0;
    for (size_t i = sizeof head / sizeof(uintptr_t); i < head.words.at / sizeof(uintptr_t); i++) {
        uintptr_t word[2];
        for (int k = 0; k < 2; k++)
            memcpy(&word[k], bytes[k] + i * sizeof(uintptr_t), sizeof word[k]);
        if ((bits[i / 64] >> i % 64 & 1) != 0) {
            moved++;
            continue;
        }
        if ((word[0] & 0xff) <= true) /* a flag, and behind it a gap that may hold anything */
            continue;
        cr_expect(word[0] == word[1] || !lies_in(&arenas[0], word[0]) || !lies_in(&arenas[1], word[1]),
                  "at byte %zu a pointer is left", i * sizeof(uintptr_t));
        cr_expect(word[0] != word[1] || !lies_in(&modules, word[0]),
                  "at byte %zu a pointer to something fixed is left", i * sizeof(uintptr_t));
    }
    cr_expect_gt(moved, 100u);
    for (int i = 0; i < 2; i++) {
        cw_release(&cw_system_allocator, bytes[i], sizes[i]);
        compiled_free(&made[i]);
    }
}

Test(image, forgets_no_pointer)
{
    put_packs();
    expect_none_forgotten(in("upper"));
    expect_none_forgotten(CW_SOURCE_DIR "/tests/session/shop");
}
