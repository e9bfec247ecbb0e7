/* What the files of the least squares share (include/sheave/least_squares.h). Inside, parameters
 * are counted in their scales, z = x / scale, and priors are residuals behind those of the model.
 */
#ifndef SHEAVE_FIT_LEAST_SQUARES_INTERNAL_H
#define SHEAVE_FIT_LEAST_SQUARES_INTERNAL_H

#include "sheave/least_squares.h"

struct ls {
    const struct shv_least_squares_problem *problem;
    size_t n, m, rows; /* parameters, the model's residuals, those and priors */
    size_t workers, steps;
    size_t evaluations;
    enum shv_status status; /* of residuals that failed for another reason than having no answer */
    double scale[SHV_PARAMETERS_MOST], low[SHV_PARAMETERS_MOST], high[SHV_PARAMETERS_MOST]; /* z */
    double *room; /* [2 n * m], of differences */
    double *work; /* [(rows + n) * n + rows + n], of steps */
};

/* A point and what is known there. */
struct ls_point {
    double z[SHV_PARAMETERS_MOST];
    double g[SHV_PARAMETERS_MOST];  /* gradient of the cost */
    bool held[SHV_PARAMETERS_MOST]; /* at a bound, and the gradient keeps it there */
    double cost;
    double cosine; /* greatest of a free column and the weighted residuals */
    bool found;    /* where steps ended by themselves */
    bool kink;     /* where they did so on a slope that no step goes down */
    double *r, *w; /* [rows] */
    double *j;     /* [rows * n] */
};

bool ls_point_init(struct ls_point *point, const struct ls *ls);
void ls_point_free(struct ls_point *point);
/* Copies all of `from` but its rooms' addresses. */
void ls_point_copy(const struct ls *ls, struct ls_point *to, const struct ls_point *from);

/* Residuals, priors and cost at z; false where the model has no answer. */
bool ls_cost(struct ls *ls, const double *z, double *r, double *cost);
/* Weights, derivatives, gradient and what is held at point->z, whose residuals are known. */
bool ls_derive(struct ls *ls, struct ls_point *point);
/* Steps of Levenberg and Marquardt from point->z, whose residuals and derivatives are known. */
void ls_steps(struct ls *ls, struct ls_point *point, struct ls_point *trial);
/* Fills covariance, errors, directions and counts of a result from the point. */
enum shv_status ls_certainty(struct ls *ls, const struct ls_point *point,
                             struct shv_least_squares_result *result, struct shv_message *message);

#endif
