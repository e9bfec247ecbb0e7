/* What run and merge share: all that a command holds while it makes results, and what follows the
 * sweep. */
#ifndef SHEAVE_CLI_JOB_H
#define SHEAVE_CLI_JOB_H

#include "cli/cli.h"
#include "cli/log.h"

struct job {
    const char *command;
    const char *folder; /* of the results */
    bool quiet, exhaustive, no_report;
    long threads;           /* 0: all processors */
    char options[512];      /* as given, for the manifest */
    char again[1024];       /* the command that goes on with it, "" when there is none */
    double started_seconds; /* monotonic */
    char started[32];
    struct cli_study s;
    struct cli_tables tables;
    struct shv_journal *journal; /* NULL for merge */
    struct run_log log;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_keep keep;
    struct shv_serving_kit *serving;
    struct shv_site_price *site_prices;
    struct shv_optimum *optima;
    struct shv_sure_list sure;
    struct shv_price *prices;
    struct shv_run run;
    struct shv_message message;
};

/* Zeroes it and notes the time. */
void job_begin(struct job *job, const char *command);
/* Adds an option as it was given to job->options. */
void job_note_option(struct job *job, const char *name, const char *argument);
/* Takes --out, --threads, --quiet and those of the cycle tables. -1 when it is another one, else
 * what cli_on_option returns. */
int job_option(struct job *job, const char *name, const char *argument);
/* Room for ranking, fronts and kits for several fuels. */
enum shv_status job_room(struct job *job);
/* Cycle tables, then, after the sweep, the search, and the results: files first, table last.
 * SHV_NOTHING when nothing is feasible. */
enum shv_status job_tables(struct job *job);
enum shv_status job_search(struct job *job);
enum shv_status job_results(struct job *job);
/* Tells what went wrong, frees all, gives the exit code. */
int job_end(struct job *job, enum shv_status status);

#endif
