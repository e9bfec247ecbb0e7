/* What knowing more is worth, in sentences. */
#ifndef SHEAVE_REPORT_WORTH_KNOWING_H
#define SHEAVE_REPORT_WORTH_KNOWING_H

#include "report/write/words.h"
#include "sheave/report.h"

#define REPORT_KNOWING_MAX 512

/* "Measure first: ...", and what comes next; false where no one looked. */
bool report_knowing_sentence(const struct shv_run *run, char words[REPORT_KNOWING_MAX]);

#endif
