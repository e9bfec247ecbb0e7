/* Belt, bearing, coolant loop, bypass and use: defaults, and what is made of what is given. What is
 * refused is in tests/study/bad. */
#include "study/common.h"

#include "sheave/space.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_FUELS TRIAL_LIMITS
#define DRIVE(rest)                                                                                \
    "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = [\"0.06 m\", \"0.07 m\"]; " rest " };" \
    "\n"
#define BELT(rest)                                                                                 \
    DRIVE("belt = { ribs = 6; centre = \"0.26 m\"; friction = 0.4; rib_mass = \"0.02 kg/m\"; "     \
          "allowed_tension = \"110 N\"; " rest " };")
#define BLOWER(rest)                                                                               \
    "blowers = ( { name = \"b\"; kind = \"geometry\"; displacement = \"0.0013 m3\"; "              \
    "leakage_area = \"25e-6 m2\"; " rest " } );\n"

static void good(struct trial *trial, const char *text)
{
    try_text(trial, text);
    for (size_t i = 0; i < trial->findings.count; i++) {
        print_message("%s\n", trial->findings.items[i].text);
    }
    assert_int_equal(trial->status, SHV_OK);
    assert_int_equal(trial->findings.count, 0);
}

/* What is left out is that of profile PK, and the wrap that of the layout. */
static void test_belt_defaults(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial, REST BELT("") TRIAL_BLOWERS);
    const struct shv_belt_setup *setup = &trial.study.drive.belt;
    assert_true(setup->given);
    assert_int_equal(trial.study.numbers[SHV_DIM_RIBS].count, 1);
    assert_true(trial.study.numbers[SHV_DIM_RIBS].values[0] == 6.0);
    assert_int_equal(trial.study.numbers[SHV_DIM_WRAP].count, 1);
    assert_true(trial.study.numbers[SHV_DIM_WRAP].values[0] == 0.0);
    assert_near(setup->belt.rib_pitch, SHV_PK_RIB_PITCH, 1e-15);
    assert_near(setup->belt.groove_angle, SHV_PK_GROOVE_ANGLE, 1e-15);
    assert_near(setup->belt.min_diameter, SHV_PK_MIN_DIAMETER, 1e-15);
    assert_int_equal(setup->tensioner, SHV_TENSION_SPRING);
    assert_true(isnan(setup->static_tension));
    assert_near(setup->slip_margin, 0.2, 0);
    assert_true(setup->rib.price == 0.0 && setup->rib.mass == 0.0);
    assert_true(trial.study.drive.line_offset == 0.0);
    end_trial(&trial);
}

/* Ribs and wrap are dimensions of the search. */
static void test_belt_choices(void **state)
{
    (void)state;
    struct trial trial;
    struct shv_space space;
    good(&trial,
         REST DRIVE("belt = { ribs = { from = 5; to = 8; step = 1; }; centre = \"0.26 m\"; "
                    "friction = 0.4; rib_mass = \"0.02 kg/m\"; allowed_tension = \"110 N\"; "
                    "wrap = [\"200 deg\", \"170 deg\"]; };") TRIAL_BLOWERS);
    assert_int_equal(shv_space_init(&space, &trial.study, NULL), SHV_OK);
    assert_int_equal(space.count[SHV_DIM_RIBS], 4);
    assert_int_equal(space.count[SHV_DIM_WRAP], 2);
    assert_true(trial.study.numbers[SHV_DIM_RIBS].values[3] == 8.0);
    assert_true(trial.study.numbers[SHV_DIM_WRAP].values[0] == 170.0);
    struct shv_kit kit;
    shv_space_kit(&space, &trial.study, space.size - 2, &kit); /* wrap is the fastest */
    assert_true(kit.ribs == 8.0 && kit.wrap == 170.0);
    end_trial(&trial);
}

/* A belt bounds slip and tension by itself, so that there is no warning of no limit. */
static void test_belt_is_a_limit(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial, TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_FUELS BELT("") TRIAL_BLOWERS);
    end_trial(&trial);
}

/* The largest pulleys touch at 0.09 + 0.035 + 2 x 0.001 m. */
static void test_belt_clears(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool good;
    } rows[] = {
        {"line_offset = \"0.001 m\"; belt = { centre = \"0.12701 m\";", true},
        {"line_offset = \"0.001 m\"; belt = { centre = \"0.12699 m\";", false},
        {"belt = { centre = \"0.12501 m\";", true},
        {"belt = { wrap = \"180 deg\"; centre = \"0.12499 m\";", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[2048];
        struct trial trial;
        snprintf(text, sizeof text,
                 REST TRIAL_BLOWERS
                 "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = [\"0.06 m\", \"0.07 m\"]; "
                 "%s ribs = 6; friction = 0.4; rib_mass = \"0.02 kg/m\"; "
                 "allowed_tension = \"110 N\"; }; };\n",
                 rows[i].text);
        try_text(&trial, text);
        assert_int_equal(trial.status, rows[i].good ? SHV_OK : SHV_BAD_INPUT);
        assert_int_equal(trial.findings.count, rows[i].good ? 0 : 1);
        end_trial(&trial);
    }
}

static void test_bearing_defaults(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial, REST TRIAL_DRIVE BLOWER("bearing = { rating = \"9000 N\"; };"));
    const struct shv_nose_bearing *bearing = &trial.study.blowers[0].bearing;
    assert_true(bearing->given);
    assert_int_equal(bearing->type, SHV_BEARING_BALL);
    assert_true(bearing->overhang == 0.0 && bearing->span == 0.0);
    end_trial(&trial);
}

/* Rotors may run at their highest speed for good. */
static void test_continuous_speed(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial,
         REST TRIAL_DRIVE BLOWER("max_speed = \"14000 rpm\"; continuous_speed = \"14000 rpm\";"));
    assert_near(trial.study.blowers[0].continuous_speed, 14000.0 / 60, 1e-15);
    end_trial(&trial);
}

#define LOOP "radiator_effectiveness = 0.5; radiator_capacity = \"700 W/K\"; "
#define COOLER(rest)                                                                               \
    "coolers = ( { name = \"c\"; effectiveness = 0.6; rated_flow = \"0.2 kg/s\"; " LOOP rest       \
    " } );\n"

/* 4 l of the default coolant, 1030 kg/m3 and 3600 J/(kg K), also where its capacity rate is given;
 * or the heat itself. */
static void test_loop_heat(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double heat;
    } rows[] = {
        {COOLER("coolant_flow = \"3e-4 m3/s\"; coolant_volume = \"0.004 m3\";"),
         0.004 * 1030 * 3600},
        {COOLER("coolant_capacity = \"900 W/K\"; coolant_volume = \"0.004 m3\"; coolant_density = "
                "\"1000 kg/m3\";"),
         0.004 * 1000 * 3600},
        {COOLER("coolant_capacity = \"900 W/K\"; loop_heat = \"20 kJ/K\";"), 20e3},
        {COOLER("coolant_capacity = \"900 W/K\";"), 0.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[2048];
        struct trial trial;
        snprintf(text, sizeof text, REST TRIAL_DRIVE TRIAL_BLOWERS "%s%s", rows[i].text,
                 rows[i].heat > 0.0 ? "use = { full_throttle_time = \"0.5 h\"; };\n" : "");
        good(&trial, text);
        assert_near(trial.study.coolers[1].loop_heat, rows[i].heat, 1e-14);
        assert_true(trial.study.use.full_throttle_time == (rows[i].heat > 0.0 ? 1800.0 : 0.0));
        end_trial(&trial);
    }
}

/* preload / area, (preload + rate travel) / area. */
static void test_bypass_spring(void **state)
{
    (void)state;
    struct trial trial;
    good(
        &trial, REST TRIAL_DRIVE TRIAL_BLOWERS
        "bypass = { spring = { diaphragm_area = \"20 cm2\"; preload = \"16 N\"; rate = \"2 N/mm\"; "
        "travel = \"12 mm\"; }; };\n");
    assert_true(trial.study.bypass_part.has_actuator);
    assert_near(trial.study.bypass_part.actuator.starts, 8e3, 1e-14);
    assert_near(trial.study.bypass_part.actuator.finishes, 20e3, 1e-14);
    assert_true(trial.study.bypass_part.area == 0.0);
    end_trial(&trial);
}

static void test_bypass_alone(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST TRIAL_DRIVE TRIAL_BLOWERS "bypass = { finishes = \"9e3 Pa\"; };\n");
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "bypass.starts: found nothing; it is required with finishes");
    end_trial(&trial);
    /* Both at one vacuum: a valve that snaps open. */
    good(&trial, REST TRIAL_DRIVE TRIAL_BLOWERS
         "bypass = { starts = \"9e3 Pa\"; finishes = \"9e3 Pa\"; };\n");
    end_trial(&trial);
}

/* ---- use ---- */

static double speed_of(const struct shv_study *study, size_t index)
{
    assert_true(index < study->engine.speed_count);
    return 60.0 * study->engine.speeds[index];
}

/* Whatever comes first: the range is 1000, 2000, 3000 rpm. */
static void test_speeds_of_use(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial, REST TRIAL_DRIVE TRIAL_BLOWERS
         "objective = { kind = \"torque\"; at = \"1300 rpm\"; };\n"
         "use = { cruise = { speed = \"1600 rpm\"; manifold_pressure = \"5e4 Pa\"; bsfc = \"7e-8 "
         "kg/J\"; };\n"
         " duty = ( { speed = \"2500 rpm\"; time = 0.5; }, { speed = \"1100 rpm\"; time = 0.25; "
         "load = 0; },\n"
         "          { speed = \"2000.0000001 rpm\"; time = 0.25; load = 0.5; } ); };\n");
    const struct shv_use *use = &trial.study.use;
    assert_int_equal(trial.study.engine.speed_count, 7);
    for (size_t i = 1; i < 7; i++) {
        assert_true(speed_of(&trial.study, i) > speed_of(&trial.study, i - 1));
    }
    assert_near(speed_of(&trial.study, use->duty[0].speed), 2500.0, 1e-15);
    assert_near(speed_of(&trial.study, use->duty[1].speed), 1100.0, 1e-15);
    assert_near(speed_of(&trial.study, use->duty[2].speed), 2000.0, 1e-15);
    assert_near(speed_of(&trial.study, use->cruise_speed), 1600.0, 1e-15);
    assert_true(use->duty[0].load == 1.0 && use->duty[1].load == 0.0);
    assert_true(use->road_speed == 0.0);
    end_trial(&trial);
}

/* Thirds with six digits: the sum is 0.999999, and what comes of it sums to 1 as bearings want. */
static void test_duty_of_thirds(void **state)
{
    (void)state;
    struct trial trial;
    good(&trial,
         REST TRIAL_DRIVE TRIAL_BLOWERS "use = { duty = ( { speed = \"1000 rpm\"; time = 0.333333; "
                                        "}, { speed = \"2000 rpm\"; time = 0.333333; },\n"
                                        " { speed = \"3000 rpm\"; time = 0.333333; } ); };\n");
    assert_int_equal(trial.study.use.duty_parts, 3);
    for (size_t i = 0; i < 3; i++) {
        assert_near(trial.study.use.duty[i].time, 1.0 / 3.0, 1e-15);
    }
    end_trial(&trial);
}

static void test_duty_almost(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial,
             REST TRIAL_DRIVE TRIAL_BLOWERS "use = { duty = ( { speed = \"1000 rpm\"; time = 0.5; "
                                            "}, { speed = \"2000 rpm\"; time = 0.500002; } ); "
                                            "};\n");
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0), "use.duty: found times that sum to 1.000002; accepted: "
                                            "shares of time that sum to 1");
    end_trial(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_belt_defaults),    cmocka_unit_test(test_belt_choices),
        cmocka_unit_test(test_belt_is_a_limit),  cmocka_unit_test(test_belt_clears),
        cmocka_unit_test(test_bearing_defaults), cmocka_unit_test(test_continuous_speed),
        cmocka_unit_test(test_loop_heat),        cmocka_unit_test(test_bypass_spring),
        cmocka_unit_test(test_bypass_alone),     cmocka_unit_test(test_speeds_of_use),
        cmocka_unit_test(test_duty_of_thirds),   cmocka_unit_test(test_duty_almost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
