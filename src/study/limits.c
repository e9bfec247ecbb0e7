/* The table of limits and of reasons for failure: docs/model.md, section 12. */
#include "sheave/limits.h"

#include <math.h>

#include "model/path/elementary.h"

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
    [SHV_LIMIT_ROTOR_DUTY] = {"rotor_duty", "time above continuous rotor speed",
                              "Share of the duty with rotors above the blower's continuous speed.",
                              SHV_Q_NUMBER, SHV_BY_STUDY, .of_kit = true},
    [SHV_LIMIT_CLEARANCE] =
        {"clearance_left", "clearance left",
         "Share of the assembly clearance that is left when hot; at nothing the "
         "rotors touch.",
         SHV_Q_NUMBER, SHV_BY_BLOWER, .at_least = true},
    [SHV_LIMIT_MANIFOLD_PRESSURE] = {"manifold_pressure", "manifold pressure",
                                     "Pressure above ambient that the manifold has to hold.",
                                     SHV_Q_PRESSURE_GAUGE, SHV_BY_MANIFOLD},
    [SHV_LIMIT_MANIFOLD_TEMPERATURE] = {"manifold_temperature", "manifold temperature",
                                        "Highest gas temperature in the manifold's casting: at the "
                                        "blower's outlet.",
                                        SHV_Q_TEMPERATURE, SHV_BY_MANIFOLD},
    [SHV_LIMIT_COOLANT_TEMPERATURE] = {"coolant_temperature", "coolant temperature",
                                       "Temperature of the coolant that enters the charge cooler.",
                                       SHV_Q_TEMPERATURE, SHV_BY_STUDY},
    [SHV_LIMIT_PULLEY_DIAMETER] = {"pulley_diameter", "smallest pulley",
                                   "Effective diameter of the smaller pulley.", SHV_Q_LENGTH,
                                   SHV_BY_BELT, .at_least = true, .of_kit = true},
    [SHV_LIMIT_BELT_SLIP] = {"belt_slip", "share of the belt's grip",
                             "Pull of the belt and its margin over the pull at which it slips.",
                             SHV_Q_NUMBER, SHV_BY_BELT},
    [SHV_LIMIT_BELT_TENSION] = {"belt_tension", "belt tension per rib",
                                "Tension of the belt's tight side for each rib.", SHV_Q_FORCE,
                                SHV_BY_BELT},
    [SHV_LIMIT_HUB_LOAD] = {"hub_load", "hub load", "Load of the belt on the blower's nose.",
                            SHV_Q_FORCE, SHV_BY_BLOWER},
    [SHV_LIMIT_BEARING_LIFE] = {"bearing_life", "bearing life",
                                "Basic rating life of the nose bearing over the duty.", SHV_Q_TIME,
                                SHV_BY_STUDY, .at_least = true, .of_kit = true},
    [SHV_LIMIT_BYPASS_VACUUM] =
        {"bypass_vacuum", "vacuum at the bypass actuator",
         "Vacuum behind filter and throttle at full throttle, which must not "
         "open the bypass.",
         SHV_Q_PRESSURE_DIFFERENCE, SHV_BY_BYPASS},
    [SHV_LIMIT_CRUISE_DRAG] = {"cruise_drag", "rotor drag at cruise",
                               "Power that the rotors take at the cruise point.", SHV_Q_POWER,
                               SHV_BY_STUDY, .of_kit = true},
    [SHV_LIMIT_PRICE] = {"price", "price", "Price of all parts of the kit.", SHV_Q_NUMBER,
                         SHV_BY_STUDY, .of_kit = true},
    [SHV_LIMIT_MASS] = {"mass", "mass", "Mass of all parts of the kit.", SHV_Q_MASS, SHV_BY_STUDY,
                        .of_kit = true},
    [SHV_LIMIT_POWER] = {"power", "peak power",
                         "Highest brake power of the rev range, over the sites as the objective "
                         "takes them.",
                         SHV_Q_POWER, SHV_BY_STUDY, .at_least = true, .of_kit = true},
};

bool shv_limit_is_formula(enum shv_limit limit)
{
    return limit < SHV_LIMIT_PRESSURE_RATIO;
}

bool shv_limit_breaks(enum shv_limit limit, double value, double bound)
{
    if (isinf(bound)) {
        return false;
    }
    return limit_table[limit].at_least ? value < bound : value > bound;
}

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
    case SHV_LIMIT_CLEARANCE:
        return shv_max(0.01, 1.0 - bound); /* from what is asked for to all of it */
    case SHV_LIMIT_DISCHARGE_TEMPERATURE:
    case SHV_LIMIT_CHARGE_TEMPERATURE:
    case SHV_LIMIT_EXHAUST_TEMPERATURE:
    case SHV_LIMIT_MANIFOLD_TEMPERATURE:
    case SHV_LIMIT_COOLANT_TEMPERATURE:
        return shv_max(1.0, bound - ambient_temperature);
    default:
        return bound;
    }
}
