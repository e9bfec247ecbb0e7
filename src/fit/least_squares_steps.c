/* Damped Gauss-Newton steps within bounds (Levenberg 1944, Marquardt 1963).
 *
 * The damping of each parameter goes with the size of its column of derivatives (Marquardt,
 * J. SIAM 11, 1963), so that units do not count, and as a whole by the gain
 * of the last step (Nielsen, IMM-REP-1999-05). A parameter at a bound towards which the gradient
 * pushes is held for the step; a step that leaves the bounds is cut back to them, parameter by
 * parameter.
 */
#include <float.h>
#include <math.h>
#include <string.h>

#include "fit/dense.h"
#include "fit/least_squares_internal.h"

#define FIRST_DAMPING 1e-3
#define MOST_DAMPING 1e20
/* What counts as perpendicular; the derivatives themselves are seldom better. */
#define COSINE_END 1e-13
#define STEP_END 1e-14
/* What is found has to look so; where residuals are all rounding a cosine means nothing. */
#define COSINE_FOUND 1e-5
#define COST_OF_NOTHING 1e-18
#define POLISHES 60

struct damping {
    double of[SHV_PARAMETERS_MOST];
    double level, growth;
};

static void find_sizes(const struct ls *ls, const struct ls_point *p, struct damping *d)
{
    for (size_t k = 0; k < ls->n; k++) {
        double sum = 0.0;
        for (size_t i = 0; i < ls->rows; i++) {
            sum += p->w[i] * p->j[i * ls->n + k] * p->j[i * ls->n + k];
        }
        d->of[k] = sqrt(sum);
    }
}

/* The least of |sqrt(w) (J d + r)|^2 + |level D d|^2 over the parameters that are not held. */
static void solve(struct ls *ls, const struct ls_point *p, const double *damping, double level,
                  double *step)
{
    size_t index[SHV_PARAMETERS_MOST], free = 0;
    double x[SHV_PARAMETERS_MOST];
    for (size_t k = 0; k < ls->n; k++) {
        step[k] = 0.0;
        if (!p->held[k]) {
            index[free++] = k;
        }
    }
    size_t rows = ls->rows + free;
    double *a = ls->work, *b = a + (ls->rows + ls->n) * ls->n;
    memset(a, 0, rows * free * sizeof *a);
    for (size_t i = 0; i < ls->rows; i++) {
        double root = sqrt(p->w[i]);
        for (size_t k = 0; k < free; k++) {
            a[i * free + k] = root * p->j[i * ls->n + index[k]];
        }
        b[i] = -root * p->r[i];
    }
    for (size_t k = 0; k < free; k++) {
        a[(ls->rows + k) * free + k] = sqrt(level) * damping[index[k]];
        b[ls->rows + k] = 0.0;
    }
    dense_solve(a, b, rows, free, x);
    for (size_t k = 0; k < free; k++) {
        step[index[k]] = x[k];
    }
}

/* Adds the step within the bounds; what is left of it stays in `step`. */
static void take(const struct ls *ls, const double *z, double *step, double *to)
{
    for (size_t k = 0; k < ls->n; k++) {
        to[k] = fmin(fmax(z[k] + step[k], ls->low[k]), ls->high[k]);
        step[k] = to[k] - z[k];
    }
}

/* How much the cost would fall if the residuals were straight. */
static double predicted(const struct ls *ls, const struct ls_point *p, const double *step)
{
    double fall = 0.0;
    for (size_t i = 0; i < ls->rows; i++) {
        double change = 0.0;
        for (size_t k = 0; k < ls->n; k++) {
            change += p->j[i * ls->n + k] * step[k];
        }
        fall -= p->w[i] * change * (p->r[i] + 0.5 * change);
    }
    return fall;
}

static bool is_short(const struct ls *ls, const struct ls_point *p, const struct damping *d,
                     const double *step)
{
    double moved = 0.0, whole = 0.0;
    for (size_t k = 0; k < ls->n; k++) {
        moved += d->of[k] * step[k] * d->of[k] * step[k];
        whole += d->of[k] * p->z[k] * d->of[k] * p->z[k];
    }
    return sqrt(moved) <= STEP_END * sqrt(whole);
}

/* Tries steps with more and more damping until the cost falls. False when none does. */
static bool lower_cost(struct ls *ls, const struct ls_point *p, struct damping *d,
                       struct ls_point *trial)
{
    while (d->level < MOST_DAMPING) {
        double step[SHV_PARAMETERS_MOST];
        solve(ls, p, d->of, d->level, step);
        take(ls, p->z, step, trial->z);
        if (is_short(ls, p, d, step)) {
            return false;
        }
        double fall = predicted(ls, p, step), cost;
        bool better = ls_cost(ls, trial->z, trial->r, &cost) && cost < p->cost && fall > 0.0;
        if (better) {
            double gain = (p->cost - cost) / fall, turn = 2.0 * gain - 1.0;
            d->level *= fmax(1.0 / 3.0, 1.0 - turn * turn * turn);
            d->growth = 2.0;
            trial->cost = cost;
            return true;
        }
        d->level *= d->growth;
        d->growth *= 2.0;
    }
    return false;
}

/* The cost says nothing of what is left below the square root of its rounding: whole steps go on as
 * long as the gradient shrinks. */
static void polish(struct ls *ls, struct ls_point *p, struct ls_point *trial)
{
    static const double none[SHV_PARAMETERS_MOST] = {0.0};
    for (int i = 0; i < POLISHES && p->cosine > COSINE_END; i++) {
        double step[SHV_PARAMETERS_MOST];
        solve(ls, p, none, 0.0, step);
        take(ls, p->z, step, trial->z);
        bool good = ls_cost(ls, trial->z, trial->r, &trial->cost) &&
                    trial->cost <= p->cost * (1.0 + 1e-10) && ls_derive(ls, trial) &&
                    trial->cosine < p->cosine;
        if (!good) {
            return;
        }
        ls_point_copy(ls, p, trial);
    }
}

void ls_steps(struct ls *ls, struct ls_point *p, struct ls_point *trial)
{
    struct damping d = {.level = FIRST_DAMPING, .growth = 2.0};
    p->found = p->kink = false;
    for (size_t i = 0; i < ls->steps && !p->found; i++) {
        find_sizes(ls, p, &d);
        p->found = p->cosine <= COSINE_END || !lower_cost(ls, p, &d, trial);
        if (p->found) {
            break;
        }
        if (!ls_derive(ls, trial)) {
            return;
        }
        ls_point_copy(ls, p, trial);
    }
    bool ended = p->found;
    polish(ls, p, trial);
    p->found = ended && (p->cosine <= COSINE_FOUND || p->cost <= COST_OF_NOTHING * (double)ls->m);
    p->kink = ended && !p->found;
}
