/* What the versions show of one finite fact, as a column: who has which sign, each different sign once. Signs
 * come down from families to their versions, so that there are few. What no evidence changes is worked out
 * beforehand: the chances, with swaps and blunders, and their sums of P log P. */
#include "rank/column.h"

#include "base/vec.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { NOT_LISTED, WITHOUT, FIRST_KIND };

/* One of the different signs on a fact. */
typedef struct kind {
    cw_fact_id fact;
    uint32_t number; /* within the column */
    const double *chances;
} kind;

/* While columns are made. */
typedef struct making {
    cw_identity_tables *tables;
    cw_arena *arena, *scratch;
    cw_vec found;    /* of kind, in the order of finding */
    uint32_t *slots; /* hash table of places in `found` + 1; 0 = empty */
    size_t slot_count;
    kind *last; /* by fact: that of the version before */
} making;

static size_t slot_of(const making *m, cw_fact_id fact, const double *chances)
{
    const uint32_t count = m->tables->model->facts[fact].values.count;
    uint64_t sum = fact;
    for (uint32_t v = 0; v < count; v++) {
        uint64_t bits;
        memcpy(&bits, &chances[v], sizeof bits);
        sum = (sum ^ bits) * 0x9E3779B97F4A7C15u;
        sum ^= sum >> 29;
    }
    return sum & (m->slot_count - 1);
}

/* The slot of such a sign, or the empty one where it belongs. */
static uint32_t *find_slot(const making *m, cw_fact_id fact, const double *chances)
{
    const size_t size = m->tables->model->facts[fact].values.count * sizeof *chances;
    size_t at = slot_of(m, fact, chances);
    for (; m->slots[at] != 0; at = (at + 1) & (m->slot_count - 1)) {
        const kind *other = CW_VEC_AT(&m->found, kind, m->slots[at] - 1);
        if (other->fact == fact && memcmp(other->chances, chances, size) == 0)
            break;
    }
    return &m->slots[at];
}

/* Twice as many slots. */
static bool grow(making *m)
{
    uint32_t *slots = CW_NEW_ARRAY(m->scratch, uint32_t, 2 * m->slot_count);
    if (slots == NULL)
        return false;
    m->slots = slots;
    m->slot_count *= 2;
    for (uint32_t i = 0; i < m->found.count; i++) {
        const kind *one = CW_VEC_AT(&m->found, kind, i);
        *find_slot(m, one->fact, one->chances) = i + 1;
    }
    return true;
}

/* Which kind of its column the sign is, a new one if need be, into m->last. */
static bool find_kind(making *m, const cw_sign *sign)
{
    kind *last = &m->last[sign->fact];
    if (last->chances == sign->chances)
        return true;
    uint32_t *slot = find_slot(m, sign->fact, sign->chances);
    assert(*slot <= m->found.count);
    if (*slot == 0) {
        kind *made = cw_vec_add(&m->found);
        if (made == NULL)
            return false;
        *made = (kind){sign->fact, m->tables->columns[sign->fact].kind_count++, sign->chances};
        *slot = (uint32_t)m->found.count;
        *last = *made;
        return 2 * m->found.count < m->slot_count || grow(m);
    }
    *last = *CW_VEC_AT(&m->found, kind, *slot - 1);
    last->chances = sign->chances;
    return true;
}

/* Only versions have signs, and those on a finite fact are on its values. */
static bool take_lines(const making *m)
{
    const cw_identity_tables *tables = m->tables;
    const cw_model *model = tables->model;
    bool failed = false;
    for (cw_fact_id f = 1; f <= model->facts_count && !failed; f++) {
        rank_column *column = &tables->columns[f];
        if (model->facts[f].values.count == 0 || model->facts[f].unit_signs == 0)
            continue;
        column->count = model->facts[f].unit_signs;
        column->kind_count = FIRST_KIND;
        column->kinds = CW_NEW_ARRAY(m->arena, uint32_t, column->count);
        if (column->count < tables->versions)
            column->lines = CW_NEW_ARRAY(m->arena, uint32_t, column->count);
        failed = column->kinds == NULL || (column->count < tables->versions && column->lines == NULL);
    }
    return !failed;
}

/* `filled`, by fact: how many lines are. */
static bool fill_lines(making *m, uint32_t *filled)
{
    const cw_identity_tables *tables = m->tables;
    const cw_model *model = tables->model;
    for (uint32_t i = 0; i < tables->versions; i++) {
        const cw_run signs = model->units[tables->listed[i]].signs;
        for (uint32_t k = signs.first; k < signs.first + signs.count; k++) {
            const cw_sign *sign = &model->signs[k];
            rank_column *column = &tables->columns[sign->fact];
            if (sign->kind != CW_SIGN_VALUES)
                continue;
            if (!find_kind(m, sign))
                return false;
            if (column->lines != NULL)
                column->lines[filled[sign->fact]] = i + 1;
            column->kinds[filled[sign->fact]++] = m->last[sign->fact].number;
        }
    }
    return true;
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

static bool take_kinds(const making *m, cw_fact_id fact)
{
    cw_identity_tables *tables = m->tables;
    const uint32_t values = tables->model->facts[fact].values.count;
    rank_column *column = &tables->columns[fact];
    if (column->count == 0)
        return true;
    column->built = CW_NEW_ARRAY(m->arena, const double *, column->kind_count);
    column->shows = CW_NEW_ARRAY(m->arena, double, (size_t)column->kind_count *values);
    column->sums = CW_NEW_ARRAY(m->arena, double, column->kind_count);
    if (column->built == NULL || column->shows == NULL || column->sums == NULL)
        return false;
    for (uint32_t k = 0; k < FIRST_KIND; k++)
        column->sums[k] = fill_kind(tables, fact, NULL, k != NOT_LISTED, &column->shows[(size_t)k * values]);
    tables->widest = column->kind_count > tables->widest ? column->kind_count : tables->widest;
    return true;
}

static bool make_columns(making *m, uint32_t *filled)
{
    cw_identity_tables *tables = m->tables;
    const cw_model *model = tables->model;
    bool done = take_lines(m) && fill_lines(m, filled);
    for (cw_fact_id f = 1; f <= model->facts_count && done; f++)
        done = take_kinds(m, f);
    for (size_t i = 0; i < m->found.count && done; i++) {
        const kind *one = CW_VEC_AT(&m->found, kind, i);
        rank_column *column = &tables->columns[one->fact];
        column->built[one->number] = one->chances;
        column->sums[one->number] =
            fill_kind(tables, one->fact, one->chances, true,
                      &column->shows[(size_t)one->number * model->facts[one->fact].values.count]);
    }
    return done;
}

bool rank_columns_make(cw_identity_tables *tables, cw_arena *arena, cw_arena *scratch)
{
    const size_t facts = (size_t)tables->model->facts_count + 1;
    making m = {.tables = tables,
                .arena = arena,
                .scratch = scratch,
                .found = CW_VEC_INIT(cw_arena_allocator(scratch), kind),
                .slot_count = 64};
    tables->columns = CW_NEW_ARRAY(arena, rank_column, facts);
    m.slots = CW_NEW_ARRAY(scratch, uint32_t, m.slot_count);
    m.last = CW_NEW_ARRAY(scratch, kind, facts);
    uint32_t *filled = CW_NEW_ARRAY(scratch, uint32_t, facts);
    const bool done = tables->columns != NULL && m.slots != NULL && m.last != NULL && filled != NULL &&
                      make_columns(&m, filled);
    cw_vec_dispose(&m.found);
    return done;
}

void rank_columns_places(const cw_identity_tables *tables, cw_places *places)
{
    for (cw_fact_id f = 0; f <= tables->model->facts_count; f++) {
        const rank_column *column = &tables->columns[f];
        places->visit(places, &column->lines, CW_INTO_ARENA);
        places->visit(places, &column->kinds, CW_INTO_ARENA);
        places->visit(places, &column->built, CW_INTO_ARENA);
        places->visit(places, &column->shows, CW_INTO_ARENA);
        places->visit(places, &column->sums, CW_INTO_ARENA);
        for (uint32_t k = 0; k < column->kind_count; k++)
            places->visit(places, &column->built[k], CW_INTO_ARENA);
    }
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
    uint32_t at = WITHOUT;
    memset(mass, 0, column->kind_count * sizeof *mass);
    for (uint32_t i = 0; i < column->count; i++) {
        if (column->kinds[i] != at) {
            mass[at] += sum;
            listed += sum;
            sum = 0;
            at = column->kinds[i];
        }
        sum += chance[column->lines == NULL ? i + 1 : column->lines[i]];
    }
    mass[at] += sum;
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
