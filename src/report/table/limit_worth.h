/* Prices of what holds the ideals back, in sentences. */
#ifndef SHEAVE_REPORT_LIMIT_WORTH_H
#define SHEAVE_REPORT_LIMIT_WORTH_H

#include "report/write/measure.h"
#include "report/write/text.h"
#include "sheave/report.h"

/* The best ideal of a fuel over all blowers, with any cooler or none, or without one; NULL: none.
 */
#define REPORT_ANY_FUEL SIZE_MAX
const struct shv_optimum *report_best_ideal(const struct shv_run *run, size_t fuel, bool uncooled);
/* For the short answer: what holds the best of all ideals back, the largest gains first. */
void report_say_holding(const struct shv_run *run, struct report_text *out);
/* A few sentences for the best ideal of each fuel; nothing without worths. */
void report_say_limit_worth(const struct shv_run *run, struct report_text *out);
/* How the step of a worth is shown. */
enum report_measure report_worth_step_measure(const struct shv_limit_worth *p);

#endif
