/* serving.csv: hardware that does with every fuel served, a row for each of them. */
#include <math.h>
#include <stdlib.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/rows.h"

struct serving_row {
    struct shv_summary kit; /* first: the columns of ranked.csv */
    double mean, weight, alone, loss;
    uint64_t alone_index;
};

#define AT(member) offsetof(struct serving_row, member)

static const struct report_column columns[] = {
    REPORT_OBJECTIVE_COLUMNS("mean", AT(mean),
                             "What serving.csv is ranked by: the weighted mean of the objectives "
                             "with each fuel served."),
    {"fuel_weight", REPORT_NUMBER, 6, AT(weight), REPORT_ALWAYS,
     "What the row's fuel counts in that mean; the rows of a rank differ in fuel and in the setup "
     "that follows it, lambda and ignition_margin, and in nothing else of the kit."},
    REPORT_OBJECTIVE_COLUMNS("alone", AT(alone),
                             "The objective of the best kit for the row's fuel alone."),
    {"alone_index", REPORT_COUNT, 0, AT(alone_index), REPORT_ALWAYS,
     "Number of that kit's combination."},
    {"shortfall", REPORT_PERCENT, 6, AT(loss), REPORT_ALWAYS,
     "By how much this row's objective falls short of that, for doing with the other fuels too; "
     "empty for a temperature."},
};

void report_serving_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, columns, sizeof columns / sizeof *columns);
    report_kit_columns(layout);
}

struct serving_file {
    FILE *out;
    const struct shv_run *run;
    struct report_layout layout;
};

/* A row for each fuel served, kit after kit. */
static const struct shv_candidate *with_fuel(const struct serving_file *f, size_t i)
{
    size_t fuels = f->run->study->serve_count;
    return &f->run->serving[i / fuels].with[i % fuels];
}

static uint64_t index_of(const void *data, size_t i)
{
    return with_fuel(data, i)->index;
}

static bool write_row(void *data, size_t i, struct shv_summary *kit)
{
    const struct serving_file *f = data;
    const struct shv_study *study = f->run->study;
    size_t place = i / study->serve_count, fuel = i % study->serve_count;
    const struct shv_candidate *alone = &f->run->keep->of_served[fuel].item[0];
    struct serving_row row = {
        .kit = *kit,
        .mean = report_objective_shown(study, f->run->serving[place].mean),
        .weight = study->serves[fuel].weight,
        .alone = report_objective_shown(study, alone->objective),
        .alone_index = alone->index,
        .loss = report_objective_loss(study, alone->objective, with_fuel(f, i)->objective)};
    row.kit.rank = place + 1;
    return report_row(f->out, &f->layout, study->results.units, &row);
}

static bool write_rows(FILE *out, struct report_rows *rows)
{
    struct serving_file f = {.out = out, .run = rows->run};
    const struct shv_study *study = f.run->study;
    report_serving_layout(&f.layout, report_when(study));
    const struct shv_summary_list list = {f.run->serving_count * study->serve_count, &f, index_of,
                                          write_row};
    return report_header(out, &f.layout, study->results.units) && report_rows_each(rows, &list);
}

enum shv_status shv_report_serving(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    if (run->study->serve_count == 0) {
        return report_file_remove(folder, "serving.csv", message);
    }
    return report_rows_write(run, folder, "serving.csv", write_rows, message);
}
