/* Ties the model to measurements (include/sheave/fit.h). */
#include "sheave/fit.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "fit/fit_internal.h"

/* ---- logs ---- */

enum shv_status shv_fit_create(const struct shv_study *study, size_t threads, struct shv_fit **fit,
                               struct shv_message *message)
{
    *fit = NULL;
    if (study->fit.logs == 0 || study->fit.free == 0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "the study says nothing of measurements: it has no group `fit`");
    }
    struct shv_fit *made = calloc(1, sizeof *made);
    if (!made) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the fit");
    }
    made->study = study;
    made->plan = &study->fit;
    made->threads = threads > 0 ? threads : 1;
    *fit = made;
    return SHV_OK;
}

void shv_fit_free(struct shv_fit *fit)
{
    if (!fit) {
        return;
    }
    for (size_t i = 0; i < fit->cases; i++) {
        fit_case_free(fit->item[i], fit->threads);
        free(fit->item[i]);
    }
    free(fit->reading);
    free(fit->first_row);
    free(fit->values);
    free(fit);
}

size_t shv_fit_cases(const struct shv_fit *fit)
{
    return fit->cases;
}

const struct shv_log *shv_fit_log(const struct shv_fit *fit, size_t index)
{
    return &fit->item[index]->log;
}

const struct shv_measured_log *shv_fit_plan_of(const struct shv_fit *fit, size_t index)
{
    return fit->item[index]->plan;
}

/* Standard deviation of a reading, SI; 0 when it has none. */
static double deviation_of(const struct fit_case *c, size_t column, double value)
{
    const struct shv_measured_column *plan = &c->plan->column[column];
    const struct shv_channel_info *info = shv_channel_info(plan->channel);
    bool given = plan->error > 0.0 || plan->share > 0.0;
    double fixed = given ? plan->error : info->error;
    double share = (given ? plan->share : info->share) * fabs(value);
    return sqrt(fixed * fixed + share * share);
}

static bool is_measured(const struct fit_case *c, size_t column)
{
    return shv_channel_info(c->plan->column[column].channel)->use[c->plan->kind] ==
           SHV_CHANNEL_MEASURED;
}

/* Puts the readings of a log behind those there are. */
static enum shv_status list_readings(struct shv_fit *fit, size_t log, struct shv_message *message)
{
    const struct fit_case *c = fit->item[log];
    for (size_t i = 0; i < c->log.rows * c->plan->columns; i++) {
        size_t row = i / c->plan->columns, column = i % c->plan->columns;
        double value = c->log.value[row * c->log.wants + column];
        if (!is_measured(c, column) || isnan(value)) {
            continue;
        }
        double deviation = deviation_of(c, column, value);
        if (!(deviation > 0.0)) {
            return shv_fail(
                message, SHV_BAD_INPUT,
                "%s:%zu: column \"%s\": a reading of 0 has no standard deviation by its "
                "share; accepted: an `error` of the column in the study",
                c->log.path, c->log.row[row].line, c->plan->column[column].column);
        }
        fit->reading[fit->readings++] =
            (struct shv_fit_entry){.log = log,
                                   .row = row,
                                   .column = column,
                                   .channel = c->plan->column[column].channel,
                                   .measured = value,
                                   .deviation = deviation};
    }
    return SHV_OK;
}

/* Readings and rooms anew, for all logs there are. */
static enum shv_status list_all(struct shv_fit *fit, struct shv_message *message)
{
    size_t cells = 0, rows = 0;
    enum shv_status status = SHV_OK;
    free(fit->first_row);
    free(fit->reading);
    free(fit->values);
    for (size_t i = 0; i < fit->cases; i++) {
        rows += fit->item[i]->log.rows;
        cells += fit->item[i]->log.rows * fit->item[i]->plan->columns;
    }
    fit->first_row = calloc(fit->cases + 1, sizeof *fit->first_row);
    fit->reading = calloc(cells + 1, sizeof *fit->reading);
    fit->values = calloc(fit->threads * (rows + 1) * SHV_CHANNEL_COUNT, sizeof *fit->values);
    fit->readings = 0;
    if (!fit->first_row || !fit->reading || !fit->values) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the readings");
    }
    for (size_t i = 0; i < fit->cases && status == SHV_OK; i++) {
        fit->first_row[i + 1] = fit->first_row[i] + fit->item[i]->log.rows;
        status = list_readings(fit, i, message);
    }
    return status;
}

enum shv_status shv_fit_add(struct shv_fit *fit, size_t index, struct shv_log *log,
                            struct shv_message *message)
{
    struct fit_case *c = fit->cases < FIT_CASES_MOST ? calloc(1, sizeof *c) : NULL;
    if (!c) {
        shv_log_free(log);
        return fit->cases < FIT_CASES_MOST
                   ? shv_fail(message, SHV_NO_MEMORY, "out of memory for the fit")
                   : shv_fail(message, SHV_BAD_INPUT, "more than %d logs", FIT_CASES_MOST);
    }
    fit->item[fit->cases++] = c;
    enum shv_status status =
        fit_case_init(c, fit->study, &fit->plan->log[index], log, fit->threads, message);
    return status == SHV_OK ? list_all(fit, message) : status;
}

/* Tables of one model, and how they shift with exhaust pressure. */
static enum shv_status prepare(struct fit_case *c, const struct shv_tables_options *how,
                               struct shv_message *message)
{
    struct shv_tables_options only = *how;
    only.only = &c->kit;
    enum shv_status status = shv_tables_prepare(c->model, &only, NULL, message);
    for (size_t i = 0; status == SHV_OK && i < shv_model_table_count(c->model); i++) {
        if (shv_model_has_table(c->model, i)) {
            status = shv_model_ready_shift(c->model, i, NULL, message);
        }
    }
    return status;
}

enum shv_status shv_fit_prepare(struct shv_fit *fit, const struct shv_tables_options *how,
                                struct shv_message *message)
{
    enum shv_status status = SHV_OK;
    for (size_t i = 0; i < fit->cases && status == SHV_OK; i++) {
        if (fit->item[i]->plan->kind != SHV_LOG_OF_BENCH) {
            status = prepare(fit->item[i], how, message);
        }
    }
    return status;
}

static double modelled(const struct shv_fit *fit, size_t worker, const struct shv_fit_entry *r)
{
    return fit_value(fit, worker, r->log, r->row, r->channel);
}

/* ---- the problem ---- */

/* The readings that count: all, or those of every run but one. */
struct selection {
    const struct shv_fit *fit;
    const size_t *index; /* [count] into the readings */
    size_t count;
};

static enum shv_status residual(void *data, size_t worker, const double *x, double *r)
{
    const struct selection *s = data;
    enum shv_status status = fit_values(s->fit, worker, x);
    for (size_t i = 0; status == SHV_OK && i < s->count; i++) {
        const struct shv_fit_entry *reading = &s->fit->reading[s->index[i]];
        r[i] = (modelled(s->fit, worker, reading) - reading->measured) / reading->deviation;
    }
    return status;
}

static enum shv_status solve(const struct shv_fit *fit, struct selection *s, const double *start,
                             size_t starts, struct shv_least_squares_result *least,
                             struct shv_message *message)
{
    const struct shv_fit_plan *plan = fit->plan;
    double lower[SHV_CORRECTION_COUNT], upper[SHV_CORRECTION_COUNT];
    double prior[SHV_CORRECTION_COUNT], deviation[SHV_CORRECTION_COUNT];
    for (size_t k = 0; k < plan->free; k++) {
        lower[k] = plan->freed[k].from;
        upper[k] = plan->freed[k].to;
        prior[k] = plan->freed[k].prior;
        deviation[k] = plan->freed[k].prior_deviation;
    }
    const struct shv_least_squares_problem problem = {.parameters = plan->free,
                                                      .residuals = s->count,
                                                      .residual = residual,
                                                      .data = s,
                                                      .start = start,
                                                      .lower = lower,
                                                      .upper = upper,
                                                      .prior_mean = prior,
                                                      .prior_deviation = deviation,
                                                      .loss_threshold = plan->loss_threshold};
    const struct shv_least_squares_options how = {
        .starts = starts, .seed = plan->seed, .workers = fit->threads};
    return shv_least_squares(&problem, &how, least, message);
}

static void find_start(const struct shv_fit *fit, double *start)
{
    for (size_t k = 0; k < fit->plan->free; k++) {
        const struct shv_freed *f = &fit->plan->freed[k];
        const struct shv_correction_info *info = shv_correction_info(f->correction);
        double value =
            fit->study->corrected ? fit->study->corrections.value[f->correction] : info->neutral;
        start[k] = fmin(fmax(value, f->from), f->to);
    }
}

static enum shv_status drop_row(struct fit_case *c, size_t row, struct shv_message *message)
{
    enum shv_status status = shv_log_drop_row(&c->log, row, SHV_LOG_NO_ANSWER, message);
    if (status == SHV_OK) {
        memmove(c->place + row, c->place + row + 1, (c->log.rows - row) * sizeof *c->place);
    }
    return status;
}

/* Rows that the model has no answer for at the start are no part of the fit. */
static enum shv_status drop_answerless(struct shv_fit *fit, const double *start,
                                       struct shv_message *message)
{
    enum shv_status status = fit_values(fit, 0, start);
    if (status != SHV_OK) {
        return status == SHV_NOTHING
                   ? shv_fail(message, SHV_BAD_INPUT, "the study's corrections cannot be applied")
                   : fit_failed(status, message);
    }
    const struct shv_fit_entry *dropped = NULL; /* last, so that rows before it stay in place */
    for (size_t i = fit->readings; i-- > 0 && status == SHV_OK;) {
        const struct shv_fit_entry *r = &fit->reading[i];
        bool gone = dropped && r->log == dropped->log && r->row == dropped->row;
        if (!gone && !isfinite(modelled(fit, 0, r))) {
            dropped = r;
            status = drop_row(fit->item[r->log], r->row, message);
        }
    }
    if (status == SHV_OK) {
        status = list_all(fit, message);
    }
    if (status == SHV_OK && fit->readings < fit->plan->free) {
        status = shv_fail(message, SHV_BAD_INPUT,
                          "%zu readings are left that the model has an answer for; at least as "
                          "many as there are corrections to fit, %zu, are needed",
                          fit->readings, fit->plan->free);
    }
    return status;
}

static double root_mean_square(const double *r, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += r[i] * r[i];
    }
    return count > 0 ? sqrt(sum / (double)count) : NAN;
}

/* ---- one run left out ---- */

static bool of_run(const struct shv_fit *fit, size_t reading, size_t log, size_t run)
{
    const struct shv_fit_entry *r = &fit->reading[reading];
    return r->log == log && fit->item[log]->log.row[r->row].run == run;
}

static enum shv_status leave_out(const struct shv_fit *fit, const double *start, size_t *index,
                                 struct shv_fit_left_out *out, struct shv_message *message)
{
    struct selection rest = {.fit = fit, .index = index};
    struct shv_least_squares_result least;
    for (size_t i = 0; i < fit->readings; i++) {
        if (of_run(fit, i, out->log, out->run)) {
            out->count++;
        } else {
            index[rest.count++] = i;
        }
    }
    out->chi = NAN;
    if (rest.count < fit->plan->free || out->count == 0) {
        return SHV_OK;
    }
    enum shv_status status = solve(fit, &rest, start, 1, &least, message);
    if (status != SHV_OK) {
        return status;
    }
    /* What the rest leaves open would stay where the whole fit has put it. */
    bool open = false;
    for (size_t k = 0; k < fit->plan->free; k++) {
        open = open || isinf(least.error[k]);
    }
    status = fit_values(fit, 0, least.x);
    double sum = !open && status == SHV_OK ? 0.0 : NAN;
    for (size_t i = 0; i < fit->readings; i++) {
        if (of_run(fit, i, out->log, out->run)) {
            const struct shv_fit_entry *r = &fit->reading[i];
            double residual_of = (modelled(fit, 0, r) - r->measured) / r->deviation;
            sum += residual_of * residual_of;
        }
    }
    out->chi = sqrt(sum / (double)out->count);
    shv_least_squares_free(&least);
    return status == SHV_NOTHING ? SHV_OK : fit_failed(status, message);
}

static enum shv_status leave_each_out(const struct shv_fit *fit, struct shv_fit_result *result,
                                      size_t *index, struct shv_message *message)
{
    size_t runs = 0;
    for (size_t i = 0; i < fit->cases; i++) {
        runs += fit->item[i]->log.runs;
    }
    if (runs < 2) {
        return SHV_OK;
    }
    result->left_out = calloc(runs, sizeof *result->left_out);
    if (!result->left_out) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the fit");
    }
    enum shv_status status = SHV_OK;
    for (size_t log = 0; log < fit->cases; log++) {
        for (size_t run = 0; run < fit->item[log]->log.runs && status == SHV_OK; run++) {
            struct shv_fit_left_out *out = &result->left_out[result->left_outs++];
            *out = (struct shv_fit_left_out){.log = log, .run = run};
            status = leave_out(fit, result->least.x, index, out, message);
        }
    }
    return status;
}

/* ---- all ---- */

static enum shv_status run(struct shv_fit *fit, struct shv_fit_result *result, size_t *index,
                           struct shv_message *message)
{
    struct selection all = {.fit = fit, .index = index, .count = fit->readings};
    double *r = calloc(fit->readings + 1, sizeof *r);
    if (!r) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the fit");
    }
    for (size_t i = 0; i < fit->readings; i++) {
        index[i] = i;
    }
    enum shv_status status = residual(&all, 0, result->start, r);
    result->chi_start = status == SHV_OK ? root_mean_square(r, fit->readings) : NAN;
    free(r);
    status = status == SHV_NOTHING ? SHV_OK : fit_failed(status, message);
    if (status == SHV_OK) {
        status = solve(fit, &all, result->start, fit->plan->starts, &result->least, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    double freedom = result->least.freedom;
    result->spread = freedom > 0.0 ? fmax(1.0, sqrt(result->least.chi_squared / freedom)) : 1.0;
    fit_corrections(fit, result->least.x, &result->corrections);
    status = fit_account(fit, result, message);
    if (status == SHV_OK) {
        status = fit_find_weak(fit, result, message);
    }
    if (status == SHV_OK) {
        status = fit_tolerances(fit, result, message);
    }
    return status == SHV_OK ? leave_each_out(fit, result, index, message) : status;
}

enum shv_status shv_fit_run(struct shv_fit *fit, struct shv_fit_result *result,
                            struct shv_message *message)
{
    *result = (struct shv_fit_result){0};
    if (fit->cases == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "no log was given");
    }
    find_start(fit, result->start);
    enum shv_status status = drop_answerless(fit, result->start, message);
    if (status != SHV_OK) {
        return status;
    }
    size_t *index = calloc(fit->readings + 1, sizeof *index);
    status = index ? run(fit, result, index, message)
                   : shv_fail(message, SHV_NO_MEMORY, "out of memory for the fit");
    free(index);
    if (status != SHV_OK) {
        shv_fit_result_free(result);
    }
    return status;
}

void shv_fit_result_free(struct shv_fit_result *result)
{
    shv_least_squares_free(&result->least);
    free(result->entry);
    free(result->channel);
    free(result->left_out);
    free(result->weak);
    free(result->tolerances.correlations);
    *result = (struct shv_fit_result){0};
}
