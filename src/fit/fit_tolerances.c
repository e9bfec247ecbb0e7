/* From a fit to the tolerances of a study (include/sheave/fit.h). */
#include <math.h>
#include <stdlib.h>

#include "fit/fit_internal.h"
#include "study/correlated.h"

/* Correlations below are rounding; a study takes them up to the other. */
#define LEAST_CORRELATION 1e-6
#define MOST_CORRELATION 0.999
/* Nearly collinear corrections can leave a matrix that rounding makes impossible: correlations of
 * the fit are then made smaller step by step. */
#define SHRINK 0.99
#define MOST_SHRINKS 1000
#define DIGITS 1e-8 /* what writing them down may change */

static double room_of(const struct shv_fit_result *result, enum shv_correction which)
{
    const struct shv_correction_info *info = shv_correction_info(which);
    double value = result->corrections.value[which];
    return fmin(value - info->least, info->most - value);
}

static bool is_known(const struct shv_fit_result *result, size_t k)
{
    double error = result->least.error[k];
    return error > 0.0 && isfinite(error);
}

static bool keeps(const struct shv_fit *fit, const struct shv_fit_result *result,
                  enum shv_correction which)
{
    const struct shv_tolerances *own = &fit->study->tolerances;
    const struct shv_tolerance *t = &own->of[which];
    if (!own->given || !t->given || own->by_blowers[which]) {
        return false;
    }
    double reach =
        t->distribution == SHV_NORMAL ? SHV_NORMAL_CUT * t->standard_deviation : t->half_width;
    return reach <= room_of(result, which);
}

/* The tolerance of fitted correction k, and where it comes from. */
static enum shv_fit_tolerance find_one(const struct shv_fit *fit,
                                       const struct shv_fit_result *result, size_t k,
                                       struct shv_tolerance *t)
{
    const struct shv_freed *freed = &fit->plan->freed[k];
    double room = room_of(result, freed->correction), value = result->least.x[k];
    *t = (struct shv_tolerance){.given = true, .standard_deviation = NAN, .half_width = NAN};
    if (is_known(result, k) && room > 0.0) {
        double deviation = shv_fit_error(result, k);
        t->distribution = SHV_NORMAL;
        t->standard_deviation = fmin(deviation, room / SHV_NORMAL_CUT);
        return t->standard_deviation < deviation ? SHV_FIT_CUT : SHV_FIT_MEASURED;
    }
    if (keeps(fit, result, freed->correction)) {
        *t = fit->study->tolerances.of[freed->correction];
        return SHV_FIT_KEPT;
    }
    t->distribution = SHV_UNIFORM;
    t->half_width = fmin(fmax(value - freed->from, freed->to - value), room);
    if (!result->least.at_bound[k] && t->half_width > 0.0) {
        return SHV_FIT_BOUNDS;
    }
    *t = (struct shv_tolerance){.given = false};
    return SHV_FIT_NONE;
}

/* Number of the fit's parameter if the fit has measured this correction, else that of all. */
static size_t measured(const struct shv_fit *fit, const struct shv_fit_result *result,
                       enum shv_correction which)
{
    for (size_t k = 0; k < fit->plan->free; k++) {
        bool known = result->source[k] == SHV_FIT_MEASURED || result->source[k] == SHV_FIT_CUT;
        if (fit->plan->freed[k].correction == which && known) {
            return k;
        }
    }
    return fit->plan->free;
}

static void add(struct shv_tolerances *t, enum shv_correction a, enum shv_correction b,
                double value)
{
    value = fmax(fmin(value, MOST_CORRELATION), -MOST_CORRELATION);
    if (fabs(value) >= LEAST_CORRELATION) {
        t->correlations[t->correlation_count++] = (struct shv_correlation){a, b, value};
    }
}

/* The study's own first; *of_fit is where those of the fit begin. */
static void correlate(const struct shv_fit *fit, struct shv_fit_result *result, size_t *of_fit)
{
    const struct shv_tolerances *own = &fit->study->tolerances;
    struct shv_tolerances *t = &result->tolerances;
    const size_t n = fit->plan->free;
    for (size_t i = 0; own->given && i < own->correlation_count; i++) {
        const struct shv_correlation *c = &own->correlations[i];
        bool apart = measured(fit, result, c->a) == n && measured(fit, result, c->b) == n;
        if (apart && t->of[c->a].given && t->of[c->b].given) {
            add(t, c->a, c->b, c->value);
        }
    }
    *of_fit = t->correlation_count;
    for (size_t a = 0; a < n; a++) {
        for (size_t b = a + 1; b < n; b++) {
            enum shv_correction x = fit->plan->freed[a].correction;
            enum shv_correction y = fit->plan->freed[b].correction;
            if (measured(fit, result, x) == a && measured(fit, result, y) == b) {
                add(t, x, y, shv_least_squares_correlation(&result->least, a, b));
            }
        }
    }
}

static void make_possible(struct shv_tolerances *t, size_t of_fit)
{
    struct correlated unused;
    for (int i = 0; i < MOST_SHRINKS; i++) {
        for (size_t k = 0; k < t->correlation_count; k++) {
            t->correlations[k].value *= 1.0 + DIGITS;
        }
        bool possible = correlated_init(&unused, t->of, t->correlations, t->correlation_count);
        for (size_t k = 0; k < t->correlation_count; k++) {
            t->correlations[k].value /= 1.0 + DIGITS;
        }
        if (possible) {
            return;
        }
        for (size_t k = of_fit; k < t->correlation_count; k++) {
            t->correlations[k].value *= SHRINK;
        }
    }
    t->correlation_count = of_fit;
}

enum shv_status fit_tolerances(const struct shv_fit *fit, struct shv_fit_result *result,
                               struct shv_message *message)
{
    const struct shv_tolerances *own = &fit->study->tolerances;
    struct shv_tolerances *t = &result->tolerances;
    const size_t n = fit->plan->free, mine = own->given ? own->correlation_count : 0;
    size_t of_fit;
    *t = (struct shv_tolerances){.hold = NAN};
    if (own->given) {
        *t = *own;
    }
    t->correlation_count = 0;
    t->correlations = calloc(mine + n * n + 1, sizeof *t->correlations);
    if (!t->correlations) {
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for the tolerances of a fit");
    }
    for (size_t k = 0; k < n; k++) {
        result->source[k] = find_one(fit, result, k, &t->of[fit->plan->freed[k].correction]);
    }
    t->given = false;
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        t->given = t->given || t->of[i].given;
    }
    correlate(fit, result, &of_fit);
    make_possible(t, of_fit);
    return SHV_OK;
}
