/* islands.csv: how well the blower of the kit that goes first (report_lead_place) does over rotor
 * speed and pressure ratio, at the air of the first site: what the best kits' operating lines are
 * drawn over. */
#include <math.h>

#include "report/table/files.h"
#include "report/table/rows.h"

#define SPEEDS 61
#define RATIOS 46
#define SLOWEST 0.1 /* of the highest speed shown */
#define BEYOND 1.15 /* how far the axes go past what is used and allowed */

struct island_row {
    double rotor_speed, pressure_ratio, flow, isentropic, volumetric, discharge;
};

#define AT(member) offsetof(struct island_row, member)

static const struct report_column island_columns[] = {
    {"rotor_speed", REPORT_ROTATION, 7, AT(rotor_speed), REPORT_ALWAYS, "Speed of the rotors."},
    {"pressure_ratio", REPORT_NUMBER, 7, AT(pressure_ratio), REPORT_ALWAYS,
     "Outlet over inlet pressure."},
    {"blower_flow", REPORT_AIR_FLOW, 6, AT(flow), REPORT_ALWAYS,
     "Air delivered, net of leakage; this and what follows is empty beyond a measured map and "
     "where nothing is delivered."},
    {"blower_isentropic_efficiency", REPORT_NUMBER, 6, AT(isentropic), REPORT_ALWAYS,
     "Isentropic enthalpy rise of the flow over shaft power."},
    {"blower_volumetric_efficiency", REPORT_NUMBER, 6, AT(volumetric), REPORT_ALWAYS,
     "Delivered volume at inlet state over swept volume."},
    {"discharge_temperature", REPORT_TEMPERATURE, 6, AT(discharge), REPORT_ALWAYS,
     "Temperature at the blower's outlet."},
};

void report_islands_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, island_columns, sizeof island_columns / sizeof *island_columns);
}

static struct island_row island_at(const struct shv_blower *blower, const struct shv_gas *gas,
                                   const struct shv_ambient *air, double speed, double ratio)
{
    struct shv_blower_state s;
    shv_blower_state(blower, gas, air->pressure, air->temperature, speed, ratio * air->pressure,
                     &s);
    struct island_row row = {speed, ratio, NAN, NAN, NAN, NAN};
    if (!s.outside_map && s.flow > 0.0) {
        row.flow = s.flow;
        row.isentropic = s.isentropic_efficiency;
        row.volumetric = s.volumetric_efficiency;
        row.discharge = s.discharge_temperature;
    }
    return row;
}

/* As far as the kit goes, and as far as it may. */
static void find_ends(const struct report_rows *rows, const struct shv_summary *s, double *speed,
                      double *ratio)
{
    const struct shv_study *study = rows->run->study;
    const struct shv_ambient *air = &study->sites[0].ambient;
    double speed_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_ROTOR_SPEED);
    double ratio_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_PRESSURE_RATIO);
    double rise_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_PRESSURE_RISE);
    *speed = s->rotor_speed;
    *ratio = s->pressure_ratio;
    if (isfinite(speed_bound)) {
        *speed = fmax(*speed, speed_bound);
    }
    if (isfinite(ratio_bound)) {
        *ratio = fmax(*ratio, ratio_bound);
    } else if (isfinite(rise_bound)) {
        *ratio = fmax(*ratio, 1.0 + rise_bound / air->pressure);
    }
    *speed *= BEYOND;
    *ratio = 1.0 + (*ratio - 1.0) * BEYOND;
}

static bool write_grid(FILE *out, const struct report_layout *layout, struct report_rows *rows)
{
    const struct shv_study *study = rows->run->study;
    const struct shv_ambient *air = &study->sites[0].ambient;
    struct shv_summary s;
    const struct shv_gas *gas = shv_model_gas(rows->run->model, 0);
    double speed, ratio;
    report_rows_take(rows, report_lead_place(rows->run), &s);
    find_ends(rows, &s, &speed, &ratio);
    bool good = true;
    for (size_t i = 0; i < RATIOS; i++) {
        for (size_t k = 0; good && k < SPEEDS; k++) {
            double share = SLOWEST + (1.0 - SLOWEST) * (double)k / (SPEEDS - 1);
            struct island_row row =
                island_at(&study->blowers[s.kit.blower], gas, air, share * speed,
                          1.0 + (ratio - 1.0) * (double)i / (RATIOS - 1));
            good = report_row(out, layout, study->results.units, &row);
        }
    }
    return good;
}

static bool write_islands(FILE *out, struct report_rows *rows)
{
    struct report_layout layout;
    report_islands_layout(&layout, 0);
    return report_header(out, &layout, rows->run->study->results.units) &&
           (rows->run->ranking->count == 0 || write_grid(out, &layout, rows));
}

enum shv_status shv_report_islands(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    return report_rows_write(run, folder, "islands.csv", write_islands, message);
}
