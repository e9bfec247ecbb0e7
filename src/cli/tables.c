/* The tables of the closed cycle before a model is used: where they are kept, and what is said
 * meanwhile. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"
#include "cli/progress.h"

#define PRIVATE 0700 /* what the rules for cache folders ask for */

int cli_tables_check(const char *command, const struct cli_tables *tables)
{
    if (tables->cache && tables->no_cache) {
        cli_error(command, "give one of --cache and --no-cache");
        return CLI_BAD_INPUT;
    }
    return -1;
}

enum shv_journal_mode cli_journal_mode(bool resume, bool anew)
{
    return resume ? SHV_JOURNAL_RESUME : anew ? SHV_JOURNAL_ANEW : SHV_JOURNAL_START;
}

int cli_journal_check(const char *command, bool resume, bool anew, const struct cli_tables *tables)
{
    if (resume && anew) {
        cli_error(command, "give one of --resume and --anew");
        return CLI_BAD_INPUT;
    }
    return cli_tables_check(command, tables);
}

/* By the XDG Base Directory Specification: a path that is not absolute does not count. */
static bool usual_folder(char path[PATH_MAX])
{
    const char *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    int length = -1;
    if (cache && cache[0] == '/') {
        length = snprintf(path, PATH_MAX, "%s/sheave", cache);
    } else if (home && home[0] == '/') {
        length = snprintf(path, PATH_MAX, "%s/.cache/sheave", home);
    }
    return length >= 0 && length < PATH_MAX;
}

/* The folder to use, NULL for none. That there is none costs time, nothing else. */
static const char *ready_folder(const char *command, const struct cli_tables *tables,
                                char path[PATH_MAX])
{
    struct shv_message why;
    if (tables->no_cache) {
        return NULL;
    }
    const char *folder = tables->cache ? tables->cache : usual_folder(path) ? path : NULL;
    if (!folder) {
        cli_error(command, "note: cycle tables are not kept: neither XDG_CACHE_HOME nor HOME names "
                           "a folder; --cache does");
        return NULL;
    }
    if (cli_make_folders(folder, PRIVATE, &why) != SHV_OK) {
        cli_error(command, "note: cycle tables are not kept: %s", why.text);
        return NULL;
    }
    return folder;
}

static void print_notes(const char *command, const struct cli_tables *tables, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (tables->reports[i].build.note[0] != '\0') {
            cli_error(command, "note: %s", tables->reports[i].build.note);
        }
    }
}

/* `progress` and `path` last as long as what is returned. */
static struct shv_tables_options begin_tables(const char *command, const struct shv_study *study,
                                              const struct cli_tables *tables,
                                              struct progress *progress, char path[PATH_MAX])
{
    progress_init(progress, study, tables->quiet);
    progress->log = tables->log;
    return (struct shv_tables_options){.threads = tables->threads,
                                       .folder = ready_folder(command, tables, path),
                                       .progress = progress_tables,
                                       .stop = progress_stop,
                                       .data = progress};
}

enum shv_status cli_tables_prepare(const char *command, struct cli_study *s,
                                   struct cli_tables *tables, const struct shv_kit *only,
                                   struct shv_message *message)
{
    size_t count = shv_model_table_count(s->model);
    char path[PATH_MAX];
    if (count == 0) {
        return SHV_OK;
    }
    tables->reports = calloc(count, sizeof *tables->reports);
    if (!tables->reports) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the cycle tables");
    }
    struct progress progress;
    struct shv_tables_options how = begin_tables(command, &s->study, tables, &progress, path);
    how.only = only;
    double start = seconds_now();
    enum shv_status status = shv_tables_prepare(s->model, &how, tables->reports, message);
    tables->seconds = seconds_now() - start;
    progress_end(&progress);
    print_notes(command, tables, count);
    return status;
}

enum shv_status cli_tables_prepare_fit(const char *command, const struct cli_study *s,
                                       struct cli_tables *tables, struct shv_fit *fit,
                                       struct shv_message *message)
{
    char path[PATH_MAX];
    if (s->study.engine.efficiency_kind != SHV_EFFICIENCY_CYCLE) {
        return SHV_OK;
    }
    struct progress progress;
    const struct shv_tables_options how = begin_tables(command, &s->study, tables, &progress, path);
    enum shv_status status = shv_fit_prepare(fit, &how, message);
    progress_end(&progress);
    return status;
}

void cli_tables_free(struct cli_tables *tables)
{
    free(tables->reports);
    tables->reports = NULL;
}
