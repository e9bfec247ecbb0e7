/* map.csv: the kit that ranks first with other pulley ratios and cores: where every limit holds,
 * and which one ends that. A grid over what the study lets be chosen: any blower pulley on the
 * kit's crank pulley, any effectiveness of the kit's cooler between the least and the largest
 * listed. */
#include <math.h>

#include "report/table/files.h"
#include "report/table/summary.h"

#define RATIOS 81
#define CORES 25

struct map_row {
    double ratio, pulley, effectiveness, power;
    const char *reason;
};

#define AT(member) offsetof(struct map_row, member)

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

static const char *reason_of(const struct shv_verdict *v)
{
    const struct shv_brief brief = {v->objective, v->broken, (uint8_t)v->outcome};
    int limit;
    enum shv_outcome outcome = shv_brief_reason(&brief, &limit);
    return outcome != SHV_POINT_OK ? shv_outcome_name(outcome)
           : limit >= 0            ? shv_limit_info((enum shv_limit)limit)->name
                                   : "feasible";
}

static struct map_row evaluate(struct report_rows *rows, struct shv_kit kit)
{
    shv_model_evaluate(rows->run->model, &kit, &rows->curves);
    const struct shv_point *p = &rows->curves.point[shv_curves_peak_power(&rows->curves, 0)];
    return (struct map_row){.ratio = kit.ratio,
                            .pulley = kit.blower_diameter,
                            .effectiveness = kit.effectiveness,
                            .power = p->outcome == SHV_POINT_OK ? p->brake_power : NAN,
                            .reason = reason_of(&rows->curves.verdict)};
}

static double between(double from, double to, size_t i, size_t count)
{
    return count < 2 ? from : from + (to - from) * (double)i / (double)(count - 1);
}

static bool write_grid(FILE *out, const struct report_layout *layout, struct report_rows *rows,
                       struct shv_kit kit)
{
    const struct shv_study *study = rows->run->study;
    const struct shv_drive *drive = &study->drive;
    const struct shv_cooler *cooler = &study->coolers[kit.cooler];
    const double line = 2.0 * drive->line_offset, crank = kit.crank_diameter + line;
    double least = crank / (drive->blower_pulleys[drive->blower_count - 1] + line);
    double most = crank / (drive->blower_pulleys[0] + line);
    size_t ratios = most > least ? RATIOS : 1, cores = cooler->choices > 1 ? CORES : 1;
    bool good = true;
    for (size_t i = 0; i < cores; i++) {
        kit.effectiveness =
            between(cooler->effectiveness[0], cooler->effectiveness[cooler->choices - 1], i, cores);
        for (size_t k = 0; good && k < ratios; k++) {
            kit.ratio = between(least, most, k, ratios);
            kit.blower_diameter = crank / kit.ratio - line;
            struct map_row row = evaluate(rows, kit);
            good = report_row(out, layout, study->results.units, &row);
        }
    }
    return good;
}

static bool write_map(FILE *out, struct report_rows *rows)
{
    const struct shv_run *run = rows->run;
    struct report_layout layout;
    report_map_layout(&layout, 0);
    bool good = report_header(out, &layout, run->study->results.units);
    if (run->ranking->count == 0) {
        return good;
    }
    struct shv_kit kit;
    shv_space_kit(run->space, run->study, run->ranking->item[0].index, &kit);
    return good && write_grid(out, &layout, rows, kit);
}

enum shv_status shv_report_map(const struct shv_run *run, const char *folder,
                               struct shv_message *message)
{
    return report_rows_write(run, folder, "map.csv", write_map, message);
}
