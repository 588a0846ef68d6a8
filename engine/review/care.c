/* Checks without a method (what only sets the stage is mostly asked, or read off a label), and checks without
 * a caution where the place and their own words call for one. */
#include "review/inside.h"

#include <ctype.h>
#include <string.h>

enum { AT_WORK = 1u << CW_AT_VEHICLE | 1u << CW_AT_BENCH, ANYWHERE = AT_WORK | 1u << CW_AT_TEARDOWN };

static const struct care {
    const char *word;
    uint32_t places; /* where it calls for a caution */
    const char *means;
} cares[] = {
#define CARE(word, places, means) {word, places, means},
#include "review/care.def"
#undef CARE
};

static bool is_letter(char c)
{
    return isalnum((unsigned char)c) || c == '_';
}

/* The word stands by itself in the text, capital or small. */
static bool speaks_of(const char *text, const char *word)
{
    size_t size = strlen(word);
    for (const char *at = text; text != NULL && *at != '\0'; at++) {
        size_t same = 0;
        while (same < size && tolower((unsigned char)at[same]) == word[same])
            same++;
        if (same == size && !is_letter(at[size]) && (at == text || !is_letter(at[-1])))
            return true;
    }
    return false;
}

/* At the counter the customer is only asked: a check that can be done there needs no hand near the engine. */
static void look_for_caution(reviewer *r, const cw_check *check)
{
    if (check->cautions.count > 0 || (check->places & 1u << CW_AT_COUNTER) != 0)
        return;
    for (size_t i = 0; i < sizeof cares / sizeof *cares; i++) {
        if ((check->places & cares[i].places) == 0)
            continue;
        if (!speaks_of(check->ask, cares[i].word) && !speaks_of(check->how, cares[i].word))
            continue;
        cw_diag *diag =
            review_warn(r, CW_DIAG_NO_CAUTION, check->span,
                        "the check '%s' speaks of '%s' and has no caution", check->name, cares[i].word);
        advise(r, diag, "%s: name what to beware of in 'cautions'", cares[i].means);
        return;
    }
}

void review_care(reviewer *r)
{
    for (uint32_t i = 1; i <= r->model->checks_count; i++) {
        const cw_check *check = &r->model->checks[i];
        if (check->span.source == 0)
            continue;
        const cw_fact *fact = &r->model->facts[check->fact];
        if (fact->kind == CW_MEASURE && !fact->context && check->how == NULL) {
            cw_diag *diag = review_warn(r, CW_DIAG_NO_METHOD, check->span,
                                        "the check '%s' does not say how it is measured", check->name);
            advise(r, diag, "say in 'how' where the tool goes, and what a wrong way looks like");
        }
        look_for_caution(r, check);
    }
}
