/* What follows the sweep (src/cli/job.h). */
#include "cli/job.h"

#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cli/progress.h"

void job_begin(struct job *job, const char *command)
{
    *job = (struct job){.command = command, .log = {.descriptor = -1}};
    job->started_seconds = progress_now();
    time_t now = time(NULL);
    struct tm utc;
    if (!gmtime_r(&now, &utc) ||
        strftime(job->started, sizeof job->started, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0) {
        (void)snprintf(job->started, sizeof job->started, "unknown");
    }
}

void job_note_option(struct job *job, const char *name, const char *argument)
{
    size_t used = strlen(job->options);
    (void)snprintf(job->options + used, sizeof job->options - used, "%s--%s%s%s", used ? " " : "",
                   name, argument ? " " : "", argument ? argument : "");
}

int job_option(struct job *job, const char *name, const char *argument)
{
    if (strcmp(name, "out") == 0) {
        if (!argument || *argument == '\0') {
            cli_error(job->command, "--out: a folder is needed");
            return CLI_BAD_INPUT;
        }
        job->folder = argument;
        return 0;
    }
    if (strcmp(name, "threads") == 0) {
        return cli_number(job->command, name, argument, 1024, &job->threads) ? 0 : CLI_BAD_INPUT;
    }
    if (strcmp(name, "quiet") == 0) {
        job->quiet = true;
        return 0;
    }
    if (strcmp(name, "no-report") == 0) {
        job->no_report = true;
        return 0;
    }
    if (strcmp(name, "exhaustive") == 0) {
        job->exhaustive = true;
        return 0;
    }
    return cli_tables_option(&job->tables, name, argument) ? 0 : -1;
}

enum shv_status job_room(struct job *job)
{
    enum shv_status status =
        shv_ranking_init(&job->ranking, job->s.study.results.keep, &job->message);
    return status == SHV_OK ? shv_keep_init(&job->keep, &job->s.study, &job->message) : status;
}

enum shv_status job_tables(struct job *job)
{
    job->tables.quiet = job->quiet;
    job->tables.threads = (int)job->threads;
    enum shv_status status =
        cli_tables_prepare(job->command, &job->s, &job->tables, NULL, &job->message);
    job->run.tables = job->tables.reports;
    job->run.seconds_tables = job->tables.seconds;
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "stopped after the cycle tables");
    }
    return status;
}

static void warn_of_difference(const struct job *job)
{
    for (size_t i = 0; i < job->run.optimum_count; i++) {
        if (job->optima[i].plain_difference > 1e-9) {
            cli_error(job->command,
                      "warning: the plain model differs from the optimum of blower %s by %.2g; "
                      "please report this study",
                      job->s.study.blowers[job->optima[i].blower].name,
                      job->optima[i].plain_difference);
        }
    }
}

static enum shv_status search_and_price(struct job *job)
{
    const struct shv_study *study = &job->s.study;
    enum shv_status status = SHV_OK;
    if (study->search.enabled) {
        status = shv_optimum_search(job->s.model, &job->s.space, &job->keep, NULL, &job->optima,
                                    &job->run.optimum_count, &job->message);
    }
    if (status == SHV_OK && study->search.enabled) {
        status = shv_prices_find(job->s.model, job->optima, job->run.optimum_count, &job->prices,
                                 &job->run.price_count, &job->message);
    }
    if (status == SHV_OK && study->results.site_prices) {
        const struct shv_sweep_options how = {.threads = (int)job->threads};
        const uint64_t *best = job->ranking.count > 0 ? &job->ranking.item[0].index : NULL;
        status = shv_site_prices(job->s.model, &job->s.space, best, &how, &job->site_prices,
                                 &job->message);
    }
    return status;
}

/* The search can't be asked to stop: a signal ends the program, with what was to be said. */
enum shv_status job_search(struct job *job)
{
    char text[sizeof job->again + 128];
    if (!job->s.study.search.enabled && !job->s.study.results.site_prices) {
        return SHV_OK;
    }
    (void)snprintf(text, sizeof text, "sheave %s: interrupted; no results were written%s%s\n",
                   job->command, job->again[0] ? "; the sweep is kept, go on with\n  " : "",
                   job->again);
    double start = progress_now();
    log_line(&job->log, "search");
    progress_signals_end(text, &job->log);
    enum shv_status status = search_and_price(job);
    progress_signals_end(NULL, NULL);
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "the search was stopped");
    }
    job->run.seconds_search = progress_now() - start;
    if (status == SHV_OK) {
        warn_of_difference(job);
    }
    return status;
}

static bool stops(void *data)
{
    (void)data;
    return progress_interrupted();
}

/* How sure the best are, where the study has tolerances. */
static enum shv_status look_how_sure(struct job *job)
{
    const struct shv_sure_options how = {.stop = stops};
    if (!job->s.study.tolerances.given) {
        return SHV_OK;
    }
    log_line(&job->log, "tolerances");
    enum shv_status status =
        shv_sure_search(job->s.model, &job->s.space, &job->ranking, job->optima,
                        job->run.optimum_count, &how, &job->sure, &job->message);
    job->run.sure = &job->sure;
    return status;
}

static enum shv_status write_files(struct job *job)
{
    enum shv_status (*const writers[])(const struct shv_run *run, const char *folder,
                                       struct shv_message *message) = {
        shv_report_ranked, shv_report_curves,    shv_report_rejected, shv_report_optimum,
        shv_report_prices, shv_report_tradeoffs, shv_report_serving,  shv_report_sites,
        shv_report_sure,   shv_report_material,  shv_report_manifest};
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < sizeof writers / sizeof *writers && status == SHV_OK; i++) {
        status = writers[i](&job->run, job->folder, &job->message);
    }
    return status;
}

/* Plots and page, from the files just written. By now nothing can be lost. */
static enum shv_status draw_pages(struct job *job)
{
    struct shv_pages pages;
    if (job->no_report || !job->s.study.results.report) {
        return SHV_OK;
    }
    double start = progress_now();
    enum shv_status status = shv_report_pages(job->folder, &pages, &job->message);
    if (status == SHV_OK) {
        cli_tell_pages(job->command, &pages);
        printf("Open %s/report.html to see them.\n", job->folder);
        log_line(&job->log, "report.html and %zu plots, %.1f s", pages.plots,
                 progress_now() - start);
    }
    return status;
}

enum shv_status job_results(struct job *job)
{
    job->run.study = &job->s.study;
    job->run.model = job->s.model;
    job->run.space = &job->s.space;
    job->run.ranking = &job->ranking;
    job->run.counts = &job->counts;
    job->run.optima = job->optima;
    job->run.prices = job->prices;
    job->run.started = job->started;
    job->run.options = job->options;
    job->run.threads = omp_get_max_threads();
    job->run.keep = &job->keep;
    enum shv_status status =
        shv_serving_kits(job->s.model, &job->s.space, &job->keep, &job->serving,
                         &job->run.serving_count, &job->message);
    job->run.serving = job->serving;
    job->run.site_prices = job->site_prices;
    status = status == SHV_OK ? look_how_sure(job) : status;
    job->run.seconds_total = progress_now() - job->started_seconds;
    status = status == SHV_OK ? write_files(job) : status;
    /* From here on nothing is lost any more; that the table could not be printed is another thing.
     */
    if (status == SHV_OK && job->journal) {
        status = shv_journal_finish(job->journal, &job->message);
    }
    if (status == SHV_OK) {
        status = shv_report_table(&job->run, stdout, &job->message);
    }
    if (status == SHV_OK) {
        printf("\nResults are in %s\n", job->folder);
        status = draw_pages(job);
    }
    if (status == SHV_OK && job->counts.feasible == 0) {
        status = shv_fail(&job->message, SHV_NOTHING, "no combination holds every limit");
    }
    return status;
}

static void tell_stop(struct job *job)
{
    struct shv_journal_progress p = {0};
    if (job->journal) {
        p = shv_journal_progress(job->journal);
    }
    if (p.done == 0 || !job->again[0]) {
        cli_error(job->command, "interrupted; nothing was written");
        log_line(&job->log, "stop: interrupted, nothing done");
        return;
    }
    double percent = 100.0 * (double)p.done / (double)p.total;
    cli_error(job->command, "interrupted; %.1f %% of the sweep is kept, go on with\n  %s", percent,
              job->again);
    log_line(&job->log, "stop: interrupted, %.1f %% done", percent);
}

static void tell_trouble(const struct job *job, enum shv_status status)
{
    cli_error(job->command, "%s", job->message.text);
    struct shv_journal_progress p = {0};
    if (job->journal) {
        p = shv_journal_progress(job->journal);
    }
    if (p.done > 0 && !p.finished && status != SHV_NOTHING) {
        cli_error(job->command, "what is done of the sweep is kept, go on with\n  %s", job->again);
    }
}

int job_end(struct job *job, enum shv_status status)
{
    if (status == SHV_STOPPED) {
        tell_stop(job);
    } else if (status != SHV_OK) {
        tell_trouble(job, status);
    }
    if (status == SHV_OK || status == SHV_NOTHING) {
        log_line(&job->log, "end: done, %.1f s", progress_now() - job->started_seconds);
    } else if (status != SHV_STOPPED) {
        log_line(&job->log, "end: %s", job->message.text);
    }
    log_close(&job->log);
    shv_journal_close(job->journal);
    cli_tables_free(&job->tables);
    free(job->prices);
    free(job->optima);
    free(job->serving);
    free(job->site_prices);
    shv_keep_free(&job->keep);
    shv_sure_free(&job->sure);
    shv_ranking_free(&job->ranking);
    cli_unload(&job->s);
    return cli_exit_code(status);
}
