/* The table of channels (include/sheave/measured.h). */
#include "sheave/measured.h"

#define CONDITION SHV_CHANNEL_CONDITION
#define MEASURED SHV_CHANNEL_MEASURED
#define NOT SHV_CHANNEL_NOT
#define UNUSED SHV_CHANNEL_UNUSED

const char *const shv_log_kind_names[SHV_LOG_KINDS + 1] = {"kit", "stock", "bench", NULL};

/* Uses for a kit, the stock engine and a bench. */
/* clang-format off */

static const struct shv_channel_info table[SHV_CHANNEL_COUNT] = {
    [SHV_CHANNEL_RUN] = {"run", "run", SHV_Q_NUMBER, {CONDITION, CONDITION, CONDITION}, .error = 0},
    [SHV_CHANNEL_SPEED] = {"speed", "engine speed", SHV_Q_ROTATION, {CONDITION, CONDITION, NOT}, .error = 0},
    [SHV_CHANNEL_THROTTLE] = {"throttle", "throttle", SHV_Q_NUMBER, {CONDITION, CONDITION, NOT}, .error = 0},
    [SHV_CHANNEL_AMBIENT_PRESSURE] =
        {"ambient_pressure", "ambient pressure", SHV_Q_PRESSURE_ABSOLUTE, {CONDITION, CONDITION, NOT}, .error = 0},
    [SHV_CHANNEL_AMBIENT_TEMPERATURE] =
        {"ambient_temperature", "ambient temperature", SHV_Q_TEMPERATURE, {CONDITION, CONDITION, NOT}, .error = 0},
    [SHV_CHANNEL_HUMIDITY] =
        {"humidity", "humidity", SHV_Q_NUMBER, {CONDITION, CONDITION, CONDITION}, .error = 0},
    [SHV_CHANNEL_ROTOR_SPEED] =
        {"rotor_speed", "rotor speed", SHV_Q_ROTATION, {MEASURED, NOT, CONDITION}, .share = 0.003},
    [SHV_CHANNEL_INLET_PRESSURE] =
        {"inlet_pressure", "inlet pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, NOT, CONDITION},
         .error = 500},
    [SHV_CHANNEL_INLET_TEMPERATURE] =
        {"inlet_temperature", "inlet temperature", SHV_Q_TEMPERATURE, {NOT, NOT, CONDITION}, .error = 0},
    [SHV_CHANNEL_OUTLET_PRESSURE] =
        {"outlet_pressure", "outlet pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, NOT, CONDITION},
         .error = 1000},
    [SHV_CHANNEL_PRESSURE_RATIO] =
        {"pressure_ratio", "pressure ratio", SHV_Q_NUMBER, {NOT, NOT, CONDITION}, .error = 0},
    [SHV_CHANNEL_MANIFOLD_PRESSURE] =
        {"manifold_pressure", "manifold pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, MEASURED, NOT},
         .error = 1000},
    [SHV_CHANNEL_BOOST] =
        {"boost", "boost", SHV_Q_PRESSURE_GAUGE, {MEASURED, NOT, CONDITION}, .error = 1000},
    [SHV_CHANNEL_DISCHARGE_TEMPERATURE] =
        {"discharge_temperature", "discharge temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, MEASURED},
         .error = 3},
    [SHV_CHANNEL_CHARGE_TEMPERATURE] =
        {"charge_temperature", "charge temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, NOT},
         .error = 2},
    [SHV_CHANNEL_COOLANT_TEMPERATURE] =
        {"coolant_temperature", "coolant temperature", SHV_Q_TEMPERATURE, {MEASURED, NOT, NOT},
         .error = 2},
    [SHV_CHANNEL_AIR_FLOW] =
        {"air_flow", "air flow", SHV_Q_AIR_FLOW, {MEASURED, MEASURED, MEASURED}, .share = 0.02},
    [SHV_CHANNEL_FUEL_FLOW] =
        {"fuel_flow", "fuel flow", SHV_Q_MASS_FLOW, {MEASURED, MEASURED, NOT}, .share = 0.02},
    [SHV_CHANNEL_TORQUE] =
        {"torque", "brake torque", SHV_Q_TORQUE, {MEASURED, MEASURED, NOT}, .share = 0.015},
    [SHV_CHANNEL_POWER] =
        {"power", "brake power", SHV_Q_POWER, {MEASURED, MEASURED, NOT}, .share = 0.015},
    [SHV_CHANNEL_POWER_J1349] =
        {"power_j1349", "brake power corrected to SAE J1349", SHV_Q_POWER, {MEASURED, MEASURED, NOT},
         .share = 0.015},
    [SHV_CHANNEL_POWER_ISO1585] =
        {"power_iso1585", "brake power corrected to ISO 1585", SHV_Q_POWER, {MEASURED, MEASURED, NOT},
         .share = 0.015},
    [SHV_CHANNEL_BLOWER_POWER] =
        {"blower_power", "power at the rotor shaft", SHV_Q_POWER, {MEASURED, NOT, MEASURED},
         .share = 0.02},
    [SHV_CHANNEL_EXHAUST_PRESSURE] =
        {"exhaust_pressure", "exhaust pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, MEASURED, NOT},
         .error = 2000},
    [SHV_CHANNEL_EXHAUST_TEMPERATURE] =
        {"exhaust_temperature", "exhaust temperature", SHV_Q_TEMPERATURE, {MEASURED, MEASURED, NOT},
         .error = 25, .of_cycle = true},
    [SHV_CHANNEL_CA50] =
        {"ca50", "50 % burn angle", SHV_Q_ANGLE, {MEASURED, MEASURED, NOT},
         .error = 1, .of_cycle = true},
    [SHV_CHANNEL_PEAK_PRESSURE] =
        {"peak_pressure", "peak cylinder pressure", SHV_Q_PRESSURE_ABSOLUTE, {MEASURED, MEASURED, NOT},
         .share = 0.03, .of_cycle = true},
    /* The stock engine keeps the lambda of its description, which the tie is made at. */
    [SHV_CHANNEL_LAMBDA] = {"lambda", "lambda", SHV_Q_NUMBER, {CONDITION, UNUSED, NOT}, .error = 0},
    [SHV_CHANNEL_AIR_FUEL_RATIO] =
        {"air_fuel_ratio", "air-fuel ratio", SHV_Q_NUMBER, {CONDITION, UNUSED, NOT}, .error = 0},
    /* The model places the burn, not the spark. */
    [SHV_CHANNEL_IGNITION] = {"ignition", "ignition advance", SHV_Q_ANGLE, {UNUSED, UNUSED, NOT}, .error = 0},
};

/* clang-format on */

const struct shv_channel_info *shv_channel_info(enum shv_channel channel)
{
    return &table[channel];
}

bool shv_correction_is_seen(enum shv_correction correction)
{
    return correction < SHV_CORRECT_IN_STUDY && correction != SHV_CORRECT_BELT_FRICTION &&
           correction != SHV_CORRECT_INJECTOR_FLOW;
}
