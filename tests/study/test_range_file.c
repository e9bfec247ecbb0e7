/* src/study/range_file.c and range_variant.c: a range read, its mistakes told, and a vehicle's
 * study in a market. */
#include "study/common.h"

#include <math.h>
#include <unistd.h>

#include "sheave/model.h"
#include "sheave/range_file.h"

#define RANGE "tests/study/range.cfg"
#define near(value, expected, most) assert_true(fabs((value) - (expected)) <= (most))

static struct shv_range_file range;

static int load_range(void **state)
{
    (void)state;
    struct shv_diagnostics findings = {0};
    int status = chdir(SHEAVE_SOURCE_DIR);
    memset(&range, 0xa5, sizeof range); /* poison: a field that is not set will show */
    assert_int_equal(shv_range_file_load(RANGE, &range, &findings), SHV_OK);
    assert_int_equal(findings.count, 0);
    shv_diagnostics_free(&findings);
    return status;
}

static int free_range(void **state)
{
    (void)state;
    shv_range_file_free(&range);
    shv_range_file_free(&range); /* twice is safe */
    return 0;
}

static void test_top(void **state)
{
    (void)state;
    assert_string_equal(range.path, RANGE);
    assert_string_equal(range.title, "every key of a range");
    assert_string_equal(range.currency, "EUR");
    assert_string_equal(range.folder, "results/elsewhere");
    assert_int_equal(range.value, SHV_RANGE_PROFIT);
    assert_int_equal(range.choose, SHV_RANGE_KNEE);
    assert_int_equal(range.units, SHV_US);
    assert_int_equal(range.most_parts, 9);
    assert_int_equal(range.fuel_count, 2);
    assert_string_equal(range.fuel[1].name, "good");
}

static void test_vehicles(void **state)
{
    (void)state;
    assert_int_equal(range.vehicle_count, 3);
    const struct shv_range_vehicle *v = range.vehicle;
    assert_string_equal(v[0].name, "plain");
    assert_string_equal(v[0].study, "tests/study/minimal.cfg"); /* relative to the range file */
    assert_int_equal(v[0].family, SHV_NONE);
    assert_int_equal(v[0].power, SHV_RANGE_POWER_STUDY);
    assert_int_equal(v[0].shelf.numbers[SHV_DIM_CRANK_PULLEY].count, 2);
    near(v[0].shelf.numbers[SHV_DIM_CRANK_PULLEY].values[1], 0.145, 1e-12);
    assert_int_equal(v[0].shelf.numbers[SHV_DIM_BLOWER_PULLEY].count, 0);
    assert_int_equal(v[0].shelf.cores, 3);
    assert_int_equal(v[1].family, 0);
    assert_int_equal(v[2].family, 0);
    assert_string_equal(range.family[0], "heavy");
    assert_int_equal(v[1].power, SHV_RANGE_POWER_PEAK);
    /* Its own where it has one. */
    assert_int_equal(v[1].shelf.numbers[SHV_DIM_CRANK_PULLEY].count, 1);
    near(v[1].shelf.numbers[SHV_DIM_CRANK_PULLEY].values[0], 0.120, 1e-12);
    assert_int_equal(v[1].shelf.numbers[SHV_DIM_BLOWER_PULLEY].count, 3);
    assert_int_equal(v[1].shelf.numbers[SHV_DIM_LAMBDA].count, 1);
    assert_int_equal(v[1].shelf.cores, 1);
}

static void test_markets(void **state)
{
    (void)state;
    assert_int_equal(range.market_count, 2);
    const struct shv_range_market *m = range.market;
    assert_int_equal(m[0].fuel, 1);
    assert_int_equal(m[0].site_count, 2);
    assert_string_equal(m[0].sites[1].name, "hill");
    near(m[0].sites[1].ambient.pressure, 90e3, 1e-6);
    for (size_t v = 0; v < 3; v++) {
        near(m[0].sales[v], 12.0, 1e-12);
    }
    near(m[1].sales[0], 0.0, 1e-12); /* not named */
    near(m[1].sales[1], 7.0, 1e-12);
}

static void test_tiers_and_stock(void **state)
{
    (void)state;
    assert_int_equal(range.tier_count, 2);
    const struct shv_range_tier *t = range.tier;
    assert_int_equal(t[0].cooler, SHV_RANGE_COOLER_WITHOUT);
    near(t[0].most_price, 4000.0, 1e-9);
    near(t[0].most_mass, 40.0, 1e-9);
    near(t[0].least_power, 60e3, 1e-6);
    near(t[0].least_share, 0.8, 1e-12);
    near(t[0].sale_price, 5000.0, 1e-9);
    near(t[0].sale_per_watt, 0.03, 1e-12);
    assert_true(isinf(t[1].most_price) && isinf(t[1].most_mass));
    assert_int_equal(t[1].cooler, SHV_RANGE_COOLER_ANY);
    const struct shv_range_kind *k = range.kind;
    assert_true(k[SHV_STOCK_BLOWER].counts);
    assert_int_equal(k[SHV_STOCK_BLOWER].most, 2);
    near(k[SHV_STOCK_BLOWER].cost, 400.0, 1e-9);
    assert_int_equal(k[SHV_STOCK_CRANK_PULLEY].most, SHV_NONE);
    assert_false(k[SHV_STOCK_INJECTOR].counts);
    assert_string_equal(k[SHV_STOCK_PUMP].not_stocked, "pump-stock");
    assert_null(k[SHV_STOCK_COOLER].not_stocked);
}

/* ---- a study in a market ---- */

static struct shv_range_variant load_variant(size_t vehicle, size_t market)
{
    struct shv_range_variant v;
    struct shv_diagnostics findings = {0};
    assert_int_equal(shv_range_variant_load(&range, vehicle, market, &v, &findings), SHV_OK);
    assert_int_equal(findings.errors, 0);
    shv_diagnostics_free(&findings);
    return v;
}

static void test_variant(void **state)
{
    (void)state;
    struct shv_range_variant v = load_variant(1, 0);
    const struct shv_study *s = &v.study;
    assert_int_equal(s->site_count, 2);
    assert_string_equal(s->sites[0].name, "shore");
    assert_int_equal(s->fuel_count, 1);
    assert_string_equal(s->fuels[0].name, "good");
    /* The stock engine keeps its fuel. */
    struct shv_study plain;
    struct shv_diagnostics findings = {0};
    assert_int_equal(shv_study_load(range.vehicle[1].study, &plain, &findings), SHV_OK);
    shv_diagnostics_free(&findings);
    assert_string_equal(s->fuels[s->engine.stock_fuel].name,
                        plain.fuels[plain.engine.stock_fuel].name);
    shv_study_free(&plain);
    assert_int_equal(s->numbers[SHV_DIM_CRANK_PULLEY].count, 1);
    assert_int_equal(s->numbers[SHV_DIM_BLOWER_PULLEY].count, 3);
    near(s->numbers[SHV_DIM_LAMBDA].values[0], 0.9, 1e-12);
    assert_int_equal(s->objective.kind, SHV_OBJECTIVE_PEAK_POWER);
    struct shv_model *model;
    struct shv_message message;
    assert_int_equal(shv_model_create(s, &model, &message), SHV_OK);
    shv_model_free(model);
    shv_range_variant_free(&v);
    shv_range_variant_free(&v); /* twice is safe */
}

/* The hash is that of what decides a sweep: another market is another sweep, another tier is not.
 */
static void test_hash_of_a_variant(void **state)
{
    (void)state;
    struct shv_range_variant a = load_variant(1, 0), b = load_variant(1, 1), c;
    assert_string_not_equal(a.study.sha256_all, b.study.sha256_all);
    double price = range.tier[0].most_price,
           crank = range.vehicle[1].shelf.numbers[SHV_DIM_CRANK_PULLEY].values[0];
    range.tier[0].most_price = 1.0;
    c = load_variant(1, 0);
    assert_string_equal(a.study.sha256_all, c.study.sha256_all);
    shv_range_variant_free(&c);
    range.tier[0].most_price = price;
    range.vehicle[1].shelf.numbers[SHV_DIM_CRANK_PULLEY].values[0] = 0.125;
    c = load_variant(1, 0);
    assert_string_not_equal(a.study.sha256_all, c.study.sha256_all);
    range.vehicle[1].shelf.numbers[SHV_DIM_CRANK_PULLEY].values[0] = crank;
    shv_range_variant_free(&a);
    shv_range_variant_free(&b);
    shv_range_variant_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_top),     cmocka_unit_test(test_vehicles),
        cmocka_unit_test(test_markets), cmocka_unit_test(test_tiers_and_stock),
        cmocka_unit_test(test_variant), cmocka_unit_test(test_hash_of_a_variant),
    };
    return cmocka_run_group_tests(tests, load_range, free_range);
}
