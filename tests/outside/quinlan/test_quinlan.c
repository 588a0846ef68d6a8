/* Information gains that others have printed or computed. Each class of a table is a unit, as often seen as
 * it has rows; each column is a check; the chances are the shares counted in the table. Nothing is outside
 * the table, so nothing is unlisted. Then the first question's bits are the information gains of Quinlan
 * 1986. (Gains further down his tree are not: they count rows, where units take their signs as independent.)
 */
#include "ask/ask.h"
#include "model/build.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

enum { COLUMNS = 32, ROWS = 9000, VALUES = 32, CLASSES = 8, WORD = 24 };

typedef struct table {
    char names[COLUMNS][WORD];
    uint32_t columns, rows, values[COLUMNS];
    uint32_t class_column, id_column; /* the name of a row tells nothing */
    char words[COLUMNS][VALUES][WORD];
    uint8_t cells[ROWS][COLUMNS];
} table;

static uint32_t word_number(table *t, uint32_t column, const char *word)
{
    for (uint32_t v = 0; v < t->values[column]; v++)
        if (strcmp(t->words[column][v], word) == 0)
            return v;
    cr_assert_lt(t->values[column], VALUES, "too many values of %s", t->names[column]);
    snprintf(t->words[column][t->values[column]], WORD, "%s", word);
    return t->values[column]++;
}

static void load(table *t, const char *file, const char *class_name)
{
    char path[400], line[1000];
    snprintf(path, sizeof path, "%s/tests/outside/%s", CW_SOURCE_DIR, file);
    FILE *stream = fopen(path, "r");
    cr_assert_not_null(stream, "%s", path);
    memset(t, 0, sizeof *t);
    t->class_column = t->id_column = COLUMNS;
    for (bool head = true; fgets(line, sizeof line, stream) != NULL; head = false) {
        uint32_t column = 0;
        for (char *at = strtok(line, ",\r\n"); at != NULL; at = strtok(NULL, ",\r\n"), column++) {
            if (!head && column == t->id_column)
                continue;
            if (!head) {
                t->cells[t->rows][column] = (uint8_t)word_number(t, column, at);
                continue;
            }
            snprintf(t->names[column], WORD, "%s", at);
            if (strcmp(at, class_name) == 0)
                t->class_column = column;
            if (strcmp(at, "animal_name") == 0)
                t->id_column = column;
            t->columns = column + 1;
        }
        t->rows += head ? 0 : 1;
    }
    fclose(stream);
    cr_assert_lt(t->class_column, COLUMNS);
}

static void add_column(cw_builder *builder, const table *t, uint32_t column, cw_sign_spec *sign)
{
    cw_value_spec values[VALUES] = {{0}};
    for (uint32_t v = 0; v < t->values[column]; v++)
        values[v].name = t->words[column][v];
    const char *name = t->names[column];
    cw_fact_id fact = cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_CHOICE}, values,
                                      t->values[column], NULL);
    cw_check check = {
        .name = name, .ask = name, .title = name, .fact = fact, .minutes = 1, .places = 1, .stages = 1};
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    sign->sign = (cw_sign){.fact = fact, .kind = CW_SIGN_VALUES};
}

static void add_class(cw_builder *builder, const table *t, uint32_t class, cw_sign_spec *signs)
{
    static double chances[COLUMNS][VALUES];
    double seen = 0;
    uint32_t count = 0;
    memset(chances, 0, sizeof chances);
    for (uint32_t row = 0; row < t->rows; row++)
        seen += t->cells[row][t->class_column] == class;
    for (uint32_t column = 0; column < t->columns; column++) {
        if (column == t->class_column || column == t->id_column)
            continue;
        for (uint32_t row = 0; row < t->rows; row++)
            if (t->cells[row][t->class_column] == class)
                chances[column][t->cells[row][column]] += 1 / seen;
        signs[count++].sign.chances = chances[column];
    }
    char name[WORD + 8];
    snprintf(name, sizeof name, "class %s", t->words[t->class_column][class]);
    cw_builder_unit(builder, &(cw_unit){.name = name, .title = name, .seen = seen, .version = true}, signs,
                    count);
}

static cw_model *build(const table *t)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_sign_spec signs[COLUMNS] = {{{0}, NULL, 0}};
    uint32_t count = 0;
    cw_builder_not_listed(builder, 0);
    for (uint32_t column = 0; column < t->columns; column++)
        if (column != t->class_column && column != t->id_column)
            add_column(builder, t, column, &signs[count++]);
    for (uint32_t class = 0; class < t->values[t->class_column]; class ++)
        add_class(builder, t, class, signs);
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cw_builder_free(builder);
    return model;
}

typedef struct gain {
    const char *column;
    double bits;
} gain;

/* `within`: half a unit of the last figure given. */
static void compare(const char *file, const char *class_name, const gain *gains, size_t count, double within)
{
    static table t;
    load(&t, file, class_name);
    cw_model *model = build(&t);
    cw_identity_tables *tables;
    cw_chain *chain;
    cw_asker *asker;
    cw_advice advice;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_ask_limits limits = {.stage = CW_IDENTIFY, .enough_bits = -1, .sure = 2};
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cr_assert_eq(cw_asker_new(model, tables, &cw_system_allocator, &asker), CW_OK);
    cr_assert_eq(cw_ask_next(asker, chain, &limits, arena, &advice), CW_OK);
    for (size_t i = 0; i < count; i++) {
        double bits = 0;
        for (size_t k = 0; k < advice.count; k++)
            if (strcmp(model->checks[advice.checks[k].check].name, gains[i].column) == 0)
                bits = advice.checks[k].bits;
        cr_assert_float_eq(bits, gains[i].bits, within, "%s: %.6f, not %.6f", gains[i].column, bits,
                           gains[i].bits);
    }
    cr_assert_str_eq(model->checks[advice.checks[0].check].name, gains[0].column);
    cw_arena_free(arena);
    cw_asker_free(asker);
    cw_chain_free(chain);
    cw_identity_tables_free(tables);
    cw_model_free(model);
}

Test(quinlan, saturday_mornings)
{
    const gain gains[] = {
        {"outlook", 0.2467}, {"humidity", 0.1518}, {"windy", 0.0481}, {"temperature", 0.0292}};
    compare("quinlan/weather.csv", "class", gains, 4, 0.00005);
}

Test(quinlan, contact_lenses)
{
    const gain gains[] = {
        {"tear-prod-rate", 0.5488}, {"astigmatism", 0.3770}, {"spectacle-prescrip", 0.0395}, {"age", 0.0394}};
    compare("quinlan/lenses.csv", "contact-lenses", gains, 4, 0.00005);
}

Test(quinlan, zoo)
{
    const gain gains[] = {{"legs", 1.3630}, {"milk", 0.9743}, {"toothed", 0.8657},
                          {"eggs", 0.8301}, {"hair", 0.7907}, {"feathers", 0.7179}};
    compare("zoo/zoo.csv", "type", gains, 6, 0.00005);
}

Test(quinlan, mushrooms)
{
    const gain gains[] = {
        {"odor", 0.9061}, {"spore-print-color", 0.4807}, {"gill-color", 0.4170}, {"ring-type", 0.3180}};
    compare("mushroom/mushroom.csv", "edibility", gains, 4, 0.00005);
}
