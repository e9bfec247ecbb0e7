/* curves.csv: every state of the best kits over the rev range, one row per kit, site and engine
 * speed. */
#include <math.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/summary.h"

struct curves_row {
    uint64_t rank;
    const char *site, *outcome, *bypass_open, *bleeding, *fuel_supply, *belt_grip;
    struct shv_point p;
    double inlet_vacuum;
};

#define AT(member) offsetof(struct curves_row, member)
#define IN(member) offsetof(struct curves_row, p.member)

/* The places of a point that are known even where the model has no answer come first. */
static const struct report_column known_columns[] = {
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_WHEN_RANKED, "Place in ranked.csv."},
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS, "Name of the site."},
    {"engine_speed", REPORT_ROTATION, 7, IN(engine_speed), REPORT_ALWAYS, "Speed of the crank."},
    {"outcome", REPORT_TEXT, 0, AT(outcome), REPORT_ALWAYS,
     "`ok`, or why there is no answer here; then the states that depend on it are empty."},
    {"rotor_speed", REPORT_ROTATION, 7, IN(rotor_speed), REPORT_ALWAYS, "Speed of the rotors."},
    {"belt_speed", REPORT_SPEED, 7, IN(belt_speed), REPORT_ALWAYS,
     "Speed of the belt at its pitch line; empty when the pulleys are not known."},
    {"piston_speed", REPORT_SPEED, 7, IN(piston_speed), REPORT_ALWAYS, "Mean piston speed."},
    {"ambient_pressure", REPORT_PRESSURE, 7, IN(ambient_pressure), REPORT_ALWAYS,
     "Pressure of the air at the site."},
    {"ambient_temperature", REPORT_TEMPERATURE, 7, IN(ambient_temperature), REPORT_ALWAYS,
     "Temperature of the air at the site."},
};

static const struct report_column air_columns[] = {
    {"bypass_open", REPORT_TEXT, 0, AT(bypass_open), REPORT_ALWAYS,
     "`yes` where the blower can't keep up and the engine breathes through the bypass."},
    {"bleeding", REPORT_TEXT, 0, AT(bleeding), REPORT_ALWAYS,
     "`yes` where the bypass lets air go to hold the set boost."},
    {"inlet_pressure", REPORT_PRESSURE, 7, IN(inlet_pressure), REPORT_ALWAYS,
     "Pressure at the blower's inlet."},
    {"inlet_temperature", REPORT_TEMPERATURE, 7, IN(inlet_temperature), REPORT_ALWAYS,
     "Temperature at the blower's inlet."},
    {"inlet_vacuum", REPORT_VACUUM, 7, AT(inlet_vacuum), REPORT_ALWAYS,
     "Pressure at the blower's inlet below that of the site's air: with the bypass shut what its "
     "actuator sees."},
    {"outlet_pressure", REPORT_PRESSURE, 7, IN(outlet_pressure), REPORT_ALWAYS,
     "Pressure at the blower's outlet."},
    {"pressure_ratio", REPORT_NUMBER, 7, IN(pressure_ratio), REPORT_ALWAYS,
     "Outlet over inlet pressure of the blower."},
    {"discharge_temperature", REPORT_TEMPERATURE, 7, IN(discharge_temperature), REPORT_ALWAYS,
     "Temperature at the blower's outlet."},
    {"manifold_pressure", REPORT_PRESSURE, 7, IN(manifold_pressure), REPORT_ALWAYS,
     "Pressure in the intake manifold."},
    {"boost", REPORT_GAUGE, 7, IN(boost), REPORT_ALWAYS,
     "Manifold pressure above that of the site's air."},
    {"charge_temperature", REPORT_TEMPERATURE, 7, IN(charge_temperature), REPORT_ALWAYS,
     "Temperature in the intake manifold."},
    {"coolant_temperature", REPORT_TEMPERATURE, 7, IN(coolant_temperature), REPORT_ALWAYS,
     "Coolant entering the charge cooler; empty without one."},
    {"effectiveness", REPORT_NUMBER, 7, IN(effectiveness), REPORT_ALWAYS,
     "Effectiveness of the charge cooler at this flow; 0 without one."},
    {"cooler_drop", REPORT_PRESSURE_CHANGE, 7, IN(cooler_drop), REPORT_ALWAYS,
     "Pressure drop of the charge across the cooler."},
    {"cooler_heat", REPORT_POWER, 7, IN(cooler_heat), REPORT_ALWAYS, "Heat taken from the charge."},
    {"blower_flow", REPORT_AIR_FLOW, 7, IN(blower_flow), REPORT_ALWAYS,
     "Moist air delivered by the blower, net of leakage."},
    {"leakage_flow", REPORT_AIR_FLOW, 7, IN(leakage_flow), REPORT_ALWAYS,
     "Air that leaks back past the rotors."},
    {"bleed_flow", REPORT_AIR_FLOW, 7, IN(bleed_flow), REPORT_ALWAYS,
     "Air let go through the bypass to hold the set boost."},
    {"condensed_flow", REPORT_AIR_FLOW, 7, IN(condensed_flow), REPORT_ALWAYS,
     "Water that condenses in the charge cooler."},
    {"air_flow", REPORT_AIR_FLOW, 7, IN(air_flow), REPORT_ALWAYS, "Moist air into the engine."},
    {"dry_air_flow", REPORT_AIR_FLOW, 7, IN(dry_air_flow), REPORT_ALWAYS,
     "Dry air into the engine."},
    {"exhaust_pressure", REPORT_PRESSURE, 7, IN(exhaust_pressure), REPORT_ALWAYS,
     "Pressure at the exhaust valves."},
};

static const struct report_column power_columns[] = {
    {"blower_volumetric_efficiency", REPORT_NUMBER, 7, IN(blower_volumetric_efficiency),
     REPORT_ALWAYS,
     "Delivered volume at inlet state over swept volume; empty with the bypass open."},
    {"blower_isentropic_efficiency", REPORT_NUMBER, 7, IN(blower_isentropic_efficiency),
     REPORT_ALWAYS,
     "Isentropic enthalpy rise of the flow over shaft power; empty with the bypass open."},
    {"clearance_left", REPORT_NUMBER, 7, IN(clearance_left), REPORT_ALWAYS,
     "Share of the leakage area at assembly that is left when hot; 0 means that rotors touch."},
    {"gas_power", REPORT_POWER, 7, IN(gas_power), REPORT_ALWAYS, "Work of the rotors on the gas."},
    {"windage_power", REPORT_POWER, 7, IN(windage_power), REPORT_ALWAYS,
     "Windage in the blower; it heats the gas."},
    {"bearing_power", REPORT_POWER, 7, IN(bearing_power), REPORT_ALWAYS,
     "Friction of bearings, gears and seals; it does not heat the gas."},
    {"case_heat", REPORT_POWER, 7, IN(case_heat), REPORT_ALWAYS, "Heat lost by the blower's case."},
    {"blower_power", REPORT_POWER, 7, IN(blower_power), REPORT_ALWAYS,
     "Power at the blower's shaft."},
    {"drive_power", REPORT_POWER, 7, IN(drive_power), REPORT_ALWAYS,
     "Power taken from the crank for it."},
    {"volumetric_efficiency", REPORT_NUMBER, 7, IN(volumetric_efficiency), REPORT_ALWAYS,
     "Of the engine, against the density in the manifold."},
    {"fuel_flow", REPORT_FUEL_FLOW, 7, IN(fuel_flow), REPORT_ALWAYS, "Fuel of the whole engine."},
    {"indicated_efficiency", REPORT_NUMBER, 7, IN(indicated_efficiency), REPORT_ALWAYS,
     "Gross indicated power over the fuel's heating value."},
    {"indicated_power", REPORT_POWER, 7, IN(indicated_power), REPORT_ALWAYS,
     "Gross indicated power."},
    {"pumping_power", REPORT_POWER, 7, IN(pumping_power), REPORT_ALWAYS,
     "Work of gas exchange; above 0 when boost pushes the pistons."},
    {"friction_power", REPORT_POWER, 7, IN(friction_power), REPORT_ALWAYS,
     "Mechanical friction of the engine."},
    {"power", REPORT_POWER, 7, IN(brake_power), REPORT_ALWAYS,
     "Brake power at the crank, drive of the blower taken off."},
    {"torque", REPORT_TORQUE, 7, IN(torque), REPORT_ALWAYS, "Brake torque."},
    {"bmep", REPORT_PRESSURE_CHANGE, 7, IN(bmep), REPORT_ALWAYS, "Brake mean effective pressure."},
    {"bsfc", REPORT_SPECIFIC_CONSUMPTION, 7, IN(bsfc), REPORT_ALWAYS,
     "Brake specific fuel consumption; empty where no power is made."},
    {"power_j1349", REPORT_POWER, 7, IN(power_j1349), REPORT_ALWAYS,
     "Brake power corrected to SAE J1349 (June 1990)."},
    {"power_iso1585", REPORT_POWER, 7, IN(power_iso1585), REPORT_ALWAYS,
     "Brake power corrected to ISO 1585; see the note on its range."},
};

static const struct report_column cycle_columns[] = {
    {"ca50", REPORT_ANGLE, 7, IN(ca50), REPORT_ALWAYS,
     "Crank angle after top dead centre at which half of the heat is out; this and what follows up "
     "to `cycle_efficiency` is empty without the closed cycle."},
    {"phasing_retard", REPORT_ANGLE, 7, IN(phasing_retard), REPORT_ALWAYS,
     "How much later than the best `ca50` knock and ignition margin ask for; where the latest "
     "allowed is earlier, the cycle is that of the latest allowed."},
    {"knock_integral", REPORT_NUMBER, 7, IN(knock_integral), REPORT_ALWAYS,
     "Knock integral of the mean cycle at `ca50`; 1 means that the end gas ignites by itself."},
    {"peak_pressure", REPORT_CYLINDER, 7, IN(peak_pressure), REPORT_ALWAYS,
     "Highest pressure in the cylinder."},
    {"exhaust_temperature", REPORT_TEMPERATURE, 7, IN(exhaust_temperature), REPORT_ALWAYS,
     "Mean temperature of the gas that leaves the cylinder."},
    {"cycle_efficiency", REPORT_NUMBER, 7, IN(cycle_efficiency), REPORT_ALWAYS,
     "Gross efficiency of the closed cycle, before the factor that ties it to the stock torque "
     "curve."},
};

static const struct report_column supply_columns[] = {
    {"fuel_volume", REPORT_FUEL_VOLUME, 7, IN(fuel_volume_flow), REPORT_ALWAYS,
     "Fuel of the whole engine by liquid volume."},
    {"fuel_supply", REPORT_TEXT, 0, AT(fuel_supply), REPORT_ALWAYS,
     "`ok` where the flows of injectors and pump are known; `no_injector_flow` where the "
     "manifold's "
     "pressure shuts the injectors off, `beyond_pump_curve` where the pressure lies beyond the "
     "pump's curve: then the share has no finite value and its cell is empty. Empty without "
     "injectors and pump."},
    {"injector_duty", REPORT_PERCENT, 7, IN(injector_duty), REPORT_ALWAYS,
     "Share of the time that the injectors are held open; empty without injectors."},
    {"pump_flow", REPORT_PERCENT, 7, IN(pump_flow), REPORT_ALWAYS,
     "Fuel burnt over what the pump gives at its pressure; empty without a pump."},
};

static const struct report_column belt_columns[] = {
    {"belt_grip", REPORT_TEXT, 0, AT(belt_grip), REPORT_ALWAYS,
     "`ok`; `short` where the belt slips or has less than its margin against that; `none` where "
     "centrifugal tension has used up the static tension: then `belt_slip` has no finite value and "
     "its cell is empty. This and what follows is empty without a belt or without pulleys."},
    {"belt_slip", REPORT_PERCENT, 7, IN(belt_slip), REPORT_ALWAYS,
     "Pull of the belt, with its margin, over the pull at which it slips."},
    {"belt_tension", REPORT_FORCE, 7, IN(belt_tension), REPORT_ALWAYS,
     "Tension of the belt's tight side for each rib."},
    {"hub_load", REPORT_FORCE, 7, IN(hub_load), REPORT_ALWAYS,
     "Load of the belt on the blower's nose."},
};

/* Groups of columns that need an answer. */
static const struct {
    const struct report_column *table;
    size_t count;
} answers[] = {
    {air_columns, sizeof air_columns / sizeof *air_columns},
    {power_columns, sizeof power_columns / sizeof *power_columns},
    {cycle_columns, sizeof cycle_columns / sizeof *cycle_columns},
    {supply_columns, sizeof supply_columns / sizeof *supply_columns},
    {belt_columns, sizeof belt_columns / sizeof *belt_columns},
};
#define ANSWERS (sizeof answers / sizeof *answers)

void report_curves_layout(struct report_layout *layout, unsigned when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, known_columns, sizeof known_columns / sizeof *known_columns);
    for (size_t i = 0; i < ANSWERS; i++) {
        report_layout_add(layout, answers[i].table, answers[i].count);
    }
}

/* A share without a finite value is an empty cell: why must stand elsewhere. */
static const char *fuel_supply(const struct shv_point *p)
{
    if (isnan(p->injector_duty) && isnan(p->pump_flow)) {
        return NULL;
    }
    return isinf(p->injector_duty) ? "no_injector_flow"
           : isinf(p->pump_flow)   ? "beyond_pump_curve"
                                   : "ok";
}

/* A static tension worked out to keep the margin brings the share to 1 but for its last digits. */
#define AS_GOOD_AS_ALL (1.0 + 1e-9)

static const char *belt_grip(const struct shv_point *p)
{
    if (isnan(p->belt_slip)) {
        return NULL;
    }
    return isinf(p->belt_slip) ? "none" : p->belt_slip > AS_GOOD_AS_ALL ? "short" : "ok";
}

/* Empties what rests on an answer that is not there. */
static void blank(struct curves_row *row, const struct report_column *table, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char *at = (char *)row + table[i].offset;
        if (table[i].measure == REPORT_TEXT) {
            memcpy(at, &(const char *){NULL}, sizeof(const char *));
        } else {
            memcpy(at, &(double){NAN}, sizeof(double));
        }
    }
}

bool report_curves_rows(FILE *out, const struct report_layout *layout,
                        const struct shv_study *study, uint64_t rank,
                        const struct shv_curves *curves)
{
    bool good = true;
    for (size_t i = 0; good && i < curves->sites * curves->speeds; i++) {
        const struct shv_point *p = &curves->point[i];
        struct curves_row row = {.rank = rank,
                                 .site = study->sites[i / curves->speeds].name,
                                 .outcome = shv_outcome_name(p->outcome),
                                 .bypass_open = p->bypass_open ? "yes" : "no",
                                 .bleeding = p->bleeding ? "yes" : "no",
                                 .fuel_supply = fuel_supply(p),
                                 .belt_grip = belt_grip(p),
                                 .p = *p,
                                 .inlet_vacuum = p->ambient_pressure - p->inlet_pressure};
        /* Without a cycle the air is known all the same, and what is not is NAN. */
        bool unanswered = p->outcome != SHV_POINT_OK && p->outcome != SHV_POINT_NO_CYCLE;
        for (size_t k = 0; unanswered && k < ANSWERS; k++) {
            blank(&row, answers[k].table, answers[k].count);
        }
        good = report_row(out, layout, study->results.units, &row);
    }
    return good;
}

static bool write_stock(FILE *out, struct report_rows *rows)
{
    const struct shv_study *study = rows->run->study;
    struct report_layout layout;
    report_curves_layout(&layout, 0);
    return report_header(out, &layout, study->results.units) &&
           report_curves_rows(out, &layout, study, 0, &rows->stock);
}

enum shv_status shv_report_stock(const struct shv_run *run, const char *folder,
                                 struct shv_message *message)
{
    return report_rows_write(run, folder, "stock_engine.csv", write_stock, message);
}

static bool write_rows(FILE *out, struct report_rows *rows)
{
    const struct shv_run *run = rows->run;
    const struct shv_study *study = run->study;
    struct report_layout layout;
    report_curves_layout(&layout, REPORT_WHEN_RANKED);
    size_t kits = run->ranking->count;
    kits = kits < study->results.curves ? kits : study->results.curves;
    bool good = report_header(out, &layout, study->results.units);
    for (size_t i = 0; good && i < kits; i++) {
        struct report_summary summary;
        report_rows_take(rows, i, &summary);
        good = report_curves_rows(out, &layout, study, summary.rank, &rows->curves);
    }
    return good;
}

enum shv_status shv_report_curves(const struct shv_run *run, const char *folder,
                                  struct shv_message *message)
{
    return report_rows_write(run, folder, "curves.csv", write_rows, message);
}
