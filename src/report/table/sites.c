/* sites.csv: the best kit for each site alone, against the one that is best for all of them. */
#include <math.h>

#include "report/table/files.h"
#include "report/table/objective.h"

struct site_row {
    const char *site, *found, *holds, *broken, *broken_site;
    struct shv_summary kit;
    double alone, common, loss;
};

#define AT(member) offsetof(struct site_row, member)

static const struct report_column columns[] = {
    {"site", REPORT_TEXT, 0, AT(site), REPORT_ALWAYS,
     "Name of the site that the row's kit is the best for, as if there were no other."},
    {"found", REPORT_TEXT, 0, AT(found), REPORT_ALWAYS,
     "`yes` when some combination keeps every limit there; else what belongs to a kit is empty."},
};

static const struct report_column of_site_columns[] = {
    {"alone", REPORT_OBJECTIVE, 9, AT(alone), REPORT_ALWAYS,
     "The objective of that kit at that site."},
    {"common", REPORT_OBJECTIVE, 9, AT(common), REPORT_ALWAYS,
     "The objective at that site of the kit that is best for all sites, the first of ranked.csv; "
     "empty without one."},
    {"shortfall", REPORT_PERCENT, 6, AT(loss), REPORT_ALWAYS,
     "By how much that falls short of the site's own best: what is lost there by doing with one "
     "kit everywhere; empty for a temperature."},
    {"holds_everywhere", REPORT_TEXT, 0, AT(holds), REPORT_ALWAYS,
     "Whether the site's own best keeps every limit at all sites."},
    {"broken_elsewhere", REPORT_TEXT, 0, AT(broken), REPORT_ALWAYS,
     "Else the first limit that it breaks, or why it has no answer."},
    {"broken_at", REPORT_TEXT, 0, AT(broken_site), REPORT_ALWAYS, "And at which site."},
};

static void add_more(struct report_layout *layout)
{
    report_add_combination(layout, AT(kit));
    REPORT_LAYOUT_ADD(layout, of_site_columns);
}

static void make_row(const struct shv_run *run, const struct shv_site_shortfall *p,
                     struct site_row *row)
{
    const struct shv_study *study = run->study;
    *row = (struct site_row){.site = study->sites[p->site].name,
                             .found = p->found ? "yes" : "no",
                             .alone = report_objective_shown(study, p->alone),
                             .common = report_objective_shown(study, p->common),
                             .loss = NAN};
    shv_summarise_kit(study, NULL, &row->kit);
    if (!p->found) {
        return;
    }
    row->kit = report_combination(run, p->index);
    row->loss = report_objective_loss(study, p->alone, p->common);
    row->holds = p->holds ? "yes" : "no";
    if (!p->holds) {
        row->broken = p->broken >= 0 ? shv_limit_info((enum shv_limit)p->broken)->name
                                     : shv_outcome_name(p->outcome);
        row->broken_site = study->sites[p->broken_site].name;
    }
}

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->study->site_count; i++) {
        struct site_row row;
        make_row(run, &run->site_shortfalls[i], &row);
        report_csv_row(csv, &row);
    }
}

static bool is_there(const struct shv_run *run)
{
    return run->site_shortfalls;
}

const struct report_table report_sites = {
    .file = "sites.csv",
    .about = "sites.csv: the best kit for each site alone, only with results.site_shortfalls",
    REPORT_COLUMNS(columns),
    .more = add_more,
    .write = write_rows,
    .is_there = is_there};
