/* How sure fitted parameters are (include/sheave/least_squares.h). */
#include <math.h>
#include <stdlib.h>

#include "fit/dense.h"
#include "fit/least_squares_internal.h"

/* Below this share of the largest singular value a direction counts as not determined. */
#define RANK_END 1e-9
/* Parameters that an undetermined direction moves by at least this much of its length. */
#define MOVED 1e-3

/* sqrt(W) J over the parameters that are not held, in scales; how many these are. `w` NULL: all 1.
 */
static size_t fill(const double *j, const double *w, size_t rows, size_t n, const bool *held,
                   double *a)
{
    size_t free = 0, at = 0;
    for (size_t k = 0; k < n; k++) {
        free += held[k] ? 0 : 1;
    }
    for (size_t k = 0; k < n; k++) {
        for (size_t i = 0; i < rows && !held[k]; i++) {
            a[i * free + at] = (w ? sqrt(w[i]) : 1.0) * j[i * n + k];
        }
        at += held[k] ? 0 : 1;
    }
    return free;
}

/* Variance and covariance in scales from singular values and vectors over `free` parameters. */
static double covariance(const double *singular, const double *v, size_t free, size_t a, size_t b)
{
    double sum = 0.0;
    for (size_t k = 0; k < free; k++) {
        double va = v[k * free + a], vb = v[k * free + b];
        if (singular[k] > RANK_END * singular[0]) {
            sum += va * vb / (singular[k] * singular[k]);
        } else if (fabs(va) > MOVED && a == b) {
            return INFINITY;
        }
    }
    return sum;
}

static bool undetermined(const struct shv_least_squares_result *r, size_t k)
{
    return isinf(r->covariance[k * r->parameters + k]);
}

static void spread(struct shv_least_squares_result *r, const double *v)
{
    const size_t n = r->parameters, free = r->directions;
    size_t index[SHV_PARAMETERS_MOST] = {0}, count = 0;
    for (size_t k = 0; k < n; k++) {
        if (!r->at_bound[k]) {
            index[count++] = k;
        }
    }
    for (size_t a = 0; a < free; a++) {
        for (size_t b = 0; b < free; b++) {
            double scales = r->scale[index[a]] * r->scale[index[b]];
            r->covariance[index[a] * n + index[b]] =
                scales * covariance(r->singular, v, free, a, b);
            r->direction[a * n + index[b]] = v[a * free + b];
        }
    }
    for (size_t a = 0; a < n; a++) {
        for (size_t b = 0; b < n; b++) {
            if (a != b && (undetermined(r, a) || undetermined(r, b))) {
                r->covariance[a * n + b] = 0.0;
            }
        }
        r->error[a] = sqrt(r->covariance[a * n + a]);
    }
}

/* Mean of min(r^2, k^2) over the normal distribution: what a residual cut at k adds to chi squared
 * (Huber, Robust Statistics, 1981, section 6.4). */
static double cut_variance(double k)
{
    if (isinf(k)) {
        return 1.0;
    }
    double density = exp(-0.5 * k * k) / sqrt(2.0 * 3.14159265358979323846);
    double outside = erfc(k / sqrt(2.0)); /* both sides */
    return 1.0 - outside - 2.0 * k * density + k * k * outside;
}

static void count(const struct ls *ls, const struct ls_point *p, struct shv_least_squares_result *r)
{
    const double most = ls->problem->loss_threshold, share = cut_variance(most);
    double priors = 0.0, held = 0.0;
    r->chi_squared = 0.0;
    for (size_t i = 0; i < ls->rows; i++) {
        double size = i < ls->m ? fmin(fabs(p->r[i]), most) : p->r[i];
        r->chi_squared += size * size / (i < ls->m ? share : 1.0);
    }
    for (size_t k = 0; k < ls->n; k++) {
        priors += p->j[(ls->m + k) * ls->n + k] > 0.0 ? 1.0 : 0.0;
        held += p->held[k] ? 1.0 : 0.0;
    }
    r->freedom = (double)ls->m + priors - ((double)ls->n - held);
}

enum shv_status ls_certainty(struct ls *ls, const struct ls_point *p,
                             struct shv_least_squares_result *r, struct shv_message *message)
{
    const size_t n = ls->n;
    double *a = calloc(ls->rows * n, sizeof *a), *v = calloc(n * n, sizeof *v);
    if (!a || !v) {
        free(a);
        free(v);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the least squares");
    }
    r->directions = fill(p->j, p->w, ls->rows, n, p->held, a);
    if (r->directions > 0) {
        dense_singular(a, ls->rows, r->directions, r->singular, v);
    }
    spread(r, v);
    count(ls, p, r);
    free(a);
    free(v);
    return SHV_OK;
}

double shv_least_squares_correlation(const struct shv_least_squares_result *r, size_t a, size_t b)
{
    if (a == b) {
        return 1.0;
    }
    double size = r->error[a] * r->error[b];
    return size > 0.0 && isfinite(size) ? r->covariance[a * r->parameters + b] / size : 0.0;
}

/* Rows that stand for all that is known: singular value times vector, in scales. */
static void known(const struct shv_least_squares_result *r, double *a)
{
    for (size_t k = 0; k < r->directions; k++) {
        for (size_t i = 0; i < r->parameters; i++) {
            a[k * r->parameters + i] = r->singular[k] * r->direction[k * r->parameters + i];
        }
    }
}

double shv_least_squares_with(const struct shv_least_squares_result *r, const double *more,
                              size_t rows, const bool *among)
{
    const size_t n = r->parameters, all = n + rows;
    double *a = calloc(all * n, sizeof *a), *v = calloc(n * n, sizeof *v);
    double *packed = calloc(all * n, sizeof *packed);
    double singular[SHV_PARAMETERS_MOST], worst = NAN;
    if (a && packed && v) {
        known(r, a);
        for (size_t i = 0; i < rows * n; i++) {
            a[n * n + i] = more[i] * r->scale[i % n];
        }
        size_t free = fill(a, NULL, all, n, r->at_bound, packed), at = 0;
        worst = 0.0;
        if (free > 0) {
            dense_singular(packed, all, free, singular, v);
        }
        for (size_t k = 0; k < n; k++) {
            if (!r->at_bound[k]) {
                worst = among[k] ? fmax(worst, sqrt(covariance(singular, v, free, at, at))) : worst;
                at++;
            }
        }
    }
    free(a);
    free(packed);
    free(v);
    return worst;
}
