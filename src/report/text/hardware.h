/* Kits as hardware and at cruise, as blocks of text: of one kit for `sheave point`, of the best of
 * a run for its account. */
#ifndef SHEAVE_REPORT_HARDWARE_H
#define SHEAVE_REPORT_HARDWARE_H

#include "report/table/rows.h"
#include "report/write/text.h"

/* What is not known of a kit is left out; a block of which nothing is known, altogether. */
void report_show_hardware(struct report_text *text, const struct shv_study *study,
                          const struct shv_kit *kit, const struct shv_curves *curves);
/* One line for each of the best; nothing when the study describes neither belt nor price nor mass.
 */
void report_list_hardware(struct report_text *text, const struct shv_study *study,
                          const struct shv_summary *best, size_t count);
/* `area` as in shv_report_point. */
void report_show_cruise(struct report_text *text, const struct shv_study *study,
                        const struct shv_kit *kit, const struct shv_curves *curves,
                        const struct shv_bypass_sizing *area);

#endif
