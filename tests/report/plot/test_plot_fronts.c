/* src/report/plot/plot_fronts.c */
#include "report/drawn.h"

#define HEAD                                                                                       \
    "front,best,against,third,objective_power_kW,traded_power_kW,traded_charge_temperature_degC,"  \
    "price,mass_kg\r\n"

static void test_a_panel_for_each_front(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "tradeoffs.csv",
                 HEAD "1,power,price,,90,143,,4500,30\r\n1,power,price,,85,135,,4000,31\r\n"
                      "2,objective,charge_temperature,mass,90,,88,4500,30\r\n");
    struct drawn d = draw_plot(f->folder, plot_fronts);
    assert_true(d.any);
    assert_int_equal(d.blocks, 2);
    assert_non_null(strstr(d.data, "4500 143 \n4000 135 \n\n\n88 90 \n"));
    assert_non_null(strstr(d.script, "'price, crowns'"));
    assert_non_null(strstr(d.script, "'hottest charge, degC'"));
    assert_non_null(strstr(d.script, "data index 0 using 1:2 with linespoints"));
    assert_non_null(strstr(d.script, "data index 1 using 1:2 with points")); /* a third thing */
    drawn_free(&d);
}

static void test_nothing_without_a_front(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_fronts);
    assert_false(d.any);
    drawn_free(&d);
    folder_write(f->folder, "tradeoffs.csv", HEAD);
    d = draw_plot(f->folder, plot_fronts);
    assert_false(d.any);
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_a_panel_for_each_front, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_without_a_front, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
