/* What was learned as a pack that is laid over the book: for a person to read, accept or change. */
#include "learn/learn.h"
#include <math.h>
#include <string.h>

/* Shares are written as counts of four decimals, cut and not rounded, so that they never come to more than
 * all. */
static const double grain = 1e4;

static void write_number(double number, FILE *out)
{
    char text[64];
    snprintf(text, sizeof text, "%.4f", floor(number * grain + 1e-6) / grain);
    size_t size = strlen(text);
    while (text[size - 1] == '0')
        size--;
    size -= text[size - 1] == '.';
    fprintf(out, "%.*s", (int)size, text);
}

static void write_share(const cw_learned *one, FILE *out)
{
    write_number(one->posterior * one->whole, out);
    fputs(" of ", out);
    write_number(one->whole, out);
    fputc('\n', out);
}

/* Three digits; nobody reads on below a hundredth of a percent. */
static const char *percent(double share, char text[16])
{
    snprintf(text, 16, share < 0.0001 ? "0" : "%.3g", 100 * share);
    return text;
}

void learn_say(const cw_learned *one, char *out, size_t size)
{
    char laid[64] = "", unseen[64] = "", book[16], now[16], low[16], high[16];
    if (fabs((double)one->seen - one->laid_to) >= 0.05)
        snprintf(laid, sizeof laid, " (%.1f laid to it)", one->laid_to);
    if (one->unseen >= 0.5)
        snprintf(unseen, sizeof unseen, " and about %.0f that nobody brought in", one->unseen);
    snprintf(out, size, "book %s %%, shop %zu of %zu%s%s, now %s %% (90 %%: %s to %s %%)",
             percent(one->book, book), one->seen, one->of, unseen, laid, percent(one->posterior, now),
             percent(one->low, low), percent(one->high, high));
}

/* The comment above a value. */
static void write_comment(const cw_learned *one, const char *indent, FILE *out)
{
    char words[256];
    learn_say(one, words, sizeof words);
    fprintf(out, "%s# %s%s\n", indent, words, one->contradicts ? "; THE SHOP CONTRADICTS THE BOOK" : "");
}

/* A title in a comment: on one line. */
static void write_title(const char *title, FILE *out)
{
    for (const char *at = title; *at != '\0'; at++)
        fputc((unsigned char)*at < ' ' ? ' ' : *at, out);
    fputc('\n', out);
}

static bool same(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

static void write_values(const cw_learned *items, size_t first, size_t end, const char *indent, FILE *out)
{
    for (size_t i = first; i < end; i++) {
        write_comment(&items[i], indent, out);
        fprintf(out, "%s%s: ", indent, items[i].value);
        write_share(&items[i], out);
    }
}

/* Signs or links of one owner, from *at on. */
static void write_signs(const cw_learned *items, size_t *at, size_t end, FILE *out)
{
    const cw_learned_kind kind = items[*at].kind;
    fputs("    signs:\n", out);
    while (*at < end && items[*at].kind == kind) {
        size_t behind = *at;
        while (behind < end && items[behind].kind == kind && same(items[behind].about, items[*at].about))
            behind++;
        fprintf(out, "      %s: # ", items[*at].about);
        write_title(items[*at].about_title, out);
        write_values(items, *at, behind, "        ", out);
        *at = behind;
    }
}

static void write_links(const cw_learned *items, size_t *at, size_t end, FILE *out)
{
    fputs("    leads_to:\n", out);
    for (; *at < end && items[*at].kind == CW_LEARNED_LEADS_TO; ++*at) {
        write_comment(&items[*at], "      ", out);
        fprintf(out, "      %s: ", items[*at].about);
        write_share(&items[*at], out);
    }
}

/* One cause or unit. */
static void write_owner(const cw_learned *items, size_t first, size_t end, size_t jobs, FILE *out)
{
    fprintf(out, "  %s: # ", items[first].owner);
    write_title(items[first].owner_title, out);
    for (size_t i = first; i < end;) {
        const cw_learned *one = &items[i];
        if (one->kind == CW_LEARNED_CAUSE || one->kind == CW_LEARNED_UNIT) {
            write_comment(one, "    ", out);
            fputs("    seen: ", out);
            if (one->kind == CW_LEARNED_CAUSE) {
                write_share(one, out);
            } else {
                write_number(one->weight, out);
                fputc('\n', out);
            }
            i++;
        } else if (one->kind == CW_LEARNED_LEADS_TO) {
            write_links(items, &i, end, out);
        } else {
            write_signs(items, &i, end, out);
        }
    }
    fprintf(out, "    source: learned from %zu closed jobs\n", jobs);
}

static bool of_unit(const cw_learned *one)
{
    return one->kind == CW_LEARNED_UNIT || one->kind == CW_LEARNED_UNIT_SIGN;
}

/* Everything of the section that begins at items[first]; returns where it ends. */
static size_t write_owners(const cw_learned *items, size_t first, size_t count, size_t jobs, FILE *out)
{
    const bool units = of_unit(&items[first]);
    fprintf(out, "\n%s:\n", units ? "learned_units" : "learned_causes");
    size_t i = first;
    while (i < count && items[i].kind != CW_LEARNED_BACKGROUND && of_unit(&items[i]) == units) {
        size_t end = i + 1;
        while (end < count && of_unit(&items[end]) == units && same(items[end].owner, items[i].owner))
            end++;
        while (i < end && !items[i].needed)
            i++; /* a version without a case keeps what it has */
        if (i < end)
            write_owner(items, i, end, jobs, out);
        i = end;
    }
    return i;
}

static size_t write_backgrounds(const cw_learned *items, size_t first, size_t count, FILE *out)
{
    size_t i = first;
    fputs("\nlearned_background:\n", out);
    while (i < count && items[i].kind == CW_LEARNED_BACKGROUND) {
        size_t end = i;
        while (end < count && items[end].kind == CW_LEARNED_BACKGROUND &&
               same(items[end].about, items[i].about))
            end++;
        fprintf(out, "  %s: # ", items[i].about);
        write_title(items[i].about_title, out);
        write_values(items, i, end, "    ", out);
        i = end;
    }
    return i;
}

static void write_head(const learn *all, const cw_learned_list *learned, FILE *out)
{
    const cw_pack_header *packs;
    const size_t count = cw_pack_headers(all->over.pack, &packs);
    const size_t jobs = learned->causes_jobs + learned->units_jobs;
    fprintf(out,
            "# Frequencies that %zu closed jobs say. The book counts for %g cases in each sign, and for %g "
            "jobs in how\n"
            "# often causes and units come. Written by 'corewright learn' for you to read: take out or "
            "change what you\n"
            "# do not accept. The folder of this file is a pack; where it is named, what it says counts in "
            "place of the\n"
            "# book. Over each value: the book's, in how many of the shop's cases it was seen, and both "
            "together.\n",
            jobs, all->worth.rest, all->worth.seen);
    for (size_t i = 0; i < count; i++)
        fprintf(out, "# Book: %s, version %u\n", packs[i].name, (unsigned)packs[i].version);
    fprintf(out,
            "pack:\n  name: %.54s-learned\n  title: Learned from %zu closed jobs\n  version: 1\n  needs: [",
            packs[0].name, jobs);
    for (size_t i = 0; i < count; i++)
        fprintf(out, "%s%s", i > 0 ? ", " : "", packs[i].name);
    fputs("]\n", out);
}

void learn_write_pack(const learn *all, const cw_learned_list *learned, FILE *out)
{
    write_head(all, learned, out);
    for (size_t i = 0; i < learned->count;) {
        const cw_learned *one = &learned->items[i];
        if (one->kind == CW_LEARNED_BACKGROUND)
            i = write_backgrounds(learned->items, i, learned->count, out);
        else
            i = write_owners(learned->items, i, learned->count,
                             of_unit(one) ? learned->units_jobs : learned->causes_jobs, out);
    }
}
