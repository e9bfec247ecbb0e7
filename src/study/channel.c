/* The table of channels (include/sheave/measured.h). */
#include "sheave/measured.h"

#define CONDITION SHV_CHANNEL_CONDITION
#define MEASURED SHV_CHANNEL_MEASURED
#define NOT SHV_CHANNEL_NOT
#define UNUSED SHV_CHANNEL_UNUSED

const char *const shv_log_kind_names[SHV_LOG_KINDS + 1] = {"kit", "stock", "bench", NULL};

const char *const shv_channel_names[SHV_CHANNEL_COUNT + 1] = {
    "run",
    "speed",
    "throttle",
    "ambient_pressure",
    "ambient_temperature",
    "humidity",
    "rotor_speed",
    "inlet_pressure",
    "inlet_temperature",
    "outlet_pressure",
    "pressure_ratio",
    "manifold_pressure",
    "boost",
    "discharge_temperature",
    "charge_temperature",
    "coolant_temperature",
    "air_flow",
    "fuel_flow",
    "torque",
    "power",
    "power_j1349",
    "power_iso1585",
    "blower_power",
    "exhaust_pressure",
    "exhaust_temperature",
    "ca50",
    "peak_pressure",
    "lambda",
    "air_fuel_ratio",
    "ignition",
    NULL,
};

/* Uses for a kit, the stock engine and a bench. */
static const struct shv_channel_info table[SHV_CHANNEL_COUNT] = {
    [SHV_CHANNEL_RUN] = {"run", SHV_Q_NUMBER, {CONDITION, CONDITION, CONDITION}, 0, 0, false},
    [SHV_CHANNEL_SPEED] =
        {"engine speed", SHV_Q_ROTATION, {CONDITION, CONDITION, NOT}, 0, 0, false},
    [SHV_CHANNEL_THROTTLE] = {"throttle", SHV_Q_NUMBER, {CONDITION, CONDITION, NOT}, 0, 0, false},
    [SHV_CHANNEL_AMBIENT_PRESSURE] =
        {"ambient pressure", SHV_Q_PRESSURE_ABSOLUTE, {CONDITION, CONDITION, NOT}, 0, 0, false},
    [SHV_CHANNEL_AMBIENT_TEMPERATURE] =
        {"ambient temperature", SHV_Q_TEMPERATURE, {CONDITION, CONDITION, NOT}, 0, 0, false},
    [SHV_CHANNEL_HUMIDITY] =
        {"humidity", SHV_Q_NUMBER, {CONDITION, CONDITION, CONDITION}, 0, 0, false},
    [SHV_CHANNEL_ROTOR_SPEED] =
        {"rotor speed", SHV_Q_ROTATION, {MEASURED, NOT, CONDITION}, 0, 0.003, false},
    [SHV_CHANNEL_INLET_PRESSURE] =
        {"inlet pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, NOT, CONDITION}, 500, 0, false},
    [SHV_CHANNEL_INLET_TEMPERATURE] =
        {"inlet temperature", SHV_Q_TEMPERATURE, {NOT, NOT, CONDITION}, 0, 0, false},
    [SHV_CHANNEL_OUTLET_PRESSURE] =
        {"outlet pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, NOT, CONDITION}, 1000, 0, false},
    [SHV_CHANNEL_PRESSURE_RATIO] =
        {"pressure ratio", SHV_Q_NUMBER, {NOT, NOT, CONDITION}, 0, 0, false},
    [SHV_CHANNEL_MANIFOLD_PRESSURE] =
        {"manifold pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, MEASURED, NOT}, 1000, 0, false},
    [SHV_CHANNEL_BOOST] =
        {"boost", SHV_Q_PRESSURE_GAUGE, {MEASURED, NOT, CONDITION}, 1000, 0, false},
    [SHV_CHANNEL_DISCHARGE_TEMPERATURE] =
        {"discharge temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, MEASURED}, 3, 0, false},
    [SHV_CHANNEL_CHARGE_TEMPERATURE] =
        {"charge temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, NOT}, 2, 0, false},
    [SHV_CHANNEL_COOLANT_TEMPERATURE] =
        {"coolant temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, NOT}, 2, 0, false},
    [SHV_CHANNEL_AIR_FLOW] =
        {"air flow", SHV_Q_AIR_FLOW, {MEASURED, MEASURED, MEASURED}, 0, 0.02, false},
    [SHV_CHANNEL_FUEL_FLOW] =
        {"fuel flow", SHV_Q_MASS_FLOW, {MEASURED, MEASURED, NOT}, 0, 0.02, false},
    [SHV_CHANNEL_TORQUE] =
        {"brake torque", SHV_Q_TORQUE, {MEASURED, MEASURED, NOT}, 0, 0.015, false},
    [SHV_CHANNEL_POWER] = {"brake power", SHV_Q_POWER, {MEASURED, MEASURED, NOT}, 0, 0.015, false},
    [SHV_CHANNEL_POWER_J1349] = {"brake power corrected to SAE J1349",
                                 SHV_Q_POWER,
                                 {MEASURED, MEASURED, NOT},
                                 0,
                                 0.015,
                                 false},
    [SHV_CHANNEL_POWER_ISO1585] = {"brake power corrected to ISO 1585",
                                   SHV_Q_POWER,
                                   {MEASURED, MEASURED, NOT},
                                   0,
                                   0.015,
                                   false},
    [SHV_CHANNEL_BLOWER_POWER] =
        {"power at the rotor shaft", SHV_Q_POWER, {MEASURED, NOT, MEASURED}, 0, 0.02, false},
    [SHV_CHANNEL_EXHAUST_PRESSURE] =
        {"exhaust pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, MEASURED, NOT}, 2000, 0, false},
    [SHV_CHANNEL_EXHAUST_TEMPERATURE] =
        {"exhaust temperature", SHV_Q_TEMPERATURE, {MEASURED, MEASURED, NOT}, 25, 0, true},
    [SHV_CHANNEL_CA50] = {"50 % burn angle", SHV_Q_ANGLE, {MEASURED, MEASURED, NOT}, 1, 0, true},
    [SHV_CHANNEL_PEAK_PRESSURE] = {"peak cylinder pressure",
                                   SHV_Q_PRESSURE_ABSOLUTE,
                                   {MEASURED, MEASURED, NOT},
                                   0,
                                   0.03,
                                   true},
    /* The stock engine keeps the lambda of its description, which the tie is made at. */
    [SHV_CHANNEL_LAMBDA] = {"lambda", SHV_Q_NUMBER, {CONDITION, UNUSED, NOT}, 0, 0, false},
    [SHV_CHANNEL_AIR_FUEL_RATIO] =
        {"air-fuel ratio", SHV_Q_NUMBER, {CONDITION, UNUSED, NOT}, 0, 0, false},
    /* The model places the burn, not the spark. */
    [SHV_CHANNEL_IGNITION] = {"ignition advance", SHV_Q_ANGLE, {UNUSED, UNUSED, NOT}, 0, 0, false},
};

const struct shv_channel_info *shv_channel_info(enum shv_channel channel)
{
    return &table[channel];
}

bool shv_correction_is_seen(enum shv_correction correction)
{
    return correction < SHV_CORRECT_IN_STUDY && correction != SHV_CORRECT_BELT_FRICTION &&
           correction != SHV_CORRECT_INJECTOR_FLOW;
}
