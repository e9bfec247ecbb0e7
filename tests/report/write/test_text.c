/* Lines of text: width, cutting, numbers, trouble with the stream. */
#include "report/fixture.h"
#include "report/write/text.h"

static void assert_fitted(int width, const char *name, const char *expected)
{
    char fitted[64];
    assert_string_equal(report_fit(fitted, width, name), expected);
}

static void names_fit(void **state)
{
    (void)state;
    assert_fitted(11, "twist-large", "twist-large");
    assert_fitted(9, "twist-large", "twist-...");
    assert_fitted(4, "abcdef", "a...");
    assert_fitted(1, "abcdef", "a");
    assert_fitted(3, "abcdef", "a..");
    assert_fitted(0, "abcdef", "");
    assert_fitted(5, "", "");
}

#define U "\xC3\xBC"             /* u with diaeresis, two bytes */
#define EURO "\xE2\x82\xAC"      /* three */
#define WHEEL "\xF0\x9F\x9B\x9E" /* four */

static void characters_stay_whole(void **state)
{
    (void)state;
    assert_fitted(20, "K" U "hler\t1", "K" U "hler?1");
    assert_fitted(5, U U U U U, U U U U U);
    assert_fitted(5, U U U U U U, U U "...");
    assert_fitted(5, WHEEL EURO U "a" U "b", WHEEL EURO "...");
    assert_fitted(1, WHEEL EURO, WHEEL);
    assert_fitted(2, WHEEL EURO U, WHEEL ".");
    assert_fitted(3, "a\xCC\x88", "a\xCC\x88"); /* a combining mark counts as one */
    assert_int_equal(report_characters("K" U "hler" EURO WHEEL), 8);
    assert_int_equal(report_characters(""), 0);
}

static void what_is_no_character_is_marked(void **state)
{
    (void)state;
    assert_fitted(9, "a\x1B[1m\x7F", "a?[1m?");
    assert_fitted(9,
                  "\xC2\x9B"
                  "31m",
                  "?31m"); /* a control character of two bytes */
    assert_fitted(9, "\xE2\x80\xA8|\xE2\x80\xAE|\xE2\x81\xA6", "?|?|?"); /* line end, directions */
    assert_fitted(9, "K\xFChler", "K?hler");                             /* ISO 8859-1 */
    assert_fitted(9, U "\xBC" U "\xC3", U "?" U "?"); /* one byte too many, too few */
    assert_fitted(9, "\xE2\x82", "??");
    assert_fitted(9, "\xC0\xAF|\xC1\xBF", "??|??"); /* longer than need be */
    assert_fitted(9, "\xE0\x80\xAF|\xF0\x80\x80", "???|???");
    assert_fitted(9, "\xED\xA0\x80", "???");      /* half of a pair of UTF-16 */
    assert_fitted(9, "\xF4\x90\x80\x80", "????"); /* beyond the last character */
    assert_fitted(9, "\xF8\x88\x80\x80\x80|\xFF", "?????|?");
    assert_fitted(9, "\xED\x9F\xBF\xEE\x80\x80\xF4\x8F\xBF\xBF",
                  "\xED\x9F\xBF\xEE\x80\x80\xF4\x8F\xBF\xBF");
}

static void assert_thousands(uint64_t count, const char *expected)
{
    char text[REPORT_COUNT_MAX];
    assert_string_equal(report_thousands(text, count), expected);
}

static void thousands(void **state)
{
    (void)state;
    assert_thousands(0, "0");
    assert_thousands(999, "999");
    assert_thousands(1000, "1,000");
    assert_thousands(12345678, "12,345,678");
    assert_thousands(UINT64_MAX, "18,446,744,073,709,551,615");
}

struct written {
    char *text;
    size_t size;
    struct report_text lines;
};

static void begin(struct written *w)
{
    FILE *out = open_memstream(&w->text, &w->size);
    assert_non_null(out);
    report_text_init(&w->lines, out);
}

static void assert_end(struct written *w, const char *expected)
{
    struct shv_message m;
    assert_int_equal(report_text_finish(&w->lines, "it", &m), SHV_OK);
    assert_int_equal(fclose(w->lines.out), 0);
    assert_string_equal(w->text, expected);
    free(w->text);
}

static void cells_stand_under_each_other(void **state)
{
    (void)state;
    struct written w;
    begin(&w);
    report_text_left(&w.lines, 6, "name");
    report_text_right(&w.lines, 5, "kW");
    report_text_left(&w.lines, 4, "");
    report_text_end(&w.lines);
    report_text_left(&w.lines, 6, "a long name");
    report_text_number(&w.lines, 5, 1, 123.45678);
    report_text_end(&w.lines);
    report_text_rule(&w.lines, 12);
    report_text_number(&w.lines, 5, 1, NAN);
    report_text_number(&w.lines, 5, 1, -0.04);
    report_text_number(&w.lines, 5, 1, -12345.0);
    report_text_number(&w.lines, 5, 1, 1e300);
    report_text_end(&w.lines);
    assert_end(&w, "name      kW\n"
                   "a l... 123.5\n"
                   "------------\n"
                   "    -   0.0 ##### #####\n");
}

static void a_line_of_cells_ends(void **state)
{
    (void)state;
    struct written w;
    const int widths[] = {-6, 5, -4};
    const char *titles[] = {"name", "kW", ""}, *labels[] = {"a long name", "123.5", "x"};
    begin(&w);
    report_text_cells(&w.lines, 3, widths, titles);
    report_text_cells(&w.lines, 3, widths, labels);
    assert_end(&w, "name      kW\n"
                   "a l... 123.5 x\n");
}

static void numbers_give_up_decimals(void **state)
{
    (void)state;
    struct written w;
    begin(&w);
    report_text_fitted(&w.lines, 6, 2, 123.456);
    report_text_fitted(&w.lines, 6, 2, 1234.56);
    report_text_fitted(&w.lines, 6, 2, -123456.0);
    report_text_fitted(&w.lines, 6, 2, NAN);
    report_text_end(&w.lines);
    assert_end(&w, "123.46 1234.6 ######      -\n");
}

static void columns_count_characters(void **state)
{
    (void)state;
    struct written w;
    begin(&w);
    report_text_left(&w.lines, 6, U "ber");
    report_text_right(&w.lines, 4, EURO);
    report_text_left(&w.lines, 5, "K" U "hler");
    report_text_end(&w.lines);
    for (int i = 0; i < 60; i++) {
        report_text_left(&w.lines, 1, WHEEL);
    }
    report_text_end(&w.lines);
    char expected[400] = U "ber      " EURO " K" U "...\n" WHEEL;
    for (int i = 1; i < 50; i++) {
        strcat(expected, " " WHEEL);
    }
    strcat(expected, "\n");
    assert_end(&w, expected);
}

static void paragraphs_count_characters(void **state)
{
    (void)state;
    struct written w;
    char word[181] = "", expected[800];
    begin(&w);
    for (int i = 0; i < 60; i++) {
        strcat(word, EURO);
    }
    report_text_say(&w.lines, "%s %.117s %s%s", word, word, word, word); /* 60 + 1 + 39; 120 */
    (void)snprintf(expected, sizeof expected, "%s %.117s\n%s%.120s\n%.60s\n", word, word, word,
                   word, word);
    assert_end(&w, expected);
}

static void no_line_is_too_wide(void **state)
{
    (void)state;
    struct written w;
    begin(&w);
    for (int i = 0; i < 40; i++) {
        report_text_left(&w.lines, 7, "abcdefg");
    }
    report_text_end(&w.lines);
    report_text_rule(&w.lines, 5000);
    struct shv_message m;
    assert_int_equal(report_text_finish(&w.lines, "it", &m), SHV_OK);
    assert_int_equal(fclose(w.lines.out), 0);
    assert_int_equal(strcspn(w.text, "\n"), REPORT_WIDTH);
    assert_int_equal(w.size, strcspn(w.text, "\n") + 1 + REPORT_WIDTH + 1);
    free(w.text);
}

static void paragraphs_break_between_words(void **state)
{
    (void)state;
    struct written w;
    char word[131], expected[400];
    begin(&w);
    memset(word, 'x', 130);
    word[130] = '\0';
    report_text_say(&w.lines, "%s %s", "short", word);
    report_text_say(&w.lines, "%.60s %.39s %s", word, word, "next"); /* 60 + 1 + 39 is just full */
    (void)snprintf(expected, sizeof expected, "short\n%.100s\n%.30s\n%.60s %.39s\nnext\n", word,
                   word, word, word);
    assert_end(&w, expected);
}

static void full_device_is_told(void **state)
{
    (void)state;
    struct report_text lines;
    struct shv_message m;
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    report_text_init(&lines, out);
    report_text_say(&lines, "text"); /* fits the buffer: only the flush can tell */
    assert_int_equal(report_text_finish(&lines, "the table", &m), SHV_IO);
    assert_string_equal(m.text, "cannot write the table: No space left on device");
    (void)fclose(out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_fit),
        cmocka_unit_test(characters_stay_whole),
        cmocka_unit_test(what_is_no_character_is_marked),
        cmocka_unit_test(thousands),
        cmocka_unit_test(cells_stand_under_each_other),
        cmocka_unit_test(a_line_of_cells_ends),
        cmocka_unit_test(numbers_give_up_decimals),
        cmocka_unit_test(columns_count_characters),
        cmocka_unit_test(paragraphs_count_characters),
        cmocka_unit_test(no_line_is_too_wide),
        cmocka_unit_test(paragraphs_break_between_words),
        cmocka_unit_test(full_device_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
