/* The belt drive, by hand. */
#include "support/study_fixture.h"

static void ratio_of_pitch_diameters(void **state)
{
    (void)state;
    assert_relative(shv_drive_ratio(0.150, 0.060, 0.0), 2.5, 1e-15);
    /* 3 mm more on each diameter: 153 / 63 */
    assert_relative(shv_drive_ratio(0.150, 0.060, 0.0015), 153.0 / 63.0, 1e-15);
    assert_relative(shv_drive_ratio(0.1, 0.1, 0.002), 1.0, 1e-15);
    assert_relative(shv_drive_blower_pulley(0.150, 153.0 / 63.0, 0.0015), 0.060, 1e-14);
    assert_true(isnan(shv_drive_blower_pulley(NAN, 2.5, 0.0015)));
}

static void rotor_speed(void **state)
{
    (void)state;
    /* 100 rev/s, ratio 2, 1 % creep, gears 3:2 */
    assert_relative(shv_drive_rotor_speed(100.0, 2.0, 0.01, 1.5), 297.0, 1e-15);
}

/* The belt runs as fast as the pitch line of either pulley (without creep). */
static void belt_speed_is_that_of_both_pulleys(void **state)
{
    (void)state;
    double crank = 0.150, blower = 0.060, offset = 0.0015, n = 100.0;
    double belt = shv_drive_belt_speed(crank, offset, n);
    assert_relative(belt, MADE_PI * 0.153 * 100.0, 1e-14);
    double blower_turns =
        shv_drive_rotor_speed(n, shv_drive_ratio(crank, blower, offset), 0.0, 1.0);
    assert_relative(shv_drive_belt_speed(blower, offset, blower_turns), belt, 1e-14);
}

/* The next length up; one that fits but for a rounding is taken as it is. */
static void belt_as_it_is_sold(void **state)
{
    (void)state;
    double lengths[] = {0.80, 0.85, 0.90};
    const struct shv_belt_setup belt = {.lengths = {lengths, 3}}, any = {.given = true};
    assert_relative(shv_belt_to_order(&belt, 0.8588), 0.90, 0);
    assert_relative(shv_belt_to_order(&belt, 0.85 + 1e-9), 0.85, 0);
    assert_relative(shv_belt_to_order(&belt, 0.1), 0.80, 0);
    assert_true(isnan(shv_belt_to_order(&belt, 0.91)));
    assert_true(isnan(shv_belt_to_order(&belt, NAN)));
    assert_true(isnan(shv_belt_to_order(&any, 0.85)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ratio_of_pitch_diameters),
        cmocka_unit_test(rotor_speed),
        cmocka_unit_test(belt_speed_is_that_of_both_pulleys),
        cmocka_unit_test(belt_as_it_is_sold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
