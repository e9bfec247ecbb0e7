/* Cells of CSV files: written, and read back by a reader of RFC 4180 that shares no code. */
#include "report/fixture.h"
#include "report/write/csv.h"

/* What a writer puts into a stream in memory, as a string to be freed. */
static FILE *memory(char **text, size_t *size)
{
    FILE *out = open_memstream(text, size);
    assert_non_null(out);
    return out;
}

static void texts_come_back_as_they_were(void **state)
{
    (void)state;
    static const char *const names[] = {
        "plain",    "a,b", "say \"when\"", "\"",          "two\nlines",
        "cr\r\nlf", "",    " blank",       "ends blank ", "K\xC3\xBChler",
        "it's = 5", ",",   "\"\"",         "semi;colon"};
    size_t count = sizeof names / sizeof *names, size;
    char *text;
    FILE *out = memory(&text, &size);
    for (size_t i = 0; i < count; i++) {
        assert_true(i == 0 || report_csv_comma(out));
        assert_true(report_csv_text(out, names[i]));
    }
    assert_true(report_csv_end(out));
    assert_int_equal(fclose(out), 0);
    struct csv *csv = csv_parse(text);
    assert_int_equal(csv->records, 1);
    assert_int_equal(csv->fields[0], count);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(csv->cell[0][i], names[i]);
    }
    csv_free(csv);
}

static void assert_cell(const char *cell, const char *expected)
{
    size_t size;
    char *text;
    FILE *out = memory(&text, &size);
    assert_true(report_csv_text(out, cell));
    assert_int_equal(fclose(out), 0);
    assert_string_equal(text, expected);
    free(text);
}

static void quotes_only_where_needed(void **state)
{
    (void)state;
    assert_cell("twist-large", "twist-large");
    assert_cell("a,b", "\"a,b\"");
    assert_cell("6\" pipe", "\"6\"\" pipe\"");
    assert_cell("a\nb", "\"a\nb\"");
    assert_cell(NULL, "");
}

static void formulas_are_disarmed(void **state)
{
    (void)state;
    assert_cell("=1+1", "'=1+1");
    assert_cell("+45", "'+45");
    assert_cell("-kit", "'-kit");
    assert_cell("@sum", "'@sum");
    assert_cell("\tx", "'\tx");
    assert_cell("=A1,\"B\"", "\"'=A1,\"\"B\"\"\"");
    assert_cell("a=b", "a=b");
}

static void assert_number(double value, int digits, const char *expected)
{
    size_t size;
    char *text;
    FILE *out = memory(&text, &size);
    assert_true(report_csv_number(out, value, digits));
    assert_int_equal(fclose(out), 0);
    assert_string_equal(text, expected);
    free(text);
}

static void numbers(void **state)
{
    (void)state;
    assert_number(231.456789, 6, "231.457");
    assert_number(-3.25, 6, "-3.25"); /* a number is never taken for a formula */
    assert_number(-0.0, 6, "0");
    assert_number(1234567.0, 7, "1234567");
    assert_number(2e-12, 3, "2e-12");
    assert_number(NAN, 6, "");
    assert_number(INFINITY, 6, "");
    assert_number(-INFINITY, 6, "");
}

static void seven_digits_hold_a_millionth(void **state)
{
    (void)state;
    for (double x = 1e-4; x < 1e7; x *= 1.37) {
        size_t size;
        char *text;
        FILE *out = memory(&text, &size);
        assert_true(report_csv_number(out, x, 7));
        assert_int_equal(fclose(out), 0);
        assert_close(strtod(text, NULL), x, 5.01e-7);
        free(text);
    }
}

static void full_device_is_noticed(void **state)
{
    (void)state;
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    assert_int_equal(setvbuf(out, NULL, _IONBF, 0), 0);
    assert_false(report_csv_text(out, "a"));
    assert_false(report_csv_text(out, "\"quoted\""));
    assert_false(report_csv_number(out, 1.0, 6));
    assert_false(report_csv_count(out, 7));
    assert_false(report_csv_comma(out));
    assert_false(report_csv_end(out));
    (void)fclose(out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_come_back_as_they_were),  cmocka_unit_test(quotes_only_where_needed),
        cmocka_unit_test(formulas_are_disarmed),         cmocka_unit_test(numbers),
        cmocka_unit_test(seven_digits_hold_a_millionth), cmocka_unit_test(full_device_is_noticed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
