/* One row from the curves of a kit. The curves are made up, so that each value picked is known. */
#include "report/fixture.h"
#include "rank/summary.h"

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
                                       .ambient_pressure = 1e5,
                                       .inlet_pressure = i == 4 ? 94e3 : 98e3,
                                       .coolant_temperature = i == 5 ? 330.0 : NAN,
                                       .clearance_left = i == 1 ? 0.6 : 0.8,
                                       .belt_slip = i == 2 ? 0.9 : 0.5,
                                       .belt_tension = i == 4 || i == 5 ? 150.0 : 90.0,
                                       .hub_load = 400.0,
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
    m->curves.hardware = (struct shv_hardware){.price = 2500.0,
                                               .mass = 21.0,
                                               .belt_length = 1.1,
                                               .blower_wrap = 3.0,
                                               .static_tension = 300.0,
                                               .bearing_life = 7.2e6,
                                               .highest_hub_load = 450.0,
                                               .over_continuous = 0.25,
                                               .cruise_drag = 400.0,
                                               .cruise_cost = {410.0, 1e-5, 0.18, 0.2}};
}

static const struct shv_kit kit = {.blower = 1,
                                   .cooler = 1,
                                   .crank_diameter = 0.15,
                                   .blower_diameter = 0.071,
                                   .ratio = 2.1,
                                   .effectiveness = 0.75,
                                   .lambda = 0.9,
                                   .ignition_margin = 2.0,
                                   .injector_flow = 7e-6,
                                   .ribs = 6.0};

static void picks_peaks_and_places(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct shv_summary s;
    make_up(&m);
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_string_equal(s.blower, "twist-large");
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
    struct shv_summary s;
    make_up(&m);
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
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
    struct shv_summary s;
    make_up(&m);
    for (size_t i = 0; i < 6; i++) {
        m.kit[i].phasing_retard = m.kit[i].injector_duty = m.kit[i].pump_flow = NAN;
    }
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_null(s.injector);
    assert_null(s.pump);
    assert_true(isnan(s.injector_flow) && isnan(s.injector_duty) && isnan(s.pump_flow));
    assert_null(s.highest_retard_site);
    assert_true(isnan(s.highest_retard) && isnan(s.highest_retard_speed));
    f->injectors[0].is_unlimited = f->pumps[0].is_unlimited = false;
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_string_equal(s.injector, "unlimited"); /* as a part of that name would be */
    assert_string_equal(s.pump, "unlimited");
    assert_true(s.injector_flow == 7e-6);
}

static void no_limit_and_no_answer_are_empty(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct shv_summary s;
    make_up(&m);
    m.curves.verdict.binding = -1;
    for (size_t i = 0; i < 3; i++) { /* nothing at the first site */
        m.kit[i] = (struct shv_point){.outcome = SHV_POINT_NO_MATCH, .engine_speed = 20.0};
    }
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_null(s.binding_limit);
    assert_null(s.binding_title);
    assert_null(s.binding_site);
    assert_true(isnan(s.binding_share) && isnan(s.binding_speed));
    assert_true(isnan(s.peak_power) && isnan(s.gain) && isnan(s.peak_torque) && isnan(s.bsfc));
    assert_string_equal(s.weakest_site, "hill");
    assert_true(s.pressure_ratio == 1.1); /* the 1.9 of the first site does not count */
}

static void tells_of_belt_worth_and_cruise(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct shv_summary s;
    make_up(&m);
    f->study.drive.belt.given = f->study.use.cruises = true;
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_true(s.ribs == 6.0 && s.belt_length == 1.1 && s.static_tension == 300.0);
    assert_close(s.wrap, 171.88733853924697, 1e-12);                      /* 3 rad */
    assert_true(s.belt_tension == 150.0 && s.belt_tension_speed == 40.0); /* the earlier place */
    assert_string_equal(s.belt_tension_site, "hill");
    assert_true(s.belt_slip == 0.9 && s.hub_load == 450.0 && s.bearing_life == 7.2e6);
    assert_true(s.clearance_left == 0.6 && s.coolant_temperature == 330.0);
    assert_true(s.bypass_vacuum == 6e3 && s.over_continuous == 0.25);
    assert_true(s.price == 2500.0 && s.mass == 21.0 && s.cruise_drag == 400.0);
    assert_close(s.cruise_fuel * 3.6e6, 0.18, 1e-12);
    assert_close(s.cruise_fuel_distance * 1e8, 0.2, 1e-12);
}

static void hardware_that_is_not_known_is_empty(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct shv_summary s;
    make_up(&m);
    m.curves.hardware.price = m.curves.hardware.mass = 0.0;
    for (size_t i = 0; i < 6; i++) {
        m.kit[i].belt_slip = m.kit[i].belt_tension = NAN;
        m.kit[i].bypass_open = true;
    }
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_true(isnan(s.ribs) && isnan(s.price) && isnan(s.mass));
    assert_true(isnan(s.belt_slip) && isnan(s.belt_tension) && isnan(s.belt_tension_speed));
    assert_null(s.belt_tension_site);
    assert_true(isnan(s.bypass_vacuum));
    assert_true(isnan(s.cruise_drag) && isnan(s.cruise_fuel)); /* no cruise point */
    /* Numbers beyond a map are no answer. */
    f->study.use.cruises = true;
    m.curves.hardware.cruise_shut.outcome = SHV_BYPASS_OUTSIDE_MAP;
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_true(isnan(s.cruise_drag));
    f->study.bypass_part.area = 1e-3; /* now the open one counts */
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_true(s.cruise_drag == 400.0);
}

static void a_limit_of_the_kit_has_no_place(void **state)
{
    struct fixture *f = *state;
    struct made_up m;
    struct shv_summary s;
    make_up(&m);
    m.curves.verdict.binding = SHV_LIMIT_PRICE;
    m.curves.verdict.limit[SHV_LIMIT_PRICE] =
        (struct shv_limit_result){2600.0, 2500.0, 100.0, 0.04, 0, 0};
    shv_summarise(&f->study, &kit, &m.curves, &m.before, &s);
    assert_string_equal(s.binding_limit, "price");
    assert_true(s.binding_share == 0.04 && s.margin[SHV_LIMIT_PRICE] == 100.0);
    assert_null(s.binding_site);
    assert_true(isnan(s.binding_speed));
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
        cmocka_unit_test_setup_teardown(tells_of_belt_worth_and_cruise, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(hardware_that_is_not_known_is_empty, fixture_setup,
                                        fixture_teardown),
        cmocka_unit_test_setup_teardown(a_limit_of_the_kit_has_no_place, fixture_setup,
                                        fixture_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
