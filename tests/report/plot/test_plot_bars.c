/* src/report/plot/plot_bars.c */
#include "report/drawn.h"

#define HEAD "rank,limit,title,share_pct\r\n"

static void test_room_nearest_first(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "limits.csv",
                 HEAD "1,boost,boost,40\r\n1,torque,brake torque,5\r\n1,price,price,300\r\n"
                      "1,mass,mass,\r\n2,boost,boost,41\r\n2,torque,brake torque,6\r\n"
                      "2,price,price,250\r\n2,mass,mass,\r\n");
    struct drawn d = draw_plot(f->folder, plot_room);
    assert_true(d.any);
    const char *torque = strstr(d.script, "('brake torque' 0)");
    assert_non_null(torque);
    assert_non_null(strstr(torque, "('boost' 1)"));
    assert_non_null(strstr(d.script, "('price' 2)"));
    assert_non_null(strstr(d.script, "('mass' 3)")); /* not known: last */
    assert_non_null(strstr(d.script, "'over 100'")); /* beyond the axis, told in words */
    assert_non_null(strstr(d.script, "title 'strongest on paper'"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
}

static void test_room_need_limits(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "limits.csv", HEAD);
    struct drawn d = draw_plot(f->folder, plot_room);
    assert_false(d.any);
    drawn_free(&d);
}

/* One bar of all: what holds first, then the commonest reasons by their titles. */
static void test_rejected_as_one_bar(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "rejected.csv",
                 "reason,kind,combinations\r\nfeasible,feasible,7\r\nno_match,failure,0\r\n"
                 "torque,limit,9\r\nboost,limit,4\r\ntotal,total,20\r\n");
    struct drawn d = draw_plot(f->folder, plot_rejected);
    assert_true(d.any);
    assert_ptr_equal(strstr(d.data, "17.5 0 0 35 -0.4 0.4 \n"), d.data);
    assert_non_null(strstr(d.data, "57.5 0 35 80 -0.4 0.4 \n"));
    assert_non_null(strstr(d.data, "90 0 80 100 -0.4 0.4 \n"));
    assert_non_null(strstr(d.script, "'hold every limit 35.0 %'"));
    assert_non_null(strstr(d.script, "'brake torque 45.0 %'"));
    assert_null(strstr(d.script, "no match"));
    assert_null(strstr(d.script, "other reasons"));
    assert_blocks_are_there(&d);
    drawn_free(&d);
    folder_write(f->folder, "rejected.csv",
                 "reason,kind,combinations\r\na,limit,1\r\nb,limit,1\r\nc,limit,1\r\n"
                 "d,limit,1\r\ne,limit,1\r\nf,limit,3\r\ng,limit,2\r\n");
    d = draw_plot(f->folder, plot_rejected);
    assert_non_null(strstr(d.script, "'f 30.0 %'"));
    assert_non_null(strstr(d.script, "'other reasons 20.0 %'"));
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
        cmocka_unit_test_setup_teardown(test_room_nearest_first, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_room_need_limits, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_rejected_as_one_bar, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
