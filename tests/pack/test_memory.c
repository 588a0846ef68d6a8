/* A pack with one of everything, compiled with every request for memory refused once. */
#include "help.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

static const char everything[] =
    "pack: {name: a, title: A, version: 1, needs: [], not_listed: 1 of 10}\n"
    "things: {w: [u, v]}\n"
    "checks:\n"
    "  lamp: {title: L, ask: L, choices: {off: '', on: {title: lit, also: [x]}}, background: {on: rarely}, "
    "place: counter, minutes: 1}\n"
    "  volts: {title: V, ask: V, measure: voltage, unit: V, range: 0 V to 20 V, reading_error: {m: 0.1 V}, "
    "place: bench,\n"
    "    minutes: 1, cautions: [hot], only_if: {any: [{lamp: on}, {none: {lamp: off}}]}}\n"
    "  drop: {title: 'D {w}', ask: D, each: w, count: 0 to 3, place: [bench, vehicle], minutes: 1, stages: "
    "[triage]}\n"
    "  mark: {title: M, ask: M, text: yes, place: counter, minutes: 1}\n"
    "facts:\n"
    "  half: {title: H, measure: voltage, unit: V}\n"
    "rules:\n"
    "  a: {if: {volts: known}, then: {half: = volts / 2}, because: b, source: s}\n"
    "  b: {each: w, if: {drop: at least 2, half: above 1 V}, then: {bad: yes}, because: 'b {w}', source: s}\n"
    "  c: {if: [{at least 2 w: {bad: yes}}, {no w: {drop: [0, 1]}}, {mark: {like: '^T'}}], then: {dead: "
    "yes}, cautions: [hot],\n"
    "    because: b, source: s}\n"
    "  d: {if: [{unit: [tern, f]}, {unit: not x}], then: {dead: no}, because: b, source: s}\n"
    "parts: {p: {title: P, where: unit, apart: 1, replaced_by: q}, q: {title: Q, where: vehicle}}\n"
    "cautions: {hot: {say: H, source: s, stop: no}}\n"
    "units:\n"
    "  tern: {title: T, source: s, signs: {lamp: {on: usually}, volts: 12 V +/- 1 V},\n"
    "    data: {half: 6 V +/- 1 V, 'drop[u]': 2},\n"
    "    frames: {f: {title: F, versions: {x: {title: X, signs: {mark: {like: '^X', how_often: often}}, "
    "replaced_by: y}, y: {title: Y, data: {half: 7 V}}}}}}\n"
    "causes:\n"
    "  k: {title: K, part: p, seen: 1 %, signs: {dead: {yes: often}}, leads_to: {m: rarely}, ruled_out_by: "
    "{lamp: on}, source: s,\n"
    "    shifts: [{if: {lamp: off}, times: 1/4}], plan: {replace: [p], look_also: [q], steps: [Look.]}}\n"
    "  m: {title: M, part: q, seen: 1 %, source: s}\n"
    "words: {g: {like: dim, not_like: not, say: d, suggests: {lamp: on}, even_denied: yes}, h: {before: "
    "no}}\n"
    "steps:\n"
    "  i: {title: I, do: D, source: s, part: p, after: j, before: [g], cautions: hot, figure: 1 N m to 2 N "
    "m, "
    "mistake: M,\n"
    "    comes_back_as: [k, m], only_if: {any: [{lamp: on}, {mark: known}]}, shows_when: {lamp: on}}\n"
    "  j: {title: J, do: D, source: s}\n"
    "  h: {title: H, do: D, source: s, instead_of: j, after: []}\n"
    "  g: {title: G, do: D, source: s}\n"
    "prices: {q: 2.50}\n";

static void sweep(bool once)
{
    cw_pack_file file = {"pack.yaml", everything, strlen(everything)};
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        if (once)
            failing_start_once(&memory, allowed);
        else
            failing_start(&memory, allowed);
        compiled made = compile_files(&memory.allocator, &file, 1);
        char *told = messages(&made);
        cr_assert_eq(made.status, memory.refused ? CW_NO_MEMORY : CW_OK, "with %zu requests granted: %s",
                     allowed, told);
        cr_assert_eq(made.model == NULL, memory.refused);
        free(told);
        compiled_free(&made);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
}

Test(memory, it_may_run_out_at_any_request)
{
    sweep(false);
}

Test(memory, a_single_refusal_is_not_forgotten)
{
    sweep(true);
}

/* The same for the messages and the texts that belong to the caller. */
Test(memory, messages_that_are_lost_are_not_forgotten)
{
    static const char wrong[] = "pack: {name: a, title: A, version: 1, nead: x}\nrules: {a: {if: {b: c}}}\n";
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start_once(&memory, allowed);
        cw_sources *sources = cw_sources_new(&memory.allocator);
        cw_diags *diags = cw_diags_new(&memory.allocator);
        if (sources != NULL && diags != NULL) {
            cw_pack_file file = {"pack.yaml", wrong, strlen(wrong)};
            cw_pack_text pack = {"p", &file, 1};
            cw_model *model;
            cw_status status = cw_pack_compile(&cw_system_allocator, &pack, 1, sources, diags, &model);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_BAD_INPUT, "with %zu requests granted",
                         allowed);
            cr_assert_null(model);
        }
        cw_diags_free(diags);
        cw_sources_free(sources);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
}
