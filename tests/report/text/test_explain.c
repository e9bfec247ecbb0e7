/* The explanation of a kit: what it says of one that holds, of one that does not. */
#include "report/fixture.h"

static char *explained(struct fixture *f, uint64_t index, struct shv_curves *curves)
{
    struct shv_kit kit;
    struct shv_change *changes;
    size_t count, size;
    char *text;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    shv_space_kit(&f->space, &f->study, index, &kit);
    assert_int_equal(shv_curves_init(curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, curves);
    assert_int_equal(shv_single_changes(f->model, &f->space, &kit, true, &changes, &count, NULL),
                     SHV_OK);
    assert_int_equal(
        shv_report_explanation(&f->study, &kit, curves, changes, count, out, &f->message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    free(changes);
    for (char *c = text; (c = strchr(c, '\n')); *c++ = ' ') { /* lines break anywhere */
    }
    return text;
}

static void assert_says(const char *text, const char *what)
{
    if (!strstr(text, what)) {
        fail_msg("\"%s\" says nothing of \"%s\"", text, what);
    }
}

static void of_the_best(void **state)
{
    struct fixture *f = *state;
    struct shv_curves curves;
    char expected[200];
    char *text = explained(f, f->ranking.item[0].index, &curves);
    const struct shv_verdict *v = &curves.verdict;
    assert_says(text, "This kit is feasible: it keeps every limit everywhere");
    (void)snprintf(expected, sizeof expected, "Nearest: the limit of %s",
                   shv_limit_info((enum shv_limit)v->binding)->title);
    assert_says(text, expected);
    (void)snprintf(expected, sizeof expected, "%.1f %% of its span",
                   100.0 * v->limit[v->binding].share);
    assert_says(text, expected);
    assert_says(text, "One change at a time, the rest as it is");
    assert_says(text, "Another blower pulley: none");
    free(text);
    shv_curves_free(&curves);
}

static void of_one_that_breaks_limits(void **state)
{
    struct fixture *f = *state;
    for (uint64_t index = 0; index < f->space.size; index += 7) {
        struct shv_curves curves;
        char *text = explained(f, index, &curves);
        const struct shv_verdict *v = &curves.verdict;
        if (!v->feasible && v->outcome == SHV_POINT_OK) {
            assert_says(text, "This kit is not feasible: it breaks");
            for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
                char expected[200];
                (void)snprintf(expected, sizeof expected, "The limit of %s is broken",
                               shv_limit_info((enum shv_limit)i)->title);
                assert_int_equal(strstr(text, expected) != NULL, (v->broken >> i & 1u) != 0);
            }
            assert_says(text, "One change that would make it feasible");
        }
        free(text);
        shv_curves_free(&curves);
    }
}

static void the_change_that_would_do(void **state)
{
    struct fixture *f = *state;
    size_t told = 0;
    for (uint64_t index = 0; index < f->space.size; index++) {
        struct shv_curves curves;
        char *text = explained(f, index, &curves);
        told += !curves.verdict.feasible && strstr(text, "would do; best") ? 1 : 0;
        free(text);
        shv_curves_free(&curves);
    }
    assert_true(told > 5);
}

static void full_device_is_noticed(void **state)
{
    struct fixture *f = *state;
    struct shv_kit kit;
    struct shv_curves curves;
    FILE *out = fopen("/dev/full", "w");
    assert_non_null(out);
    shv_space_kit(&f->space, &f->study, 0, &kit);
    assert_int_equal(shv_curves_init(&curves, f->model, NULL), SHV_OK);
    shv_model_evaluate(f->model, &kit, &curves);
    assert_int_equal(shv_report_explanation(&f->study, &kit, &curves, NULL, 0, out, &f->message),
                     SHV_IO);
    (void)fclose(out);
    shv_curves_free(&curves);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(of_the_best, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(of_one_that_breaks_limits, fixture_belt_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(the_change_that_would_do, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(full_device_is_noticed, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
