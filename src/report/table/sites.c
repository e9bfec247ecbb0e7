/* sites.csv: the best kit for each site alone, against the one that is best for all of them. */
#include <math.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/kit_choice.h"
#include "report/table/objective.h"

struct site_row {
    const char *site, *found, *holds, *broken, *broken_site;
    struct report_kit_choice kit;
    double alone, common, loss;
};

#define AT(member) offsetof(struct site_row, member)

static const struct report_column columns[] = {
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS,
     "Name of the site that the row's kit is the best for, as if there were no other."},
    {"found", REPORT_TEXT, 0, AT(found), REPORT_ALWAYS,
     "`yes` when some combination keeps every limit there; else what belongs to a kit is empty."},
    REPORT_KIT_CHOICE_COLUMNS(struct site_row, kit),
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

static void make_row(const struct shv_run *run, const struct shv_site_shortfall *p,
                     struct site_row *row)
{
    const struct shv_study *study = run->study;
    *row = (struct site_row){.site = study->sites[p->site].name,
                             .found = p->found ? "yes" : "no",
                             .kit = report_kit_choice_none(),
                             .alone = report_objective_shown(study, p->alone),
                             .common = report_objective_shown(study, p->common),
                             .loss = NAN};
    if (!p->found) {
        return;
    }
    row->kit = report_kit_choice(run->space, study, p->index);
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
