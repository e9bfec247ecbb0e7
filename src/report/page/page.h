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

/* Writes group-N.html for the group of that name, "vehicle, market, tier", or for "all": a page to
 * print for its kit. N from *first on is its row of range.csv, *count of them. SHV_BAD_INPUT when
 * there is no such group. */
enum shv_status report_groups(const struct report_results *results, const char *group,
                              size_t *first, size_t *count, struct shv_message *message);

#endif
