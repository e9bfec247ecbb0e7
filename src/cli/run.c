/* sheave run: sweep, search, rank, write. */
#include <errno.h>
#include <limits.h>
#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "cli/cli.h"
#include "cli/progress.h"

static const struct cli_option options[] = {
    {"out", "DIR", "folder for the results (default: results.folder of the study)"},
    {"threads", "N", "threads to use (default: all processors)"},
    {"quiet", NULL, "no progress on standard error"},
    {NULL, NULL, NULL}};

struct arguments {
    const char *out;
    long threads;
    bool quiet;
    char text[512]; /* as given, for the manifest */
};

/* All that a run holds and must give back. */
struct job {
    struct cli_study s;
    struct shv_ranking ranking;
    struct shv_sweep_counts counts;
    struct shv_optimum *optima;
    struct shv_run run;
    struct shv_message message;
};

static int on_option(void *data, const char *name, const char *argument)
{
    struct arguments *a = data;
    size_t used = strlen(a->text);
    snprintf(a->text + used, sizeof a->text - used, "%s--%s%s%s", used ? " " : "", name,
             argument ? " " : "", argument ? argument : "");
    if (strcmp(name, "out") == 0) {
        if (!argument || *argument == '\0') {
            cli_error("run", "--out: a folder is needed");
            return CLI_BAD_INPUT;
        }
        a->out = argument;
    } else if (strcmp(name, "threads") == 0) {
        if (!cli_number("run", name, argument, 1024, &a->threads)) {
            return CLI_BAD_INPUT;
        }
    } else {
        a->quiet = true;
    }
    return 0;
}

/* Makes a folder and those above it. */
static enum shv_status make_folders(const char *folder, struct shv_message *message)
{
    char path[PATH_MAX];
    size_t length = strlen(folder);
    if (length >= sizeof path) {
        return shv_fail(message, SHV_IO, "the name of the results folder is too long");
    }
    memcpy(path, folder, length + 1);
    for (char *at = path + 1;; at++) {
        if (*at != '/' && *at != '\0') {
            continue;
        }
        char kept = *at;
        *at = '\0';
        if (mkdir(path, 0777) != 0 && errno != EEXIST) {
            return shv_fail(message, SHV_IO, "cannot make the folder %s: %s", path,
                            strerror(errno));
        }
        *at = kept;
        if (kept == '\0') {
            break;
        }
    }
    struct stat info;
    if (stat(folder, &info) != 0 || !S_ISDIR(info.st_mode)) {
        return shv_fail(message, SHV_IO, "%s is not a folder", folder);
    }
    /* Better now than after the sweep. */
    if (access(folder, W_OK | X_OK) != 0) {
        return shv_fail(message, SHV_IO, "cannot write into the folder %s: %s", folder,
                        strerror(errno));
    }
    return SHV_OK;
}

static enum shv_status sweep(struct job *job, const struct arguments *a)
{
    struct progress progress;
    progress_init(&progress, &job->s.study, a->quiet);
    struct shv_sweep_options how = {(int)a->threads, progress_step, &progress};
    double start = progress_now();
    enum shv_status status = shv_sweep_run(job->s.model, &job->s.space, &how, &job->ranking,
                                           &job->counts, &job->message);
    progress_end(&progress);
    job->run.seconds_sweep = progress_now() - start;
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "the sweep was stopped");
    }
    return status;
}

static enum shv_status search(struct job *job)
{
    if (!job->s.study.search.enabled) {
        return SHV_OK;
    }
    double start = progress_now();
    progress_signals_end(true);
    enum shv_status status =
        shv_optimum_search(job->s.model, &job->s.space, &job->ranking, &job->optima,
                           &job->run.optimum_count, &job->message);
    progress_signals_end(false);
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "the search was stopped");
    }
    job->run.seconds_search = progress_now() - start;
    for (size_t i = 0; status == SHV_OK && i < job->run.optimum_count; i++) {
        if (job->optima[i].plain_difference > 1e-9) {
            cli_error("run",
                      "warning: the plain model differs from the optimum of blower %s by %.2g; "
                      "please report this study",
                      job->s.study.blowers[job->optima[i].blower].name,
                      job->optima[i].plain_difference);
        }
    }
    return status;
}

static enum shv_status write_all(struct job *job, const char *folder)
{
    enum shv_status status = shv_report_ranked(&job->run, folder, &job->message);
    if (status == SHV_OK) {
        status = shv_report_curves(&job->run, folder, &job->message);
    }
    if (status == SHV_OK) {
        status = shv_report_rejected(&job->run, folder, &job->message);
    }
    if (status == SHV_OK) {
        status = shv_report_optimum(&job->run, folder, &job->message);
    }
    if (status == SHV_OK) {
        status = shv_report_manifest(&job->run, folder, &job->message);
    }
    return status;
}

/* Everything after loading. */
static enum shv_status work(struct job *job, const struct arguments *a, const char *folder)
{
    double start = progress_now();
    enum shv_status status = make_folders(folder, &job->message);
    if (status == SHV_OK) {
        status = shv_ranking_init(&job->ranking, job->s.study.results.keep, &job->message);
    }
    if (status == SHV_OK) {
        status = sweep(job, a);
    }
    if (status == SHV_OK) {
        status = search(job);
    }
    if (status != SHV_OK) {
        return status;
    }
    job->run.study = &job->s.study;
    job->run.model = job->s.model;
    job->run.space = &job->s.space;
    job->run.ranking = &job->ranking;
    job->run.counts = &job->counts;
    job->run.optima = job->optima;
    job->run.seconds_total = progress_now() - start;
    status = write_all(job, folder);
    if (status == SHV_OK) {
        status = shv_report_table(&job->run, stdout, &job->message);
    }
    if (status == SHV_OK && job->counts.feasible == 0) {
        status = shv_fail(&job->message, SHV_NOTHING, "no combination holds every limit");
    }
    return status;
}

static void started_now(char *text, size_t room)
{
    time_t now = time(NULL);
    struct tm utc;
    if (!gmtime_r(&now, &utc) || strftime(text, room, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0) {
        snprintf(text, room, "unknown");
    }
}

static int run(int argc, char **argv)
{
    struct arguments a = {0};
    const char *path;
    int code = cli_parse(&cli_run, argc, argv, on_option, &a, &path);
    if (code >= 0) {
        return code;
    }
    if (!progress_catch_signals()) {
        cli_error("run", "cannot catch signals: %s", strerror(errno));
        return CLI_TROUBLE;
    }
    struct job job = {0};
    char started[32];
    started_now(started, sizeof started);
    code = cli_load("run", path, &job.s);
    if (code >= 0) {
        return code;
    }
    if (a.threads > 0) {
        omp_set_num_threads((int)a.threads);
    }
    job.run.started = started;
    job.run.options = a.text;
    job.run.threads = omp_get_max_threads();
    const char *folder = a.out ? a.out : job.s.study.results.folder;
    enum shv_status status = work(&job, &a, folder);
    if (status == SHV_STOPPED) {
        cli_error("run", "interrupted; nothing was written");
    } else if (status != SHV_OK) {
        cli_error("run", "%s", job.message.text);
    }
    if (status == SHV_OK || status == SHV_NOTHING) {
        printf("\nResults are in %s\n", folder);
    }
    free(job.optima);
    shv_ranking_free(&job.ranking);
    cli_unload(&job.s);
    return cli_exit_code(status);
}

const struct cli_command cli_run = {
    "run",
    "STUDY",
    "sweep, search, rank, write results",
    "Evaluates every combination of the study at every site over the rev range, finds the best\n"
    "continuous pulley ratio and cooler effectiveness for each blower and fuel, prints the ten "
    "best and\n"
    "writes ranked.csv, curves.csv, rejected.csv, optimum.csv and manifest.cfg. A file of that "
    "name in\n"
    "the folder is replaced, never half written. Ctrl-C stops the run without writing.\n",
    options,
    true,
    run};
