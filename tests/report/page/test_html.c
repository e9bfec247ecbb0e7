/* src/report/page/html.c */
#include "report/folder.h"
#include "report/page/html.h"

static char made[1 << 16];

static FILE *begin(void)
{
    memset(made, 0, sizeof made);
    FILE *out = fmemopen(made, sizeof made, "w");
    assert_non_null(out);
    return out;
}

static void assert_text(const char *text, const char *expected)
{
    FILE *out = begin();
    html_text(out, text);
    assert_int_equal(fclose(out), 0);
    assert_string_equal(made, expected);
}

static void test_markup_becomes_entities(void **state)
{
    (void)state;
    assert_text("<script>alert('a & \"b\"')</script>",
                "&lt;script&gt;alert(&#39;a &amp; &quot;b&quot;&#39;)&lt;/script&gt;");
    assert_text("\" onload=\"x", "&quot; onload=&quot;x");
    assert_text("", "");
}

static void test_what_is_no_text_becomes_a_mark(void **state)
{
    (void)state;
    assert_text("a\x01z\x7F", "a\xEF\xBF\xBDz\xEF\xBF\xBD");
    assert_text("\xC3\xA4 \xE2\x82\xAC \xF0\x9F\x98\x80", "\xC3\xA4 \xE2\x82\xAC \xF0\x9F\x98\x80");
    assert_text("\xC3", "\xEF\xBF\xBD");                                 /* cut off */
    assert_text("\xC0\xBC", "\xEF\xBF\xBD\xEF\xBF\xBD");                 /* '<', overlong */
    assert_text("\xE0\x80\xBC", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"); /* the same */
    assert_text("\xED\xA0\x80", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"); /* half a pair */
    assert_text("\xF4\x90\x80\x80x", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBDx");
    assert_text("a\tb\nc", "a\tb\nc");
}

static void test_cells(void **state)
{
    (void)state;
    FILE *out = begin();
    html_cell(out, "<b>");
    html_number_cell(out, 12.345, 1);
    html_number_cell(out, NAN, 1);
    html_number_cell(out, -0.0, 0);
    html_count(out, 1234567.0);
    html_count(out, NAN);
    html_words(out, "peak_<power");
    assert_int_equal(fclose(out), 0);
    assert_string_equal(made, "<td>&lt;b&gt;</td><td class=\"n\">12.3</td><td class=\"n\"></td>"
                              "<td class=\"n\">0</td>1,234,567-peak &lt;power");
}

static void test_digits_without_an_exponent(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } row[] = {{0.123456, "0.1235"}, {87.0, "87"},       {9999.4, "9999"},
               {9999.5, "10000"},    {10143.2, "10143"}, {-63220.4, "-63220"}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        FILE *out = begin();
        html_digits(out, row[i].value);
        assert_int_equal(fclose(out), 0);
        assert_string_equal(made, row[i].text);
    }
}

/* That the hash is the right one shows in the browser's tests: else the script would not run. */
static void test_document_lets_only_its_script_run(void **state)
{
    (void)state;
    FILE *out = begin();
    html_begin(out, "a <title>", true);
    assert_int_equal(fclose(out), 0);
    const char *hash = strstr(made, "script-src 'sha256-");
    assert_non_null(hash);
    hash += strlen("script-src 'sha256-");
    assert_int_equal(strcspn(hash, "'"), 44);
    assert_int_equal(hash[43], '=');
    assert_non_null(strstr(made, "default-src 'none'"));
    assert_non_null(strstr(made, "<title>a &lt;title&gt;</title>"));
    assert_non_null(strstr(made, "lang=\"en\""));
    out = begin();
    html_begin(out, "plain", false);
    html_end(out, false);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(made, "script-src 'none'"));
    assert_null(strstr(made, "<script"));
}

static const char drawing[] =
    "<?xml version=\"1.0\"?>\n<svg \n viewBox=\"0 0 10 20\"\n "
    "xmlns=\"http://www.w3.org/2000/svg\">\n\n"
    "<title>power</title>\n<desc>Produced by GNUPLOT</desc>\n<g fill=\"none\">\n</g>\n<g "
    "id=\"gnuplot_canvas\"><circle "
    "id='gpDot'/>\n\t\t<use xlink:href='#gpDot'   fill=\"url(#shade)\"/></g>\n</svg>\n";

static void test_figure_renames_ids(void **state)
{
    struct fixture *f = *state;
    struct report_results r = {.folder = f->folder};
    char plots[128];
    (void)snprintf(plots, sizeof plots, "%s/plots", f->folder);
    assert_int_equal(mkdir(plots, 0755), 0);
    folder_write(plots, "power.svg", drawing);
    FILE *out = begin();
    assert_int_equal(html_figure(out, &r, "power", "power", "A & B", "How <so>.", &f->message),
                     SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(made, "<svg role=\"img\" aria-label=\"A &amp; B\""));
    assert_non_null(strstr(made, "viewBox=\"0 0 10 20\""));
    assert_non_null(strstr(made, "id=\"power-gnuplot_canvas\""));
    assert_non_null(strstr(made, "id='power-gpDot'"));
    assert_non_null(strstr(made, "xlink:href='#power-gpDot' fill=\"url(#power-shade)\""));
    assert_non_null(strstr(made, "<figcaption><b>A &amp; B.</b> How &lt;so&gt;.</figcaption>"));
    assert_null(strstr(made, "<?xml"));
    assert_null(strstr(made, "Produced by"));
    assert_null(strstr(made, "fill=\"none\"")); /* of a group that was empty */
}

static void test_figure_that_is_missing(void **state)
{
    struct fixture *f = *state;
    struct report_results r = {.folder = f->folder};
    char plots[128];
    FILE *out = begin();
    assert_int_equal(html_figure(out, &r, "none", "none", "T", "M", &f->message), SHV_OK);
    assert_int_equal(ftell(out), 0); /* nothing to draw, nothing said */
    (void)snprintf(plots, sizeof plots, "%s/plots", f->folder);
    assert_int_equal(mkdir(plots, 0755), 0);
    folder_write(plots, "none.gp", "plot x\n");
    assert_int_equal(html_figure(out, &r, "none", "none", "T", "M", &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(made, "gnuplot did not draw it"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_markup_becomes_entities),
        cmocka_unit_test(test_what_is_no_text_becomes_a_mark),
        cmocka_unit_test(test_cells),
        cmocka_unit_test(test_digits_without_an_exponent),
        cmocka_unit_test(test_document_lets_only_its_script_run),
        cmocka_unit_test_setup_teardown(test_figure_renames_ids, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_figure_that_is_missing, fixture_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
