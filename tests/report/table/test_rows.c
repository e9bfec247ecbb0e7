/* src/report/table/rows.c */
#include "report/fixture.h"
#include "report/table/rows.h"

static void rows_are_those_of_the_ranking(void **state)
{
    struct fixture *f = *state;
    struct report_rows rows;
    struct shv_summary s;
    assert_true(f->ranking.count >= 4);
    assert_int_equal(report_rows_init(&rows, &f->run, &f->message), SHV_OK);
    report_rows_take(&rows, 3, &s);
    assert_int_equal(s.rank, 4);
    assert_int_equal(s.index, f->ranking.item[3].index);
    assert_true(s.objective == f->ranking.item[3].objective);
    assert_true(rows.of.curves.verdict.objective == s.objective); /* to the bit */
    report_rows_free(&rows);
}

/* Ranked by the least price, more is worse: it is shown without the sign it is ranked by. */
static void prices_are_not_negative(void **state)
{
    struct fixture *f = *state;
    struct report_rows rows;
    struct shv_summary s;
    f->study.objective.kind = SHV_OBJECTIVE_LEAST_PRICE;
    f->ranking.item[0].objective = -2500.0;
    assert_int_equal(report_rows_init(&rows, &f->run, &f->message), SHV_OK);
    report_rows_take(&rows, 0, &s);
    assert_true(s.objective == 2500.0);
    report_rows_take_index(&rows, f->ranking.item[0].index, 6, &s);
    assert_int_equal(s.rank, 7);
    assert_true(s.objective == -rows.of.curves.verdict.objective);
    report_rows_free(&rows);
}

/* Those that get curves: as many as the study asks for, or as there are. */
static void drawn_are_the_first(void **state)
{
    struct fixture *f = *state;
    f->study.results.curves = 2;
    assert_int_equal(report_drawn_count(&f->run), 2);
    assert_int_equal(report_drawn_place(&f->run, 1), 1);
    assert_int_equal(report_lead_place(&f->run), 0);
    f->study.results.curves = 1000;
    assert_int_equal(report_drawn_count(&f->run), f->ranking.count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(rows_are_those_of_the_ranking, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(prices_are_not_negative, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(drawn_are_the_first, fixture_setup, fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
