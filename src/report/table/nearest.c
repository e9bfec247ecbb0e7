/* nearest.csv: where nothing is feasible, the kits nearest to it and what each broken limit of
 * theirs would have to be. */
#include <math.h>

#include "report/table/files.h"
#include "report/table/kit_choice.h"
#include "report/table/objective.h"
#include "report/write/file.h"

struct nearest_row {
    uint64_t number;
    const char *alone, *limit, *title, *unit, *site;
    double bound, needed, share, speed;
    struct report_kit_choice kit;
};

#define AT(member) offsetof(struct nearest_row, member)

static const struct report_column columns[] = {
    {"kit", REPORT_COUNT, 0, AT(number), REPORT_ALWAYS,
     "Number of the kit, one row for each limit."},
    {"alone", REPORT_TEXT, 0, AT(alone), REPORT_ALWAYS,
     "`yes` when this limit is the only one that the kit breaks."},
    {"limit", REPORT_TEXT, 0, AT(limit), REPORT_ALWAYS,
     "Name of the broken limit, as in rejected.csv."},
    {"title", REPORT_TEXT, 0, AT(title), REPORT_ALWAYS, "The same for people."},
    {"unit", REPORT_TEXT, 0, AT(unit), REPORT_ALWAYS,
     "Unit of bound and needed; empty for plain numbers and money."},
    {"bound", REPORT_NUMBER, 7, AT(bound), REPORT_ALWAYS, "The bound that counts for this kit."},
    {"needed", REPORT_NUMBER, 7, AT(needed), REPORT_ALWAYS,
     "What it would have to be; empty when no bound would do."},
    {"room", REPORT_PERCENT, 6, AT(share), REPORT_ALWAYS,
     "The room of the limit, in per cent of its span: negative."},
    {"tightest_speed", REPORT_ROTATION, 6, AT(speed), REPORT_ALWAYS,
     "Engine speed where it is broken the most; this and the site are empty for a property of the "
     "whole kit."},
    {"tightest_site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS, "The site."},
    REPORT_KIT_CHOICE_COLUMNS(struct nearest_row, kit),
};

void report_nearest_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, columns, sizeof columns / sizeof *columns);
}

static void take_limit(const struct shv_study *study, const struct shv_verdict *v,
                       enum shv_limit limit, struct nearest_row *row)
{
    const struct shv_limit_info *info = shv_limit_info(limit);
    const struct shv_limit_result *r = &v->limit[limit];
    enum report_measure measure = report_value_measure(limit);
    enum shv_unit_system units = study->results.units;
    row->limit = info->name;
    row->title = info->title;
    row->unit = report_unit(measure, units)->label;
    row->bound = report_shown(measure, units, r->bound);
    row->needed = report_shown(measure, units, r->value);
    row->share = r->share;
    row->speed = info->of_kit ? NAN : study->engine.speeds[r->speed];
    row->site = info->of_kit ? NULL : study->sites[r->site].name;
}

static bool write_rows(FILE *out, const struct shv_run *run)
{
    enum shv_unit_system units = run->study->results.units;
    struct report_layout layout;
    report_nearest_layout(&layout, report_when_units(units));
    bool good = report_header(out, &layout, units);
    for (size_t i = 0; i < run->nearest_count; i++) {
        const struct shv_nearest *n = &run->nearest[i];
        struct nearest_row row = {.number = i + 1,
                                  .alone = n->alone >= 0 ? "yes" : "no",
                                  .kit = report_kit_choice(run->space, run->study, n->index)};
        for (int k = 0; good && k < SHV_LIMIT_COUNT; k++) {
            if (n->verdict.broken & SHV_LIMIT_BIT(k)) {
                take_limit(run->study, &n->verdict, (enum shv_limit)k, &row);
                good = report_row(out, &layout, units, &row);
            }
        }
    }
    return good;
}

enum shv_status shv_report_nearest(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    if (run->nearest_count == 0) {
        return report_file_remove(folder, "nearest.csv", message);
    }
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "nearest.csv", message);
    return status == SHV_OK ? report_file_finish(&file, write_rows(file.stream, run), message)
                            : status;
}
