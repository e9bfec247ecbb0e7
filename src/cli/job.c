/* What follows the sweep (src/cli/job.h). */
#include "cli/job.h"

#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cli/progress.h"
#include "report/write/text.h"

void job_begin(struct job *job, const char *command)
{
    *job = (struct job){.command = command, .log = {.descriptor = -1}};
    job->started_seconds = seconds_now();
    time_t now = time(NULL);
    struct tm utc;
    if (!gmtime_r(&now, &utc) ||
        strftime(job->started, sizeof job->started, "%Y-%m-%dT%H:%M:%SZ", &utc) == 0) {
        (void)snprintf(job->started, sizeof job->started, "unknown");
    }
}

static void note_for_manifest(struct job *job, const char *name, const char *argument)
{
    size_t used = strlen(job->options);
    (void)snprintf(job->options + used, sizeof job->options - used, "%s--%s%s%s", used ? " " : "",
                   name, argument ? " " : "", argument ? argument : "");
}

/* ---- the command that goes on with it ---- */

/* Adds a word in such a way that a shell reads it as it was; false when there is no room. */
static bool add_word(char *text, size_t room, const char *word)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./"
                                "=+:,@%-";
    size_t used = strlen(text), start = used;
    bool quoted = *word == '\0' || word[strspn(word, plain)] != '\0';
    const char *parts[] = {start > 0 ? " " : "", quoted ? "'" : "", NULL, quoted ? "'" : ""};
    for (size_t i = 0; i < 4; i++) {
        for (const char *c = parts[i] ? parts[i] : word; *c; c++) {
            const char *written = !parts[i] && *c == '\'' ? "'\\''" : (const char[]){*c, '\0'};
            size_t length = strlen(written);
            if (used + length >= room) {
                text[start] = '\0';
                return false;
            }
            memcpy(text + used, written, length + 1);
            used += length;
        }
    }
    return true;
}

static void add_to_again(struct job *job, const char *word)
{
    job->again_is_cut |= !add_word(job->again, sizeof job->again, word);
}

void job_note(void *arguments, const char *name, const char *argument)
{
    struct job *job = arguments;
    char word[64];
    note_for_manifest(job, name, argument);
    if (strcmp(name, "resume") == 0 || strcmp(name, "anew") == 0) {
        return;
    }
    (void)snprintf(word, sizeof word, "--%s", name);
    job->again_is_cut |= !add_word(job->kept, sizeof job->kept, word);
    job->again_is_cut |= argument && !add_word(job->kept, sizeof job->kept, argument);
}

void job_name_again(struct job *job, const char *const *operands, size_t count)
{
    add_to_again(job, "sheave");
    add_to_again(job, job->command);
    for (size_t i = 0; i < count; i++) {
        add_to_again(job, operands[i]);
    }
    size_t used = strlen(job->again);
    int more = snprintf(job->again + used, sizeof job->again - used, "%s%s --resume",
                        job->kept[0] ? " " : "", job->kept);
    if (job->again_is_cut || more < 0 || (size_t)more >= sizeof job->again - used) {
        (void)snprintf(job->again, sizeof job->again, "the same command and --resume");
    }
}

int job_start(struct job *job)
{
    int code = cli_journal_check(job->command, job->resume, job->anew, &job->tables);
    return code < 0 ? cli_start(job->command, job->threads) : code;
}

int job_load(struct job *job, const char *path)
{
    int code = cli_load(job->command, path, &job->s);
    job->s.study.results.exhaustive |= job->exhaustive;
    return code;
}

enum shv_status job_room(struct job *job)
{
    enum shv_status status =
        shv_ranking_init(&job->ranking, job->s.study.results.keep, &job->message);
    return status == SHV_OK ? shv_keep_init(&job->keep, &job->s.study, &job->message) : status;
}

enum shv_status job_tables(struct job *job)
{
    if (job->run.tables) {
        return SHV_OK;
    }
    job->tables.quiet = job->quiet;
    job->tables.threads = (int)job->threads;
    job->tables.log = &job->log;
    enum shv_status status =
        cli_tables_prepare(job->command, &job->s, &job->tables, NULL, &job->message);
    job->run.tables = job->tables.reports;
    job->run.seconds_tables = job->tables.seconds;
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "stopped after the cycle tables");
    }
    return status;
}

enum shv_status job_journal(struct job *job, struct shv_shard shard)
{
    const struct shv_journal_options how = {.mode = cli_journal_mode(job->resume, job->anew),
                                            .shard = shard,
                                            .keep = job->s.study.results.keep};
    enum shv_status status = shv_journal_open(job->folder, &how, job->s.model, &job->s.space,
                                              &job->journal, &job->message);
    if (status != SHV_OK) {
        return status;
    }
    char room[REPORT_COUNT_MAX];
    struct shv_journal_progress p = shv_journal_progress(job->journal);
    log_open(&job->log, job->command, job->folder, p.done > 0);
    log_line(&job->log, "%s: sheave %s, %s, %s combinations, %d threads",
             p.done > 0 ? "resume" : "start", shv_version(), job->s.study.path,
             report_thousands(room, p.total), omp_get_max_threads());
    if (p.done > 0) {
        log_line(&job->log, "%.1f %% were done before", 100.0 * (double)p.done / (double)p.total);
    }
    return SHV_OK;
}

/* ---- stages ---- */

static struct progress begin_stage(struct job *job)
{
    struct progress progress;
    progress_init(&progress, &job->s.study, job->quiet);
    progress.log = &job->log;
    return progress;
}

/* SHV_STOPPED also when the signal came after the last question. */
static enum shv_status end_stage(struct job *job, struct progress *progress, const char *what,
                                 enum shv_status status)
{
    progress_end(progress);
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "stopped after the %s", what);
    }
    if (status == SHV_OK) {
        log_line(&job->log, "%s: done, %.1f s", what, seconds_now() - progress->started);
    }
    return status;
}

/* Of no name all files. The manifest last: it says what else is there. */
static enum shv_status write_files(struct job *job, const char *const *files, size_t count)
{
    job->run.seconds_total = seconds_now() - job->started_seconds;
    enum shv_status status =
        count == 0 ? shv_report_files(&job->run, job->folder, &job->message) : SHV_OK;
    for (size_t i = 0; i < count && status == SHV_OK; i++) {
        status = shv_report_file(&job->run, files[i], job->folder, &job->message);
    }
    return status == SHV_OK ? shv_report_manifest(&job->run, job->folder, &job->message) : status;
}

/* Where nothing is feasible: what would have to give. */
static enum shv_status find_nearest(struct job *job)
{
    if (job->counts.feasible > 0) {
        return SHV_OK;
    }
    job->stage = "the nearest kits";
    job->nearest = calloc(SHV_NEAREST_MOST, sizeof *job->nearest);
    if (!job->nearest) {
        return shv_fail(&job->message, SHV_NO_MEMORY, "out of memory for the nearest kits");
    }
    struct progress progress = begin_stage(job);
    struct shv_watch watch = progress_watch(&progress, "nearest kits", true);
    enum shv_status status = shv_nearest_find(job->s.model, &job->s.space, &watch, job->nearest,
                                              &job->run.nearest_count, &job->message);
    job->run.nearest = job->nearest;
    return end_stage(job, &progress, "nearest kits", status);
}

/* What else a kit could have been. */
static enum shv_status map_choices(struct job *job, uint64_t index)
{
    free(job->choices);
    job->choices = NULL;
    enum shv_status status = shv_choice_map(job->s.model, &job->s.space, index, &job->choices,
                                            &job->run.choice_count, &job->message);
    job->run.choices = job->choices;
    return status;
}

/* All that the sweep gives; what an earlier run left of the later stages goes. */
static enum shv_status write_sweep(struct job *job)
{
    enum shv_status status = find_nearest(job);
    status = status == SHV_OK
                 ? shv_serving_kits(job->s.model, &job->s.space, &job->keep, &job->serving,
                                    &job->run.serving_count, &job->message)
                 : status;
    job->run.serving = job->serving;
    if (status == SHV_OK && job->ranking.count > 0) {
        status = map_choices(job, job->ranking.item[0].index);
    }
    status = status == SHV_OK ? write_files(job, NULL, 0) : status;
    job->has_results = status == SHV_OK;
    return status;
}

/* The best kit for each site alone: a sweep of its own. */
static enum shv_status sweep_sites(struct job *job)
{
    static const char *const files[] = {"sites.csv"};
    if (!job->s.study.results.site_shortfalls) {
        return SHV_OK;
    }
    job->stage = "the best kit for each site alone";
    struct progress progress = begin_stage(job);
    (void)progress_watch(&progress, "sites", true);
    const struct shv_sweep_options how = {
        .threads = (int)job->threads, .progress = progress_part, .progress_data = &progress};
    const uint64_t *best = job->ranking.count > 0 ? &job->ranking.item[0].index : NULL;
    enum shv_status status = shv_site_shortfalls(job->s.model, &job->s.space, best, &how,
                                                 &job->site_shortfalls, &job->message);
    status = end_stage(job, &progress, "sites", status);
    job->run.site_shortfalls = job->site_shortfalls;
    return status == SHV_OK ? write_files(job, files, 1) : status;
}

/* Plots and page, from the files just written. */
static enum shv_status draw_pages(struct job *job, struct shv_pages *pages)
{
    if (job->no_report || !job->s.study.results.report) {
        return SHV_OK;
    }
    job->stage = "the page";
    struct progress progress = begin_stage(job);
    struct shv_watch watch = progress_watch(&progress, "page: plot", false);
    enum shv_status status = shv_report_pages(job->folder, &watch, pages, &job->message);
    return end_stage(job, &progress, "page", status);
}

/* ---- the search ---- */

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

/* What an earlier run found. The journal is of the same study, so the row is of it too. */
static bool take_known(void *data, size_t row, struct shv_optimum *optimum)
{
    struct job *job = data;
    size_t count = shv_optimum_words();
    uint64_t *words = job->journal ? calloc(count, sizeof *words) : NULL;
    bool known = words && shv_journal_get(job->journal, row, words, count);
    if (known) {
        shv_optimum_unpack(words, optimum);
        known =
            optimum->blower < job->s.study.blower_count && optimum->fuel < job->s.study.fuel_count;
    }
    free(words);
    return known;
}

static enum shv_status keep_found(void *data, size_t row, const struct shv_optimum *optimum,
                                  struct shv_message *message)
{
    struct job *job = data;
    if (!job->journal) {
        return SHV_OK;
    }
    size_t count = shv_optimum_words();
    uint64_t *words = calloc(count, sizeof *words);
    if (!words) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for what the search found");
    }
    shv_optimum_pack(optimum, words);
    enum shv_status status = shv_journal_put(job->journal, row, words, count, message);
    free(words);
    return status;
}

static enum shv_status find_optima(struct job *job)
{
    struct progress progress = begin_stage(job);
    const struct shv_optimum_options how = {.watch = progress_watch(&progress, "search", false),
                                            .known = take_known,
                                            .found = keep_found,
                                            .data = job};
    enum shv_status status =
        shv_optimum_search(job->s.model, &job->s.space, &job->keep, &how, &job->optima,
                           &job->run.optimum_count, &job->message);
    job->run.optima = job->optima;
    return end_stage(job, &progress, "search", status);
}

static enum shv_status find_limit_worth(struct job *job)
{
    struct progress progress = begin_stage(job);
    struct shv_watch watch = progress_watch(&progress, "worth of limits", true);
    enum shv_status status =
        shv_limit_worths_find(job->s.model, job->optima, job->run.optimum_count, &watch,
                              &job->limit_worths, &job->run.worth_count, &job->message);
    job->run.limit_worths = job->limit_worths;
    return end_stage(job, &progress, "worth of limits", status);
}

static enum shv_status search(struct job *job)
{
    static const char *const files[] = {"optimum.csv", "limit_worth.csv"};
    if (job->run.search != SHV_STAGE_TO_COME) {
        return SHV_OK;
    }
    job->stage = "the search";
    double start = seconds_now();
    enum shv_status status = find_optima(job);
    status = status == SHV_OK ? find_limit_worth(job) : status;
    job->run.seconds_search = seconds_now() - start;
    if (status != SHV_OK) {
        return status;
    }
    warn_of_difference(job);
    job->run.search = SHV_STAGE_DONE;
    return write_files(job, files, sizeof files / sizeof *files);
}

/* The kit to sell is listed with the best, whether it is one of them or not. */
static enum shv_status list_kit_to_sell(struct job *job)
{
    const struct shv_sure_list *list = &job->sure;
    if (!list->asked || list->best >= list->count) {
        return SHV_OK;
    }
    const struct shv_sure *sell = &list->row[list->best];
    for (size_t i = 0; i < job->ranking.count; i++) {
        if (job->ranking.item[i].index == sell->index) {
            return SHV_OK;
        }
    }
    return shv_ranking_append(&job->ranking, (struct shv_candidate){sell->nominal, sell->index},
                              &job->message);
}

/* How sure the best are. */
static enum shv_status look_how_sure(struct job *job)
{
    static const char *const files[] = {"ranked.csv",        "curves.csv",  "limits.csv",
                                        "parts.csv",         "sure.csv",    "sensitivities.csv",
                                        "worth_knowing.csv", "islands.csv", "map.csv"};
    if (job->run.certainty != SHV_STAGE_TO_COME) {
        return SHV_OK;
    }
    job->stage = "certainty";
    struct progress progress = begin_stage(job);
    struct shv_watch watch = progress_watch(&progress, "certainty", true);
    enum shv_status status =
        shv_sure_search(job->s.model, &job->s.space, &job->ranking, &job->keep, job->optima,
                        job->run.optimum_count, &watch, &job->sure, &job->message);
    status = end_stage(job, &progress, "certainty", status);
    status = status == SHV_OK ? list_kit_to_sell(job) : status;
    if (status == SHV_OK && job->sure.best < job->sure.count) { /* which now goes first */
        status = map_choices(job, job->sure.row[job->sure.best].index);
    }
    if (status != SHV_OK) {
        return status;
    }
    job->run.sure = &job->sure;
    job->run.certainty = SHV_STAGE_DONE;
    return write_files(job, files, sizeof files / sizeof *files);
}

/* ---- all that follows the sweep ---- */

static void describe_run(struct job *job)
{
    const struct shv_study *study = &job->s.study;
    struct shv_run *run = &job->run;
    run->study = study;
    run->model = job->s.model;
    run->space = &job->s.space;
    run->ranking = &job->ranking;
    run->counts = &job->counts;
    run->started = job->started;
    run->options = job->options;
    run->threads = omp_get_max_threads();
    run->keep = &job->keep;
    run->search = !study->search.enabled ? SHV_STAGE_NONE
                  : job->no_search       ? SHV_STAGE_LEFT_OUT
                                         : SHV_STAGE_TO_COME;
    run->certainty = !study->tolerances.given ? SHV_STAGE_NONE
                     : job->no_certainty      ? SHV_STAGE_LEFT_OUT
                                              : SHV_STAGE_TO_COME;
}

static bool more_to_come(const struct job *job)
{
    return job->run.search == SHV_STAGE_TO_COME || job->run.certainty == SHV_STAGE_TO_COME;
}

/* What a stop from here on leaves behind is told on a terminal too: the rest may take long. */
static enum shv_status first_results(struct job *job)
{
    struct shv_pages pages;
    enum shv_status status = write_sweep(job);
    status = status == SHV_OK ? sweep_sites(job) : status;
    if (status == SHV_OK && more_to_come(job)) {
        /* A page that can't be written is told at the end, where nothing more is to come. */
        status = draw_pages(job, &pages) == SHV_STOPPED ? SHV_STOPPED : SHV_OK;
        log_line(&job->log, "results of the sweep are in %s", job->folder);
    }
    return status;
}

static enum shv_status print_answer(struct job *job)
{
    enum shv_status status = shv_report_answer(&job->run, stdout, &job->message);
    if (status == SHV_OK && job->long_answer) {
        printf("\n");
        status = shv_report_table(&job->run, stdout, &job->message);
    }
    printf("\nResults are in %s\n", job->folder);
    return status;
}

/* The page is drawn even when nobody reads the answer to its end. */
static enum shv_status print_results(struct job *job)
{
    struct shv_pages pages = {0};
    enum shv_status printed = print_answer(job);
    const struct shv_message said = job->message;
    enum shv_status status = draw_pages(job, &pages);
    if (status == SHV_OK && !job->no_report && job->s.study.results.report) {
        status = cli_tell_pages(job->command, &pages, &job->message);
        printf("Open %s/report.html to see them.\n", job->folder);
    }
    if (printed != SHV_OK) {
        job->message = said;
        return printed;
    }
    if (status == SHV_OK && job->counts.feasible > 0) {
        bool sells = job->sure.asked && job->sure.best < job->sure.count;
        printf(
            "Next: sheave report %s --kit %s makes a sheet to print; --long prints everything.\n",
            job->folder, sells ? "sell" : "1");
    } else if (status == SHV_OK && job->run.nearest_count > 0) {
        printf("Next: sheave point %s --combination %llu --explain\n", job->s.study.path,
               (unsigned long long)job->nearest[0].index);
    }
    return status;
}

enum shv_status job_results(struct job *job)
{
    describe_run(job);
    enum shv_status status = first_results(job);
    status = status == SHV_OK ? search(job) : status;
    status = status == SHV_OK ? look_how_sure(job) : status;
    if (status == SHV_OK && job->journal) {
        status = shv_journal_finish(job->journal, &job->message);
    }
    /* Nothing is lost any more; that the table could not be printed is another thing. */
    job->is_finished = status == SHV_OK;
    status = status == SHV_OK ? print_results(job) : status;
    if (status == SHV_OK && job->counts.feasible == 0) {
        status = shv_fail(&job->message, SHV_NOTHING, "no combination holds every limit");
    }
    return status;
}

/* ---- the end ---- */

static void tell_stop_of_sweep(struct job *job, struct shv_journal_progress p)
{
    if (p.done == 0) {
        cli_error(job->command, "interrupted; nothing was written");
        log_line(&job->log, "stop: interrupted, nothing done");
        return;
    }
    double percent = 100.0 * (double)p.done / (double)p.total;
    cli_error(job->command, "interrupted; %.1f %% of the sweep is kept, go on with\n  %s", percent,
              job->again);
    log_line(&job->log, "stop: interrupted, %.1f %% done", percent);
}

static void tell_stop(struct job *job, struct shv_journal_progress p)
{
    if (!job->has_results) {
        tell_stop_of_sweep(job, p);
        return;
    }
    log_line(&job->log, "stop: interrupted at %s, results of the sweep are there", job->stage);
    if (job->is_finished) {
        cli_error(job->command,
                  "interrupted; the results are in %s, without a page; draw it with\n"
                  "  sheave report %s",
                  job->folder, job->folder);
        return;
    }
    cli_error(job->command,
              "interrupted at %s; the results of the sweep are in %s and what was found since is "
              "kept, go on with\n  %s",
              job->stage, job->folder, job->again);
}

static void tell_trouble(const struct job *job, enum shv_status status,
                         struct shv_journal_progress p)
{
    cli_error(job->command, "%s", job->message.text);
    if (p.done > 0 && !p.finished && status != SHV_NOTHING) {
        cli_error(job->command, "what is done %s is kept, go on with\n  %s",
                  p.done < p.total ? "of the sweep" : "until then", job->again);
    }
}

/* Returns the status that the run ends with. */
static enum shv_status close_journal(struct job *job, enum shv_status status)
{
    struct shv_message said;
    enum shv_status closed = shv_journal_close(job->journal, &said);
    job->journal = NULL;
    if (closed == SHV_OK || (status != SHV_OK && status != SHV_NOTHING)) {
        return status;
    }
    job->message = said;
    return closed;
}

int job_end(struct job *job, enum shv_status status)
{
    struct shv_journal_progress p = {0};
    if (job->journal) {
        p = shv_journal_progress(job->journal);
    }
    status = close_journal(job, status);
    if (status == SHV_STOPPED) {
        tell_stop(job, p);
    } else if (status != SHV_OK) {
        tell_trouble(job, status, p);
    }
    if (status == SHV_OK || status == SHV_NOTHING) {
        log_line(&job->log, "end: done, %.1f s", seconds_now() - job->started_seconds);
    } else if (status != SHV_STOPPED) {
        log_line(&job->log, "end: %s", job->message.text);
    }
    log_close(&job->log);
    cli_tables_free(&job->tables);
    free(job->nearest);
    free(job->limit_worths);
    free(job->optima);
    free(job->serving);
    free(job->choices);
    free(job->site_shortfalls);
    shv_keep_free(&job->keep);
    shv_sure_free(&job->sure);
    shv_ranking_free(&job->ranking);
    cli_unload(&job->s);
    return cli_exit_code(status);
}
