/* Against SQLite: one query sums over all sets of causes. */
#include "network.h"
#include <criterion/criterion.h>
#include <sqlite3.h>
#include <stdio.h>

/* The product of a column, 1 of none. */
static void product_step(sqlite3_context *context, int count, sqlite3_value **values)
{
    double *product = sqlite3_aggregate_context(context, 2 * sizeof *product);
    (void)count;
    if (product[1] == 0)
        product[0] = product[1] = 1;
    product[0] *= sqlite3_value_double(values[0]);
}

static void product_final(sqlite3_context *context)
{
    const double *product = sqlite3_aggregate_context(context, 0);
    sqlite3_result_double(context, product == NULL ? 1 : product[0]);
}

/* A finding's value is the worst that the background and the causes present draw: P(it or less) less P(less).
 */
static const char query[] =
    "WITH RECURSIVE s(x) AS (SELECT 0 UNION ALL SELECT x + 1 FROM s WHERE x + 1 < 1 << (SELECT count(*) FROM "
    "cause)), "
    "w(x, p) AS MATERIALIZED (SELECT x, "
    "(SELECT product(CASE WHEN x >> id & 1 THEN 1 - absent ELSE absent END) FROM (SELECT id, (1 - own) * "
    "(SELECT product(1 - chance) FROM link WHERE child = cause.id AND x >> parent & 1) AS absent FROM "
    "cause)) "
    "* (SELECT product(most * (SELECT product(sign.most) FROM sign WHERE finding = finding.id AND x >> cause "
    "& 1) - less * (SELECT product(sign.less) FROM sign WHERE finding = finding.id AND x >> cause & 1)) FROM "
    "finding) FROM s) "
    "SELECT id, sum(CASE WHEN x >> id & 1 THEN p ELSE 0 END) / sum(p), sum(p) FROM w, cause GROUP BY id";

static void run(sqlite3 *db, const char *sql)
{
    char *message = NULL;
    cr_assert_eq(sqlite3_exec(db, sql, NULL, NULL, &message), SQLITE_OK, "%s", message);
}

static void insert(sqlite3 *db, const char *table, const double *row, int count)
{
    char sql[256];
    int used = snprintf(sql, sizeof sql, "INSERT INTO %s VALUES (", table);
    for (int i = 0; i < count; i++)
        used += snprintf(sql + used, sizeof sql - (size_t)used, "%s%.17g", i > 0 ? "," : "", row[i]);
    snprintf(sql + used, sizeof sql - (size_t)used, ")");
    run(db, sql);
}

static void split(const double *chances, uint32_t value, double *most, double *less)
{
    *less = 0;
    for (uint32_t v = 0; v < value; v++)
        *less += chances[v];
    *most = *less + chances[value];
}

static void fill(sqlite3 *db, const sums_network *net)
{
    double most, less;
    run(db, "BEGIN; DELETE FROM cause; DELETE FROM link; DELETE FROM finding; DELETE FROM sign");
    for (uint32_t c = 0; c < net->cause_count; c++)
        insert(db, "cause", (double[]){c, net->own[c]}, 2);
    for (uint32_t i = 0; i < net->link_count; i++)
        insert(db, "link", (double[]){net->links[i].from, net->links[i].to, net->links[i].chance}, 3);
    for (uint32_t f = 0; f < net->finding_count; f++) {
        split(net->findings[f].background, net->findings[f].seen, &most, &less);
        insert(db, "finding", (double[]){f, most, less}, 3);
    }
    for (uint32_t i = 0; i < net->sign_count; i++) {
        const sums_sign *sign = &net->signs[i];
        split(sign->chances, net->findings[sign->finding].seen, &most, &less);
        insert(db, "sign", (double[]){sign->cause, sign->finding, most, less}, 4);
    }
    run(db, "COMMIT");
}

static double ask(sqlite3 *db, const sums_network *net, double *by_cause)
{
    sqlite3_stmt *statement;
    double evidence = 0;
    fill(db, net);
    cr_assert_eq(sqlite3_prepare_v2(db, query, -1, &statement, NULL), SQLITE_OK, "%s", sqlite3_errmsg(db));
    uint32_t rows = 0;
    for (; sqlite3_step(statement) == SQLITE_ROW; rows++) {
        by_cause[sqlite3_column_int(statement, 0)] = sqlite3_column_double(statement, 1);
        evidence = sqlite3_column_double(statement, 2);
    }
    cr_assert_eq(rows, net->cause_count);
    sqlite3_finalize(statement);
    return evidence;
}

static sqlite3 *open_database(void)
{
    sqlite3 *db = NULL;
    cr_assert_eq(sqlite3_open(":memory:", &db), SQLITE_OK);
    cr_assert_eq(sqlite3_create_function(db, "product", 1, SQLITE_UTF8 | SQLITE_DETERMINISTIC, NULL, NULL,
                                         product_step, product_final),
                 SQLITE_OK);
    run(db, "CREATE TABLE cause (id INTEGER PRIMARY KEY, own REAL);"
            "CREATE TABLE link (parent INTEGER, child INTEGER, chance REAL); CREATE INDEX l ON link (child);"
            "CREATE TABLE finding (id INTEGER PRIMARY KEY, most REAL, less REAL);"
            "CREATE TABLE sign (cause INTEGER, finding INTEGER, most REAL, less REAL);"
            "CREATE INDEX g ON sign (finding)");
    return db;
}

/* One in fifty has fourteen causes, the others up to eight. */
static uint32_t causes_of(random_state *random, int round)
{
    return round % 50 == 0 ? 14 : 1 + random_below(random, 8);
}

Test(sums, five_hundred_networks_equal_a_database)
{
    sqlite3 *db = open_database();
    random_state random = random_start(21);
    static sums_network net;
    int bounded = 0;
    for (int round = 0; round < 500; round++) {
        double want[SUMS_CAUSES], got[SUMS_CAUSES], low[SUMS_CAUSES], high[SUMS_CAUSES];
        const uint32_t causes = causes_of(&random, round);
        sums_dense(&net, &random, causes, 1 + random_below(&random, 10));
        const double evidence = ask(db, &net, want), ours = sums_rank(&net, got);
        cr_assert_float_eq(ours / evidence, 1, 1e-9);
        sums_bounds(&net, 100 + random_below(&random, 5000), low, high);
        for (uint32_t c = 0; c < net.cause_count; c++) {
            cr_assert_float_eq(got[c], want[c], 1e-9);
            cr_assert(low[c] <= want[c] + 1e-12 && want[c] <= high[c] + 1e-12);
            bounded += high[c] - low[c] > 1e-9 && high[c] - low[c] < 1;
        }
    }
    cr_assert_gt(bounded, 200, "bounds that say something: %d", bounded);
    sqlite3_close(db);
}
