#include "quantity/inside.h"
#include <assert.h>
#include <math.h>
#include <string.h>

#define CW_DIMENSION(name, words, l, m, t, i, k, turn, angle, scale)                                         \
    enum { LENGTH_##name = (l), MASS_##name = (m), TIME_##name = (t), CURRENT_##name = (i) };                \
    enum { TEMPERATURE_##name = (k), TURN_##name = (turn), ANGLE_##name = (angle), SCALE_##name = (scale) };
#include "quantity/dimension.def"
#undef CW_DIMENSION

#define DIMENSION(name)                                                                                      \
    {                                                                                                        \
        LENGTH_##name, MASS_##name, TIME_##name, CURRENT_##name, TEMPERATURE_##name, TURN_##name,            \
            ANGLE_##name, SCALE_##name                                                                       \
    }

static const cw_unit units[] = {
#define CW_UNIT(symbol, dimension, n, d, hundredths, cased, spellings)                                       \
    {{symbol, DIMENSION(dimension), (double)(n) / (double)(d),                                               \
      (hundredths) / 100.0 * (double)(n) / (double)(d)},                                                     \
     (n),                                                                                                    \
     (d),                                                                                                    \
     (hundredths),                                                                                           \
     (cased) != 0,                                                                                           \
     (spellings)},
#include "quantity/unit.def"
#undef CW_UNIT
};

enum { UNIT_COUNT = sizeof units / sizeof *units, LONGEST_SYMBOL = 8 };

/* The symbols alone, side by side, filled up with NUL. */
static const char symbols[][LONGEST_SYMBOL + 1] = {
#define CW_UNIT(symbol, dimension, n, d, hundredths, cased, spellings) symbol,
#include "quantity/unit.def"
#undef CW_UNIT
};

const cw_unit_info *cw_unit_at(size_t index)
{
    return index < UNIT_COUNT ? &units[index].info : NULL;
}

size_t cw_unit_size(void)
{
    return sizeof(cw_unit);
}

void cw_unit_places(const cw_unit_info *unit, cw_places *places)
{
    const cw_unit *whole = (const cw_unit *)unit; /* info comes first */
    places->visit(places, &whole->info.symbol, CW_INTO_ARENA);
    places->visit(places, &whole->spellings, CW_INTO_ARENA);
}

static char small(char c)
{
    if (c >= 'A' && c <= 'Z')
        c = (char)(c - 'A' + 'a');
    return c;
}

static bool same(const char *a, const char *b, size_t size, bool cased)
{
    if (cased && size > 0 && *a != *b)
        return false;
    for (size_t i = 0; i < size; i++)
        if (small(a[i]) != small(b[i]))
            return false;
    return true;
}

static bool spelt(const cw_unit *unit, const char *text, size_t size)
{
    if (strlen(unit->info.symbol) == size && same(unit->info.symbol, text, size, unit->cased))
        return true;
    for (const char *at = unit->spellings; *at != '\0';) {
        size_t length = strcspn(at, "|");
        if (length == size && same(at, text, size, unit->cased))
            return true;
        at += length + (at[length] == '|');
    }
    return false;
}

const cw_unit_info *cw_symbol_find(const char *text, size_t size)
{
    char wanted[LONGEST_SYMBOL] = {0};
    if (size == 0 || size > sizeof wanted || memchr(text, '\0', size) != NULL)
        return NULL;
    memcpy(wanted, text, size);
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (memcmp(symbols[i], wanted, sizeof wanted) == 0)
            return &units[i].info;
    return NULL;
}

/* Of the wanted dimension if one is, else the one whose very symbol it is, else the first. Symbols come first
 * because packs are full of them, and comparing with every spelling takes ten times as long. */
static const cw_unit_info *look_up(const char *text, size_t size, const cw_dimension *wanted)
{
    const cw_unit_info *best = cw_symbol_find(text, size);
    if (best != NULL && (wanted == NULL || cw_dimension_equal(best->dimension, *wanted)))
        return best;
    for (size_t i = 0; i < UNIT_COUNT && size > 0; i++) {
        if (!spelt(&units[i], text, size))
            continue;
        if (best == NULL)
            best = &units[i].info;
        if (wanted == NULL || cw_dimension_equal(units[i].info.dimension, *wanted))
            return &units[i].info;
    }
    return best;
}

const cw_unit_info *cw_plain_unit(const cw_plain *plain, const cw_dimension *wanted, size_t *used)
{
    for (size_t size = plain->size; size > 0; size--) {
        if (size < plain->size && plain->text[size] != ' ')
            continue;
        const cw_unit_info *unit = look_up(plain->text, size, wanted);
        *used = size;
        if (unit != NULL)
            return unit;
    }
    *used = 0;
    return NULL;
}

static const cw_unit_info *find(const char *symbol, size_t size, const cw_dimension *wanted)
{
    cw_plain plain = cw_plain_read(symbol, size);
    bool all = plain.start[plain.size] >= size;
    return all ? look_up(plain.text, plain.size, wanted) : NULL;
}

const cw_unit_info *cw_unit_find(const char *symbol, size_t size)
{
    return find(symbol, size, NULL);
}

const cw_unit_info *cw_unit_find_as(const char *symbol, size_t size, cw_dimension wanted)
{
    return find(symbol, size, &wanted);
}

/* a * 10^power, if it stays below 10^36. */
static bool shift(cw_wide a, int power, cw_wide *out)
{
    cw_wide most = 1;
    for (int i = 0; i < 36; i++)
        most *= 10;
    for (; power > 0; power--) {
        if (a >= most / 10)
            return false;
        a *= 10;
    }
    *out = a;
    return true;
}

/* x + hundredths / 100, or - if subtract; false where the sum would not fit. */
static bool move(cw_ratio x, uint32_t hundredths, bool subtract, cw_ratio *out)
{
    cw_wide moving = (cw_wide)hundredths * x.d;
    cw_wide n;
    if (!shift(x.n, x.exponent > 0 ? x.exponent + 2 : 2, &n) ||
        !shift(moving, x.exponent < 0 ? -x.exponent : 0, &moving))
        return false;
    if (x.exponent > 0)
        x.exponent = 0;
    x.d *= 100;
    if (x.negative == subtract) {
        x.n = n + moving;
    } else if (n > moving) {
        x.n = n - moving;
    } else if (n == moving) { /* a sum of zero is plus zero, as in all arithmetic */
        x.n = 0;
        x.negative = false;
    } else {
        x.n = moving - n;
        x.negative = !x.negative;
    }
    *out = x;
    return true;
}

bool cw_ratio_to_base(const cw_unit_info *info, cw_ratio value, cw_ratio *base)
{
    const cw_unit *unit = (const cw_unit *)info;
    if (unit->hundredths != 0 && !move(value, unit->hundredths, false, &value))
        return false;
    value.n *= unit->n;
    value.d *= unit->d;
    *base = value;
    return true;
}

bool cw_ratio_from_base(const cw_unit_info *info, cw_ratio base, cw_ratio *value)
{
    const cw_unit *unit = (const cw_unit *)info;
    base.n *= unit->d;
    base.d *= unit->n;
    if (unit->hundredths != 0 && !move(base, unit->hundredths, true, &base))
        return false;
    *value = base;
    return true;
}

double cw_ratio_base_value(const cw_unit_info *unit, cw_ratio value)
{
    cw_ratio base;
    if (cw_ratio_to_base(unit, value, &base))
        return cw_ratio_round(base);
    return cw_ratio_round(value) * unit->factor + unit->offset;
}

double cw_to_base(const cw_unit_info *unit, double value)
{
    if (!isfinite(value))
        return value;
    return cw_ratio_base_value(unit, cw_double_shortest(value));
}

double cw_from_base(const cw_unit_info *unit, double base)
{
    if (!isfinite(base))
        return base;
    cw_ratio value;
    if (cw_ratio_from_base(unit, cw_double_shortest(base), &value))
        return cw_ratio_round(value);
    return (base - unit->offset) / unit->factor;
}
