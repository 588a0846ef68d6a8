/* No random change of a pack or a case crashes, leaks, runs away or passes in silence: it is read, or every
 * refusal comes with an error that can be shown. */
#include "corewright/job.h"
#include "fuzz/mutate.h"
#include "fuzz/seeds.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

/* Every message can be shown and points into its text. */
static void show_all(const cw_diags *diags, const cw_sources *sources, const cw_allocator *allocator)
{
    for (size_t i = 0; i < cw_diags_count(diags); i++) {
        cw_text shown = CW_TEXT_INIT(allocator);
        cw_diag_render(&shown, sources, cw_diags_at(diags, i));
        cr_assert_eq(shown.status, CW_OK);
        cr_assert_gt(shown.size, 0);
        cw_text_dispose(&shown);
    }
}

/* Compiles the pack with one file replaced. */
static void compile_changed(const seeds *all, size_t changed, const char *text, size_t size)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_pack_file *files = malloc(all->count * sizeof *files);
    memcpy(files, all->files, all->count * sizeof *files);
    files[changed].text = text;
    files[changed].size = size;
    const cw_pack_text pack = {"changed", files, all->count};

    cw_sources *sources = cw_sources_new(&memory.allocator);
    cw_diags *diags = cw_diags_new(&memory.allocator);
    cw_model *model = NULL;
    cw_status status = cw_pack_compile(&memory.allocator, &pack, 1, sources, diags, &model);
    if (status == CW_OK) {
        cr_assert_not_null(model);
        cr_assert_eq(cw_diags_errors(diags), 0);
    } else {
        cr_assert(status == CW_BAD_INPUT || status == CW_LIMIT, "status %d", (int)status);
        cr_assert_null(model);
        cr_assert_gt(cw_diags_errors(diags), 0, "refused without a word:\n%.*s", (int)size, text);
    }
    show_all(diags, sources, &memory.allocator);
    cw_model_free(model);
    cw_diags_free(diags);
    cw_sources_free(sources);
    cr_assert_eq(failing_bytes(&memory), 0, "a leak:\n%.*s", (int)size, text);
    free(files);
}

static void mutate_pack(const char *folder, uint64_t seed, size_t rounds)
{
    seeds all = seeds_read(folder);
    random_state random = random_start(seed);
    for (size_t round = 0; round < rounds; round++) {
        size_t changed = random_below(&random, (uint32_t)all.count), size;
        char *text = mutate(&random, all.files[changed].text, all.files[changed].size, &size);
        compile_changed(&all, changed, text, size);
        free(text);
    }
    seeds_free(&all);
}

/* One file of a big pack by itself: names that other files declare are unknown, which is an error like any.
 */
static void mutate_single(const char *folder, uint64_t seed, size_t rounds)
{
    seeds all = seeds_read(folder);
    random_state random = random_start(seed);
    for (size_t round = 0; round < rounds; round++) {
        size_t which = random_below(&random, (uint32_t)all.count), size;
        seeds one = {&all.files[which], 1};
        char *text = mutate(&random, one.files[0].text, one.files[0].size, &size);
        compile_changed(&one, 0, text, size);
        free(text);
    }
    seeds_free(&all);
}

Test(mutations, small_packs, .timeout = 600)
{
    mutate_pack("tests/outside/trade/pack", 11, CW_MUTATIONS * 4 / 10);
    mutate_pack("tests/outside/fever/pack", 12, CW_MUTATIONS / 10);
}

Test(mutations, files_of_the_catalogue, .timeout = 600)
{
    mutate_single("rules/harbour-lane", 13, CW_MUTATIONS / 10);
}

Test(mutations, files_of_the_basics, .timeout = 600)
{
    mutate_single("rules/charging-basics", 14, CW_MUTATIONS / 20);
}

Test(mutations, the_basics_whole, .timeout = 600)
{
    mutate_pack("rules/charging-basics", 15, CW_MUTATIONS / 100);
}

/* Cases go through the public door, and what can be read is given to a session. */
static void apply_changed(const cw_pack *pack, const char *text, size_t size)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    const cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_messages *messages = NULL;
    cw_case *job = NULL;
    cw_status status = cw_case_parse(&settings, "case.yaml", text, size, &messages, &job);
    cr_assert(status == CW_OK || cw_messages_errors(messages) > 0, "refused without a word:\n%.*s", (int)size,
              text);
    cw_messages_free(messages);
    const char *stage = job != NULL && status == CW_OK ? cw_case_get(job)->stage : NULL;
    cw_session *session = NULL;
    if (stage != NULL && cw_session_new(pack, stage, &session) == CW_OK) {
        messages = NULL;
        status = cw_case_apply(job, session, &messages);
        cr_assert(status == CW_OK || cw_messages_errors(messages) > 0, "a silent refusal:\n%.*s", (int)size,
                  text);
        cw_messages_free(messages);
    }
    cw_session_free(session);
    cw_case_free(job);
    cr_assert_eq(failing_bytes(&memory), 0, "a leak:\n%.*s", (int)size, text);
}

static void mutate_cases(const char *folder, uint64_t seed, size_t rounds)
{
    const char *const packs[] = {CW_SOURCE_DIR "/rules/harbour-lane"};
    cw_messages *messages = NULL;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(NULL, packs, 1, &messages, &pack), CW_OK);
    cw_messages_free(messages);
    seeds all = seeds_read(folder);
    random_state random = random_start(seed);
    for (size_t round = 0; round < rounds; round++) {
        size_t which = random_below(&random, (uint32_t)all.count), size;
        char *text = mutate(&random, all.files[which].text, all.files[which].size, &size);
        apply_changed(pack, text, size);
        free(text);
    }
    seeds_free(&all);
    cw_pack_free(pack);
}

Test(mutations, cases_to_identify, .timeout = 600)
{
    mutate_cases("corpus/identify", 16, CW_MUTATIONS * 17 / 100);
}

Test(mutations, cases_to_triage, .timeout = 600)
{
    mutate_cases("corpus/triage", 17, CW_MUTATIONS * 17 / 100);
}

/* Among them jobs that were carried on, with what was told earlier. */
Test(mutations, cases_to_proof, .timeout = 600)
{
    mutate_cases("corpus/proof", 18, CW_MUTATIONS * 8 / 100);
}
