/* range.csv, stock.csv and curve.csv of a plan by hand. */
#include "report/made_range.h"

#include <unistd.h>

static char folder[64];
static struct made_range m;

static int begin(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/sheave-range-XXXXXX");
    assert_non_null(mkdtemp(folder));
    made_range_begin(&m);
    return 0;
}

static int end(void **state)
{
    (void)state;
    static const char *const names[] = {"range.csv", "stock.csv", "curve.csv", "scenarios.csv"};
    for (size_t i = 0; i < 4; i++) {
        char path[128];
        (void)snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        (void)unlink(path);
    }
    return rmdir(folder);
}

static struct csv *read_csv(const char *name, size_t records)
{
    struct csv *csv = csv_parse(read_whole(folder, name));
    assert_even(csv);
    assert_int_equal(csv->records, records);
    return csv;
}

struct expected {
    const char *name, *first, *second;
};

static void assert_cells(const struct csv *csv, const struct expected *e, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(csv_at(csv, 1, e[i].name), e[i].first);
        assert_string_equal(csv_at(csv, 2, e[i].name), e[i].second);
    }
}

static void kits(void **state)
{
    (void)state;
    static const struct expected e[] = {{"vehicle", "car", "boat"},
                                        {"market", "coast", "coast"},
                                        {"tier", "plain", "full"},
                                        {"sales", "30", "12.5"},
                                        {"power_kW", "90", "120"},
                                        {"best_power_kW", "100", "125"},
                                        {"power_lost_pct", "10", "4"},
                                        {"price", "2500", "3200.5"},
                                        {"mass_kg", "30.25", "30.25"},
                                        {"least_room_pct", "3.4", "12"},
                                        {"binding_limit", "boost", "boost"},
                                        {"binding_site", "pier", "pier"},
                                        {"binding_speed_rpm", "6000", "6000"},
                                        {"blower", "small", "large"},
                                        {"crank_pulley_mm", "145", "145"},
                                        {"blower_pulley_mm", "80", "70"},
                                        {"ratio", "1.8", "2.05"},
                                        {"cooler", "none", "core"},
                                        {"effectiveness", "0", "0.65"},
                                        {"fuel", "pump", "pump"},
                                        {"lambda", "0.88", "0.88"},
                                        {"ignition_margin_deg", "2", "2"},
                                        {"injector", "port", ""},
                                        {"injector_flow_cm3_min", "600", ""},
                                        {"pump", "", ""},
                                        {"ribs", "6", ""},
                                        {"wrap_deg", "", "150"},
                                        {"feasible_kits", "40", "41"},
                                        {"kits_kept", "7", "8"},
                                        {"combination", "17", "4711"}};
    assert_int_equal(shv_report_range(&m.run, folder, NULL), SHV_OK);
    struct csv *csv = read_csv("range.csv", 3);
    assert_cells(csv, e, sizeof e / sizeof *e);
    csv_free(csv);
}

static void stock(void **state)
{
    (void)state;
    assert_int_equal(shv_report_range(&m.run, folder, NULL), SHV_OK);
    struct csv *csv = read_csv("stock.csv", 6); /* the core is not in stock */
    static const struct expected e[] = {{"kind", "blower", "blower"},
                                        {"part", "small", "large"},
                                        {"kits_a_year", "30", "12.5"},
                                        {"pieces_a_year", "30", "12.5"},
                                        {"groups", "1", "1"},
                                        {"cost_of_stock", "0", "50"},
                                        {"used_in", "car, coast, plain", "boat, coast, full"}};
    assert_cells(csv, e, sizeof e / sizeof *e);
    assert_string_equal(csv_at(csv, 3, "part"), "145 mm");
    assert_string_equal(csv_at(csv, 3, "kind"), "crank_pulley");
    assert_string_equal(csv_at(csv, 3, "kits_a_year"), "42.5");
    assert_string_equal(csv_at(csv, 3, "groups"), "2");
    assert_string_equal(csv_at(csv, 3, "used_in"), "car, coast, plain; boat, coast, full");
    csv_free(csv);
}

static void curve(void **state)
{
    (void)state;
    m.result.knee = 1;
    assert_int_equal(shv_report_range(&m.run, folder, NULL), SHV_OK);
    struct csv *csv = read_csv("curve.csv", 4);
    static const struct expected e[] = {{"parts_allowed", "3", "4"},
                                        {"parts", "3", "4"},
                                        {"blowers", "1", "2"},
                                        {"crank_pulleys", "1", "1"},
                                        {"blower_pulleys", "1", "2"},
                                        {"coolers", "0", "0"},
                                        {"value_power_kW", "1000", "1150"},
                                        {"value_share", "", ""},
                                        {"value_profit", "", ""},
                                        {"gain_pct", "", "12"},
                                        {"lost_pct", "20", "8"},
                                        {"gap_pct", "5", "0"},
                                        {"proven", "no", "yes"},
                                        {"settled", "no", "no"},
                                        {"knee", "no", "yes"},
                                        {"plan", "no", "yes"}};
    assert_cells(csv, e, sizeof e / sizeof *e);
    assert_string_equal(csv_at(csv, 3, "coolers"), "1");
    assert_string_equal(csv_at(csv, 3, "gain_pct"), "8");
    assert_string_equal(csv_at(csv, 3, "settled"), "yes");
    assert_false(csv_has(csv, "worst_scenario"));
    csv_free(csv);
    m.kits.problem.value = SHV_RANGE_PROFIT; /* money stays as it is */
    assert_int_equal(shv_report_range(&m.run, folder, NULL), SHV_OK);
    csv = read_csv("curve.csv", 4);
    assert_string_equal(csv_at(csv, 1, "value_profit"), "1000000");
    assert_string_equal(csv_at(csv, 1, "value_power_kW"), "");
    csv_free(csv);
}

static void curve_of_scenarios(void **state)
{
    (void)state;
    made_range_scenarios(&m);
    assert_int_equal(shv_report_range(&m.run, folder, NULL), SHV_OK);
    struct csv *csv = read_csv("curve.csv", 4);
    static const struct expected e[] = {{"worst_value_power_kW", "500", "575"},
                                        {"worst_scenario", "calm", "storm"},
                                        {"worst_gain_pct", "", "12"}};
    assert_cells(csv, e, sizeof e / sizeof *e);
    csv_free(csv);
    assert_non_null(read_whole(folder, "scenarios.csv"));
}

static void trouble(void **state)
{
    (void)state;
    struct shv_message message = {""};
    assert_int_equal(shv_report_range(&m.run, "/no/such", &message), SHV_IO);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {TEST(kits), TEST(stock), TEST(curve),
                                       TEST(curve_of_scenarios), TEST(trouble)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
