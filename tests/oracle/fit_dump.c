/* Asks a fit's model from outside: with `fit` prints what the fit finds, then the readings of logs,
 * then, for each line of parameter values on standard input, what the model gives for them. For the
 * peer check of the fit and for making up logs.
 *
 *   fit_dump STUDY CACHE fit|ask NAME=CSV...
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit_internal.h"
#include "sheave/sheave.h"

#define MOST_LINE 4096

static int give_up(const char *what, const struct shv_message *message)
{
    fprintf(stderr, "fit_dump: %s: %s\n", what, message ? message->text : "");
    return 1;
}

static enum shv_status add(const struct shv_study *study, struct shv_fit *fit,
                           const struct shv_units *units, const char *argument,
                           struct shv_message *message)
{
    const char *equals = strchr(argument, '=');
    const struct shv_engine *engine = &study->engine;
    for (size_t i = 0; equals && i < study->fit.logs; i++) {
        const struct shv_measured_log *plan = &study->fit.log[i];
        struct shv_log log;
        if (strncmp(plan->name, argument, (size_t)(equals - argument)) != 0) {
            continue;
        }
        struct shv_diagnostics findings = {0};
        enum shv_status status =
            shv_measured_read(plan, equals + 1, units, engine->speeds[0],
                              engine->speeds[engine->speed_count - 1], &log, &findings);
        shv_diagnostics_free(&findings);
        return status == SHV_OK ? shv_fit_add(fit, i, &log, message) : status;
    }
    return shv_fail(message, SHV_BAD_INPUT, "no log is called so");
}

static void print_reading(const struct shv_fit *fit, size_t index)
{
    const struct shv_fit_entry e = fit->reading[index];
    const struct shv_log *log = shv_fit_log(fit, e.log);
    printf("%zu %zu %zu %s %.17g %.17g %.17g %.17g\n", e.log, log->row[e.row].line, e.column,
           shv_channel_info(e.channel)->name, e.measured, e.deviation, log->factor[e.column],
           log->origin[e.column]);
}

/* The fit's own answer, then a line for each reading. */
static int print_fit(struct shv_fit *fit)
{
    struct shv_fit_result result;
    struct shv_message message;
    if (shv_fit_run(fit, &result, &message) != SHV_OK) {
        return give_up("fit", &message);
    }
    for (size_t k = 0; k < result.least.parameters; k++) {
        printf("%.17g %.17g ", result.least.x[k], result.least.error[k]);
    }
    printf("%.17g\n", result.least.cost);
    shv_fit_result_free(&result);
    return 0;
}

static void print_readings(const struct shv_fit *fit)
{
    printf("%zu\n", fit->readings);
    for (size_t i = 0; i < fit->readings; i++) {
        print_reading(fit, i);
    }
    fflush(stdout);
}

static int answer(struct shv_fit *fit, size_t parameters)
{
    double x[SHV_CORRECTION_COUNT];
    char line[MOST_LINE];
    while (fgets(line, sizeof line, stdin)) {
        char *at = line;
        for (size_t k = 0; k < parameters; k++) {
            x[k] = strtod(at, &at);
        }
        enum shv_status status = fit_values(fit, 0, x);
        if (status != SHV_OK && status != SHV_NOTHING) {
            return give_up("predict", NULL);
        }
        for (size_t i = 0; i < fit->readings; i++) {
            const struct shv_fit_entry *r = &fit->reading[i];
            double value = status == SHV_OK ? fit_value(fit, 0, r->log, r->row, r->channel) : NAN;
            printf("%.17g%c", value, i + 1 < fit->readings ? ' ' : '\n');
        }
        fflush(stdout);
    }
    return 0;
}

int main(int argc, char **argv)
{
    struct shv_study study;
    struct shv_diagnostics findings = {0};
    struct shv_message message = {{0}};
    struct shv_units *units = NULL;
    struct shv_fit *fit = NULL;
    if (argc < 5 || shv_study_load(argv[1], &study, &findings) != SHV_OK) {
        return give_up("study", NULL);
    }
    const struct shv_tables_options how = {.folder = argv[2]};
    enum shv_status status = shv_units_open(&units, &message);
    status = status == SHV_OK ? shv_fit_create(&study, 1, &fit, &message) : status;
    for (int i = 4; i < argc && status == SHV_OK; i++) {
        status = add(&study, fit, units, argv[i], &message);
    }
    status = status == SHV_OK ? shv_fit_prepare(fit, &how, &message) : status;
    int code = status == SHV_OK ? 0 : give_up("logs", &message);
    if (code == 0 && strcmp(argv[3], "fit") == 0) {
        code = print_fit(fit);
    }
    if (code == 0) {
        print_readings(fit);
        code = answer(fit, study.fit.free);
    }
    shv_fit_free(fit);
    shv_units_free(units);
    shv_diagnostics_free(&findings);
    shv_study_free(&study);
    return code;
}
