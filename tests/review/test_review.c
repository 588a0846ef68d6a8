/* What the mistakes do not show: where warnings are held back, and what is not warned of. */
#include "review/help.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static void gives(const char *text, const char *codes)
{
    compiled made = review_beside_shop(text, strlen(text));
    char *told = messages(&made);
    cr_expect_str_eq(codes_of(&made), codes, "%s\n%s", text, told);
    free(told);
    compiled_free(&made);
}

#define ENDS ", because: B, source: s}\n"

Test(review, a_rule_is_needless_only_if_all_its_conclusions_are)
{
    gives("rules:\n  a: {if: {ripple: above 1 V}, then: {ripple_state: high, bridge: open}" ENDS, "");
    gives("rules:\n  a: {if: {ripple: above 1 V}, then: {ripple_state: high}" ENDS, "W160");
    gives("rules:\n  a: {if: {lamp: on, ripple: above 1 V}, then: {ripple_state: high}" ENDS, "W160");
    gives("rules:\n  a: {if: {lamp: on}, then: {bridge: open}" ENDS
          "  b: {if: {lamp: [glow, on]}, then: {bridge: open}" ENDS,
          "W160");
    gives("rules:\n  a: {if: {lamp: on}, then: {bridge: open}" ENDS
          "  b: {if: {lamp: glow}, then: {bridge: open}" ENDS,
          "");
    /* Fewer absences are asked of the wider one; of the narrower limit in an absence, more. */
    gives("rules:\n  a: {if: {lamp: on, none: {ripple: above 2 V}}, then: {bridge: open}" ENDS
          "  b: {if: {lamp: on, none: {ripple: above 1 V}}, then: {bridge: open}" ENDS,
          "W160");
}

Test(review, rules_that_exclude_each_other_do_not_conflict)
{
    const char *const good[] = {
        "rules:\n  a: {if: {lamp: on}, then: {bridge: open}" ENDS
        "  b: {if: {lamp: off}, then: {bridge: sound}" ENDS,
        "rules:\n  a: {if: {lamp: on}, then: {bridge: open}" ENDS
        "  b: {if: {ripple: above 1 V, none: {lamp: on}, no diode: {diode_drop: above 2 V}}, then: {bridge: "
        "sound}" ENDS,
    };
    gives("rules:\n  a: {if: {lamp: on}, then: {bridge: sound}" ENDS, "W161"); /* a diode above 2 V */
    gives("rules:\n  a: {if: {lamp: on, no diode: {diode_drop: above 2 V}}, then: {bridge: sound}" ENDS, "");
    gives("rules:\n  a: {if: {lamp: on, no diode: {diode_drop: known}}, then: {bridge: sound}" ENDS
          "  b: {if: {ripple: above 1 V}, then: {bridge: open}" ENDS,
          "W161");
    gives(good[0], "W161");
    gives(good[1], "");
}

Test(review, a_conflict_is_found_through_formulas_and_steps)
{
    gives("facts:\n  twice: {title: T, measure: voltage, unit: V}\n"
          "rules:\n  t: {if: {ripple: known}, then: {twice: = 2 * ripple}" ENDS
          "  a: {if: {any: [{all: [{lamp: on}, {twice: above 1.6 V}]}, {lamp: glow}]}, then: {ripple_state: "
          "normal}" ENDS,
          "W161");
    gives("facts:\n  twice: {title: T, measure: voltage, unit: V}\n"
          "rules:\n  t: {if: {ripple: known}, then: {twice: = 2 * ripple}" ENDS
          "  a: {if: {lamp: on, twice: below 0.9 V}, then: {ripple_state: normal}" ENDS,
          "");
}

Test(review, only_the_sources_asked_for_are_spoken_of)
{
    const char *text = "parts:\n  fan: {title: F, where: unit}\nfacts:\n  idle: {title: I, choices: [a, b]}\n"
                       "rules:\n  a: {if: {lamp: on}, then: {idle: b}" ENDS;
    size_t size;
    char *shop = read_file(CORNER_SHOP "/pack.yaml", &size);
    cw_pack_file files[] = {{"z.yaml", text, strlen(text)}, {"a.yaml", shop, size}};
    compiled made = review_files(files, 2, (cw_review_limits){.sources = 1});
    cr_expect_str_eq(codes_of(&made), "", "z.yaml is the second source");
    compiled_free(&made);
    made = review_files(files, 2, (cw_review_limits){.sources = 2});
    cr_expect_str_eq(codes_of(&made), "W163");
    compiled_free(&made);
    free(shop);
}

Test(review, a_search_that_ends_early_says_so)
{
    const char *text = "rules:\n  a: {if: {lamp: on}, then: {bridge: sound}" ENDS;
    size_t size;
    char *shop = read_file(CORNER_SHOP "/pack.yaml", &size);
    cw_pack_file files[] = {{"a.yaml", text, strlen(text)}, {"pack.yaml", shop, size}};
    compiled made = review_files(files, 2, (cw_review_limits){.pair_steps = 2});
    char *told = messages(&made);
    cr_expect_str_eq(
        told, "note: the search for answers ended early: 2 pairs of rules or signs not looked through\n"
              "help: it goes 2 steps for a pair and 20000000 in all; what is said besides stands\n");
    free(told);
    compiled_free(&made);
    free(shop);
}

Test(review, what_is_not_warned_of)
{
    /* choices that only set the stage; one choice that is "none of these" */
    gives("checks:\n  from: {title: F, ask: F, choices: [car, van, boat], context: yes, place: counter, "
          "minutes: 1}\n"
          "rules:\n  a: {if: {from: boat, ripple: above 1 V}, then: {bridge: open}" ENDS,
          "");
    gives("checks:\n  from: {title: F, ask: F, choices: [car, boat], place: counter, minutes: 1}\n"
          "rules:\n  a: {if: {from: boat, ripple: above 1 V}, then: {bridge: open}" ENDS,
          "");
    /* limits in two units that are the same number */
    gives("rules:\n  a: {if: {lamp: on, bolt_spacing: above 4 in}, then: {bridge: open}" ENDS
          "  b: {if: {lamp: glow, bolt_spacing: above 101.6 mm}, then: {bridge: open}" ENDS,
          "");
    /* two signs that rest on one reading, of which never both are known */
    gives("facts:\n  glows: {title: G, choices: [dark, glows]}\n  burns: {title: B, choices: [dark, burns]}\n"
          "rules:\n  a: {if: {lamp: glow}, then: {glows: glows}" ENDS
          "  b: {if: {lamp: on}, then: {burns: burns}" ENDS
          "causes:\n  cold: {title: C, part: rectifier, seen: 1 %, signs: {glows: {glows: often}, burns: "
          "{burns: often}}, source: s}\n",
          "");
}
