/* Normal numbers and correlation (correlated.h). */
#include "study/correlated.h"

#include "model/path/elementary.h"

/* ---- the normal distribution ---- */

/* (a0 + a1 r + ... + a7 r^7) / (1 + b1 r + ... + b7 r^7); b[0] is 1. */
static double ratio_of(const double a[8], const double b[8], double r)
{
    double above = a[7], below = b[7];
    for (int i = 6; i >= 0; i--) {
        above = above * r + a[i];
        below = below * r + b[i];
    }
    return above / below;
}

double normal_quantile(double p)
{
    static const double middle_a[8] = {3.3871328727963666080e0, 1.3314166789178437745e2,
                                       1.9715909503065514427e3, 1.3731693765509461125e4,
                                       4.5921953931549871457e4, 6.7265770927008700853e4,
                                       3.3430575583588128105e4, 2.5090809287301226727e3};
    static const double middle_b[8] = {1.0,
                                       4.2313330701600911252e1,
                                       6.8718700749205790830e2,
                                       5.3941960214247511077e3,
                                       2.1213794301586595867e4,
                                       3.9307895800092710610e4,
                                       2.8729085735721942674e4,
                                       5.2264952788528545610e3};
    static const double near_a[8] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                     5.76949722146069140550e0,  3.64784832476320460504e0,
                                     1.27045825245236838258e0,  2.41780725177450611770e-1,
                                     2.27238449892691845833e-2, 7.74545014278341407640e-4};
    static const double near_b[8] = {1.0,
                                     2.05319162663775882187e0,
                                     1.67638483018380384940e0,
                                     6.89767334985100004550e-1,
                                     1.48103976427480074590e-1,
                                     1.51986665636164571966e-2,
                                     5.47593808499534494600e-4,
                                     1.05075007164441684324e-9};
    static const double far_a[8] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                                    1.78482653991729133580e0,  2.96560571828504891230e-1,
                                    2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                    2.71155556874348757815e-5, 2.01033439929228813265e-7};
    static const double far_b[8] = {1.0,
                                    5.99832206555887937690e-1,
                                    1.36929880922735805310e-1,
                                    1.48753612908506148525e-2,
                                    7.86869131145613259100e-4,
                                    1.84631831751005468180e-5,
                                    1.42151175831644588870e-7,
                                    2.04426310338993978564e-15};
    double q = p - 0.5;
    if (fabs(q) <= 0.425) {
        return q * ratio_of(middle_a, middle_b, 0.180625 - q * q);
    }
    double r = sqrt(-shv_log(q < 0.0 ? p : 1.0 - p));
    double z = r <= 5.0 ? ratio_of(near_a, near_b, r - 1.6) : ratio_of(far_a, far_b, r - 5.0);
    return q < 0.0 ? -z : z;
}

double normal_share(double z)
{
    const double per_root = 0.39894228040143267794; /* 1/sqrt(2 pi) */
    if (z < -8.0 || z > 8.0) {
        return z < 0.0 ? 0.0 : 1.0;
    }
    double term = z, sum = z, before = 0.0;
    for (int k = 3; sum != before; k += 2) {
        before = sum;
        term *= z * z / k;
        sum += term;
    }
    return 0.5 + sum * per_root * shv_exp(-0.5 * z * z);
}

/* ---- correlation ---- */

static size_t place_of(const struct correlated *c, enum shv_correction which)
{
    size_t i = 0;
    while (i < c->count && c->which[i] != which) {
        i++;
    }
    return i;
}

static bool decompose(struct correlated *c)
{
    for (size_t i = 0; i < c->count; i++) {
        for (size_t k = 0; k <= i; k++) {
            double sum = c->matrix[i][k];
            for (size_t j = 0; j < k; j++) {
                sum -= c->root[i][j] * c->root[k][j];
            }
            if (k == i && !(sum > 1e-9)) {
                return false;
            }
            c->root[i][k] = k == i ? sqrt(sum) : sum / c->root[k][k];
        }
    }
    return true;
}

bool correlated_init(struct correlated *c, const struct shv_tolerance tolerance[],
                     const struct shv_correlation *correlations, size_t count)
{
    *c = (struct correlated){.count = 0};
    for (int i = 0; i < SHV_CORRECTION_COUNT; i++) {
        if (tolerance[i].given) {
            c->matrix[c->count][c->count] = 1.0;
            c->alone[c->count] = true;
            c->which[c->count++] = (enum shv_correction)i;
        }
    }
    for (size_t i = 0; i < count; i++) {
        size_t a = place_of(c, correlations[i].a), b = place_of(c, correlations[i].b);
        if (a < c->count && b < c->count) {
            c->matrix[a][b] = c->matrix[b][a] = correlations[i].value;
            c->alone[a] = c->alone[b] = false;
        }
    }
    return decompose(c);
}

/* Of half width 1. */
static double triangular_quantile(double u)
{
    return u < 0.5 ? sqrt(2.0 * u) - 1.0 : 1.0 - sqrt(2.0 * (1.0 - u));
}

static double departure_of(const struct shv_tolerance *t, double u, double z)
{
    switch (t->distribution) {
    case SHV_NORMAL:
        break;
    case SHV_UNIFORM:
        return t->half_width * (2.0 * u - 1.0);
    case SHV_TRIANGULAR:
        return t->half_width * triangular_quantile(u);
    }
    return t->standard_deviation * shv_min(shv_max(z, -SHV_NORMAL_CUT), SHV_NORMAL_CUT);
}

void correlated_draw(const struct correlated *c, const struct shv_tolerance tolerance[],
                     const double *u, double *departure)
{
    double normal[SHV_CORRECTION_COUNT];
    for (size_t i = 0; i < c->count; i++) {
        normal[i] = normal_quantile(u[i]);
    }
    for (size_t i = 0; i < c->count; i++) {
        double z = 0.0;
        for (size_t k = 0; k <= i; k++) {
            z += c->root[i][k] * normal[k];
        }
        double share = c->alone[i] ? u[i] : normal_share(z);
        departure[i] = departure_of(&tolerance[c->which[i]], share, z);
    }
}
