/* The columns of each CSV file, for its writer and for docs/columns.md. */
#ifndef SHEAVE_REPORT_FILES_H
#define SHEAVE_REPORT_FILES_H

#include "report/write/columns.h"
#include "sheave/report.h"

void report_ranked_layout(struct report_layout *layout, report_when_set when);
void report_curves_layout(struct report_layout *layout, report_when_set when);
void report_rejected_layout(struct report_layout *layout, report_when_set when);
void report_optimum_layout(struct report_layout *layout, report_when_set when);
void report_limit_worth_layout(struct report_layout *layout, report_when_set when);
void report_tradeoffs_layout(struct report_layout *layout, report_when_set when);
void report_serving_layout(struct report_layout *layout, report_when_set when);
void report_sites_layout(struct report_layout *layout, report_when_set when);
/* Appends the columns of ranked.csv, for rows that begin with a struct shv_summary. */
void report_kit_columns(struct report_layout *layout);
void report_sure_layout(struct report_layout *layout, report_when_set when);
void report_sensitivities_layout(struct report_layout *layout, report_when_set when);
void report_worth_knowing_layout(struct report_layout *layout, report_when_set when);
void report_nearest_layout(struct report_layout *layout, report_when_set when);
void report_limits_layout(struct report_layout *layout, report_when_set when);
void report_parts_layout(struct report_layout *layout, report_when_set when);
void report_map_layout(struct report_layout *layout, report_when_set when);
void report_islands_layout(struct report_layout *layout, report_when_set when);
/* Of the plan of a range. */
void report_range_layout(struct report_layout *layout, report_when_set when);
void report_stock_layout(struct report_layout *layout, report_when_set when);
void report_range_curve_layout(struct report_layout *layout, report_when_set when);
void report_scenarios_layout(struct report_layout *layout, report_when_set when);
/* scenarios.csv; removes it where the plan did not look at scenarios. */
enum shv_status report_scenarios(const struct shv_range_run *run, const char *folder,
                                 struct shv_message *message);
/* Of the trace of a closed cycle; its rows are struct shv_cycle_sample. */
void report_cycle_layout(struct report_layout *layout, report_when_set when);
/* Of the residuals of a fit. */
void report_residuals_layout(struct report_layout *layout, report_when_set when);

/* Rows of curves.csv for one kit; `rank` is left out unless the layout has it. False when a write
 * failed. */
bool report_curves_rows(FILE *out, const struct report_layout *layout,
                        const struct shv_study *study, uint64_t rank,
                        const struct shv_curves *curves);

#endif
