/* sheave run: sweep, search, rank, write. */
#include <errno.h>
#include <limits.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/job.h"
#include "cli/progress.h"
#include "report/write/text.h"

static const struct cli_option options[] = {
    {"out", "DIR", "folder for the results (default: results.folder of the study)"},
    {"threads", "N", "threads to use (default: all processors)"},
    {"quiet", NULL, "no progress on standard error"},
    {"resume", NULL, "go on with what an interrupted run has left in the folder"},
    {"anew", NULL, "drop what an interrupted run has left, and begin"},
    {"exhaustive", NULL, "count every limit that each combination breaks, not only the first"},
    {"no-report", NULL, "tables only, no plots and no page"},
    {"shard", "I/N", "only part I of N; sheave merge joins the parts"},
    CLI_CACHE,
    CLI_NO_CACHE,
    {NULL, NULL, NULL}};

struct arguments {
    struct job job;
    bool resume, anew;
    struct shv_shard shard; /* count 0: the whole study */
    char kept[700];         /* those that the run that goes on with this one needs as well */
};

/* Adds a word in such a way that a shell reads it as it was; "" when there is no room. */
static void add_word(char *text, size_t room, const char *word)
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
                return;
            }
            memcpy(text + used, written, length + 1);
            used += length;
        }
    }
}

static bool whole_number(const char *text, char end, uint64_t *number, const char **rest)
{
    char *stop;
    errno = 0;
    unsigned long long value = strtoull(text, &stop, 10);
    *number = value;
    *rest = stop + 1;
    return text[0] >= '0' && text[0] <= '9' && errno == 0 && *stop == end;
}

static int take_shard(struct arguments *a, const char *text)
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
    return 0;
}

static void keep_option(struct arguments *a, const char *name, const char *argument)
{
    char word[64];
    (void)snprintf(word, sizeof word, "--%s", name);
    add_word(a->kept, sizeof a->kept, word);
    if (argument) {
        add_word(a->kept, sizeof a->kept, argument);
    }
}

static int on_option(void *data, const char *name, const char *argument)
{
    struct arguments *a = data;
    job_note_option(&a->job, name, argument);
    if (strcmp(name, "resume") == 0) {
        a->resume = true;
        return 0;
    }
    if (strcmp(name, "anew") == 0) {
        a->anew = true;
        return 0;
    }
    keep_option(a, name, argument);
    return strcmp(name, "shard") == 0 ? take_shard(a, argument)
                                      : job_option(&a->job, name, argument);
}

static int check_options(const struct arguments *a)
{
    if (a->resume && a->anew) {
        cli_error("run", "give one of --resume and --anew");
        return CLI_BAD_INPUT;
    }
    return cli_tables_check("run", &a->job.tables);
}

/* ---- the folder ---- */

/* Shards of one study that are not told where to write must not meet in one folder. */
static const char *results_folder(const struct arguments *a, char path[PATH_MAX])
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

static enum shv_status open_journal(struct arguments *a)
{
    struct job *job = &a->job;
    const struct shv_journal_options how = {.mode = a->resume ? SHV_JOURNAL_RESUME
                                                    : a->anew ? SHV_JOURNAL_ANEW
                                                              : SHV_JOURNAL_START,
                                            .shard = a->shard,
                                            .keep = job->s.study.results.keep};
    enum shv_status status = shv_journal_open(job->folder, &how, job->s.model, &job->s.space,
                                              &job->journal, &job->message);
    if (status != SHV_OK) {
        return status;
    }
    char room[32];
    struct shv_journal_progress p = shv_journal_progress(job->journal);
    log_open(&job->log, "run", job->folder, p.done > 0);
    log_line(&job->log, "%s: sheave %s, %s, %s combinations, %d threads",
             p.done > 0 ? "resume" : "start", shv_version(), job->s.study.path,
             report_thousands(room, p.total), omp_get_max_threads());
    if (p.done > 0) {
        log_line(&job->log, "%.1f %% were done before", 100.0 * (double)p.done / (double)p.total);
    }
    return SHV_OK;
}

/* ---- work ---- */

static enum shv_status sweep(struct job *job)
{
    struct progress progress;
    progress_init(&progress, &job->s.study, job->quiet);
    progress.log = &job->log;
    progress.first_done = shv_journal_progress(job->journal).done;
    const struct shv_sweep_options how = {.threads = (int)job->threads,
                                          .progress = progress_step,
                                          .progress_data = &progress,
                                          .trouble = progress_trouble,
                                          .journal = job->journal,
                                          .keep = &job->keep};
    double start = progress_now();
    enum shv_status status = shv_sweep_run(job->s.model, &job->s.space, &how, &job->ranking,
                                           &job->counts, &job->message);
    progress_end(&progress);
    job->run.seconds_sweep = progress_now() - start;
    if (status == SHV_OK && progress_interrupted()) {
        status = shv_fail(&job->message, SHV_STOPPED, "the sweep was stopped");
    }
    if (status == SHV_OK) {
        log_line(&job->log, "sweep done, %.1f s", job->run.seconds_sweep);
    }
    return status;
}

/* What a shard has found stands in its journal; results come from all of them. */
static enum shv_status end_shard(struct arguments *a)
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
static enum shv_status work(struct arguments *a)
{
    struct job *job = &a->job;
    /* Better now than after the sweep. */
    enum shv_status status = cli_make_folders(job->folder, 0777, &job->message);
    if (status == SHV_OK) {
        status = job_room(job);
    }
    if (status == SHV_OK) {
        status = open_journal(a);
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
    if (status == SHV_OK) {
        status = job_search(job);
    }
    return status == SHV_OK ? job_results(job) : status;
}

static void name_again(struct arguments *a, const char *study)
{
    char *again = a->job.again;
    const size_t room = sizeof a->job.again;
    add_word(again, room, "sheave");
    add_word(again, room, "run");
    add_word(again, room, study);
    size_t used = strlen(again);
    (void)snprintf(again + used, room - used, "%s%s --resume", a->kept[0] ? " " : "", a->kept);
}

static int run(int argc, char **argv)
{
    struct arguments a = {.resume = false};
    struct job *job = &a.job;
    const char *path;
    char folder[PATH_MAX];
    job_begin(job, "run");
    int code = cli_parse(&cli_run, argc, argv, on_option, &a, &path);
    code = code < 0 ? check_options(&a) : code;
    if (code >= 0) {
        return code;
    }
    if (!progress_catch_signals()) {
        cli_error("run", "cannot catch signals: %s", strerror(errno));
        return CLI_TROUBLE;
    }
    code = cli_load("run", path, &job->s);
    if (code >= 0) {
        return code;
    }
    job->s.study.results.exhaustive |= job->exhaustive;
    if (job->threads > 0) {
        omp_set_num_threads((int)job->threads);
    }
    name_again(&a, path);
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
    "What is done of the sweep is kept in journal.db in the same folder about once a second. After "
    "Ctrl-C,\n"
    "a closed terminal, a crash or loss of power, the same command with --resume goes on from "
    "there and\n"
    "ends with the same results. run.log tells how far a run came.\n\n"
    "With the closed cycle, tables of it are built before the sweep, a few seconds each, and kept "
    "for the\n"
    "next run in $XDG_CACHE_HOME/sheave, else in $HOME/.cache/sheave.\n",
    options,
    true,
    run};
