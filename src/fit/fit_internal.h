/* What the files of the fit share (include/sheave/fit.h). */
#ifndef SHEAVE_FIT_FIT_INTERNAL_H
#define SHEAVE_FIT_FIT_INTERNAL_H

#include "sheave/fit.h"

/* Where a row lies among the speeds that the model is evaluated at. */
#define FIT_STENCIL 4
struct fit_place {
    size_t site, nodes, node[FIT_STENCIL];
    double weight[FIT_STENCIL];
};

/* One log with the model of what stood there. */
struct fit_case {
    const struct shv_measured_log *plan;
    struct shv_log log;     /* owned */
    struct shv_study study; /* the user's, with the log's speeds and air; shallow */
    double *speeds;         /* owned: its rev range */
    struct shv_site *sites; /* owned: one for each air among the runs */
    size_t *site_of_run;    /* owned */
    double lambda;
    struct shv_kit kit;
    struct shv_model *model;   /* owned; NULL for a moment only */
    struct shv_curves *curves; /* [threads], owned */
    struct fit_place *place;   /* [log.rows], owned */
    struct shv_gas gas;        /* of a bench */
};

/* Makes the case of a log, which it takes over. */
enum shv_status fit_case_init(struct fit_case *c, const struct shv_study *study,
                              const struct shv_measured_log *plan, struct shv_log *log,
                              size_t threads, struct shv_message *message);
void fit_case_free(struct fit_case *c, size_t threads);
/* values[row * SHV_CHANNEL_COUNT + channel] of every row with these corrections, NAN where there is
 * no answer or no such quantity. SHV_NOTHING when the corrections cannot be applied,
 * SHV_NO_MEMORY. */
enum shv_status fit_case_values(const struct fit_case *c, size_t worker,
                                const struct shv_corrections *corrections, double *values);

#define FIT_CASES_MOST 64

struct shv_fit {
    const struct shv_study *study;
    const struct shv_fit_plan *plan;
    size_t threads;
    /* Owned; each stays where it is, since its model points to its study. */
    struct fit_case *item[FIT_CASES_MOST];
    size_t cases;
    struct shv_fit_entry *reading; /* owned; what the model makes of them is not filled */
    size_t readings;
    size_t *first_row; /* [cases + 1] rows of all cases one behind the other, owned */
    double *values;    /* [threads][rows][SHV_CHANNEL_COUNT], owned */
};

/* Corrections of the study with the plan's parameters set to x. */
void fit_corrections(const struct shv_fit *fit, const double *x, struct shv_corrections *all);
/* All values of all cases at x into the room of a worker. As fit_case_values(). */
enum shv_status fit_values(const struct shv_fit *fit, size_t worker, const double *x);
/* Says that values are missing for want of memory; hands the status on. */
enum shv_status fit_failed(enum shv_status status, struct shv_message *message);
/* Value of a channel in the room of a worker. */
double fit_value(const struct shv_fit *fit, size_t worker, size_t log, size_t row,
                 enum shv_channel channel);

/* Fills entries and channels of a result whose least squares are there; then what is weak.
 * SHV_NO_MEMORY. */
enum shv_status fit_account(struct shv_fit *fit, struct shv_fit_result *result,
                            struct shv_message *message);
enum shv_status fit_find_weak(struct shv_fit *fit, struct shv_fit_result *result,
                              struct shv_message *message);
/* Fills result->tolerances and source. SHV_NO_MEMORY. */
enum shv_status fit_tolerances(const struct shv_fit *fit, struct shv_fit_result *result,
                               struct shv_message *message);

#endif
