/* map.csv: the kit to sell, else the one that ranks first, with other pulley ratios and cores:
 * where every limit holds, and which one ends that (sheave/choice_map.h). */
#include "report/table/files.h"

struct choice_row {
    struct shv_choice_cell cell;
    const char *reason;
};

#define AT(member) offsetof(struct choice_row, member)

static const struct report_column map_columns[] = {
    {"ratio", REPORT_NUMBER, 7, AT(cell.ratio), REPORT_ALWAYS,
     "Turns of the blower pulley per turn of the crank."},
    {"effectiveness", REPORT_NUMBER, 7, AT(cell.effectiveness), REPORT_ALWAYS,
     "Effectiveness of the kit's cooler at its rated flow; 0 without one."},
    {"blower_pulley", REPORT_LENGTH, 6, AT(cell.blower_diameter), REPORT_ALWAYS,
     "Blower pulley that gives this ratio on the kit's crank pulley."},
    {"reason", REPORT_TEXT, 0, AT(reason), REPORT_ALWAYS,
     "`feasible`, or why not, as in rejected.csv."},
    {"peak_power", REPORT_POWER, 6, AT(cell.peak_power), REPORT_ALWAYS,
     "Highest brake power at the first site; empty without an answer."},
};

static const char *reason_of(const struct shv_choice_cell *cell)
{
    return cell->outcome != SHV_POINT_OK ? shv_outcome_name(cell->outcome)
           : cell->limit >= 0            ? shv_limit_info((enum shv_limit)cell->limit)->name
                                         : "feasible";
}

static void write_map(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->choice_count; i++) {
        const struct choice_row row = {run->choices[i], reason_of(&run->choices[i])};
        report_csv_row(csv, &row);
    }
}

const struct report_table report_map = {"map.csv",
                                        "map.csv: the first kit with other pulley ratios and "
                                        "cores, one row per ratio and effectiveness",
                                        REPORT_COLUMNS(map_columns), .write = write_map};
