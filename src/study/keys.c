/* The table of keys. A key that is not here does not exist: not for the reader, not for the
 * documentation. */
#include "study/keys.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "study/checks.h"

#define PLACE(member) offsetof(struct draft, member)
#define COUNT(table) (sizeof(table) / sizeof(table)[0])

/* Rows are kept together by hand: a key a paragraph; one without a type is a quantity, one without
 * a quantity a plain number. */
/* clang-format off */

/* ---- price and mass, of whatever has them ---- */

#define PRICE_MAX 1e9
#define MASS_MAX 1e4
#define PRICE_ROW(key, of_price, text)                                                             \
    {.name = key, .type = KEY_QUANTITY, .quantity = SHV_Q_NUMBER, .place = of_price, .min = 0,     \
     .max = PRICE_MAX, .fallback = "0", .meaning = "Price of " text "."}
#define MASS_ROW(key, of_mass, text)                                                               \
    {.name = key, .type = KEY_QUANTITY, .quantity = SHV_Q_MASS, .place = of_mass, .min = 0,        \
     .max = MASS_MAX, .fallback = "0 kg", .meaning = "Mass of " text "."}

/* ---- air ---- */

static const char *const air_models[] = {"nasa", "constant", NULL};

static const struct key air_table[] = {
    {.name = "model", .type = KEY_WORD, .place = PLACE(study.air.kind), .words = air_models,
     .fallback = "nasa",
     .meaning = "Heat capacities from the NASA polynomials of dry air and water vapour, or "
                "constant ones as textbook examples assume (humidity is then ignored)."},
    {.name = "gas_constant", .quantity = SHV_Q_HEAT_CAPACITY,
     .place = PLACE(study.air.gas_constant), .min = 100, .max = 1000, .fallback = "287 J/(kg K)",
     .with = "model", .with_word = SHV_AIR_CONSTANT, .meaning = "Gas constant of constant air."},
    {.name = "heat_capacity", .quantity = SHV_Q_HEAT_CAPACITY,
     .place = PLACE(study.air.heat_capacity), .min = 500, .max = 5000, .fallback = "1005 J/(kg K)",
     .with = "model", .with_word = SHV_AIR_CONSTANT,
     .meaning = "Heat capacity at constant pressure."},
    {.name = "gamma", .place = PLACE(study.air.gamma), .min = 1.01, .max = 1.67, .fallback = "1.4",
     .with = "model", .with_word = SHV_AIR_CONSTANT,
     .meaning = "Ratio of heat capacities, within 3 % of cp/(cp - R)."},
};
static const struct key_group air_keys = {
    .title = "air", .intro = "The gas: moist air, or constant air for checking against textbooks.",
    .keys = air_table, .count = COUNT(air_table), .check = check_air};

/* ---- losses ---- */

static const struct key intake_loss_table[] = {
    {.name = "pressure_drop", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = offsetof(struct shv_loss, pressure_drop), .min = 0, .max = 50e3, .fallback = "0 Pa",
     .meaning = "Pressure lost at the reference flow and density."},
    {.name = "flow", .quantity = SHV_Q_AIR_FLOW, .place = offsetof(struct shv_loss, flow), .min = 0,
     .above_min = true, .max = 20, .absent = "none; required with a pressure_drop",
     .absent_value = 1.0, .meaning = "Reference air flow."},
    {.name = "density", .quantity = SHV_Q_DENSITY, .place = offsetof(struct shv_loss, density),
     .min = 0.05, .max = 20, .fallback = "1.2 kg/m3",
     .meaning = "Reference density ahead of the loss."},
};
static const struct key_group intake_loss_keys = {
    .title = "engine.intake",
    .intro = "Loss of the stock engine's intake, filter to manifold: drop = pressure_drop (m / "
             "flow)^2 (density / actual density). Left out: no loss.",
    .keys = intake_loss_table, .count = COUNT(intake_loss_table), .check = check_loss};
static const struct key_group kit_intake_keys = {
    .title = "intake",
    .intro = "Loss of the kit's intake ahead of the blower, filter and throttle. Left out: that of "
             "engine.intake.",
    .keys = intake_loss_table, .count = COUNT(intake_loss_table), .check = check_loss};

static const struct key exhaust_table[] = {
    {.name = "pressure_drop", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = offsetof(struct shv_exhaust, pressure_drop), .min = 0, .max = 200e3,
     .fallback = "0 Pa", .meaning = "Back pressure at the reference flow, at sea-level pressure."},
    {.name = "flow", .quantity = SHV_Q_AIR_FLOW, .place = offsetof(struct shv_exhaust, flow),
     .min = 0, .above_min = true, .max = 20, .absent = "none; required with a pressure_drop",
     .absent_value = 1.0, .meaning = "Reference flow, as flow of air."},
    {.name = "temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = offsetof(struct shv_exhaust, temperature), .min = 500, .max = 1800,
     .fallback = "1200 K",
     .meaning = "Temperature of the gas at which that was measured, with air as in engine.stock; "
                "an assumption of ours unless given."},
};
static const struct key_group exhaust_keys = {
    .title = "engine.exhaust",
    .intro = "Loss from the exhaust valve to ambient, by flow and temperature: docs/model.md, section 6. Left out: no "
             "loss.",
    .keys = exhaust_table, .count = COUNT(exhaust_table), .check = check_exhaust};

/* ---- engine ---- */

static const struct key speed_table[] = {
    {.name = "from", .quantity = SHV_Q_ROTATION, .place = offsetof(struct stepped_range, from),
     .min = 200.0 / 60, .max = 25000.0 / 60, .required = true, .meaning = "Lowest engine speed."},
    {.name = "to", .quantity = SHV_Q_ROTATION, .place = offsetof(struct stepped_range, to),
     .min = 200.0 / 60, .max = 25000.0 / 60, .required = true,
     .meaning = "Highest engine speed, above from; always a point of the rev range."},
    {.name = "step", .quantity = SHV_Q_ROTATION, .place = offsetof(struct stepped_range, step),
     .min = 0, .above_min = true, .max = 25000.0 / 60, .required = true,
     .meaning = "Distance of the points; at the most 200 points."},
};
static const struct key_group speed_keys = {
    .title = "engine.speed", .intro = "The rev range: from, from + step, ... and to.",
    .keys = speed_table, .count = COUNT(speed_table)};

static const char *const friction_models[] = {"chen_flynn", "mechanical_efficiency", NULL};
static const struct key friction_table[] = {
    {.name = "model", .type = KEY_WORD, .place = PLACE(study.engine.friction.kind),
     .words = friction_models, .fallback = "chen_flynn",
     .meaning = "Friction pressure by Chen and Flynn, or a constant mechanical efficiency."},
    {.name = "fmep_at_rest", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = PLACE(study.engine.friction.fmep_at_rest), .min = 0, .max = 500e3,
     .fallback = "13.7 kPa", .with = "model", .with_word = SHV_FRICTION_CHEN_FLYNN,
     .meaning = "Friction mean effective pressure with no speed and no pressure."},
    {.name = "per_peak_pressure", .place = PLACE(study.engine.friction.per_peak_pressure), .min = 0,
     .max = 0.1, .fallback = "0.005", .with = "model", .with_word = SHV_FRICTION_CHEN_FLYNN,
     .meaning = "More for each unit of peak cylinder pressure."},
    {.name = "per_piston_speed", .quantity = SHV_Q_PRESSURE_PER_SPEED,
     .place = PLACE(study.engine.friction.per_piston_speed), .min = 0, .max = 1e6,
     .fallback = "16.2 kPa s/m", .with = "model", .with_word = SHV_FRICTION_CHEN_FLYNN,
     .meaning = "More for each unit of mean piston speed."},
    {.name = "per_piston_speed_squared", .quantity = SHV_Q_PRESSURE_PER_SPEED2,
     .place = PLACE(study.engine.friction.per_piston_speed_squared), .min = 0, .max = 1e5,
     .fallback = "0 Pa s2/m2", .with = "model", .with_word = SHV_FRICTION_CHEN_FLYNN,
     .meaning = "More for each unit of mean piston speed squared."},
    {.name = "peak_pressure_ratio", .place = PLACE(study.engine.friction.peak_pressure_ratio),
     .min = 10, .max = 150, .fallback = "60", .with = "model", .with_word = SHV_FRICTION_CHEN_FLYNN,
     .meaning = "Peak cylinder pressure over manifold pressure, assumed for friction; not with "
                "efficiency.model = \"cycle\", which has its own."},
    {.name = "mechanical_efficiency", .place = PLACE(study.engine.friction.mechanical_efficiency),
     .min = 0.3, .max = 1, .fallback = "0.85", .with = "model",
     .with_word = SHV_FRICTION_EFFICIENCY, .meaning = "Brake over indicated and pumping power."},
};
static const struct key_renamed friction_renamed[] = {
    {"constant", "fmep_at_rest", false}, {"peak_factor", "per_peak_pressure", false},
    {"speed_factor", "per_piston_speed", false},
    {"speed_squared_factor", "per_piston_speed_squared", false}, {NULL, NULL, false}};
static const struct key_group friction_keys = {
    .title = "engine.friction", .intro = "Friction of the engine.", .keys = friction_table,
    .count = COUNT(friction_table), .renamed = friction_renamed};

static const char *const efficiency_models[] = {"stock_torque", "constant", "free_air",
                                                "cycle", NULL};
static const struct key efficiency_table[] = {
    {.name = "model", .type = KEY_WORD, .place = PLACE(study.engine.efficiency_kind),
     .words = efficiency_models, .fallback = "cycle",
     .meaning = "Indicated efficiency tied to the stock torque curve, constant, as indicated power "
                "per flow of free air, or from the closed cycle with its knock-limited ignition."},
    {.name = "indicated", .place = PLACE(study.engine.indicated_efficiency), .min = 0.05,
     .max = 0.7, .with = "model", .with_word = SHV_EFFICIENCY_CONSTANT, .with_needed = true,
     .meaning = "Gross indicated efficiency."},
    {.name = "power_per_free_air", .quantity = SHV_Q_ENERGY_PER_VOLUME,
     .place = PLACE(study.engine.power_per_free_air), .min = 1e4, .max = 1e7, .with = "model",
     .with_word = SHV_EFFICIENCY_FREE_AIR, .with_needed = true,
     .meaning = "Indicated power per volume flow of free air."},
};
static const struct key_group efficiency_keys = {
    .title = "engine.efficiency", .intro = "How much of the fuel's heat becomes work in the cylinder.",
    .keys = efficiency_table, .count = COUNT(efficiency_table)};

/* ---- closed cycle ---- */

#define CYCLE(member) PLACE(study.engine.cycle.member)
static const struct key walls_table[] = {
    {.name = "bore", .quantity = SHV_Q_TEMPERATURE, .place = CYCLE(bore_temperature), .min = 200,
     .max = 1000, .fallback = "410 K",
     .meaning = "Temperature of the cylinder's wall, as far as the piston has laid it bare."},
    {.name = "chamber", .quantity = SHV_Q_TEMPERATURE, .place = CYCLE(chamber_temperature),
     .min = 200, .max = 1000, .fallback = "480 K",
     .meaning = "Temperature of the combustion chamber's wall, in the head."},
    {.name = "chamber_area", .place = CYCLE(chamber_area), .min = 0.5, .max = 3, .fallback = "1.2",
     .meaning = "Area of the chamber's wall, as a multiple of the bore's area."},
    {.name = "crown", .quantity = SHV_Q_TEMPERATURE, .place = CYCLE(crown_temperature), .min = 200,
     .max = 1000, .fallback = "520 K", .meaning = "Temperature of the piston's crown."},
    {.name = "crown_area", .place = CYCLE(crown_area), .min = 0.5, .max = 3, .fallback = "1",
     .meaning = "Area of the crown, as a multiple of the bore's area."},
};
static const struct key_group walls_keys = {
    .title = "engine.cycle.walls",
    .intro = "The walls round the gas in a cylinder: how warm they are and how large.",
    .keys = walls_table, .count = COUNT(walls_table)};

static const char *const injections[] = {"port", "direct", NULL};
static const struct key cycle_table[] = {
    {.name = "rod_ratio", .place = CYCLE(rod_ratio), .min = 1.5, .max = 1e9, .fallback = "3.4",
     .meaning = "Connecting rod over crank radius."},
    {.name = "inlet_closing", .quantity = SHV_Q_ANGLE, .place = CYCLE(inlet_closing), .min = -180,
     .max = -60, .fallback = "-140 deg",
     .meaning = "Crank angle at which the inlet valve closes, from firing top dead centre, before "
                "it negative."},
    {.name = "exhaust_opening", .quantity = SHV_Q_ANGLE, .place = CYCLE(exhaust_opening), .min = 60,
     .max = 180, .fallback = "130 deg",
     .meaning = "Crank angle at which the exhaust valve opens, from firing top dead centre."},
    {.name = "walls", .type = KEY_GROUP, .group = &walls_keys,
     .meaning = "Walls that the gas loses heat to."},
    {.name = "heat_factor", .place = CYCLE(heat_factor), .min = 0, .max = 5, .fallback = "1.5",
     .meaning = "Times Woschni's coefficient of heat transfer; 0 is a cylinder that loses no "
                "heat."},
    {.name = "motored_exponent", .place = CYCLE(motored_exponent), .min = 1, .max = 1.5,
     .fallback = "1.3", .meaning = "Exponent of the motored pressure in Woschni's velocity."},
    {.name = "wiebe_a", .place = CYCLE(wiebe_a), .min = 0.5, .max = 20, .fallback = "5",
     .meaning = "Factor in Wiebe's law of burning."},
    {.name = "wiebe_m", .place = CYCLE(wiebe_m), .min = 0.5, .max = 10, .fallback = "2",
     .meaning = "Form exponent of Wiebe's law of burning."},
    {.name = "burn_duration", .quantity = SHV_Q_ANGLE, .place = CYCLE(burn_duration), .min = 1e-6,
     .max = 150, .fallback = "60 deg",
     .meaning = "Crank angle from the first to the last heat of the stock engine at "
                "burn_reference_speed; it changes with laminar burning velocity and viscosity."},
    {.name = "burn_reference_speed", .quantity = SHV_Q_ROTATION,
     .place = CYCLE(burn_reference_speed), .min = 1, .max = 1000, .fallback = "3000 rpm",
     .meaning = "Engine speed for burn_duration."},
    {.name = "burn_speed_exponent", .place = CYCLE(burn_speed_exponent), .min = -1, .max = 1,
     .fallback = "0.2", .meaning = "Burn duration goes with engine speed to this power."},
    {.name = "injection", .type = KEY_WORD, .place = PLACE(injection), .words = injections,
     .fallback = "port",
     .meaning = "Where the fuel is sprayed, into the port or into the cylinder; it only sets the "
                "default of evaporated_share."},
    {.name = "evaporated_share", .place = CYCLE(evaporated_share), .min = 0, .max = 1,
     .absent = "0.5 with injection = \"port\", 0.8 with \"direct\"", .absent_value = NAN,
     .meaning = "Share of the fuel's heat of vaporisation taken from the charge rather than from "
                "walls; both defaults are assumptions of ours."},
    {.name = "blowdown_share", .place = CYCLE(blowdown_share), .min = 0, .max = 1,
     .fallback = "0.5",
     .meaning = "Mean pressure between exhaust opening and bottom dead centre, as a share of the "
                "way from exhaust pressure up to that at opening."},
};
static const struct key_renamed cycle_renamed[] = {
    {"head_area_ratio", "walls.chamber_area", false},
    {"piston_area_ratio", "walls.crown_area", false},
    {"head_temperature", "walls.chamber", false}, {"piston_temperature", "walls.crown", false},
    {"liner_temperature", "walls.bore", false}, {"charge_heating", "engine.charge_heating", true},
    {NULL, NULL, false}};
static const struct key_group cycle_keys = {
    .title = "engine.cycle",
    .intro = "The closed cycle of a cylinder, from inlet closing to exhaust opening: docs/model.md, section 8. "
             "Only with efficiency.model = \"cycle\".",
    .keys = cycle_table, .count = COUNT(cycle_table), .renamed = cycle_renamed,
    .check = check_cycle};

#define KNOCK(member) PLACE(study.engine.knock.member)
static const struct key knock_table[] = {
    {.name = "scale", .place = KNOCK(scale), .min = 0.1, .max = 10, .fallback = "1",
     .meaning = "Times the ignition delay of the end gas, on top of the tie by stock_retard."},
    {.name = "stock_retard", .type = KEY_PAIRS, .quantity = SHV_Q_ANGLE, .along = SHV_Q_ROTATION,
     .place = PLACE(study.engine.stock_retard), .min = 0, .max = 30,
     .absent = "4 deg at the lowest speed, none at the others: an assumption of ours",
     .meaning = "How far the maker's ignition makes the stock engine burn later than best on its "
                "fuel at full throttle, over engine speed; it fixes the delay."},
    {.name = "margin", .place = KNOCK(margin), .min = 0, .max = 0.9, .fallback = "0.25",
     .meaning = "How far below knock the mean cycle is held, so that faster cycles do not knock "
                "either."},
    {.name = "octane_weight", .place = KNOCK(octane_weight), .min = -2, .max = 2, .fallback = "0",
     .meaning = "K of the octane index (1 - K) RON + K MON where compression is as hot as in the "
                "rating; with another value than 0 every fuel needs mon."},
    {.name = "weight_slope", .place = KNOCK(weight_slope), .min = 0, .max = 0.02,
     .fallback = "0.004",
     .meaning = "How much K rises for each K that compression to 15 bar ends hotter; only of fuels "
                "with mon."},
    {.name = "humidity_slope", .place = KNOCK(humidity_slope), .min = 0, .max = 1000,
     .fallback = "200",
     .meaning = "Octane numbers that a kg of water per kg of air is worth beyond what the cycle "
                "itself gives."},
    {.name = "mixture_slope", .place = KNOCK(mixture_slope), .min = 0, .max = 100,
     .fallback = "14.6",
     .meaning = "Octane numbers that a unit of lambda away from mixture_peak is worth beyond what "
                "the cycle itself gives."},
    {.name = "mixture_peak", .place = KNOCK(mixture_peak), .min = 0.5, .max = 1.5,
     .fallback = "0.9523809523809523", .meaning = "Lambda that needs most octane."},
    {.name = "mixture_rounding", .place = KNOCK(mixture_rounding), .min = 0.001, .max = 1,
     .fallback = "0.03", .meaning = "Lambda within which the slope turns over at mixture_peak."},
    {.name = "best_ca50", .quantity = SHV_Q_ANGLE, .place = KNOCK(best_ca50), .min = -20, .max = 40,
     .fallback = "8 deg",
     .meaning = "Crank angle after top dead centre at which half the heat is out when ignition is "
                "not held back."},
    {.name = "limit_ca50", .quantity = SHV_Q_ANGLE, .place = KNOCK(limit_ca50), .min = -20,
     .max = 80, .fallback = "40 deg",
     .meaning = "Latest such angle allowed, at least 1 deg above best_ca50."},
};
static const struct key_group knock_keys = {
    .title = "engine.knock",
    .intro = "Knock, and how far ignition may be held back because of it. Only with "
             "efficiency.model = \"cycle\".",
    .keys = knock_table, .count = COUNT(knock_table), .check = check_knock};

static const struct key stock_table[] = {
    {.name = "pressure", .quantity = SHV_Q_PRESSURE_ABSOLUTE,
     .place = PLACE(study.engine.stock.pressure), .min = 30e3, .max = 120e3, .absent = "101325 Pa",
     .absent_value = 101325.0,
     .meaning = "Ambient pressure of the test; not together with altitude."},
    {.name = "altitude", .quantity = SHV_Q_LENGTH, .place = PLACE(stock_altitude), .min = -400,
     .max = 9000, .absent = "none", .absent_value = NAN,
     .meaning = "Altitude of the test, for the pressure of the standard atmosphere."},
    {.name = "temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = PLACE(study.engine.stock.temperature), .min = 220, .max = 340, .fallback = "298.15 K",
     .meaning = "Ambient temperature of the test."},
    {.name = "humidity", .place = PLACE(study.engine.stock.relative_humidity), .min = 0, .max = 1,
     .fallback = "0", .meaning = "Relative humidity of the test."},
    {.name = "fuel", .type = KEY_TEXT, .place = PLACE(stock_fuel), .absent = "the first of fuels",
     .meaning = "Name of the fuel of the test, one of fuels."},
    {.name = "lambda", .place = PLACE(study.engine.stock_lambda), .min = SHV_LAMBDA_LEAST,
     .max = SHV_LAMBDA_MOST, .fallback = "0.88",
     .meaning = "Excess-air ratio of the test at full load."},
    {.name = "afr", .place = PLACE(stock_afr), .min = 3, .max = 25, .absent = "by lambda",
     .absent_value = NAN,
     .meaning = "Air-fuel ratio by mass of the test at full load, in the place of lambda."},
};
static const struct key_group stock_keys = {
    .title = "engine.stock", .intro = "Conditions at which the stock curves were measured.",
    .keys = stock_table, .count = COUNT(stock_table), .check = check_stock};

static const struct key engine_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = PLACE(study.engine.name), .required = true,
     .meaning = "Name for titles and tables."},
    {.name = "cylinders", .type = KEY_INTEGER, .width = WIDTH_INT,
     .place = PLACE(study.engine.cylinders), .min = 1, .max = 16, .required = true,
     .meaning = "Number of cylinders."},
    {.name = "bore", .quantity = SHV_Q_LENGTH, .place = PLACE(study.engine.bore), .min = 0.02,
     .max = 0.3, .absent = "as stroke, from displacement", .absent_value = NAN,
     .meaning = "Cylinder bore; bore and stroke go together."},
    {.name = "stroke", .quantity = SHV_Q_LENGTH, .place = PLACE(study.engine.stroke), .min = 0.02,
     .max = 0.4, .absent = "as bore, from displacement", .absent_value = NAN,
     .meaning = "Piston stroke; it sets mean piston speed and with it friction."},
    {.name = "displacement", .quantity = SHV_Q_VOLUME, .place = PLACE(study.engine.displacement),
     .min = 0, .above_min = true, .max = 0.5, .absent = "from bore, stroke and cylinders",
     .absent_value = NAN,
     .meaning = "Displacement of all cylinders; required without bore and stroke, else within 1 % "
                "of what they give."},
    {.name = "compression_ratio", .place = PLACE(study.engine.compression_ratio), .min = 5,
     .max = 20, .required = true, .meaning = "Geometric compression ratio."},
    {.name = "speed", .type = KEY_GROUP, .place = PLACE(engine_speed), .required = true,
     .group = &speed_keys, .meaning = "The rev range."},
    {.name = "volumetric_efficiency", .type = KEY_PAIRS, .along = SHV_Q_ROTATION,
     .place = PLACE(study.engine.volumetric_efficiency), .min = 0.2, .max = 1.5, .required = true,
     .meaning = "Volumetric efficiency of the stock engine over engine speed, against the density "
                "in the manifold."},
    {.name = "stock_torque", .type = KEY_PAIRS, .quantity = SHV_Q_TORQUE,
     .place = PLACE(study.engine.stock_torque), .min = 0, .above_min = true, .max = 20000,
     .along = SHV_Q_ROTATION,
     .absent = "none, and the closed cycle is not tied to it; required with efficiency.model = "
               "\"stock_torque\"",
     .meaning = "Brake torque of the stock engine at full load over engine speed; not with "
                "efficiency.model = \"constant\" or \"free_air\"."},
    {.name = "charge_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = PLACE(study.engine.reference_temperature), .min = 220, .max = 400,
     .fallback = "298.15 K",
     .meaning = "Temperature in the manifold at which volumetric_efficiency holds."},
    {.name = "charge_heating", .place = CYCLE(charge_heating), .min = 0, .max = 1,
     .fallback = "0.3",
     .meaning = "Share of the way to charge_wall_temperature that walls warm the charge between "
                "manifold and inlet closing; it sets how flow falls with charge temperature, and "
                "how hot compression starts."},
    {.name = "charge_wall_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = CYCLE(charge_wall_temperature), .min = 250, .max = 700, .fallback = "400 K",
     .meaning = "Temperature of the walls that the charge meets on its way in."},
    {.name = "residual_correction", .type = KEY_BOOL,
     .place = PLACE(study.engine.residual_correction), .fallback = "true",
     .meaning = "Whether residual gas makes volumetric efficiency depend on exhaust over manifold "
                "pressure."},
    {.name = "residual_gamma", .place = PLACE(study.engine.residual_gamma), .min = 1.1, .max = 1.67,
     .fallback = "1.3", .meaning = "Ratio of heat capacities of the residual gas."},
    {.name = "pumping_share", .place = PLACE(study.engine.pumping_share), .min = 0, .max = 1,
     .fallback = "1",
     .meaning = "Share of manifold minus exhaust pressure that counts as pumping work."},
    {.name = "intake", .type = KEY_GROUP, .place = PLACE(study.engine.intake),
     .group = &intake_loss_keys, .meaning = "Loss of the stock intake."},
    {.name = "exhaust", .type = KEY_GROUP, .place = PLACE(study.engine.exhaust),
     .group = &exhaust_keys, .meaning = "Loss of the exhaust."},
    {.name = "friction", .type = KEY_GROUP, .group = &friction_keys, .meaning = "Friction."},
    {.name = "efficiency", .type = KEY_GROUP, .group = &efficiency_keys,
     .meaning = "Indicated efficiency."},
    {.name = "stock", .type = KEY_GROUP, .group = &stock_keys,
     .meaning = "Conditions of the stock curves."},
    {.name = "cycle", .type = KEY_GROUP, .group = &cycle_keys,
     .meaning = "The closed cycle; only with efficiency.model = \"cycle\"."},
    {.name = "knock", .type = KEY_GROUP, .group = &knock_keys,
     .meaning = "Knock and ignition; only with efficiency.model = \"cycle\"."},
};
static const struct key_renamed engine_renamed[] = {{"charge_exponent", "charge_heating", true},
                                                    {"charge_pickup", "charge_heating", true},
                                                    {NULL, NULL, false}};
static const struct key_group engine_keys = {
    .title = "engine", .intro = "The engine as it left the factory.", .keys = engine_table,
    .count = COUNT(engine_table), .renamed = engine_renamed, .check = check_engine};

/* ---- sites ---- */

#define SITE(member) offsetof(struct shv_site, member)
static const struct key site_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = SITE(name), .once = true, .required = true,
     .meaning = "Name of the place, unlike any other."},
    {.name = "altitude", .quantity = SHV_Q_LENGTH, .place = SITE(altitude), .min = -400,
     .max = 9000, .absent = "none", .absent_value = NAN,
     .meaning = "Altitude, for the pressure of the standard atmosphere; either altitude or "
                "pressure is required, not both."},
    {.name = "pressure", .quantity = SHV_Q_PRESSURE_ABSOLUTE, .place = SITE(ambient.pressure),
     .min = 30e3, .max = 120e3, .absent = "none", .absent_value = NAN,
     .meaning = "Ambient pressure."},
    {.name = "temperature", .quantity = SHV_Q_TEMPERATURE, .place = SITE(ambient.temperature),
     .min = 220, .max = 340, .absent = "that of the standard atmosphere; required with pressure",
     .absent_value = NAN, .meaning = "Ambient temperature."},
    {.name = "humidity", .place = SITE(ambient.relative_humidity), .min = 0, .max = 1,
     .fallback = "0",
     .meaning = "Relative humidity; the vapour pressure stays below a fifth of the pressure."},
    {.name = "weight", .place = SITE(weight), .min = 0, .above_min = true, .max = 1e6,
     .fallback = "1", .meaning = "Weight in means over sites."},
};
const struct key_group site_keys = {
    .title = "sites", .intro = "Where the kit has to work: a list of 1 to 64 groups with these keys.",
    .keys = site_table, .count = COUNT(site_table), .size = sizeof(struct shv_site),
    .check = check_site};

/* ---- drive and bypass ---- */

#define BELT(member) PLACE(study.drive.belt.member)
static const char *const tensioners[] = {"fixed", "spring", NULL};
static const struct key belt_table[] = {
    {.name = "ribs", .type = KEY_DIMENSION, .place = PLACE(study.numbers[SHV_DIM_RIBS]), .min = 1,
     .max = 40, .required = true, .meaning = "Numbers of ribs to choose from, whole."},
    {.name = "wrap", .type = KEY_DIMENSION, .quantity = SHV_Q_ANGLE,
     .place = PLACE(study.numbers[SHV_DIM_WRAP]), .min = SHV_WRAP_LEAST, .max = SHV_WRAP_MOST,
     .absent = "from centre and pulleys, as an open belt",
     .meaning = "Wraps on the blower's pulley to choose from, as an idler makes them."},
    {.name = "lengths", .type = KEY_DIMENSION, .quantity = SHV_Q_LENGTH,
     .place = PLACE(study.drive.belt.lengths), .min = 0.05, .max = 10, .absent = "any",
     .meaning = "Lengths at the pitch line that belts are sold in: the kit sheet says which to "
                "order, the shortest that is long enough."},
    {.name = "centre", .quantity = SHV_Q_LENGTH, .place = BELT(centre), .min = 0, .above_min = true,
     .max = 5, .required = true,
     .meaning = "Distance of the shafts, more than the pitch radii of the largest pulleys "
                "together."},
    {.name = "friction", .place = BELT(belt.friction), .min = 0, .above_min = true, .max = 2,
     .required = true, .meaning = "Coefficient of friction between rib and groove."},
    {.name = "rib_mass", .quantity = SHV_Q_LINEAR_DENSITY, .place = BELT(belt.rib_mass), .min = 0,
     .max = 1, .required = true, .meaning = "Mass per length of one rib of the belt."},
    {.name = "allowed_tension", .quantity = SHV_Q_FORCE, .place = BELT(belt.allowed_tension),
     .min = 0, .above_min = true, .max = 1e5, .required = true,
     .meaning = "Highest tension of one rib, as the belt's maker states it."},
    {.name = "min_diameter", .quantity = SHV_Q_LENGTH, .place = BELT(belt.min_diameter), .min = 0,
     .max = 1, .fallback = "45 mm",
     .meaning = "Effective diameter of the smallest pulley that the belt may turn round; the "
                "default is that of profile PK."},
    {.name = "rib_pitch", .quantity = SHV_Q_LENGTH, .place = BELT(belt.rib_pitch), .min = 0,
     .max = 0.1, .fallback = "3.56 mm",
     .meaning = "Width of one rib; the default is that of profile PK."},
    {.name = "groove_angle", .quantity = SHV_Q_ANGLE, .place = BELT(belt.groove_angle), .min = 10,
     .max = 180, .fallback = "40 deg",
     .meaning = "Angle between the flanks of a groove; the default is that of profile PK, 180 deg "
                "is a flat belt."},
    {.name = "tensioner", .type = KEY_WORD, .place = BELT(tensioner), .words = tensioners,
     .fallback = "spring",
     .meaning = "Shafts clamped with the belt tensioned, or a spring-loaded idler on the slack "
                "side."},
    {.name = "static_tension", .quantity = SHV_Q_FORCE, .place = BELT(static_tension), .min = 0,
     .max = 1e6, .absent = "as much as keeps slip_margin everywhere", .absent_value = NAN,
     .meaning = "Tension of one side of the whole belt at rest."},
    {.name = "slip_margin", .place = BELT(slip_margin), .min = 0, .max = 5, .fallback = "0.2",
     .meaning = "Share of the pull held in reserve against slip; the default is an assumption of "
                "ours."},
    PRICE_ROW("rib_price", BELT(rib.price), "each rib of the belt"),
    MASS_ROW("rib_weight", BELT(rib.mass), "each rib of the whole belt"),
};
static const struct key_group belt_keys = {
    .title = "drive.belt",
    .intro = "The belt as hardware: docs/model.md, section 4. With it the belt's slip, its tension per rib, the "
             "smallest pulley and the load on the blower's nose are known and limited; ribs and "
             "wrap are dimensions of the search.",
    .keys = belt_table, .count = COUNT(belt_table), .optional = true, .check = check_belt};

static const struct key drive_table[] = {
    {.name = "crank_pulleys", .type = KEY_DIMENSION, .quantity = SHV_Q_LENGTH,
     .place = PLACE(study.numbers[SHV_DIM_CRANK_PULLEY]), .min = 0.01, .max = 1, .required = true,
     .meaning = "Effective diameters of the crank pulleys to choose from."},
    {.name = "blower_pulleys", .type = KEY_DIMENSION, .quantity = SHV_Q_LENGTH,
     .place = PLACE(study.numbers[SHV_DIM_BLOWER_PULLEY]), .min = 0.01, .max = 1, .required = true,
     .meaning = "Effective diameters of the blower pulleys to choose from."},
    {.name = "creep", .place = PLACE(study.drive.creep), .min = 0, .max = 0.2, .fallback = "0",
     .meaning = "Share of the blower pulley's speed lost by creep of the belt."},
    {.name = "efficiency", .place = PLACE(study.drive.efficiency), .min = 0.3, .max = 1,
     .fallback = "0.97",
     .meaning = "Power at the blower's shaft over power taken from the crank. What creep loses in "
                "speed is lost power, so at most 1 - creep."},
    {.name = "line_offset", .quantity = SHV_Q_LENGTH, .place = PLACE(study.drive.line_offset),
     .min = 0, .max = 0.01, .fallback = "0 mm",
     .meaning = "From the effective diameter to the belt's pitch line, added to each radius."},
    {.name = "belt", .type = KEY_GROUP, .group = &belt_keys, .absent = "the belt is not looked at",
     .meaning = "The belt as hardware."},
    PRICE_ROW("price", PLACE(study.drive.worth.price),
              "belt, tensioner and brackets, but for ribs and pulleys"),
    MASS_ROW("mass", PLACE(study.drive.worth.mass),
             "belt, tensioner and brackets, but for ribs and pulleys"),
    PRICE_ROW("pulley_price", PLACE(study.base.pulley.price), "each of the two pulleys"),
    MASS_ROW("pulley_mass", PLACE(study.base.pulley.mass), "each of the two pulleys"),
};
static const struct key_group drive_keys = {
    .title = "drive", .intro = "The belt drive from the crank to the blower.",
    .keys = drive_table, .count = COUNT(drive_table), .check = check_drive};

#define SPRING(member) offsetof(struct shv_bypass_spring, member)
static const struct key spring_table[] = {
    {.name = "diaphragm_area", .quantity = SHV_Q_AREA, .place = SPRING(diaphragm_area), .min = 0,
     .above_min = true, .max = 0.1, .required = true,
     .meaning = "Effective area of the diaphragm."},
    {.name = "preload", .quantity = SHV_Q_FORCE, .place = SPRING(preload), .min = 0,
     .above_min = true, .max = 1e4, .required = true,
     .meaning = "Force of the spring with the valve shut."},
    {.name = "rate", .quantity = SHV_Q_STIFFNESS, .place = SPRING(rate), .min = 0, .max = 1e6,
     .required = true, .meaning = "Stiffness of the spring."},
    {.name = "travel", .quantity = SHV_Q_LENGTH, .place = SPRING(travel), .min = 0, .max = 0.2,
     .required = true, .meaning = "Way of the diaphragm from shut to open."},
};
static const struct key_group spring_keys = {
    .title = "bypass.spring",
    .intro = "The actuator by its diaphragm and spring, in the place of starts and finishes.",
    .keys = spring_table, .count = COUNT(spring_table), .optional = true};

#define VALVE(member) PLACE(study.bypass_part.member)
static const char *const bleed_words[] = {"inlet", "atmosphere", NULL};
static const struct key bypass_table[] = {
    {.name = "bleed_above", .quantity = SHV_Q_PRESSURE_GAUGE,
     .place = PLACE(study.bypass.bleed_above), .min = 0, .above_min = true, .max = 1e6,
     .absent = "never", .absent_value = INFINITY,
     .meaning = "Boost above which the bypass valve bleeds."},
    {.name = "bleed_to", .type = KEY_WORD, .place = PLACE(study.bypass.bleed_to),
     .words = bleed_words, .fallback = "inlet", .meaning = "Where the air bled off goes."},
    {.name = "area", .quantity = SHV_Q_AREA, .place = VALVE(area), .min = 0, .above_min = true,
     .max = 0.1, .absent = "not known; at cruise the valve is shut",
     .meaning = "Area of the open valve, discharge coefficient included."},
    {.name = "starts", .quantity = SHV_Q_PRESSURE_DIFFERENCE, .place = VALVE(actuator.starts),
     .min = 0, .above_min = true, .max = 100e3, .absent = "none; required with finishes",
     .meaning = "Vacuum at which the actuator starts to open the valve; at full throttle it must "
                "not be reached."},
    {.name = "finishes", .quantity = SHV_Q_PRESSURE_DIFFERENCE, .place = VALVE(actuator.finishes),
     .min = 0, .above_min = true, .max = 100e3, .absent = "none; required with starts",
     .meaning = "Vacuum at which the valve is fully open, not below starts."},
    {.name = "spring", .type = KEY_GROUP, .place = PLACE(spring), .group = &spring_keys,
     .absent = "none",
     .meaning = "The actuator by its spring; not together with starts and finishes."},
    PRICE_ROW("price", VALVE(worth.price), "valve and actuator"),
    MASS_ROW("mass", VALVE(worth.mass), "valve and actuator"),
};
static const struct key_group bypass_keys = {
    .title = "bypass",
    .intro = "The bypass valve around the blower: docs/model.md, section 11. The vacuum at which its actuator "
             "starts is an upper bound of limits.bypass_vacuum.",
    .keys = bypass_table, .count = COUNT(bypass_table), .check = check_bypass};

/* ---- what is the same in every kit ---- */

static const struct key manifold_table[] = {
    {.name = "max_pressure", .quantity = SHV_Q_PRESSURE_GAUGE,
     .place = PLACE(study.base.manifold_pressure), .min = 0, .above_min = true, .max = 2e6,
     .absent = "none", .absent_value = INFINITY,
     .meaning = "Highest pressure above ambient that it is rated for."},
    {.name = "max_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = PLACE(study.base.manifold_temperature), .min = 250, .max = 1000, .absent = "none",
     .absent_value = INFINITY, .meaning = "Highest gas temperature that it is rated for."},
    PRICE_ROW("price", PLACE(study.base.manifold.price), "the manifold"),
    MASS_ROW("mass", PLACE(study.base.manifold.mass), "the manifold"),
};
static const struct key_group manifold_keys = {
    .title = "manifold", .intro = "The casting that carries blower and cooler.",
    .keys = manifold_table, .count = COUNT(manifold_table)};

static const struct key kit_table[] = {
    PRICE_ROW("price", PLACE(study.base.worth.price), "everything that is the same in every kit"),
    MASS_ROW("mass", PLACE(study.base.worth.mass), "everything that is the same in every kit"),
};
static const struct key_group kit_keys = {
    .title = "kit",
    .intro = "What is the same in every kit: hoses, gaskets, control unit, fasteners. Price and mass "
             "of a kit are the sum of all its parts.",
    .keys = kit_table, .count = COUNT(kit_table)};

/* ---- use ---- */

#define DUTY(member) offsetof(struct duty_draft, member)
static const struct key duty_table[] = {
    {.name = "speed", .quantity = SHV_Q_ROTATION, .place = DUTY(speed), .min = 0, .above_min = true,
     .max = 25000.0 / 60, .required = true, .meaning = "Engine speed, inside the rev range."},
    {.name = "time", .place = DUTY(time), .min = 0, .above_min = true, .max = 1, .required = true,
     .meaning = "Share of the time; all sum to 1."},
    {.name = "load", .place = DUTY(load), .min = 0, .max = 1, .fallback = "1",
     .meaning = "Power that the blower takes, as a share of that at full throttle."},
};
static const struct key_group duty_keys = {
    .title = "use.duty",
    .intro = "How the time is spent: a list of 1 to 100 groups with these keys. It says how long "
             "bearings last and how long rotors run above their continuous speed.",
    .keys = duty_table, .count = COUNT(duty_table), .size = sizeof(struct duty_draft)};

#define USE(member) PLACE(study.use.member)
static const struct key cruise_table[] = {
    {.name = "speed", .quantity = SHV_Q_ROTATION, .place = PLACE(cruise_speed), .min = 0,
     .above_min = true, .max = 25000.0 / 60, .required = true,
     .meaning = "Engine speed, inside the rev range."},
    {.name = "manifold_pressure", .quantity = SHV_Q_PRESSURE_ABSOLUTE,
     .place = USE(cruise_pressure), .min = 5e3, .max = 150e3, .required = true,
     .meaning = "Pressure in the manifold."},
    {.name = "road_speed", .quantity = SHV_Q_SPEED, .place = USE(road_speed), .min = 0,
     .above_min = true, .max = 200, .absent = "fuel for the distance is not told",
     .meaning = "Speed of the vehicle."},
    {.name = "bsfc", .quantity = SHV_Q_SPECIFIC_CONSUMPTION, .place = USE(bsfc), .min = 1e-8,
     .max = 1e-6, .required = true,
     .meaning = "Fuel for the power that the rotors' drag adds: about the best of the engine, not "
                "that of cruise; docs/model.md, section 11.4."},
};
static const struct key_group cruise_keys = {
    .title = "use.cruise", .intro = "One point of part load at the first site, for the rotors' drag.",
    .keys = cruise_table, .count = COUNT(cruise_table), .optional = true, .check = check_cruise};

static const struct key use_table[] = {
    {.name = "duty", .type = KEY_LIST, .place = PLACE(duty), .count = PLACE(duty_count),
     .group = &duty_keys, .min = 1, .max = DUTY_MAX, .absent = "not known",
     .meaning = "How the time is spent."},
    {.name = "full_throttle_time", .quantity = SHV_Q_TIME, .place = USE(full_throttle_time),
     .min = 0, .above_min = true, .max = 1e6, .absent = "steady state",
     .meaning = "How long full throttle has lasted, for the coolant loop to warm up; only with a "
                "cooler that has loop_heat or coolant_volume."},
    {.name = "cruise", .type = KEY_GROUP, .group = &cruise_keys, .absent = "none",
     .meaning = "A point of part load."},
};
static const struct key_group use_keys = {
    .title = "use",
    .intro = "How the engine is used. Speeds named here become points of the rev range.",
    .keys = use_table, .count = COUNT(use_table), .check = check_use};

/* ---- blower ---- */

#define NOSE(member) offsetof(struct shv_nose_bearing, member)
static const char *const bearing_types[] = {"ball", "roller", NULL};
static const struct key bearing_table[] = {
    {.name = "type", .type = KEY_WORD, .place = NOSE(type), .words = bearing_types,
     .fallback = "ball", .meaning = "What rolls in it."},
    {.name = "rating", .quantity = SHV_Q_FORCE, .place = NOSE(rating), .min = 0, .above_min = true,
     .max = 1e7, .required = true, .meaning = "Basic dynamic load rating."},
    {.name = "overhang", .quantity = SHV_Q_LENGTH, .place = NOSE(overhang), .min = 0, .max = 1,
     .fallback = "0 mm",
     .meaning = "From the bearing to the middle of the pulley; 0: it carries just the hub load."},
    {.name = "span", .quantity = SHV_Q_LENGTH, .place = NOSE(span), .min = 0, .above_min = true,
     .max = 2, .absent = "none; required with an overhang above 0",
     .meaning = "From the bearing to the other one of the shaft; only with an overhang above 0."},
};
static const struct key_group bearing_keys = {
    .title = "blowers.bearing", .intro = "The bearing behind the blower's pulley.",
    .keys = bearing_table, .count = COUNT(bearing_table), .optional = true,
    .check = check_bearing};

#define OWN(member) offsetof(struct blower_corrections, member)
static const struct key blower_corrections_table[] = {
    {.name = "leakage", .place = OWN(leakage), .min = 0, .max = 5, .fallback = "1",
     .meaning = "Factor on the leakage area; of a map on the share of the swept volume that it "
                "does not deliver."},
    {.name = "filling_loss", .place = OWN(filling_loss), .min = 0, .max = 5, .fallback = "1",
     .meaning = "Factor on filling_loss; of a map nothing."},
    {.name = "blower_friction", .place = OWN(blower_friction), .min = 0, .max = 5, .fallback = "1",
     .meaning = "Factor on friction_torque and windage_torque."},
};
static const struct key_group blower_corrections_keys = {
    .title = "blowers.corrections",
    .intro = "What a fit has found of this blower, so that several that were fitted may stand in one "
             "study. The study's own corrections and its tolerances act besides.",
    .keys = blower_corrections_table, .count = COUNT(blower_corrections_table), .optional = true};

static const struct key_group number_tolerance_keys; /* below, with the study's tolerances */
#undef OWN
#define OWN(member) offsetof(struct blower_tolerances, member)
static const struct key blower_tolerances_table[] = {
    {.name = "leakage", .type = KEY_GROUP, .place = OWN(leakage), .group = &number_tolerance_keys,
     .absent = "that of the study", .meaning = "Of the factor on the leakage."},
    {.name = "filling_loss", .type = KEY_GROUP, .place = OWN(filling_loss),
     .group = &number_tolerance_keys, .absent = "that of the study",
     .meaning = "Of the factor on filling_loss."},
    {.name = "blower_friction", .type = KEY_GROUP, .place = OWN(blower_friction),
     .group = &number_tolerance_keys, .absent = "that of the study",
     .meaning = "Of the factor on friction_torque and windage_torque."},
};
static const struct key_group blower_tolerances_keys = {
    .title = "blowers.tolerances",
    .intro = "How far this blower may be off, in the place of the study's tolerance of that name, as a "
             "fit has found it; same distribution in all blowers and the study. They act in a study "
             "with a group tolerances; blowers are off together, each by its own width.",
    .keys = blower_tolerances_table, .count = COUNT(blower_tolerances_table), .optional = true};

#define BLOWER(member) offsetof(struct blower_draft, blower.member)
static const char *const blower_kinds[] = {"geometry", "map", NULL};
static const struct key blower_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = BLOWER(name), .required = true,
     .meaning = "Name of the blower, unlike any other."},
    {.name = "kind", .type = KEY_WORD, .place = BLOWER(kind), .words = blower_kinds,
     .required = true, .meaning = "Described by its geometry or by a measured map."},
    {.name = "displacement", .quantity = SHV_Q_DISPLACEMENT, .place = BLOWER(displacement),
     .min = 0, .above_min = true, .max = 0.1, .required = true,
     .meaning = "Volume swept per revolution of the rotors."},
    {.name = "step_up", .place = BLOWER(step_up), .min = 0.1, .max = 20, .fallback = "1",
     .meaning = "Turns of the rotors per turn of the blower pulley."},
    {.name = "friction_torque", .quantity = SHV_Q_TORQUE, .place = BLOWER(friction_torque),
     .min = 0, .max = 100, .fallback = "0 N m",
     .meaning = "Torque of bearings, gears and seals at the rotor shaft."},
    {.name = "windage_torque", .quantity = SHV_Q_TORQUE, .place = BLOWER(windage_torque), .min = 0,
     .max = 100, .fallback = "0 N m",
     .meaning = "Torque of windage at windage_reference_speed, rising with speed squared."},
    {.name = "windage_reference_speed", .quantity = SHV_Q_ROTATION,
     .place = BLOWER(windage_reference_speed), .min = 100.0 / 60, .max = 300e3 / 60,
     .fallback = "10000 rpm", .meaning = "Rotor speed for windage_torque."},
    {.name = "max_speed", .quantity = SHV_Q_ROTATION, .place = BLOWER(max_speed), .min = 0,
     .above_min = true, .max = 300e3 / 60, .absent = "none", .absent_value = INFINITY,
     .meaning = "Highest rotor speed."},
    {.name = "max_pressure_ratio", .place = BLOWER(max_pressure_ratio), .min = 1, .above_min = true,
     .max = 10, .absent = "none", .absent_value = INFINITY,
     .meaning = "Highest outlet over inlet pressure."},
    {.name = "max_pressure_rise", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = BLOWER(max_pressure_rise), .min = 0, .above_min = true, .max = 1e6, .absent = "none",
     .absent_value = INFINITY, .meaning = "Highest outlet minus inlet pressure."},
    {.name = "max_discharge_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = BLOWER(max_discharge_temperature), .min = 250, .max = 1000, .absent = "none",
     .absent_value = INFINITY, .meaning = "Highest temperature at the outlet."},
    {.name = "leakage_area", .quantity = SHV_Q_AREA, .place = BLOWER(geometry.leakage_area),
     .min = 0, .max = 0.01, .with = "kind", .with_word = SHV_BLOWER_GEOMETRY, .with_needed = true,
     .meaning = "Leakage area at assembly, discharge coefficient included."},
    {.name = "closing_rate", .quantity = SHV_Q_PER_KELVIN, .place = BLOWER(geometry.closing_rate),
     .min = 0, .max = 0.1, .fallback = "0 1/K", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Share of the leakage area that closes per kelvin of discharge temperature above "
                "assembly."},
    {.name = "assembly_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = BLOWER(geometry.assembly_temperature), .min = 250, .max = 350, .fallback = "293.15 K",
     .with = "kind", .with_word = SHV_BLOWER_GEOMETRY, .meaning = "Temperature for leakage_area."},
    {.name = "volume_ratio", .place = BLOWER(geometry.volume_ratio), .min = 1, .max = 3,
     .fallback = "1", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Built-in volume ratio; 1 is a Roots blower."},
    {.name = "filling_loss", .place = BLOWER(geometry.filling_loss), .min = 0, .max = 0.9,
     .fallback = "0", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Share of the filling lost at reference_speed, rising with speed squared."},
    {.name = "reference_speed", .quantity = SHV_Q_ROTATION,
     .place = BLOWER(geometry.reference_speed), .min = 100.0 / 60, .max = 300e3 / 60,
     .fallback = "10000 rpm", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Rotor speed for filling_loss."},
    {.name = "case_loss", .place = BLOWER(geometry.case_loss), .min = 0, .max = 0.9,
     .fallback = "0", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Share of the heat put into the gas that leaves by the case."},
    {.name = "file", .type = KEY_TEXT, .place = offsetof(struct blower_draft, map_file),
     .with = "kind", .with_word = SHV_BLOWER_MAP, .with_needed = true,
     .meaning = "The map's CSV file, relative to the file that names it."},
    {.name = "reference_pressure", .quantity = SHV_Q_PRESSURE_ABSOLUTE,
     .place = BLOWER(map.reference_pressure), .min = 30e3, .max = 200e3, .fallback = "101325 Pa",
     .with = "kind", .with_word = SHV_BLOWER_MAP,
     .meaning = "Inlet pressure at which the map was measured."},
    {.name = "reference_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = BLOWER(map.reference_temperature), .min = 250, .max = 350, .fallback = "298.15 K",
     .with = "kind", .with_word = SHV_BLOWER_MAP,
     .meaning = "Inlet temperature at which the map was measured."},
    {.name = "continuous_speed", .quantity = SHV_Q_ROTATION, .place = BLOWER(continuous_speed),
     .min = 0, .above_min = true, .max = 300e3 / 60, .absent = "not known",
     .meaning = "Rotor speed that it stands for good, not above max_speed."},
    {.name = "least_clearance", .place = BLOWER(least_clearance), .min = 0, .max = 1,
     .fallback = "0", .with = "kind", .with_word = SHV_BLOWER_GEOMETRY,
     .meaning = "Least share of the assembly clearance that must be left when hot."},
    {.name = "max_hub_load", .quantity = SHV_Q_FORCE, .place = BLOWER(max_hub_load), .min = 0,
     .above_min = true, .max = 1e6, .absent = "none",
     .meaning = "Highest load of the belt on its nose; acts with drive.belt."},
    {.name = "bearing", .type = KEY_GROUP, .place = BLOWER(bearing), .group = &bearing_keys,
     .absent = "not known", .meaning = "The bearing behind its pulley."},
    {.name = "corrections", .type = KEY_GROUP, .place = offsetof(struct blower_draft, corrections),
     .group = &blower_corrections_keys, .absent = "none",
     .meaning = "How it differs from what stands here, as measured."},
    {.name = "tolerances", .type = KEY_GROUP, .place = offsetof(struct blower_draft, tolerances),
     .group = &blower_tolerances_keys, .absent = "those of the study",
     .meaning = "How far it may be off from that."},
    PRICE_ROW("price", BLOWER(worth.price), "the blower"),
    MASS_ROW("mass", BLOWER(worth.mass), "the blower"),
};
const struct key_group blower_keys = {
    .title = "blowers",
    .intro = "The blowers to choose from: a list of groups with these keys, or names of "
             "catalogue.blowers.",
    .keys = blower_table, .count = COUNT(blower_table), .size = sizeof(struct blower_draft),
    .check = check_blower};

/* ---- cooler ---- */

#define COOLER(member) offsetof(struct cooler_draft, member)
static const char *const arrangements[] = {"single_stream",
                                           "counterflow",
                                           "parallel",
                                           "crossflow_unmixed",
                                           "crossflow_charge_mixed",
                                           "crossflow_coolant_mixed",
                                           NULL};
static const struct key cooler_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = COOLER(cooler.name), .required = true,
     .meaning = "Name of the cooler, unlike any other and not \"none\"."},
    {.name = "arrangement", .type = KEY_WORD, .place = COOLER(cooler.arrangement),
     .words = arrangements, .fallback = "single_stream",
     .meaning = "How charge and coolant pass each other; single_stream has a coolant of constant "
                "temperature, the others need its capacity."},
    {.name = "effectiveness", .type = KEY_DIMENSION, .place = COOLER(cooler.effectiveness),
     .min = 0.05, .max = 0.98, .required = true,
     .meaning = "Charge's temperature drop over the largest possible one at rated_flow: the cores "
                "to choose from."},
    {.name = "rated_flow", .quantity = SHV_Q_AIR_FLOW, .place = COOLER(cooler.rated_flow), .min = 0,
     .above_min = true, .max = 20, .required = true,
     .meaning = "Charge flow for effectiveness and pressure_drop."},
    {.name = "pressure_drop", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = COOLER(cooler.pressure_drop), .min = 0, .max = 50e3, .fallback = "0 Pa",
     .meaning = "Charge's pressure drop at rated_flow and rated_density of a core of "
                "pressure_drop_effectiveness."},
    {.name = "pressure_drop_effectiveness", .place = COOLER(cooler.pressure_drop_effectiveness),
     .min = 0.05, .max = 0.98, .fallback = "0.7",
     .meaning = "Effectiveness of the core whose pressure_drop is given; others go with NTU."},
    {.name = "rated_density", .quantity = SHV_Q_DENSITY, .place = COOLER(cooler.rated_density),
     .min = 0.1, .max = 20, .fallback = "1.6 kg/m3",
     .meaning = "Density at the core's inlet for pressure_drop."},
    {.name = "ntu_exponent", .place = COOLER(cooler.ntu_exponent), .min = 0, .max = 1,
     .fallback = "0.4",
     .meaning = "NTU falls with charge flow to this power: 0.2 for turbulent, about 0.4 for "
                "compact surfaces."},
    {.name = "coolant_rise", .quantity = SHV_Q_TEMPERATURE_DIFFERENCE,
     .place = COOLER(cooler.coolant_rise), .min = 0, .max = 100, .fallback = "0 K",
     .meaning = "How far the coolant's source is above site ambient."},
    {.name = "coolant_temperature", .quantity = SHV_Q_TEMPERATURE,
     .place = COOLER(cooler.coolant_temperature), .min = 250, .max = 400,
     .absent = "ambient plus coolant_rise", .absent_value = NAN,
     .meaning = "Fixed temperature of the coolant's source; not together with coolant_rise."},
    {.name = "coolant_capacity", .quantity = SHV_Q_CAPACITY_RATE,
     .place = COOLER(cooler.coolant_capacity), .min = 0, .above_min = true, .max = 1e7,
     .absent = "not limiting", .absent_value = INFINITY,
     .meaning = "Capacity rate of the coolant flow; not together with coolant_flow."},
    {.name = "coolant_flow", .quantity = SHV_Q_VOLUME_FLOW, .place = COOLER(coolant_flow), .min = 0,
     .above_min = true, .max = 10, .absent = "none", .absent_value = NAN,
     .meaning = "Coolant flow; with density and heat capacity it gives the capacity rate."},
    {.name = "coolant_density", .quantity = SHV_Q_DENSITY, .place = COOLER(coolant_density),
     .min = 0.1, .max = 5000, .fallback = "1030 kg/m3",
     .meaning = "Density of the coolant; only with coolant_flow or coolant_volume."},
    {.name = "coolant_heat_capacity", .quantity = SHV_Q_HEAT_CAPACITY,
     .place = COOLER(coolant_heat_capacity), .min = 500, .max = 10000, .fallback = "3600 J/(kg K)",
     .meaning = "Heat capacity of the coolant; only with coolant_flow or coolant_volume."},
    {.name = "radiator_effectiveness", .place = COOLER(cooler.radiator_effectiveness), .min = 0,
     .max = 1, .fallback = "0",
     .meaning = "Effectiveness of the front radiator of the coolant loop; 0 is no loop."},
    {.name = "radiator_capacity", .quantity = SHV_Q_CAPACITY_RATE,
     .place = COOLER(cooler.radiator_capacity), .min = 0, .above_min = true, .max = 1e7,
     .absent = "none; required with a radiator_effectiveness", .absent_value = INFINITY,
     .meaning = "Capacity rate of the smaller stream at the front radiator; at the most the "
                "coolant's."},
    {.name = "coolant_volume", .quantity = SHV_Q_VOLUME, .place = COOLER(coolant_volume), .min = 0,
     .above_min = true, .max = 1, .absent = "none", .absent_value = NAN,
     .meaning = "Coolant of the loop; with density and heat capacity it gives loop_heat; only with "
                "a radiator_effectiveness."},
    {.name = "loop_heat", .quantity = SHV_Q_HEAT_PER_KELVIN, .place = COOLER(cooler.loop_heat),
     .min = 0, .above_min = true, .max = 1e8, .absent = "the loop warms at once",
     .meaning = "Heat that warms the whole loop by a kelvin; acts with use.full_throttle_time; "
                "only with a radiator_effectiveness, not together with coolant_volume."},
    PRICE_ROW("price", COOLER(cooler.worth.price), "a core, but for price_per_ntu"),
    MASS_ROW("mass", COOLER(cooler.worth.mass), "a core, but for mass_per_ntu"),
    PRICE_ROW("price_per_ntu", COOLER(cooler.per_ntu.price),
              "each transfer unit (NTU) that a core has at rated_flow"),
    MASS_ROW("mass_per_ntu", COOLER(cooler.per_ntu.mass),
             "each transfer unit (NTU) that a core has at rated_flow"),
};
const struct key_group cooler_keys = {
    .title = "coolers",
    .intro = "The charge coolers to choose from: a list of groups with these keys, or names of "
             "catalogue.coolers, or the word \"none\". To have no cooler is always one of the choices "
             "and always the first.",
    .keys = cooler_table, .count = COUNT(cooler_table), .size = sizeof(struct cooler_draft),
    .check = check_cooler};

/* ---- fuel and mixture ---- */

#define FUEL(member) offsetof(struct fuel_draft, fuel.member)
static const struct key blend_table[] = {
    {.name = "component", .type = KEY_TEXT, .place = offsetof(struct blend_part, component),
     .once = true, .required = true,
     .meaning = "Name of a fuel further up in the same list or in catalogue.fuels, else of one of "
                "gasoline, isooctane, n-heptane, toluene, ethanol and methanol, whose properties "
                "are those of docs/model.md, section 10."},
    {.name = "share", .place = offsetof(struct blend_part, share), .min = 0, .max = 1,
     .required = true,
     .meaning = "Its share, by volume or by mass as basis says; all shares sum to 1."},
};
static const struct key_group blend_keys = {
    .title = "fuels.blend",
    .intro = "The components of a blend: a list of 1 to 20 groups with these keys. What the blend's "
             "properties are made of: docs/model.md, sections 10.3 and 10.4.",
    .keys = blend_table, .count = COUNT(blend_table), .size = sizeof(struct blend_part)};

static const char *const share_bases[] = {"volume", "mass", NULL};
static const struct key fuel_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = FUEL(name), .required = true,
     .meaning = "Name of the fuel, unlike any other."},
    {.name = "blend", .type = KEY_LIST, .place = offsetof(struct fuel_draft, blend),
     .count = offsetof(struct fuel_draft, blend_count), .group = &blend_keys, .min = 1,
     .max = BLEND_MAX, .absent = "no blend",
     .meaning = "What the fuel is mixed of; a property given besides takes the place of the "
                "blended one."},
    {.name = "basis", .type = KEY_WORD, .place = offsetof(struct fuel_draft, basis),
     .words = share_bases, .fallback = "volume",
     .meaning = "What the shares of blend are shares of; only with blend."},
    {.name = "stoichiometric", .place = FUEL(stoichiometric), .min = 3, .max = 20,
     .absent = "that of blend; required without", .absent_value = NAN,
     .meaning = "Mass of dry air per mass of fuel at lambda 1; with the closed cycle within 3 % of "
                "what hydrogen_carbon and oxygen_carbon need."},
    {.name = "heating_value", .quantity = SHV_Q_SPECIFIC_ENERGY, .place = FUEL(heating_value),
     .min = 5e6, .max = 60e6, .absent = "that of blend; required without", .absent_value = NAN,
     .meaning = "Lower heating value."},
    {.name = "density", .quantity = SHV_Q_DENSITY, .place = FUEL(density), .min = 300, .max = 1500,
     .absent = "that of blend; required without", .absent_value = NAN,
     .meaning = "Density of the liquid fuel."},
    {.name = "ron", .place = FUEL(ron), .min = 30, .max = 140,
     .absent = "that of blend, else not known; required with the closed cycle", .absent_value = NAN,
     .meaning = "Research octane number."},
    {.name = "mon", .place = FUEL(mon), .min = 30, .max = 140,
     .absent = "that of blend, else not known; required with an engine.knock.octane_weight other "
               "than 0", .absent_value = NAN, .meaning = "Motor octane number."},
    {.name = "aki", .place = offsetof(struct fuel_draft, aki), .min = 30, .max = 140,
     .absent = "by ron and mon", .absent_value = NAN,
     .meaning = "Antiknock index (RON + MON)/2, as pumps in America show it, in the place of ron "
                "and mon: they lie half of sensitivity above and below it."},
    {.name = "sensitivity", .place = offsetof(struct fuel_draft, sensitivity), .min = 0, .max = 20,
     .fallback = "8",
     .meaning = "RON less MON; only with aki. The default is an assumption of ours: about what "
                "pump fuel has, common practice, no source."},
    {.name = "heat_of_vaporisation", .quantity = SHV_Q_SPECIFIC_ENERGY, .place = FUEL(vaporisation),
     .min = 0, .max = 2e6, .absent = "that of blend, else 350 kJ/kg", .absent_value = 350e3,
     .meaning = "Heat that evaporates the liquid, for the closed cycle."},
    {.name = "hydrogen_carbon", .place = FUEL(hydrogen_carbon), .min = 0, .max = 4.5,
     .absent = "that of blend, else 1.87", .absent_value = 1.87,
     .meaning = "Atoms of hydrogen per atom of carbon, for the closed cycle."},
    {.name = "oxygen_carbon", .place = FUEL(oxygen_carbon), .min = 0, .max = 1.2,
     .absent = "that of blend, else 0",
     .meaning = "Atoms of oxygen per atom of carbon, for the closed cycle."},
    {.name = "molar_mass", .quantity = SHV_Q_MOLAR_MASS, .place = FUEL(molar_mass), .min = 0.01,
     .max = 0.3, .absent = "that of blend, else 0.105 kg/mol", .absent_value = 0.105,
     .meaning = "Molar mass of the vapour, for blends."},
};
const struct key_group fuel_keys = {
    .title = "fuels",
    .intro = "The fuels to choose from: a list of groups with these keys, or names of "
             "catalogue.fuels. A fuel is given by its properties or as a blend of others.",
    .keys = fuel_table, .count = COUNT(fuel_table), .size = sizeof(struct fuel_draft),
    .check = check_fuel};

static const struct key mixture_table[] = {
    {.name = "lambda", .type = KEY_DIMENSION, .place = PLACE(study.numbers[SHV_DIM_LAMBDA]),
     .min = SHV_LAMBDA_LEAST, .max = SHV_LAMBDA_MOST, .fallback = "0.88",
     .meaning = "Excess-air ratios to choose from; below 1 is rich."},
    {.name = "afr", .type = KEY_DIMENSION, .place = PLACE(afrs), .min = 3, .max = 25,
     .absent = "by lambda",
     .meaning = "Air-fuel ratios by mass to choose from, in the place of lambda; only where all "
                "fuels have one stoichiometric ratio."},
    {.name = "ignition_margin", .type = KEY_DIMENSION, .quantity = SHV_Q_ANGLE,
     .place = PLACE(study.numbers[SHV_DIM_IGNITION_MARGIN]), .min = 0, .max = 20,
     .fallback = "0 deg",
     .meaning = "How much later than knock allows ignition is held, to choose from; other than 0 "
                "only with efficiency.model = \"cycle\"."},
};
const struct key_group mixture_keys = {
    .title = "mixture", .intro = "Mixture and ignition of the kit.", .keys = mixture_table,
    .count = COUNT(mixture_table)};

/* ---- injectors, pump and rail ---- */

#define INJECTOR(member) offsetof(struct shv_injector_part, member)
static const struct key injector_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = INJECTOR(name), .required = true,
     .meaning = "Name of the injector, unlike any other and not \"unlimited\"."},
    {.name = "flow", .type = KEY_DIMENSION, .quantity = SHV_Q_VOLUME_FLOW,
     .place = INJECTOR(rated_flow), .min = 0, .above_min = true, .max = 1e-3, .required = true,
     .other = SHV_Q_MASS_FLOW,
     .meaning = "Flow of one injector, held open, of the test fluid at pressure: the sizes to "
                "choose from. Volume flows, or mass flows such as \"42 lb/h\", by test_density."},
    {.name = "pressure", .quantity = SHV_Q_PRESSURE_DIFFERENCE, .place = INJECTOR(rated_pressure),
     .min = 0, .above_min = true, .max = 50e6, .fallback = "300 kPa",
     .meaning = "Pressure across the injector for flow."},
    {.name = "test_density", .quantity = SHV_Q_DENSITY, .place = INJECTOR(test_density), .min = 300,
     .max = 1500, .fallback = "684 kg/m3",
     .meaning = "Density of the fluid that flow was measured with; the default is n-heptane at 20 "
                "degC."},
    {.name = "dead_time", .quantity = SHV_Q_TIME, .place = INJECTOR(dead_time), .min = 0,
     .max = 5e-3, .fallback = "1 ms", .meaning = "Part of each pulse that passes no fuel."},
    {.name = "max_duty", .place = INJECTOR(max_duty), .min = 0, .above_min = true, .max = 1,
     .fallback = "0.85", .meaning = "Largest share of the time that it may be held open."},
    PRICE_ROW("price", INJECTOR(worth.price), "one injector"),
    MASS_ROW("mass", INJECTOR(worth.mass), "one injector"),
};
const struct key_group injector_keys = {
    .title = "injectors",
    .intro = "The injectors to choose from: a list of groups with these keys, or names of "
             "catalogue.injectors. Left out: injectors are not looked at.",
    .keys = injector_table, .count = COUNT(injector_table),
     .size = sizeof(struct shv_injector_part),
    .check = check_injector};

#define PUMP(member) offsetof(struct shv_pump_part, member)
static const struct key pump_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = PUMP(name), .required = true,
     .meaning = "Name of the pump, unlike any other and not \"unlimited\"."},
    {.name = "flow", .type = KEY_PAIRS, .quantity = SHV_Q_VOLUME_FLOW,
     .along = SHV_Q_PRESSURE_DIFFERENCE, .place = PUMP(pump.flow), .min = 0, .max = 0.01,
     .required = true,
     .meaning = "Volume flow over the pressure rise across the pump, not rising with it; beyond "
                "the last point the flow counts as not known."},
    {.name = "line_loss", .quantity = SHV_Q_PRESSURE_DIFFERENCE, .place = PUMP(pump.line_loss),
     .min = 0, .max = 1e6, .fallback = "0 Pa", .meaning = "Pressure lost between pump and rail."},
    PRICE_ROW("price", PUMP(worth.price), "the pump"),
    MASS_ROW("mass", PUMP(worth.mass), "the pump"),
};
const struct key_group pump_keys = {
    .title = "pumps",
    .intro = "The fuel pumps to choose from: a list of groups with these keys, or names of "
             "catalogue.pumps. Left out: the pump is not looked at.",
    .keys = pump_table, .count = COUNT(pump_table), .size = sizeof(struct shv_pump_part),
    .check = check_pump};

static const char *const rail_references[] = {"ambient", "manifold", NULL};
static const struct key fuel_system_table[] = {
    {.name = "rail_pressure", .quantity = SHV_Q_PRESSURE_DIFFERENCE,
     .place = PLACE(study.rail.pressure), .min = 0, .above_min = true, .max = 50e6,
     .fallback = "300 kPa", .meaning = "Pressure of the rail above what rail_reference says."},
    {.name = "rail_reference", .type = KEY_WORD, .place = PLACE(study.rail.reference),
     .words = rail_references, .fallback = "manifold",
     .meaning = "What the pressure regulator holds the rail above."},
    {.name = "injectors_per_cylinder", .type = KEY_INTEGER, .width = WIDTH_INT,
     .place = PLACE(study.rail.injectors_per_cylinder), .min = 1, .max = 4, .fallback = "1",
     .meaning = "Injectors of each cylinder, all alike."},
};
static const struct key_group fuel_system_keys = {
    .title = "fuel_system", .intro = "The rail between the pump and the injectors.",
    .keys = fuel_system_table, .count = COUNT(fuel_system_table)};

/* ---- catalogue ---- */

static const struct key catalogue_table[] = {
    {.name = "blowers", .type = KEY_ENTRIES, .entries = ENTRIES_BLOWERS, .group = &blower_keys,
     .absent = "none", .meaning = "Blowers, as under blowers."},
    {.name = "coolers", .type = KEY_ENTRIES, .entries = ENTRIES_COOLERS, .group = &cooler_keys,
     .absent = "none", .meaning = "Charge coolers, as under coolers."},
    {.name = "fuels", .type = KEY_ENTRIES, .entries = ENTRIES_FUELS, .group = &fuel_keys,
     .absent = "none", .meaning = "Fuels, as under fuels."},
    {.name = "injectors", .type = KEY_ENTRIES, .entries = ENTRIES_INJECTORS,
     .group = &injector_keys, .absent = "none", .meaning = "Injectors, as under injectors."},
    {.name = "pumps", .type = KEY_ENTRIES, .entries = ENTRIES_PUMPS, .group = &pump_keys,
     .absent = "none", .meaning = "Fuel pumps, as under pumps."},
};
const struct key_group catalogue_keys = {
    .title = "catalogue",
    .intro = "Parts that studies can name, usually kept in a file of their own and brought in by "
             "@include. All are checked, named or not.",
    .keys = catalogue_table, .count = COUNT(catalogue_table)};

/* ---- limits ---- */

static struct key limit_row(size_t index);
static const struct key_group limits_keys = {
    .title = "limits",
    .intro = "Bounds that a combination must keep at every site and engine speed: upper ones, and "
             "lower ones where the table says so. The own bounds of blowers, injectors, pumps, "
             "drive.belt, bypass and manifold act as well, and so does engine.knock.limit_ca50; the "
             "stricter counts. A limit whose quantity the study does not describe is an error.",
    .row = limit_row, .count = SHV_LIMIT_COUNT};

static struct key limit_row(size_t index)
{
    const struct shv_limit_info *info = shv_limit_info((enum shv_limit)index);
    bool may_curve = index == SHV_LIMIT_PHASING_RETARD;
    return (struct key){.name = info->name,
                        .type = KEY_QUANTITY,
                        .quantity = info->quantity,
                        .along = SHV_Q_ROTATION,
                        .place = PLACE(study.limit) + index * sizeof(double),
                        .or_curve = may_curve ? PLACE(study.retard_curve) : 0,
                        .min = info->least,
                        .above_min = true,
                        .max = info->most > 0.0 ? info->most : INFINITY,
                        .absent = "none",
                        .absent_value = info->at_least ? -INFINITY : INFINITY,
                        .meaning = info->meaning,
                        .note = info->at_least ? " A lower bound: at least this."
                                : may_curve    ? " One for all speeds, or a curve over them."
                                               : NULL,
                        .only = need_words(info->needs)};
}

/* ---- corrections ---- */

static struct key correction_row(size_t index);
static const struct key_group corrections_keys = {
    .title = "corrections",
    .intro = "What a fit to measurements found: how the kit's engine and blower depart from their "
             "description. They act after the tie to the stock torque curve, which they leave as it "
             "is, and not on the stock engine: docs/model.md, section 13. A sweep with corrections "
             "is a sweep of the corrected kits.",
    .row = correction_row, .count = SHV_CORRECT_IN_STUDY, .optional = true,
    .check = check_corrections};

static struct key correction_row(size_t index)
{
    const struct shv_correction_info *info = shv_correction_info((enum shv_correction)index);
    return (struct key){.name = info->name,
                        .type = KEY_QUANTITY,
                        .quantity = info->quantity,
                        .place = PLACE(study.corrections.value) + index * sizeof(double),
                        .min = info->least,
                        .max = info->most,
                        .fallback = info->neutral == 1.0 ? "1" : "0",
                        .meaning = info->meaning};
}

/* ---- tolerances ---- */

static const char *const distributions[] = {"normal", "uniform", "triangular", NULL};
#define DISTRIBUTION_ROW                                                                           \
    {.name = "distribution", .type = KEY_WORD,                                                     \
     .place = offsetof(struct shv_tolerance, distribution), .words = distributions,                \
     .absent = "normal with a standard_deviation, uniform with a half_width",                      \
     .meaning = "Normal, cut at 4 standard deviations; uniform or triangular within half_width "   \
                "either side."}
#define WIDTH_ROWS(kind, most)                                                                     \
    {.name = "standard_deviation", .type = KEY_QUANTITY, .quantity = kind,                         \
     .place = offsetof(struct shv_tolerance, standard_deviation), .min = 0, .above_min = true,     \
     .max = most, .absent = "none; either it or half_width is required", .absent_value = NAN,      \
     .meaning = "Of a normal distribution."},                                                      \
    {.name = "half_width", .type = KEY_QUANTITY, .quantity = kind,                                 \
     .place = offsetof(struct shv_tolerance, half_width), .min = 0, .above_min = true,             \
     .max = most, .absent = "none; either it or standard_deviation is required",                   \
     .absent_value = NAN, .meaning = "Of the other distributions, to either side."}
static const struct key number_tolerance[] = {DISTRIBUTION_ROW, WIDTH_ROWS(SHV_Q_NUMBER, 10)};
static const struct key temperature_tolerance[] = {DISTRIBUTION_ROW,
                                                   WIDTH_ROWS(SHV_Q_TEMPERATURE_DIFFERENCE, 40)};
static const struct key length_tolerance[] = {DISTRIBUTION_ROW, WIDTH_ROWS(SHV_Q_LENGTH, 5e-3)};
#define TOLERANCE_GROUP(what, table, kind)                                                         \
    {.title = "tolerance-" what,                                                                  \
     .intro = "How far a correction that is a " kind " may be off, around the study's own value.", \
     .keys = table, .count = COUNT(table), .optional = true, .check = check_tolerance}
static const struct key_group number_tolerance_keys = TOLERANCE_GROUP(
    "number", number_tolerance, "plain number");
static const struct key_group temperature_tolerance_keys = TOLERANCE_GROUP(
    "temperature", temperature_tolerance, "temperature difference");
static const struct key_group length_tolerance_keys = TOLERANCE_GROUP(
    "length", length_tolerance, "length");

static const char *correction_word(size_t index)
{
    return index < SHV_CORRECTION_COUNT ? shv_correction_info((enum shv_correction)index)->name : NULL;
}

/* Those that a measured quantity can show. */
static const char *correction_seen(size_t index)
{
    return shv_correction_is_seen((enum shv_correction)index) ? correction_word(index) : NULL;
}

static const char *channel_word(size_t index)
{
    return index < SHV_CHANNEL_COUNT ? shv_channel_info((enum shv_channel)index)->name : NULL;
}

static const struct key correlation_table[] = {
    {.name = "between", .type = KEY_WORD, .place = offsetof(struct shv_correlation, a),
     .word = correction_word, .required = true, .meaning = "Name of a tolerance."},
    {.name = "and", .type = KEY_WORD, .place = offsetof(struct shv_correlation, b),
     .word = correction_word, .required = true, .meaning = "Name of another one."},
    {.name = "value", .place = offsetof(struct shv_correlation, value), .min = -0.999, .max = 0.999,
     .required = true,
     .meaning = "Correlation of the two; of distributions that are not normal that of the normal "
                "numbers they are made from (Gaussian copula)."},
};
static const struct key_group correlation_keys = {
    .title = "tolerances.correlations", .intro = "A list of groups with these keys: tolerances that "
    "go together. All of them must be possible at the same time.",
    .keys = correlation_table, .count = COUNT(correlation_table),
    .size = sizeof(struct shv_correlation)};

static const struct key tolerance_table[] = {
    {.name = "correlations", .type = KEY_LIST, .group = &correlation_keys,
     .place = PLACE(study.tolerances.correlations),
     .count = PLACE(study.tolerances.correlation_count), .min = 0, .max = CORRELATIONS_MAX,
     .absent = "none", .meaning = "Tolerances that go together."},
    {.name = "samples", .type = KEY_INTEGER, .width = WIDTH_SIZE,
     .place = PLACE(study.tolerances.samples), .min = 64, .max = 65536, .fallback = "1024",
     .meaning = "Samples of each kit, a power of 2."},
    {.name = "seed", .type = KEY_INTEGER, .width = WIDTH_LONG,
     .place = PLACE(study.tolerances.seed), .min = 0, .max = 4294967295.0, .fallback = "1",
     .meaning = "Seed of the samples; the same seed gives the same result."},
    {.name = "hold", .place = PLACE(study.tolerances.hold), .min = 0.5, .max = 0.999,
     .absent = "not asked for", .absent_value = NAN,
     .meaning = "Probability with which all limits have to hold: the best kit that does is looked "
                "for as well."},
    {.name = "rows", .type = KEY_INTEGER, .width = WIDTH_SIZE,
     .place = PLACE(study.tolerances.rows), .min = 1, .max = 1000, .fallback = "10",
     .meaning = "Best rows of the ranking that are looked at."},
};

/* The keys above, then a group for each correction. */
static struct key tolerance_row(size_t index)
{
    if (index < COUNT(tolerance_table)) {
        return tolerance_table[index];
    }
    size_t which = index - COUNT(tolerance_table);
    const struct shv_correction_info *info = shv_correction_info((enum shv_correction)which);
    return (struct key){.name = info->name,
                        .type = KEY_GROUP,
                        .place = PLACE(study.tolerances.of) + which * sizeof(struct shv_tolerance),
                        .group = info->quantity == SHV_Q_LENGTH ? &length_tolerance_keys
                                 : info->quantity == SHV_Q_TEMPERATURE_DIFFERENCE
                                     ? &temperature_tolerance_keys
                                     : &number_tolerance_keys,
                        .absent = "no tolerance",
                        .meaning = info->meaning};
}

static const struct key_group tolerances_keys = {
    .title = "tolerances",
    .intro = "How far the kit as built, and the day, may be off from this study: what that does to "
             "the best kits, and with which probability they hold every limit (docs/model.md, "
             "section 13). Left out: not looked at.",
    .row = tolerance_row, .count = COUNT(tolerance_table) + SHV_CORRECTION_COUNT,
    .optional = true, .check = check_tolerances};

/* ---- objective, results, search ---- */

#define WEIGHT_MAX 1e9
#define WEIGHT(key, what)                                                                          \
    {.name = #key, .type = KEY_QUANTITY, .quantity = SHV_Q_NUMBER,                                 \
     .place = PLACE(study.weights.key), .min = 0, .max = WEIGHT_MAX, .fallback = "0",              \
     .meaning = what}
static const struct key weights_table[] = {
    WEIGHT(power, "What a kW of peak power counts for the kit."),
    WEIGHT(price, "What a unit of money counts against it."),
    WEIGHT(mass, "What a kg counts against it."),
    WEIGHT(charge_temperature, "What a K of the highest charge temperature counts against it."),
};
static const struct key_group weights_keys = {
    .title = "objective.weights", .intro = "The sum that kind = \"weighted\" looks for: one weight at least is "
    "above 0.",
    .keys = weights_table, .count = COUNT(weights_table), .optional = true,
    .check = check_weights};

static const char *const objective_kinds[] = {"peak_power",
                                              "mean_power",
                                              "torque",
                                              "least_price",
                                              "power_per_price",
                                              "least_charge_temperature",
                                              "weighted",
                                              NULL};
static const char *const over_sites[] = {"mean", "worst", NULL};
static const struct key objective_table[] = {
    {.name = "kind", .type = KEY_WORD, .place = PLACE(study.objective.kind),
     .words = objective_kinds, .fallback = "peak_power",
     .meaning = "Highest brake power of the rev range, mean brake power over a band, torque at one "
                "speed; or of the whole kit: lowest price, peak power over price, lowest of the "
                "highest charge temperatures, or the sum of weights. least_price and "
                "least_charge_temperature need limits.power; power_per_price needs a price above 0 "
                "of every kit."},
    {.name = "from", .quantity = SHV_Q_ROTATION, .place = PLACE(study.objective.from), .min = 0,
     .above_min = true, .max = 25000.0 / 60, .with = "kind", .with_word = SHV_OBJECTIVE_MEAN_POWER,
     .with_needed = true, .meaning = "Lower end of the band, inside the rev range."},
    {.name = "to", .quantity = SHV_Q_ROTATION, .place = PLACE(study.objective.to), .min = 0,
     .above_min = true, .max = 25000.0 / 60, .with = "kind", .with_word = SHV_OBJECTIVE_MEAN_POWER,
     .with_needed = true, .meaning = "Upper end of the band, inside the rev range."},
    {.name = "at", .quantity = SHV_Q_ROTATION, .place = PLACE(study.objective.at), .min = 0,
     .above_min = true, .max = 25000.0 / 60, .with = "kind", .with_word = SHV_OBJECTIVE_TORQUE,
     .with_needed = true, .meaning = "Engine speed for the torque, inside the rev range."},
    {.name = "over_sites", .type = KEY_WORD, .place = PLACE(study.objective.over_sites),
     .words = over_sites, .fallback = "mean",
     .meaning = "Weighted mean over the sites, or the worst of them."},
    {.name = "weights", .type = KEY_GROUP, .group = &weights_keys, .with = "kind",
     .with_word = SHV_OBJECTIVE_WEIGHTED, .with_needed = true,
     .meaning = "What power, price, mass and temperature count."},
};
static const struct key_group objective_keys = {
    .title = "objective",
    .intro = "What is looked for. Speeds named here become points of the rev range.",
    .keys = objective_table, .count = COUNT(objective_table), .check = check_objective};

#define TRADEOFF(member) offsetof(struct shv_tradeoff, member)
/* In the order of enum shv_trade. */
static const char *const trades[] = {"objective", "power", "torque", "price", "mass",
                                     "charge_temperature", "none", NULL};
static const struct key tradeoff_table[] = {
    {.name = "best", .type = KEY_WORD, .place = TRADEOFF(of[0]), .words = trades, .required = true,
     .meaning = "What is wanted: the study's objective, the highest peak power, the most torque at "
                "one speed, the lowest price, mass or highest charge temperature."},
    {.name = "against", .type = KEY_WORD, .place = TRADEOFF(of[1]), .words = trades,
     .required = true, .meaning = "What else is wanted."},
    {.name = "third", .type = KEY_WORD, .place = TRADEOFF(of[2]), .words = trades,
     .fallback = "none", .meaning = "And what besides."},
    {.name = "at", .quantity = SHV_Q_ROTATION, .place = TRADEOFF(at), .min = 0, .above_min = true,
     .max = 25000.0 / 60, .absent = "none; required with torque",
     .meaning = "Engine speed of the torque, inside the rev range, of which it becomes a point; "
                "only with torque."},
};
static const struct key_group tradeoff_keys = {
    .title = "tradeoffs",
    .intro = "Fronts of the feasible combinations, two or three things each: those of which no "
             "other is better in one of the things and no worse in the rest. A list of groups with "
             "these keys; each becomes a front in tradeoffs.csv.",
    .keys = tradeoff_table, .count = COUNT(tradeoff_table), .size = sizeof(struct shv_tradeoff)};

#define SERVE(member) offsetof(struct serve_draft, member)
static const struct key serve_table[] = {
    {.name = "fuel", .type = KEY_TEXT, .place = SERVE(fuel), .once = true, .required = true,
     .meaning = "Name of one of the study's fuels."},
    {.name = "weight", .place = SERVE(weight), .min = 0, .above_min = true, .max = 1e6,
     .fallback = "1", .meaning = "What its objective counts in the mean over the fuels served."},
};
static const struct key_group serve_keys = {
    .title = "serves",
    .intro = "Fuels that one and the same hardware has to do with: blower, pulleys, charge cooler, "
             "injectors, pump and belt stay, mixture and ignition margin follow the fuel in the "
             "tank. A list of groups with these keys; such kits are ranked in serving.csv.",
    .keys = serve_table, .count = COUNT(serve_table), .size = sizeof(struct serve_draft)};

static const char *const unit_systems[] = {"metric", "US", NULL};
static const struct key results_table[] = {
    {.name = "folder", .type = KEY_TEXT, .place = PLACE(study.results.folder),
     .absent = "results/ and the study file's name without its ending",
     .meaning = "Where results go, relative to the current folder."},
    {.name = "keep", .type = KEY_INTEGER, .width = WIDTH_SIZE, .place = PLACE(study.results.keep),
     .min = 1, .max = 1e6, .fallback = "1000", .meaning = "Rows of ranked.csv at the most."},
    {.name = "curves", .type = KEY_INTEGER, .width = WIDTH_SIZE,
     .place = PLACE(study.results.curves), .min = 0, .max = 1000, .fallback = "10",
     .meaning = "How many of the best rows get rev-range curves; not more than keep, nor is the "
                "default."},
    {.name = "units", .type = KEY_WORD, .place = PLACE(study.results.units), .words = unit_systems,
     .fallback = "metric", .meaning = "Units of pages and plots."},
    {.name = "exhaustive", .type = KEY_BOOL, .place = PLACE(study.results.exhaustive),
     .fallback = "false",
     .meaning = "Whether all of every combination is evaluated, so that rejected.csv counts every "
                "limit that each breaks; else what can change neither ranking nor first reason is "
                "skipped, and those counts are at least."},
    {.name = "site_shortfalls", .type = KEY_BOOL, .place = PLACE(study.results.site_shortfalls),
     .fallback = "false",
     .meaning = "Whether sites.csv is written: the best kit for each site alone, and by how much "
                "one kit everywhere falls short of it there. Takes about as long as the sweep once "
                "more."},
    {.name = "report", .type = KEY_BOOL, .place = PLACE(study.results.report), .fallback = "true",
     .meaning = "Whether a run ends with plots and report.html."},
};
static const struct key_renamed results_renamed[] = {{"site_prices", "site_shortfalls", false},
                                                     {NULL, NULL, false}};
static const struct key_group results_keys = {
    .title = "results", .intro = "What is written, and where.", .keys = results_table,
    .count = COUNT(results_table), .renamed = results_renamed, .check = check_results};

static const struct key search_table[] = {
    {.name = "enabled", .type = KEY_BOOL, .place = PLACE(study.search.enabled), .fallback = "true",
     .meaning = "Whether the best continuous ratio is looked for."},
};
static const struct key_group search_keys = {
    .title = "search", .intro = "The continuous search beside the sweep of real parts.",
    .keys = search_table, .count = COUNT(search_table)};

/* ---- measurements ---- */

#define COLUMN(member) offsetof(struct shv_measured_column, member)
static const struct key column_table[] = {
    {.name = "channel", .type = KEY_WORD, .place = COLUMN(channel), .once = true,
     .word = channel_word, .required = true,
     .meaning = "What the column holds. Which of them a log needs and may have goes by its kind: "
                "docs/fit.md."},
    {.name = "column", .type = KEY_TEXT, .place = COLUMN(column), .required = true,
     .meaning = "Its title in the log's header, without the unit in brackets behind it."},
    {.name = "unit", .type = KEY_TEXT, .place = COLUMN(unit), .absent = "that in the log",
     .meaning = "Unit of its numbers; needed where the log does not say it. A speed says it by a "
                "title that ends with its unit, as \"rpm\"."},
    {.name = "error", .type = KEY_ERROR, .place = COLUMN(error), .absent = "0",
     .meaning = "Standard deviation of a reading; only of what is measured. Without error and "
                "share that of docs/fit.md."},
    {.name = "share", .place = COLUMN(share), .min = 0, .max = 1, .fallback = "0",
     .meaning = "The same as a share of the reading; both add up by their squares."},
};
static const struct key_group column_keys = {
    .title = "fit.logs.columns", .intro = "A column of a log.", .keys = column_table,
    .count = COUNT(column_table), .size = sizeof(struct shv_measured_column)};

#define LOG(member) offsetof(struct log_draft, member)
static const struct key log_table[] = {
    {.name = "name", .type = KEY_TEXT, .place = LOG(log.name), .once = true, .required = true,
     .meaning = "Name of the log, unique: sheave fit --log NAME=FILE."},
    {.name = "kind", .type = KEY_WORD, .place = LOG(log.kind), .words = shv_log_kind_names,
     .fallback = "kit",
     .meaning = "What was measured: the engine with one of the study's blowers, the engine as it "
                "left the factory (with stock fuel and lambda), or a blower on a bench."},
    {.name = "columns", .type = KEY_LIST, .place = LOG(log.column), .count = LOG(log.columns),
     .group = &column_keys, .min = 2, .max = FIT_COLUMNS_MAX, .required = true,
     .meaning = "The columns that are read."},
    {.name = "throttle_least", .place = LOG(log.throttle_least), .min = 0, .max = 1,
     .fallback = "95 %",
     .meaning = "Rows with less throttle are dropped; only with a column of that channel."},
    {.name = "fall", .quantity = SHV_Q_ROTATION, .place = LOG(log.fall), .min = 0, .max = 100,
     .fallback = "100 rpm",
     .meaning = "A run ends when engine speed falls by this, and the next begins when it has risen "
                "by this; rows between are dropped. 0 takes rows in any order."},
    {.name = "bin", .quantity = SHV_Q_ROTATION, .place = LOG(log.bin), .min = 0, .max = 100,
     .fallback = "0 rpm",
     .meaning = "Rows of a run in one bin of this width become their mean; 0 leaves them as they "
                "are."},
    {.name = "power_share", .place = LOG(log.power_share), .min = 0.3, .max = 1.2, .fallback = "1",
     .meaning = "Share of brake power and torque that the dynamometer shows, as behind a gearbox."},
    {.name = "site", .type = KEY_TEXT, .place = LOG(site),
     .absent = "the first of sites; of the stock engine the conditions of engine.stock",
     .meaning = "Site whose air counts where neither columns nor the next keys say otherwise."},
    {.name = "altitude", .quantity = SHV_Q_LENGTH, .place = LOG(altitude), .min = -400, .max = 9000,
     .absent = "none", .absent_value = NAN,
     .meaning = "Altitude of the dynamometer or bench, for the pressure of the standard "
                "atmosphere."},
    {.name = "pressure", .quantity = SHV_Q_PRESSURE_ABSOLUTE, .place = LOG(pressure), .min = 30e3,
     .max = 120e3, .absent = "that of the site", .absent_value = NAN,
     .meaning = "Ambient pressure; not together with altitude."},
    {.name = "temperature", .quantity = SHV_Q_TEMPERATURE, .place = LOG(temperature), .min = 220,
     .max = 340, .absent = "that of the site", .absent_value = NAN,
     .meaning = "Ambient temperature."},
    {.name = "humidity", .place = LOG(humidity), .min = 0, .max = 1, .absent = "that of the site",
     .absent_value = NAN, .meaning = "Relative humidity."},
    {.name = "blower", .type = KEY_TEXT, .place = LOG(blower), .absent = "the only one",
     .meaning = "Which of the study's blowers stood there; not of the stock engine."},
    {.name = "crank_pulley", .quantity = SHV_Q_LENGTH, .place = LOG(crank), .min = 0.01, .max = 1,
     .absent = "the only one", .absent_value = NAN,
     .meaning = "Effective diameter; this and what follows only of a kit."},
    {.name = "blower_pulley", .quantity = SHV_Q_LENGTH, .place = LOG(pulley), .min = 0.01, .max = 1,
     .absent = "the only one", .absent_value = NAN, .meaning = "Effective diameter."},
    {.name = "ratio", .place = LOG(ratio), .min = 0.05, .max = 20, .absent = "from the pulleys",
     .absent_value = NAN,
     .meaning = "Turns of the blower's pulley for one of the crank, in place of pulleys."},
    {.name = "cooler", .type = KEY_TEXT, .place = LOG(cooler), .absent = "none",
     .meaning = "Which of the study's charge coolers, or \"none\"."},
    {.name = "effectiveness", .place = LOG(effectiveness), .min = 0.05, .max = 0.98,
     .absent = "the only one", .absent_value = NAN, .meaning = "Its effectiveness at rated flow."},
    {.name = "fuel", .type = KEY_TEXT, .place = LOG(fuel), .absent = "the only one",
     .meaning = "Which of the study's fuels."},
    {.name = "lambda", .place = LOG(lambda), .min = SHV_LAMBDA_LEAST, .max = SHV_LAMBDA_MOST,
     .absent = "the only one", .absent_value = NAN, .meaning = "Excess-air ratio."},
    {.name = "afr", .place = LOG(afr), .min = 3, .max = 25, .absent = "by lambda",
     .absent_value = NAN,
     .meaning = "Air-fuel ratio by mass of that fuel, in the place of lambda."},
    {.name = "ignition_margin", .quantity = SHV_Q_ANGLE, .place = LOG(ignition_margin), .min = 0,
     .max = 20, .absent = "the only one", .absent_value = NAN,
     .meaning = "How much later than knock allows ignition was held."},
};
const struct key_group log_keys = {
    .title = "fit.logs", .intro = "A log, or several of the same make: what its columns are and what "
    "stood on the dynamometer.", .keys = log_table, .count = COUNT(log_table),
    .size = sizeof(struct log_draft)};

#define FREE(member) offsetof(struct shv_freed, member)
static const struct key free_table[] = {
    {.name = "correction", .type = KEY_WORD, .place = FREE(correction), .once = true,
     .word = correction_seen, .required = true,
     .meaning = "One of the corrections that a measured quantity can show: all but belt_friction "
                "and injector_flow."},
    {.name = "from", .place = FREE(from), .min = -100, .max = 100,
     .absent = "the least that is accepted of it", .absent_value = NAN, .meaning = "Lower bound."},
    {.name = "to", .place = FREE(to), .min = -100, .max = 100,
     .absent = "the most that is accepted of it", .absent_value = NAN,
     .meaning = "Upper bound, above from."},
    {.name = "prior", .place = FREE(prior), .min = -100, .max = 100, .absent = "no correction",
     .absent_value = NAN,
     .meaning = "What it is taken to be before anything is measured; only with prior_deviation."},
    {.name = "prior_deviation", .place = FREE(prior_deviation), .min = 0, .above_min = true,
     .max = 100, .absent = "nothing is known before", .absent_value = INFINITY,
     .meaning = "Standard deviation of that."},
};
static const struct key_group free_keys = {
    .title = "fit.free", .intro = "A correction that the fit may change.", .keys = free_table,
    .count = COUNT(free_table), .size = sizeof(struct shv_freed)};

static const struct key fit_table[] = {
    {.name = "logs", .type = KEY_LIST, .place = PLACE(logs), .count = PLACE(log_count),
     .group = &log_keys, .min = 1, .max = FIT_LOGS_MAX, .required = true,
     .meaning = "The logs that may be given."},
    {.name = "free", .type = KEY_LIST, .place = PLACE(study.fit.freed),
     .count = PLACE(study.fit.free), .group = &free_keys, .min = 1, .max = FIT_FREE_MAX,
     .required = true, .meaning = "What is fitted."},
    {.name = "loss_threshold", .place = PLACE(study.fit.loss_threshold), .min = 0.5, .max = 1e9,
     .fallback = "2",
     .meaning = "Standard deviations beyond which a residual counts by its size, not by its square "
                "(Huber), so that one bad row does not rule."},
    {.name = "starts", .type = KEY_INTEGER, .width = WIDTH_SIZE, .place = PLACE(study.fit.starts),
     .min = 1, .max = 1000, .fallback = "6",
     .meaning = "Searches: one from the study's corrections, the others spread over the bounds."},
    {.name = "seed", .type = KEY_INTEGER, .width = WIDTH_LONG, .place = PLACE(study.fit.seed),
     .min = 0, .max = 4294967295.0, .fallback = "1",
     .meaning = "Seed of the starts; the same seed gives the same result."},
};
static const struct key_group fit_keys = {
    .title = "fit", .intro = "Measurements, and what may be changed to meet them: sheave fit, "
    "docs/fit.md.", .keys = fit_table, .count = COUNT(fit_table), .optional = true,
    .check = check_fit};

/* ---- root ---- */

#define CORRECTIONS_ROW                                                                            \
    {.name = "corrections", .type = KEY_GROUP, .group = &corrections_keys, .absent = "none",       \
     .meaning = "How the kit departs from its description."}
#define TOLERANCES_ROW                                                                             \
    {.name = "tolerances", .type = KEY_GROUP, .group = &tolerances_keys, .absent = "none",         \
     .meaning = "How far kit and day may be off."}
/* What a fit writes, to be included in a study. */
static const struct key fitted_table[] = {CORRECTIONS_ROW, TOLERANCES_ROW};
const struct key_group fitted_keys = {
    .title = "fitted", .keys = fitted_table, .count = COUNT(fitted_table)};

static const struct key study_table[] = {
    {.name = "title", .type = KEY_TEXT, .place = PLACE(study.title), .required = true,
     .meaning = "Title of pages and plots."},
    {.name = "currency", .type = KEY_TEXT, .place = PLACE(study.currency), .absent = "no word",
     .meaning = "Word for the money that prices are in, such as \"EUR\"."},
    {.name = "air", .type = KEY_GROUP, .group = &air_keys, .meaning = "The gas."},
    {.name = "engine", .type = KEY_GROUP, .group = &engine_keys, .required = true,
     .meaning = "The engine."},
    {.name = "sites", .type = KEY_ENTRIES, .entries = ENTRIES_SITES, .group = &site_keys,
     .required = true, .meaning = "The places the kit has to work at."},
    {.name = "intake", .type = KEY_GROUP, .place = PLACE(study.intake), .group = &kit_intake_keys,
     .meaning = "Loss of the kit's intake."},
    {.name = "drive", .type = KEY_GROUP, .group = &drive_keys, .required = true,
     .meaning = "The belt drive and its pulleys."},
    {.name = "bypass", .type = KEY_GROUP, .group = &bypass_keys, .meaning = "The bypass valve."},
    {.name = "manifold", .type = KEY_GROUP, .group = &manifold_keys, .meaning = "The manifold."},
    {.name = "kit", .type = KEY_GROUP, .group = &kit_keys,
     .meaning = "Price and mass of what is the same in every kit."},
    {.name = "use", .type = KEY_GROUP, .group = &use_keys, .meaning = "How the engine is used."},
    {.name = "catalogue", .type = KEY_GROUP, .group = &catalogue_keys,
     .meaning = "Parts that can be named."},
    {.name = "blowers", .type = KEY_ENTRIES, .entries = ENTRIES_BLOWERS, .group = &blower_keys,
     .by_name = true, .required = true, .meaning = "The blowers to choose from."},
    {.name = "coolers", .type = KEY_ENTRIES, .entries = ENTRIES_COOLERS, .group = &cooler_keys,
     .by_name = true, .absent = "no cooler",
     .meaning = "The charge coolers to choose from, besides having none."},
    {.name = "fuels", .type = KEY_ENTRIES, .entries = ENTRIES_FUELS, .group = &fuel_keys,
     .by_name = true, .required = true, .meaning = "The fuels to choose from."},
    {.name = "injectors", .type = KEY_ENTRIES, .entries = ENTRIES_INJECTORS,
     .group = &injector_keys, .by_name = true, .absent = "without limit",
     .meaning = "The injectors to choose from."},
    {.name = "pumps", .type = KEY_ENTRIES, .entries = ENTRIES_PUMPS, .group = &pump_keys,
     .by_name = true, .absent = "without limit", .meaning = "The fuel pumps to choose from."},
    {.name = "fuel_system", .type = KEY_GROUP, .group = &fuel_system_keys,
     .meaning = "The rail between pump and injectors."},
    {.name = "mixture", .type = KEY_GROUP, .group = &mixture_keys, .meaning = "The mixture."},
    {.name = "limits", .type = KEY_GROUP, .group = &limits_keys, .meaning = "The limits."},
    CORRECTIONS_ROW,
    TOLERANCES_ROW,
    {.name = "objective", .type = KEY_GROUP, .group = &objective_keys,
     .meaning = "What is looked for."},
    {.name = "tradeoffs", .type = KEY_LIST, .place = PLACE(study.tradeoffs),
     .count = PLACE(study.tradeoff_count), .group = &tradeoff_keys, .min = 1,
     .max = SHV_TRADEOFFS_MAX, .absent = "none", .meaning = "What is traded off."},
    {.name = "serves", .type = KEY_LIST, .place = PLACE(serves), .count = PLACE(serve_count),
     .group = &serve_keys, .min = 2, .max = SHV_SERVES_MAX, .absent = "every fuel by itself",
     .meaning = "Fuels that one kit has to do with."},
    {.name = "results", .type = KEY_GROUP, .group = &results_keys, .meaning = "What is written."},
    {.name = "search", .type = KEY_GROUP, .group = &search_keys,
     .meaning = "The continuous search."},
    {.name = "fit", .type = KEY_GROUP, .group = &fit_keys, .absent = "none",
     .meaning = "Measurements to tie the model to."},
};
const struct key_group study_keys = {
    .title = "top-level", .intro = "The keys at the top level.", .keys = study_table,
    .count = COUNT(study_table), .check = check_study};

static const struct key range_table[] = {
    {.name = "from", .place = offsetof(struct stepped_range, from), .required = true,
     .meaning = "First value."},
    {.name = "to", .place = offsetof(struct stepped_range, to), .required = true,
     .meaning = "Last value, not below from; a value only when it falls on a step."},
    {.name = "step", .place = offsetof(struct stepped_range, step), .min = 0, .above_min = true,
     .max = INFINITY, .required = true, .meaning = "Distance of the values."},
};
const struct key_group range_keys = {
    .title = "{ from, to, step }",
    .intro = "Evenly spaced values, for a key that takes a list of choices; each in the kind and unit "
             "of that key.",
    .keys = range_table, .count = COUNT(range_table)};

/* clang-format on */

/* ---- looking up and describing ---- */

struct key key_along(const struct key *key)
{
    struct key speed = {
        .type = KEY_QUANTITY, .quantity = SHV_Q_ROTATION, .above_min = true, .max = 30000.0 / 60.0};
    struct key pressure = {
        .type = KEY_QUANTITY, .quantity = SHV_Q_PRESSURE_DIFFERENCE, .max = 50e6};
    return key->along == SHV_Q_ROTATION ? speed : pressure;
}

/* Bounds are given in SI and may be met through another unit: rounding is let pass. */
bool key_in_range(const struct key *key, double value)
{
    if (key->min == 0.0 && key->max == 0.0) {
        return true;
    }
    double low = key->min - 1e-12 * fabs(key->min), high = key->max + 1e-12 * fabs(key->max);
    return key->above_min ? value > key->min && value <= high : value >= low && value <= high;
}

struct key key_at(const struct key_group *group, size_t index)
{
    return group->keys != NULL ? group->keys[index] : group->row(index);
}

const char *key_word(const struct key *key, size_t index)
{
    return key->word != NULL ? key->word(index) : key->words[index];
}

const char *key_only(const struct key_group *group, const struct key *key, char text[KEY_ONLY_MAX])
{
    struct key other = key_at(group, key_find(group, key->with));
    snprintf(text, KEY_ONLY_MAX, "%s = \"%s\"", key->with,
             key_word(&other, (size_t)key->with_word));
    return text;
}

size_t key_find(const struct key_group *group, const char *name)
{
    size_t index = 0;
    while (index < group->count && strcmp(key_at(group, index).name, name) != 0) {
        index++;
    }
    return index;
}

static void describe_words(const struct key *key, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; key_word(key, i) != NULL && used < size; i++) {
        const char *between = i == 0 ? "" : key_word(key, i + 1) == NULL ? " or " : ", ";
        int length = snprintf(text + used, size - used, "%s\"%s\"", between, key_word(key, i));
        used += length > 0 ? (size_t)length : 0;
    }
}

static const char *pairs_of(enum shv_quantity along)
{
    return along == SHV_Q_ROTATION
               ? "a list of pairs ((speed, value), ...), where speed is a speed of rotation "
                 "such as \"1500 rpm\" and value is "
               : "a list of pairs ((pressure, value), ...), where pressure is a pressure "
                 "difference such as \"300 kPa\" and value is ";
}

void key_accepts(const struct key *key, char *text, size_t size)
{
    switch (key->type) {
    case KEY_QUANTITY:
        snprintf(text, size, "%s", shv_quantity_accepts(key->quantity));
        return;
    case KEY_ERROR:
        snprintf(text, size, "a number with the unit of what the column holds");
        return;
    case KEY_INTEGER:
        snprintf(text, size, "a whole number");
        return;
    case KEY_BOOL:
        snprintf(text, size, "true or false");
        return;
    case KEY_TEXT:
        snprintf(text, size, "a text in quotes");
        return;
    case KEY_WORD:
        describe_words(key, text, size);
        return;
    case KEY_PAIRS:
        snprintf(text, size, "%s%s", pairs_of(key->along), shv_quantity_accepts(key->quantity));
        return;
    case KEY_DIMENSION:
        snprintf(text, size,
                 "one value, a list of values or { from, to, step }, where each is %s%s%s",
                 shv_quantity_accepts(key->quantity), key->other == SHV_Q_NUMBER ? "" : ", or ",
                 key->other == SHV_Q_NUMBER ? "" : shv_quantity_accepts(key->other));
        return;
    case KEY_SALES:
        snprintf(text, size,
                 "a number, { low, likely, high }, or a list with a number for each of scenarios");
        return;
    case KEY_GROUP:
        snprintf(text, size, "a group { ... }");
        return;
    case KEY_LIST:
        snprintf(text, size, "a list ( ... ) of groups { ... }");
        return;
    case KEY_ENTRIES:
        snprintf(text, size,
                 key->by_name ? "a list ( ... ) of groups { ... } and names in quotes"
                              : "a list ( ... ) of groups { ... }");
        return;
    }
}

void key_range(const struct key *key, char *text, size_t size)
{
    double scale = key->type != KEY_INTEGER ? 1.0 / shv_units_plain(key->quantity, 1.0) : 1.0;
    double min = key->min * scale, max = key->max * scale;
    const char *unit = key->type == KEY_INTEGER ? "" : shv_quantity_unit(key->quantity);
    const char *gap = unit[0] == '\0' ? "" : " ";
    bool bounded = key->type == KEY_INTEGER || key->type == KEY_QUANTITY ||
                   key->type == KEY_PAIRS || key->type == KEY_DIMENSION || key->type == KEY_SALES;
    text[0] = '\0';
    if (!bounded || (key->min == 0.0 && key->max == 0.0)) {
        return;
    }
    if (isinf(max)) {
        snprintf(text, size, "%s %.10g%s%s", key->above_min ? "more than" : "at least", min, gap,
                 unit);
    } else if (key->above_min) {
        snprintf(text, size, "more than %.10g, up to %.10g%s%s", min, max, gap, unit);
    } else {
        snprintf(text, size, "%.10g to %.10g%s%s", min, max, gap, unit);
    }
}
