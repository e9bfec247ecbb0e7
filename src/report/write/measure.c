/* Units shown to people (src/report/write/measure.h). The US units follow from the exact
 * definitions of inch, pound and standard gravity, so no rounded factor stands here: psi = lbf/in2,
 * hp = 550 ft lbf/s. Injectors are sold by cm3/min wherever volume is meant. */
#include "report/write/measure.h"

#define INCH 0.0254
#define FOOT 0.3048
#define POUND 0.45359237
#define POUND_FORCE (POUND * 9.80665)
#define PSI (POUND_FORCE / (INCH * INCH))
#define HORSEPOWER (550.0 * FOOT * POUND_FORCE)
#define FOOT_POUND (FOOT * POUND_FORCE)
#define GALLON (231.0 * INCH * INCH * INCH) /* of the US */
#define MILE (5280.0 * FOOT)
#define INCH_OF_MERCURY (13595.1 * 9.80665 * INCH) /* the conventional one, kg/m3 m/s2 m */
#define HOUR 3600.0
#define ICE_POINT 273.15
#define FAHRENHEIT_ZERO (ICE_POINT - 32.0 / 1.8)

static const struct report_unit units[REPORT_MEASURE_COUNT][2] = {
    [REPORT_TEXT] = {{"", "", 1.0, 0.0, 0}, {"", "", 1.0, 0.0, 0}},
    [REPORT_COUNT] = {{"", "", 1.0, 0.0, 0}, {"", "", 1.0, 0.0, 0}},
    [REPORT_NUMBER] = {{"", "", 1.0, 0.0, 3}, {"", "", 1.0, 0.0, 3}},
    [REPORT_MONEY] = {{"", "", 1.0, 0.0, 2}, {"", "", 1.0, 0.0, 2}},
    [REPORT_PERCENT] = {{"_pct", "%", 100.0, 0.0, 1}, {"_pct", "%", 100.0, 0.0, 1}},
    [REPORT_LENGTH] = {{"_mm", "mm", 1000.0, 0.0, 1}, {"_in", "in", 1.0 / INCH, 0.0, 3}},
    [REPORT_VOLUME] = {{"_cm3", "cm3", 1e6, 0.0, 1},
                       {"_in3", "in3", 1.0 / (INCH * INCH * INCH), 0.0, 2}},
    [REPORT_DISPLACEMENT] = {{"_L", "L", 1e3, 0.0, 3},
                             {"_in3", "in3", 1.0 / (INCH * INCH * INCH), 0.0, 1}},
    [REPORT_AREA] = {{"_mm2", "mm2", 1e6, 0.0, 1}, {"_in2", "in2", 1.0 / (INCH * INCH), 0.0, 4}},
    [REPORT_ANGLE] = {{"_deg", "deg", 1.0, 0.0, 1}, {"_deg", "deg", 1.0, 0.0, 1}},
    [REPORT_SPEED] = {{"_m_s", "m/s", 1.0, 0.0, 1}, {"_ft_s", "ft/s", 1.0 / FOOT, 0.0, 1}},
    [REPORT_ROTATION] = {{"_rpm", "rpm", 60.0, 0.0, 0}, {"_rpm", "rpm", 60.0, 0.0, 0}},
    [REPORT_PRESSURE] = {{"_kPa_abs", "kPa", 1e-3, 0.0, 1}, {"_psia", "psia", 1.0 / PSI, 0.0, 2}},
    [REPORT_GAUGE] = {{"_kPa", "kPa", 1e-3, 0.0, 1}, {"_psi", "psi", 1.0 / PSI, 0.0, 2}},
    [REPORT_PRESSURE_CHANGE] = {{"_kPa", "kPa", 1e-3, 0.0, 1}, {"_psi", "psi", 1.0 / PSI, 0.0, 2}},
    [REPORT_CYLINDER] = {{"_bar_abs", "bar", 1e-5, 0.0, 1}, {"_psia", "psia", 1.0 / PSI, 0.0, 0}},
    [REPORT_CYLINDER_CHANGE] = {{"_bar", "bar", 1e-5, 0.0, 1}, {"_psi", "psi", 1.0 / PSI, 0.0, 0}},
    [REPORT_TEMPERATURE] = {{"_degC", "degC", 1.0, ICE_POINT, 1},
                            {"_degF", "degF", 1.8, FAHRENHEIT_ZERO, 1}},
    [REPORT_TEMPERATURE_CHANGE] = {{"_K", "K", 1.0, 0.0, 1}, {"_degR", "degR", 1.8, 0.0, 1}},
    [REPORT_POWER] = {{"_kW", "kW", 1e-3, 0.0, 1}, {"_hp", "hp", 1.0 / HORSEPOWER, 0.0, 1}},
    [REPORT_ENERGY] = {{"_J", "J", 1.0, 0.0, 1}, {"_ftlbf", "ft lbf", 1.0 / FOOT_POUND, 0.0, 1}},
    [REPORT_TORQUE] = {{"_Nm", "N m", 1.0, 0.0, 1},
                       {"_lbfft", "lbf ft", 1.0 / (POUND_FORCE * FOOT), 0.0, 1}},
    [REPORT_AIR_FLOW] = {{"_kg_h", "kg/h", HOUR, 0.0, 1},
                         {"_lb_min", "lb/min", 60.0 / POUND, 0.0, 2}},
    [REPORT_FUEL_FLOW] = {{"_kg_h", "kg/h", HOUR, 0.0, 1}, {"_lb_h", "lb/h", HOUR / POUND, 0.0, 1}},
    [REPORT_FUEL_VOLUME] = {{"_L_h", "L/h", 1e3 * HOUR, 0.0, 1},
                            {"_gal_h", "gal/h", HOUR / GALLON, 0.0, 2}},
    [REPORT_INJECTOR_FLOW] = {{"_cm3_min", "cm3/min", 60e6, 0.0, 0},
                              {"_cm3_min", "cm3/min", 60e6, 0.0, 0}},
    [REPORT_SPECIFIC_CONSUMPTION] = {{"_g_kWh", "g/kWh", 1e6 * HOUR, 0.0, 1},
                                     {"_lb_hph", "lb/hp h", HORSEPOWER *HOUR / POUND, 0.0, 3}},
    [REPORT_ROAD_SPEED] = {{"_km_h", "km/h", 3.6, 0.0, 1}, {"_mph", "mph", HOUR / MILE, 0.0, 1}},
    [REPORT_FUEL_DISTANCE] = {{"_L_100km", "L/100 km", 1e8, 0.0, 2},
                              {"_gal_100mi", "gal/100 mi", 100.0 * MILE / GALLON, 0.0, 3}},
    [REPORT_FORCE] = {{"_N", "N", 1.0, 0.0, 0}, {"_lbf", "lbf", 1.0 / POUND_FORCE, 0.0, 1}},
    [REPORT_MASS] = {{"_kg", "kg", 1.0, 0.0, 1}, {"_lb", "lb", 1.0 / POUND, 0.0, 1}},
    [REPORT_LIFE] = {{"_h", "h", 1.0 / HOUR, 0.0, 0}, {"_h", "h", 1.0 / HOUR, 0.0, 0}},
    [REPORT_VACUUM] = {{"_kPa", "kPa", 1e-3, 0.0, 2},
                       {"_inHg", "inHg", 1.0 / INCH_OF_MERCURY, 0.0, 2}},
    [REPORT_POWER_PER_MONEY] = {{"_W_per_unit", "W/unit", 1.0, 0.0, 2},
                                {"_W_per_unit", "W/unit", 1.0, 0.0, 2}},
};

/* What each is read as; of several that are shown in one quantity the first is that of limits. */
static const enum shv_quantity quantities[REPORT_MEASURE_COUNT] = {
    [REPORT_LENGTH] = SHV_Q_LENGTH,
    [REPORT_VOLUME] = SHV_Q_VOLUME,
    [REPORT_DISPLACEMENT] = SHV_Q_DISPLACEMENT,
    [REPORT_AREA] = SHV_Q_AREA,
    [REPORT_ANGLE] = SHV_Q_ANGLE,
    [REPORT_SPEED] = SHV_Q_SPEED,
    [REPORT_ROTATION] = SHV_Q_ROTATION,
    [REPORT_PRESSURE] = SHV_Q_PRESSURE_ABSOLUTE,
    [REPORT_GAUGE] = SHV_Q_PRESSURE_GAUGE,
    [REPORT_PRESSURE_CHANGE] = SHV_Q_PRESSURE_DIFFERENCE,
    [REPORT_CYLINDER] = SHV_Q_PRESSURE_ABSOLUTE,
    [REPORT_CYLINDER_CHANGE] = SHV_Q_PRESSURE_DIFFERENCE,
    [REPORT_TEMPERATURE] = SHV_Q_TEMPERATURE,
    [REPORT_TEMPERATURE_CHANGE] = SHV_Q_TEMPERATURE_DIFFERENCE,
    [REPORT_POWER] = SHV_Q_POWER,
    [REPORT_TORQUE] = SHV_Q_TORQUE,
    [REPORT_AIR_FLOW] = SHV_Q_AIR_FLOW,
    [REPORT_FUEL_FLOW] = SHV_Q_MASS_FLOW,
    [REPORT_FUEL_VOLUME] = SHV_Q_VOLUME_FLOW,
    [REPORT_INJECTOR_FLOW] = SHV_Q_VOLUME_FLOW,
    [REPORT_SPECIFIC_CONSUMPTION] = SHV_Q_SPECIFIC_CONSUMPTION,
    [REPORT_ROAD_SPEED] = SHV_Q_SPEED,
    [REPORT_FORCE] = SHV_Q_FORCE,
    [REPORT_MASS] = SHV_Q_MASS,
    [REPORT_LIFE] = SHV_Q_TIME,
    [REPORT_VACUUM] = SHV_Q_PRESSURE_DIFFERENCE,
};

enum shv_quantity report_quantity(enum report_measure measure)
{
    return quantities[measure];
}

const struct report_unit *report_unit(enum report_measure measure, enum shv_unit_system system)
{
    return &units[measure][system == SHV_US];
}

double report_shown(enum report_measure measure, enum shv_unit_system system, double value)
{
    const struct report_unit *unit = report_unit(measure, system);
    return unit->factor * (value - unit->zero);
}

enum report_measure report_value_measure(enum shv_limit limit)
{
    switch (shv_limit_info(limit)->shown) {
    case SHV_SHOWN_PERCENT:
        return REPORT_PERCENT;
    case SHV_SHOWN_MONEY:
        return REPORT_MONEY;
    case SHV_SHOWN_VACUUM:
        return REPORT_VACUUM;
    case SHV_SHOWN_PLAIN:
        break;
    }
    enum shv_quantity quantity = shv_limit_info(limit)->quantity;
    for (int i = REPORT_NUMBER; i < REPORT_MEASURE_COUNT; i++) {
        /* The only mass flow and the only absolute pressure with a limit. */
        if (quantities[i] == quantity && i != REPORT_PRESSURE && i != REPORT_AIR_FLOW) {
            return (enum report_measure)i;
        }
    }
    return REPORT_NUMBER;
}

enum report_measure report_room_measure(enum shv_limit limit)
{
    switch (shv_limit_info(limit)->quantity) {
    case SHV_Q_TEMPERATURE:
        return REPORT_TEMPERATURE_CHANGE;
    case SHV_Q_PRESSURE_ABSOLUTE:
        return REPORT_CYLINDER_CHANGE;
    case SHV_Q_PRESSURE_GAUGE:
        return REPORT_PRESSURE_CHANGE;
    default:
        return report_value_measure(limit);
    }
}
