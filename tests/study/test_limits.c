/* The table of limits and of reasons for failure: complete, unambiguous, spans by hand. */
#include "support/study_fixture.h"

static void every_limit_is_described(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        assert_true(info->name && strlen(info->name) > 0);
        assert_true(info->title && strlen(info->title) > 0);
        assert_true(info->meaning && info->meaning[strlen(info->meaning) - 1] == '.');
        assert_true(info->quantity < SHV_Q_COUNT);
        assert_int_equal(strspn(info->name, "abcdefghijklmnopqrstuvwxyz_"), strlen(info->name));
    }
}

/* Those that no point has, and that points have. */
static void limits_of_the_kit(void **state)
{
    (void)state;
    static const bool of_kit[SHV_LIMIT_COUNT] = {[SHV_LIMIT_ROTOR_DUTY] = true,
                                                 [SHV_LIMIT_BEARING_LIFE] = true,
                                                 [SHV_LIMIT_PULLEY_DIAMETER] = true,
                                                 [SHV_LIMIT_PRICE] = true,
                                                 [SHV_LIMIT_MASS] = true,
                                                 [SHV_LIMIT_POWER] = true,
                                                 [SHV_LIMIT_CRUISE_DRAG] = true};
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        assert_int_equal(shv_limit_info((enum shv_limit)i)->of_kit, of_kit[i]);
    }
}

/* A value that is put where the row says is found there, and nowhere else by chance. */
static void every_limit_has_its_value(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        struct shv_point point = {.bypass_open = false};
        struct shv_hardware hardware = {.price = 0.0};
        bool made = info->place == SHV_NO_PLACE;
        assert_true(made || info->place < (info->of_kit ? sizeof hardware : sizeof point));
        assert_true(info->step[SHV_METRIC] > 0.0 && info->step[SHV_US] > 0.0);
        assert_int_equal(info->stricter != NULL, info->bounded_by != SHV_BY_STUDY);
        if (made) {
            continue;
        }
        double value = 7.0;
        memcpy((char *)(info->of_kit ? (void *)&hardware : (void *)&point) + info->place, &value,
               sizeof value);
        double at_point = shv_point_limit_value(&point, (enum shv_limit)i);
        double of_kit = shv_hardware_limit_value(&hardware, (enum shv_limit)i);
        assert_true(info->of_kit ? isnan(at_point) && of_kit == 7.0
                                 : isnan(of_kit) && at_point == 7.0);
        point.bypass_open = true;
        if (info->bypass_shut) {
            assert_true(isnan(shv_point_limit_value(&point, (enum shv_limit)i)));
        }
    }
}

/* SI units from NIST SP 811 (memory): 5 ft/s, 1 psi, 10 degF, 1 hp, 10 ft lb, 10 lb/h, 50 psi, 20
 * degF, 0.05 in, 2 lbf, 20 lbf, 0.2 inHg, 0.1 hp, 1 lb. */
static void steps_are_round_in_both_systems(void **state)
{
    (void)state;
    static const double step[SHV_LIMIT_COUNT][2] = {
        [SHV_LIMIT_ROTOR_SPEED] = {25.0 / 3.0, 25.0 / 3.0},
        [SHV_LIMIT_BELT_SPEED] = {1.0, 1.524},
        [SHV_LIMIT_PISTON_SPEED] = {1.0, 1.524},
        [SHV_LIMIT_PRESSURE_RATIO] = {0.1, 0.1},
        [SHV_LIMIT_PRESSURE_RISE] = {1e4, 6894.757},
        [SHV_LIMIT_BOOST] = {1e4, 6894.757},
        [SHV_LIMIT_DISCHARGE_TEMPERATURE] = {5.0, 50.0 / 9.0},
        [SHV_LIMIT_CHARGE_TEMPERATURE] = {5.0, 50.0 / 9.0},
        [SHV_LIMIT_BLOWER_POWER] = {1e3, 745.6999},
        [SHV_LIMIT_TORQUE] = {10.0, 13.55818},
        [SHV_LIMIT_FUEL_FLOW] = {1e-3, 1.259979e-3},
        [SHV_LIMIT_PHASING_RETARD] = {1.0, 1.0},
        [SHV_LIMIT_PEAK_PRESSURE] = {5e5, 344737.9},
        [SHV_LIMIT_EXHAUST_TEMPERATURE] = {10.0, 100.0 / 9.0},
        [SHV_LIMIT_INJECTOR_DUTY] = {0.05, 0.05},
        [SHV_LIMIT_PUMP_FLOW] = {0.05, 0.05},
        [SHV_LIMIT_ROTOR_DUTY] = {0.05, 0.05},
        [SHV_LIMIT_CLEARANCE] = {0.05, 0.05},
        [SHV_LIMIT_MANIFOLD_PRESSURE] = {1e4, 6894.757},
        [SHV_LIMIT_MANIFOLD_TEMPERATURE] = {5.0, 50.0 / 9.0},
        [SHV_LIMIT_COOLANT_TEMPERATURE] = {5.0, 50.0 / 9.0},
        [SHV_LIMIT_PULLEY_DIAMETER] = {1e-3, 1.27e-3},
        [SHV_LIMIT_BELT_SLIP] = {0.05, 0.05},
        [SHV_LIMIT_BELT_TENSION] = {10.0, 8.896443},
        [SHV_LIMIT_HUB_LOAD] = {100.0, 88.96443},
        [SHV_LIMIT_BEARING_LIFE] = {3.6e5, 3.6e5},
        [SHV_LIMIT_BYPASS_VACUUM] = {1e3, 677.2776},
        [SHV_LIMIT_CRUISE_DRAG] = {100.0, 74.56999},
        [SHV_LIMIT_PRICE] = {100.0, 100.0},
        [SHV_LIMIT_MASS] = {1.0, 0.4535924},
        [SHV_LIMIT_POWER] = {1e3, 745.6999},
    };
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        assert_relative(info->step[SHV_METRIC], step[i][0], 1e-6);
        assert_relative(info->step[SHV_US], step[i][1], 1e-6);
    }
}

static void names_are_used_once(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(shv_limit_info((enum shv_limit)i)->name,
                                    shv_limit_info((enum shv_limit)k)->name);
        }
    }
    for (int i = 0; i < SHV_OUTCOME_COUNT; i++) {
        assert_true(strlen(shv_outcome_meaning((enum shv_outcome)i)) > 10);
        assert_string_not_equal(shv_outcome_name((enum shv_outcome)i), "unknown");
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(shv_outcome_name((enum shv_outcome)i),
                                    shv_outcome_name((enum shv_outcome)k));
        }
    }
    assert_string_equal(shv_outcome_name(SHV_OUTCOME_COUNT), "unknown");
    assert_string_equal(shv_outcome_meaning(SHV_OUTCOME_COUNT), "unknown");
}

/* `bounded_by` must say what shv_limit_bound does: lower all bounds of a part and see which limits
 * follow. */
static void assert_bounds(const struct made *m, enum shv_bounded_by by, double lowered)
{
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        enum shv_limit limit = (enum shv_limit)i;
        double expected = shv_limit_info(limit)->bounded_by == by ? lowered : 2.0;
        if (shv_limit_info(limit)->at_least) {
            continue;
        }
        assert_same_bits(shv_limit_bound(&m->study, &kit, limit), expected);
    }
}

static void bounds_are_those_marked(void **state)
{
    (void)state;
    struct made m;
    made_begin(&m);
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        m.study.limit[i] = 2.0;
    }
    struct shv_blower *b = &m.blowers[0];
    b->max_speed = b->max_pressure_ratio = b->max_pressure_rise = b->max_discharge_temperature =
        b->max_hub_load = 1.5;
    assert_bounds(&m, SHV_BY_BLOWER, 1.5);
    b->max_speed = b->max_pressure_ratio = b->max_pressure_rise = b->max_discharge_temperature =
        b->max_hub_load = 9.0;
    assert_bounds(&m, SHV_BY_BLOWER, 2.0);
    m.injectors[0].is_unlimited = false;
    m.injectors[0].max_duty = 0.8;
    assert_bounds(&m, SHV_BY_INJECTOR, 0.8);
    m.injectors[0].is_unlimited = true;
    m.pumps[0].is_unlimited = false;
    assert_bounds(&m, SHV_BY_PUMP, 1.0);
    m.pumps[0].is_unlimited = true;
    m.study.engine.efficiency_kind = SHV_EFFICIENCY_CYCLE;
    m.study.engine.knock.best_ca50 = 8.0;
    m.study.engine.knock.limit_ca50 = 9.5;
    assert_bounds(&m, SHV_BY_ENGINE, 1.5);
    m.study.engine.efficiency_kind = SHV_EFFICIENCY_STOCK_TORQUE;
    m.study.base.manifold_pressure = m.study.base.manifold_temperature = 1.5;
    assert_bounds(&m, SHV_BY_MANIFOLD, 1.5);
    m.study.base.manifold_pressure = m.study.base.manifold_temperature = INFINITY;
    m.study.bypass_part = (struct shv_bypass_part){.has_actuator = true, .actuator = {1.5, 3.0}};
    assert_bounds(&m, SHV_BY_BYPASS, 1.5);
    m.study.bypass_part.has_actuator = false;
    m.study.drive.belt.given = true;
    m.study.drive.belt.static_tension = 100.0;
    m.study.drive.belt.belt.allowed_tension = 1.0; /* and of its grip no more than all */
    assert_bounds(&m, SHV_BY_BELT, 1.0);
    made_end(&m);
}

/* Those of two blowers, as far as they are limited. */
static void bounds_of_all_entries(void **state)
{
    (void)state;
    struct made m;
    double low, high;
    made_begin(&m);
    made_add_blower(&m, made_geometry("larger", 1.1e-3));
    m.study.limit[SHV_LIMIT_ROTOR_SPEED] = INFINITY;
    m.blowers[0].max_speed = 300.0;
    m.blowers[1].max_speed = 200.0;
    assert_true(shv_limit_bounds(&m.study, SHV_LIMIT_ROTOR_SPEED, &low, &high));
    assert_true(low == 200.0 && high == 300.0);
    m.blowers[1].max_speed = INFINITY;
    assert_true(shv_limit_bounds(&m.study, SHV_LIMIT_ROTOR_SPEED, &low, &high));
    assert_true(low == 300.0 && high == 300.0);
    made_end(&m);
}

/* Of a lower bound the higher counts. */
static void lower_bounds(void **state)
{
    (void)state;
    struct made m;
    made_begin(&m);
    struct shv_kit kit = made_kit(0, 2.0, 0, 0.0, 0.88);
    struct shv_blower *b = &m.blowers[0];
    m.study.limit[SHV_LIMIT_CLEARANCE] = 0.3;
    b->least_clearance = 0.4;
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_CLEARANCE), 0.4);
    b->least_clearance = 0.2;
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_CLEARANCE), 0.3);
    m.study.limit[SHV_LIMIT_CLEARANCE] = -INFINITY;
    b->least_clearance = 0.0;
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_CLEARANCE), 1e-3); /* touching */
    b->geometry.closing_rate = 0.0;
    assert_true(isinf(shv_limit_bound(&m.study, &kit, SHV_LIMIT_CLEARANCE)));
    m.study.drive.belt.given = true;
    m.study.drive.belt.belt.min_diameter = 0.045;
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_PULLEY_DIAMETER), 0.045);
    m.study.limit[SHV_LIMIT_PULLEY_DIAMETER] = 0.06;
    assert_same_bits(shv_limit_bound(&m.study, &kit, SHV_LIMIT_PULLEY_DIAMETER), 0.06);
    made_end(&m);
    assert_true(shv_limit_breaks(SHV_LIMIT_CLEARANCE, 0.1, 0.2));
    assert_false(shv_limit_breaks(SHV_LIMIT_CLEARANCE, 0.2, 0.2));
    assert_false(shv_limit_breaks(SHV_LIMIT_CLEARANCE, 0.1, -INFINITY));
    assert_true(shv_limit_breaks(SHV_LIMIT_BOOST, 2.1, 2.0));
    assert_false(shv_limit_breaks(SHV_LIMIT_BOOST, 2.0, 2.0));
    assert_false(shv_limit_breaks(SHV_LIMIT_BOOST, NAN, 2.0));
    assert_false(shv_limit_breaks(SHV_LIMIT_CLEARANCE, NAN, 0.2));
}

static void spans(void **state)
{
    (void)state;
    assert_relative(shv_limit_span(SHV_LIMIT_PRESSURE_RATIO, 1.8, 300.0), 0.8, 1e-14);
    assert_relative(shv_limit_span(SHV_LIMIT_PRESSURE_RATIO, 1.0, 300.0), 0.01, 1e-14);
    assert_relative(shv_limit_span(SHV_LIMIT_DISCHARGE_TEMPERATURE, 420.0, 300.0), 120.0, 1e-14);
    assert_relative(shv_limit_span(SHV_LIMIT_CHARGE_TEMPERATURE, 350.0, 290.0), 60.0, 1e-14);
    assert_relative(shv_limit_span(SHV_LIMIT_CHARGE_TEMPERATURE, 280.0, 290.0), 1.0, 1e-14);
    const enum shv_limit plain[] = {SHV_LIMIT_ROTOR_SPEED,  SHV_LIMIT_BELT_SPEED,
                                    SHV_LIMIT_PISTON_SPEED, SHV_LIMIT_PRESSURE_RISE,
                                    SHV_LIMIT_BOOST,        SHV_LIMIT_BLOWER_POWER,
                                    SHV_LIMIT_TORQUE,       SHV_LIMIT_FUEL_FLOW};
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++) {
        assert_relative(shv_limit_span(plain[i], 240.0, 300.0), 240.0, 1e-15);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_limit_is_described),
        cmocka_unit_test(every_limit_has_its_value),
        cmocka_unit_test(limits_of_the_kit),
        cmocka_unit_test(steps_are_round_in_both_systems),
        cmocka_unit_test(names_are_used_once),
        cmocka_unit_test(bounds_are_those_marked),
        cmocka_unit_test(bounds_of_all_entries),
        cmocka_unit_test(lower_bounds),
        cmocka_unit_test(spans),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
