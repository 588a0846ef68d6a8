/* Compiled images: nothing that is not whole, of this build and of these very files is taken. */
#include "image_room.h"
#include "model/image_inside.h"
#include "support/random.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

TestSuite(image_taken, .init = image_enter, .fini = image_leave);

/* The image with other bytes in its head, and, if `sealed`, the checksum that goes with them. */
static void put_changed(const image_bytes *image, size_t at, const void *bytes, size_t size, bool sealed)
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
    image_put("upper/pack.image", changed, image->size);
    free(changed);
}

Test(image_taken, of_another_build_or_machine_is_not_taken)
{
    image_bytes image = image_whole();
    const uint32_t turned = 0x04030201, narrow = 4;
    put_changed(&image, offsetof(cw_image_head, stamp), "0000", 4, true);
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image_in("upper/pack.image"), "it was compiled by another build of corewright");
    put_changed(&image, offsetof(cw_image_head, order), &turned, sizeof turned, true);
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image_in("upper/pack.image"), "it was compiled for another kind of machine");
    put_changed(&image, offsetof(cw_image_head, word), &narrow, sizeof narrow, true);
    image_expect_refused(image_in("upper/pack.image"), "it was compiled for another kind of machine");
    put_changed(&image, 0, "C", 1, true);
    image_expect_refused(image_in("upper/pack.image"), "it is no compiled image of packs");
    put_changed(&image, 0, "c", 1, true);
    image_expect_same(image_in("upper/pack.image"), image_in("upper"));
    free(image.bytes);
}

/* Another pcre2's bytes, with everything else as it should be. */
Test(image_taken, of_patterns_of_another_library_is_not_taken)
{
    image_bytes image = image_whole();
    cw_image_head head;
    memcpy(&head, image.bytes, sizeof head);
    cr_assert_gt(head.codes.count, 0u);
    put_changed(&image, (size_t)head.codes.at, "\xFF\xFF\xFF", 3, true);
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image_in("upper/pack.image"), "it was compiled by another build of corewright");
    free(image.bytes);
}

Test(image_taken, cut_short_or_grown_is_not_taken)
{
    image_bytes image = image_whole();
    for (size_t size = 0; size < image.size; size += size < sizeof(cw_image_head) ? 7 : 997) {
        image_put("upper/pack.image", image.bytes, size);
        image_expect_passed_over(image_in("upper"));
        image_expect_refused(image_in("upper/pack.image"), size < sizeof CW_IMAGE_MAGIC - 1
                                                               ? "it is no compiled image of packs"
                                                               : "it is damaged");
    }
    char *grown = calloc(image.size + 1, 1);
    memcpy(grown, image.bytes, image.size);
    image_put("upper/pack.image", grown, image.size + 1);
    image_expect_refused(image_in("upper/pack.image"), "it is damaged");
    free(grown);
    free(image.bytes);
}

/* Every byte of the head, and many of the rest. */
Test(image_taken, with_any_bit_turned_is_not_taken)
{
    image_bytes image = image_whole();
    random_state random = random_start(4711);
    for (size_t i = 0; i < sizeof(cw_image_head) + 500; i++) {
        const size_t at = i < sizeof(cw_image_head) ? i : random_next(&random) % image.size;
        const char was = image.bytes[at];
        image.bytes[at] ^= (char)(1 << random_below(&random, 8));
        image_put("upper/pack.image", image.bytes, image.size);
        compiled made = image_load_by(cw_image_load, image_in("upper/pack.image"), NULL);
        cr_assert_null(made.model, "byte %zu", at);
        cr_assert_eq(made.status, CW_BAD_INPUT);
        cr_assert_eq(cw_diags_count(made.diags), 1u);
        compiled_free(&made);
        image_expect_passed_over(image_in("upper"));
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

Test(image_taken, of_packs_that_have_changed_is_not_taken)
{
    char other[4000], image[PATH_MAX];
    free(image_whole().bytes);
    strcpy(image, image_in("upper/pack.image"));
    cr_assert_lt(strlen(image_upper), sizeof other);
    strcpy(other, image_upper);
    *strstr(other, "version: 3") = 'V';
    image_put_text("upper/pack.yaml", other);
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image, changed_since("upper", image_in("upper")));
    image_put_text("upper/pack.yaml", image_upper);
    image_put_text("upper/more.yaml", "parts: {}\n");
    image_expect_refused(image, changed_since("upper", image_in("upper")));
    remove(image_in("upper/more.yaml"));
    image_put_text("upper/.hidden.yaml", "no: pack file\n");
    image_expect_same(image, image_in("upper"));
    cr_assert_eq(rename(image_in("upper/pack.yaml"), image_in("upper/other.yaml")), 0);
    image_expect_refused(image, changed_since("upper", image_in("upper")));
    cr_assert_eq(rename(image_in("upper/other.yaml"), image_in("upper/pack.yaml")), 0);
    image_put_text("lower/pack.yaml", "pack: {name: lower, title: Lower, version: 2}\n");
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image, changed_since("lower", image_in("lower")));
    image_put_text("lower/pack.yaml", image_lower);
    image_expect_same(image, image_in("upper"));
    remove(image_in("lower/pack.yaml"));
    image_expect_refused(image, changed_since("lower", image_in("lower")));
    remove(image_in("lower"));
    image_expect_passed_over(image_in("upper"));
    image_expect_refused(image, "the pack 'lower' is not to be found");
}

/* A third pack needs `far`; when it was compiled only the second one's neighbour was there. */
Test(image_taken, whose_needed_pack_would_now_come_from_elsewhere_is_not_taken)
{
    mkdir(image_in("a"), 0777);
    mkdir(image_in("b"), 0777);
    mkdir(image_in("a/one"), 0777);
    mkdir(image_in("b/two"), 0777);
    mkdir(image_in("b/far"), 0777);
    image_put_text("a/one/p.yaml", "pack: {name: one, title: One, version: 1, needs: [far]}\n");
    image_put_text("b/two/p.yaml", "pack: {name: two, title: Two, version: 1, needs: [far]}\n");
    image_put_text("b/far/p.yaml", "pack: {name: far, title: Far, version: 1}\n");
    image_compile(image_in("a/one"), image_in("b/two"), NULL);
    compiled made = image_load_by(cw_image_load, image_in("a/one"), image_in("b/two"));
    cr_expect_not_null(made.model);
    compiled_free(&made);
    mkdir(image_in("a/far"), 0777);
    image_put_text("a/far/p.yaml", "pack: {name: far, title: Nearer, version: 1}\n");
    made = image_load_by(cw_image_load, image_in("a/one"), image_in("b/two"));
    cr_expect_null(made.model);
    compiled_free(&made);
}

Test(image_taken, that_is_something_else_is_told)
{
    image_put_packs();
    image_put_text("text.image", "pack: {name: a}\n");
    image_expect_refused(image_in("text.image"), "it is no compiled image of packs");
    image_put_text("empty.image", "");
    image_expect_refused(image_in("empty.image"), "it is no compiled image of packs");
    image_compile(image_in("upper"), NULL, NULL);
    compiled made = image_load_by(cw_image_load, image_in("upper/pack.image"), image_in("lower"));
    char *told = messages(&made);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect(strstr(told, "a compiled image stands alone, its packs are in it") != NULL, "%s", told);
    free(told);
    compiled_free(&made);
    remove(image_in("upper/pack.image"));
    mkdir(image_in("upper/pack.image"), 0777);
    image_expect_passed_over(image_in("upper"));
}
