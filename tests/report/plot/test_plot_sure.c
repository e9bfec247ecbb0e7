/* src/report/plot/plot_sure.c */
#include "report/drawn.h"

static void test_kits_between_their_percentiles(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "sure.csv",
                 "kind,rank,blower,all_hold_pct,objective_p5_power_kW,objective_p5_power_error_kW,"
                 "objective_p50_power_kW,objective_p95_power_kW\r\nranked,1,b's,61,100,0.1,106,111"
                 "\r\nsought,1,c,99,96,0.1,101,105\r\n");
    struct drawn d = draw_plot(f->folder, plot_sure);
    assert_true(d.any);
    assert_ptr_equal(strstr(d.data, "106 0 100 111 \n101 1 96 105 \n\n\n"), d.data);
    assert_non_null(strstr(d.data, "30.5 0 0 61 -0.3 0.3 \n"));
    assert_non_null(strstr(d.script, "('kit 1: b''s' 0)"));
    assert_non_null(strstr(d.script, "('surer 1: c' 1)"));
    assert_null(strstr(d.script, "wanted"));
    drawn_free(&d);
}

/* The kit to sell stands first, and the probability that is wanted is a line. */
static void test_kit_to_sell_first(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "manifest.cfg",
                 "study = { units = \"metric\"; };\nkits = { wanted_pct = 95.0; };\n");
    folder_write(f->folder, "ranked.csv",
                 "rank,index,role\r\n1,7,strongest on paper\r\n2,9,kit to sell\r\n");
    folder_write(f->folder, "sure.csv",
                 "kind,rank,index,blower,all_hold_pct,objective_p5_power_kW,objective_p50_power_kW,"
                 "objective_p95_power_kW\r\nranked,1,7,b,61,100,106,111\r\n"
                 "sought,1,9,c,99,96,101,105\r\n");
    folder_write(f->folder, "sensitivities.csv",
                 "kind,rank,tolerance,quantity,share_of_variance_pct\r\nranked,1,creep,objective,60"
                 "\r\nsought,1,creep,objective,20\r\nsought,1,knock,objective,70\r\n");
    struct drawn d = draw_plot(f->folder, plot_sure);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "('kit to sell: c' 0)"));
    assert_non_null(strstr(d.script, "('kit 1: b' 1)"));
    assert_non_null(strstr(d.script, "from first 95, graph 0"));
    assert_non_null(strstr(d.script, "'wanted 95 %'"));
    assert_ptr_equal(strstr(d.data, "101 0 96 105 \n106 1 100 111 \n\n\n"), d.data);
    drawn_free(&d);
    d = draw_plot(f->folder, plot_matters);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "('ignition delay' 0)")); /* the largest, by its title */
    assert_non_null(strstr(d.script, "('creep' 1)"));
    assert_null(strstr(d.data, "60"));
    drawn_free(&d);
}

static void test_tolerances_of_the_first_kit(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "sensitivities.csv",
                 "kind,rank,tolerance,quantity,share_of_variance_pct\r\nranked,1,leak,objective,60"
                 "\r\nranked,1,leak,boost,9\r\nranked,2,leak,objective,8\r\nranked,1,creep,"
                 "objective,-2\r\n");
    struct drawn d = draw_plot(f->folder, plot_matters);
    assert_true(d.any);
    assert_ptr_equal(strstr(d.data, "30 0 0 60 -0.34 0.34 \n-1 1 -2 0 0.66 1.34 \n\n\n"), d.data);
    drawn_free(&d);
}

/* The most first, each kind in a block of its own; what is worth next to nothing is left out. */
static void test_what_to_measure(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "worth_knowing.csv",
                 "kind,name,tells,gain_power_kW,gain_power_error_kW,other_kit_pct\r\n"
                 "tolerance,leakage,leakage,0.8,0.01,60\r\ntolerance,creep,creep,0.001,0,0\r\n"
                 "measurement,stock_dyno,volumetric_efficiency,1.2,0.02,70\r\n");
    struct drawn d = draw_plot(f->folder, plot_worth_knowing);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "('dyno run, stock engine' 0)"));
    assert_non_null(strstr(d.script, "('leakage' 1)"));
    assert_null(strstr(d.script, "creep"));
    assert_ptr_equal(strstr(d.data, "0.6 0 0 1.2 -0.34 0.34 \n\n\n0.4 1 0 0.8 0.66 1.34 \n\n\n"),
                     d.data);
    drawn_free(&d);
}

static void test_nothing_without_tolerances(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_sure);
    assert_false(d.any);
    drawn_free(&d);
    d = draw_plot(f->folder, plot_matters);
    assert_false(d.any);
    drawn_free(&d);
    d = draw_plot(f->folder, plot_worth_knowing);
    assert_false(d.any);
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_kits_between_their_percentiles, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_kit_to_sell_first, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_tolerances_of_the_first_kit, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_what_to_measure, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_without_tolerances, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
