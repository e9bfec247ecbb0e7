/* Everything known about one kit at one site and engine speed. */
#ifndef SHEAVE_POINT_H
#define SHEAVE_POINT_H

#include <stdbool.h>

#include "sheave/cycle.h"
#include "sheave/limits.h"

/* The fields of a point, one row each: its name, how it is shown, its column in curves.csv and what
 * it is. The struct, what is forgotten where there is no answer, and the columns are made of these
 * rows. OTHER stands where curves.csv has a column of its own. SI, angles in deg after top dead
 * centre, pressures absolute.
 */
/* clang-format off */

/* Known even where the model has no answer. */
#define SHV_POINT_KNOWN(FIELD, OTHER)                                                              \
    FIELD(engine_speed, ROTATION, "engine_speed", "Speed of the crank.")                           \
    OTHER(outcome)                                                                                 \
    FIELD(rotor_speed, ROTATION, "rotor_speed", "Speed of the rotors.")                            \
    FIELD(belt_speed, SPEED, "belt_speed",                                                         \
          "Speed of the belt at its pitch line; empty when the pulleys are not known.")            \
    FIELD(piston_speed, SPEED, "piston_speed", "Mean piston speed.")                               \
    FIELD(ambient_pressure, PRESSURE, "ambient_pressure", "Pressure of the air at the site.")      \
    FIELD(ambient_temperature, TEMPERATURE, "ambient_temperature",                                 \
          "Temperature of the air at the site.")

/* NAN without an answer, and where a value does not apply. */
#define SHV_POINT_ANSWERS(FIELD, OTHER)                                                            \
    OTHER(bypass_open)                                                                             \
    OTHER(bleeding)                                                                                \
    FIELD(inlet_pressure, PRESSURE, "inlet_pressure", "Pressure at the blower's inlet.")           \
    FIELD(inlet_temperature, TEMPERATURE, "inlet_temperature",                                     \
          "Temperature at the blower's inlet.")                                                    \
    OTHER(inlet_vacuum)                                                                            \
    FIELD(outlet_pressure, PRESSURE, "outlet_pressure", "Pressure at the blower's outlet.")        \
    FIELD(pressure_ratio, NUMBER, "pressure_ratio", "Outlet over inlet pressure of the blower.")   \
    FIELD(discharge_temperature, TEMPERATURE, "discharge_temperature",                             \
          "Temperature at the blower's outlet.")                                                   \
    FIELD(manifold_pressure, PRESSURE, "manifold_pressure", "Pressure in the intake manifold.")    \
    FIELD(boost, GAUGE, "boost", "Manifold pressure above that of the site's air.")                \
    FIELD(charge_temperature, TEMPERATURE, "charge_temperature",                                   \
          "Temperature in the intake manifold.")                                                   \
    FIELD(coolant_temperature, TEMPERATURE, "coolant_temperature",                                 \
          "Coolant entering the charge cooler; empty without one.")                                \
    FIELD(effectiveness, NUMBER, "effectiveness",                                                  \
          "Effectiveness of the charge cooler at this flow; 0 without one.")                       \
    FIELD(cooler_drop, PRESSURE_CHANGE, "cooler_drop",                                             \
          "Pressure drop of the charge across the cooler.")                                        \
    FIELD(cooler_heat, POWER, "cooler_heat", "Heat taken from the charge.")                        \
    FIELD(blower_flow, AIR_FLOW, "blower_flow",                                                    \
          "Moist air delivered by the blower, net of leakage.")                                    \
    FIELD(leakage_flow, AIR_FLOW, "leakage_flow", "Air that leaks back past the rotors.")          \
    FIELD(bleed_flow, AIR_FLOW, "bleed_flow",                                                      \
          "Air let go through the bypass to hold the set boost.")                                  \
    FIELD(condensed_flow, AIR_FLOW, "condensed_flow",                                              \
          "Water that condenses in the charge cooler.")                                            \
    FIELD(air_flow, AIR_FLOW, "air_flow", "Moist air into the engine.")                            \
    FIELD(dry_air_flow, AIR_FLOW, "dry_air_flow", "Dry air into the engine.")                      \
    FIELD(exhaust_pressure, PRESSURE, "exhaust_pressure", "Pressure at the exhaust valves.")       \
    FIELD(blower_volumetric_efficiency, NUMBER, "blower_volumetric_efficiency",                    \
          "Delivered volume at inlet state over swept volume; empty with the bypass "              \
          "open.")                                                                                 \
    FIELD(blower_isentropic_efficiency, NUMBER, "blower_isentropic_efficiency",                    \
          "Isentropic enthalpy rise of the flow over shaft power; empty with the "                 \
          "bypass open.")                                                                          \
    FIELD(clearance_left, NUMBER, "clearance_left",                                                \
          "Share of the leakage area at assembly that is left when hot; 0 means that "             \
          "rotors touch.")                                                                         \
    FIELD(gas_power, POWER, "gas_power", "Work of the rotors on the gas.")                         \
    FIELD(windage_power, POWER, "windage_power", "Windage in the blower; it heats the gas.")       \
    FIELD(bearing_power, POWER, "bearing_power",                                                   \
          "Friction of bearings, gears and seals; it does not heat the gas.")                      \
    FIELD(case_heat, POWER, "case_heat", "Heat lost by the blower's case.")                        \
    FIELD(blower_power, POWER, "blower_power", "Power at the blower's shaft.")                     \
    FIELD(drive_power, POWER, "drive_power", "Power taken from the crank for it.")                 \
    FIELD(volumetric_efficiency, NUMBER, "volumetric_efficiency",                                  \
          "Of the engine, against the density in the manifold.")                                   \
    FIELD(fuel_flow, FUEL_FLOW, "fuel_flow", "Fuel of the whole engine.")                          \
    FIELD(indicated_efficiency, NUMBER, "indicated_efficiency",                                    \
          "Gross indicated power over the fuel's heating value.")                                  \
    FIELD(indicated_power, POWER, "indicated_power", "Gross indicated power.")                     \
    FIELD(pumping_power, POWER, "pumping_power",                                                   \
          "Work of gas exchange; above 0 when boost pushes the pistons.")                          \
    FIELD(friction_power, POWER, "friction_power", "Mechanical friction of the engine.")           \
    FIELD(brake_power, POWER, "power",                                                             \
          "Brake power at the crank, drive of the blower taken off.")                              \
    FIELD(torque, TORQUE, "torque", "Brake torque.")                                               \
    FIELD(bmep, PRESSURE_CHANGE, "bmep", "Brake mean effective pressure.")                         \
    FIELD(bsfc, SPECIFIC_CONSUMPTION, "bsfc",                                                      \
          "Brake specific fuel consumption; empty where no power is made.")                        \
    FIELD(power_j1349, POWER, "power_j1349", "Brake power corrected to SAE J1349 (June 1990).")    \
    FIELD(power_iso1585, POWER, "power_iso1585",                                                   \
          "Brake power corrected to ISO 1585; see the note on its range.")                         \
    FIELD(ca50, ANGLE, "ca50",                                                                     \
          "Crank angle after top dead centre at which half of the heat is out; this "              \
          "and what follows up to `cycle_efficiency` is empty without the closed cycle.")          \
    FIELD(phasing_retard, ANGLE, "phasing_retard",                                                 \
          "How much later than the best `ca50` knock, ignition margin and peak "                   \
          "pressure ask for; where the latest allowed is earlier, the cycle is that of "           \
          "the latest allowed.")                                                                   \
    OTHER(phasing_by)                                                                              \
    FIELD(knock_integral, NUMBER, "knock_integral",                                                \
          "Knock integral of the mean cycle at `ca50`; 1 means that the end gas "                  \
          "ignites by itself.")                                                                    \
    FIELD(peak_pressure, CYLINDER, "peak_pressure", "Highest pressure in the cylinder.")           \
    FIELD(exhaust_temperature, TEMPERATURE, "exhaust_temperature",                                 \
          "Mean temperature of the gas that leaves the cylinder.")                                 \
    FIELD(cycle_efficiency, NUMBER, "cycle_efficiency",                                            \
          "Gross efficiency of the closed cycle, before the factor that ties it to the "           \
          "stock torque curve.")                                                                   \
    FIELD(fuel_volume_flow, FUEL_VOLUME, "fuel_volume",                                            \
          "Fuel of the whole engine by liquid volume.")                                            \
    OTHER(fuel_supply)                                                                             \
    FIELD(injector_duty, PERCENT, "injector_duty",                                                 \
          "Share of the time that the injectors are held open; empty without injectors.")          \
    FIELD(pump_flow, PERCENT, "pump_flow",                                                         \
          "Fuel burnt over what the pump gives at its pressure; empty without a pump.")            \
    OTHER(belt_grip)                                                                               \
    FIELD(belt_slip, PERCENT, "belt_slip",                                                         \
          "Pull of the belt, with its margin, over the pull at which it slips.")                   \
    FIELD(belt_tension, FORCE, "belt_tension", "Tension of the belt's tight side for each rib.")   \
    FIELD(hub_load, FORCE, "hub_load", "Load of the belt on the blower's nose.")

/* clang-format on */

#define SHV_POINT_MEMBER(name, measure, column, meaning) double name;
#define SHV_POINT_NOTHING(name)

struct shv_point {
    enum shv_outcome outcome;
    bool bypass_open; /* the blower can't keep up: the engine breathes through the bypass */
    bool bleeding;    /* the bypass holds the set boost */
    enum shv_phasing_by phasing_by; /* meaningful where ca50 is known */
    SHV_POINT_KNOWN(SHV_POINT_MEMBER, SHV_POINT_NOTHING)
    SHV_POINT_ANSWERS(SHV_POINT_MEMBER, SHV_POINT_NOTHING)
};

#endif
