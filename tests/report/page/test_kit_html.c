/* src/report/page/kit_html.c */
#include "report/folder.h"
#include "report/page/kit_html.h"

static char *made_by(struct fixture *f,
                     void (*write)(FILE *out, const struct report_results *results, size_t row),
                     size_t row)
{
    struct report_results r;
    char *made = calloc(1, 1 << 16);
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    FILE *out = fmemopen(made, 1 << 16, "w");
    assert_non_null(out);
    write(out, &r, row);
    assert_int_equal(fclose(out), 0);
    report_results_free(&r);
    return made;
}

#define HEAD                                                                                       \
    "rank,blower,crank_pulley_mm,blower_pulley_mm,ratio,cooler,effectiveness,fuel,lambda,"         \
    "peak_power_kW,peak_power_speed_rpm,gain_kW,binding_limit,binding_share_pct,"                  \
    "binding_speed_rpm,binding_site\r\n"

static void test_sentences(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "ranked.csv",
                 HEAD "1,a<b,140,70,2,core,0.6,pump & co,0.88,150.25,6500,50,boost,12.34,6000,hill"
                      "\r\n2,a,140,70.5,1.986,none,0,x,0.9,100,6000,-5,,,,\r\n");
    char *said = made_by(f, kit_answer, 0);
    assert_string_equal(
        said, "Blower <b>a&lt;b</b> with a crank pulley of <b>140 mm</b> and a blower pulley of "
              "<b>70 mm</b> (ratio 2.000), charge cooler <b>core</b> of effectiveness 0.6, fuel "
              "<b>pump &amp; co</b> at lambda 0.88, makes <b>150.2 kW</b> at 6500 rpm at shore, "
              "50.0 kW more than the stock engine.");
    free(said);
    said = made_by(f, kit_held_back, 0);
    assert_string_equal(said, "Nearest limit: <b>boost</b>, with 12.3 % of room at 6000 "
                              "rpm at hill.");
    free(said);
    said = made_by(f, kit_answer, 1);
    assert_non_null(strstr(said, "no charge cooler"));
    assert_non_null(strstr(said, "less"));
    free(said);
    said = made_by(f, kit_held_back, 1);
    assert_string_equal(said, "No limit is set that could hold it back.");
    free(said);
}

static void test_facts_that_are_known(void **state)
{
    struct fixture *f = *state;
    char *said = made_by(f, kit_facts, 0);
    assert_non_null(strstr(said, "<dt>peak power</dt>"));
    assert_non_null(strstr(said, " crowns</dd>"));
    free(said);
    folder_write(f->folder, "ranked.csv", "rank,peak_power_kW\r\n1,150.25\r\n");
    said = made_by(f, kit_facts, 0);
    assert_int_equal(times_in(said, "<dt>"), 1);
    free(said);
}

static void all_limits(FILE *out, const struct report_results *results, size_t row)
{
    kit_limits(out, results, row, SHV_LIMIT_COUNT);
}

static void nearest_limit(FILE *out, const struct report_results *results, size_t row)
{
    kit_limits(out, results, row, 1);
}

static void test_tables_are_of_the_kit(void **state)
{
    struct fixture *f = *state;
    folder_write(f->folder, "parts.csv",
                 "rank,part,name,size,count,price,mass_kg\r\n1,blower,one,1 L,1,5,2\r\n"
                 "2,blower,two,\"2 \"\"L\"\"\",1,7,3\r\n");
    char *said = made_by(f, kit_parts, 1);
    assert_null(strstr(said, "one"));
    assert_non_null(strstr(said, "<td>two</td><td>2 &quot;L&quot;</td>"));
    assert_non_null(strstr(said, "<td class=\"n\">7.00</td><td class=\"n\">3.0</td>"));
    free(said);
    folder_write(f->folder, "limits.csv",
                 "rank,limit,title,sense,unit,value,bound,share_pct,tightest_speed_rpm,"
                 "tightest_site\r\n1,boost,boost,at_most,kPa,70,80,12.5,6000,hill\r\n"
                 "1,price,price,at_most,,,900,,,\r\n2,mass,mass,at_least,kg,7,5,1,,\r\n");
    said = made_by(f, all_limits, 0);
    assert_non_null(strstr(said, "<td class=\"n\">70 kPa</td><td>at most</td><td class=\"n\">80 "
                                 "kPa</td><td class=\"n\">12.5</td>"));
    assert_null(strstr(said, "mass"));
    free(said);
    said = made_by(f, nearest_limit, 0);
    assert_non_null(strstr(said, "70 kPa"));
    assert_null(strstr(said, "900"));
    assert_non_null(strstr(said, "The nearest 1 of 2; limits.csv has all."));
    free(said);
    said = made_by(f, all_limits, 1);
    assert_non_null(strstr(said, "at least"));
    free(said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_sentences, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_facts_that_are_known, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_tables_are_of_the_kit, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
