/* src/report/page/page_extra.c */
#include "report/folder.h"
#include "report/page/page_extra.h"

static char *made_by(struct fixture *f, void (*write)(FILE *out, const struct report_results *r))
{
    struct report_results r;
    char *made = calloc(1, 1 << 16);
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    FILE *out = fmemopen(made, 1 << 16, "w");
    assert_non_null(out);
    write(out, &r);
    assert_int_equal(fclose(out), 0);
    report_results_free(&r);
    return made;
}

static void put_ranked(FILE *out, const struct report_results *r)
{
    static const struct page_column columns[] = {{"blower", "blower"},
                                                 {"empty", "nothing"},
                                                 {"mass", "mass"},
                                                 {"objective", "ranking value"},
                                                 {"binding_limit", "nearest limit"},
                                                 {"other", "not there"}};
    page_extra_table(out, r, &r->ranked, &report_ranked, "Title", columns, 6, 2, REPORT_NO_COLUMN);
}

/* Words and units instead of names of columns, and what is cut is said. */
static void test_columns_that_say_something(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv",
                 "blower,empty,mass_kg,objective_power_kW,binding_limit\r\na_b,,1.23456789,111.052,"
                 "phasing_retard\r\n<c>,,,99,odd_one\r\nlast,1,2,3,\r\n");
    char *made = made_by(f, put_ranked);
    assert_string_equal(
        made, "<div class=\"scroll\"><table>\n<caption>Title</caption>\n<thead><tr><th "
              "scope=\"col\">blower</th><th scope=\"col\" class=\"n\">mass, kg</th><th "
              "scope=\"col\" class=\"n\">ranking value, kW</th><th scope=\"col\">nearest "
              "limit</th></tr></thead>\n<tbody>\n<tr><th scope=\"row\" class=\"whole\">a_b</th><td "
              "class=\"n\">1.2</td><td class=\"n\">111.1</td><td "
              "class=\"whole\">retard</td></tr>\n<tr><th "
              "scope=\"row\" class=\"whole\">&lt;c&gt;</th><td class=\"n\"></td><td "
              "class=\"n\">99.0</td><td class=\"whole\">odd "
              "one</td></tr>\n</tbody></table></div>\n<p class=\"hint\">The first 2 of 3; the "
              "others are in ranked.csv.</p>\n");
    free(made);
}

static void test_nothing_of_nothing(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv", "blower\r\n");
    char *made = made_by(f, put_ranked);
    assert_string_equal(made, "");
    free(made);
    folder_write(f->folder, "limit_worth.csv", "blower,gain_power_kW\r\n");
    made = made_by(f, page_limit_worth);
    assert_string_equal(made, "");
    free(made);
}

/* Of each blower the fuel whose ideal makes most; what holds it, the largest gain first. */
static void test_worth_of_limits(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "optimum.csv",
                 "blower,fuel,ideal_objective_power_kW\r\nb,x,100\r\nb,y,120\r\nc,x,90\r\n");
    folder_write(f->folder, "limit_worth.csv",
                 "blower,fuel,name,title,active,step,unit,site,speed_rpm,gain_power_kW,next_limit,"
                 "next_site,next_speed_rpm\r\n"
                 "b,x,boost,boost,yes,10,kPa,hill,6000,50,,,\r\n" /* another fuel is better */
                 "b,y,boost,boost,yes,10,kPa,hill,6000,1.5,torque,shore,4000\r\n"
                 "b,y,mass,mass,no,1,kg,,,9,,,\r\n" /* does not hold it */
                 "c,x,ratio_low,the lowest ratio of the pulleys,yes,-0.1,,,,2.25,,,\r\n");
    char *made = made_by(f, page_limit_worth);
    const char *first = strstr(made, "<th scope=\"row\">c, x</th><td>the lowest ratio of the "
                                     "pulleys</td><td>0.1  less</td><td class=\"n\">2.25 kW</td>");
    const char *then = strstr(made, "<th scope=\"row\">b, y</th><td>boost at 6000 rpm, hill</td>"
                                    "<td>10 kPa more</td><td class=\"n\">1.50 kW</td><td>brake "
                                    "torque at 4000 rpm, shore</td>");
    assert_non_null(first);
    assert_non_null(then);
    assert_true(first < then);
    assert_int_equal(times_in(made, "<tr><th"), 3); /* with the head */
    free(made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_columns_that_say_something, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_of_nothing, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_worth_of_limits, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
