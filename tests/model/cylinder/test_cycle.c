/* One cycle with its residual gas: balances and directions. */
#include "model/cylinder/combustion_gas.h"
#include "support/cycle_fixture.h"
#include "support/gas_state.h"

/* The gas that stays is the gas that the cycle ended with, expanded to exhaust pressure. */
static void residual_gas_is_that_of_the_cycle(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_result r = run_case(&u);
    struct cgas_amounts after = cgas_burned(&u.fuel, u.at.lambda, 0.0);
    struct cgas burned = cgas_of(&after, &u.fuel);
    assert_relative(r.residual_temperature,
                    gas_expanded(&burned, r.evo_temperature, 101325.0 / r.evo_pressure), 1e-8);
    /* Given back, it gives the same cycle in one integration. */
    u.at.residual_temperature = r.residual_temperature;
    struct shv_cycle_result again = run_case(&u);
    assert_int_equal(again.cycles, 1);
    assert_relative(again.gross_work, r.gross_work, 1e-14);
    assert_true(r.cycles >= 3 && r.cycles <= 6);
}

/* Fuel heat = work + wall heat + what exhaust and residual gas carry away, over the whole four
 * strokes: the charge comes in with what its enthalpy is, and pushing it in and out is work. */
static void energy_of_the_whole_cycle(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.pressure = 140e3;
    u.at.exhaust_pressure = 120e3;
    struct shv_cycle_result r = run_case(&u);
    struct cgas_amounts before = cgas_fresh(&u.fuel, u.at.lambda, 0.0);
    struct cgas_amounts after = cgas_burned(&u.fuel, u.at.lambda, 0.0);
    struct cgas fresh = cgas_of(&before, &u.fuel), burned = cgas_of(&after, &u.fuel);
    struct cgas unburned = gas_blend(&fresh, 1.0 - r.residual_share, &burned, r.residual_share);
    double at_closing = r.trapped_mass * cgas_energy(&unburned, r.ivc_temperature);
    double kept = r.residual_share * r.trapped_mass;
    double out = (r.trapped_mass - kept) * cgas_enthalpy(&burned, r.exhaust_temperature) +
                 kept * cgas_energy(&burned, r.residual_temperature);
    double swept = volume_at(&u.engine, 180.0) - volume_at(&u.engine, 0.0);
    double compression = r.ivc_pressure * (volume_at(&u.engine, -180.0) -
                                           volume_at(&u.engine, -140.0)); /* pushed back */
    double work = r.gross_work + compression - 120e3 * swept;
    assert_within((at_closing + r.heat_released - r.wall_heat - work - out) / r.heat_released, 0.0,
                  1e-7);
    assert_relative(r.imep, r.gross_work / swept, 1e-12);
    assert_relative(r.gross_efficiency, r.gross_work / (r.fuel_mass * 43.5e6), 1e-12);
    assert_relative(r.heat_loss_share, r.wall_heat / (r.fuel_mass * 43.5e6), 1e-12);
}

/* Work between the valve events and the dead centres. */
static void work_outside_the_closed_part(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    double bottom = volume_at(&u.engine, 180.0);
    u.engine.blowdown_share = 0.25;
    struct shv_cycle_result r = run_case(&u);
    double before = r.ivc_pressure * (volume_at(&u.engine, -140.0) - bottom);
    double mean = 101325.0 + 0.25 * (r.evo_pressure - 101325.0);
    double after = mean * (bottom - volume_at(&u.engine, 130.0));
    assert_relative(r.gross_work, r.closed_work + before + after, 1e-12);
    u = bare_case();
    r = run_case(&u);
    assert_relative(r.gross_work, r.closed_work, 1e-13);
}

static double highest_of(const struct recording *rec)
{
    double highest = 0.0;
    for (size_t i = 0; i < rec->count; i++) {
        highest = fmax(highest, rec->samples[i].pressure);
    }
    return highest;
}

/* The peak between coarse steps is that of steps so fine that one of them hits it. */
static void peak_lies_on_the_trace(void **state)
{
    (void)state;
    for (double ca50 = 6.0; ca50 < 20.0; ca50 += 1.3) {
        struct cycle_case u = usual_case();
        struct shv_cycle_result fine;
        u.at.ca50 = ca50;
        u.at.step = 0.05;
        struct recording rec = record_case(&u, &fine);
        u.at.step = 2.0;
        struct shv_cycle_result r = run_case(&u);
        assert_relative(r.peak_pressure, highest_of(&rec), 3e-6);
        assert_within(r.peak_angle, fine.peak_angle, 3e-3);
        assert_relative(r.peak_temperature, fine.peak_temperature, 1e-3); /* of whole steps */
        free(rec.samples);
    }
}

static void work_is_best_near_eight_degrees(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    double best = 0.0, at = 0.0;
    for (double ca50 = -10.0; ca50 < 30.0; ca50 += 0.5) {
        u.at.ca50 = ca50;
        double work = run_case(&u).gross_work;
        at = work > best ? ca50 : at;
        best = fmax(best, work);
    }
    assert_within(at, 8.0, 3.5);
}

static void heat_is_lost_to_walls(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_result r = run_case(&u);
    assert_true(r.heat_loss_share > 0.05 && r.heat_loss_share < 0.25);
    u.engine.heat_factor = 0.0;
    struct shv_cycle_result adiabatic = run_case(&u);
    assert_within(adiabatic.wall_heat, 0.0, 0.0);
    assert_less(r.gross_efficiency, adiabatic.gross_efficiency);
    assert_less(r.exhaust_temperature, adiabatic.exhaust_temperature);
}

static void mixture_and_heat(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.at.lambda = 1.0;
    struct shv_cycle_result stoichiometric = run_case(&u);
    assert_relative(stoichiometric.heat_released / (stoichiometric.fuel_mass * 43.5e6), 0.9663,
                    1e-3);
    u.at.combustion_efficiency = 0.9;
    struct shv_cycle_result given = run_case(&u);
    assert_relative(given.heat_released / (given.fuel_mass * 43.5e6), 0.9, 1e-12);
    u = usual_case();
    struct shv_cycle_result rich = run_case(&u);
    assert_less(rich.gross_efficiency, stoichiometric.gross_efficiency);
    assert_less(stoichiometric.imep, rich.imep); /* more power where mixture is a little rich */
}

/* A very late burn is cut off by exhaust opening: heat stays in the fuel. */
static void burning_cut_off(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    u.engine.burn_duration = 120.0;
    u.at.ca50 = 100.0;
    u.engine.exhaust_opening = 110.0;
    struct shv_cycle_result r = run_case(&u);
    assert_int_equal(r.outcome, SHV_CYCLE_DONE);
    assert_less(r.heat_released, 0.8 * 0.8766 * r.fuel_mass * 43.5e6);
}

static void same_bits(void **state)
{
    (void)state;
    struct cycle_case u = usual_case();
    struct shv_cycle_result a = run_case(&u), b = run_case(&u);
    assert_memory_equal(&a, &b, sizeof a);
    struct shv_cycle_result traced;
    struct recording rec = record_case(&u, &traced);
    assert_memory_equal(&a, &traced, sizeof a);
    const struct shv_cycle_sample *last = &rec.samples[rec.count - 1];
    assert_within(last->work, a.closed_work, 0.0);
    assert_within(last->pressure, a.evo_pressure, 0.0);
    assert_within(last->knock_integral, a.knock_integral, 0.0);
    free(rec.samples);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(residual_gas_is_that_of_the_cycle),
        cmocka_unit_test(energy_of_the_whole_cycle),
        cmocka_unit_test(work_outside_the_closed_part),
        cmocka_unit_test(peak_lies_on_the_trace),
        cmocka_unit_test(work_is_best_near_eight_degrees),
        cmocka_unit_test(heat_is_lost_to_walls),
        cmocka_unit_test(mixture_and_heat),
        cmocka_unit_test(burning_cut_off),
        cmocka_unit_test(same_bits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
