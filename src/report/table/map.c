/* map.csv: the kit to sell, else the one that ranks first, with other pulley ratios and cores:
 * where every limit holds, and which one ends that (sheave/choice_map.h). */
#include "report/table/files.h"
#include "report/write/file.h"

struct choice_row {
    double ratio, pulley, effectiveness, power;
    const char *reason;
};

#define AT(member) offsetof(struct choice_row, member)

static const struct report_column map_columns[] = {
    {"ratio", REPORT_NUMBER, 7, AT(ratio), REPORT_ALWAYS,
     "Turns of the blower pulley per turn of the crank."},
    {"effectiveness", REPORT_NUMBER, 7, AT(effectiveness), REPORT_ALWAYS,
     "Effectiveness of the kit's cooler at its rated flow; 0 without one."},
    {"blower_pulley", REPORT_LENGTH, 6, AT(pulley), REPORT_ALWAYS,
     "Blower pulley that gives this ratio on the kit's crank pulley."},
    {"reason", REPORT_TEXT, 0, AT(reason), REPORT_ALWAYS,
     "`feasible`, or why not, as in rejected.csv."},
    {"peak_power", REPORT_POWER, 6, AT(power), REPORT_ALWAYS,
     "Highest brake power at the first site; empty without an answer."},
};

void report_map_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, map_columns, sizeof map_columns / sizeof *map_columns);
}

static const char *reason_of(const struct shv_choice_cell *cell)
{
    return cell->outcome != SHV_POINT_OK ? shv_outcome_name(cell->outcome)
           : cell->limit >= 0            ? shv_limit_info((enum shv_limit)cell->limit)->name
                                         : "feasible";
}

static bool write_map(FILE *out, const struct shv_run *run)
{
    struct report_layout layout;
    report_map_layout(&layout, 0);
    bool good = report_header(out, &layout, run->study->results.units);
    for (size_t i = 0; good && i < run->choice_count; i++) {
        const struct shv_choice_cell *cell = &run->choices[i];
        const struct choice_row row = {.ratio = cell->ratio,
                                       .pulley = cell->blower_diameter,
                                       .effectiveness = cell->effectiveness,
                                       .power = cell->peak_power,
                                       .reason = reason_of(cell)};
        good = report_row(out, &layout, run->study->results.units, &row);
    }
    return good;
}

enum shv_status shv_report_map(const struct shv_run *run, const char *folder,
                               struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "map.csv", message);
    return status == SHV_OK ? report_file_finish(&file, write_map(file.stream, run), message)
                            : status;
}
