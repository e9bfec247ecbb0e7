/* The table of limits and of reasons for failure: docs/model.md, section 12. */
#include "sheave/limits.h"

#include <math.h>
#include <stddef.h>

#include "model/path/elementary.h"
#include "sheave/hardware.h"
#include "sheave/kit.h"
#include "sheave/point.h"
#include "sheave/study.h"

/* ---- bounds of parts ---- */

#define PART_BOUND(name)                                                                           \
    static double name(const struct shv_study *study, const struct shv_kit *kit, double bound)

PART_BOUND(rotor_speed_of_blower)
{
    return shv_min(bound, study->blowers[kit->blower].max_speed);
}

PART_BOUND(ratio_of_blower)
{
    return shv_min(bound, study->blowers[kit->blower].max_pressure_ratio);
}

PART_BOUND(rise_of_blower)
{
    return shv_min(bound, study->blowers[kit->blower].max_pressure_rise);
}

PART_BOUND(discharge_of_blower)
{
    return shv_min(bound, study->blowers[kit->blower].max_discharge_temperature);
}

/* The most clearance that is left when rotors count as touching. */
#define TOUCHING 1e-3

PART_BOUND(clearance_of_blower)
{
    const struct shv_blower *b = &study->blowers[kit->blower];
    bool closes = b->kind == SHV_BLOWER_GEOMETRY && b->geometry.closing_rate > 0.0;
    double own = closes ? shv_max(TOUCHING, b->least_clearance) : -INFINITY;
    return isinf(bound) ? own : shv_max(bound, own);
}

/* A bound of a part that may not be given, which 0 says. */
static double given(double bound)
{
    return bound > 0.0 ? bound : INFINITY;
}

PART_BOUND(hub_load_of_blower)
{
    return shv_min(bound, given(study->blowers[kit->blower].max_hub_load));
}

PART_BOUND(retard_of_engine)
{
    const struct shv_cycle_knock *knock = &study->engine.knock;
    (void)kit;
    return study->engine.efficiency_kind == SHV_EFFICIENCY_CYCLE
               ? shv_min(bound, knock->limit_ca50 - knock->best_ca50)
               : bound;
}

PART_BOUND(duty_of_injector)
{
    const struct shv_injector_part *injector = &study->injectors[kit->injector];
    return injector->is_unlimited ? bound : shv_min(bound, injector->max_duty);
}

PART_BOUND(flow_of_pump)
{
    return study->pumps[kit->pump].is_unlimited ? bound : shv_min(bound, 1.0);
}

PART_BOUND(pressure_of_manifold)
{
    (void)kit;
    return shv_min(bound, given(study->base.manifold_pressure));
}

PART_BOUND(temperature_of_manifold)
{
    (void)kit;
    return shv_min(bound, given(study->base.manifold_temperature));
}

PART_BOUND(vacuum_of_actuator)
{
    const struct shv_bypass_part *part = &study->bypass_part;
    (void)kit;
    return part->has_actuator ? shv_min(bound, part->actuator.starts) : bound;
}

PART_BOUND(pulley_of_belt)
{
    const struct shv_belt_setup *b = &study->drive.belt;
    (void)kit;
    return !b->given      ? bound
           : isinf(bound) ? b->belt.min_diameter
                          : shv_max(bound, b->belt.min_diameter);
}

/* A static tension as high as is needed does not slip, so there is nothing to hold. */
PART_BOUND(grip_of_belt)
{
    const struct shv_belt_setup *b = &study->drive.belt;
    (void)kit;
    return !b->given || isnan(b->static_tension) ? bound : shv_min(bound, 1.0);
}

PART_BOUND(tension_of_belt)
{
    const struct shv_belt_setup *b = &study->drive.belt;
    (void)kit;
    return b->given ? shv_min(bound, b->belt.allowed_tension) : bound;
}

/* ---- the table ---- */

#define POINT(member) offsetof(struct shv_point, member)
#define HARDWARE(member) offsetof(struct shv_hardware, member)

#define PSI 6894.757293168361
#define HORSEPOWER 745.6998715822702
#define POUND_FORCE 4.4482216152605
#define POUND 0.45359237
#define INCH 0.0254
#define INCH_OF_MERCURY (13595.1 * 9.80665 * INCH)
#define RPM (1.0 / 60.0)

/* Rows are kept together by hand: a limit a paragraph. */
/* clang-format off */

static const struct shv_limit_info limit_table[SHV_LIMIT_COUNT] = {
    [SHV_LIMIT_ROTOR_SPEED] =
        {.name = "rotor_speed", .title = "rotor speed",
         .meaning = "Speed of the blower's rotors.",
         .quantity = SHV_Q_ROTATION, .step = {500.0 * RPM, 500.0 * RPM},
         .place = POINT(rotor_speed), .bounded_by = SHV_BY_BLOWER,
         .stricter = rotor_speed_of_blower},
    [SHV_LIMIT_BELT_SPEED] =
        {.name = "belt_speed", .title = "belt speed",
         .meaning = "Speed of the belt at its pitch line.",
         .quantity = SHV_Q_SPEED, .step = {1.0, 5.0 * 12.0 * INCH}, .place = POINT(belt_speed), .of_crank = true},
    [SHV_LIMIT_PISTON_SPEED] =
        {.name = "piston_speed", .title = "mean piston speed",
         .meaning = "Mean piston speed, twice the stroke times engine speed.",
         .quantity = SHV_Q_SPEED, .step = {1.0, 5.0 * 12.0 * INCH}, .place = POINT(piston_speed)},
    [SHV_LIMIT_PRESSURE_RATIO] =
        {.name = "pressure_ratio", .title = "pressure ratio",
         .meaning = "Outlet over inlet pressure of the blower.",
         .quantity = SHV_Q_NUMBER, .least = 1.0, .step = {0.1, 0.1}, .span = SHV_SPAN_ABOVE_ONE,
         .place = POINT(pressure_ratio), .bounded_by = SHV_BY_BLOWER, .stricter = ratio_of_blower},
    [SHV_LIMIT_PRESSURE_RISE] =
        {.name = "pressure_rise", .title = "pressure rise",
         .meaning = "Outlet minus inlet pressure of the blower, across the rotors.",
         .quantity = SHV_Q_PRESSURE_DIFFERENCE, .step = {10e3, PSI},
         .place = POINT(outlet_pressure), .less = POINT(inlet_pressure),
         .bounded_by = SHV_BY_BLOWER, .stricter = rise_of_blower},
    [SHV_LIMIT_BOOST] =
        {.name = "boost", .title = "boost",
         .meaning = "Manifold pressure above site ambient.",
         .quantity = SHV_Q_PRESSURE_GAUGE, .step = {10e3, PSI}, .place = POINT(boost)},
    [SHV_LIMIT_DISCHARGE_TEMPERATURE] =
        {.name = "discharge_temperature", .title = "discharge temperature",
         .meaning = "Gas temperature at the blower's outlet.",
         .quantity = SHV_Q_TEMPERATURE, .step = {5.0, 10.0 / 1.8}, .span = SHV_SPAN_ABOVE_AMBIENT,
         .place = POINT(discharge_temperature), .bounded_by = SHV_BY_BLOWER,
         .stricter = discharge_of_blower},
    [SHV_LIMIT_CHARGE_TEMPERATURE] =
        {.name = "charge_temperature", .title = "charge temperature",
         .meaning = "Gas temperature in the manifold.",
         .quantity = SHV_Q_TEMPERATURE, .step = {5.0, 10.0 / 1.8}, .span = SHV_SPAN_ABOVE_AMBIENT,
         .place = POINT(charge_temperature)},
    [SHV_LIMIT_BLOWER_POWER] =
        {.name = "blower_power", .title = "blower power",
         .meaning = "Power at the blower's shaft, which the belt must carry.",
         .quantity = SHV_Q_POWER, .step = {1e3, HORSEPOWER}, .place = POINT(blower_power)},
    [SHV_LIMIT_TORQUE] =
        {.name = "torque", .title = "brake torque",
         .meaning = "Brake torque at the crank.",
         .quantity = SHV_Q_TORQUE, .step = {10.0, 10.0 * 12.0 * INCH * POUND_FORCE},
         .place = POINT(torque)},
    [SHV_LIMIT_FUEL_FLOW] =
        {.name = "fuel_flow", .title = "fuel flow",
         .meaning = "Fuel mass flow of the whole engine.",
         .quantity = SHV_Q_MASS_FLOW, .step = {1e-3, 10.0 * POUND / 3600.0},
         .place = POINT(fuel_flow)},
    [SHV_LIMIT_PHASING_RETARD] =
        {.name = "phasing_retard", .title = "retard",
         .meaning = "Retard of half the fuel burnt from where it does most, for knock, ignition "
                    "margin and peak pressure.",
         .quantity = SHV_Q_ANGLE, .step = {1.0, 1.0}, .needs = SHV_NEEDS_CYCLE,
         .place = POINT(phasing_retard), .bounded_by = SHV_BY_ENGINE,
         .stricter = retard_of_engine},
    [SHV_LIMIT_PEAK_PRESSURE] =
        {.name = "peak_pressure", .title = "peak cylinder pressure",
         .meaning = "Highest pressure in the cylinder. Ignition gives way to it first; a kit is "
                    "rejected by it only where the latest phasing allowed does not do.",
         .quantity = SHV_Q_PRESSURE_ABSOLUTE, .step = {5e5, 50.0 * PSI}, .needs = SHV_NEEDS_CYCLE,
         .place = POINT(peak_pressure)},
    [SHV_LIMIT_EXHAUST_TEMPERATURE] =
        {.name = "exhaust_temperature", .title = "exhaust temperature",
         .meaning = "Mean temperature of the gas that leaves the cylinder.",
         .quantity = SHV_Q_TEMPERATURE, .step = {10.0, 20.0 / 1.8},
         .span = SHV_SPAN_ABOVE_AMBIENT, .needs = SHV_NEEDS_CYCLE,
         .place = POINT(exhaust_temperature)},
    [SHV_LIMIT_INJECTOR_DUTY] =
        {.name = "injector_duty", .title = "injector duty",
         .meaning = "Share of the time that the injectors are held open.",
         .quantity = SHV_Q_NUMBER, .shown = SHV_SHOWN_PERCENT, .step = {0.05, 0.05},
         .needs = SHV_NEEDS_INJECTORS, .place = POINT(injector_duty),
         .bounded_by = SHV_BY_INJECTOR, .stricter = duty_of_injector, .of_supply = true},
    [SHV_LIMIT_PUMP_FLOW] =
        {.name = "pump_flow", .title = "share of pump flow",
         .meaning = "Fuel burnt over what the pump gives at its pressure.",
         .quantity = SHV_Q_NUMBER, .shown = SHV_SHOWN_PERCENT, .step = {0.05, 0.05},
         .needs = SHV_NEEDS_PUMPS, .place = POINT(pump_flow), .bounded_by = SHV_BY_PUMP,
         .stricter = flow_of_pump, .of_supply = true},
    [SHV_LIMIT_ROTOR_DUTY] =
        {.name = "rotor_duty", .title = "time above continuous rotor speed",
         .meaning = "Share of the duty with rotors above the blower's continuous speed.",
         .quantity = SHV_Q_NUMBER, .shown = SHV_SHOWN_PERCENT, .most = 1.0, .step = {0.05, 0.05},
         .needs = SHV_NEEDS_CONTINUOUS_SPEED, .of_kit = true, .place = HARDWARE(over_continuous)},
    [SHV_LIMIT_CLEARANCE] =
        {.name = "clearance_left", .title = "clearance left",
         .meaning = "Share of the assembly clearance that is left when hot; at nothing the "
                    "rotors touch.",
         .quantity = SHV_Q_NUMBER, .at_least = true, .most = 1.0, .step = {0.05, 0.05},
         .span = SHV_SPAN_BELOW_ONE, .place = POINT(clearance_left), .bounded_by = SHV_BY_BLOWER,
         .stricter = clearance_of_blower},
    [SHV_LIMIT_MANIFOLD_PRESSURE] =
        {.name = "manifold_pressure", .title = "manifold pressure",
         .meaning = "Pressure above ambient that the manifold has to hold.",
         .quantity = SHV_Q_PRESSURE_GAUGE, .step = {10e3, PSI}, .place = POINT(boost),
         .bounded_by = SHV_BY_MANIFOLD, .stricter = pressure_of_manifold},
    [SHV_LIMIT_MANIFOLD_TEMPERATURE] =
        {.name = "manifold_temperature", .title = "manifold temperature",
         .meaning = "Highest gas temperature in the manifold's casting: at the blower's "
                    "outlet.",
         .quantity = SHV_Q_TEMPERATURE, .step = {5.0, 10.0 / 1.8}, .span = SHV_SPAN_ABOVE_AMBIENT,
         .place = POINT(discharge_temperature), .bounded_by = SHV_BY_MANIFOLD,
         .stricter = temperature_of_manifold},
    [SHV_LIMIT_COOLANT_TEMPERATURE] =
        {.name = "coolant_temperature", .title = "coolant temperature",
         .meaning = "Temperature of the coolant that enters the charge cooler.",
         .quantity = SHV_Q_TEMPERATURE, .step = {5.0, 10.0 / 1.8}, .span = SHV_SPAN_ABOVE_AMBIENT,
         .needs = SHV_NEEDS_COOLER, .place = POINT(coolant_temperature)},
    [SHV_LIMIT_PULLEY_DIAMETER] =
        {.name = "pulley_diameter", .title = "smallest pulley",
         .meaning = "Effective diameter of the smaller pulley.",
         .quantity = SHV_Q_LENGTH, .at_least = true, .step = {1e-3, 0.05 * INCH},
         .needs = SHV_NEEDS_BELT, .of_kit = true, .place = HARDWARE(pulley_diameter),
         .bounded_by = SHV_BY_BELT, .stricter = pulley_of_belt, .of_crank = true},
    [SHV_LIMIT_BELT_SLIP] =
        {.name = "belt_slip", .title = "share of the belt's grip",
         .meaning = "Pull of the belt and its margin over the pull at which it slips.",
         .quantity = SHV_Q_NUMBER, .shown = SHV_SHOWN_PERCENT, .step = {0.05, 0.05},
         .needs = SHV_NEEDS_BELT, .place = POINT(belt_slip), .bounded_by = SHV_BY_BELT,
         .stricter = grip_of_belt, .of_supply = true, .of_crank = true},
    [SHV_LIMIT_BELT_TENSION] =
        {.name = "belt_tension", .title = "belt tension per rib",
         .meaning = "Tension of the belt's tight side for each rib.",
         .quantity = SHV_Q_FORCE, .step = {10.0, 2.0 * POUND_FORCE}, .needs = SHV_NEEDS_BELT,
         .place = POINT(belt_tension), .bounded_by = SHV_BY_BELT, .stricter = tension_of_belt,
         .of_supply = true, .of_crank = true},
    [SHV_LIMIT_HUB_LOAD] =
        {.name = "hub_load", .title = "hub load",
         .meaning = "Load of the belt on the blower's nose.",
         .quantity = SHV_Q_FORCE, .step = {100.0, 20.0 * POUND_FORCE}, .needs = SHV_NEEDS_BELT,
         .place = POINT(hub_load), .bounded_by = SHV_BY_BLOWER, .stricter = hub_load_of_blower,
         .of_supply = true, .of_crank = true},
    [SHV_LIMIT_BEARING_LIFE] =
        {.name = "bearing_life", .title = "bearing life",
         .meaning = "Basic rating life of the nose bearing over the duty.",
         .quantity = SHV_Q_TIME, .at_least = true, .step = {100.0 * 3600.0, 100.0 * 3600.0},
         .needs = SHV_NEEDS_BEARING, .of_kit = true, .place = HARDWARE(bearing_life),
         .of_supply = true, .of_crank = true},
    [SHV_LIMIT_BYPASS_VACUUM] =
        {.name = "bypass_vacuum", .title = "vacuum at the bypass actuator",
         .meaning = "Vacuum behind filter and throttle at full throttle, which must not open "
                    "the bypass.",
         .quantity = SHV_Q_PRESSURE_DIFFERENCE, .shown = SHV_SHOWN_VACUUM,
         .step = {1e3, 0.2 * INCH_OF_MERCURY}, .needs = SHV_NEEDS_ACTUATOR,
         .place = POINT(ambient_pressure), .less = POINT(inlet_pressure), .bypass_shut = true,
         .bounded_by = SHV_BY_BYPASS, .stricter = vacuum_of_actuator},
    [SHV_LIMIT_CRUISE_DRAG] =
        {.name = "cruise_drag", .title = "rotor drag at cruise",
         .meaning = "Power that the rotors take at the cruise point.",
         .quantity = SHV_Q_POWER, .step = {100.0, 0.1 * HORSEPOWER}, .needs = SHV_NEEDS_CRUISE,
         .of_kit = true, .place = HARDWARE(cruise_drag)},
    [SHV_LIMIT_PRICE] =
        {.name = "price", .title = "price",
         .meaning = "Price of all parts of the kit.",
         .quantity = SHV_Q_NUMBER, .shown = SHV_SHOWN_MONEY, .step = {100.0, 100.0},
         .of_kit = true, .place = HARDWARE(price), .of_supply = true},
    [SHV_LIMIT_MASS] =
        {.name = "mass", .title = "mass",
         .meaning = "Mass of all parts of the kit.",
         .quantity = SHV_Q_MASS, .step = {1.0, POUND}, .of_kit = true, .place = HARDWARE(mass), .of_supply = true},
    [SHV_LIMIT_POWER] =
        {.name = "power", .title = "peak power",
         .meaning = "Highest brake power of the rev range, over the sites as the objective "
                    "takes them.",
         .quantity = SHV_Q_POWER, .at_least = true, .step = {1e3, HORSEPOWER}, .of_kit = true,
         .place = SHV_NO_PLACE},
};

/* clang-format on */

bool shv_limit_is_formula(enum shv_limit limit)
{
    return limit < SHV_LIMIT_FORMULA_COUNT;
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
    switch (limit_table[limit].span) {
    case SHV_SPAN_ABOVE_ONE:
        return shv_max(0.01, bound - 1.0);
    case SHV_SPAN_BELOW_ONE:
        return shv_max(0.01, 1.0 - bound); /* from what is asked for to all of it */
    case SHV_SPAN_ABOVE_AMBIENT:
        return shv_max(1.0, bound - ambient_temperature);
    case SHV_SPAN_BOUND:
        break;
    }
    return bound;
}

double shv_limit_bound(const struct shv_study *study, const struct shv_kit *kit,
                       enum shv_limit limit)
{
    const struct shv_limit_info *info = &limit_table[limit];
    double bound = study->limit[limit];
    return (info->stricter ? info->stricter(study, kit, bound) : bound) + study->moved[limit];
}

double shv_limit_retard_less(const struct shv_study *study, double speed)
{
    const struct shv_curve_table *curve = &study->retard_curve;
    if (curve->count == 0) {
        return 0.0;
    }
    double most = retard_of_engine(study, NULL, study->limit[SHV_LIMIT_PHASING_RETARD]);
    return most - retard_of_engine(study, NULL, shv_curve_table_at(curve, speed));
}

static double number_at(const void *base, size_t place)
{
    return *(const double *)(const void *)((const char *)base + place);
}

/* Entries that may bound a limit, as kits that differ in nothing else. */
static size_t entries_of(const struct shv_study *study, enum shv_bounded_by by)
{
    return by == SHV_BY_BLOWER     ? study->blower_count
           : by == SHV_BY_INJECTOR ? study->injector_count
           : by == SHV_BY_PUMP     ? study->pump_count
                                   : 1;
}

static struct shv_kit entry_kit(enum shv_bounded_by by, size_t i)
{
    return (struct shv_kit){.blower = by == SHV_BY_BLOWER ? i : 0,
                            .injector = by == SHV_BY_INJECTOR ? i : 0,
                            .pump = by == SHV_BY_PUMP ? i : 0};
}

bool shv_limit_bounds(const struct shv_study *study, enum shv_limit limit, double *low,
                      double *high)
{
    enum shv_bounded_by by = shv_limit_info(limit)->bounded_by;
    *low = INFINITY;
    *high = -INFINITY;
    for (size_t i = 0; i < entries_of(study, by); i++) {
        struct shv_kit kit = entry_kit(by, i);
        double bound = shv_limit_bound(study, &kit, limit);
        if (isfinite(bound)) {
            *low = fmin(*low, bound);
            *high = fmax(*high, bound);
        }
    }
    return *low <= *high;
}

double shv_point_limit_value(const struct shv_point *point, enum shv_limit limit)
{
    const struct shv_limit_info *info = &limit_table[limit];
    if (info->of_kit || (info->bypass_shut && point->bypass_open)) {
        return NAN;
    }
    double value = number_at(point, info->place);
    return info->less != 0 ? value - number_at(point, info->less) : value;
}

double shv_hardware_limit_value(const struct shv_hardware *hardware, enum shv_limit limit)
{
    const struct shv_limit_info *info = &limit_table[limit];
    return info->of_kit && info->place != SHV_NO_PLACE ? number_at(hardware, info->place) : NAN;
}
