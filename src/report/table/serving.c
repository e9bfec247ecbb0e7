/* serving.csv: hardware that does with every fuel served, a row for each of them. */
#include <math.h>
#include <stdlib.h>

#include "report/write/file.h"
#include "report/table/files.h"
#include "report/table/objective.h"
#include "report/table/summary.h"

struct serving_row {
    struct report_summary kit; /* first: the columns of ranked.csv */
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

static bool write_kit(FILE *out, const struct report_layout *layout, struct report_rows *rows,
                      size_t place)
{
    const struct shv_run *run = rows->run;
    const struct shv_study *study = run->study;
    const struct shv_serving_kit *kit = &run->serving[place];
    bool good = true;
    for (size_t i = 0; good && i < study->serve_count; i++) {
        const struct shv_candidate *alone = &run->keep->of_served[i].item[0];
        struct serving_row row = {.mean = report_objective_shown(study, kit->mean),
                                  .weight = study->serves[i].weight,
                                  .alone = report_objective_shown(study, alone->objective),
                                  .alone_index = alone->index};
        report_rows_take_index(rows, kit->with[i].index, place, &row.kit);
        row.loss = report_objective_loss(study, alone->objective, kit->with[i].objective);
        good = report_row(out, layout, study->results.units, &row);
    }
    return good;
}

static bool write_rows(FILE *out, struct report_rows *rows)
{
    const struct shv_study *study = rows->run->study;
    struct report_layout layout;
    report_serving_layout(&layout, report_when(study));
    bool good = report_header(out, &layout, study->results.units);
    for (size_t i = 0; good && i < rows->run->serving_count; i++) {
        good = write_kit(out, &layout, rows, i);
    }
    return good;
}

enum shv_status shv_report_serving(const struct shv_run *run, const char *folder,
                                   struct shv_message *message)
{
    if (run->study->serve_count == 0) {
        return report_file_remove(folder, "serving.csv", message);
    }
    return report_rows_write(run, folder, "serving.csv", write_rows, message);
}
