/* sheave run: sweep, search, rank, write. */
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/estimate.h"
#include "cli/job.h"
#include "cli/progress.h"
#include "report/write/text.h"

struct run_arguments {
    struct job job; /* first: see job_note */
    bool anyway;
    const char *part;
    struct shv_shard shard; /* count 0: the whole study */
};

#define PLACE(member) offsetof(struct run_arguments, member)
static const struct cli_option options[] = {
    {"out", "DIR", "folder for the results (default: results.folder of the study)",
     .place = PLACE(job.folder), .folder = true},
    {"threads", "N", "threads to use (default: all processors)", .place = PLACE(job.threads),
     .most = CLI_THREADS_MOST},
    {"quiet", NULL, "no progress on standard error", .place = PLACE(job.quiet)},
    {"long", NULL, "print the whole account, not only the answer", .place = PLACE(job.long_answer)},
    {"resume", NULL, "go on with what an interrupted run has left in the folder",
     .place = PLACE(job.resume)},
    {"anew", NULL, "drop what an interrupted run has left, and begin", .place = PLACE(job.anew)},
    {"exhaustive", NULL, "count every limit that each combination breaks, not only the first",
     .place = PLACE(job.exhaustive)},
    {"no-search", NULL, "no search for ideals and the worth of limits; --resume can add it",
     .place = PLACE(job.no_search)},
    {"no-certainty", NULL, "leave the study's tolerances alone; --resume can add that",
     .place = PLACE(job.no_certainty)},
    {"no-report", NULL, "tables only, no plots and no page", .place = PLACE(job.no_report)},
    {"anyway", NULL, "run even what would take more than a year", .place = PLACE(anyway)},
    {"shard", "I/N", "only part I of N; sheave merge joins the parts", .place = PLACE(part)},
    CLI_CACHE(PLACE(job.tables)),
    {.name = NULL}};

static bool whole_number(const char *text, char end, uint64_t *number, const char **rest)
{
    char *stop;
    errno = 0;
    unsigned long long value = strtoull(text, &stop, 10);
    *number = value;
    *rest = stop + 1;
    return text[0] >= '0' && text[0] <= '9' && errno == 0 && *stop == end;
}

/* -1 when it is one, else an exit code. */
static int take_shard(struct run_arguments *a, const char *text)
{
    const char *rest;
    uint64_t index, count;
    if (!whole_number(text, '/', &index, &rest) || !whole_number(rest, '\0', &count, &rest) ||
        index < 1 || index > count || count > SHV_SHARDS_MAX) {
        cli_error("run", "--shard: found \"%s\"; I/N is needed, with I from 1 to N and N to %llu",
                  text, (unsigned long long)SHV_SHARDS_MAX);
        return CLI_BAD_INPUT;
    }
    a->shard = (struct shv_shard){index - 1, count};
    return -1;
}

/* ---- the folder ---- */

/* Shards of one study that are not told where to write must not meet in one folder. */
static const char *results_folder(const struct run_arguments *a, char path[PATH_MAX])
{
    if (a->job.folder) {
        return a->job.folder;
    }
    const char *folder = a->job.s.study.results.folder;
    if (a->shard.count == 0) {
        return folder;
    }
    (void)snprintf(path, PATH_MAX, "%s/shard-%llu-of-%llu", folder,
                   (unsigned long long)a->shard.index + 1, (unsigned long long)a->shard.count);
    return path;
}

/* ---- work ---- */

static enum shv_status sweep(struct job *job)
{
    struct progress progress;
    struct shv_journal_progress before = shv_journal_progress(job->journal);
    double *demand = NULL;
    enum shv_status status =
        before.done < before.total
            ? shv_tolerance_demand(job->s.model, &job->s.space, &demand, &job->message)
            : SHV_OK;
    if (status != SHV_OK) {
        return status;
    }
    progress_init(&progress, &job->s.study, job->quiet);
    progress.log = &job->log;
    progress.first_done = before.done;
    const struct shv_sweep_options how = {.threads = (int)job->threads,
                                          .progress = progress_step,
                                          .progress_data = &progress,
                                          .trouble = progress_trouble,
                                          .journal = job->journal,
                                          .keep = &job->keep,
                                          .demand = demand};
    double start = seconds_now();
    status = shv_sweep_run(job->s.model, &job->s.space, &how, &job->ranking, &job->counts,
                           &job->message);
    free(demand);
    progress_end(&progress);
    job->run.seconds_sweep = seconds_now() - start;
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "the sweep was stopped");
    }
    if (status == SHV_OK) {
        log_line(&job->log, "sweep done, %.1f s", job->run.seconds_sweep);
    }
    return status;
}

/* Time enough for a machine that is many times as fast as any: below, nothing is sampled. */
#define SURELY_LESS_THAN_A_YEAR 1000000000000u

/* A sample first, where a study might run for longer than anyone would wait: most likely a step is
 * too fine. The closed cycle needs its tables for that. */
static enum shv_status refuse_years(struct run_arguments *a)
{
    struct job *job = &a->job;
    const struct shv_sweep_options how = {.threads = (int)job->threads, .shard = a->shard};
    uint64_t shards = a->shard.count > 0 ? a->shard.count : 1;
    struct shv_estimate e;
    char years[48], size[REPORT_COUNT_MAX];
    if (a->anyway || job->s.space.size / shards < SURELY_LESS_THAN_A_YEAR) {
        return SHV_OK;
    }
    enum shv_status status = job_tables(job);
    if (status == SHV_OK) {
        status = shv_sweep_estimate(job->s.model, &job->s.space, &how, CLI_SAMPLE_SECONDS, NULL, &e,
                                    &job->message);
    }
    if (status != SHV_OK || e.seconds < CLI_YEAR) {
        return status;
    }
    return shv_fail(&job->message, SHV_BAD_INPUT,
                    "%s combinations: about %s on this machine; widen steps, or run it with "
                    "--anyway",
                    report_thousands(size, job->s.space.size), progress_duration(years, e.seconds));
}

/* What a shard has found stands in its journal; results come from all of them. */
static enum shv_status end_shard(struct run_arguments *a)
{
    struct job *job = &a->job;
    char room[32];
    enum shv_status status = shv_journal_finish(job->journal, &job->message);
    if (status == SHV_OK) {
        printf("Shard %llu of %llu is done: %s combinations, kept in %s. sheave merge joins it "
               "with the others.\n",
               (unsigned long long)a->shard.index + 1, (unsigned long long)a->shard.count,
               report_thousands(room, job->counts.total), job->folder);
    }
    return status;
}

/* Everything after loading. */
static enum shv_status work(struct run_arguments *a)
{
    struct job *job = &a->job;
    /* Better now than after the sweep. */
    enum shv_status status = cli_make_folders(job->folder, 0777, &job->message);
    if (status == SHV_OK) {
        status = job_room(job);
    }
    status = status == SHV_OK ? refuse_years(a) : status;
    if (status == SHV_OK) {
        status = job_journal(job, a->shard);
    }
    if (status == SHV_OK) {
        status = job_tables(job);
    }
    if (status == SHV_OK) {
        status = sweep(job);
    }
    if (status == SHV_OK && a->shard.count > 0) {
        return end_shard(a);
    }
    return status == SHV_OK ? job_results(job) : status;
}

static int run(int argc, char **argv)
{
    struct run_arguments a = {.anyway = false};
    struct job *job = &a.job;
    const char *path;
    char folder[PATH_MAX];
    job_begin(job, "run");
    int code = cli_parse(&cli_run, argc, argv, &a, &path);
    code = code < 0 && a.part ? take_shard(&a, a.part) : code;
    code = code < 0 ? job_start(job) : code;
    code = code < 0 ? job_load(job, path) : code;
    if (code >= 0) {
        return code;
    }
    job_name_again(job, &path, 1);
    job->folder = results_folder(&a, folder);
    enum shv_status status = work(&a);
    return job_end(job, status);
}

const struct cli_command cli_run = {
    "run",
    "STUDY",
    "sweep, search, rank, write results",
    "Evaluates every combination of the study at every site over the rev range, finds the best\n"
    "continuous pulley ratio and cooler effectiveness for each blower and fuel, prints the ten "
    "best and\n"
    "writes tables (ranked.csv and others), plots and report.html. A file of that name in the "
    "folder "
    "is\n"
    "replaced, never half written.\n\n"
    "What is done of the sweep is kept in journal.db in the same folder about once a second. When "
    "it has\n"
    "ended, its results and a first page are written; search, worth of limits and certainty add "
    "to them.\n"
    "After Ctrl-C, a closed terminal, a crash or loss of power, the same command with --resume "
    "goes on\n"
    "where it was, in the sweep or after it, and ends with the same results. run.log tells how "
    "far a run\n"
    "came.\n\n"
    "With the closed cycle, tables of it are built before the sweep, a few seconds each, and kept "
    "for the\n"
    "next run in $XDG_CACHE_HOME/sheave, else in $HOME/.cache/sheave.\n",
    options,
    true,
    .run = run,
    .note = job_note};
