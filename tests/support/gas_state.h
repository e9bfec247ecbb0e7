/* States of a gas by halving, for checks of those that Newton's rounds find. */
#ifndef SHEAVE_TESTS_SUPPORT_GAS_STATE_H
#define SHEAVE_TESTS_SUPPORT_GAS_STATE_H

#include "model/cylinder/combustion_gas.h"

static inline double gas_where(const struct cgas *g, double (*rising)(const struct cgas *, double),
                               double value)
{
    double low = CGAS_T_MIN, high = CGAS_T_MAX;
    for (int i = 0; i < 100; i++) {
        double middle = 0.5 * (low + high);
        *(rising(g, middle) < value ? &low : &high) = middle;
    }
    return 0.5 * (low + high);
}

static inline double gas_enthalpy_of(const struct cgas *g, double t)
{
    return cgas_enthalpy(g, t);
}

static inline double gas_entropy_of(const struct cgas *g, double t)
{
    return cgas_entropy(g, t);
}

static inline double gas_at_enthalpy(const struct cgas *g, double enthalpy)
{
    return gas_where(g, gas_enthalpy_of, enthalpy);
}

/* After an isentropic change of pressure. */
static inline double gas_expanded(const struct cgas *g, double t, double pressure_ratio)
{
    return gas_where(g, gas_entropy_of, cgas_entropy(g, t) + g->r * log(pressure_ratio));
}

/* The sum of two gases by mass: all that describes one is linear. */
static inline struct cgas gas_blend(const struct cgas *a, double wa, const struct cgas *b,
                                    double wb)
{
    double x[sizeof *a / sizeof(double)], y[sizeof *a / sizeof(double)];
    struct cgas sum;
    memcpy(x, a, sizeof x);
    memcpy(y, b, sizeof y);
    for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
        x[i] = wa * x[i] + wb * y[i];
    }
    memcpy(&sum, x, sizeof sum);
    return sum;
}

#endif
