/* A head and rows from one table of columns. */
#include "report/pages.h"
#include "report/text/list.h"

struct row {
    const char *name, *value;
    uint64_t rank;
    double power, ratio, share, objective, price;
};

#define AT(member) offsetof(struct row, member)

static const struct report_list_column columns[] = {
    {"#", 2, REPORT_COUNT, REPORT_BY_UNIT, AT(rank)},
    {"name", -6, REPORT_TEXT, REPORT_BY_UNIT, AT(name)},
    {"power", 6, REPORT_POWER, REPORT_BY_UNIT, AT(power)},
    {"ratio", 5, REPORT_NUMBER, 1, AT(ratio)},
    {"room, %", 7, REPORT_PERCENT, REPORT_BY_UNIT, AT(share)},
    {"value", 6, REPORT_OBJECTIVE, REPORT_BY_UNIT, AT(objective)},
    {"span", 8, REPORT_TEXT, REPORT_BY_UNIT, AT(value)},
    {"price", 6, REPORT_MONEY, 0, AT(price)},
};

static char *listed(enum shv_unit_system units, const struct row *row)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    struct report_text lines;
    assert_non_null(out);
    report_text_init(&lines, out);
    const struct report_list list = {.text = &lines,
                                     .column = columns,
                                     .count = sizeof columns / sizeof *columns,
                                     .units = units,
                                     .money = "EUR",
                                     .objective = REPORT_TORQUE,
                                     .objective_unit = units == SHV_US ? "lbf ft" : "N m"};
    report_list_head(&list);
    report_list_row(&list, row);
    assert_int_equal(report_text_finish(&lines, "it", NULL), SHV_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

static void titles_units_and_values(void **state)
{
    (void)state;
    const struct row row = {"a long name", "1 to 2", 7, 123456.0, 1.25, 0.0625, 201.04, 1999.5};
    char *text = listed(SHV_METRIC, &row);
    assert_string_equal(text, " # name    power ratio room, %  value     span  price\n"
                              "              kW                  N m      N m    EUR\n"
                              " 7 a l...  123.5   1.2     6.2  201.0   1 to 2   2000\n");
    free(text);
}

/* What is not known is a dash, and decimals go before a number does. */
static void what_has_no_room(void **state)
{
    (void)state;
    const struct row row = {NULL, "", 1, 1e9, NAN, 1e9, 1e5 * 1.3558179483314004, NAN};
    char *text = listed(SHV_US, &row);
    assert_non_null(strstr(text, "    hp               lbf ft"));
    assert_non_null(strstr(text, " 1 -      ######     - ####### 100000               -\n"));
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(titles_units_and_values),
        cmocka_unit_test(what_has_no_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
