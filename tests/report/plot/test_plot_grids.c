/* src/report/plot/plot_grids.c */
#include "report/drawn.h"

static void write_map(const struct fixture *f, const char *rows)
{
    char text[2048];
    (void)snprintf(text, sizeof text, "ratio,effectiveness,reason,peak_power_kW\r\n%s", rows);
    folder_write(f->folder, "map.csv", text);
}

/* Cells that are alike become one box: centre, edges. */
static void test_map_joins_cells(void **state)
{
    struct fixture *f = *state;
    write_map(f, "1,0.5,feasible,100\r\n2,0.5,boost,110\r\n3,0.5,boost,120\r\n"
                 "1,0.7,feasible,101\r\n2,0.7,feasible,111\r\n3,0.7,boost,121\r\n");
    struct drawn d = draw_plot(f->folder, plot_map);
    assert_true(d.any);
    assert_non_null(strstr(d.data, "2.5 0.5 1.5 3.5 0.4 0.6 \n3 0.7 2.5 3.5 0.6 0.8 \n"));
    assert_non_null(strstr(d.data, "2 0.5 ? \n")); /* no contour where it is not feasible */
    assert_non_null(strstr(d.script, "title 'boost'"));
    assert_non_null(strstr(d.script, "set label 'boost' at first 2.5"));
    assert_non_null(strstr(d.script, "'strongest on paper'"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

static void test_map_of_one_core_is_a_curve(void **state)
{
    struct fixture *f = *state;
    write_map(f, "1,0,feasible,100\r\n2,0,feasible,110\r\n3,0,pressure_rise,120\r\n");
    struct drawn d = draw_plot(f->folder, plot_map);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "'peak power, kW'"));
    assert_non_null(strstr(d.script, "title 'pressure rise'"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

static void test_map_that_is_no_grid(void **state)
{
    struct fixture *f = *state;
    static const char *const rows[] = {"", "1,0.5,feasible,100\r\n",
                                       "1,0.5,boost,1\r\n2,0.5,boost,1\r\n1,0.7,boost,1\r\n",
                                       "2,0.5,boost,1\r\n1,0.5,boost,1\r\n"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        write_map(f, rows[i]);
        struct drawn d = draw_plot(f->folder, plot_map);
        assert_false(d.any);
        drawn_free(&d);
    }
}

static void test_islands(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_islands);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "'rotor speed, rpm'"));
    assert_non_null(strstr(d.script, "title 'shore'"));
    assert_non_null(strstr(d.script, "title 'hill'"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

/* Where a level crosses cells, its edge is straight between the points: no stairs. */
static void test_islands_are_smooth(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "islands.csv",
                 "rotor_speed_rpm,pressure_ratio,blower_isentropic_efficiency\r\n"
                 "1000,1,0.32\r\n2000,1,0.32\r\n3000,1,0.32\r\n"
                 "1000,1.4,0.32\r\n2000,1.4,0.32\r\n3000,1.4,0.36\r\n");
    struct drawn d = draw_plot(f->folder, plot_islands);
    assert_true(d.any);
    /* All of it from 30 % on as one piece; of 35 % the corner, cut at three quarters of the way. */
    assert_non_null(strstr(d.data, "1000 1 \n3000 1 \n3000 1.4 \n1000 1.4 \n\n"));
    assert_non_null(strstr(d.data, "3000 1.3 \n3000 1.4 \n"));
    assert_non_null(strstr(d.data, "3000 1.4 \n2750 1.4 \n"));
    drawn_free(&d);
}

/* A blower that makes next to no pressure has no island to draw, and gnuplot no contour to find. */
static void test_no_islands(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "islands.csv",
                 "rotor_speed_rpm,pressure_ratio,blower_flow_kg_h,blower_isentropic_efficiency,"
                 "blower_volumetric_efficiency,discharge_temperature_degC\r\n"
                 "2000,1,100,0,0.99,30\r\n3000,1,150,0,0.99,30\r\n"
                 "2000,1.02,99,0.21,0.98,32\r\n3000,1.02,149,0.22,0.98,32\r\n");
    struct drawn d = draw_plot(f->folder, plot_islands);
    assert_false(d.any);
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_map_joins_cells, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_map_of_one_core_is_a_curve, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_map_that_is_no_grid, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_no_islands, folder_with_grids_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_islands_are_smooth, folder_with_grids_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_islands, folder_with_grids_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
