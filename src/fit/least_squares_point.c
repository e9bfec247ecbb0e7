/* Residuals, cost and derivatives at one point of a least-squares problem. */
#include <math.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "fit/least_squares_internal.h"

/* Steps of differences in scales: between the rounding of an iterated model (1e-12) and the third
 * derivative, whose share in a central difference goes with the square. */
#define DIFFERENCE 1e-4

bool ls_point_init(struct ls_point *point, const struct ls *ls)
{
    *point = (struct ls_point){.cost = INFINITY, .cosine = INFINITY};
    point->r = calloc(ls->rows, sizeof *point->r);
    point->w = calloc(ls->rows, sizeof *point->w);
    point->j = calloc(ls->rows * ls->n, sizeof *point->j);
    return point->r && point->w && point->j;
}

void ls_point_free(struct ls_point *point)
{
    free(point->r);
    free(point->w);
    free(point->j);
    *point = (struct ls_point){0};
}

void ls_point_copy(const struct ls *ls, struct ls_point *to, const struct ls_point *from)
{
    double *r = to->r, *w = to->w, *j = to->j;
    *to = *from;
    to->r = r;
    to->w = w;
    to->j = j;
    memcpy(r, from->r, ls->rows * sizeof *r);
    memcpy(w, from->w, ls->rows * sizeof *w);
    memcpy(j, from->j, ls->rows * ls->n * sizeof *j);
}

/* The model's residuals at z; SHV_NOTHING when one of them is no number. */
static enum shv_status model_residuals(const struct ls *ls, size_t worker, const double *z,
                                       double *r)
{
    double x[SHV_PARAMETERS_MOST];
    for (size_t k = 0; k < ls->n; k++) {
        x[k] = z[k] * ls->scale[k];
        /* A bound is met to the bit, whatever the scale's rounding. */
        x[k] = fmin(fmax(x[k], ls->problem->lower[k]), ls->problem->upper[k]);
    }
    enum shv_status status = ls->problem->residual(ls->problem->data, worker, x, r);
    for (size_t i = 0; status == SHV_OK && i < ls->m; i++) {
        status = isfinite(r[i]) ? SHV_OK : SHV_NOTHING;
    }
    return status;
}

/* Whether there is an answer. Why there is none counts when it is not the model's doing. */
static bool has_answer(struct ls *ls, enum shv_status status)
{
    if (status != SHV_OK && status != SHV_NOTHING) {
        ls->status = status;
    }
    return status == SHV_OK;
}

static bool has_prior(const struct ls *ls, size_t k)
{
    return ls->problem->prior_deviation && isfinite(ls->problem->prior_deviation[k]);
}

bool ls_cost(struct ls *ls, const double *z, double *r, double *cost)
{
    const double threshold = ls->problem->loss_threshold;
    ls->evaluations++;
    *cost = INFINITY;
    if (!has_answer(ls, model_residuals(ls, 0, z, r))) {
        return false;
    }
    double sum = 0.0;
    for (size_t i = 0; i < ls->m; i++) {
        double size = fabs(r[i]);
        sum += size <= threshold ? 0.5 * size * size : threshold * (size - 0.5 * threshold);
    }
    for (size_t k = 0; k < ls->n; k++) {
        double off = has_prior(ls, k) ? (z[k] * ls->scale[k] - ls->problem->prior_mean[k]) /
                                            ls->problem->prior_deviation[k]
                                      : 0.0;
        r[ls->m + k] = off;
        sum += 0.5 * off * off;
    }
    *cost = sum;
    return isfinite(sum);
}

/* ---- differences ---- */

/* The two points of a parameter's difference, at z + a and z + b: on both sides, or both inside
 * where a bound is near. */
static void difference_points(const struct ls *ls, const double *z, size_t k, double ab[2])
{
    double h = fmin(DIFFERENCE, 0.125 * (ls->high[k] - ls->low[k]));
    ab[0] = h;
    ab[1] = -h;
    if (z[k] + h > ls->high[k]) {
        ab[0] = -h;
        ab[1] = -2.0 * h;
    } else if (z[k] - h < ls->low[k]) {
        ab[0] = h;
        ab[1] = 2.0 * h;
    }
}

/* Derivative of the parabola through f0 at 0, fa at a and fb at b; with b = -a the middle does not
 * count. */
static double slope(double f0, double fa, double fb, double a, double b)
{
    return (fa - f0) / a * (b / (b - a)) - (fb - f0) / b * (a / (b - a));
}

static bool differences(struct ls *ls, const struct ls_point *p, double *j)
{
    const size_t tasks = 2 * ls->n;
    enum shv_status status[2 * SHV_PARAMETERS_MOST];
    ls->evaluations += tasks;
#pragma omp parallel for num_threads((int)ls->workers) schedule(dynamic)
    for (size_t t = 0; t < tasks; t++) {
        double z[SHV_PARAMETERS_MOST], ab[2];
        memcpy(z, p->z, sizeof z);
        difference_points(ls, p->z, t / 2, ab);
        z[t / 2] += ab[t % 2];
        status[t] = model_residuals(ls, (size_t)omp_get_thread_num(), z, ls->room + t * ls->m);
    }
    for (size_t k = 0; k < ls->n; k++) {
        const double *fa = ls->room + 2 * k * ls->m, *fb = fa + ls->m;
        double ab[2];
        difference_points(ls, p->z, k, ab);
        bool first = has_answer(ls, status[2 * k]), second = has_answer(ls, status[2 * k + 1]);
        if (ls->status != SHV_OK || (!first && !second)) {
            return false;
        }
        for (size_t i = 0; i < ls->m; i++) {
            /* Where one of the points has no answer the other has to do. */
            j[i * ls->n + k] = first && second ? slope(p->r[i], fa[i], fb[i], ab[0], ab[1])
                               : first         ? (fa[i] - p->r[i]) / ab[0]
                                               : (fb[i] - p->r[i]) / ab[1];
        }
    }
    return true;
}

static bool given(struct ls *ls, const struct ls_point *p, double *j)
{
    double x[SHV_PARAMETERS_MOST];
    for (size_t k = 0; k < ls->n; k++) {
        x[k] = p->z[k] * ls->scale[k];
    }
    ls->evaluations++;
    if (!ls->problem->jacobian(ls->problem->data, x, j)) {
        return false;
    }
    for (size_t i = 0; i < ls->m * ls->n; i++) {
        j[i] *= ls->scale[i % ls->n];
        if (!isfinite(j[i])) {
            return false;
        }
    }
    return true;
}

/* ---- gradient ---- */

static void weigh(const struct ls *ls, struct ls_point *p)
{
    const double threshold = ls->problem->loss_threshold;
    for (size_t i = 0; i < ls->rows; i++) {
        double size = fabs(p->r[i]);
        p->w[i] = i >= ls->m || size <= threshold ? 1.0 : threshold / size;
    }
}

static void find_gradient(const struct ls *ls, struct ls_point *p)
{
    double norm = 0.0;
    for (size_t i = 0; i < ls->rows; i++) {
        norm += p->w[i] * p->r[i] * p->r[i];
    }
    norm = sqrt(norm);
    p->cosine = 0.0;
    for (size_t k = 0; k < ls->n; k++) {
        double sum = 0.0, column = 0.0;
        for (size_t i = 0; i < ls->rows; i++) {
            double derivative = p->j[i * ls->n + k];
            sum += derivative * p->w[i] * p->r[i];
            column += derivative * p->w[i] * derivative;
        }
        p->g[k] = sum;
        p->held[k] = (p->z[k] <= ls->low[k] && sum > 0.0) || (p->z[k] >= ls->high[k] && sum < 0.0);
        if (!p->held[k] && column > 0.0 && norm > 0.0) {
            p->cosine = fmax(p->cosine, fabs(sum) / (sqrt(column) * norm));
        }
    }
}

bool ls_derive(struct ls *ls, struct ls_point *p)
{
    memset(p->j + ls->m * ls->n, 0, ls->n * ls->n * sizeof *p->j);
    for (size_t k = 0; k < ls->n; k++) {
        p->j[(ls->m + k) * ls->n + k] =
            has_prior(ls, k) ? ls->scale[k] / ls->problem->prior_deviation[k] : 0.0;
    }
    if (!(ls->problem->jacobian ? given(ls, p, p->j) : differences(ls, p, p->j))) {
        return false;
    }
    weigh(ls, p);
    find_gradient(ls, p);
    return true;
}
