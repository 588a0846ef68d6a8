/* chart: the short question order of a pack on one sheet for the shop wall. */
#include "chart/layout.h"
#include "commands.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { DEEP_USUAL = 4, NOTES = 6 };

static const struct {
    const char *name;
    double width, height; /* mm, the long side across; ISO 216, ANSI Y14.1 */
} papers[] = {{"a4", 297, 210}, {"a3", 420, 297}, {"letter", 279.4, 215.9}, {"tabloid", 431.8, 279.4}};
enum { PAPERS = sizeof papers / sizeof *papers };

/* Rarer ways are left out; the first with which the sheet is enough is taken. One question deep, more may go.
 */
static const double shares[] = {CHART_RARE, 0.025, 0.03, 0.035, 0.04, 0.045, 0.05, 0.06, 0.08, 0.12, 0.2};
enum { SHARES_DEEP = 8, SHARES = sizeof shares / sizeof *shares };

typedef struct drawing {
    const cli_options *options;
    job_setup *setup;
    chart_tree tree;
    page_scale *scale;
    chart_sheet sheet;
    unsigned wanted, most, drawn; /* questions one after the other: asked for; there are; drawn */
    double left_out;              /* drawn last */
    char *about, *notes[NOTES];   /* owned */
} drawing;

/* -- The call -- */

static int wrong(const char *what, const char *word, const char *help)
{
    fprintf(stderr, "corewright: error: chart: %s%s%s%s\nhelp: %s\n", what, word != NULL ? " '" : "",
            word != NULL ? word : "", word != NULL ? "'" : "", help);
    return EXIT_WRONG;
}

static int read_stage(const cli_options *options)
{
    static const char *const stages[] = {"identify", "triage"};
    const char *word = options->rest.count > 0 ? options->rest.items[0] : NULL;
    if (word == NULL)
        return wrong("which stage?", NULL, "corewright chart identify, or: corewright chart triage");
    if (options->rest.count > 1)
        return wrong("takes one stage, not also", options->rest.items[1], "corewright chart identify");
    for (size_t i = 0; i < 2; i++)
        if (strcmp(word, stages[i]) == 0)
            return EXIT_DONE;
    const char *near = cw_nearest_word(word, stages, 2);
    char help[60] = "it draws identify and triage";
    if (near != NULL)
        snprintf(help, sizeof help, "did you mean '%s'?", near);
    return wrong("there is no chart of", word, help);
}

static int read_deep(const cli_options *options, unsigned *out)
{
    *out = DEEP_USUAL;
    if (options->deep == NULL)
        return EXIT_DONE;
    char *end;
    const long deep = strtol(options->deep, &end, 10);
    if (end == options->deep || *end != '\0' || deep < 1 || deep > CHART_DEEPEST)
        return wrong("--deep: no number of questions:", options->deep, "a whole number from 1 to 8");
    *out = (unsigned)deep;
    return EXIT_DONE;
}

static int read_paper(const cli_options *options, chart_sheet *out)
{
    const char *words[PAPERS], *word = options->paper != NULL ? options->paper : papers[0].name;
    for (size_t i = 0; i < PAPERS; i++) {
        words[i] = papers[i].name;
        if (strcmp(papers[i].name, word) != 0)
            continue;
        out->paper = papers[i].name;
        out->width = papers[i].width / 25.4 * 72;
        out->height = papers[i].height / 25.4 * 72;
        return EXIT_DONE;
    }
    const char *near = cw_nearest_word(word, words, PAPERS);
    char help[60] = "a4, a3, letter or tabloid";
    if (near != NULL)
        snprintf(help, sizeof help, "did you mean '%s'?", near);
    return wrong("--paper: there is no paper", word, help);
}

/* -- What is given -- */

/* What the words suggest is taken, and stands on the chart: it holds where that is so. */
static int take_words(const drawing *d)
{
    const char *words = d->options->words;
    const cw_hint_info *hints;
    size_t count = 0, taken = 0;
    if (words == NULL)
        return EXIT_DONE;
    for (;;) { /* each answer ends the list; what is answered is not suggested again */
        cw_status status = cw_session_hints(d->setup->session, words, &hints, &count);
        if (status != CW_OK)
            return explain_status(status, "--words", NULL);
        if (count == 0)
            break;
        char *answer = strdup(hints[0].answer);
        status = answer != NULL
                     ? cw_session_answer(d->setup->session, hints[0].check, answer, NULL, NULL, NULL)
                     : CW_NO_MEMORY;
        free(answer);
        if (status != CW_OK)
            return explain_status(status, "--words", NULL);
        taken++;
    }
    if (taken > 0)
        return EXIT_DONE;
    return wrong("--words: they suggest no answer:", words,
                 "leave them out, or give answers with --answer CHECK=VALUE");
}

/* Where one begins: at the counter, or the first place allowed. */
static const char *begin_at(const drawing *d)
{
    const char *const *allowed = d->options->places.items;
    size_t count = d->options->places.count;
    if (count == 0 && d->setup->job != NULL) {
        allowed = cw_case_get(d->setup->job)->places;
        count = cw_case_get(d->setup->job)->place_count;
    }
    for (size_t i = 0; count > 0 && cw_place_at(i) != NULL; i++)
        for (size_t k = 0; k < count; k++)
            if (strcmp(allowed[k], cw_place_at(i)) == 0)
                return cw_place_at(i);
    return cw_place_at(0);
}

/* -- Words around the chart -- */

static void say_packs(FILE *to, const cw_pack *pack)
{
    const cw_pack_header *headers;
    const size_t count = cw_pack_headers(pack, &headers);
    for (size_t i = 0; i < count; i++)
        fprintf(to, "%s%s, version %u", i == 0 ? "From: " : "; ", headers[i].title, headers[i].version);
    fputs(". ", to);
}

static void say_given(FILE *to, const drawing *d)
{
    const cw_given *given;
    size_t count;
    if (cw_session_answers(d->setup->session, &given, &count) != CW_OK)
        return;
    for (size_t i = 0; i < count; i++)
        fprintf(to, "%s%s: %s", i == 0 ? "Only where this is so: " : "; ", given[i].title, given[i].shown);
    fputs(count > 0 ? ". " : "", to);
    for (size_t i = 0; i < d->options->places.count; i++)
        fprintf(to, "%s%s", i == 0 ? "Only what can be looked at here: " : ", ", d->options->places.items[i]);
    fputs(d->options->places.count > 0 ? ". " : "", to);
    fputs("Begin at the left; follow what you see; a thick frame is an end.", to);
}

static bool say_about(drawing *d)
{
    size_t size;
    FILE *memory = open_memstream(&d->about, &size);
    if (memory == NULL)
        return false;
    say_packs(memory, d->setup->pack);
    say_given(memory, d);
    return fclose(memory) == 0 && d->about != NULL;
}

static void free_words(drawing *d)
{
    free(d->about);
    d->about = NULL;
    for (size_t i = 0; i < d->sheet.note_count; i++)
        free(d->notes[i]);
    d->sheet.note_count = 0;
}

static void note(drawing *d, char *text)
{
    if (text == NULL)
        d->tree.status = CW_NO_MEMORY;
    else
        d->notes[d->sheet.note_count++] = text;
}

static void say_notes(drawing *d, const chart_view *view)
{
    const char *stage = d->options->rest.items[0];
    note(d, page_format(
                "The percentage is how likely the thing named is by these packs, with the answers on the way "
                "to it alone%s. Time is that of the questions, with the way from place to place.",
                view->measured ? "; a stretch of readings is worked out from a reading in its middle" : ""));
    note(d,
         page_format(
             "Can't tell, or an answer that is not drawn: ask Corewright (corewright %s). Left out is what "
             "fewer than %.3g in 100 jobs come to, together %.0f in 100.",
             stage, view->share * 100, view->left_out * 100));
    if (view->columns < d->most)
        note(d, page_format("Drawn %u deep: %u questions do not fit this sheet.", view->columns, d->most));
    if (d->tree.cut)
        note(
            d,
            strdup("Not every check could be weighed within the limit of steps: a shorter order may exist."));
    note(d, strdup("Local codes and licensed practice come first; a hybrid, 48 V or orange cables are for "
                   "qualified people."));
}

/* -- Drawing -- */

/* One try. True: it is on the page. What leaves out no more than the one before, which did not fit, is no
 * other. */
static bool try_one(drawing *d, unsigned deep, double share, page *out)
{
    chart_view view;
    chart_view_make(&d->tree, deep, share, &view);
    bool drawn = false;
    const bool other = view.columns != d->drawn || view.left_out != d->left_out;
    d->drawn = view.columns;
    d->left_out = view.left_out;
    if (d->tree.status == CW_OK && other && !say_about(d))
        d->tree.status = CW_NO_MEMORY;
    if (d->tree.status == CW_OK && other) {
        say_notes(d, &view);
        d->sheet.about = d->about;
        d->sheet.notes = (const char *const *)d->notes;
        drawn = d->tree.status == CW_OK && chart_lay_out(&view, d->scale, &d->sheet, out);
        if (!drawn)
            page_free(out);
    }
    free_words(d);
    chart_view_dispose(&view);
    return drawn;
}

/* How deep it would be on a sheet without end. */
static unsigned deepest(drawing *d)
{
    chart_view view;
    chart_view_make(&d->tree, d->wanted, CHART_RARE, &view);
    const unsigned deep = view.columns;
    chart_view_dispose(&view);
    return deep;
}

/* As deep as wanted with as much as fits, else one question less. */
static bool fit(drawing *d, page *out)
{
    d->most = deepest(d);
    d->left_out = -1; /* none yet */
    for (unsigned deep = d->most > 0 ? d->most : 1; deep > 0; deep--) {
        const size_t count = deep > 1 ? SHARES_DEEP : SHARES;
        for (size_t i = 0; i < count && d->tree.status == CW_OK; i++)
            if (try_one(d, deep, shares[i], out))
                return true;
    }
    return false;
}

static int say_fit(const drawing *d, bool fits)
{
    if (d->tree.status != CW_OK)
        return explain_status(d->tree.status, "the chart", NULL);
    if (!fits) {
        fprintf(stderr,
                "corewright: error: not even one question fits %s\nhelp: --paper a3, or --paper tabloid\n",
                d->sheet.paper);
        return EXIT_WRONG;
    }
    if (d->drawn < d->most)
        fprintf(stderr, "corewright: note: the chart is drawn %u deep: %u questions do not fit %s\n",
                d->drawn, d->most, d->sheet.paper);
    if (d->tree.cut)
        fputs("corewright: note: not every check could be weighed within the limit of steps\n", stderr);
    return EXIT_DONE;
}

static int write_out(const drawing *d, const page *made)
{
    const cli_options *options = d->options;
    int exit_status = EXIT_DONE;
    if (options->svg != NULL || options->pdf == NULL)
        exit_status = page_write_svg(made, options->svg);
    if (exit_status == EXIT_DONE && options->pdf != NULL)
        exit_status = page_write_pdf(made, options->pdf);
    return exit_status;
}

static int draw_chart(drawing *d)
{
    page made = {0};
    d->sheet.title =
        strcmp(d->options->rest.items[0], "identify") == 0 ? "Which unit is it?" : "What has failed?";
    d->scale = page_scale_new();
    if (d->scale == NULL)
        return explain_status(CW_NO_MEMORY, "the chart", NULL);
    chart_grow(d->setup->pack, d->setup->session, begin_at(d), d->wanted, &d->tree);
    int exit_status = say_fit(d, d->tree.status == CW_OK && fit(d, &made));
    if (exit_status == EXIT_DONE)
        exit_status = write_out(d, &made);
    page_free(&made);
    chart_tree_free(&d->tree);
    page_scale_free(d->scale);
    return exit_status;
}

int command_chart(const cli_options *options)
{
    job_setup setup;
    drawing d = {.options = options, .setup = &setup};
    int exit_status = read_stage(options);
    if (exit_status == EXIT_DONE)
        exit_status = read_deep(options, &d.wanted);
    if (exit_status == EXIT_DONE)
        exit_status = read_paper(options, &d.sheet);
    if (exit_status == EXIT_DONE)
        exit_status = setup_open(options, &setup);
    if (exit_status != EXIT_DONE)
        return exit_status;
    exit_status = take_words(&d);
    if (exit_status == EXIT_DONE)
        exit_status = draw_chart(&d);
    setup_close(&setup);
    return exit_status;
}
