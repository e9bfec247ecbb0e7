/* How well a blower does over rotor speed and pressure ratio. */
#include "report/fixture.h"
#include "sheave/blower_islands.h"
#include "sheave/summaries.h"

static struct shv_island cell[SHV_ISLAND_RATIOS * SHV_ISLAND_SPEEDS];

static struct shv_summary begin(struct fixture *f)
{
    struct shv_summaries all;
    struct shv_summary s;
    assert_int_equal(shv_summaries_init(&all, f->model, &f->space, &f->message), SHV_OK);
    shv_summaries_take(&all, f->ranking.item[0].index, &s);
    shv_summaries_free(&all);
    shv_islands(f->model, &s, cell);
    return s;
}

static void cells_are_the_blower(void **state)
{
    struct fixture *f = *state;
    const struct shv_summary s = begin(f);
    const struct shv_ambient *air = &f->study.sites[0].ambient;
    for (size_t i = 0; i < sizeof cell / sizeof *cell; i++) {
        struct shv_blower_state b;
        shv_blower_state(&f->study.blowers[s.kit.blower], shv_model_gas(f->model, 0), air->pressure,
                         air->temperature, cell[i].rotor_speed,
                         cell[i].pressure_ratio * air->pressure, &b);
        assert_true(cell[i].flow == b.flow);
        assert_true(cell[i].isentropic_efficiency == b.isentropic_efficiency);
        assert_true(cell[i].volumetric_efficiency == b.volumetric_efficiency);
        assert_true(cell[i].discharge_temperature == b.discharge_temperature);
    }
}

/* 15 % beyond what the kit does and may; ratios slowest. */
static void the_grid_ends_beyond_the_limits(void **state)
{
    struct fixture *f = *state;
    const struct shv_summary s = begin(f);
    size_t last = sizeof cell / sizeof *cell - 1;
    double speed = fmax(s.rotor_speed, shv_limit_bound(&f->study, &s.kit, SHV_LIMIT_ROTOR_SPEED));
    assert_true(fabs(cell[last].rotor_speed - 1.15 * speed) < 1e-9 * speed);
    assert_true(cell[last].pressure_ratio > s.pressure_ratio);
    assert_true(cell[0].pressure_ratio == 1.0);
    assert_true(cell[1].pressure_ratio == 1.0 && cell[1].rotor_speed > cell[0].rotor_speed);
    assert_true(fabs(cell[0].rotor_speed / cell[last].rotor_speed - 0.1) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(cells_are_the_blower, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(the_grid_ends_beyond_the_limits, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
