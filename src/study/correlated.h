/* Normal numbers and correlation, the same bits on every machine. docs/model.md, section 13.4. */
#ifndef SHEAVE_MODEL_CORRELATED_H
#define SHEAVE_MODEL_CORRELATED_H

#include "sheave/corrections.h"

/* Quantile of the standard normal distribution, 0 < p < 1: algorithm AS 241 (PPND16) of Wichura,
 * Applied Statistics 37 (1988) 477-484; about 1 part in 10^15. */
double normal_quantile(double p);
/* Its distribution function, by the Taylor series about 0 (Marsaglia, Journal of Statistical
 * Software 11(4), 2004), to 1e-15 absolute; 0 and 1 beyond +-8. */
double normal_share(double z);

/* Tolerances that are given, and the lower triangle L with L L' their correlations. */
struct correlated {
    size_t count;
    enum shv_correction which[SHV_CORRECTION_COUNT];
    double root[SHV_CORRECTION_COUNT][SHV_CORRECTION_COUNT];
    double matrix[SHV_CORRECTION_COUNT][SHV_CORRECTION_COUNT];
    bool alone[SHV_CORRECTION_COUNT]; /* correlated with none */
};

/* Cholesky's decomposition. False when the matrix is not positive definite. */
bool correlated_init(struct correlated *c, const struct shv_tolerance tolerance[],
                     const struct shv_correlation *correlations, size_t count);

/* Departures from the middle, in the tolerances' own units, from numbers u in (0, 1), one for each
 * of c->count. */
void correlated_draw(const struct correlated *c, const struct shv_tolerance tolerance[],
                     const double *u, double *departure);

#endif
