/* How sure the best kits are, in words. */
#ifndef SHEAVE_REPORT_SURE_H
#define SHEAVE_REPORT_SURE_H

#include "report/write/columns.h"
#include "report/write/text.h"
#include "sheave/report.h"

/* The best kit that keeps its limits with the wanted probability; NULL when there is none, or
 * nobody looked. */
const struct shv_sure *report_kit_to_sell(const struct shv_run *run);

/* How the size of a tolerance is shown. */
enum report_measure report_tolerance_measure(enum shv_correction which);

/* Sentences for the summary of a run; nothing without tolerances. */
void report_say_sure(struct report_text *text, const struct shv_run *run);

#endif
