/* One row from the curves of a kit. The curves are made up, so that each value picked is known. */
#include "fixture.h"
#include "report/summary.h"

struct made_up {
    struct shv_point kit[6], stock[6];
    struct shv_curves curves, before;
};

/* Sites by speeds: power peaks at the second speed of the first site and the third of the second.
 */
static void make_up(struct made_up *m)
{
    static const double power[] = {50e3, 90e3, 80e3, 40e3, 60e3, 70e3};
    static const double torque[] = {210.0, 190.0, 120.0, 300.0, 130.0, 100.0};
    for (size_t i = 0; i < 6; i++) {
        m->kit[i] = (struct shv_point){.engine_speed = 20.0 + 20.0 * (double)(i % 3),
                                       .brake_power = power[i],
                                       .torque = torque[i],
                                       .bsfc = 1e-9 * (double)i,
                                       .power_j1349 = 1.1 * power[i],
                                       .power_iso1585 = 1.2 * power[i],
                                       .boost = i == 4 ? 9e4 : 1e4,
                                       .rotor_speed = i == 2 ? 200.0 : 1.0,
                                       .pressure_ratio = i == 0 ? 1.9 : 1.1,
                                       .discharge_temperature = i == 5 ? 430.0 : 300.0,
                                       .charge_temperature = i == 3 ? 350.0 : 300.0,
                                       .blower_power = i == 1 ? 2e4 : 1e3,
                                       .fuel_flow = i == 2 ? 0.02 : 0.01,
                                       .fuel_volume_flow = i == 2 ? 3e-5 : 1e-5,
                                       .ca50 = 8.0 + (double)i,
                                       .phasing_retard = i == 4 || i == 5 ? 6.5 : 0.5 * (double)i,
                                       .knock_integral = i == 3 ? 0.8 : 0.4,
                                       .peak_pressure = i == 0 ? 9e6 : 7e6,
                                       .exhaust_temperature = i == 5 ? 1300.0 : 1200.0,
                                       .injector_duty = i == 2 ? 0.8 : 0.3,
                                       .pump_flow = i == 1 ? 0.7 : 0.2,
                                       .bypass_open = i % 3 == 0};
        m->stock[i] =
            (struct shv_point){.engine_speed = 20.0, .brake_power = 30e3 + 1e3 * (double)i};
    }
    m->curves = (struct shv_curves){.sites = 2, .speeds = 3, .point = m->kit};
    m->before = (struct shv_curves){.sites = 2, .speeds = 3, .point = m->stock};
    struct shv_verdict *v = &m->curves.verdict;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        v->limit[i] = (struct shv_limit_result){INFINITY, NAN, NAN, NAN, 0, 0};
    }
    v->limit[SHV_LIMIT_BOOST] = (struct shv_limit_result){1e5, 9e4, 1e4, 0.1, 1, 1};
    v->binding = SHV_LIMIT_BOOST;
    v->objective = 80e3;
}

static const struct shv_kit kit = {.blower = 1,
                                   .cooler = 1,
                                   .crank_diameter = 0.15,
                                   .blower_diameter = 0.071,
                                   .ratio = 2.1,
                                   .effectiveness = 0.75,
                                   .lambda = 0.9,
                                   .ignition_margin = 2.0,
                                   .injector_flow = 7e-6};

static void picks_peaks_and_places(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct report_summary s;
    make_up(&m);
    report_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_string_equal(s.blower, "twist-1200");
    assert_string_equal(s.cooler, "core-small");
    assert_string_equal(s.fuel, "pump-95");
    assert_true(s.objective == 80e3);
    assert_true(s.peak_power == 90e3 && s.peak_power_speed == 40.0);
    assert_true(s.gain == 90e3 - 32e3); /* the stock engine peaks at 32 kW at the first site */
    assert_true(s.bsfc == 1e-9 && s.power_j1349 == 1.1 * 90e3 && s.power_iso1585 == 1.2 * 90e3);
    assert_true(s.peak_torque == 210.0 && s.peak_torque_speed == 20.0);
    assert_string_equal(s.weakest_site, "hill");
    assert_true(s.weakest_power == 70e3);
    assert_true(s.boost == 9e4 && s.rotor_speed == 200.0 && s.pressure_ratio == 1.9);
    assert_true(s.discharge_temperature == 430.0 && s.charge_temperature == 350.0);
    assert_true(s.blower_power == 2e4 && s.fuel_flow == 0.02 && s.fuel_volume == 3e-5);
    assert_int_equal(s.bypass_open_points, 2);
    assert_string_equal(s.binding_limit, "boost");
    assert_string_equal(s.binding_site, "hill");
    assert_true(s.binding_share == 0.1 && s.binding_speed == 40.0);
    assert_true(s.margin[SHV_LIMIT_BOOST] == 1e4 && isnan(s.margin[SHV_LIMIT_TORQUE]));
}

static void tells_how_it_burns(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct report_summary s;
    make_up(&m);
    report_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_true(s.ca50 == 9.0 && s.phasing_retard == 0.5); /* where power peaks at the first site */
    assert_true(s.highest_retard == 6.5 && s.highest_retard_speed == 40.0); /* the earlier place */
    assert_string_equal(s.highest_retard_site, "hill");
    assert_true(s.knock_integral == 0.8 && s.peak_pressure == 9e6);
    assert_true(s.exhaust_temperature == 1300.0);
    assert_true(s.injector_duty == 0.8 && s.pump_flow == 0.7);
    assert_true(s.ignition_margin == 2.0);
}

static void parts_that_are_not_named_are_empty(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct report_summary s;
    make_up(&m);
    for (size_t i = 0; i < 6; i++) {
        m.kit[i].phasing_retard = m.kit[i].injector_duty = m.kit[i].pump_flow = NAN;
    }
    report_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_null(s.injector);
    assert_null(s.pump);
    assert_true(isnan(s.injector_flow) && isnan(s.injector_duty) && isnan(s.pump_flow));
    assert_null(s.highest_retard_site);
    assert_true(isnan(s.highest_retard) && isnan(s.highest_retard_speed));
    f->injectors[0].is_unlimited = f->pumps[0].is_unlimited = false;
    report_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_string_equal(s.injector, "unlimited"); /* as a part of that name would be */
    assert_string_equal(s.pump, "unlimited");
    assert_true(s.injector_flow == 7e-6);
}

static void no_limit_and_no_answer_are_empty(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct report_summary s;
    make_up(&m);
    m.curves.verdict.binding = -1;
    for (size_t i = 0; i < 3; i++) { /* nothing at the first site */
        m.kit[i] = (struct shv_point){.outcome = SHV_POINT_NO_MATCH, .engine_speed = 20.0};
    }
    report_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_null(s.binding_limit);
    assert_null(s.binding_title);
    assert_null(s.binding_site);
    assert_true(isnan(s.binding_share) && isnan(s.binding_speed));
    assert_true(isnan(s.peak_power) && isnan(s.gain) && isnan(s.peak_torque) && isnan(s.bsfc));
    assert_string_equal(s.weakest_site, "hill");
    assert_true(s.pressure_ratio == 1.1); /* the 1.9 of the first site does not count */
}

static void rows_are_those_of_the_ranking(void **state)
{
    struct fixture *f = *state;
    struct report_rows rows;
    struct report_summary s;
    assert_true(f->ranking.count >= 4);
    assert_int_equal(report_rows_init(&rows, &f->run, &f->message), SHV_OK);
    report_rows_take(&rows, 3, &s);
    assert_int_equal(s.rank, 4);
    assert_int_equal(s.index, f->ranking.item[3].index);
    assert_true(s.objective == f->ranking.item[3].objective);
    assert_true(rows.curves.verdict.objective == s.objective); /* to the bit */
    report_rows_free(&rows);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(picks_peaks_and_places, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(tells_how_it_burns, fixture_setup, fixture_teardown),
        cmocka_unit_test_setup_teardown(parts_that_are_not_named_are_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(no_limit_and_no_answer_are_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(rows_are_those_of_the_ranking, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
