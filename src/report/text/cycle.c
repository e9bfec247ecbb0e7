/* The closed cycle of one cylinder over the crank angle as CSV. */
#include "report/table/files.h"

#define IN(member) offsetof(struct shv_cycle_sample, member)

static const struct report_column cycle_columns[] = {
    {"angle", REPORT_ANGLE, 7, IN(angle), REPORT_ALWAYS,
     "Crank angle; 0 is firing top dead centre, before it negative."},
    {"volume", REPORT_VOLUME, 7, IN(volume), REPORT_ALWAYS, "Volume of the cylinder."},
    {"pressure", REPORT_CYLINDER, 7, IN(pressure), REPORT_ALWAYS, "Pressure in the cylinder."},
    {"temperature", REPORT_TEMPERATURE, 7, IN(temperature), REPORT_ALWAYS,
     "Mean temperature of the gas."},
    {"end_gas_temperature", REPORT_TEMPERATURE, 7, IN(end_gas_temperature), REPORT_ALWAYS,
     "Temperature of the gas that is not yet burnt; empty once 95 % is burnt."},
    {"burned_share", REPORT_PERCENT, 7, IN(burned), REPORT_ALWAYS,
     "Share of the charge that is burnt."},
    {"work", REPORT_ENERGY, 7, IN(work), REPORT_ALWAYS,
     "Work of the gas on the piston since inlet closing."},
    {"wall_heat", REPORT_ENERGY, 7, IN(wall_heat), REPORT_ALWAYS,
     "Heat from gas to walls since inlet closing."},
    {"knock_integral", REPORT_NUMBER, 7, IN(knock_integral), REPORT_ALWAYS,
     "Knock integral so far; 1 means that the end gas ignites by itself."},
};

const struct report_table report_cycle = {
    .about =
        "Output of `sheave point --cycle`: one cylinder over the crank angle, one row per step",
    REPORT_COLUMNS(cycle_columns)};

enum shv_status shv_report_cycle(const struct shv_study *study,
                                 const struct shv_cycle_sample *samples, size_t count, FILE *out,
                                 struct shv_message *message)
{
    struct report_csv csv = {.out = out, .units = study->results.units};
    report_table_layout(&report_cycle, &csv.layout, 0);
    report_csv_head(&csv);
    for (size_t i = 0; i < count; i++) {
        report_csv_row(&csv, &samples[i]);
    }
    return report_csv_finish(&csv, "the cycle", message);
}
