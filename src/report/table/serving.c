/* serving.csv: hardware that does with every fuel served, a row for each of them. */

#include "report/table/files.h"
#include "report/table/objective.h"

struct serving_row {
    struct shv_summary kit; /* first: the columns of ranked.csv */
    double mean, weight, alone, loss;
    uint64_t alone_index;
};

#define AT(member) offsetof(struct serving_row, member)

static const struct report_column columns[] = {
    {"mean", REPORT_OBJECTIVE, 9, AT(mean), REPORT_ALWAYS,
     "What serving.csv is ranked by: the weighted mean of the objectives with each fuel served."},
    {"fuel_weight", REPORT_NUMBER, 6, AT(weight), REPORT_ALWAYS,
     "What the row's fuel counts in that mean; the rows of a rank differ in fuel and in the setup "
     "that follows it, lambda and ignition_margin, and in nothing else of the kit."},
    {"alone", REPORT_OBJECTIVE, 9, AT(alone), REPORT_ALWAYS,
     "The objective of the best kit for the row's fuel alone."},
    {"alone_index", REPORT_COUNT, 0, AT(alone_index), REPORT_ALWAYS,
     "Number of that kit's combination."},
    {"shortfall", REPORT_PERCENT, 6, AT(loss), REPORT_ALWAYS,
     "By how much this row's objective falls short of that, for doing with the other fuels too; "
     "empty for a temperature."},
};

/* A row for each fuel served, kit after kit. */
static const struct shv_candidate *with_fuel(const struct shv_run *run, size_t i)
{
    size_t fuels = run->study->serve_count;
    return &run->serving[i / fuels].with[i % fuels];
}

static uint64_t index_of(const void *data, size_t i)
{
    return with_fuel(((const struct report_kits *)data)->rows->run, i)->index;
}

static bool write_row(void *data, size_t i, struct shv_summary *kit)
{
    const struct report_kits *kits = data;
    const struct shv_run *run = kits->rows->run;
    const struct shv_study *study = run->study;
    size_t place = i / study->serve_count, fuel = i % study->serve_count;
    const struct shv_candidate *alone = &run->keep->of_served[fuel].item[0];
    report_rows_place(kits->rows, place, kit);
    struct serving_row row = {
        .kit = *kit,
        .mean = report_objective_shown(study, run->serving[place].mean),
        .weight = study->serves[fuel].weight,
        .alone = report_objective_shown(study, alone->objective),
        .alone_index = alone->index,
        .loss = report_objective_loss(study, alone->objective, with_fuel(run, i)->objective)};
    report_csv_row(kits->csv, &row);
    return kits->csv->error == 0;
}

static void write_rows(struct report_csv *csv, void *data)
{
    struct report_kits kits = {csv, data, 0};
    const struct shv_run *run = kits.rows->run;
    const struct shv_summary_list list = {run->serving_count * run->study->serve_count, &kits,
                                          index_of, write_row};
    (void)shv_summaries_each(&kits.rows->of, &list);
}

static bool is_there(const struct shv_run *run)
{
    return run->study->serve_count > 0;
}

const struct report_table report_serving = {
    .file = "serving.csv",
    .about = "serving.csv: hardware that does with several fuels, only with serves in the study",
    REPORT_COLUMNS(columns),
    .more = report_kit_columns,
    .write = write_rows,
    .of_kits = true,
    .is_there = is_there};
