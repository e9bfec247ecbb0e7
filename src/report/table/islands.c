/* islands.csv: how well the blower of the kit that goes first (report_lead_place) does over rotor
 * speed and pressure ratio: what the best kits' operating lines are drawn over. */
#include "report/table/files.h"
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

static void write_islands(struct report_csv *csv, void *data)
{
    struct report_rows *rows = data;
    struct shv_summary lead;
    struct shv_island cell[SHV_ISLAND_RATIOS * SHV_ISLAND_SPEEDS];
    if (rows->run->ranking->count == 0) {
        return;
    }
    report_rows_take(rows, report_lead_place(rows->run), &lead);
    shv_islands(rows->run->model, &lead, cell);
    for (size_t i = 0; i < sizeof cell / sizeof *cell; i++) {
        report_csv_row(csv, &cell[i]);
    }
}

const struct report_table report_islands = {"islands.csv",
                                            "islands.csv: the first kit's blower at the air of the "
                                            "first site, one row per speed and pressure ratio",
                                            REPORT_COLUMNS(island_columns), .write = write_islands,
                                            .of_kits = true};
