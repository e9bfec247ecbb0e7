/* src/report/plot/plot_curves.c */
#include "report/drawn.h"

static void test_power_has_stock_and_the_first_of_each_choice(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_power);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "'power, kW'"));
    assert_non_null(strstr(d.script, "'torque, N m'"));
    assert_non_null(strstr(d.script, "'stock engine'"));
    assert_non_null(strstr(d.script, "'strongest on paper: "));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

/* The same choice with another pulley is not drawn again. */
static void test_alike_kits_are_drawn_once(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv",
                 "rank,blower,cooler,fuel,ratio\r\n1,a,none,x,1.5\r\n2,a,none,x,1.6\r\n");
    struct drawn d = draw_plot(f->folder, plot_power);
    assert_non_null(strstr(d.script, "'strongest on paper: a, x, ratio 1.500'"));
    assert_null(strstr(d.script, "'row 2: "));
    drawn_free(&d);
}

static void test_sites(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_sites);
    assert_true(d.any);
    assert_int_equal(d.blocks, 4);
    assert_non_null(strstr(d.script, "title 'shore'"));
    assert_non_null(strstr(d.script, "'stock engine there, thin'"));
    drawn_free(&d);
}

/* The kit to sell goes first, in every drawing, and each site has one colour. */
static void test_the_kit_to_sell_goes_first(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv",
                 "rank,role,blower,cooler,fuel,ratio\r\n1,strongest on paper,a,none,x,1.5\r\n"
                 "2,kit to sell,b,none,x,1.4\r\n");
    folder_write(f->folder, "curves.csv",
                 "rank,site,engine_speed_rpm,power_kW,torque_Nm\r\n1,shore,2000,11,50\r\n"
                 "1,hill,2000,12,51\r\n2,shore,2000,21,60\r\n2,hill,2000,22,61\r\n");
    struct drawn d = draw_plot(f->folder, plot_sites);
    assert_true(strncmp(d.data, "2000 21 \n", 9) == 0);
    assert_non_null(
        strstr(d.script, "data index 1 using 1:2 with linespoints ls 2 lw 2.2 title 'hill'"));
    drawn_free(&d);
    d = draw_plot(f->folder, plot_power);
    const char *sell = strstr(d.script, "'kit to sell: b, x, ratio 1.400'");
    const char *paper = strstr(d.script, "'strongest on paper: a, x, ratio 1.500'");
    assert_true(sell && paper && sell < paper);
    drawn_free(&d);
}

static void test_site_names_fit(void **state)
{
    (void)state;
    char room[PLOT_QUOTE];
    assert_string_equal(plot_site(room, "pass", 6), "pass");
    assert_string_equal(plot_site(room, "a name of just thirty letters.", 2),
                        "a name of just thirty letters.");
    assert_string_equal(plot_site(room, "a name of just thirty letters.", 3),
                        "a name of just th...");
    assert_string_equal(plot_site(room, "a name of just thirty letters.", 5), "a name of j...");
}

static void test_air_has_limits(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_air);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "limit, 75.0 kPa"));
    assert_non_null(strstr(d.script, "limit of charge, 86.")); /* 360 K */
    assert_non_null(strstr(d.script, "'rotor speed, rpm'"));
    drawn_free(&d);
}

static void test_phasing_only_with_the_closed_cycle(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_phasing);
    assert_false(d.any);
    drawn_free(&d);
    folder_write(f->folder, "curves.csv",
                 "rank,site,engine_speed_rpm,ca50_deg,phasing_retard_deg\r\n1,shore,2000,12,4\r\n");
    d = draw_plot(f->folder, plot_phasing);
    assert_true(d.any);
    assert_true(strncmp(d.data, "2000 12 4 \n", 11) == 0);
    const char *upper = strstr(d.script, "half burnt after top dead centre, deg");
    assert_non_null(upper);
    assert_true(strstr(d.script, "set multiplot") < upper);
    const char *lower = strstr(upper, "'retard, deg'");
    assert_non_null(lower);
    assert_non_null(strstr(lower, "unset multiplot"));
    drawn_free(&d);
}

static void test_each_kit_by_itself(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_single);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "do for [kit=1:2]"));
    assert_non_null(strstr(d.script, "sprintf('row-%s.svg', word(ranks, kit)).part"));
    assert_int_equal(d.blocks, 2 * 2 + 1); /* kits times sites, and the stock engine */
    drawn_free(&d);
}

static void test_without_kits_there_is_little(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv", "rank\r\n");
    folder_write(f->folder, "curves.csv", "rank\r\n");
    bool (*const none[])(struct plot *) = {plot_sites, plot_air, plot_phasing, plot_single};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        struct drawn d = draw_plot(f->folder, none[i]);
        assert_false(d.any);
        drawn_free(&d);
    }
    struct drawn d = draw_plot(f->folder, plot_power);
    assert_true(d.any); /* the stock engine is known */
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_power_has_stock_and_the_first_of_each_choice,
                                        folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_alike_kits_are_drawn_once, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_sites, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_the_kit_to_sell_goes_first, folder_setup,
                                        folder_teardown),
        cmocka_unit_test(test_site_names_fit),
        cmocka_unit_test_setup_teardown(test_air_has_limits, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_phasing_only_with_the_closed_cycle, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_each_kit_by_itself, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_without_kits_there_is_little, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
