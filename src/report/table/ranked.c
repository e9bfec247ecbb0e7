/* ranked.csv: one row per combination that keeps every limit, the best first. */
#include <assert.h>
#include <string.h>

#include "report/table/files.h"
#include "report/table/objective.h"

#define AT(member) offsetof(struct shv_summary, member)

/* Which kit it is, what comes of it, then the rest. */
static const struct report_column result_columns[] = {
    {"rank", REPORT_COUNT, 0, AT(rank), REPORT_ALWAYS, "Place in the ranking, 1 is the best."},
    {"index", REPORT_COUNT, 0, AT(index), REPORT_ALWAYS,
     "Number of the combination in the space of combinations, from 0."},
    {"role", REPORT_TEXT, 0, AT(role), REPORT_ALWAYS,
     "`kit to sell` (the best that keeps every limit with the wanted probability), `strongest on "
     "paper` (when nothing is off), `both`, or empty. A kit to sell that is not among the best "
     "stands behind them as the last row."},
    {"blower", REPORT_TEXT, 0, AT(blower), REPORT_ALWAYS, "Name of the blower."},
    {"crank_pulley", REPORT_LENGTH, 6, AT(crank_pulley), REPORT_ALWAYS,
     "Effective diameter of the crank pulley."},
    {"blower_pulley", REPORT_LENGTH, 6, AT(blower_pulley), REPORT_ALWAYS,
     "Effective diameter of the blower pulley."},
    {"ratio", REPORT_NUMBER, 6, AT(ratio), REPORT_ALWAYS,
     "Turns of the blower pulley per turn of the crank, belt creep left out."},
    {"cooler", REPORT_TEXT, 0, AT(cooler), REPORT_WHEN_COOLERS,
     "Name of the charge cooler; `none` for none."},
    {"effectiveness", REPORT_NUMBER, 6, AT(effectiveness), REPORT_WHEN_COOLERS,
     "Effectiveness of the cooler at its rated flow; 0 without one."},
    {"fuel", REPORT_TEXT, 0, AT(fuel), REPORT_ALWAYS, "Name of the fuel."},
    REPORT_AKI_COLUMN(AT(aki)),
    {"lambda", REPORT_NUMBER, 6, AT(lambda), REPORT_ALWAYS,
     "Air over stoichiometric air, below 1 is rich."},
    REPORT_AIR_FUEL_COLUMN("air_fuel_ratio", AT(air_fuel_ratio)),
    {"ignition_margin", REPORT_ANGLE, 6, AT(ignition_margin), REPORT_WHEN_CYCLE,
     "How much later than knock asks for the ignition is held."},
    {"injector", REPORT_TEXT, 0, AT(injector), REPORT_WHEN_INJECTORS, "Name of the injectors."},
    {"injector_flow", REPORT_INJECTOR_FLOW, 6, AT(injector_flow), REPORT_WHEN_INJECTORS,
     "Rated flow of one of them, held open."},
    {"injector_mass_flow", REPORT_FUEL_FLOW, 6, AT(injector_mass_flow), REPORT_WHEN_US_INJECTORS,
     "The same by mass of the fluid that it was rated with; only in US units."},
    {"pump", REPORT_TEXT, 0, AT(pump), REPORT_WHEN_PUMPS, "Name of the fuel pump."},
    {"ribs", REPORT_NUMBER, 6, AT(ribs), REPORT_WHEN_BELT, "Ribs of the belt."},
    {"wrap", REPORT_ANGLE, 6, AT(wrap), REPORT_WHEN_BELT,
     "Wrap of the belt on the blower's pulley, chosen or as the layout gives it."},
    {"objective", REPORT_OBJECTIVE, 9, AT(objective), REPORT_ALWAYS, "What the ranking is by: %s."},
    {"peak_power", REPORT_POWER, 6, AT(peak_power), REPORT_ALWAYS,
     "Highest brake power at the first site; drive of the blower taken off."},
    {"peak_power_speed", REPORT_ROTATION, 6, AT(peak_power_speed), REPORT_ALWAYS,
     "Engine speed of that power."},
    {"gain", REPORT_POWER, 6, AT(gain), REPORT_ALWAYS,
     "That power less the highest power of the stock engine at the first site."},
    {"highest_boost", REPORT_GAUGE, 6, AT(boost), REPORT_ALWAYS,
     "Highest manifold pressure above site ambient, over sites and speeds."},
    {"price", REPORT_MONEY, 9, AT(price), REPORT_WHEN_PRICED,
     "Sum of the prices of all parts, in the study's money."},
    {"mass", REPORT_MASS, 6, AT(mass), REPORT_WHEN_WEIGHED, "Sum of the masses of all parts."},
    {"binding_limit", REPORT_TEXT, 0, AT(binding_limit), REPORT_ALWAYS,
     "Name of the limit with the least room, as in rejected.csv; empty when there is no limit."},
    {"binding_share", REPORT_PERCENT, 6, AT(binding_share), REPORT_ALWAYS,
     "Its room, in per cent."},
    {"binding_speed", REPORT_ROTATION, 6, AT(binding_speed), REPORT_ALWAYS,
     "Engine speed where the binding limit is tightest; this and the site are empty when it is a "
     "property of the whole kit."},
    {"binding_site", REPORT_TEXT, 0, AT(binding_site), REPORT_ALWAYS,
     "Site where the binding limit is tightest."},
    {"weakest_power", REPORT_POWER, 6, AT(weakest_power), REPORT_WHEN_SITES,
     "Highest brake power at the weakest site."},
    {"weakest_site", REPORT_TEXT, 0, AT(weakest_site), REPORT_WHEN_SITES,
     "Name of the weakest site."},
    {"peak_torque", REPORT_TORQUE, 6, AT(peak_torque), REPORT_ALWAYS,
     "Highest brake torque at the first site."},
    {"peak_torque_speed", REPORT_ROTATION, 6, AT(peak_torque_speed), REPORT_ALWAYS,
     "Engine speed of that torque."},
    {"bsfc", REPORT_SPECIFIC_CONSUMPTION, 6, AT(bsfc), REPORT_ALWAYS,
     "Brake specific fuel consumption where power peaks at the first site."},
    {"ca50", REPORT_ANGLE, 6, AT(ca50), REPORT_WHEN_CYCLE,
     "Crank angle after top dead centre at which half of the heat is out, where power peaks at the "
     "first site."},
    {"phasing_retard", REPORT_ANGLE, 6, AT(phasing_retard), REPORT_WHEN_CYCLE, "Retard there."},
    {"power_j1349", REPORT_POWER, 6, AT(power_j1349), REPORT_ALWAYS,
     "Peak power at the first site, corrected to SAE J1349 (June 1990)."},
    {"power_iso1585", REPORT_POWER, 6, AT(power_iso1585), REPORT_ALWAYS,
     "Peak power at the first site, corrected to ISO 1585; see the note on its range."},
    {"highest_rotor_speed", REPORT_ROTATION, 6, AT(rotor_speed), REPORT_ALWAYS,
     "Highest speed of the rotors."},
    {"highest_pressure_ratio", REPORT_NUMBER, 6, AT(pressure_ratio), REPORT_ALWAYS,
     "Highest outlet over inlet pressure of the blower, over sites and speeds."},
    {"highest_discharge_temperature", REPORT_TEMPERATURE, 6, AT(discharge_temperature),
     REPORT_ALWAYS, "Highest gas temperature at the blower's outlet, over sites and speeds."},
    {"highest_charge_temperature", REPORT_TEMPERATURE, 6, AT(charge_temperature), REPORT_ALWAYS,
     "Highest gas temperature in the manifold, over sites and speeds."},
    {"highest_blower_power", REPORT_POWER, 6, AT(blower_power), REPORT_ALWAYS,
     "Highest power at the blower's shaft, over sites and speeds."},
    {"highest_fuel_flow", REPORT_FUEL_FLOW, 6, AT(fuel_flow), REPORT_ALWAYS,
     "Highest fuel flow, over sites and speeds."},
    {"highest_fuel_volume", REPORT_FUEL_VOLUME, 6, AT(fuel_volume), REPORT_ALWAYS,
     "Highest fuel flow by liquid volume, over sites and speeds."},
    {"highest_phasing_retard", REPORT_ANGLE, 6, AT(highest_retard), REPORT_WHEN_CYCLE,
     "Largest retard for knock, ignition margin and peak pressure, over sites and speeds."},
    {"highest_phasing_retard_speed", REPORT_ROTATION, 6, AT(highest_retard_speed),
     REPORT_WHEN_CYCLE, "Engine speed of that retard."},
    {"highest_phasing_retard_site", REPORT_TEXT, 0, AT(highest_retard_site), REPORT_WHEN_CYCLE,
     "Site of that retard."},
    {"highest_knock_integral", REPORT_NUMBER, 6, AT(knock_integral), REPORT_WHEN_CYCLE,
     "Highest knock integral of the mean cycle, over sites and speeds."},
    {"highest_peak_pressure", REPORT_CYLINDER, 6, AT(peak_pressure), REPORT_WHEN_CYCLE,
     "Highest pressure in the cylinder, over sites and speeds."},
    {"highest_exhaust_temperature", REPORT_TEMPERATURE, 6, AT(exhaust_temperature),
     REPORT_WHEN_CYCLE,
     "Highest mean temperature of the gas that leaves the cylinder, over sites and speeds."},
    {"highest_injector_duty", REPORT_PERCENT, 6, AT(injector_duty), REPORT_WHEN_INJECTORS,
     "Largest share of the time that the injectors are held open, over sites and speeds."},
    {"highest_pump_flow", REPORT_PERCENT, 6, AT(pump_flow), REPORT_WHEN_PUMPS,
     "Largest share of what the pump gives that is burnt, over sites and speeds."},
    {"bypass_open_points", REPORT_COUNT, 0, AT(bypass_open_points), REPORT_ALWAYS,
     "How many points of the curves have the bypass open because the blower can't keep up."},
    {"highest_coolant_temperature", REPORT_TEMPERATURE, 6, AT(coolant_temperature),
     REPORT_WHEN_COOLERS,
     "Highest temperature of the coolant that enters the charge cooler, over sites and speeds; "
     "empty without one."},
    {"lowest_clearance_left", REPORT_NUMBER, 6, AT(clearance_left), REPORT_ALWAYS,
     "Least share of the leakage area at assembly that is left when hot, over sites and speeds."},
    {"highest_bypass_vacuum", REPORT_VACUUM, 6, AT(bypass_vacuum), REPORT_ALWAYS,
     "Largest vacuum at the blower's inlet with the bypass shut, over sites and speeds: what its "
     "actuator sees at full throttle."},
    {"belt_length", REPORT_LENGTH, 6, AT(belt_length), REPORT_WHEN_BELT,
     "Length of the belt at its pitch line; empty where an idler makes the wrap, as its place is "
     "not known."},
    {"belt_to_order", REPORT_LENGTH, 6, AT(belt_to_order), REPORT_WHEN_BELT_SOLD,
     "Of the lengths that belts are sold in the shortest that is long enough; empty when none is."},
    {"static_tension", REPORT_FORCE, 6, AT(static_tension), REPORT_WHEN_BELT,
     "Tension of one side of the belt at rest, as given or as much as keeps the margin against "
     "slip."},
    {"highest_belt_slip", REPORT_PERCENT, 6, AT(belt_slip), REPORT_WHEN_BELT,
     "Largest pull of the belt, with its margin, over the pull at which it slips."},
    {"highest_belt_tension", REPORT_FORCE, 6, AT(belt_tension), REPORT_WHEN_BELT,
     "Highest tension of one rib, over sites and speeds."},
    {"highest_belt_tension_speed", REPORT_ROTATION, 6, AT(belt_tension_speed), REPORT_WHEN_BELT,
     "Engine speed of that tension."},
    {"highest_belt_tension_site", REPORT_TEXT, 0, AT(belt_tension_site), REPORT_WHEN_BELT,
     "Site of that tension."},
    {"highest_hub_load", REPORT_FORCE, 6, AT(hub_load), REPORT_WHEN_BELT,
     "Highest load of the belt on the blower's nose, running or at rest."},
    {"bearing_life", REPORT_LIFE, 6, AT(bearing_life), REPORT_WHEN_DUTY,
     "Basic rating life of the nose bearing over the duty, at the hardest site; empty without "
     "bearing or load."},
    {"over_continuous_speed", REPORT_PERCENT, 6, AT(over_continuous), REPORT_WHEN_DUTY,
     "Share of the duty with rotors above their continuous speed; empty without such a speed."},
    {"cruise_drag", REPORT_POWER, 6, AT(cruise_drag), REPORT_WHEN_CRUISE,
     "Power that the rotors take at the cruise point and first site, with the bypass open, or shut "
     "when its area is not given; this and what follows about cruise is empty without an answer "
     "there."},
    {"cruise_fuel", REPORT_FUEL_VOLUME, 6, AT(cruise_fuel), REPORT_WHEN_CRUISE,
     "Fuel that this drag costs in an hour."},
    {"cruise_fuel_distance", REPORT_FUEL_DISTANCE, 6, AT(cruise_fuel_distance), REPORT_WHEN_CRUISE,
     "Fuel that it costs over a distance; empty without a road speed."},
};

void report_kit_columns(struct report_layout *layout)
{
    report_layout_add(layout, result_columns, sizeof result_columns / sizeof *result_columns);
    report_layout_add_rooms(layout, AT(margin));
}

static const struct report_column *find(const char *stem, size_t length)
{
    for (size_t i = 0; i < sizeof result_columns / sizeof *result_columns; i++) {
        const char *known = result_columns[i].stem;
        if (strncmp(known, stem, length) == 0 && known[length] == '\0') {
            return &result_columns[i];
        }
    }
    return NULL;
}

void report_add_kit_columns(struct report_layout *layout, const char *before, size_t offset,
                            const char *stems)
{
    for (const char *at = stems; *at != '\0'; at += strspn(at, " ")) {
        size_t length = strcspn(at, " :");
        const struct report_column *known = find(at, length);
        assert(known);
        struct report_column column = *known;
        column.when = column.when == REPORT_WHEN_US ? REPORT_WHEN_US : REPORT_ALWAYS;
        column.offset += offset;
        at += length;
        if (*at == ':') {
            column.digits = at[1] - '0';
            at += 2;
        }
        report_layout_add_named(layout, before, column);
    }
}

void report_add_combination(struct report_layout *layout, size_t offset)
{
    report_add_kit_columns(layout, "", offset,
                           "index blower crank_pulley blower_pulley ratio cooler effectiveness "
                           "fuel aki lambda air_fuel_ratio");
}

struct shv_summary report_combination(const struct shv_run *run, uint64_t index)
{
    struct shv_summary summary;
    struct shv_kit kit;
    shv_space_kit(run->space, run->study, index, &kit);
    shv_summarise_kit(run->study, &kit, &summary);
    summary.index = index;
    return summary;
}

static uint64_t index_of(const void *data, size_t i)
{
    const struct report_rows *rows = ((const struct report_kits *)data)->rows;
    return rows->run->ranking->item[i].index;
}

static bool write_row(void *data, size_t i, struct shv_summary *kit)
{
    struct report_kits *kits = data;
    const struct shv_run *run = kits->rows->run;
    report_rows_place(kits->rows, i, kit);
    kit->objective = report_objective_shown(run->study, run->ranking->item[i].objective);
    report_csv_row(kits->csv, kit);
    return kits->csv->error == 0;
}

static void write_rows(struct report_csv *csv, void *data)
{
    struct report_kits kits = {csv, data, 0};
    const struct shv_summary_list list = {kits.rows->run->ranking->count, &kits, index_of,
                                          write_row};
    (void)shv_summaries_each(&kits.rows->of, &list);
}

const struct report_table report_ranked = {
    .file = "ranked.csv",
    .about = "ranked.csv: one row per combination that keeps every limit, the best first",
    .more = report_kit_columns,
    .write = write_rows,
    .of_kits = true};
