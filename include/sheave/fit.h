/* Ties the model to measurements: the corrections with which a study's model meets its logs best,
 * how sure they are, and what it takes to be surer. docs/fit.md; the equations are in
 * docs/model.md.
 *
 *   shv_fit_create, shv_fit_add for each log, shv_fit_prepare, shv_fit_run
 */
#ifndef SHEAVE_FIT_H
#define SHEAVE_FIT_H

#include "sheave/least_squares.h"
#include "sheave/tables.h"

struct shv_fit;

/* Takes the study's plan; the study must outlive it and stay unchanged. `threads` 1 or more.
 * SHV_BAD_INPUT when the study has no group `fit`, SHV_NO_MEMORY. */
SHV_API enum shv_status shv_fit_create(const struct shv_study *study, size_t threads,
                                       struct shv_fit **fit, struct shv_message *message);
SHV_API void shv_fit_free(struct shv_fit *fit);

/* Adds a log read by shv_measured_read for the plan's log `index`, and takes it over: *log is
 * emptied, also on an error. Makes a model of what stood there at the log's engine speeds and air.
 * SHV_BAD_INPUT when a reading has no error that could be told, or the model cannot be made, and
 * for more than 64 logs; SHV_NO_MEMORY. */
SHV_API enum shv_status shv_fit_add(struct shv_fit *fit, size_t index, struct shv_log *log,
                                    struct shv_message *message);
size_t shv_fit_cases(const struct shv_fit *fit);
/* Makes ready the tables of the closed cycle that the logs need; nothing without it. `how->only`
 * does not count. Errors: those of shv_tables_prepare. */
SHV_API enum shv_status shv_fit_prepare(struct shv_fit *fit, const struct shv_tables_options *how,
                                        struct shv_message *message);
/* The log itself, after rows without an answer were dropped by shv_fit_run. */
const struct shv_log *shv_fit_log(const struct shv_fit *fit, size_t index);
const struct shv_measured_log *shv_fit_plan_of(const struct shv_fit *fit, size_t index);

/* One reading against the model. SI. */
struct shv_fit_entry {
    size_t log;    /* as added */
    size_t row;    /* of the log */
    size_t column; /* of the log's plan */
    enum shv_channel channel;
    double measured, modelled;
    double deviation; /* standard, of the reading */
    double residual;  /* (modelled - measured) / deviation */
    double weight;    /* 1, less beyond the loss threshold */
};

/* Readings of one channel of one log. SI. */
struct shv_fit_channel {
    size_t log, count;
    enum shv_channel channel;
    double rms, bias; /* of modelled less measured, all readings weighing the same */
    double chi;       /* root mean square of the residuals in standard deviations */
    size_t held;      /* readings beyond the loss threshold */
};

/* A run predicted by a fit to all others. */
struct shv_fit_left_out {
    size_t log, run;
    size_t count; /* readings of it */
    double chi;   /* root mean square of their residuals in standard deviations, all weighing the
                   * same; NAN when the others do not determine the parameters */
};

/* Parameters that these measurements do not tell apart, or hardly. */
struct shv_fit_weak {
    bool among[SHV_CORRECTION_COUNT]; /* by place in the plan's `freed` */
    double error;    /* greatest standard error among them as a share of its range */
    bool has_remedy; /* a channel not measured would make it smaller */
    size_t log;      /* in which it would have to be measured */
    enum shv_channel channel;
    double deviation_share, deviation; /* as assumed of it: share of the reading, SI */
    double error_then;                 /* the greatest error with it */
};

/* Where the tolerance of a fitted correction comes from. */
enum shv_fit_tolerance {
    SHV_FIT_MEASURED, /* its standard error with the spread */
    SHV_FIT_CUT,      /* the same, cut to the largest that a study accepts around this value */
    SHV_FIT_KEPT,     /* not determined or at a bound: the study's own */
    SHV_FIT_BOUNDS,   /* not determined, and the study has none: even over the bounds of the fit */
    SHV_FIT_NONE      /* at a bound, and the study has none: nothing can be said */
};

struct shv_fit_result {
    struct shv_least_squares_result least; /* parameters in the order of the plan's `freed` */
    struct shv_corrections corrections;    /* the study's, with those fitted */
    double start[SHV_CORRECTION_COUNT];    /* where the first search began, order of `freed` */
    double chi_start; /* root mean square of the residuals there, in standard deviations */
    double spread;    /* max(1, sqrt(chi squared per degree of freedom)): factor on the errors */
    /* To replace the study's: what was fitted as the fit knows it, all else as the study has it.
     * Correlations are those of the fit and, where neither was fitted, of the study. */
    struct shv_tolerances tolerances;
    enum shv_fit_tolerance source[SHV_CORRECTION_COUNT]; /* order of `freed` */
    size_t entries;
    struct shv_fit_entry *entry; /* owned, as are the next */
    size_t channels;
    struct shv_fit_channel *channel;
    size_t left_outs; /* 0 with fewer than two runs */
    struct shv_fit_left_out *left_out;
    size_t weaks;
    struct shv_fit_weak *weak;
};

/* Runs the fit. SHV_BAD_INPUT when no log was added, when no reading is left that the model
 * answers, or there are fewer readings than parameters; SHV_NO_MEMORY. */
SHV_API enum shv_status shv_fit_run(struct shv_fit *fit, struct shv_fit_result *result,
                                    struct shv_message *message);
SHV_API void shv_fit_result_free(struct shv_fit_result *result);

/* Standard error of a parameter with the spread of the residuals: result->spread times that of the
 * least squares. */
double shv_fit_error(const struct shv_fit_result *result, size_t parameter);

#endif
