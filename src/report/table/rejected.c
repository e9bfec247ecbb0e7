/* rejected.csv: how many combinations were rejected, and why. */
#include <math.h>

#include "report/write/file.h"
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

void report_rejected_layout(struct report_layout *layout, report_when_set when)
{
    report_layout_init(layout, when);
    report_layout_add(layout, reason_columns, sizeof reason_columns / sizeof *reason_columns);
}

struct reason_writer {
    FILE *out;
    struct report_layout layout;
    uint64_t total;
    bool exhaustive;
};

static bool write_reason(const struct reason_writer *w, struct reason_row row)
{
    row.share = w->total > 0 ? (double)row.combinations / (double)w->total : NAN;
    return report_row(w->out, &w->layout, SHV_METRIC, &row);
}

static bool write_failures(const struct reason_writer *w, const struct shv_sweep_counts *counts)
{
    bool good = true;
    for (int i = SHV_POINT_OK + 1; good && i < SHV_OUTCOME_COUNT; i++) {
        enum shv_outcome outcome = (enum shv_outcome)i;
        good = write_reason(w, (struct reason_row){.reason = shv_outcome_name(outcome),
                                                   .kind = "failure",
                                                   .meaning = shv_outcome_meaning(outcome),
                                                   .combinations = counts->failed[i],
                                                   .breaking = REPORT_NO_COUNT});
    }
    return good;
}

static bool write_limits(const struct reason_writer *w, const struct shv_sweep_counts *counts)
{
    bool good = true;
    for (int i = 0; good && i < SHV_LIMIT_COUNT; i++) {
        const struct shv_limit_info *info = shv_limit_info((enum shv_limit)i);
        bool exact = w->exhaustive || shv_limit_is_formula((enum shv_limit)i);
        good = write_reason(w, (struct reason_row){.reason = info->name,
                                                   .kind = "limit",
                                                   .meaning = info->meaning,
                                                   .combinations = counts->first[i],
                                                   .breaking = counts->broken[i],
                                                   .counted = exact ? "exact" : "at_least"});
    }
    return good;
}

static bool write_reasons(FILE *out, const struct shv_sweep_counts *counts, bool exhaustive)
{
    struct reason_writer w = {.out = out, .total = counts->total, .exhaustive = exhaustive};
    report_rejected_layout(&w.layout, 0);
    return report_header(out, &w.layout, SHV_METRIC) &&
           write_reason(&w,
                        (struct reason_row){.reason = "feasible",
                                            .kind = "feasible",
                                            .meaning = "Keeps every limit at every site and speed.",
                                            .combinations = counts->feasible,
                                            .breaking = REPORT_NO_COUNT}) &&
           write_failures(&w, counts) && write_limits(&w, counts) &&
           write_reason(&w, (struct reason_row){.reason = "total",
                                                .kind = "total",
                                                .meaning = "All combinations of the study.",
                                                .combinations = counts->total,
                                                .breaking = REPORT_NO_COUNT});
}

enum shv_status shv_report_rejected(const struct shv_run *run, const char *folder,
                                    struct shv_message *message)
{
    struct report_file file;
    enum shv_status status = report_file_open(&file, folder, "rejected.csv", message);
    if (status != SHV_OK) {
        return status;
    }
    return report_file_finish(
        &file, write_reasons(file.stream, run->counts, run->study->results.exhaustive), message);
}
