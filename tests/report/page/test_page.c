/* src/report/page/page.c; how the page behaves in a browser is in tests/browser. */
#include "report/folder.h"
#include "report/page/page.h"

#define SCRIPT "<script>alert('x')</script>"

static char *page_of(struct fixture *f)
{
    struct report_results r;
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    assert_int_equal(report_page(&r, &f->message), SHV_OK);
    report_results_free(&r);
    char *page = read_whole(f->folder, "report.html");
    assert_non_null(page);
    return page;
}

static void test_answer_comes_first(void **state)
{
    struct fixture *f = *state;
    char *page = page_of(f);
    const char *ids[] = {"answer",  "parts", "curves",   "limits", "why",     "sure",
                         "ranking", "kits",  "rejected", "inputs", "cautions"};
    const char *before = page;
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        char section[64];
        (void)snprintf(section, sizeof section, "<section id=\"%s\"", ids[i]);
        const char *at = strstr(page, section);
        assert_non_null(at);
        assert_true(at > before);
        before = at;
    }
    assert_non_null(strstr(page, "shore"));
    assert_non_null(strstr(page, "crowns"));
    assert_non_null(strstr(page, "hurt\npeople"));
    assert_null(strstr(page, "id=\"tradeoffs\"")); /* none were worked out */
    assert_null(strstr(page, "left out of this run"));
    free(page);
}

/* Markup and quotes in every name of a user stay text. */
static void test_names_are_text(void **state)
{
    struct fixture *f = *state;
    char name[] = SCRIPT " \"&' =x";
    f->study.title = f->study.sites[0].name = f->study.blowers[0].name = f->study.blowers[1].name =
        f->study.fuels[0].name = f->study.fuels[1].name = f->study.coolers[1].name =
            f->study.currency = f->study.text = name;
    f->run.options = name;
    folder_fill(f);
    char *page = page_of(f);
    assert_int_equal(times_in(page, "<script>"), 1); /* the page's own */
    assert_int_equal(times_in(page, "</script>"), 1);
    assert_true(times_in(page, "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;") >= 10);
    free(page);
}

/* How many there are of those that are not on the page. */
static void test_long_ranking(void **state)
{
    struct fixture *f = *state;
    char *text = calloc(1, 1 << 16);
    assert_non_null(text);
    size_t used = (size_t)snprintf(text, 1 << 16, "rank,blower,objective_power_kW\r\n");
    for (int i = 1; i <= 1205; i++) {
        used += (size_t)snprintf(text + used, (1 << 16) - used, "%d,b,9\r\n", i);
    }
    folder_write(f->folder, "ranked.csv", text);
    free(text);
    char *page = page_of(f);
    assert_non_null(strstr(page, "<p>The best 200 of 1,205 ranked kits; ranked.csv has all"));
    assert_non_null(strstr(page, "The first 40 rows as they stood"));
    free(page);
}

static void test_nothing_feasible(void **state)
{
    struct fixture *f = *state;
    size_t count = f->ranking.count;
    f->ranking.count = 0;
    f->run.optimum_count = 0;
    f->counts.first[SHV_LIMIT_BOOST] = 144;
    f->counts.first[SHV_LIMIT_TORQUE] = 144; /* as many */
    folder_fill(f);
    f->ranking.count = count;
    char *page = page_of(f);
    assert_non_null(strstr(page, "Nothing is feasible"));
    assert_int_equal(times_in(page, "<li>boost: 144 combinations</li>"), 1);
    assert_int_equal(times_in(page, "<li>brake torque: 144 combinations</li>"), 1);
    assert_null(strstr(page, "id=\"ranking\""));
    assert_non_null(strstr(page, "id=\"cautions\""));
    free(page);
}

static void test_folder_that_can_not_be_written(void **state)
{
    struct fixture *f = *state;
    struct report_results r;
    char path[128];
    assert_int_equal(report_results_read(f->folder, &r, &f->message), SHV_OK);
    (void)snprintf(path, sizeof path, "%s/report.html", f->folder);
    assert_int_equal(mkdir(path, 0755), 0);
    assert_int_equal(report_page(&r, &f->message), SHV_IO);
    assert_non_null(strstr(f->message.text, "report.html"));
    report_results_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_answer_comes_first, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_names_are_text, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_long_ranking, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_nothing_feasible, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(test_folder_that_can_not_be_written, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
