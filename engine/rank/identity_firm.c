/* Firmness of units, by interval arithmetic on the ratio of the first to each other line.
 *
 * A word up or down go: each share, that the unit is not listed, each sign's chance of what was seen (one
 * that several versions inherit is one frequency), the swap of each group, the blunders of each check. Sizes
 * and their tolerances are no frequencies and stay. What the catalogue shows lies between its least and its
 * most: with every sign's chance and every share at its worst for it.
 *
 * With P the product over a group of what a unit shows as built, M that of what the catalogue shows, and o
 * the odds of the swap, the group's ratio of the first to a rival is
 *
 *   (P1 + o M) / (P2 + o M) = (r + m) / (1 + m),   r = P1 / P2,  m = o M / P2,
 *
 * which rises with r, and with m goes from r towards 1. Both are products over the pieces; of each piece the
 * ratio of two chances, each mixed with blunders, is monotone in everything, so its least and its most stand
 * in corners. */
#include "rank/inside.h"
#include "rank/word.h"

#include <math.h>

typedef struct bounds {
    double low, high;
} bounds;

/* One piece of evidence, but for a factor that all of it may share. */
typedef struct piece {
    const cw_evidence *of;
    bounds average, blunders;
    double even;
    double stranger; /* texts: c, what a unit not listed shows; else 0 */
} piece;

typedef struct firmness {
    const cw_identity_tables *tables;
    cw_unit_id first;
    uint32_t first_line;
    /* By line, 0 = not listed. */
    bounds *share;
    bounds *own;   /* of a piece: what the line's sign shows */
    uint8_t *says; /* of a piece: an `origin` */
    bounds *built; /* of a group: r; for a rival of "not listed" 1 / r */
    bounds *swap;  /* of a group: M / P2 */
    double *ratio; /* so far: how many times as probable the first is, at least */
} firmness;

typedef enum origin { NO_SIGN, OWN_SIGN, FIRSTS_SIGN } origin;

static bounds word_off(double frequency)
{
    return (bounds){rank_word_off(frequency, -1), rank_word_off(frequency, 1)};
}

/* -- What a line shows of a piece -- */

/* One frequency in the packs, that both have inherited. */
static bool same_place(const cw_sign *a, const cw_sign *b)
{
    return a->span.source != 0 && a->span.source == b->span.source && a->span.start == b->span.start &&
           a->span.end == b->span.end;
}

static bool says_the_same(const cw_model *model, const cw_sign *a, const cw_sign *b)
{
    if (a->kind == CW_SIGN_NORMAL)
        return a->mean == b->mean && a->sd == b->sd;
    return a->kind == CW_SIGN_VALUES ? a->chances == b->chances : rank_same_texts(model, a, b);
}

/* A text that the sign does not match is left what its patterns leave. */
static bounds text_off(const cw_model *model, const cw_sign *sign, const piece *p)
{
    const double shown = rank_text_shown(model, sign, p->of->text);
    bounds left = {1, 1};
    if (shown > 0)
        return word_off(shown);
    for (uint32_t i = 0; i < sign->patterns.count; i++) {
        const bounds chance = word_off(sign->chances[i]);
        left.low -= chance.high;
        left.high -= chance.low;
    }
    return (bounds){fmax(left.low, 0) * p->stranger, fmax(left.high, 0) * p->stranger};
}

/* Measures as logarithms. */
static bounds sign_off(const firmness *f, const cw_sign *sign, const piece *p)
{
    if (p->of->text != NULL)
        return text_off(f->tables->model, sign, p);
    if (!rank_is_measure(f->tables, p->of))
        return word_off(sign->chances[p->of->value]);
    const double density = rank_sign_log_density(sign, p->of, f->tables->facts[p->of->fact].width);
    return (bounds){density, density};
}

static void take_signs(firmness *f, const piece *p)
{
    const cw_identity_tables *tables = f->tables;
    const cw_sign *firsts = f->first != 0 ? rank_sign_at(tables, f->first_line - 1, p->of->fact) : NULL;
    const cw_sign *last = NULL; /* versions of one frame share its signs: worked out once */
    bounds off = {0, 0};
    for (uint32_t i = 1; i <= tables->versions; i++) {
        const cw_sign *sign = rank_sign_at(tables, i - 1, p->of->fact);
        f->says[i] = NO_SIGN;
        if (sign == NULL)
            continue;
        if (last == NULL || !says_the_same(tables->model, sign, last))
            off = sign_off(f, sign, p);
        last = sign;
        f->own[i] = off;
        f->says[i] =
            firsts != NULL && (i == f->first_line || same_place(sign, firsts)) ? FIRSTS_SIGN : OWN_SIGN;
    }
}

/* Densities beside the largest, so that none is too small for a double but those that do not count. */
static void without_logarithms(firmness *f, piece *p)
{
    const double log_even = log(p->even);
    double most = log_even;
    for (uint32_t i = 1; i <= f->tables->versions; i++)
        if (f->says[i] != NO_SIGN && f->own[i].high > most)
            most = f->own[i].high;
    p->even = most > -INFINITY ? exp(log_even - most) : 0;
    for (uint32_t i = 1; i <= f->tables->versions; i++)
        if (f->says[i] != NO_SIGN)
            f->own[i].low = f->own[i].high = most > -INFINITY ? exp(f->own[i].low - most) : 0;
}

/* The largest weighted mean, or the least, of what signs show, each weight a share at its worst: those above
 * the mean weigh most, those below least (Dinkelbach 1967: from any mean that can be, to the largest). */
static double average_off(const firmness *f, const piece *p, bool most)
{
    double mean = most ? -INFINITY : INFINITY;
    for (;;) {
        double weight = 0, sum = 0;
        for (uint32_t i = 1; i <= f->tables->versions; i++) {
            if (f->says[i] == NO_SIGN)
                continue;
            const double x = most ? f->own[i].high : f->own[i].low;
            const double w = (x > mean) == most ? f->share[i].high : f->share[i].low;
            weight += w;
            sum += w * x;
        }
        if (weight <= 0)
            return p->of->text != NULL ? p->stranger : p->even;
        const double next = sum / weight;
        if (!(most ? next > mean : next < mean))
            return mean;
        mean = next;
    }
}

static piece look_at(firmness *f, const cw_evidence *e)
{
    const cw_identity_tables *tables = f->tables;
    const bool measure = rank_is_measure(tables, e);
    piece p = {.of = e,
               .blunders = word_off(tables->facts[e->fact].blunders),
               .stranger = e->text != NULL ? rank_stranger(tables, e) : 0,
               .even = measure           ? rank_even_measure(tables, e)
                       : e->text != NULL ? 0.5
                                         : 1.0 / tables->model->facts[e->fact].values.count};
    take_signs(f, &p);
    if (measure)
        without_logarithms(f, &p);
    p.average = (bounds){average_off(f, &p, false), average_off(f, &p, true)};
    return p;
}

/* -- Ratios of one piece -- */

/* What is compared: what a sign shows; what the catalogue shows; what a unit not listed shows. */
typedef struct shown {
    enum { BY_SIGN, BY_ALL, BY_NONE } by;
    bounds sign;
} shown;

/* A text is to a version without patterns what it is to a unit not listed. */
static shown shown_by(const firmness *f, const piece *p, uint32_t line)
{
    if (line != 0 && f->says[line] != NO_SIGN)
        return (shown){BY_SIGN, f->own[line]};
    return (shown){.by = line == 0 || p->of->text != NULL ? BY_NONE : BY_ALL};
}

static double chance_of(const piece *p, const shown *x, bool most, double average, double blunders)
{
    const double unlisted = p->of->text != NULL ? p->stranger : average / 2 + p->even / 2;
    const double sign = most ? x->sign.high : x->sign.low;
    const double real = x->by == BY_SIGN ? sign : x->by == BY_ALL ? average : unlisted;
    return (1 - blunders) * real + blunders * p->even;
}

/* The least of x over y, or the most, with the catalogue and the blunders the same for both. */
static double corner(const piece *p, const shown *x, const shown *y, bool most)
{
    double out = most ? 0 : INFINITY;
    for (int at = 0; at < 4; at++) {
        const double average = at & 1 ? p->average.high : p->average.low,
                     blunders = at & 2 ? p->blunders.high : p->blunders.low;
        const double above = chance_of(p, x, most, average, blunders),
                     below = chance_of(p, y, !most, average, blunders);
        const double ratio = below > 0 ? above / below : most || above > 0 ? INFINITY : 0;
        out = most ? fmax(out, ratio) : fmin(out, ratio);
    }
    return out;
}

static bounds corners(const piece *p, const shown *x, const shown *y)
{
    return (bounds){corner(p, x, y, false), corner(p, x, y, true)};
}

static void times(bounds *x, bounds y)
{
    x->low *= y.low;
    x->high *= y.high;
}

static void weigh_piece(firmness *f, const piece *p)
{
    const shown catalogue = {.by = BY_ALL}, first = shown_by(f, p, f->first_line);
    for (uint32_t i = 0; i <= f->tables->versions; i++) {
        const shown rival = shown_by(f, p, i);
        if (i == f->first_line)
            continue;
        if (f->first == 0) {
            times(&f->built[i], corners(p, &rival, &first));
            times(&f->swap[i], corners(p, &catalogue, &first));
            continue;
        }
        if (f->says[i] != FIRSTS_SIGN)
            times(&f->built[i], corners(p, &first, &rival));
        times(&f->swap[i], corners(p, &catalogue, &rival));
    }
}

/* -- Groups -- */

static double towards_one(double built, double swap)
{
    return isinf(swap) ? 1 : (built + swap) / (1 + swap);
}

/* Not listed is not swapped. */
static double ratio_of_group(const firmness *f, uint32_t line, bounds swapped)
{
    const bounds built = f->built[line], swap = f->swap[line];
    if (f->first == 0)
        return 1 / fmax((1 - swapped.low) * built.high + swapped.low * swap.high,
                        (1 - swapped.high) * built.high + swapped.high * swap.high);
    if (line == 0)
        return fmin((1 - swapped.low) * built.low + swapped.low * swap.low,
                    (1 - swapped.high) * built.low + swapped.high * swap.low);
    const double share = built.low >= 1 ? swapped.high : swapped.low;
    const double moved = built.low >= 1 ? swap.high : swap.low;
    return share > 0 ? towards_one(built.low, share / (1 - share) * moved) : built.low;
}

static void weigh_group(firmness *f, const cw_evidence *evidence, size_t count, size_t at)
{
    for (uint32_t i = 0; i <= f->tables->versions; i++)
        f->built[i] = f->swap[i] = (bounds){1, 1};
    for (size_t k = at; k < count; k++) {
        if (k != at &&
            (evidence[k].yields_to != 0 || !rank_swapped_together(f->tables, &evidence[at], &evidence[k])))
            continue;
        const piece p = look_at(f, &evidence[k]);
        weigh_piece(f, &p);
    }
    const bounds swapped = word_off(f->tables->facts[evidence[at].fact].swapped);
    for (uint32_t i = 0; i <= f->tables->versions; i++)
        if (i != f->first_line)
            f->ratio[i] *= ratio_of_group(f, i, swapped);
}

/* -- All -- */

static void weigh_shares(firmness *f)
{
    const cw_identity_tables *tables = f->tables;
    const double seen = tables->seen > 0 ? tables->seen : tables->versions;
    const bounds unlisted = word_off(tables->model->not_listed);
    for (uint32_t i = 1; i <= tables->versions; i++) {
        f->share[i] = word_off(rank_seen(tables, tables->listed[i - 1]) / seen);
        if (tables->listed[i - 1] == f->first)
            f->first_line = i;
    }
    const bounds *first = &f->share[f->first_line];
    f->ratio[0] = (1 - unlisted.high) * first->low / unlisted.high;
    for (uint32_t i = 1; i <= tables->versions; i++)
        f->ratio[i] = f->first != 0 ? first->low / f->share[i].high
                                    : unlisted.low / ((1 - unlisted.low) * f->share[i].high);
}

static void find_rival(const firmness *f, bool *firm, cw_unit_id *rival)
{
    double least = INFINITY;
    *firm = true;
    *rival = 0;
    for (uint32_t i = 0; i <= f->tables->versions; i++) {
        if (i == f->first_line || f->ratio[i] > 1)
            continue;
        if (*firm || !(f->ratio[i] >= least)) {
            *rival = i > 0 ? f->tables->listed[i - 1] : 0;
            least = f->ratio[i];
        }
        *firm = false;
    }
}

cw_status cw_identity_firm(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                           cw_unit_id first, cw_arena *arena, bool *firm, cw_unit_id *rival)
{
    const size_t lines = (size_t)tables->versions + 1;
    firmness f = {.tables = tables,
                  .first = first,
                  .share = CW_NEW_ARRAY(arena, bounds, lines),
                  .own = CW_NEW_ARRAY(arena, bounds, lines),
                  .says = CW_NEW_ARRAY(arena, uint8_t, lines),
                  .built = CW_NEW_ARRAY(arena, bounds, lines),
                  .swap = CW_NEW_ARRAY(arena, bounds, lines),
                  .ratio = CW_NEW_ARRAY(arena, double, lines)};
    if (f.share == NULL || f.own == NULL || f.says == NULL || f.built == NULL || f.swap == NULL ||
        f.ratio == NULL)
        return CW_NO_MEMORY;
    weigh_shares(&f);
    for (size_t at = 0; at < count; at++)
        if (rank_opens_group(tables, evidence, at))
            weigh_group(&f, evidence, count, at);
    find_rival(&f, firm, rival);
    return CW_OK;
}
