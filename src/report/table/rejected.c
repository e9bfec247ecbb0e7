/* rejected.csv: how many combinations were rejected, and why. */
#include <math.h>

#include "report/table/files.h"

struct reason_row {
    const char *reason, *kind, *meaning, *counted;
    uint64_t combinations, breaking;
    double share;
};

#define AT(member) offsetof(struct reason_row, member)

static const struct report_column reason_columns[] = {
    {"reason", REPORT_TEXT, 0, AT(reason), REPORT_ALWAYS,
     "`feasible`, the name of an outcome without an answer, the name of a limit, or `total`."},
    {"kind", REPORT_TEXT, 0, AT(kind), REPORT_ALWAYS,
     "`feasible`, `failure` (the model has no answer somewhere), `limit` or `total`."},
    {"combinations", REPORT_COUNT, 0, AT(combinations), REPORT_ALWAYS,
     "Combinations counted under this reason. Each counts once: under rotor, belt or piston speed, "
     "which need no solution, else under a failure, else under the first of the other limits in "
     "the "
     "order of these rows. They add up to the total."},
    {"breaking", REPORT_COUNT, 0, AT(breaking), REPORT_ALWAYS,
     "Combinations that break this limit at all, whichever they are counted under; limits only."},
    {"breaking_is", REPORT_TEXT, 0, AT(counted), REPORT_ALWAYS,
     "`exact`, or `at_least`: without --exhaustive a combination that is rejected is not looked "
     "at any further."},
    {"share", REPORT_PERCENT, 6, AT(share), REPORT_ALWAYS,
     "`combinations` in per cent of the total."},
    {"meaning", REPORT_TEXT, 0, AT(meaning), REPORT_ALWAYS, "The reason in words."},
};

static void write_reason(struct report_csv *csv, const struct shv_sweep_counts *counts,
                         struct reason_row row)
{
    row.share = counts->total > 0 ? (double)row.combinations / (double)counts->total : NAN;
    report_csv_row(csv, &row);
}

static void write_failures(struct report_csv *csv, const struct shv_sweep_counts *counts)
{
    for (int i = SHV_POINT_OK + 1; i < SHV_OUTCOME_COUNT; i++) {
        enum shv_outcome outcome = (enum shv_outcome)i;
        write_reason(csv, counts,
                     (struct reason_row){.reason = shv_outcome_name(outcome),
                                         .kind = "failure",
                                         .meaning = shv_outcome_meaning(outcome),
                                         .combinations = counts->failed[i],
                                         .breaking = REPORT_NO_COUNT});
    }
}

static void write_limits(struct report_csv *csv, const struct shv_sweep_counts *counts,
                         bool exhaustive)
{
    for (int i = 0; i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        bool exact = exhaustive || shv_limit_is_formula((enum shv_limit)i);
        write_reason(csv, counts,
                     (struct reason_row){.reason = info->name,
                                         .kind = "limit",
                                         .meaning = info->meaning,
                                         .combinations = counts->first[i],
                                         .breaking = counts->broken[i],
                                         .counted = exact ? "exact" : "at_least"});
    }
}

static void write_reasons(struct report_csv *csv, void *data)
{
    const struct shv_run *run = ((const struct report_rows *)data)->run;
    const struct shv_sweep_counts *counts = run->counts;
    write_reason(csv, counts,
                 (struct reason_row){.reason = "feasible",
                                     .kind = "feasible",
                                     .meaning = "Keeps every limit at every site and speed.",
                                     .combinations = counts->feasible,
                                     .breaking = REPORT_NO_COUNT});
    write_failures(csv, counts);
    write_limits(csv, counts, run->study->results.exhaustive);
    write_reason(csv, counts,
                 (struct reason_row){.reason = "total",
                                     .kind = "total",
                                     .meaning = "All combinations of the study.",
                                     .combinations = counts->total,
                                     .breaking = REPORT_NO_COUNT});
}

const struct report_table report_rejected = {
    "rejected.csv", "rejected.csv: how many combinations were rejected, and why",
    REPORT_COLUMNS(reason_columns), .write = write_reasons};
