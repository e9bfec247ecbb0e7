/* What the first place of a run hangs on, in sentences. */
#ifndef SHEAVE_REPORT_HANGS_H
#define SHEAVE_REPORT_HANGS_H

#include "report/write/words.h"
#include "sheave/report.h"

#define REPORT_HANGS_MAX 768

/* Which tolerance, how far off, makes a rival as good as the best kit. */
void report_hangs_sentence(const struct shv_study *study, const struct shv_rival *rival,
                           char words[REPORT_HANGS_MAX]);
/* The rival that the fewest standard deviations put first; NULL without any. */
const struct shv_rival *report_nearest_rival(const struct shv_run *run);

#endif
