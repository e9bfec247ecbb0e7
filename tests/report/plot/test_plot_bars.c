/* src/report/plot/plot_bars.c */
#include "report/drawn.h"

#define HEAD "rank,limit,title,share_pct\r\n"

static void test_margins_nearest_first(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "limits.csv",
                 HEAD "1,boost,boost,40\r\n1,torque,brake torque,5\r\n1,price,price,300\r\n"
                      "1,mass,mass,\r\n2,boost,boost,41\r\n2,torque,brake torque,6\r\n"
                      "2,price,price,250\r\n2,mass,mass,\r\n");
    struct drawn d = draw_plot(f->folder, plot_margins);
    assert_true(d.any);
    const char *torque = strstr(d.script, "('brake torque' 0)");
    assert_non_null(torque);
    assert_non_null(strstr(torque, "('boost' 1)"));
    assert_non_null(strstr(d.script, "('price' 2)"));
    assert_non_null(strstr(d.script, "('mass' 3)")); /* not known: last */
    assert_non_null(strstr(d.script, "'300 %'"));    /* beyond the axis, told in words */
    assert_non_null(strstr(d.script, "title 'kit 2'"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

static void test_margins_need_limits(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "limits.csv", HEAD);
    struct drawn d = draw_plot(f->folder, plot_margins);
    assert_false(d.any);
    drawn_free(&d);
}

static void test_rejected_largest_first(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "rejected.csv",
                 "reason,kind,combinations\r\nfeasible,feasible,7\r\nno_match,failure,0\r\n"
                 "pressure_rise,limit,9\r\nboost,limit,7\r\ntotal,total,23\r\n");
    struct drawn d = draw_plot(f->folder, plot_rejected);
    assert_true(d.any);
    assert_non_null(strstr(d.script, "('pressure rise' 0)"));
    assert_non_null(strstr(d.script, "('feasible' 1)"));
    assert_non_null(strstr(d.script, "('boost' 2)"));
    assert_null(strstr(d.script, "no match"));
    assert_null(strstr(d.script, "total"));
    drawn_free(&d);
    folder_write(f->folder, "rejected.csv",
                 "reason,kind,combinations\r\nfeasible,feasible,7\r\ntotal,total,7\r\n");
    d = draw_plot(f->folder, plot_rejected);
    assert_false(d.any);
    drawn_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_margins_nearest_first, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_margins_need_limits, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_rejected_largest_first, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
