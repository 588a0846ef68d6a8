/* What the versions show of one finite fact, as a column: who has which sign, each different sign once. Signs
 * come down from families to their versions, so that there are few. What no evidence changes is worked out
 * beforehand: the chances, with swaps and blunders, and their sums of P log P. */
#include "rank/column.h"

#include <math.h>
#include <string.h>

enum { NOT_LISTED, WITHOUT, FIRST_KIND };

/* While columns are made: where each version's signs are read, and the kinds of the column by content. */
typedef struct making {
    cw_identity_tables *tables;
    uint32_t *next;          /* by version: its next sign */
    const double **chances;  /* by kind */
    uint32_t *slots, *kinds; /* hash table, 0 = empty; kinds of the column at hand */
    uint32_t *lines;
    size_t slot_count;
} making;

static uint64_t hash(const double *chances, uint32_t count)
{
    uint64_t sum = 0;
    for (uint32_t v = 0; v < count; v++) {
        uint64_t bits;
        memcpy(&bits, &chances[v], sizeof bits);
        sum = (sum ^ bits) * 0x9E3779B97F4A7C15u;
        sum ^= sum >> 29;
    }
    return sum;
}

/* The kind of sign with these chances, a new one if there is none. */
static uint32_t kind_of(making *m, const double *chances, uint32_t count, uint32_t *kind_count)
{
    size_t at = hash(chances, count) & (m->slot_count - 1);
    while (m->slots[at] != 0) {
        const double *other = m->chances[m->slots[at]];
        if (other == chances || memcmp(other, chances, count * sizeof *chances) == 0)
            return m->slots[at];
        at = (at + 1) & (m->slot_count - 1);
    }
    m->chances[*kind_count] = chances;
    return m->slots[at] = (*kind_count)++;
}

/* Signs are sorted by fact, and facts come in order. */
static void collect(making *m, cw_fact_id fact, uint32_t *count, uint32_t *kind_count)
{
    const cw_model *model = m->tables->model;
    const uint32_t values = model->facts[fact].values.count;
    const double *last = NULL;
    uint32_t kind = 0;
    *count = 0;
    *kind_count = FIRST_KIND;
    for (uint32_t i = 0; i < m->tables->versions; i++) {
        const cw_run signs = model->units[m->tables->listed[i]].signs;
        while (m->next[i] < signs.count && model->signs[signs.first + m->next[i]].fact < fact)
            m->next[i]++;
        const cw_sign *sign = &model->signs[signs.first + m->next[i]];
        if (m->next[i] == signs.count || sign->fact != fact)
            continue;
        if (sign->chances != last)
            kind = kind_of(m, sign->chances, values, kind_count);
        last = sign->chances;
        m->lines[*count] = i + 1;
        m->kinds[(*count)++] = kind;
    }
    for (uint32_t k = FIRST_KIND; k < *kind_count; k++) { /* the table is empty again */
        size_t at = hash(m->chances[k], values) & (m->slot_count - 1);
        while (m->slots[at] != 0) {
            m->slots[at] = 0;
            at = (at + 1) & (m->slot_count - 1);
        }
    }
}

/* One kind's chances; own: as built. */
static double fill_kind(const cw_identity_tables *tables, cw_fact_id fact, const double *own, bool listed,
                        double *shows)
{
    const rank_fact *table = &tables->facts[fact];
    const double *average = &tables->averages[table->average];
    const uint32_t count = tables->model->facts[fact].values.count;
    double sum = 0;
    for (uint32_t v = 0; v < count; v++) {
        const double built = own != NULL ? own[v] : average[v], even = 1.0 / count;
        const double real =
            listed ? (1 - table->swapped) * built + table->swapped * average[v] : average[v] / 2 + even / 2;
        shows[v] = (1 - table->blunders) * real + table->blunders * even;
        sum += shows[v] > 0 ? shows[v] * log2(shows[v]) : 0;
    }
    return sum;
}

static bool take_column(cw_identity_tables *tables, cw_fact_id fact, rank_column *column)
{
    const uint32_t values = tables->model->facts[fact].values.count;
    bool failed = false;
    column->kinds = rank_take(&tables->allocator, column->count, sizeof *column->kinds, &failed);
    if (column->count < tables->versions)
        column->lines = rank_take(&tables->allocator, column->count, sizeof *column->lines, &failed);
    column->shows =
        rank_take(&tables->allocator, (size_t)column->kind_count * values, sizeof *column->shows, &failed);
    column->sums = rank_take(&tables->allocator, column->kind_count, sizeof *column->sums, &failed);
    return !failed;
}

static bool make_column(making *m, cw_fact_id fact)
{
    cw_identity_tables *tables = m->tables;
    const uint32_t values = tables->model->facts[fact].values.count;
    rank_column *column = &tables->columns[fact];
    collect(m, fact, &column->count, &column->kind_count);
    if (!take_column(tables, fact, column))
        return false;
    memcpy(column->kinds, m->kinds, column->count * sizeof *column->kinds);
    if (column->lines != NULL)
        memcpy(column->lines, m->lines, column->count * sizeof *column->lines);
    for (uint32_t k = 0; k < column->kind_count; k++)
        column->sums[k] = fill_kind(tables, fact, k < FIRST_KIND ? NULL : m->chances[k], k != NOT_LISTED,
                                    &column->shows[(size_t)k * values]);
    if (column->kind_count > tables->widest)
        tables->widest = column->kind_count;
    return true;
}

static void give_making(making *m)
{
    const cw_allocator *allocator = &m->tables->allocator;
    const size_t versions = m->tables->versions;
    rank_give(allocator, m->next, versions, sizeof *m->next);
    rank_give(allocator, m->chances, versions + FIRST_KIND, sizeof *m->chances);
    rank_give(allocator, m->slots, m->slot_count, sizeof *m->slots);
    rank_give(allocator, m->kinds, versions, sizeof *m->kinds);
    rank_give(allocator, m->lines, versions, sizeof *m->lines);
}

bool rank_columns_make(cw_identity_tables *tables)
{
    const cw_model *model = tables->model;
    const cw_allocator *allocator = &tables->allocator;
    const size_t versions = tables->versions;
    bool failed = false;
    making m = {.tables = tables, .slot_count = 16};
    while (m.slot_count < 2 * versions)
        m.slot_count *= 2;
    tables->columns = rank_take(allocator, model->facts_count, sizeof *tables->columns, &failed);
    m.next = rank_take(allocator, versions, sizeof *m.next, &failed);
    m.chances = rank_take(allocator, versions + FIRST_KIND, sizeof *m.chances, &failed);
    m.slots = rank_take(allocator, m.slot_count, sizeof *m.slots, &failed);
    m.kinds = rank_take(allocator, versions, sizeof *m.kinds, &failed);
    m.lines = rank_take(allocator, versions, sizeof *m.lines, &failed);
    for (cw_fact_id f = 1; f <= model->facts_count && !failed; f++)
        if (model->facts[f].values.count > 0 && model->facts[f].unit_signs > 0)
            failed = !make_column(&m, f);
    give_making(&m);
    return !failed;
}

void rank_columns_free(cw_identity_tables *tables)
{
    const cw_allocator *allocator = &tables->allocator;
    for (cw_fact_id f = 1; tables->columns != NULL && f <= tables->model->facts_count; f++) {
        const rank_column *column = &tables->columns[f];
        rank_give(allocator, column->kinds, column->count, sizeof *column->kinds);
        rank_give(allocator, column->lines, column->count, sizeof *column->lines);
        rank_give(allocator, column->shows, (size_t)column->kind_count * tables->model->facts[f].values.count,
                  sizeof *column->shows);
        rank_give(allocator, column->sums, column->kind_count, sizeof *column->sums);
    }
    rank_give(allocator, tables->columns, tables->model->facts_count, sizeof *tables->columns);
}

/* -- What an answer would tell -- */

uint32_t cw_identity_column(const cw_identity_tables *tables, cw_fact_id fact)
{
    return tables->columns[fact].kind_count == 0 ? 0 : tables->columns[fact].count + 1;
}

uint32_t cw_identity_widest(const cw_identity_tables *tables)
{
    return tables->widest;
}

/* How probable it is that the unit is one of each kind. Neighbours are often of one kind. */
static void add_up(const rank_column *column, const double *chance, double *mass)
{
    double listed = 0, sum = 0;
    uint32_t kind = WITHOUT;
    memset(mass, 0, column->kind_count * sizeof *mass);
    for (uint32_t i = 0; i < column->count; i++) {
        if (column->kinds[i] != kind) {
            mass[kind] += sum;
            listed += sum;
            sum = 0;
            kind = column->kinds[i];
        }
        sum += chance[column->lines == NULL ? i + 1 : column->lines[i]];
    }
    mass[kind] += sum;
    listed += sum;
    mass[NOT_LISTED] = chance[0];
    if (column->lines != NULL)
        mass[WITHOUT] = fmax(1 - chance[0] - listed, 0);
}

double cw_identity_gain(const cw_identity_tables *tables, cw_fact_id fact, const double *chance, double *room)
{
    const rank_column *column = &tables->columns[fact];
    const uint32_t values = tables->model->facts[fact].values.count;
    double bits = 0, all = 0;
    add_up(column, chance, room);
    for (uint32_t k = 0; k < column->kind_count; k++)
        bits += room[k] * column->sums[k];
    for (uint32_t v = 0; v < values; v++) {
        double weight = 0;
        for (uint32_t k = 0; k < column->kind_count; k++)
            weight += room[k] * column->shows[(size_t)k * values + v];
        all += weight;
        bits -= weight > 0 ? weight * log2(weight) : 0;
    }
    return all > 0 ? fmax(bits / all, 0) : 0;
}
