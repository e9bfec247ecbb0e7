/* Studies as a whole: every field of a full one and the defaults of a bare one. */
#include "study/common.h"

#include <unistd.h>

#include "sheave/air.h"
#include "sheave/study.h"
#include "base/sha256.h"

static int enter_source(void **state)
{
    (void)state;
    return chdir(SHEAVE_SOURCE_DIR); /* so that paths in messages are the same everywhere */
}

static void load(const char *path, struct shv_study *study, struct shv_diagnostics *findings)
{
    memset(study, 0xa5, sizeof *study); /* poison: a field that is not set will show */
    *findings = (struct shv_diagnostics){0};
    enum shv_status status = shv_study_load(path, study, findings);
    for (size_t i = 0; i < findings->errors && i < findings->count; i++) {
        print_message("%s\n", findings->items[i].text);
    }
    assert_int_equal(status, SHV_OK);
    assert_int_equal(findings->errors, 0);
}

/* ---- the full study ---- */

static struct shv_study full;

static int load_full(void **state)
{
    struct shv_diagnostics findings;
    int status = enter_source(state);
    load("tests/study/valid.cfg", &full, &findings);
    assert_int_equal(findings.count, 0);
    shv_diagnostics_free(&findings);
    return status;
}

static int free_full(void **state)
{
    (void)state;
    shv_study_free(&full);
    shv_study_free(&full); /* twice is safe */
    return 0;
}

static void test_full_top(void **state)
{
    (void)state;
    assert_string_equal(full.path, "tests/study/valid.cfg");
    assert_string_equal(full.title, "every key");
    assert_int_equal(full.air.kind, SHV_AIR_CONSTANT);
    assert_near(full.air.gas_constant, 290.0, 0);
    assert_near(full.air.heat_capacity, 1010.0, 1e-15);
    assert_near(full.air.gamma, 1.41, 0);
    assert_near(full.intake.pressure_drop, 2e3, 1e-15);
    assert_near(full.intake.flow, 0.2, 0);
    assert_near(full.intake.density, 1.15, 0);
    assert_near(full.bypass.bleed_above, 80e3, 1e-15);
    assert_int_equal(full.bypass.bleed_to, SHV_BLEED_TO_ATMOSPHERE);
    assert_int_equal(full.objective.kind, SHV_OBJECTIVE_MEAN_POWER);
    assert_near(full.objective.from, 25.0, 1e-15);
    assert_near(full.objective.to, 50.0, 1e-15);
    assert_true(full.objective.at == 0.0);
    assert_int_equal(full.objective.over_sites, SHV_OVER_SITES_WORST);
    assert_string_equal(full.results.folder, "out/here");
    assert_int_equal(full.results.keep, 50);
    assert_int_equal(full.results.curves, 7);
    assert_int_equal(full.results.units, SHV_US);
    assert_false(full.search.enabled);
    assert_int_equal(full.numbers[SHV_DIM_LAMBDA].count, 2);
    assert_int_equal(full.tradeoff_count, 2);
    assert_int_equal(full.tradeoffs[0].of[1], SHV_TRADE_PRICE);
    assert_int_equal(shv_tradeoff_dims(&full.tradeoffs[0]), 2);
    assert_int_equal(full.tradeoffs[1].of[2], SHV_TRADE_CHARGE_TEMPERATURE);
    assert_int_equal(shv_tradeoff_dims(&full.tradeoffs[1]), 3);
    assert_near(full.tradeoffs[1].at, 2000.0 / 60.0, 1e-15);
    assert_near(full.numbers[SHV_DIM_LAMBDA].values[0], 0.85, 1e-15);
    assert_near(full.numbers[SHV_DIM_LAMBDA].values[1], 0.9, 0);
}

static void test_full_limits(void **state)
{
    (void)state;
    static const double bounds[SHV_LIMIT_COUNT] = {
        [SHV_LIMIT_ROTOR_SPEED] = 16000.0 / 60,
        [SHV_LIMIT_BELT_SPEED] = 50.0,
        [SHV_LIMIT_PISTON_SPEED] = 20.0,
        [SHV_LIMIT_PRESSURE_RATIO] = 2.0,
        [SHV_LIMIT_PRESSURE_RISE] = 90e3,
        [SHV_LIMIT_BOOST] = 12 * 6894.757293168361,
        [SHV_LIMIT_DISCHARGE_TEMPERATURE] = 433.15,
        [SHV_LIMIT_CHARGE_TEMPERATURE] = 350.0,
        [SHV_LIMIT_BLOWER_POWER] = 40e3,
        [SHV_LIMIT_TORQUE] = 200.0,
        [SHV_LIMIT_FUEL_FLOW] = 0.01,
        [SHV_LIMIT_PHASING_RETARD] = INFINITY,
        [SHV_LIMIT_PEAK_PRESSURE] = INFINITY,
        [SHV_LIMIT_EXHAUST_TEMPERATURE] = INFINITY,
        [SHV_LIMIT_INJECTOR_DUTY] = 0.8,
        [SHV_LIMIT_PUMP_FLOW] = 0.9,
        [SHV_LIMIT_ROTOR_DUTY] = 0.05,
        [SHV_LIMIT_CLEARANCE] = 0.1,
        [SHV_LIMIT_MANIFOLD_PRESSURE] = 1e5,
        [SHV_LIMIT_MANIFOLD_TEMPERATURE] = 443.15,
        [SHV_LIMIT_COOLANT_TEMPERATURE] = 333.15,
        [SHV_LIMIT_PULLEY_DIAMETER] = 0.052,
        [SHV_LIMIT_BELT_SLIP] = 0.95,
        [SHV_LIMIT_BELT_TENSION] = 100.0,
        [SHV_LIMIT_HUB_LOAD] = 900.0,
        [SHV_LIMIT_BEARING_LIFE] = 7.2e6,
        [SHV_LIMIT_BYPASS_VACUUM] = 6e3,
        [SHV_LIMIT_CRUISE_DRAG] = 2e3,
        [SHV_LIMIT_PRICE] = 6000.0,
        [SHV_LIMIT_MASS] = 40.0,
        [SHV_LIMIT_POWER] = 70e3,
    };
    for (size_t i = 0; i < SHV_LIMIT_COUNT; i++) {
        if (isinf(bounds[i])) {
            assert_true(isinf(full.limit[i]));
        } else {
            assert_near(full.limit[i], bounds[i], 1e-12);
        }
    }
}

/* 1000, 1200 (duty), 1500 (objective), 1800 (cruise), 2000, 3000 (range, objective and duty), 3900
 * (end). */
static void test_full_engine(void **state)
{
    (void)state;
    const struct shv_engine *engine = &full.engine;
    static const double rpm[] = {1000, 1200, 1500, 1800, 2000, 3000, 3900};
    assert_string_equal(engine->name, "odd three");
    assert_int_equal(engine->cylinders, 3);
    assert_near(engine->bore, 0.08, 1e-15);
    assert_near(engine->stroke, 0.0762, 1e-15);
    assert_near(engine->displacement, 1.15e-3, 1e-15);
    assert_near(engine->compression_ratio, 10.0, 0);
    assert_int_equal(engine->speed_count, 7);
    for (size_t i = 0; i < 7; i++) {
        assert_near(engine->speeds[i], rpm[i] / 60, 1e-15);
    }
    assert_true(full.objective.from == engine->speeds[2]);
    assert_true(full.objective.to == engine->speeds[5]);
    assert_near(engine->reference_temperature, 300.15, 1e-15);
    assert_near(engine->cycle.charge_heating, 0.4, 0);
    assert_near(engine->cycle.charge_wall_temperature, 390.0, 1e-14);
    assert_false(engine->residual_correction);
    assert_near(engine->residual_gamma, 1.25, 0);
    assert_near(engine->pumping_share, 0.9, 0);
    assert_near(engine->intake.pressure_drop, 1e3, 1e-15);
    assert_near(engine->intake.flow, 0.1, 0);
    assert_near(engine->intake.density, 1.1, 0);
    assert_near(engine->exhaust.pressure_drop, 10e3, 1e-15);
    assert_near(engine->exhaust.flow, 0.11, 0);
}

static void test_full_engine_models(void **state)
{
    (void)state;
    const struct shv_engine *engine = &full.engine;
    assert_int_equal(engine->volumetric_efficiency.count, 3);
    assert_near(engine->volumetric_efficiency.x[1], 2500.0 / 60, 1e-15);
    assert_near(engine->volumetric_efficiency.y[0], 0.8, 1e-15);
    assert_near(engine->volumetric_efficiency.y[2], 0.85, 0);
    assert_int_equal(engine->stock_torque.count, 2);
    assert_near(engine->stock_torque.x[0], 10.0, 1e-15);
    assert_near(engine->stock_torque.y[0], 90.0, 0);
    assert_near(engine->stock_torque.y[1], 100.0, 1e-15);
    assert_int_equal(engine->friction.kind, SHV_FRICTION_CHEN_FLYNN);
    assert_near(engine->friction.fmep_at_rest, 20e3, 1e-15);
    assert_near(engine->friction.per_peak_pressure, 0.006, 0);
    assert_near(engine->friction.per_piston_speed, 10e3, 1e-15);
    assert_near(engine->friction.per_piston_speed_squared, 150.0, 1e-15);
    assert_near(engine->friction.peak_pressure_ratio, 50.0, 0);
    assert_near(engine->friction.mechanical_efficiency, 0.85, 0);
    assert_int_equal(engine->efficiency_kind, SHV_EFFICIENCY_STOCK_TORQUE);
    assert_true(engine->indicated_efficiency == 0.0 && engine->power_per_free_air == 0.0);
    assert_near(engine->stock.pressure, shv_atmosphere_pressure(500.0), 1e-15);
    assert_near(engine->stock.temperature, 293.15, 1e-15);
    assert_near(engine->stock.relative_humidity, 0.4, 1e-15);
    assert_int_equal(engine->stock_fuel, 1);
    assert_near(engine->stock_lambda, 0.9, 0);
}

static void test_full_sites_and_drive(void **state)
{
    (void)state;
    assert_int_equal(full.site_count, 2);
    assert_string_equal(full.sites[0].name, "low");
    assert_near(full.sites[0].ambient.pressure, 14.5 * 6894.757293168361, 1e-12);
    assert_near(full.sites[0].ambient.temperature, 303.15, 1e-14);
    assert_near(full.sites[0].ambient.relative_humidity, 0.5, 0);
    assert_near(full.sites[0].weight, 2.0, 0);
    assert_string_equal(full.sites[1].name, "high");
    assert_near(full.sites[1].ambient.pressure, 79501.0, 2e-5); /* tables of ISO 2533 */
    assert_near(full.sites[1].ambient.temperature, 275.154, 2e-6);
    assert_true(full.sites[1].ambient.relative_humidity == 0.0);
    assert_near(full.sites[1].weight, 1.0, 0);
    assert_int_equal(full.numbers[SHV_DIM_CRANK_PULLEY].count, 2);
    assert_near(full.numbers[SHV_DIM_CRANK_PULLEY].values[0], 0.18, 0); /* sorted */
    assert_near(full.numbers[SHV_DIM_CRANK_PULLEY].values[1], 0.2, 0);
    assert_int_equal(full.numbers[SHV_DIM_BLOWER_PULLEY].count, 3);
    assert_near(full.numbers[SHV_DIM_BLOWER_PULLEY].values[0], 0.06, 1e-15);
    assert_near(full.numbers[SHV_DIM_BLOWER_PULLEY].values[1], 0.065, 1e-15);
    assert_near(full.numbers[SHV_DIM_BLOWER_PULLEY].values[2], 0.07, 1e-15);
    assert_near(full.drive.creep, 0.01, 1e-15);
    assert_near(full.drive.efficiency, 0.95, 0);
    assert_near(full.drive.line_offset, 0.002, 1e-15);
}

static void check_worth(const struct shv_worth *worth, double price, double mass)
{
    assert_near(worth->price, price, 0);
    assert_near(worth->mass, mass, 1e-15);
}

static void test_full_belt(void **state)
{
    (void)state;
    const struct shv_belt_setup *setup = &full.drive.belt;
    const struct shv_belt *belt = &setup->belt;
    assert_true(setup->given);
    assert_int_equal(full.numbers[SHV_DIM_RIBS].count, 2);
    assert_true(full.numbers[SHV_DIM_RIBS].values[0] == 6.0 &&
                full.numbers[SHV_DIM_RIBS].values[1] == 8.0); /* sorted */
    assert_int_equal(full.numbers[SHV_DIM_WRAP].count, 2);
    assert_near(full.numbers[SHV_DIM_WRAP].values[0], 180.0, 0);
    assert_near(full.numbers[SHV_DIM_WRAP].values[1], 200.0, 1e-15);
    assert_near(setup->centre, 0.26, 1e-15);
    assert_near(belt->friction, 0.4, 0);
    assert_near(belt->rib_mass, 0.02, 1e-15);
    assert_near(belt->allowed_tension, 25 * 0.45359237 * 9.80665, 1e-12);
    assert_near(belt->min_diameter, 0.05, 1e-15);
    assert_near(belt->rib_pitch, 0.004, 1e-15);
    assert_near(belt->groove_angle, 0.62831853071795865, 1e-15); /* pi / 5 */
    assert_int_equal(setup->tensioner, SHV_TENSION_FIXED);
    assert_near(setup->static_tension, 300.0, 1e-15);
    assert_near(setup->slip_margin, 0.3, 0);
    check_worth(&setup->rib, 4.0, 0.015);
    check_worth(&full.drive.worth, 60.0, 1.5);
    check_worth(&full.base.pulley, 30.0, 0.8);
}

static void test_full_hardware(void **state)
{
    (void)state;
    assert_string_equal(full.currency, "crowns");
    assert_near(full.bypass_part.area, 700e-6, 1e-15);
    assert_true(full.bypass_part.has_actuator);
    assert_near(full.bypass_part.actuator.starts, 8e3, 1e-15);
    assert_near(full.bypass_part.actuator.finishes, 30e3, 1e-15);
    check_worth(&full.bypass_part.worth, 45.0, 0.4);
    assert_near(full.base.manifold_pressure, 120e3, 1e-15);
    assert_near(full.base.manifold_temperature, 453.15, 1e-15);
    check_worth(&full.base.manifold, 500.0, 6.0);
    check_worth(&full.base.worth, 900.0, 7.0);
    const struct shv_blower *own = &full.blowers[1];
    assert_near(own->continuous_speed, 200.0, 1e-15);
    assert_near(own->least_clearance, 0.2, 1e-15);
    assert_near(own->max_hub_load, 1200.0, 1e-15);
    assert_true(own->bearing.given);
    assert_int_equal(own->bearing.type, SHV_BEARING_ROLLER);
    assert_near(own->bearing.rating, 9e3, 1e-15);
    assert_near(own->bearing.overhang, 0.02, 1e-15);
    assert_near(own->bearing.span, 0.08, 1e-15);
    check_worth(&own->worth, 1100.0, 9.0);
    const struct shv_cooler *water = &full.coolers[1];
    assert_near(water->loop_heat, 4e-3 * 1000 * 4000, 1e-14);
    check_worth(&water->worth, 400.0, 5.0);
    check_worth(&water->per_ntu, 120.0, 1.1);
    check_worth(&full.injectors[1].worth, 35.0, 0.06);
    check_worth(&full.pumps[0].worth, 110.0, 0.9);
}

/* Indices are those of the whole rev range, whatever was put into it later. */
static void test_full_use(void **state)
{
    (void)state;
    const struct shv_use *use = &full.use;
    assert_int_equal(use->duty_parts, 2);
    assert_int_equal(use->duty[0].speed, 5);
    assert_near(use->duty[0].time, 0.25, 1e-15);
    assert_near(use->duty[0].load, 1.0, 0);
    assert_int_equal(use->duty[1].speed, 1);
    assert_near(use->duty[1].time, 0.75, 1e-15);
    assert_near(use->duty[1].load, 0.3, 1e-15);
    assert_near(use->full_throttle_time, 120.0, 1e-15);
    assert_true(use->cruises);
    assert_int_equal(use->cruise_speed, 3);
    assert_near(use->cruise_pressure, 50e3, 1e-15);
    assert_near(use->road_speed, 25.0, 1e-15);
    assert_near(use->bsfc, 7e-8, 1e-14);
}

static void test_full_blowers(void **state)
{
    (void)state;
    assert_int_equal(full.blower_count, 2);
    const struct shv_blower *mapped = &full.blowers[0], *own = &full.blowers[1];
    assert_string_equal(mapped->name, "mapped");
    assert_int_equal(mapped->kind, SHV_BLOWER_MAP);
    assert_near(mapped->displacement, 0.9e-3, 1e-15);
    assert_near(mapped->map.reference_pressure, 1e5, 1e-15);
    assert_near(mapped->map.reference_temperature, 293.15, 1e-15);
    assert_int_equal(mapped->map.lines, 2);
    assert_near(mapped->map.line[1].corrected_speed, 200.0, 1e-12);
    assert_near(mapped->step_up, 1.0, 0);
    assert_true(mapped->friction_torque == 0.0 && mapped->windage_torque == 0.0);
    assert_near(mapped->windage_reference_speed, 10000.0 / 60, 1e-15);
    assert_true(isinf(mapped->max_speed) && isinf(mapped->max_pressure_ratio));
    assert_true(isinf(mapped->max_pressure_rise) && isinf(mapped->max_discharge_temperature));
    assert_string_equal(own->name, "inline");
    assert_int_equal(own->kind, SHV_BLOWER_GEOMETRY);
    assert_near(own->displacement, 1e-3, 1e-15);
    assert_near(own->step_up, 2.0, 0);
    assert_near(own->friction_torque, 0.2, 1e-15);
    assert_near(own->windage_torque, 0.3, 1e-15);
    assert_near(own->windage_reference_speed, 150.0, 1e-15);
    assert_near(own->max_speed, 250.0, 1e-15);
    assert_near(own->max_pressure_ratio, 2.2, 0);
    assert_near(own->max_pressure_rise, 15 * 6894.757293168361, 1e-12);
    assert_near(own->max_discharge_temperature, 423.15, 1e-15);
    assert_near(own->geometry.leakage_area, 20e-6, 1e-15);
    assert_near(own->geometry.closing_rate, 0.002, 1e-15);
    assert_near(own->geometry.assembly_temperature, 295.15, 1e-15);
    assert_near(own->geometry.volume_ratio, 1.2, 0);
    assert_near(own->geometry.filling_loss, 0.05, 0);
    assert_near(own->geometry.reference_speed, 200.0, 1e-15);
    assert_near(own->geometry.case_loss, 0.1, 0);
    assert_null(own->map.line);
}

static void test_full_coolers(void **state)
{
    (void)state;
    assert_int_equal(full.cooler_count, 3);
    const struct shv_cooler *none = &full.coolers[0], *water = &full.coolers[1];
    const struct shv_cooler *air = &full.coolers[2];
    assert_string_equal(none->name, "none");
    assert_true(none->is_none && none->effectiveness.count == 1 &&
                none->effectiveness.values[0] == 0.0);
    assert_string_equal(water->name, "water");
    assert_false(water->is_none);
    assert_int_equal(water->arrangement, SHV_COOLER_COUNTERFLOW);
    assert_int_equal(water->effectiveness.count, 3);
    assert_near(water->effectiveness.values[0], 0.5, 0);
    assert_near(water->effectiveness.values[1], 0.6, 1e-15);
    assert_near(water->effectiveness.values[2], 0.7, 0);
    assert_near(water->rated_flow, 0.2, 0);
    assert_near(water->pressure_drop, 5e3, 1e-15);
    assert_near(water->pressure_drop_effectiveness, 0.65, 0);
    assert_near(water->rated_density, 1.7, 0);
    assert_near(water->ntu_exponent, 0.3, 0);
    assert_near(water->coolant_rise, 6.0, 0);
    assert_true(isnan(water->coolant_temperature));
    assert_near(water->coolant_capacity, 2000.0, 1e-14);
    assert_near(water->radiator_effectiveness, 0.5, 0);
    assert_near(water->radiator_capacity, 800.0, 0);
    assert_string_equal(air->name, "air");
    assert_int_equal(air->arrangement, SHV_COOLER_SINGLE_STREAM);
    assert_int_equal(air->effectiveness.count, 1);
    assert_near(air->coolant_temperature, 313.15, 1e-15);
    assert_near(air->coolant_capacity, 500.0, 0);
    assert_true(air->coolant_rise == 0.0 && air->radiator_effectiveness == 0.0);
}

static void test_full_fuels(void **state)
{
    (void)state;
    assert_int_equal(full.fuel_count, 2);
    assert_string_equal(full.fuels[0].name, "petrol"); /* the order is the study's */
    assert_near(full.fuels[0].stoichiometric, 14.6, 0);
    assert_true(isnan(full.fuels[0].ron) && isnan(full.fuels[0].mon));
    assert_string_equal(full.fuels[1].name, "ethanol");
    assert_near(full.fuels[1].stoichiometric, 9.0, 0);
    assert_near(full.fuels[1].heating_value, 26.8e6, 1e-15);
    assert_near(full.fuels[1].density, 789.0, 0);
    assert_near(full.fuels[1].ron, 109.0, 0);
    assert_near(full.fuels[1].mon, 90.0, 0);
    assert_near(full.fuels[1].vaporisation, 900e3, 1e-15);
    assert_near(full.fuels[1].hydrogen_carbon, 3.0, 0);
    assert_near(full.fuels[1].oxygen_carbon, 0.5, 0);
    assert_near(full.fuels[1].molar_mass, 0.046, 1e-15);
}

static void test_full_supply(void **state)
{
    (void)state;
    assert_int_equal(full.injector_count, 2);
    const struct shv_injector_part *sizes = &full.injectors[0], *single = &full.injectors[1];
    assert_string_equal(sizes->name, "sizes");
    assert_false(sizes->is_unlimited);
    assert_int_equal(sizes->rated_flow.count, 2);
    assert_near(sizes->rated_flow.values[0], 400e-6 / 60, 1e-15);
    assert_near(sizes->rated_flow.values[1], 600e-6 / 60, 1e-15);
    assert_near(sizes->rated_pressure, 400e3, 1e-15);
    assert_near(sizes->test_density, 700.0, 0);
    assert_near(sizes->dead_time, 0.7e-3, 1e-15);
    assert_near(sizes->max_duty, 0.9, 1e-15);
    assert_string_equal(single->name, "single");
    assert_int_equal(single->rated_flow.count, 1);
    assert_near(single->rated_pressure, 300e3, 1e-15);
    assert_near(single->test_density, 684.0, 0);
    assert_near(single->dead_time, 1e-3, 1e-15);
    assert_near(single->max_duty, 0.85, 0);
    assert_int_equal(full.pump_count, 1);
    const struct shv_pump_part *pump = &full.pumps[0];
    assert_string_equal(pump->name, "in tank");
    assert_false(pump->is_unlimited);
    assert_int_equal(pump->pump.flow.count, 3);
    assert_true(pump->pump.flow.x[0] == 0.0);
    assert_near(pump->pump.flow.x[1], 300e3, 0);
    assert_near(pump->pump.flow.x[2], 600e3, 1e-15);
    assert_near(pump->pump.flow.y[1], 0.12 / 3600, 1e-15);
    assert_near(pump->pump.line_loss, 20e3, 1e-15);
    assert_near(full.rail.pressure, 350e3, 1e-15);
    assert_int_equal(full.rail.reference, SHV_RAIL_AMBIENT);
    assert_int_equal(full.rail.injectors_per_cylinder, 2);
}

/* The hash is that of study, include and map, one after the other. */
static void test_full_hash(void **state)
{
    (void)state;
    static const char *const files[] = {"tests/study/valid.cfg", "tests/study/valid_parts.inc",
                                        "tests/study/bad/base/map.csv"};
    struct sha256 hash, own;
    char digest[65];
    sha256_init(&hash);
    sha256_init(&own);
    for (size_t i = 0; i < 3; i++) {
        FILE *file = fopen(files[i], "rb");
        assert_non_null(file);
        for (int c = fgetc(file); c != EOF; c = fgetc(file)) {
            unsigned char byte = (unsigned char)c;
            sha256_update(&hash, &byte, 1);
            sha256_update(&own, &byte, i == 0 ? 1 : 0);
        }
        fclose(file);
    }
    sha256_finish(&hash, digest);
    assert_string_equal(full.sha256_all, digest);
    sha256_finish(&own, digest);
    assert_string_equal(full.sha256, digest);
}

/* ---- the bare study ---- */

static void check_bare_engine(const struct shv_engine *engine)
{
    assert_near(engine->displacement, 3.14159265358979 * 0.086 * 0.086 * 0.086, 1e-12);
    assert_int_equal(engine->speed_count, 11);
    assert_near(engine->speeds[10], 6500.0 / 60, 1e-15);
    assert_near(engine->reference_temperature, 298.15, 0);
    assert_near(engine->cycle.charge_heating, 0.3, 0);
    assert_near(engine->cycle.charge_wall_temperature, 400.0, 0);
    assert_true(engine->residual_correction);
    assert_near(engine->residual_gamma, 1.3, 0);
    assert_near(engine->pumping_share, 1.0, 0);
    assert_true(engine->intake.pressure_drop == 0.0 && engine->exhaust.pressure_drop == 0.0);
    assert_true(engine->intake.flow > 0.0 && engine->exhaust.flow > 0.0);
    assert_near(engine->intake.density, 1.2, 0);
    assert_int_equal(engine->friction.kind, SHV_FRICTION_CHEN_FLYNN);
    assert_near(engine->friction.fmep_at_rest, 13.7e3, 1e-15);
    assert_near(engine->friction.per_peak_pressure, 0.005, 0);
    assert_near(engine->friction.per_piston_speed, 16200.0, 1e-15);
    assert_true(engine->friction.per_piston_speed_squared == 0.0);
    assert_near(engine->friction.peak_pressure_ratio, 60.0, 0);
    assert_near(engine->friction.mechanical_efficiency, 0.85, 0);
    assert_int_equal(engine->efficiency_kind, SHV_EFFICIENCY_CYCLE);
    assert_int_equal(engine->stock_torque.count, 0);
    assert_near(engine->stock.pressure, 101325.0, 0);
    assert_near(engine->stock.temperature, 298.15, 0);
    assert_true(engine->stock.relative_humidity == 0.0);
    assert_int_equal(engine->stock_fuel, 0);
    assert_near(engine->stock_lambda, 0.88, 0);
}

/* Every number of a struct against that of another, which all its members are. */
static void check_numbers(const void *given, const void *expected, size_t size, double relative)
{
    const double *a = given, *b = expected;
    for (size_t i = 0; i < size / sizeof(double); i++) {
        if (!(fabs(a[i] - b[i]) <= relative * fabs(b[i]))) {
            fail_msg("member %zu is %.17g, expected %.17g", i, a[i], b[i]);
        }
    }
}

/* The defaults of the table of keys are those of the cycle itself. */
static void check_bare_cycle(const struct shv_engine *engine, const struct shv_fuel *given)
{
    struct shv_cycle_engine cycle;
    struct shv_cycle_fuel fuel;
    struct shv_cycle_knock knock;
    struct shv_cycle_case at;
    shv_cycle_defaults(&cycle, &fuel, &knock, &at);
    cycle.bore = engine->bore;
    cycle.stroke = engine->stroke;
    cycle.compression_ratio = 9.5;
    check_numbers(&engine->cycle, &cycle, sizeof cycle, 0.0);
    check_numbers(&engine->knock, &knock, sizeof knock, 0.0);
    assert_true(given->vaporisation == fuel.vaporisation);
    assert_true(given->hydrogen_carbon == fuel.hydrogen_carbon);
    assert_true(given->oxygen_carbon == fuel.oxygen_carbon);
    assert_true(given->molar_mass == fuel.molar_mass);
    assert_true(isnan(given->mon));
}

static void check_bare_supply(const struct shv_study *study)
{
    assert_int_equal(study->numbers[SHV_DIM_IGNITION_MARGIN].count, 1);
    assert_true(study->numbers[SHV_DIM_IGNITION_MARGIN].values[0] == 0.0);
    assert_int_equal(study->injector_count, 1);
    assert_string_equal(study->injectors[0].name, "unlimited");
    assert_true(study->injectors[0].is_unlimited && study->injectors[0].rated_flow.count == 1);
    assert_true(study->injectors[0].rated_flow.values[0] == 0.0);
    assert_int_equal(study->pump_count, 1);
    assert_string_equal(study->pumps[0].name, "unlimited");
    assert_true(study->pumps[0].is_unlimited && study->pumps[0].pump.flow.count == 0);
    assert_near(study->rail.pressure, 300e3, 1e-15);
    assert_int_equal(study->rail.reference, SHV_RAIL_MANIFOLD);
    assert_int_equal(study->rail.injectors_per_cylinder, 1);
}

static void check_bare_hardware(const struct shv_study *study)
{
    static const struct shv_worth nothing = {0.0, 0.0};
    const struct shv_blower *blower = &study->blowers[0];
    const struct shv_kit_base *base = &study->base;
    const struct shv_worth *const worths[] = {&base->worth,
                                              &base->pulley,
                                              &base->manifold,
                                              &study->drive.worth,
                                              &study->drive.belt.rib,
                                              &blower->worth,
                                              &study->pumps[0].worth,
                                              &study->coolers[0].worth,
                                              &study->coolers[0].per_ntu,
                                              &study->bypass_part.worth};
    for (size_t i = 0; i < sizeof worths / sizeof worths[0]; i++) {
        assert_memory_equal(worths[i], &nothing, sizeof nothing);
    }
    assert_false(study->drive.belt.given);
    assert_null(study->numbers[SHV_DIM_RIBS].values);
    assert_false(blower->bearing.given);
    assert_true(blower->continuous_speed == 0.0 && blower->least_clearance == 0.0);
    assert_true(blower->max_hub_load == 0.0 && study->coolers[0].loop_heat == 0.0);
    assert_true(study->bypass_part.area == 0.0 && !study->bypass_part.has_actuator);
    assert_true(isinf(base->manifold_pressure) && isinf(base->manifold_temperature));
    assert_int_equal(study->use.duty_parts, 0);
    assert_null(study->use.duty);
    assert_false(study->use.cruises);
    assert_true(study->use.full_throttle_time == 0.0);
    assert_null(study->currency);
}

static void check_bare_rest(const struct shv_study *study)
{
    check_bare_hardware(study);
    assert_int_equal(study->air.kind, SHV_AIR_NASA);
    assert_memory_equal(&study->intake, &study->engine.intake, sizeof study->intake);
    assert_near(study->sites[0].ambient.pressure, 101325.0, 1e-12);
    assert_near(study->sites[0].ambient.temperature, 288.15, 1e-12);
    assert_true(study->drive.creep == 0.0 && study->drive.line_offset == 0.0);
    assert_near(study->drive.efficiency, 0.97, 0);
    assert_true(isinf(study->bypass.bleed_above));
    assert_int_equal(study->bypass.bleed_to, SHV_BLEED_TO_INLET);
    assert_int_equal(study->cooler_count, 1);
    assert_true(study->coolers[0].is_none);
    assert_int_equal(study->numbers[SHV_DIM_LAMBDA].count, 1);
    assert_near(study->numbers[SHV_DIM_LAMBDA].values[0], 0.88, 0);
    check_bare_supply(study);
    for (size_t i = 0; i < SHV_LIMIT_COUNT; i++) {
        double none = shv_limit_info((enum shv_limit)i)->at_least ? -INFINITY : INFINITY;
        assert_true(study->limit[i] == none);
    }
    const struct shv_blower_geometry *geometry = &study->blowers[0].geometry;
    assert_true(geometry->closing_rate == 0.0 && geometry->filling_loss == 0.0);
    assert_near(geometry->assembly_temperature, 293.15, 0);
    assert_near(geometry->volume_ratio, 1.0, 0);
    assert_near(geometry->reference_speed, 10000.0 / 60, 1e-15);
    assert_int_equal(study->objective.kind, SHV_OBJECTIVE_PEAK_POWER);
    assert_int_equal(study->objective.over_sites, SHV_OVER_SITES_MEAN);
    assert_string_equal(study->results.folder, "results/minimal");
    assert_int_equal(study->results.keep, 1000);
    assert_int_equal(study->results.curves, 10);
    assert_int_equal(study->results.units, SHV_METRIC);
    assert_true(study->search.enabled);
}

static void test_bare(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_diagnostics findings;
    load("tests/study/minimal.cfg", &study, &findings);
    assert_int_equal(findings.count, 0); /* knock is a limit */
    check_bare_engine(&study.engine);
    check_bare_cycle(&study.engine, &study.fuels[0]);
    check_bare_rest(&study);
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
}

/* ---- the closed cycle ---- */

static void check_cycle_keys(const struct shv_engine *engine)
{
    const struct shv_cycle_engine cycle = {.bore = 0.086,
                                           .stroke = 0.09,
                                           .compression_ratio = 9.5,
                                           .rod_ratio = 3.2,
                                           .inlet_closing = -2.5 * 57.29577951308232,
                                           .exhaust_opening = 125.0,
                                           .chamber_area = 1.3,
                                           .crown_area = 1.1,
                                           .chamber_temperature = 473.15,
                                           .crown_temperature = 533.15,
                                           .bore_temperature = 403.15,
                                           .heat_factor = 1.2,
                                           .motored_exponent = 1.32,
                                           .wiebe_a = 6.0,
                                           .wiebe_m = 2.2,
                                           .burn_duration = 55.0,
                                           .burn_reference_speed = 40.0,
                                           .burn_speed_exponent = 0.25,
                                           .charge_heating = 0.2,
                                           .charge_wall_temperature = 380.0,
                                           .evaporated_share = 0.7,
                                           .blowdown_share = 0.4};
    const struct shv_cycle_knock knock = {.scale = 1.1,
                                          .margin = 0.2,
                                          .octane_weight = -0.2,
                                          .weight_slope = 0.003,
                                          .humidity_slope = 150.0,
                                          .mixture_slope = 10.0,
                                          .mixture_peak = 0.94,
                                          .mixture_rounding = 0.04,
                                          .best_ca50 = 9.0,
                                          .limit_ca50 = 35.0};
    check_numbers(&engine->cycle, &cycle, sizeof cycle, 1e-14);
    check_numbers(&engine->knock, &knock, sizeof knock, 1e-14);
    assert_int_equal(engine->efficiency_kind, SHV_EFFICIENCY_CYCLE);
    assert_int_equal(engine->stock_torque.count, 1);
    assert_int_equal(engine->stock_retard.count, 2);
    assert_near(shv_curve_table_at(&engine->stock_retard, 25.0), 5.0, 1e-14);
    assert_near(shv_curve_table_at(&engine->stock_retard, 6500.0 / 60.0), 1.0, 1e-14);
}

static void test_cycle(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_diagnostics findings;
    load("tests/study/valid_cycle.cfg", &study, &findings);
    assert_int_equal(findings.count, 0);
    check_cycle_keys(&study.engine);
    assert_int_equal(study.numbers[SHV_DIM_IGNITION_MARGIN].count, 2);
    assert_true(study.numbers[SHV_DIM_IGNITION_MARGIN].values[0] == 0.0);
    assert_near(study.numbers[SHV_DIM_IGNITION_MARGIN].values[1], 2.0, 1e-15);
    assert_near(study.limit[SHV_LIMIT_PHASING_RETARD], 20.0, 1e-15); /* the most of its curve */
    assert_near(shv_limit_retard_less(&study, 1500.0 / 60.0), 0.0, 1e-12);
    assert_near(shv_limit_retard_less(&study, 6500.0 / 60.0), 10.0, 1e-12);
    assert_near(study.limit[SHV_LIMIT_PEAK_PRESSURE], 11e6, 1e-15);
    assert_near(study.limit[SHV_LIMIT_EXHAUST_TEMPERATURE], 1173.15, 1e-15);
    assert_int_equal(study.fuel_count, 2);
    assert_near(study.fuels[1].ron, 101.0, 0);
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
}

/* ---- no study at all ---- */

static bool is_zeroed(const struct shv_study *study)
{
    const unsigned char *byte = (const unsigned char *)study;
    for (size_t i = 0; i < sizeof *study; i++) {
        if (byte[i] != 0) {
            return false;
        }
    }
    return true;
}

static void test_no_file(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    memset(&study, 0xa5, sizeof study);
    assert_int_equal(shv_study_load("tests/study/nowhere.cfg", &study, &findings), SHV_IO);
    assert_true(is_zeroed(&study));
    assert_int_equal(findings.count, 1);
    assert_string_equal(findings.items[0].text,
                        "tests/study/nowhere.cfg: cannot be read: No such file or directory");
    shv_diagnostics_free(&findings);
    assert_int_equal(shv_study_load("tests/study", &study, &findings), SHV_IO);
    assert_string_equal(findings.items[0].text, "tests/study: cannot be read: not a regular file");
    shv_diagnostics_free(&findings);
}

/* 2 l in four square cylinders: (pi/4) b^3 = 0.5 l. */
static void test_square_cylinders(void **state)
{
    (void)state;
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    load("tests/study/square.cfg", &study, &findings);
    assert_int_equal(findings.count, 1);
    assert_true(findings.items[0].is_warning);
    assert_string_equal(findings.items[0].text,
                        "tests/study/square.cfg:1: limits: no limit is set, here or in a blower: "
                        "every combination with an answer is feasible");
    assert_near(study.engine.displacement, 2e-3, 1e-15);
    assert_near(study.engine.bore, 0.086025401, 1e-8);
    assert_true(study.engine.stroke == study.engine.bore);
    shv_study_free(&study);
    shv_diagnostics_free(&findings);
}

int main(void)
{
    const struct CMUnitTest whole[] = {
        cmocka_unit_test(test_square_cylinders),   cmocka_unit_test(test_full_top),
        cmocka_unit_test(test_full_limits),        cmocka_unit_test(test_full_engine),
        cmocka_unit_test(test_full_engine_models), cmocka_unit_test(test_full_sites_and_drive),
        cmocka_unit_test(test_full_blowers),       cmocka_unit_test(test_full_coolers),
        cmocka_unit_test(test_full_fuels),         cmocka_unit_test(test_full_supply),
        cmocka_unit_test(test_full_belt),          cmocka_unit_test(test_full_hardware),
        cmocka_unit_test(test_full_use),           cmocka_unit_test(test_full_hash),
    };
    const struct CMUnitTest others[] = {
        cmocka_unit_test(test_bare),
        cmocka_unit_test(test_cycle),
        cmocka_unit_test(test_no_file),
    };
    int failed = cmocka_run_group_tests(whole, load_full, free_full);
    return failed + cmocka_run_group_tests(others, enter_source, NULL);
}
