/* scenarios.csv: a plan of a range in each scenario of its sales. */
#include <math.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/plan_value.h"

struct scenario_row {
    const char *name, *proven;
    double weight, sales;
    struct plan_value value, best;
    double gain;
    uint64_t parts;
};

#define AT(member) offsetof(struct scenario_row, member)

static const struct report_column columns[] = {
    {"scenario", REPORT_TEXT, 0, AT(name), REPORT_ALWAYS, "Name of the scenario."},
    {"weight", REPORT_NUMBER, 6, AT(weight), REPORT_ALWAYS, "How probable it is."},
    {"sales", REPORT_NUMBER, 6, AT(sales), REPORT_ALWAYS, "Kits sold in a year, all groups."},
    PLAN_VALUE_COLUMNS("value", AT(value), REPORT_ALWAYS, "What the plan is worth then."),
    PLAN_VALUE_COLUMNS("best_value", AT(best), REPORT_ALWAYS,
                       "What the best plan for these sales is worth, had they been known, with as "
                       "many parts as the plan may have."),
    {"gain", REPORT_PERCENT, 6, AT(gain), REPORT_ALWAYS,
     "How much more that is, as a share of what the plan is worth on the mean of all scenarios."},
    {"best_parts", REPORT_COUNT, 0, AT(parts), REPORT_ALWAYS, "Different parts that it has."},
    {"proven", REPORT_TEXT, 0, AT(proven), REPORT_ALWAYS,
     "`yes` when no plan is worth more for these sales, on the grid of values."},
};

void report_scenarios_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, columns, sizeof columns / sizeof *columns);
}

enum shv_status report_scenarios(const struct shv_range_run *run, const char *folder,
                                 struct shv_message *message)
{
    const struct shv_range_problem *problem = &run->kits->problem;
    const struct shv_range_result *r = run->result;
    struct report_layout layout;
    struct report_file file;
    if (!r->known) {
        return report_file_remove(folder, "scenarios.csv", message);
    }
    enum shv_status status = report_file_open(&file, folder, "scenarios.csv", message);
    if (status != SHV_OK) {
        return status;
    }
    report_scenarios_layout(&layout, 0);
    bool good = report_header(file.stream, &layout, run->file->units);
    for (size_t i = 0; good && i < problem->scenario_count; i++) {
        const struct shv_range_known *k = &r->known[i];
        struct scenario_row row = {.name = problem->scenario[i].name,
                                   .proven = k->proven ? "yes" : "no",
                                   .weight = problem->scenario[i].weight,
                                   .sales = k->sales,
                                   .value = plan_value(problem, k->value),
                                   .best = plan_value(problem, k->best),
                                   .gain = (k->best - k->value) / fabs(r->point[r->chosen].value),
                                   .parts = k->parts};
        good = report_row(file.stream, &layout, run->file->units, &row);
    }
    return report_file_finish(&file, good, message);
}
