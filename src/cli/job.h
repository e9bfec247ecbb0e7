/* What run and merge share: all that a command holds while it makes results, and what follows the
 * sweep. */
#ifndef SHEAVE_CLI_JOB_H
#define SHEAVE_CLI_JOB_H

#include "cli/cli.h"
#include "cli/log.h"

struct job {
    const char *command;
    const char *folder; /* of the results */
    bool resume, anew, quiet, exhaustive, no_report, no_search, no_certainty, long_answer;
    long threads;           /* 0: all processors */
    char options[512];      /* as given, for the manifest */
    char kept[700];         /* those of them that the run that goes on with it needs as well */
    char again[4096];       /* the command that goes on with it */
    bool again_is_cut;      /* it did not fit in */
    const char *stage;      /* being worked on, after the sweep */
    bool has_results;       /* those of the sweep are written */
    bool is_finished;       /* everything is, but for the page */
    double started_seconds; /* monotonic */
    char started[32];
    struct cli_study s;
    struct cli_tables tables;
    struct shv_journal *journal; /* NULL until it is open */
    struct run_log log;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_keep keep;
    struct shv_serving_kit *serving;
    struct shv_site_shortfall *site_shortfalls;
    struct shv_choice_cell *choices;
    struct shv_optimum *optima;
    struct shv_sure_list sure;
    struct shv_nearest *nearest;
    struct shv_limit_worth *limit_worths;
    struct shv_run run;
    struct shv_message message;
};

/* Zeroes it and notes the time. */
void job_begin(struct job *job, const char *command);
/* Notes an option as it was given, for the manifest and for job->again. The arguments of the
 * command begin with its job. */
void job_note(void *arguments, const char *name, const char *argument);
/* Makes up job->again, with the command's operands. */
void job_name_again(struct job *job, const char *const *operands, size_t count);
/* Once the options are known: checks them and gets ready; loads the study. -1, or an exit code. */
int job_start(struct job *job);
int job_load(struct job *job, const char *path);
/* Room for ranking, fronts and kits for several fuels. */
enum shv_status job_room(struct job *job);
/* Opens journal and log in the folder. */
enum shv_status job_journal(struct job *job, struct shv_shard shard);
/* Cycle tables; once. */
enum shv_status job_tables(struct job *job);
/* After the sweep: its results and a first page; then search, limit worth and certainty, each of
 * which replaces or adds files; at last the table on the screen and the page. SHV_NOTHING when
 * nothing is feasible. */
enum shv_status job_results(struct job *job);
/* Tells what went wrong, frees all, gives the exit code. */
int job_end(struct job *job, enum shv_status status);

#endif
