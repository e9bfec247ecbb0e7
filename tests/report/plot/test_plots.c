/* src/report/plot/plots.c, with the real gnuplot where there is one. */
#include "report/folder.h"
#include "report/plot/plots.h"

static bool has_gnuplot(void)
{
    return access("/usr/bin/gnuplot", X_OK) == 0;
}

static enum shv_status plot_all(struct fixture *f, struct shv_pages *pages)
{
    struct report_results r;
    *pages = (struct shv_pages){0};
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    enum shv_status status = report_plots(&r, NULL, pages, &f->message);
    report_results_free(&r);
    return status;
}

static void test_draws_and_draws_the_same_again(void **state)
{
    static const char *const names[] = {"plots/power.svg", "plots/map.svg", "plots/islands.svg",
                                        "plots/row-1.svg"};
    struct fixture *f = *state;
    struct shv_pages pages;
    char *before[4];
    if (!has_gnuplot()) {
        skip();
    }
    assert_int_equal(plot_all(f, &pages), SHV_OK);
    assert_string_equal(pages.trouble.text, "");
    assert_true(pages.plots >= 8);
    for (size_t i = 0; i < 4; i++) {
        before[i] = read_whole(f->folder, names[i]);
        assert_non_null(before[i]);
        assert_non_null(strstr(before[i], "</svg>"));
        assert_null(strstr(before[i], "<image")); /* only lines and areas: sharp in print */
        assert_null(strstr(before[i], "<pattern"));
    }
    assert_int_equal(plot_all(f, &pages), SHV_OK);
    for (size_t i = 0; i < 4; i++) {
        char *after = read_whole(f->folder, names[i]);
        assert_string_equal(after, before[i]);
        free(after);
        free(before[i]);
    }
    assert_false(folder_has(f->folder, "plots/power.svg.part"));
    assert_false(folder_has(f->folder, "plots/phasing.gp")); /* nothing to draw */
}

static void test_pictures_of_other_results_go(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    char plots[128];
    (void)snprintf(plots, sizeof plots, "%s/plots", f->folder);
    assert_int_equal(mkdir(plots, 0755), 0);
    folder_write(plots, "phasing.svg", "old");
    folder_write(plots, "phasing.gp", "old");
    folder_write(plots, "row-7.svg", "old");
    folder_write(plots, "power.svg", "old");
    folder_write(plots, "mine.svg", "kept");
    assert_int_equal(setenv("PATH", "/nowhere", 1), 0);
    assert_int_equal(plot_all(f, &pages), SHV_OK);
    assert_true(pages.no_gnuplot);
    assert_int_equal(pages.plots, 0);
    assert_false(folder_has(plots, "phasing.svg"));
    assert_false(folder_has(plots, "phasing.gp"));
    assert_false(folder_has(plots, "row-7.svg"));
    assert_false(folder_has(plots, "power.svg"));
    assert_true(folder_has(plots, "power.gp"));
    assert_true(folder_has(plots, "power.dat"));
    assert_true(folder_has(plots, "mine.svg"));
}

static void test_folder_that_can_not_be_made(void **state)
{
    struct fixture *f = *state;
    struct shv_pages pages;
    folder_write(f->folder, "plots", "a file");
    assert_int_equal(plot_all(f, &pages), SHV_IO);
    assert_non_null(strstr(f->message.text, "plots"));
}

/* Nothing where gnuplot does not run. */
static void test_time_is_foretold(void **state)
{
    struct fixture *f = *state;
    (void)mkdir(folder_path(f->folder, "bin"), 0755);
    assert_int_equal(setenv("PATH", folder_path(f->folder, "bin"), 1), 0);
    folder_write(f->folder, "bin/gnuplot", "#!/bin/sh\nexit 1\n");
    assert_int_equal(chmod(folder_path(f->folder, "bin/gnuplot"), 0755), 0);
    assert_true(shv_report_pages_seconds() == 0.0);
    folder_write(f->folder, "bin/gnuplot", "#!/bin/sh\nexit 0\n");
    double seconds = shv_report_pages_seconds();
    assert_true(seconds > 0.0 && seconds < 60.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_draws_and_draws_the_same_again,
                                        folder_with_grids_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_folder_that_can_not_be_made, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_pictures_of_other_results_go, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(test_time_is_foretold, folder_setup, folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
