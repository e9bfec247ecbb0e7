/* How good a cycle table is, in few numbers. */
#ifndef SHEAVE_REPORT_QUALITY_H
#define SHEAVE_REPORT_QUALITY_H

#include "sheave/cycle_table.h"

/* The largest errors along any of the three directions. */
struct shv_cycle_table_error report_worst_along(const struct shv_cycle_table_quality *quality);

#endif
