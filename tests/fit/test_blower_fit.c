/* A blower from points: made by the model they come back, within their errors when they scatter. */
#include "study/common.h"
#include "support/fit_logs.h"

#include "sheave/blower_fit.h"

#define POINTS 9
#define DISPLACEMENT 1.2e-3

static struct shv_units *units;

static int open_units(void **state)
{
    (void)state;
    return shv_units_open(&units, NULL) == SHV_OK ? 0 : -1;
}

static int close_units(void **state)
{
    (void)state;
    shv_units_free(units);
    return 0;
}

static struct shv_blower made(const double *x)
{
    return (struct shv_blower){.kind = SHV_BLOWER_GEOMETRY,
                               .displacement = DISPLACEMENT,
                               .step_up = 1.0,
                               .friction_torque = x[SHV_BLOWER_FRICTION_TORQUE],
                               .windage_torque = x[SHV_BLOWER_WINDAGE_TORQUE],
                               .windage_reference_speed = 14000.0 / 60.0,
                               .geometry = {.leakage_area = x[SHV_BLOWER_LEAKAGE_AREA],
                                            .filling_loss = x[SHV_BLOWER_FILLING_LOSS],
                                            .case_loss = x[SHV_BLOWER_CASE_LOSS],
                                            .assembly_temperature = 293.15,
                                            .volume_ratio = 1.0,
                                            .reference_speed = 14000.0 / 60.0}};
}

/* Speeds of 4,000, 9,000 and 14,000 rpm, each at three pressures; `noise` in standard deviations.
 */
static void write_points(const struct shv_blower *blower, bool power, bool heat, double noise,
                         uint64_t *seed)
{
    const struct shv_air_model dry = {.kind = SHV_AIR_NASA};
    struct shv_gas gas;
    struct shv_blower_state s;
    FILE *file = fopen("points.csv", "w");
    assert_non_null(file);
    shv_gas_init(&gas, &dry, 0.0);
    fprintf(file, "rpm;pressure [kPa];flow [m3/s]%s%s\n", power ? ";power kW" : "",
            heat ? ";discharge temp (degC)" : "");
    for (int i = 0; i < POINTS; i++) {
        double rpm = 4000.0 + 5000.0 * (i / 3), rise = 20.0 + 40.0 * (i % 3);
        shv_blower_state(blower, &gas, 101325.0, 298.15, rpm / 60.0, 101325.0 + 1e3 * rise, &s);
        double flow = s.flow * (1.0 + 0.02 * noise * random_normal(seed));
        fprintf(file, "%.0f;%.0f;%.15g", rpm, rise, flow / shv_gas_density(&gas, 101325.0, 298.15));
        if (power) {
            fprintf(file, ";%.15g",
                    1e-3 * s.shaft_power * (1.0 + 0.02 * noise * random_normal(seed)));
        }
        if (heat) {
            fprintf(file, ";%.15g",
                    s.discharge_temperature - 273.15 + 3.0 * noise * random_normal(seed));
        }
        fputc('\n', file);
    }
    assert_int_equal(fclose(file), 0);
}

static void fit_points(struct shv_blower_fit *fit)
{
    const struct shv_ambient inlet = {.pressure = 101325.0, .temperature = 298.15};
    struct shv_diagnostics findings = {0};
    struct shv_message message;
    if (shv_blower_fit_read("points.csv", units, &inlet, fit, &findings) != SHV_OK) {
        fail_msg("%s", findings.items[0].text);
    }
    if (shv_blower_fit_run(fit, DISPLACEMENT, &message) != SHV_OK) {
        fail_msg("%s", message.text);
    }
    remove("points.csv");
}

static const double truth[SHV_BLOWER_PARAMETERS] = {55e-6, 0.04, 0.9, 1.4, 0.12};

static void test_comes_back(void **state)
{
    (void)state;
    struct shv_blower blower = made(truth);
    struct shv_blower_fit fit;
    uint64_t seed = 1;
    write_points(&blower, true, true, 0.0, &seed);
    fit_points(&fit);
    assert_int_equal(fit.readings, 3 * POINTS);
    for (int i = 0; i < SHV_BLOWER_PARAMETERS; i++) {
        assert_true(fit.told[i]);
        assert_near(fit.value[i], truth[i], 1e-6);
    }
    assert_near(fit.blower.geometry.reference_speed, 14000.0 / 60.0, 1e-12);
    shv_blower_fit_free(&fit);
}

/* Errors say how far off it is: over draws (x - truth)/error has about unit spread. A reading that
 * is off by twice what is assumed shows in the errors. */
static void test_within_its_errors(void **state)
{
    (void)state;
    struct shv_blower blower = made(truth);
    uint64_t seed = 5;
    double sum = 0.0;
    size_t count = 0;
    for (int draw = 0; draw < 24; draw++) {
        struct shv_blower_fit fit;
        write_points(&blower, true, true, draw % 2 == 0 ? 1.0 : 2.0, &seed);
        fit_points(&fit);
        for (int i = 0; i < SHV_BLOWER_PARAMETERS; i++) {
            if (fit.told[i]) {
                sum += pow((fit.value[i] - truth[i]) / fit.error[i], 2.0);
                count++;
            }
        }
        shv_blower_fit_free(&fit);
    }
    assert_true(count > 80);
    double spread = sqrt(sum / (double)count);
    if (!(spread > 0.75 && spread < 1.25)) {
        fail_msg("%g", spread);
    }
}

/* What has no column stays at its default, and so does what the points don't tell from it. */
static void test_what_is_not_told(void **state)
{
    (void)state;
    double none[SHV_BLOWER_PARAMETERS] = {55e-6, 0.0, 0.0, 1.4, 0.0};
    struct shv_blower blower = made(none);
    struct shv_blower_fit fit;
    uint64_t seed = 3;
    write_points(&blower, false, false, 1.0, &seed);
    fit_points(&fit);
    assert_true(fit.told[SHV_BLOWER_LEAKAGE_AREA]);
    assert_false(fit.told[SHV_BLOWER_FRICTION_TORQUE] || fit.told[SHV_BLOWER_WINDAGE_TORQUE] ||
                 fit.told[SHV_BLOWER_CASE_LOSS]);
    assert_true(fit.blower.friction_torque == 0.0 && fit.error[SHV_BLOWER_FRICTION_TORQUE] == 0.0);
    shv_blower_fit_free(&fit);
    write_points(&blower, true, true, 0.0, &seed);
    fit_points(&fit);
    assert_true(fit.told[SHV_BLOWER_WINDAGE_TORQUE]);
    assert_false(fit.told[SHV_BLOWER_FILLING_LOSS] || fit.told[SHV_BLOWER_CASE_LOSS]);
    assert_near(fit.blower.windage_torque, 1.4, 1e-3);
    shv_blower_fit_free(&fit);
}

static void test_refused(void **state)
{
    (void)state;
    const struct shv_ambient inlet = {.pressure = 101325.0, .temperature = 298.15};
    static const char *const bad[][2] = {
        {"rpm,pressure [psi],ratio,flow [kg/s]\n4000,5,1.3,0.1\n",
         "points.csv:2: found no pressure, or two"},
        {"rpm,ratio\n4000,1.3\n", "points.csv:2: found no flow"},
        {"rpm,ratio,flow [kg/s]\n4000,0.8,0.1\n", "points.csv:2: found a pressure below"}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct shv_blower_fit fit;
        struct shv_diagnostics findings = {0};
        write_text("points.csv", bad[i][0]);
        assert_int_equal(shv_blower_fit_read("points.csv", units, &inlet, &fit, &findings),
                         SHV_BAD_INPUT);
        if (!strstr(findings.items[0].text, bad[i][1])) {
            fail_msg("%s", findings.items[0].text);
        }
        shv_diagnostics_free(&findings);
    }
    remove("points.csv");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_comes_back), cmocka_unit_test(test_within_its_errors),
        cmocka_unit_test(test_what_is_not_told), cmocka_unit_test(test_refused)};
    return cmocka_run_group_tests(tests, open_units, close_units);
}
