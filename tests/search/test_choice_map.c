/* src/search/choice_map.c */
#include "report/fixture.h"

/* Each cell says what the model says of that kit. */
static void cells_are_the_model(void **state)
{
    struct fixture *f = *state;
    struct shv_choice_cell *cells;
    struct shv_curves curves;
    struct shv_kit kit;
    size_t count, feasible = 0, not = 0;
    uint64_t best = f->ranking.item[0].index;
    assert_int_equal(shv_choice_map(f->model, &f->space, best, &cells, &count, &f->message),
                     SHV_OK);
    assert_int_equal(shv_curves_init(&curves, f->model, &f->message), SHV_OK);
    shv_space_kit(&f->space, &f->study, best, &kit);
    assert_true(count > 1000);
    for (size_t i = 0; i < count; i += 37) {
        kit.ratio = cells[i].ratio;
        kit.effectiveness = cells[i].effectiveness;
        kit.blower_diameter = cells[i].blower_diameter;
        assert_close(
            shv_drive_ratio(kit.crank_diameter, kit.blower_diameter, f->study.drive.line_offset),
            kit.ratio, 1e-12);
        shv_model_evaluate(f->model, &kit, &curves);
        bool holds = cells[i].outcome == SHV_POINT_OK && cells[i].limit < 0;
        assert_int_equal(holds, curves.verdict.feasible);
        double peak = curves.point[shv_curves_peak_power(&curves, 0)].brake_power;
        assert_true(isnan(peak) ? isnan(cells[i].peak_power)
                                : fabs(cells[i].peak_power - peak) <= 1e-9 * peak);
        feasible += holds;
        not += !holds;
    }
    assert_true(feasible > 0 && not > 0);
    shv_curves_free(&curves);
    free(cells);
}

/* From the largest pulley of the drive to its smallest, from the least core to the largest. */
static void the_grid_spans_what_the_study_lists(void **state)
{
    struct fixture *f = *state;
    struct shv_choice_cell *cells;
    size_t count;
    struct shv_kit kit;
    uint64_t best = f->ranking.item[0].index;
    shv_space_kit(&f->space, &f->study, best, &kit);
    const struct shv_numbers *pulleys = &f->study.numbers[SHV_DIM_BLOWER_PULLEY];
    const struct shv_cooler *cooler = &f->study.coolers[kit.cooler];
    assert_int_equal(shv_choice_map(f->model, &f->space, best, &cells, &count, &f->message),
                     SHV_OK);
    assert_close(cells[0].blower_diameter, shv_numbers_last(pulleys), 1e-12);
    assert_close(cells[count - 1].blower_diameter, pulleys->values[0], 1e-12);
    assert_close(cells[0].effectiveness, cooler->effectiveness.values[0], 0.0);
    assert_close(cells[count - 1].effectiveness, shv_numbers_last(&cooler->effectiveness), 0.0);
    free(cells);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(cells_are_the_model, fixture_belt_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(the_grid_spans_what_the_study_lists, fixture_belt_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
