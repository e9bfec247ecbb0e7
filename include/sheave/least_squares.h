/* Bounded, robust, nonlinear least squares with priors: which parameters make a model agree best
 * with measurements, how sure they are, and which of them the measurements cannot tell apart.
 *
 * Found is the least of
 *
 *   F(x) = sum_i rho(r_i(x)) + 1/2 sum_j ((x_j - mean_j) / deviation_j)^2      lower <= x <= upper
 *   rho(r) = r^2/2 where |r| <= k, else k |r| - k^2/2                          k = loss_threshold
 *
 * with residuals r_i in units of their standard deviations (Huber, Annals of Mathematical
 * Statistics 35, 1964). From every start NLopt's SLSQP (Kraft 1988, 1994) goes down along the
 * gradient J^T (w r), w = min(1, k/|r|); then steps of our own (Levenberg 1944, Marquardt 1963,
 * damping by Nielsen, IMM-REP-1999-05, held to the bounds) take it to where the gradient vanishes
 * to rounding, which a quasi-Newton method does not reach on problems of bad condition. The best of
 * all starts counts. The same input gives the same bits for any number of threads.
 */
#ifndef SHEAVE_LEAST_SQUARES_H
#define SHEAVE_LEAST_SQUARES_H

#include "sheave/status.h"

#define SHV_PARAMETERS_MOST 32

struct shv_least_squares_problem {
    size_t parameters, residuals;
    /* Residuals r[residuals] at x. SHV_NOTHING when the model has no answer there: such a point is
     * never taken. Any other failure ends the search. `worker` is below `workers`; two calls at the
     * same time never share one. */
    enum shv_status (*residual)(void *data, size_t worker, const double *x, double *r);
    /* Derivatives j[i * parameters + k] = dr_i/dx_k; NULL: by central differences. */
    bool (*jacobian)(void *data, const double *x, double *j);
    void *data;
    const double *start;         /* [parameters], likewise below; within the bounds */
    const double *lower, *upper; /* may be infinite; lower < upper */
    /* Prior mean and standard deviation, a deviation of INFINITY is none; both NULL for none. */
    const double *prior_mean, *prior_deviation;
    /* What a large change is: for differences and for weighing parameters against each other. NULL:
     * upper - lower where that is finite, else |start|, else 1. */
    const double *scale;
    double loss_threshold; /* k, in standard deviations; INFINITY for plain squares */
};

struct shv_least_squares_options {
    size_t starts;      /* 1 or more: the given one, the others spread over finite bounds */
    unsigned long seed; /* of the others */
    size_t steps;       /* at the most, of each of the two methods and start; 0: 200 */
    size_t workers;     /* threads for differences; 0 counts as 1 */
};

enum shv_least_squares_outcome {
    SHV_LEAST_SQUARES_FOUND, /* the gradient vanishes, but for parameters held at a bound */
    SHV_LEAST_SQUARES_KINK,  /* it does not, yet no step along it makes F less: the residuals have a
                              * kink there, and derivatives are those across it */
    SHV_LEAST_SQUARES_UNSURE /* steps ran out first: the best point met */
};

struct shv_least_squares_result {
    enum shv_least_squares_outcome outcome;
    size_t parameters, residuals;
    double *x;        /* [parameters]; owned, as are all below */
    double *r;        /* [residuals] at x, in standard deviations */
    double *weight;   /* [residuals], w at x: 1 unless the loss holds it down */
    bool *at_bound;   /* [parameters], held there by the gradient */
    double *jacobian; /* [residuals * parameters] at x */
    /* (J^T W J + priors)^-1 over the parameters that are not at a bound; rows and columns of those
     * that are, are 0: what is sure of the others given that they stay there. Where a direction is
     * not determined at all, the parameters that it moves have an INFINITE variance. */
    double *covariance; /* [parameters * parameters] */
    double *error;      /* square roots of its diagonal */
    /* Of sqrt(W) J diag(scale), priors as further rows, parameters at a bound left out: how many
     * there are, singular values falling, and for each a unit vector over all parameters. */
    size_t directions;
    double *singular;  /* [parameters] */
    double *direction; /* [parameters * parameters], row k is the vector of singular[k] */
    double *scale;     /* as used */
    double cost;       /* F */
    /* Sum of min(r^2, k^2) over what that is in the mean of normal residuals, and of the priors'
     * squares: as large as there are degrees of freedom when deviations are right, whatever a few
     * wild residuals are. */
    double chi_squared;
    double freedom;     /* residuals and priors less parameters not at a bound */
    double gradient;    /* greatest cosine between a free column of J and the residuals */
    size_t evaluations; /* calls of `residual`, and those of `jacobian` */
    size_t agreeing;    /* starts that ended within 1e-6 of the least F */
};

/* SHV_BAD_INPUT when an argument is out of order or the model has no answer at any start (message
 * says which), SHV_NO_MEMORY, and what `residual` failed with. *result is empty then. Free with
 * shv_least_squares_free. */
enum shv_status shv_least_squares(const struct shv_least_squares_problem *problem,
                                  const struct shv_least_squares_options *options,
                                  struct shv_least_squares_result *result,
                                  struct shv_message *message);
void shv_least_squares_free(struct shv_least_squares_result *result);

/* Correlation of two parameters, 0 where one is at a bound or not determined. */
double shv_least_squares_correlation(const struct shv_least_squares_result *result, size_t a,
                                     size_t b);

/* Largest standard error among some parameters, in units of their scale, if further measurements
 * with the derivatives more[rows * parameters] (in their standard deviations) were had: what would
 * separate them. INFINITY where one would still not be determined; NAN without memory. */
double shv_least_squares_with(const struct shv_least_squares_result *result, const double *more,
                              size_t rows, const bool *among);

#endif
