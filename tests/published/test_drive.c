/* The belt drive against worked examples and the standard of ribbed pulleys. */
#include "published/published.h"
#include "sheave/drive.h"

#define TOPIC "Belt drive"

static void test_speeds(void **state)
{
    (void)state;
    static const struct published train = {
        TOPIC, "9-15", 'R',
        "Khurmi and Gupta, Theory of Machines, 14th ed., ex. 11.1, as worked in a "
        "published companion",
        "150 rpm through 750/450 mm and 900/150 mm; the second pair stands as "
        "the blower's internal step-up."};
    double first = shv_drive_ratio(0.75, 0.45, 0.0), second = shv_drive_ratio(0.9, 0.15, 0.0);
    check(&train, 1500.0, shv_drive_rotor_speed(150.0, first, 0.0, second), relative(5e-4),
          "speed without slip, rpm");
    double middle = shv_drive_rotor_speed(150.0, first, 0.02, 1.0);
    check(&train, 1440.6, shv_drive_rotor_speed(middle, second, 0.02, 1.0), relative(5e-5),
          "speed with 2 %% slip in each drive, rpm (printed 1440)");
    static const struct published iso = {
        TOPIC, "9-16", 'P', "ISO 9981:2020, effective line differential of 2 mm for PK pulleys",
        "Read as pitch diameter = effective diameter + 2 x 2 mm, the usual reading; the standard "
        "was "
        "seen in excerpt only."};
    check(&iso, 154.0 / 79.0, shv_drive_ratio(0.150, 0.075, 0.002), relative(1e-9),
          "ratio of 150 and 75 mm effective");
}

static void test_belt_speed(void **state)
{
    (void)state;
    static const struct published flat = {
        TOPIC, "9-01", 'R',
        "Khurmi and Gupta, Theory of Machines, 14th ed., ex. 11.4 p. 342, as "
        "worked in a published companion",
        "Pulley of 0.6 m at 200 rpm."};
    check(&flat, 6.283, shv_drive_belt_speed(0.6, 0.0, 200.0 / 60.0), relative(1e-4),
          "belt speed, m/s");
    static const struct published jindal = {
        TOPIC, "9-14", 'R',
        "Jindal, Machine Design, ex. 20-3 p. 567, as worked in a published "
        "companion",
        "Pulley of 0.2 m at 1440 rpm, 11 kW."};
    check(&jindal, 15.08, shv_drive_belt_speed(0.2, 0.0, 1440.0 / 60.0), relative(1e-3),
          "belt speed, m/s");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_speeds),
        published_test(test_belt_speed),
    };
    return cmocka_run_group_tests_name("published drive", tests, NULL, NULL);
}
