/* scenarios.csv: a plan of a range in each scenario of its sales. */
#include <math.h>

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

static void write_rows(struct report_csv *csv, void *data)
{
    const struct shv_range_run *run = data;
    const struct shv_range_problem *problem = &run->kits->problem;
    const struct shv_range_result *r = run->result;
    for (size_t i = 0; i < problem->scenario_count; i++) {
        const struct shv_range_known *k = &r->known[i];
        struct scenario_row row = {.name = problem->scenario[i].name,
                                   .proven = k->proven ? "yes" : "no",
                                   .weight = problem->scenario[i].weight,
                                   .sales = k->sales,
                                   .value = plan_value(problem, k->value),
                                   .best = plan_value(problem, k->best),
                                   .gain = (k->best - k->value) / fabs(r->point[r->chosen].value),
                                   .parts = k->parts};
        report_csv_row(csv, &row);
    }
}

const struct report_table report_scenarios = {
    .file = "scenarios.csv",
    .about = "scenarios.csv, of `sheave plan`: the plan in each scenario of the sales",
    REPORT_COLUMNS(columns),
    .write = write_rows};
