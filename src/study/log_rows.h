/* Which rows of a log are kept: full throttle, rising speed, runs, smoothing (log_file.h). */
#ifndef SHEAVE_STUDY_LOG_ROWS_H
#define SHEAVE_STUDY_LOG_ROWS_H

#include "sheave/log_file.h"

/* Notes a dropped line. SHV_NO_MEMORY. */
enum shv_status log_note_drop(struct shv_log *log, struct shv_log_drop drop);

/* On entry the log has every row of numbers, with `run` the index of its text or of the header
 * above it, and run_name those texts, or none. On return only the rows kept; runs are counted and
 * named. SHV_NO_MEMORY. */
enum shv_status log_rows_keep(const struct shv_log_rules *rules, struct shv_log *log);

#endif
