/* Lines of text: width, cutting, numbers, trouble with the stream. */
#include "fixture.h"
#include "report/text.h"

static void assert_fitted(int width, const char *name, const char *expected)
{
    char fitted[64];
    assert_string_equal(report_fit(fitted, width, name), expected);
}

static void names_fit(void **state)
{
    (void)state;
    assert_fitted(10, "twist-1200", "twist-1200");
    assert_fitted(9, "twist-1200", "twist-...");
    assert_fitted(4, "abcdef", "a...");
    assert_fitted(1, "abcdef", "a");
    assert_fitted(20, "K\xC3\xBChler\t1", "K?hler?1");
    assert_fitted(5, "\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC\xC3\xBC", "?????"); /* five characters fit */
    assert_fitted(5, "", "");
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
        cmocka_unit_test(thousands),
        cmocka_unit_test(cells_stand_under_each_other),
        cmocka_unit_test(no_line_is_too_wide),
        cmocka_unit_test(paragraphs_break_between_words),
        cmocka_unit_test(full_device_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
