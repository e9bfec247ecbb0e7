/* sheave merge: joins the shards of a sweep, then searches, ranks and writes as run does. */
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/path.h"
#include "cli/cli.h"
#include "cli/job.h"

struct merge_arguments {
    struct job job; /* first: see job_note */
    const char *study;
};

#define PLACE(member) offsetof(struct merge_arguments, member)
static const struct cli_option options[] = {
    {"out", "DIR", "folder for the results (default: results.folder of the study)",
     .place = PLACE(job.folder), .folder = true},
    {"study", "FILE", "the study, where it is no longer where the shards were run from",
     .place = PLACE(study)},
    {"exhaustive", NULL, "the shards were run with --exhaustive", .place = PLACE(job.exhaustive)},
    {"resume", NULL, "go on with the search of an interrupted merge", .place = PLACE(job.resume)},
    {"anew", NULL, "drop what an interrupted run or merge has left, and begin",
     .place = PLACE(job.anew)},
    {"no-search", NULL, "no search for ideals and the worth of limits; --resume can add it",
     .place = PLACE(job.no_search)},
    {"no-certainty", NULL, "leave the study's tolerances alone; --resume can add that",
     .place = PLACE(job.no_certainty)},
    {"no-report", NULL, "tables only, no plots and no page", .place = PLACE(job.no_report)},
    {"threads", "N", "threads for the search (default: all processors)",
     .place = PLACE(job.threads), .most = CLI_THREADS_MOST},
    {"quiet", NULL, "no progress on standard error", .place = PLACE(job.quiet)},
    {"long", NULL, "print the whole account, not only the answer", .place = PLACE(job.long_answer)},
    CLI_CACHE(PLACE(job.tables)),
    {.name = NULL}};

/* The study as the first shard names it: seen from here, else from where the shard was run. The
 * caller frees it. */
static enum shv_status find_study(const char *folder, char **found, struct shv_message *message)
{
    char *path, *started_in;
    enum shv_status status = shv_journal_study_path(folder, &path, &started_in, message);
    if (status != SHV_OK) {
        return status;
    }
    if (path[0] == '/' || access(path, R_OK) == 0) {
        free(started_in);
        *found = path;
        return SHV_OK;
    }
    *found = path_in(started_in, path);
    free(started_in);
    free(path);
    return *found ? SHV_OK
                  : shv_fail(message, SHV_NO_MEMORY, "out of memory for the name of the study");
}

/* The joined sweep gets a journal of its own, in which the search keeps what it finds; not where
 * that would take the place of a shard's. */
static enum shv_status keep_joined(struct merge_arguments *a, const char *const *folders,
                                   size_t count)
{
    struct job *job = &a->job;
    for (size_t i = 0; i < count; i++) {
        struct stat there, shard;
        if (stat(job->folder, &there) == 0 && stat(folders[i], &shard) == 0 &&
            there.st_dev == shard.st_dev && there.st_ino == shard.st_ino) {
            return SHV_OK;
        }
    }
    enum shv_status status = job_journal(job, (struct shv_shard){0, 0});
    if (status != SHV_OK || shv_journal_progress(job->journal).done == job->counts.total) {
        return status;
    }
    return shv_journal_store_whole(job->journal, &job->ranking, &job->counts, &job->keep,
                                   &job->message);
}

/* Everything after loading. */
static enum shv_status work(struct merge_arguments *a, const char *const *folders, size_t count)
{
    struct job *job = &a->job;
    enum shv_status status = job_room(job);
    if (status == SHV_OK) {
        status = shv_journal_merge(folders, count, job->s.model, &job->s.space, &job->ranking,
                                   &job->counts, &job->keep, &job->message);
    }
    if (status == SHV_OK) {
        status = cli_make_folders(job->folder, 0777, &job->message);
    }
    if (status == SHV_OK) {
        status = keep_joined(a, folders, count);
    }
    if (status == SHV_OK) {
        status = job_tables(job);
    }
    return status == SHV_OK ? job_results(job) : status;
}

static int run_study(struct merge_arguments *a, const char *path, const char *const *folders,
                     size_t count)
{
    struct job *job = &a->job;
    int code = job_load(job, path);
    if (code >= 0) {
        return code;
    }
    job->folder = job->folder ? job->folder : job->s.study.results.folder;
    job_name_again(job, folders, count);
    return job_end(job, work(a, folders, count));
}

static int run(int argc, char **argv)
{
    struct merge_arguments a = {.study = NULL};
    int first;
    char *found = NULL;
    job_begin(&a.job, "merge");
    int code = cli_parse_list(&cli_merge, argc, argv, &a, &first);
    code = code < 0 ? job_start(&a.job) : code;
    if (code >= 0) {
        return code;
    }
    const char *const *folders = (const char *const *)&argv[first];
    if (!a.study) {
        enum shv_status status = find_study(folders[0], &found, &a.job.message);
        if (status != SHV_OK) {
            return cli_finish("merge", status, &a.job.message);
        }
    }
    code = run_study(&a, a.study ? a.study : found, folders, (size_t)(argc - first));
    free(found);
    return code;
}

const struct cli_command cli_merge = {
    "merge",
    "DIR...",
    "join the shards of a sweep, write results",
    "Joins what sheave run --shard 1/N to N/N have left in their folders, in any order, and writes "
    "the\n"
    "same results as one run of the whole study. The study is read again, and must not have "
    "changed.\n"
    "Says which shards are missing, there twice, not finished, or of another study or version. "
    "After "
    "a\n"
    "stop in the search the same command with --resume goes on where it was.\n",
    options,
    true,
    .run = run,
    .note = job_note};
