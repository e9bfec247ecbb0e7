/* src/report/table/results.c */
#include "report/folder.h"
#include "report/table/results.h"

static void test_reads_a_folder(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    const char *site[4];
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    assert_string_equal(r.title, f->study.title);
    assert_string_equal(r.currency, "crowns");
    assert_int_equal(r.units, SHV_METRIC);
    assert_int_equal(report_results_kits(&r), 2);
    assert_int_equal(report_results_sites(&r, site, 4), 2);
    assert_string_equal(site[0], "shore");
    assert_string_equal(site[1], "hill");
    assert_int_equal(report_results_sites(&r, site, 1), 1);
    assert_string_equal(report_results_unit(&r, REPORT_MONEY), "crowns");
    assert_string_equal(report_results_unit(&r, REPORT_POWER), "kW");
    assert_true(report_results_number(&r, "counts.total") == (double)f->counts.total);
    assert_true(report_results_number(&r, "run.seconds_total") == 2.0);
    assert_true(isnan(report_results_number(&r, "run.started"))); /* a text */
    assert_true(isnan(report_results_number(&r, "none")));
    assert_string_equal(report_results_text(&r, "none", "else"), "else");
    report_results_free(&r);
}

static void test_finds_limits_by_rank(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    assert_close(report_results_bound(&r, 1, "boost"), 75.0, 1e-6);
    assert_close(report_results_bound(&r, 2, "charge_temperature"), 360.0 - 273.15, 1e-6);
    assert_true(isnan(report_results_bound(&r, 1, "torque")));
    assert_true(isnan(report_results_bound(&r, 3, "boost"))); /* there are two kits */
    report_results_free(&r);
}

/* Ranks 1 to 3 and a kit to sell behind them. */
static void test_ranks_with_curves(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    size_t rank[6];
    folder_write(f->folder, "manifest.cfg", "study = { title = \"t\"; units = \"US\"; };\n");
    folder_write(f->folder, "curves.csv",
                 "rank,site\r\n1,a\r\n1,b\r\n2,a\r\n3,a\r\n3,b\r\n41,a\r\n");
    folder_write(f->folder, "ranked.csv",
                 "rank,role\r\n1,strongest on paper\r\n2,\r\n41,kit to sell\r\n");
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    assert_int_equal(report_results_kits(&r), 3);
    assert_int_equal(report_results_to_sell(&r), 2);
    assert_int_equal(report_results_ranks(&r, rank, 6), 4);
    assert_memory_equal(rank, ((const size_t[]){1, 2, 3, 41}), 4 * sizeof *rank);
    assert_int_equal(report_results_ranks(&r, rank, 2), 2); /* the last is among them */
    assert_memory_equal(rank, ((const size_t[]){1, 41}), 2 * sizeof *rank);
    assert_int_equal(report_results_ranks(&r, rank, 0), 0);
    report_results_free(&r);
}

static void test_what_is_ranked_by(void **state)
{
    static const struct {
        const char *column, *ends;
        enum report_measure measure;
    } cases[] = {{"objective_power_hp", "_power_hp", REPORT_POWER},
                 {"objective_torque_lbfft", "_torque_lbfft", REPORT_TORQUE},
                 {"objective_price", "_price", REPORT_MONEY},
                 {"objective_weighted", "_weighted", REPORT_NUMBER},
                 {"else", "", REPORT_NUMBER}};
    struct fixture *f = *state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct report_results r;
        char text[160];
        (void)snprintf(text, sizeof text,
                       "study = { units = \"US\"; };\nobjective = { column = \"%s\"; };\n",
                       cases[i].column);
        folder_write(f->folder, "manifest.cfg", text);
        assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
        assert_string_equal(report_results_ranked_by(&r), cases[i].ends);
        assert_int_equal(report_results_ranked_measure(&r), cases[i].measure);
        report_results_free(&r);
    }
}

static void test_needs_a_manifest(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "there is no manifest.cfg in it"));
    report_results_free(&r);
    folder_write(f->folder, "manifest.cfg", "study = {\n title = 1 2\n};\n");
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "manifest.cfg, line 2"));
    report_results_free(&r);
}

static void test_tables_may_be_missing_but_not_damaged(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    folder_write(f->folder, "manifest.cfg", "study = { title = \"t\"; units = \"US\"; };\n");
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    assert_int_equal(r.units, SHV_US);
    assert_int_equal(report_results_kits(&r), 0);
    report_results_free(&r);
    folder_write(f->folder, "parts.csv", "a,b\r\n1\r\n");
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_BAD_INPUT);
    assert_non_null(strstr(f->message.text, "parts.csv:2: "));
    report_results_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_reads_a_folder, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_finds_limits_by_rank, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_ranks_with_curves, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_what_is_ranked_by, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_needs_a_manifest, fixture_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_tables_may_be_missing_but_not_damaged, fixture_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
