/* The table of limits and of reasons for failure: docs/model.md, section 12. */
#include "sheave/limits.h"

#include "model/elementary.h"

static const struct shv_limit_info limit_table[SHV_LIMIT_COUNT] = {
    [SHV_LIMIT_ROTOR_SPEED] = {"rotor_speed", "rotor speed", "Speed of the blower's rotors.",
                               SHV_Q_ROTATION, SHV_BY_BLOWER},
    [SHV_LIMIT_BELT_SPEED] = {"belt_speed", "belt speed", "Speed of the belt at its pitch line.",
                              SHV_Q_SPEED, SHV_BY_STUDY},
    [SHV_LIMIT_PISTON_SPEED] = {"piston_speed", "mean piston speed",
                                "Mean piston speed, twice the stroke times engine speed.",
                                SHV_Q_SPEED, SHV_BY_STUDY},
    [SHV_LIMIT_PRESSURE_RATIO] = {"pressure_ratio", "pressure ratio",
                                  "Outlet over inlet pressure of the blower.", SHV_Q_NUMBER,
                                  SHV_BY_BLOWER},
    [SHV_LIMIT_PRESSURE_RISE] = {"pressure_rise", "pressure rise",
                                 "Outlet minus inlet pressure of the blower, across the rotors.",
                                 SHV_Q_PRESSURE_DIFFERENCE, SHV_BY_BLOWER},
    [SHV_LIMIT_BOOST] = {"boost", "boost", "Manifold pressure above site ambient.",
                         SHV_Q_PRESSURE_GAUGE, SHV_BY_STUDY},
    [SHV_LIMIT_DISCHARGE_TEMPERATURE] = {"discharge_temperature", "discharge temperature",
                                         "Gas temperature at the blower's outlet.",
                                         SHV_Q_TEMPERATURE, SHV_BY_BLOWER},
    [SHV_LIMIT_CHARGE_TEMPERATURE] = {"charge_temperature", "charge temperature",
                                      "Gas temperature in the manifold.", SHV_Q_TEMPERATURE,
                                      SHV_BY_STUDY},
    [SHV_LIMIT_BLOWER_POWER] = {"blower_power", "blower power",
                                "Power at the blower's shaft, which the belt must carry.",
                                SHV_Q_POWER, SHV_BY_STUDY},
    [SHV_LIMIT_TORQUE] = {"torque", "brake torque", "Brake torque at the crank.", SHV_Q_TORQUE,
                          SHV_BY_STUDY},
    [SHV_LIMIT_FUEL_FLOW] = {"fuel_flow", "fuel flow", "Fuel mass flow of the whole engine.",
                             SHV_Q_MASS_FLOW, SHV_BY_STUDY},
    [SHV_LIMIT_PHASING_RETARD] = {"phasing_retard", "phasing retard",
                                  "How much later than best half of the fuel burns, for knock and "
                                  "ignition margin; only with "
                                  "the closed cycle.",
                                  SHV_Q_ANGLE, SHV_BY_ENGINE},
    [SHV_LIMIT_PEAK_PRESSURE] = {"peak_pressure", "peak cylinder pressure",
                                 "Highest pressure in the cylinder; only with the closed cycle.",
                                 SHV_Q_PRESSURE_ABSOLUTE, SHV_BY_STUDY},
    [SHV_LIMIT_EXHAUST_TEMPERATURE] = {"exhaust_temperature", "exhaust temperature",
                                       "Mean temperature of the gas that leaves the cylinder; only "
                                       "with the closed cycle.",
                                       SHV_Q_TEMPERATURE, SHV_BY_STUDY},
    [SHV_LIMIT_INJECTOR_DUTY] = {"injector_duty", "injector duty",
                                 "Share of the time that the injectors are held open.",
                                 SHV_Q_NUMBER, SHV_BY_INJECTOR},
    [SHV_LIMIT_PUMP_FLOW] = {"pump_flow", "share of pump flow",
                             "Fuel burnt over what the pump gives at its pressure.", SHV_Q_NUMBER,
                             SHV_BY_PUMP},
};

const struct shv_limit_info *shv_limit_info(enum shv_limit limit)
{
    return &limit_table[limit];
}

const char *shv_outcome_name(enum shv_outcome outcome)
{
    switch (outcome) {
    case SHV_POINT_OK:
        return "ok";
    case SHV_POINT_OUTSIDE_MAP:
        return "outside_map";
    case SHV_POINT_OUT_OF_RANGE:
        return "out_of_range";
    case SHV_POINT_NO_MATCH:
        return "no_match";
    case SHV_POINT_NO_CYCLE:
        return "no_cycle";
    case SHV_OUTCOME_COUNT:
        break;
    }
    return "unknown";
}

const char *shv_outcome_meaning(enum shv_outcome outcome)
{
    switch (outcome) {
    case SHV_POINT_OK:
        return "The point has an answer.";
    case SHV_POINT_OUTSIDE_MAP:
        return "Pressure ratio or rotor speed lies beyond the measured points of the blower map.";
    case SHV_POINT_OUT_OF_RANGE:
        return "A gas temperature lies beyond 200 to 1000 K, where the gas data end.";
    case SHV_POINT_NO_MATCH:
        return "No pressure was found at which blower and engine flows agree.";
    case SHV_POINT_NO_CYCLE:
        return "The closed cycle has no answer there, or its tables do not reach so far; counted "
               "only where no limit is broken.";
    case SHV_OUTCOME_COUNT:
        break;
    }
    return "unknown";
}

double shv_limit_span(enum shv_limit limit, double bound, double ambient_temperature)
{
    switch (limit) {
    case SHV_LIMIT_PRESSURE_RATIO:
        return shv_max(0.01, bound - 1.0);
    case SHV_LIMIT_DISCHARGE_TEMPERATURE:
    case SHV_LIMIT_CHARGE_TEMPERATURE:
    case SHV_LIMIT_EXHAUST_TEMPERATURE:
        return shv_max(1.0, bound - ambient_temperature);
    default:
        return bound;
    }
}
