/* src/study/sales.c: spreads and lists of sales in a range file. What is told of wrong ones:
 * tests/cli/cases/plan/sales_wrong.case. */
#include "study/common.h"

#include <unistd.h>

#include "sheave/range_file.h"
#include "study/sales.h"

static const char around[] =
    "title = \"sales\";\n"
    "catalogue = { fuels = ( { name = \"fair\"; stoichiometric = 14.6; heating_value = \"43.4 "
    "MJ/kg\";"
    " density = \"745 kg/m3\"; } ); };\n"
    "fuels = [ \"fair\" ];\n"
    "vehicles = ( { name = \"car\"; study = \"minimal.cfg\"; }, { name = \"van\"; study = "
    "\"minimal.cfg\"; } );\n"
    "tiers = ( { name = \"only\"; share = 1; } );\n";

static void load(struct shv_range_file *range, const char *scenarios, const char *sales)
{
    char path[] = "tests/study/sales_XXXXXX", text[2048];
    int descriptor = mkstemp(path);
    struct shv_diagnostics findings = {0};
    assert_true(descriptor >= 0 && close(descriptor) == 0);
    snprintf(text, sizeof text,
             "%s%smarkets = ( { name = \"here\"; fuel = \"fair\"; %s sites = ( { name = \"top\"; "
             "altitude = \"0 m\"; } ); } );\n",
             around, scenarios, sales);
    write_text(path, text);
    enum shv_status status = shv_range_file_load(path, range, &findings);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(findings.count, 0);
    assert_int_equal(status, SHV_OK);
    shv_diagnostics_free(&findings);
}

static void test_certain(void **state)
{
    (void)state;
    struct shv_range_file range;
    load(&range, "", "sales = 12;");
    assert_int_equal(range.scenario_count, 0);
    assert_near(range.market[0].sales[1], 12.0, 1e-12);
    shv_range_file_free(&range);
    load(&range, "", "");
    assert_true(range.market[0].sales[0] == 0.0);
    shv_range_file_free(&range);
}

static void test_spread(void **state)
{
    (void)state;
    struct shv_range_file range;
    load(&range, "",
         "sales = 5; sales_of = ( { vehicle = \"van\"; sales = { low = 20; likely = 40; high = 70; "
         "}; } "
         ");");
    assert_int_equal(range.scenario_count, 3);
    assert_string_equal(range.scenario[0].name, "low");
    assert_near(range.scenario[1].weight, 0.4, 1e-12);
    const double *in = range.market[0].sales_in;
    assert_true(in[0] == 5.0 && in[1] == 5.0 && in[2] == 5.0);
    assert_true(in[3] == 20.0 && in[4] == 40.0 && in[5] == 70.0);
    assert_near(range.market[0].sales[0], 5.0, 1e-12);
    assert_near(range.market[0].sales[1], 0.3 * 20.0 + 0.4 * 40.0 + 0.3 * 70.0, 1e-12);
    shv_range_file_free(&range);
}

static void test_scenarios(void **state)
{
    (void)state;
    struct shv_range_file range;
    load(&range,
         "scenarios = ( { name = \"poor\"; weight = \"25 %\"; }, { name = \"rich\"; weight = 0.75; "
         "} "
         ");\n",
         "sales = [ 8, 16 ]; sales_of = ( { vehicle = \"van\"; sales = 3; } );");
    assert_int_equal(range.scenario_count, 2);
    assert_string_equal(range.scenario[1].name, "rich");
    const double *in = range.market[0].sales_in;
    assert_true(in[0] == 8.0 && in[1] == 16.0 && in[2] == 3.0 && in[3] == 3.0);
    assert_near(range.market[0].sales[0], 14.0, 1e-12);
    assert_near(range.market[0].sales[1], 3.0, 1e-12);
    shv_range_file_free(&range);
}

/* Of a normal distribution, whose 10 % and 90 % points lie 1.28155 deviations off its mean, the
 * three points keep mean and deviation within 1 %. Of a lognormal one with a deviation of half its
 * mean they keep the mean as well, but only 91 % of the deviation: its long tail is beyond them. */
static void test_weights_keep_mean_and_deviation(void **state)
{
    (void)state;
    double weights = 0.0, deviation = 0.0, mean = 0.0, square = 0.0;
    const double normal[SALES_OF_SPREAD] = {-1.281552, 0.0, 1.281552};
    const double of_log = sqrt(log(1.25)); /* so that deviation/mean is 0.5 */
    for (size_t i = 0; i < SALES_OF_SPREAD; i++) {
        double w = sales_spread[i].weight, x = exp(of_log * normal[i] - 0.5 * of_log * of_log);
        weights += w;
        deviation += w * normal[i] * normal[i];
        mean += w * x;
        square += w * x * x;
    }
    assert_near(weights, 1.0, 1e-12);
    assert_near(sqrt(deviation), 1.0, 0.01);
    assert_near(mean, 1.0, 0.01);
    assert_near(sqrt(square - mean * mean), 0.5 * 0.906, 0.01);
}

static int enter(void **state)
{
    (void)state;
    return chdir(SHEAVE_SOURCE_DIR);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_certain),
        cmocka_unit_test(test_spread),
        cmocka_unit_test(test_scenarios),
        cmocka_unit_test(test_weights_keep_mean_and_deviation),
    };
    return cmocka_run_group_tests(tests, enter, NULL);
}
