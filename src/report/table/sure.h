/* How sure the best kits are, in words. */
#ifndef SHEAVE_REPORT_SURE_H
#define SHEAVE_REPORT_SURE_H

#include "report/write/text.h"
#include "sheave/report.h"

/* Sentences for the summary of a run; nothing without tolerances. */
void report_say_sure(struct report_text *text, const struct shv_run *run);

#endif
