/* gnuplot as a child process, without a shell. */
#ifndef SHEAVE_REPORT_GNUPLOT_H
#define SHEAVE_REPORT_GNUPLOT_H

#include "sheave/status.h"

/* Runs gnuplot on SCRIPT in a folder, with the variable `part` set to ".part", and without the
 * user's own settings. SHV_NOTHING when no gnuplot is on the PATH; SHV_IO with what it said first
 * when it failed. */
enum shv_status report_gnuplot(const char *folder, const char *script, struct shv_message *message);

#endif
