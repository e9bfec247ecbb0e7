/* src/report/plot/plot.c */
#include "report/folder.h"
#include "report/plot/plot.h"

static char script[1 << 14], data[1 << 14];

static struct plot begin(const struct report_results *results)
{
    memset(script, 0, sizeof script);
    memset(data, 0, sizeof data);
    struct plot p = {.results = results,
                     .name = "t",
                     .height = 500.0,
                     .script = fmemopen(script, sizeof script, "w"),
                     .data = fmemopen(data, sizeof data, "w")};
    assert_non_null(p.script);
    assert_non_null(p.data);
    return p;
}

static void end(struct plot *p)
{
    assert_int_equal(fclose(p->script), 0);
    assert_int_equal(fclose(p->data), 0);
}

static void test_quotes_keep_a_text_a_text(void **state)
{
    (void)state;
    char room[PLOT_QUOTE];
    assert_string_equal(plot_quote(room, "it's"), "'it''s'");
    assert_string_equal(plot_quote(room, "\"a\" `date` @m \\n $x {/b}"),
                        "'\"a\" `date` @m \\n $x {/b}'");
    assert_string_equal(plot_quote(room, "a\nb"), "'a?b'"); /* a line would end the command */
    assert_string_equal(plot_quote(room, "]]> ]>"), "']]\xE2\x81\xA0> ]>'");
    assert_string_equal(plot_quote(room, "\xEF\xBF\xBE \xEF\xBF\xBF \xEF\xBE\xBF"),
                        "'\xEF\xBF\xBD \xEF\xBF\xBD \xEF\xBE\xBF'");
    char quotes[200];
    memset(quotes, '\'', sizeof quotes);
    quotes[199] = '\0';
    (void)plot_quote(room, quotes);
    assert_int_equal(times_in(room, "'") % 2, 0); /* cut, and still closed */
}

static void test_blocks_are_counted_as_gnuplot_counts_them(void **state)
{
    (void)state;
    struct plot p = begin(NULL);
    plot_number(&p, 1.5);
    plot_number(&p, NAN);
    plot_line_end(&p);
    assert_int_equal(plot_block_end(&p), 0);
    assert_int_equal(plot_block_end(&p), 1); /* an empty one has a line all the same */
    end(&p);
    assert_string_equal(data, "1.5 ? \n\n\n? ? ? ? ? ?\n\n\n");
}

static void test_curves_by_rank_and_site(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    struct plot p = begin(&r);
    size_t columns[] = {
        report_records_column(&r.curves, "engine_speed", REPORT_ROTATION, SHV_METRIC),
        report_records_column(&r.curves, "boost", REPORT_GAUGE, SHV_METRIC)};
    (void)plot_curve(&p, &r.curves, 2, "hill", columns, 2);
    end(&p);
    assert_int_equal(times_in(data, "\n"), 3 + 2);
    assert_true(strncmp(data, "2400 ", 5) == 0);
    assert_true(plot_has(&r.curves, 1, columns[1]));
    assert_false(plot_has(&r.curves, 3, columns[1]));
    assert_false(plot_has(&r.curves, 1, REPORT_NO_COLUMN));
    report_results_free(&r);
}

static void test_series_and_limits(void **state)
{
    (void)state;
    struct plot p = begin(NULL);
    plot_series(&p, "data", "with lines", "o'clock");
    plot_limit(&p, "", 19500.0, "rpm");
    plot_limit(&p, "charge", 110.04, "degC");
    plot_limit(&p, "none", NAN, "K");
    plot_series(&p, "data", "with points", NULL);
    plot_series_end(&p);
    end(&p);
    assert_string_equal(script,
                        "plot data with lines title 'o''clock', \\\n"
                        "     19500 with lines ls 9 title 'limit, 19500 rpm', \\\n"
                        "     110.04 with lines ls 9 title 'limit of charge, 110.0 degC', \\\n"
                        "     data with points notitle\n");
}

/* The key stands above the panel at its right, within what the panel above leaves free. */
static void test_panels(void **state)
{
    (void)state;
    struct plot p = begin(NULL);
    struct plot_panel panel = {
        .left = 0.1, .right = 0.9, .bottom = 0.2, .top = 0.75, .y = "boost", .y_unit = "kPa"};
    plot_panel(&p, &panel);
    panel.key_lift = 0.05;
    panel.key_rows = 3;
    panel.x = "speed";
    panel.x_unit = "rpm";
    plot_panel(&p, &panel);
    end(&p);
    const char *second = strstr(script, "unset xlabel\n");
    assert_true(strncmp(script,
                        "set lmargin at screen 0.1000\nset rmargin at screen 0.9000\n"
                        "set bmargin at screen 0.2000\nset tmargin at screen 0.7500\n",
                        110) == 0);
    assert_non_null(strstr(
        script, "set key at screen 0.9000, screen 0.7580 right bottom vertical maxrows 2\n"));
    assert_non_null(second);
    assert_non_null(strstr(
        second, "set key at screen 0.9000, screen 0.8080 right bottom vertical maxrows 3\n"));
    assert_non_null(strstr(second, "set xlabel 'speed, rpm' offset"));
}

static void test_every_kind_is_described(void **state)
{
    (void)state;
    size_t count = 0;
    for (const struct plot_kind *k = plot_kinds; k->name; k++, count++) {
        assert_true(strlen(k->title) > 3 && strlen(k->meaning) > 20);
        assert_true(k->width > 0 && k->height > 0 && k->draw);
        assert_int_equal(strspn(k->name, "abcdefghijklmnopqrstuvwxyz"), strlen(k->name));
    }
    assert_true(count >= 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_quotes_keep_a_text_a_text),
        cmocka_unit_test(test_blocks_are_counted_as_gnuplot_counts_them),
        cmocka_unit_test_setup_teardown(test_curves_by_rank_and_site, folder_setup,
                                        folder_teardown),
        cmocka_unit_test(test_series_and_limits),
        cmocka_unit_test(test_panels),
        cmocka_unit_test(test_every_kind_is_described),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
