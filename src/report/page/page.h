/* The pages of a results folder. */
#ifndef SHEAVE_REPORT_PAGE_H
#define SHEAVE_REPORT_PAGE_H

#include "report/table/results.h"

/* Writes report.html: everything a run found, in one file that needs nothing else. */
enum shv_status report_page(const struct report_results *results, struct shv_message *message);

/* The same for the folder of a range plan (report_results_is_range). */
enum shv_status report_range_page(const struct report_results *results,
                                  struct shv_message *message);

/* Writes kit-RANK.html: one printed page for one kit (shv_report_sheet). SHV_BAD_INPUT when that
 * kit has no curves. */
enum shv_status report_sheet(const struct report_results *results, size_t *rank,
                             struct shv_message *message);

#endif
