/* How long a run would take, by samples of each stage. */
#ifndef SHEAVE_CLI_ESTIMATE_H
#define SHEAVE_CLI_ESTIMATE_H

#include "cli/cli.h"

#define CLI_SAMPLE_SECONDS 0.5
#define CLI_DAY 86400.0
#define CLI_YEAR (365.25 * CLI_DAY)

/* Seconds; NAN for a stage that the study does not ask for. */
struct cli_estimate {
    double sweep, sites, search, worth, certainty, page, all;
};

/* Takes a few seconds. The model has its tables already. Errors: those of the stages. */
enum shv_status cli_estimate_run(struct cli_study *s, struct cli_estimate *estimate,
                                 struct shv_message *message);
/* A table of them. */
void cli_print_estimate(const struct cli_estimate *estimate);

#endif
