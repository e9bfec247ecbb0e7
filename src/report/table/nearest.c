/* nearest.csv: where nothing is feasible, the kits nearest to it and what each broken limit of
 * theirs would have to be. */
#include "report/table/files.h"

struct nearest_row {
    uint64_t number;
    const char *alone;
    struct report_limit_cells of;
    struct shv_summary kit;
};

#define AT(member) offsetof(struct nearest_row, member)

static const struct report_column columns[] = {
    {"kit", REPORT_COUNT, 0, AT(number), REPORT_ALWAYS,
     "Number of the kit, one row for each limit."},
    {"alone", REPORT_TEXT, 0, AT(alone), REPORT_ALWAYS,
     "`yes` when this limit is the only one that the kit breaks."},
    {"limit", REPORT_TEXT, 0, AT(of.limit), REPORT_ALWAYS,
     "Name of the broken limit, as in rejected.csv."},
    {"title", REPORT_TEXT, 0, AT(of.title), REPORT_ALWAYS, "The same for people."},
    {"unit", REPORT_TEXT, 0, AT(of.unit), REPORT_ALWAYS,
     "Unit of bound and needed; empty for plain numbers and money."},
    {"bound", REPORT_NUMBER, 7, AT(of.bound), REPORT_ALWAYS, "The bound that counts for this kit."},
    {"needed", REPORT_NUMBER, 7, AT(of.value), REPORT_ALWAYS,
     "What it would have to be; empty when no bound would do."},
    {"room", REPORT_PERCENT, 6, AT(of.share), REPORT_ALWAYS,
     "The room of the limit, in per cent of its span: negative."},
    {"tightest_speed", REPORT_ROTATION, 6, AT(of.speed), REPORT_ALWAYS,
     "Engine speed where it is broken the most; this and the site are empty for a property of the "
     "whole kit."},
    {"tightest_site", REPORT_TEXT, 0, AT(of.site), REPORT_ALWAYS, "The site."},
};

static void add_more(struct report_layout *layout)
{
    report_add_combination(layout, AT(kit));
}

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    for (size_t i = 0; i < run->nearest_count; i++) {
        const struct shv_nearest *n = &run->nearest[i];
        struct nearest_row row = {.number = i + 1,
                                  .alone = n->alone >= 0 ? "yes" : "no",
                                  .kit = report_combination(run, n->index)};
        for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
            if (n->verdict.broken & SHV_LIMIT_BIT(k)) {
                row.of = report_limit_cells(run->study, &n->verdict, (enum shv_limit)k);
                report_csv_row(csv, &row);
            }
        }
    }
}

static bool is_there(const struct shv_run *run)
{
    return run->nearest_count > 0;
}

const struct report_table report_nearest = {
    .file = "nearest.csv",
    .about = "nearest.csv: where nothing is feasible, what would have to give, one row per kit and "
             "broken limit",
    REPORT_COLUMNS(columns),
    .more = add_more,
    .write = write_rows,
    .is_there = is_there};
