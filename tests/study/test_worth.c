/* Limits and objectives that need a belt, a use or prices. What is refused is in tests/study/bad.
 */
#include "study/common.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_FUELS
#define BLOWER(name, rest)                                                                         \
    "{ name = \"" name                                                                             \
    "\"; kind = \"geometry\"; displacement = \"0.0013 m3\"; leakage_area = \"25e-6 m2\"; " rest    \
    " }"

#define BELT                                                                                       \
    "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; mass = \"2 kg\";\n"        \
    " belt = { ribs = 6; centre = \"0.26 m\"; friction = 0.4; rib_mass = \"0.02 kg/m\";\n"         \
    " allowed_tension = \"110 N\"; }; };\n"
#define USE                                                                                        \
    "use = { duty = ( { speed = \"3000 rpm\"; time = 1; } );\n"                                    \
    " cruise = { speed = \"2000 rpm\"; manifold_pressure = \"5e4 Pa\"; bsfc = \"7e-8 kg/J\"; }; "  \
    "};\n"
#define PRICED BLOWER("a", "price = 900;")
#define CARRIED BLOWER("b", "continuous_speed = \"12000 rpm\"; bearing = { rating = \"9000 N\"; };")
#define PARTS                                                                                      \
    "bypass = { starts = \"8e3 Pa\"; finishes = \"3e4 Pa\"; };\n"                                  \
    "coolers = ( " TRIAL_COOLER("c") " );\n"                                                       \
                                     "blowers = ( " PRICED ", " CARRIED " );\n"
#define ALL_LIMITS                                                                                 \
    "limits = { rotor_duty = 0.1; clearance_left = 0.2; pulley_diameter = \"0.05 m\";\n"           \
    " belt_slip = 0.9; belt_tension = \"100 N\"; hub_load = \"900 N\"; bearing_life = \"7e6 "      \
    "s\";\n"                                                                                       \
    " bypass_vacuum = \"6e3 Pa\"; cruise_drag = \"2e3 W\"; coolant_temperature = \"330 K\";\n"     \
    " price = 5000; mass = \"40 kg\"; power = \"5e4 W\"; };\n"

/* Everything that the limits of a kit need is there. */
static void test_all_limits(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST BELT USE PARTS ALL_LIMITS);
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, 0);
    assert_true(trial.study.limit[SHV_LIMIT_BEARING_LIFE] == 7e6);
    assert_true(trial.study.limit[SHV_LIMIT_CLEARANCE] == 0.2);
    end_trial(&trial);
}

/* A list that cannot be read is told by itself, and not by what depends on it. */
static void test_no_echo(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial,
             REST TRIAL_DRIVE "blowers = 3;\ncoolers = 4;\nkit = { price = 3; };\n"
                              "use = { full_throttle_time = \"60 s\"; duty = ( { speed = \"3000 "
                              "rpm\"; time = 1; } ); };\n"
                              "objective = { kind = \"power_per_price\"; };\n"
                              "limits = { coolant_temperature = \"330 K\"; rotor_duty = 0.1; };\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 2);
    end_trial(&trial);
}

/* Bounds and aims that no choice changes. */
static void test_warnings(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST TRIAL_DRIVE TRIAL_BLOWERS
             "limits = { price = 5000; mass = \"40 kg\"; power = \"5e4 W\"; };\n"
             "objective = { kind = \"least_price\"; };\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, 3);
    assert_string_equal(finding(&trial, 0), "limits.price: no part has a price: every kit costs 0");
    assert_string_equal(finding(&trial, 1),
                        "limits.mass: no part has a mass: every kit weighs 0 kg");
    assert_string_equal(finding(&trial, 2),
                        "objective.kind: no part has a price: every kit costs 0");
    assert_true(trial.findings.items[0].is_warning);
    end_trial(&trial);
    try_text(
        &trial, REST TRIAL_DRIVE TRIAL_BLOWERS TRIAL_LIMITS
        "objective = { kind = \"weighted\"; weights = { power = 1; price = 2; mass = 3; }; };\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, 2);
    assert_string_equal(finding(&trial, 0),
                        "objective.weights.price: no part has a price: every kit costs 0");
    assert_string_equal(finding(&trial, 1),
                        "objective.weights.mass: no part has a mass: every kit weighs 0 kg");
    end_trial(&trial);
}

/* Wherever a price stands, it is one. */
static void test_prices_anywhere(void **state)
{
    (void)state;
    static const char *const texts[] = {
        TRIAL_DRIVE TRIAL_BLOWERS "kit = { price = 1; mass = \"1 kg\"; };\n",
        TRIAL_DRIVE TRIAL_BLOWERS "manifold = { price = 1; mass = \"1 kg\"; };\n",
        TRIAL_DRIVE TRIAL_BLOWERS "bypass = { price = 1; mass = \"1 kg\"; };\n",
        TRIAL_BLOWERS
        "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; price = 1; "
        "pulley_mass = \"1 kg\"; };\n",
        TRIAL_BLOWERS
        "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; pulley_price = 1; "
        "mass = \"1 kg\"; };\n",
        TRIAL_BLOWERS
        "drive = { crank_pulleys = \"0.18 m\"; blower_pulleys = \"0.07 m\"; belt = { ribs = 6; "
        "centre = \"0.26 m\"; friction = 0.4; rib_mass = \"0.02 kg/m\"; allowed_tension = \"110 "
        "N\"; "
        "rib_price = 1; rib_weight = \"1 kg\"; }; };\n",
        TRIAL_DRIVE "blowers = ( " BLOWER("a", "price = 1; mass = \"1 kg\";") " );\n",
        TRIAL_DRIVE TRIAL_BLOWERS
        "injectors = ( { name = \"i\"; flow = \"1e-5 m3/s\"; price = 1; mass = \"1 kg\"; } );\n",
        TRIAL_DRIVE TRIAL_BLOWERS "pumps = ( { name = \"p\"; flow = ((\"3e5 Pa\", \"4e-5 m3/s\")); "
                                  "price = 1; mass = \"1 kg\"; } );\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        char text[4096];
        struct trial trial;
        snprintf(text, sizeof text,
                 REST "%slimits = { price = 5000; mass = \"40 kg\"; };\n"
                      "objective = { kind = \"power_per_price\"; };\n",
                 texts[i]);
        try_text(&trial, text);
        assert_int_equal(trial.status, SHV_OK);
        assert_int_equal(trial.findings.count, 0);
        end_trial(&trial);
    }
}

/* A cooler may be left out of a kit, so its price is no price of every kit; nor is that of one of
 * two blowers. */
static void test_price_of_some(void **state)
{
    (void)state;
    static const char *const texts[] = {
        TRIAL_BLOWERS "coolers = ( { name = \"c\"; effectiveness = 0.6; rated_flow = \"0.2 kg/s\"; "
                      "price = 3; price_per_ntu = 2; } );\n",
        "blowers = ( " BLOWER("a", "price = 1;") ", " BLOWER("b", "") " );\n",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        char text[4096];
        struct trial trial;
        snprintf(text, sizeof text,
                 REST TRIAL_DRIVE "%slimits = { price = 5000; };\n"
                                  "objective = { kind = \"power_per_price\"; };\n",
                 texts[i]);
        try_text(&trial, text);
        assert_int_equal(trial.status, SHV_BAD_INPUT);
        assert_int_equal(trial.findings.count, 1);
        end_trial(&trial);
    }
}

/* Words in the order of the enum; each with what it needs. */
static void test_objectives(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum shv_objective_kind kind;
    } rows[] = {
        {"kind = \"least_price\";", SHV_OBJECTIVE_LEAST_PRICE},
        {"kind = \"power_per_price\";", SHV_OBJECTIVE_POWER_PER_PRICE},
        {"kind = \"least_charge_temperature\";", SHV_OBJECTIVE_LEAST_CHARGE_TEMPERATURE},
        {"kind = \"weighted\"; weights = { power = 2; };", SHV_OBJECTIVE_WEIGHTED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[4096];
        struct trial trial;
        snprintf(text, sizeof text,
                 REST TRIAL_DRIVE TRIAL_BLOWERS
                 "kit = { price = 100; };\n"
                 "limits = { power = \"5e4 W\"; };\nobjective = { %s };\n",
                 rows[i].text);
        try_text(&trial, text);
        assert_int_equal(trial.status, SHV_OK);
        assert_int_equal(trial.findings.count, 0);
        assert_int_equal(trial.study.objective.kind, rows[i].kind);
        end_trial(&trial);
    }
}

/* Per kW in the file, per W in the study. */
static void test_weights(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST TRIAL_DRIVE TRIAL_BLOWERS TRIAL_LIMITS
             "kit = { price = 100; mass = \"3 kg\"; };\n"
             "objective = { kind = \"weighted\"; weights = { power = 50; price = 0.5; mass = 4;\n"
             " charge_temperature = 2; }; };\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.findings.count, 0);
    assert_near(trial.study.weights.power, 0.05, 1e-15);
    assert_near(trial.study.weights.price, 0.5, 0);
    assert_near(trial.study.weights.mass, 4.0, 0);
    assert_near(trial.study.weights.charge_temperature, 2.0, 0);
    end_trial(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_all_limits),    cmocka_unit_test(test_no_echo),
        cmocka_unit_test(test_warnings),      cmocka_unit_test(test_prices_anywhere),
        cmocka_unit_test(test_price_of_some), cmocka_unit_test(test_objectives),
        cmocka_unit_test(test_weights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
