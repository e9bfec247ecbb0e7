/* src/report/plot/plot_plan.c */
#include "report/drawn.h"
#include "report/range_folder.h"

static void test_curve_with_knee_and_plan(void **state)
{
    struct fixture *f = *state;
    struct drawn d = draw_plot(f->folder, plot_plan);
    assert_true(d.any);
    assert_ptr_equal(strstr(d.data, "3 1000 \n4 1200 \n5 1250 \n\n\n4 1200 \n\n\n4 1200 \n"),
                     d.data);
    assert_non_null(strstr(d.script, "'power of all kits sold in a year, kW'"));
    assert_non_null(strstr(d.script, "title 'knee'"));
    assert_non_null(strstr(d.script, "set offsets graph 0.03")); /* no point on the frame */
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

static void test_nothing_without_a_value(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "manifest.cfg", "program = \"sheave\";\n");
    folder_write(f->folder, "curve.csv", "parts_allowed,parts\r\n3,3\r\n");
    struct drawn d = draw_plot(f->folder, plot_plan);
    assert_false(d.any);
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_curve_with_knee_and_plan, range_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_without_a_value, range_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
