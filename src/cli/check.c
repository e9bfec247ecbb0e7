/* sheave check: reads and checks a study, says what would run. */
#include <math.h>
#include <string.h>
#include <strings.h>

#include "cli/cli.h"
#include "cli/estimate.h"
#include "cli/progress.h"
#include "report/write/text.h"
#include "report/write/words.h"
#include "sheave/blower_fit.h"
#include "sheave/file_kind.h"

#define MOST_LOGS 64

struct check_arguments {
    const char *log[MOST_LOGS];
    size_t logs;
    bool skip_tables, skip_time;
    struct cli_tables tables;
};

#define PLACE(member) offsetof(struct check_arguments, member)
static const struct cli_option options[] = {
    {"log", "[NAME=]CSV",
     "read this log as the study's fit describes it, too; "
     "may be repeated",
     .place = PLACE(log), .several = "logs", .room = MOST_LOGS, .count = PLACE(logs)},
    {"skip-tables", NULL, "do not build the cycle tables", .place = PLACE(skip_tables)},
    {"skip-time", NULL, "do not time samples", .place = PLACE(skip_time)},
    CLI_CACHE(PLACE(tables)),
    {.name = NULL}};

static void print_size(const struct cli_study *s)
{
    char room[32];
    printf("\nDimensions\n");
    for (int d = 0; d < SHV_DIM_COUNT; d++) {
        printf("  %-20s %12s\n", shv_dim_info((enum shv_dim)d)->name,
               report_thousands(room, s->space.count[d]));
    }
    printf("  %-20s %12s combination%s\n", "all together", report_thousands(room, s->space.size),
           s->space.size == 1 ? "" : "s");
    uint64_t points = s->study.site_count * s->study.engine.speed_count;
    char sites[32], speeds[32];
    printf(
        "\nEach at %s site%s and %s engine speeds (%.0f to %.0f rpm): %s points a combination.\n",
        report_thousands(sites, s->study.site_count), s->study.site_count == 1 ? "" : "s",
        report_thousands(speeds, s->study.engine.speed_count), s->study.engine.speeds[0] * 60.0,
        s->study.engine.speeds[s->study.engine.speed_count - 1] * 60.0,
        report_thousands(room, points));
}

static void print_sites(const struct shv_study *study)
{
    printf("\nSites\n");
    for (size_t i = 0; i < study->site_count; i++) {
        const struct shv_site *s = &study->sites[i];
        char pressure[REPORT_WORDS_MAX], temperature[REPORT_WORDS_MAX];
        report_words_quantity(pressure, REPORT_PRESSURE, study->results.units, s->ambient.pressure);
        report_words_quantity(temperature, REPORT_TEMPERATURE, study->results.units,
                              s->ambient.temperature);
        int blanks = 24 - report_characters(s->name); /* printf would count bytes */
        printf("  %s%*s %10s  %10s  humidity %3.0f %%  weight %g\n", s->name,
               blanks > 0 ? blanks : 0, "", pressure, temperature,
               s->ambient.relative_humidity * 100.0, s->weight);
    }
}

/* Who besides the study may bound a limit, as it is printed. */
static const char *bounding(enum shv_bounded_by by)
{
    switch (by) {
    case SHV_BY_BLOWER:
        return "blower";
    case SHV_BY_INJECTOR:
        return "injector";
    case SHV_BY_PUMP:
        return "pump";
    case SHV_BY_BELT:
        return "drive.belt";
    case SHV_BY_BYPASS:
        return "bypass";
    case SHV_BY_MANIFOLD:
        return "manifold";
    case SHV_BY_ENGINE:
    case SHV_BY_STUDY:
        break;
    }
    return "engine.knock";
}

static void print_limit(const struct shv_study *study, enum shv_limit limit)
{
    const struct shv_limit_info *info = shv_limit_info(limit);
    enum report_measure measure = report_value_measure(limit);
    double low, high;
    if (!shv_limit_bounds(study, limit, &low, &high)) {
        return;
    }
    char words[REPORT_WORDS_MAX];
    report_words_span(words, measure, study->results.units, low, high);
    bool by_study = low == study->limit[limit] && high == study->limit[limit];
    printf("  %-33s %s%s%s%s\n", info->title, info->at_least ? ">= " : "", words,
           by_study ? "" : ", by ", by_study ? "" : bounding(info->bounded_by));
}

static void print_limits(const struct shv_study *study)
{
    printf("\nLimits\n");
    for (int k = 0; k < SHV_LIMIT_COUNT; k++) {
        print_limit(study, (enum shv_limit)k);
    }
}

/* Loading warned already when it is unlikely. */
static void print_tie(const struct cli_study *s)
{
    if (s->study.engine.efficiency_kind != SHV_EFFICIENCY_STOCK_TORQUE) {
        return;
    }
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < s->study.engine.speed_count; i++) {
        double e = shv_model_tied_efficiency(s->model, i);
        low = e < low ? e : low;
        high = e > high ? e : high;
    }
    printf("\nThe stock torque curve asks for a gross indicated efficiency of %.3f to %.3f.\n", low,
           high);
}

static enum shv_status print_plan(const char *path, const struct cli_study *s,
                                  struct shv_message *message)
{
    printf("%s\n%s, engine %s\n", s->study.title, path, s->study.engine.name);
    enum shv_status status = cli_print_parts(&s->study, message);
    print_limits(&s->study);
    print_sites(&s->study);
    print_size(s);
    print_tie(s);
    return status;
}

/* What takes time comes last. */
static enum shv_status check_cycle(struct cli_study *s, struct check_arguments *a,
                                   struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    if (!a->skip_tables) {
        status = cli_tables_prepare("check", s, &a->tables, NULL, message);
    }
    return status == SHV_OK ? cli_print_cycle(s, a->tables.reports, message) : status;
}

/* Days are most often a step that is too fine. */
static void warn_of_days(const struct cli_study *s, double seconds)
{
    char size[REPORT_COUNT_MAX], time[48];
    if (seconds > 2.0 * CLI_DAY) {
        cli_error("check", "warning: %s combinations: about %s; widen steps",
                  report_thousands(size, s->space.size), progress_duration(time, seconds));
    }
}

/* How long the tables take that a run would have to build; they are there now. */
static void print_tables_time(const struct cli_study *s, const struct cli_tables *tables)
{
    size_t count = shv_model_table_count(s->model), built = 0, wanted = 0;
    char words[48];
    for (size_t i = 0; i < count; i++) {
        wanted += tables->reports[i].wanted;
        built += tables->reports[i].wanted && !tables->reports[i].build.from_file;
    }
    if (built > 0) {
        printf("\nOf %zu cycle tables %zu were built now, in %s%s.\n", wanted, built,
               progress_duration(words, tables->seconds),
               tables->no_cache ? "" : "; a run takes them from there");
    }
}

/* By samples that are timed. Without its tables the closed cycle runs at another pace altogether.
 */
static enum shv_status print_time(struct cli_study *s, const struct check_arguments *a,
                                  struct shv_message *message)
{
    struct cli_estimate e;
    if (a->skip_time || (a->skip_tables && shv_model_table_count(s->model) > 0)) {
        return SHV_OK;
    }
    enum shv_status status = cli_estimate_run(s, &e, message);
    if (status == SHV_OK) {
        print_tables_time(s, &a->tables);
        cli_print_estimate(&e);
        warn_of_days(s, e.all);
    }
    return status;
}

/* ---- logs, maps, points, ranges ---- */

static enum shv_status check_logs(const struct cli_study *s, const struct check_arguments *a,
                                  struct shv_message *message)
{
    struct shv_units *units;
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_units_open(&units, message);
    bool all = status == SHV_OK;
    for (size_t i = 0; i < a->logs && status == SHV_OK; i++) {
        struct shv_log log;
        size_t index;
        bool read =
            cli_read_log("check", &s->study, units, a->log[i], &index, &log, &findings) == SHV_OK;
        if (read) {
            status = shv_report_log(&s->study.fit.log[index], &log, stdout, message);
            shv_log_free(&log);
        }
        all = all && read;
    }
    if (status == SHV_OK) {
        cli_print_findings("check", &findings, SHV_OK, "");
        status = all ? SHV_OK : shv_fail(message, SHV_BAD_INPUT, "a log cannot be used");
    }
    shv_diagnostics_free(&findings);
    shv_units_free(units);
    return status;
}

static const struct shv_ambient workshop = {.pressure = 101325.0, .temperature = 298.15};

static enum shv_status check_map(const char *path, const struct shv_units *units,
                                 struct shv_diagnostics *findings)
{
    struct shv_blower_map map;
    enum shv_status status = shv_blower_map_read(path, units, NAN, workshop.pressure,
                                                 workshop.temperature, &map, findings);
    if (status == SHV_OK) {
        printf("%s: a blower map of %zu speeds, %.0f to %.0f rpm.\n", path, map.lines,
               60.0 * map.line[0].corrected_speed, 60.0 * map.line[map.lines - 1].corrected_speed);
        shv_blower_map_free(&map);
    }
    return status;
}

static enum shv_status check_points(const char *path, const struct shv_units *units,
                                    struct shv_diagnostics *findings)
{
    struct shv_blower_fit points;
    enum shv_status status = shv_blower_fit_read(path, units, &workshop, &points, findings);
    if (status == SHV_OK) {
        printf("%s: %zu points of a blower, for sheave blower.\n", path, points.log.rows);
        shv_blower_fit_free(&points);
    }
    return status;
}

/* What it is its columns say. */
static enum shv_status check_columns(const char *path, const struct shv_units *units,
                                     struct shv_diagnostics *findings, struct shv_message *message)
{
    bool is_map = false, are_points = false;
    enum shv_status status = shv_blower_map_is(path, units, &is_map, message);
    status = status == SHV_OK ? shv_blower_points_are(path, units, &are_points, message) : status;
    if (status != SHV_OK) {
        return status;
    }
    if (is_map || are_points) {
        status = is_map ? check_map(path, units, findings) : check_points(path, units, findings);
        return status == SHV_OK ? SHV_OK : shv_fail(message, status, "%s cannot be used", path);
    }
    return shv_fail(
        message, SHV_BAD_INPUT,
        "%s: no blower's map, which has a column volumetric_efficiency, and no points for "
        "sheave blower, which have a flow and a pressure; a log is read as a study "
        "describes it: sheave check STUDY --log %s",
        path, path);
}

static int check_csv(const char *path)
{
    struct shv_units *units;
    struct shv_message message;
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_units_open(&units, &message);
    if (status == SHV_OK) {
        status = check_columns(path, units, &findings, &message);
        shv_units_free(units);
    }
    cli_print_findings("check", &findings, SHV_OK, "");
    return cli_finish("check", status, &message);
}

static void print_fitted(const char *path, const struct shv_corrections *corrections,
                         const struct shv_tolerances *tolerances)
{
    printf("%s: corrections%s as sheave fit writes them, to be included in a study (@include).\n",
           path, tolerances->given ? " and tolerances" : "");
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        const struct shv_correction_info *info = shv_correction_info((enum shv_correction)i);
        bool corrected = corrections->value[i] != info->neutral;
        if (corrected || tolerances->of[i].given) {
            printf("  %-28s %10.5g", info->name, corrections->value[i]);
            if (tolerances->of[i].given) {
                printf("  +- %.3g (standard deviation)",
                       shv_tolerance_deviation(&tolerances->of[i]));
            }
            putchar('\n');
        }
    }
    if (tolerances->correlation_count > 0) {
        printf("  pairs that go together: %zu\n", tolerances->correlation_count);
    }
}

static int check_fitted(const char *path)
{
    struct shv_corrections corrections;
    struct shv_tolerances tolerances;
    struct shv_diagnostics findings = {0};
    enum shv_status status = shv_fitted_read(path, &corrections, &tolerances, &findings);
    if (status == SHV_OK) {
        print_fitted(path, &corrections, &tolerances);
    }
    cli_print_findings("check", &findings, status, "file");
    return cli_exit_code(status);
}

static bool is_csv(const char *path)
{
    size_t length = strlen(path);
    return length > 4 && strcasecmp(path + length - 4, ".csv") == 0;
}

static int run(int argc, char **argv)
{
    struct check_arguments a = {.skip_tables = false, .skip_time = false};
    const char *path;
    int code = cli_parse(&cli_check, argc, argv, &a, &path);
    code = code < 0 ? cli_tables_check("check", &a.tables) : code;
    if (code >= 0) {
        return code;
    }
    if (a.logs == 0 && is_csv(path)) {
        return check_csv(path);
    }
    enum shv_file_kind kind = SHV_FILE_STUDY;
    if (a.logs == 0 && shv_file_kind(path, &kind) == SHV_OK && kind != SHV_FILE_STUDY) {
        return kind == SHV_FILE_RANGE ? cli_check_range(path) : check_fitted(path);
    }
    struct cli_study s;
    code = cli_load("check", path, &s);
    if (code >= 0) {
        return code;
    }
    struct shv_message message;
    enum shv_status status = print_plan(path, &s, &message);
    status = status == SHV_OK ? check_logs(&s, &a, &message) : status;
    status = status == SHV_OK ? check_cycle(&s, &a, &message) : status;
    status = status == SHV_OK ? print_time(&s, &a, &message) : status;
    if (status == SHV_OK) {
        printf("\nResults would go to %s. None were written.\n", s.study.results.folder);
    } else {
        cli_error("check", "%s: %s", path, message.text);
    }
    cli_tables_free(&a.tables);
    cli_unload(&s);
    return cli_exit_code(status);
}

const struct cli_command cli_check = {
    "check",
    "FILE",
    "read and check a study or any other file, say what would run",
    "Reads and checks a study file and everything it includes, and tells every error at once, "
    "with\n"
    "file, line, key, what was found and what is accepted. Prints the plan and its size. With the "
    "closed\n"
    "cycle it also builds its tables, which may take a few seconds each, and tells how well they "
    "hold and\n"
    "how the cycle fits the stock engine. Times a sample of each stage to tell how\n"
    "long a run would take. Writes nothing but the tables that it keeps, in "
    "$XDG_CACHE_HOME/sheave,\n"
    "else in $HOME/.cache/sheave.\n\n"
    "With --log it reads logs as the study's group fit describes them, and tells which rows a fit "
    "would use.\n"
    "A FILE that ends in .csv is a blower's map, or points for sheave blower; one that names "
    "vehicles is a\n"
    "range file. A file that sheave fit wrote, corrections and tolerances alone, is known by "
    "that.\n",
    options,
    false,
    .run = run};
