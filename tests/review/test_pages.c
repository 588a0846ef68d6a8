/* The pages of rules/messages: every code has one, each bad example gives its code and no other, each good
 * one nothing at all. Examples are read as a second file of the corner shop; `yaml alone` as a pack by
 * themselves, `yaml bytes` with \xNN for single bytes, `yaml case` as a case answered with the corner shop.
 */
#include "corewright/job.h"
#include "review/help.h"
#include <criterion/criterion.h>
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PAGES CW_SOURCE_DIR "/rules/messages"
enum { MOST = 200 };

/* Without an example: what takes a huge file, the machine's own failures, an effort that ends, texts too long
 * to print. */
static const char *const bare[] = {"E009", "E306", "E308", "E500", "E501", "E502", "E503", "N162"};

static const struct {
    cw_code code;
    const char *summary;
} codes[] = {
#define CW_DIAG(number, name, severity, summary) {CW_DIAG_##name, summary},
#include "base/diag.def"
#undef CW_DIAG
};
enum { CODES = sizeof codes / sizeof codes[0] };

static bool is_bare(const char *code)
{
    for (size_t i = 0; i < sizeof bare / sizeof bare[0]; i++)
        if (strcmp(bare[i], code) == 0)
            return true;
    return false;
}

static char *read_page(const char *code)
{
    char path[4096];
    size_t size;
    snprintf(path, sizeof path, PAGES "/%s.md", code);
    return read_file(path, &size);
}

/* The fenced block below this heading, copied; what stands behind its fence in `kind`. NULL when there is
 * none. */
static char *example(const char *page, const char *heading, char kind[32])
{
    const char *at = strstr(page, heading);
    const char *fence = at != NULL ? strstr(at, "```") : NULL;
    if (fence == NULL || sscanf(fence + 3, "%31[^\n]", kind) != 1)
        return NULL;
    const char *start = strchr(fence, '\n') + 1, *end = strstr(start, "```");
    return end != NULL ? strndup(start, (size_t)(end - start)) : NULL;
}

static size_t unescape(char *text)
{
    char *to = text;
    unsigned byte;
    for (const char *at = text; *at != '\0';) {
        if (at[0] == '\\' && at[1] == 'x' && isxdigit((unsigned char)at[2]) &&
            sscanf(at + 2, "%2x", &byte) == 1) {
            *to++ = (char)byte;
            at += 4;
        } else {
            *to++ = *at++;
        }
    }
    *to = '\0';
    return (size_t)(to - text);
}

static void add_codes(char *out, const cw_messages *told)
{
    for (size_t i = 0; i < cw_messages_count(told); i++)
        if (strstr(out, cw_messages_at(told, i)->code) == NULL)
            sprintf(out + strlen(out), "%s%s", out[0] != '\0' ? " " : "", cw_messages_at(told, i)->code);
}

/* A case is read, then answered. Nothing of a case that cannot be read is answered. */
static const char *codes_of_case(const char *text)
{
    static char out[200];
    const char *folders[] = {CORNER_SHOP};
    cw_messages *told;
    cw_pack *pack;
    cw_session *session;
    cw_case *job = NULL;
    out[0] = '\0';
    cr_assert_eq(cw_pack_open(NULL, folders, 1, NULL, &pack), CW_OK);
    cr_assert_eq(cw_session_new(pack, "triage", &session), CW_OK);
    cw_status status = cw_case_parse(NULL, "example.yaml", text, strlen(text), &told, &job);
    add_codes(out, told);
    cw_messages_free(told);
    if (status == CW_OK) {
        (void)cw_case_apply(job, session, &told);
        add_codes(out, told);
        cw_messages_free(told);
    }
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
    return out;
}

static const char *codes_of_example(char *text, const char *kind)
{
    if (strcmp(kind, "yaml case") == 0)
        return codes_of_case(text);
    size_t size = strcmp(kind, "yaml bytes") == 0 ? unescape(text) : strlen(text);
    const cw_pack_file alone = {"pack.yaml", text, size};
    compiled made = strcmp(kind, "yaml alone") == 0 ? review_files(&alone, 1, (cw_review_limits){0})
                                                    : review_beside_shop(text, size);
    const char *found = codes_of(&made);
    compiled_free(&made);
    return found;
}

Test(pages, every_code_has_a_page_with_its_summary)
{
    for (int i = 0; i < CODES; i++) {
        const char *code = cw_code_name(codes[i].code);
        char *page = read_page(code), head[200];
        cr_assert_not_null(page, "%s has no page in rules/messages", code);
        snprintf(head, sizeof head, "# %s: %s\n\n", code, codes[i].summary);
        cr_expect_eq(strncmp(page, head, strlen(head)), 0, "%s begins otherwise than %s", code, head);
        cr_expect_not_null(strstr(page, "\n\nWhy it matters: "), "%s does not say why", code);
        free(page);
    }
    static char names[MOST][80];
    cr_expect_eq(names_in(PAGES, ".md", names, MOST), (size_t)CODES, "a page without a code");
}

Test(pages, each_bad_example_gives_its_code_and_no_other_and_each_good_one_none)
{
    for (int i = 0; i < CODES; i++) {
        const char *code = cw_code_name(codes[i].code);
        char *page = read_page(code), kind[32] = "";
        char *wrong = example(page, "\n## Wrong\n", kind), *right = example(page, "\n## Right\n", kind);
        cr_expect_eq(wrong == NULL || right == NULL, is_bare(code), "%s: examples", code);
        if (wrong != NULL && right != NULL) {
            const char *found = codes_of_example(wrong, kind);
            cr_expect_str_eq(found, code, "%s: its bad example gives %s", code, found);
            found = codes_of_example(right, kind);
            cr_expect_str_eq(found, "", "%s: its good example gives %s", code, found);
        }
        free(wrong);
        free(right);
        free(page);
    }
}
