/* Units shown to people, against values worked out by hand from the definitions of the units. */
#include "report/fixture.h"
#include "report/write/measure.h"

static void assert_shown(enum report_measure m, enum shv_unit_system system, double si,
                         const char *suffix, double expected)
{
    assert_string_equal(report_unit(m, system)->suffix, suffix);
    assert_close(report_shown(m, system, si), expected, 1e-12);
}

static void metric(void **state)
{
    (void)state;
    assert_shown(REPORT_POWER, SHV_METRIC, 123456.0, "_kW", 123.456);
    assert_shown(REPORT_TORQUE, SHV_METRIC, 250.0, "_Nm", 250.0);
    assert_shown(REPORT_LENGTH, SHV_METRIC, 0.071, "_mm", 71.0);
    assert_shown(REPORT_SPEED, SHV_METRIC, 40.0, "_m_s", 40.0);
    assert_shown(REPORT_ROTATION, SHV_METRIC, 110.0, "_rpm", 6600.0);
    assert_shown(REPORT_PRESSURE, SHV_METRIC, 101325.0, "_kPa_abs", 101.325);
    assert_shown(REPORT_GAUGE, SHV_METRIC, 96500.0, "_kPa", 96.5);
    assert_shown(REPORT_PRESSURE_CHANGE, SHV_METRIC, 4000.0, "_kPa", 4.0);
    assert_shown(REPORT_TEMPERATURE, SHV_METRIC, 298.15, "_degC", 25.0);
    assert_shown(REPORT_TEMPERATURE_CHANGE, SHV_METRIC, 12.5, "_K", 12.5);
    assert_shown(REPORT_AIR_FLOW, SHV_METRIC, 0.25, "_kg_h", 900.0);
    assert_shown(REPORT_FUEL_FLOW, SHV_METRIC, 0.0125, "_kg_h", 45.0);
    /* 250 g/kWh = 0.25 kg / 3.6 MJ */
    assert_shown(REPORT_SPECIFIC_CONSUMPTION, SHV_METRIC, 0.25 / 3.6e6, "_g_kWh", 250.0);
    assert_shown(REPORT_PERCENT, SHV_METRIC, 0.0624, "_pct", 6.24);
    assert_shown(REPORT_VOLUME, SHV_METRIC, 0.0005, "_cm3", 500.0);
    assert_shown(REPORT_ANGLE, SHV_METRIC, -17.5, "_deg", -17.5);
    assert_shown(REPORT_CYLINDER, SHV_METRIC, 8.5e6, "_bar_abs", 85.0);
    assert_shown(REPORT_CYLINDER_CHANGE, SHV_METRIC, -2e5, "_bar", -2.0);
    assert_shown(REPORT_ENERGY, SHV_METRIC, 640.0, "_J", 640.0);
    /* 60 L/h = 1 L/min */
    assert_shown(REPORT_FUEL_VOLUME, SHV_METRIC, 1e-3 / 60.0, "_L_h", 60.0);
    assert_shown(REPORT_INJECTOR_FLOW, SHV_METRIC, 1e-5, "_cm3_min", 600.0);
    assert_shown(REPORT_NUMBER, SHV_METRIC, 1.85, "", 1.85);
    assert_shown(REPORT_MONEY, SHV_METRIC, 99.5, "", 99.5);
    assert_shown(REPORT_POWER_PER_MONEY, SHV_METRIC, 61.5, "_W_per_unit", 61.5);
    assert_shown(REPORT_FORCE, SHV_METRIC, 420.0, "_N", 420.0);
    assert_shown(REPORT_MASS, SHV_METRIC, 21.5, "_kg", 21.5);
    assert_shown(REPORT_LIFE, SHV_METRIC, 3.6e6, "_h", 1000.0);
    assert_shown(REPORT_VACUUM, SHV_METRIC, 4500.0, "_kPa", 4.5);
    /* 0.4 L over 100 km */
    assert_shown(REPORT_FUEL_DISTANCE, SHV_METRIC, 0.4e-3 / 100e3, "_L_100km", 0.4);
    assert_shown(REPORT_ROAD_SPEED, SHV_METRIC, 25.0, "_km_h", 90.0);
}

/* inch 25.4 mm, foot 304.8 mm, pound 0.45359237 kg, pound-force 4.4482216152605 N, all by
 * definition. */
static void us(void **state)
{
    (void)state;
    assert_shown(REPORT_POWER, SHV_US, 745.69987158227022, "_hp", 1.0);
    assert_shown(REPORT_TORQUE, SHV_US, 1.3558179483314004, "_lbfft", 1.0);
    assert_shown(REPORT_LENGTH, SHV_US, 0.06985, "_in", 2.75);
    assert_shown(REPORT_SPEED, SHV_US, 30.48, "_ft_s", 100.0);
    assert_shown(REPORT_ROTATION, SHV_US, 110.0, "_rpm", 6600.0);
    assert_shown(REPORT_PRESSURE, SHV_US, 101325.0, "_psia", 14.695948775513450);
    assert_shown(REPORT_GAUGE, SHV_US, 14.0 * 6894.7572931683613, "_psi", 14.0);
    assert_shown(REPORT_PRESSURE_CHANGE, SHV_US, 6894.7572931683613, "_psi", 1.0);
    assert_shown(REPORT_TEMPERATURE, SHV_US, 373.15, "_degF", 212.0);
    assert_shown(REPORT_TEMPERATURE_CHANGE, SHV_US, 10.0, "_degR", 18.0);
    assert_shown(REPORT_AIR_FLOW, SHV_US, 0.45359237, "_lb_min", 60.0);
    assert_shown(REPORT_FUEL_FLOW, SHV_US, 0.45359237 / 3600.0, "_lb_h", 1.0);
    /* 0.5 lb per hp h */
    assert_shown(REPORT_SPECIFIC_CONSUMPTION, SHV_US,
                 0.5 * 0.45359237 / (745.69987158227022 * 3600.0), "_lb_hph", 0.5);
    assert_shown(REPORT_PERCENT, SHV_US, 0.5, "_pct", 50.0);
    assert_shown(REPORT_VOLUME, SHV_US, 16.387064e-6, "_in3", 1.0);
    assert_shown(REPORT_ANGLE, SHV_US, 12.0, "_deg", 12.0);
    assert_shown(REPORT_CYLINDER, SHV_US, 1000.0 * 6894.7572931683613, "_psia", 1000.0);
    assert_shown(REPORT_CYLINDER_CHANGE, SHV_US, 6894.7572931683613, "_psi", 1.0);
    assert_shown(REPORT_ENERGY, SHV_US, 1.3558179483314004, "_ftlbf", 1.0);
    /* a gallon is 231 in3 = 3.785411784 L */
    assert_shown(REPORT_FUEL_VOLUME, SHV_US, 3.785411784e-3 / 3600.0, "_gal_h", 1.0);
    assert_shown(REPORT_INJECTOR_FLOW, SHV_US, 1e-5, "_cm3_min", 600.0);
    assert_shown(REPORT_MONEY, SHV_US, 99.5, "", 99.5);
    assert_shown(REPORT_POWER_PER_MONEY, SHV_US, 61.5, "_W_per_unit", 61.5);
    assert_shown(REPORT_FORCE, SHV_US, 4.4482216152605, "_lbf", 1.0);
    assert_shown(REPORT_MASS, SHV_US, 0.45359237, "_lb", 1.0);
    assert_shown(REPORT_LIFE, SHV_US, 3.6e6, "_h", 1000.0);
    /* a mile is 5280 ft = 1609.344 m */
    assert_shown(REPORT_FUEL_DISTANCE, SHV_US, 3.785411784e-3 / 160934.4, "_gal_100mi", 1.0);
    assert_shown(REPORT_ROAD_SPEED, SHV_US, 0.44704, "_mph", 1.0);
    /* NIST SP 811, table of conversion factors: 3.386 389 kPa */
    assert_string_equal(report_unit(REPORT_VACUUM, SHV_US)->suffix, "_inHg");
    assert_close(report_shown(REPORT_VACUUM, SHV_US, 3386.389), 1.0, 2e-7);
}

static void fixed_points_of_temperature(void **state)
{
    (void)state;
    assert_true(fabs(report_shown(REPORT_TEMPERATURE, SHV_METRIC, 273.15)) < 1e-12);
    assert_close(report_shown(REPORT_TEMPERATURE, SHV_US, 273.15), 32.0, 1e-12);
    /* the scales meet at -40 */
    assert_close(report_shown(REPORT_TEMPERATURE, SHV_METRIC, 233.15), -40.0, 1e-12);
    assert_close(report_shown(REPORT_TEMPERATURE, SHV_US, 233.15), -40.0, 1e-12);
}

static void the_room_of_a_temperature_has_no_zero_point(void **state)
{
    (void)state;
    assert_int_equal(report_value_measure(SHV_LIMIT_CHARGE_TEMPERATURE), REPORT_TEMPERATURE);
    assert_int_equal(report_room_measure(SHV_LIMIT_CHARGE_TEMPERATURE), REPORT_TEMPERATURE_CHANGE);
    assert_int_equal(report_value_measure(SHV_LIMIT_BOOST), REPORT_GAUGE);
    assert_int_equal(report_room_measure(SHV_LIMIT_BOOST), REPORT_PRESSURE_CHANGE);
    assert_int_equal(report_value_measure(SHV_LIMIT_PEAK_PRESSURE), REPORT_CYLINDER);
    assert_int_equal(report_room_measure(SHV_LIMIT_PEAK_PRESSURE), REPORT_CYLINDER_CHANGE);
    assert_int_equal(report_room_measure(SHV_LIMIT_ROTOR_SPEED), REPORT_ROTATION);
}

static void shares_of_a_part_are_in_per_cent(void **state)
{
    (void)state;
    assert_int_equal(report_value_measure(SHV_LIMIT_INJECTOR_DUTY), REPORT_PERCENT);
    assert_int_equal(report_room_measure(SHV_LIMIT_INJECTOR_DUTY), REPORT_PERCENT);
    assert_int_equal(report_value_measure(SHV_LIMIT_PUMP_FLOW), REPORT_PERCENT);
    assert_int_equal(report_value_measure(SHV_LIMIT_PRESSURE_RATIO), REPORT_NUMBER);
    assert_int_equal(report_value_measure(SHV_LIMIT_ROTOR_DUTY), REPORT_PERCENT);
    assert_int_equal(report_room_measure(SHV_LIMIT_BELT_SLIP), REPORT_PERCENT);
}

static void hardware_has_units_of_its_own(void **state)
{
    (void)state;
    assert_int_equal(report_value_measure(SHV_LIMIT_PRICE), REPORT_MONEY);
    assert_int_equal(report_room_measure(SHV_LIMIT_PRICE), REPORT_MONEY);
    assert_int_equal(report_value_measure(SHV_LIMIT_MASS), REPORT_MASS);
    assert_int_equal(report_value_measure(SHV_LIMIT_HUB_LOAD), REPORT_FORCE);
    assert_int_equal(report_value_measure(SHV_LIMIT_BEARING_LIFE), REPORT_LIFE);
    assert_int_equal(report_value_measure(SHV_LIMIT_BYPASS_VACUUM), REPORT_VACUUM);
    assert_int_equal(report_room_measure(SHV_LIMIT_BYPASS_VACUUM), REPORT_VACUUM);
    assert_int_equal(report_value_measure(SHV_LIMIT_PULLEY_DIAMETER), REPORT_LENGTH);
    assert_int_equal(report_room_measure(SHV_LIMIT_MANIFOLD_TEMPERATURE),
                     REPORT_TEMPERATURE_CHANGE);
}

/* A limit whose quantity had no unit of its own here would be written in SI without saying so. */
static void every_limit_has_a_unit(void **state)
{
    (void)state;
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        bool unit = shv_limit_info((enum shv_limit)i)->quantity != SHV_Q_NUMBER;
        if (unit) {
            assert_int_not_equal(report_value_measure((enum shv_limit)i), REPORT_NUMBER);
            assert_int_not_equal(report_room_measure((enum shv_limit)i), REPORT_NUMBER);
        }
    }
}

/* Columns with units of two measures must not be taken for one another. */
static void every_measure_has_both_units(void **state)
{
    (void)state;
    for (int i = REPORT_PERCENT; i < REPORT_MEASURE_COUNT; i++) {
        for (int system = SHV_METRIC; system <= SHV_US; system++) {
            const struct report_unit *u =
                report_unit((enum report_measure)i, (enum shv_unit_system)system);
            assert_non_null(u->suffix);
            assert_true(u->suffix[0] == '_' && u->label[0] != '\0' && u->factor > 0.0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(metric),
        cmocka_unit_test(us),
        cmocka_unit_test(fixed_points_of_temperature),
        cmocka_unit_test(the_room_of_a_temperature_has_no_zero_point),
        cmocka_unit_test(shares_of_a_part_are_in_per_cent),
        cmocka_unit_test(hardware_has_units_of_its_own),
        cmocka_unit_test(every_limit_has_a_unit),
        cmocka_unit_test(every_measure_has_both_units),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
