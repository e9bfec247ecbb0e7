/* islands.csv: how well the blower of the kit that goes first (report_lead_place) does over rotor
 * speed and pressure ratio: what the best kits' operating lines are drawn over. */
#include "report/table/files.h"
#include "report/table/rows.h"
#include "sheave/blower_islands.h"

#define AT(member) offsetof(struct shv_island, member)

static const struct report_column island_columns[] = {
    {"rotor_speed", REPORT_ROTATION, 7, AT(rotor_speed), REPORT_ALWAYS, "Speed of the rotors."},
    {"pressure_ratio", REPORT_NUMBER, 7, AT(pressure_ratio), REPORT_ALWAYS,
     "Outlet over inlet pressure."},
    {"blower_flow", REPORT_AIR_FLOW, 6, AT(flow), REPORT_ALWAYS,
     "Air delivered, net of leakage; this and what follows is empty beyond a measured map and "
     "where nothing is delivered."},
    {"blower_isentropic_efficiency", REPORT_NUMBER, 6, AT(isentropic_efficiency), REPORT_ALWAYS,
     "Isentropic enthalpy rise of the flow over shaft power."},
    {"blower_volumetric_efficiency", REPORT_NUMBER, 6, AT(volumetric_efficiency), REPORT_ALWAYS,
     "Delivered volume at inlet state over swept volume."},
    {"discharge_temperature", REPORT_TEMPERATURE, 6, AT(discharge_temperature), REPORT_ALWAYS,
     "Temperature at the blower's outlet."},
};

void report_islands_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, island_columns, sizeof island_columns / sizeof *island_columns);
}

static bool write_islands(FILE *out, struct report_rows *rows)
{
    struct report_layout layout;
    enum shv_unit_system units = rows->run->study->results.units;
    report_islands_layout(&layout, 0);
    bool good = report_header(out, &layout, units);
    if (rows->run->ranking->count > 0) {
        struct shv_summary lead;
        struct shv_island cell[SHV_ISLAND_RATIOS * SHV_ISLAND_SPEEDS];
        report_rows_take(rows, report_lead_place(rows->run), &lead);
        shv_islands(rows->run->model, &lead, cell);
        for (size_t i = 0; good && i < sizeof cell / sizeof *cell; i++) {
            good = report_row(out, &layout, units, &cell[i]);
        }
    }
    return good;
}

enum shv_status shv_report_islands(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    return report_rows_write(run, folder, "islands.csv", write_islands, message);
}
