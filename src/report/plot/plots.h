/* Draws the plots of a results folder into its folder plots. */
#ifndef SHEAVE_REPORT_PLOTS_H
#define SHEAVE_REPORT_PLOTS_H

#include "report/plot/plot.h"
#include "sheave/report.h"

#define PLOTS_FOLDER "plots"

/* Writes script and data of every plot that there is something to draw of, and has gnuplot draw
 * them. Pictures that are not of these results are taken away. A gnuplot that is missing or fails
 * is told in *pages, and no error: scripts and data are there. */
enum shv_status report_plots(const struct report_results *results, const struct shv_watch *watch,
                             struct shv_pages *pages, struct shv_message *message);

#endif
