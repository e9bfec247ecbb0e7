/* sheave fit: ties a study to measurements. */
#include <errno.h>
#include <limits.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "cli/cli.h"
#include "cli/progress.h"

#define MOST_LOGS 64

struct fit_arguments {
    const char *log[MOST_LOGS];
    size_t logs;
    const char *out;
    bool replace;
    long threads;
    struct cli_tables tables;
    struct cli_place to;
    char residuals[NAME_MAX + 1];
};

#define PLACE(member) offsetof(struct fit_arguments, member)
static const struct cli_option options[] = {
    {"log", "[NAME=]CSV", "a log, by its name in the study where that has several; may be repeated",
     .place = PLACE(log), .several = "logs", .room = MOST_LOGS, .count = PLACE(logs)},
    {"out", "FITTED", "file for the corrections found (needed)", .place = PLACE(out)},
    {"replace", NULL, "write over files that are there", .place = PLACE(replace)},
    {"threads", "N", "threads to use (default: all processors)", .place = PLACE(threads),
     .most = CLI_THREADS_MOST},
    {"quiet", NULL, "no progress on standard error", .place = PLACE(tables.quiet)},
    CLI_CACHE(PLACE(tables)),
    {.name = NULL}};

/* ---- where it goes ---- */

/* FITTED without its ending and with another. False when the name is too long. */
static bool name_residuals(struct fit_arguments *a)
{
    static const char ending[] = ".residuals.csv";
    const char *dot = strrchr(a->to.name, '.');
    size_t stem = dot && dot != a->to.name ? (size_t)(dot - a->to.name) : strlen(a->to.name);
    if (stem + sizeof ending > sizeof a->residuals) {
        return false;
    }
    memcpy(a->residuals, a->to.name, stem);
    memcpy(a->residuals + stem, ending, sizeof ending);
    return true;
}

/* Whether a file is there that must not be written over. */
static bool is_in_the_way(const struct fit_arguments *a, const char *name)
{
    char path[PATH_MAX + NAME_MAX + 2];
    struct stat about;
    (void)snprintf(path, sizeof path, "%s%s%s", a->to.folder,
                   a->to.folder[0] == '\0' || strcmp(a->to.folder, "/") == 0 ? "" : "/", name);
    if (a->replace || stat(path, &about) != 0) {
        return false;
    }
    cli_error("fit", "%s is there already; --replace writes over it", path);
    return true;
}

static int check_options(struct fit_arguments *a)
{
    if (a->logs == 0) {
        cli_error("fit", "no log was given: --log CSV is needed");
        return CLI_BAD_INPUT;
    }
    if (!a->out) {
        cli_error("fit", "no file for the result was given: --out FITTED is needed");
        return CLI_BAD_INPUT;
    }
    if (!cli_split_path(a->out, &a->to) || !name_residuals(a)) {
        cli_error("fit", "--out: found \"%s\"; the name of a file is needed", a->out);
        return CLI_BAD_INPUT;
    }
    bool blocked = is_in_the_way(a, a->to.name);
    blocked = is_in_the_way(a, a->residuals) || blocked;
    return blocked ? CLI_BAD_INPUT : cli_tables_check("fit", &a->tables);
}

/* ---- logs ---- */

static void tell_logs(const char *command, const struct shv_fit_plan *plan, const char *argument,
                      const char *equals)
{
    if (equals) {
        fprintf(stderr, "sheave %s: --log: the study's fit knows no \"%.*s\"; it knows", command,
                (int)(equals - argument), argument);
    } else {
        fprintf(stderr,
                "sheave %s: --log: found \"%s\"; NAME=CSV is needed, with NAME one of the study's "
                "fit:",
                command, argument);
    }
    for (size_t i = 0; i < plan->logs; i++) {
        fprintf(stderr, "%s \"%s\"", i ? "," : "", plan->log[i].name);
    }
    fputc('\n', stderr);
}

/* Index of the study's log that an argument is for, and its file; SIZE_MAX after saying why none.
 */
static size_t find_log(const char *command, const struct shv_fit_plan *plan, const char *argument,
                       const char **file)
{
    const char *equals = strchr(argument, '=');
    for (size_t i = 0; equals && i < plan->logs; i++) {
        size_t length = strlen(plan->log[i].name);
        if (length == (size_t)(equals - argument) &&
            strncmp(plan->log[i].name, argument, length) == 0) {
            *file = equals + 1;
            return i;
        }
    }
    /* A name may have an equals sign in it. */
    if (plan->logs == 1 && (!equals || access(argument, F_OK) == 0)) {
        *file = argument;
        return 0;
    }
    tell_logs(command, plan, argument, equals);
    return SIZE_MAX;
}

enum shv_status cli_read_log(const char *command, const struct shv_study *study,
                             const struct shv_units *units, const char *argument, size_t *index,
                             struct shv_log *log, struct shv_diagnostics *findings)
{
    const char *file;
    const struct shv_engine *engine = &study->engine;
    *index = find_log(command, &study->fit, argument, &file);
    return *index == SIZE_MAX
               ? SHV_NOTHING
               : shv_measured_read(&study->fit.log[*index], file, units, engine->speeds[0],
                                   engine->speeds[engine->speed_count - 1], log, findings);
}

/* Reads one; all that is wrong in it goes to the findings, and the others are read all the same. */
static enum shv_status add_log(const struct shv_study *study, struct shv_fit *fit,
                               const struct shv_units *units, const char *argument,
                               struct shv_diagnostics *findings, struct shv_message *message)
{
    struct shv_log log;
    size_t index;
    enum shv_status status = cli_read_log("fit", study, units, argument, &index, &log, findings);
    if (status == SHV_NOTHING) {
        return shv_fail(message, SHV_BAD_INPUT, "nothing was fitted");
    }
    if (status != SHV_OK) {
        return status == SHV_BAD_INPUT ? SHV_OK : shv_fail(message, status, "nothing was fitted");
    }
    return shv_fit_add(fit, index, &log, message);
}

static enum shv_status add_logs(const struct fit_arguments *a, const struct shv_study *study,
                                struct shv_fit *fit, struct shv_message *message)
{
    struct shv_units *units;
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_units_open(&units, message);
    if (status != SHV_OK) {
        return status;
    }
    for (size_t i = 0; i < a->logs && status == SHV_OK; i++) {
        status = add_log(study, fit, units, a->log[i], &findings, message);
    }
    size_t errors = findings.errors;
    cli_print_findings("fit", &findings, SHV_OK, "");
    if (status == SHV_OK && errors > 0) {
        status = shv_fail(message, SHV_BAD_INPUT, "%zu error%s in the logs; nothing was fitted",
                          errors, errors == 1 ? "" : "s");
    }
    shv_units_free(units);
    return status;
}

/* ---- work ---- */

static enum shv_status write_all(const struct fit_arguments *a, const struct cli_study *s,
                                 const struct shv_fit *fit, const struct shv_fit_result *result,
                                 struct shv_message *message)
{
    const struct shv_fit_report report = {
        .study = &s->study, .fit = fit, .result = result, .include = a->out};
    enum shv_status status = shv_report_fit_residuals(&report, a->to.folder, a->residuals, message);
    if (status == SHV_OK) {
        status = shv_report_fit_include(&report, a->to.folder, a->to.name, message);
    }
    if (status == SHV_OK) {
        status = shv_report_fit_table(&report, stdout, message);
    }
    if (status == SHV_OK) {
        printf("\nWritten: %s, to be included in the study (@include), and %s%s%s.\n", a->out,
               a->to.folder, a->to.folder[0] == '\0' ? "" : "/", a->residuals);
    }
    return status;
}

static enum shv_status work(struct fit_arguments *a, struct cli_study *s, struct shv_fit *fit,
                            struct shv_message *message)
{
    struct shv_fit_result result;
    enum shv_status status = add_logs(a, &s->study, fit, message);
    if (status == SHV_OK && a->to.folder[0] != '\0') {
        status = cli_make_folders(a->to.folder, 0777, message);
    }
    if (status == SHV_OK) {
        status = cli_tables_prepare_fit("fit", s, &a->tables, fit, message);
    }
    if (status == SHV_OK) {
        /* The fit can't be asked to stop, and has nothing to lose. */
        progress_signals_end("stopped; nothing was written");
        status = shv_fit_run(fit, &result, message);
        progress_signals_end(NULL);
    }
    if (status == SHV_OK) {
        status = write_all(a, s, fit, &result, message);
        shv_fit_result_free(&result);
    }
    return status;
}

static int run(int argc, char **argv)
{
    struct fit_arguments a = {.logs = 0};
    struct cli_study s;
    struct shv_message message = {{0}};
    struct shv_fit *fit = NULL;
    const char *path;
    int code = cli_parse(&cli_fit, argc, argv, &a, &path);
    code = code < 0 ? check_options(&a) : code;
    code = code < 0 ? cli_start("fit", a.threads) : code;
    code = code < 0 ? cli_load("fit", path, &s) : code;
    if (code >= 0) {
        return code;
    }
    a.tables.threads = (int)a.threads;
    enum shv_status status =
        shv_fit_create(&s.study, (size_t)omp_get_max_threads(), &fit, &message);
    if (status == SHV_OK) {
        status = work(&a, &s, fit, &message);
    }
    shv_fit_free(fit);
    cli_tables_free(&a.tables);
    cli_unload(&s);
    return cli_finish("fit", status, &message);
}

const struct cli_command cli_fit = {
    "fit",
    "STUDY",
    "tie the model to measurements",
    "Reads logs of a dynamometer, of an engine control unit or of a blower bench as the study's "
    "group fit\n"
    "describes them, and finds the corrections with which the model meets them best. Prints what "
    "was "
    "found,\n"
    "how sure it is, how well each channel is met and what the measurements do not tell.\n\n"
    "FITTED becomes a file of the groups corrections and tolerances, to be included in the study "
    "in place\n"
    "of its own: @include \"FITTED\". Beside it a file of the same name that ends in "
    ".residuals.csv "
    "takes\n"
    "every reading and every line that was dropped. Files that are there are left alone without "
    "--replace.\n\n"
    "With the closed cycle, tables of it at the log's speeds are built first and kept in\n"
    "$XDG_CACHE_HOME/sheave, else in $HOME/.cache/sheave.\n",
    options,
    false,
    .run = run};
