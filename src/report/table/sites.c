/* sites.csv: the best kit for each site alone, against the one that is best for all of them. */
#include <math.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"

struct site_row {
    const char *site, *found, *holds, *broken, *broken_site;
    const char *blower, *cooler, *fuel;
    uint64_t index;
    double crank_pulley, blower_pulley, ratio, effectiveness, lambda, air_fuel_ratio, aki;
    double alone, common, loss;
};

#define AT(member) offsetof(struct site_row, member)

static const struct report_column columns[] = {
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS,
     "Name of the site that the row's kit is the best for, as if there were no other."},
    {"found", REPORT_TEXT, 0, AT(found), REPORT_ALWAYS,
     "`yes` when some combination keeps every limit there; else what belongs to a kit is empty."},
    {"index", REPORT_COUNT, 0, AT(index), REPORT_ALWAYS,
     "Number of its combination, as in ranked.csv; sheave point tells the rest of it."},
    {"blower", REPORT_TEXT, 0, AT(blower), REPORT_ALWAYS, "Its blower."},
    {"crank_pulley", REPORT_LENGTH, 6, AT(crank_pulley), REPORT_ALWAYS,
     "Its crank pulley, effective diameter."},
    {"blower_pulley", REPORT_LENGTH, 6, AT(blower_pulley), REPORT_ALWAYS,
     "Its blower pulley, effective diameter."},
    {"ratio", REPORT_NUMBER, 6, AT(ratio), REPORT_ALWAYS, "Their ratio."},
    {"cooler", REPORT_TEXT, 0, AT(cooler), REPORT_ALWAYS, "Its charge cooler; `none` for none."},
    {"effectiveness", REPORT_NUMBER, 6, AT(effectiveness), REPORT_ALWAYS,
     "That one's effectiveness at its rated flow."},
    {"fuel", REPORT_TEXT, 0, AT(fuel), REPORT_ALWAYS, "Its fuel."},
    REPORT_AKI_COLUMN(AT(aki)),
    {"lambda", REPORT_NUMBER, 6, AT(lambda), REPORT_ALWAYS, "Its lambda."},
    REPORT_AIR_FUEL_COLUMN("air_fuel_ratio", AT(air_fuel_ratio)),
    REPORT_OBJECTIVE_COLUMNS("alone", AT(alone), "The objective of that kit at that site."),
    REPORT_OBJECTIVE_COLUMNS("common", AT(common),
                             "The objective at that site of the kit that is best for all sites, "
                             "the first of ranked.csv; "
                             "empty without one."),
    {"shortfall", REPORT_PERCENT, 6, AT(loss), REPORT_ALWAYS,
     "By how much that falls short of the site's own best: what is lost there by doing with one "
     "kit everywhere; empty for a temperature."},
    {"holds_everywhere", REPORT_TEXT, 0, AT(holds), REPORT_ALWAYS,
     "Whether the site's own best keeps every limit at all sites."},
    {"broken_elsewhere", REPORT_TEXT, 0, AT(broken), REPORT_ALWAYS,
     "Else the first limit that it breaks, or why it has no answer."},
    {"broken_at", REPORT_TEXT, 0, AT(broken_site), REPORT_ALWAYS, "And at which site."},
};

void report_sites_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, columns, sizeof columns / sizeof *columns);
}

static void take_kit(const struct shv_run *run, uint64_t index, struct site_row *row)
{
    const struct shv_study *study = run->study;
    struct shv_kit kit;
    shv_space_kit(run->space, study, index, &kit);
    row->index = index;
    row->blower = study->blowers[kit.blower].name;
    row->cooler = study->coolers[kit.cooler].name;
    row->fuel = study->fuels[kit.fuel].name;
    row->crank_pulley = kit.crank_diameter;
    row->blower_pulley = kit.blower_diameter;
    row->ratio = kit.ratio;
    row->effectiveness = kit.effectiveness;
    row->lambda = kit.lambda;
    row->air_fuel_ratio = report_air_fuel_ratio(study, &kit);
    row->aki = report_aki(study, kit.fuel);
}

static void make_row(const struct shv_run *run, const struct shv_site_shortfall *p,
                     struct site_row *row)
{
    const struct shv_study *study = run->study;
    *row = (struct site_row){.site = study->sites[p->site].name,
                             .found = p->found ? "yes" : "no",
                             .index = REPORT_NO_COUNT,
                             .crank_pulley = NAN,
                             .blower_pulley = NAN,
                             .ratio = NAN,
                             .effectiveness = NAN,
                             .lambda = NAN,
                             .air_fuel_ratio = NAN,
                             .aki = NAN,
                             .alone = report_objective_shown(study, p->alone),
                             .common = report_objective_shown(study, p->common),
                             .loss = NAN};
    if (!p->found) {
        return;
    }
    take_kit(run, p->index, row);
    row->loss = report_objective_loss(study, p->alone, p->common);
    row->holds = p->holds ? "yes" : "no";
    if (!p->holds) {
        row->broken = p->broken >= 0 ? shv_limit_info((enum shv_limit)p->broken)->name
                                     : shv_outcome_name(p->outcome);
        row->broken_site = study->sites[p->broken_site].name;
    }
}

static bool write_rows(FILE *out, const struct shv_run *run)
{
    enum shv_unit_system units = run->study->results.units;
    struct report_layout layout;
    report_sites_layout(&layout, report_when_objective(run->study));
    bool good = report_header(out, &layout, units);
    for (size_t i = 0; good && i < run->study->site_count; i++) {
        struct site_row row;
        make_row(run, &run->site_shortfalls[i], &row);
        good = report_row(out, &layout, units, &row);
    }
    return good;
}

enum shv_status shv_report_sites(const struct shv_run *run, const char *folder,
                                 struct shv_message *message)
{
    if (!run->site_shortfalls) {
        return report_file_remove(folder, "sites.csv", message);
    }
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "sites.csv", message);
    return status == SHV_OK ? report_file_finish(&file, write_rows(file.stream, run), message)
                            : status;
}
