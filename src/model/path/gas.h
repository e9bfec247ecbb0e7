/* Gas properties and nozzle flow as inline code, shared by the public functions of air.c and
 * blower.c and by the lanes. Equations: docs/model.md, sections 1 and 3. */
#ifndef SHEAVE_MODEL_GAS_H
#define SHEAVE_MODEL_GAS_H

#include "model/path/elementary.h"
#include "sheave/air.h"

/* J/(kg K), with the gas constant of the report that gives the polynomials. */
#define GAS_R_AIR (8.314510 / 0.0289651159)
#define GAS_R_WATER (8.314510 / 0.01801528)

/* Water over dry air; 0 of a gas without vapour. */
SHV_INLINE double gas_humidity(const struct shv_gas *g)
{
    return g->vapour_fraction / (1.0 - g->vapour_fraction);
}

/* Gas constant of moist air. */
SHV_INLINE double gas_constant_at(double humidity)
{
    return (GAS_R_AIR + humidity * GAS_R_WATER) / (1.0 + humidity);
}

SHV_INLINE double gas_cp_inside(const struct shv_gas *g, double t)
{
    double inverse = 1.0 / t;
    return (g->b[0] * inverse + g->b[1]) * inverse +
           (g->b[2] + t * (g->b[3] + t * (g->b[4] + t * (g->b[5] + t * g->b[6]))));
}

SHV_INLINE double gas_clamp(double t)
{
    return shv_min(shv_max(t, SHV_GAS_T_MIN), SHV_GAS_T_MAX);
}

/* cp, constant beyond the range of the polynomials. */
SHV_INLINE double gas_cp(const struct shv_gas *g, double t)
{
    return gas_cp_inside(g, gas_clamp(t));
}

SHV_INLINE double gas_gamma(const struct shv_gas *g, double t)
{
    double cp = gas_cp(g, t);
    return cp / (cp - g->isentropic_r);
}

/* Enthalpy; a straight line beyond the range, so that solvers stay in bounds. */
SHV_INLINE double gas_enthalpy(const struct shv_gas *g, double t)
{
    double c = gas_clamp(t);
    double inside =
        -g->b[0] / c + g->b[1] * shv_log(c) +
        c * (g->b[2] + c * (g->b[3] * (1.0 / 2.0) +
                            c * (g->b[4] * (1.0 / 3.0) +
                                 c * (g->b[5] * (1.0 / 4.0) + c * (g->b[6] * (1.0 / 5.0))))));
    return inside + (t - c) * gas_cp_inside(g, c);
}

/* Temperature part of the entropy, inside the range only. */
SHV_INLINE double gas_entropy(const struct shv_gas *g, double t)
{
    double inverse = 1.0 / t;
    return -(g->b[0] * 0.5 * inverse + g->b[1]) * inverse + g->b[2] * shv_log(t) +
           t * (g->b[3] + t * (g->b[4] / 2.0 + t * (g->b[5] / 3.0 + t * (g->b[6] / 4.0))));
}

/* Temperature with enthalpy h_start + rise, h_start = h(t_start). cp changes by about 1e-4 per
 * kelvin, so the midpoint rule starts within 1e-3 of the rise; a Newton step turns an error of
 * e kelvin into about 5e-5 e^2, so two reach rounding even after a rise of 700 K. */
SHV_INLINE double gas_temperature_after(const struct shv_gas *g, double t_start, double h_start,
                                        double rise)
{
    double t = t_start + rise / gas_cp(g, t_start);
    t = t_start + rise / gas_cp(g, 0.5 * (t_start + t));
    t -= (gas_enthalpy(g, t) - h_start - rise) / gas_cp(g, t);
    t -= (gas_enthalpy(g, t) - h_start - rise) / gas_cp(g, t);
    return t;
}

/* Isentropic change from t by the pressure ratio, by Newton from the constant-gamma answer. */
SHV_INLINE double gas_isentropic(const struct shv_gas *g, double t_start, double pressure_ratio)
{
    double change = g->isentropic_r * shv_log(pressure_ratio);
    double s_end = gas_entropy(g, t_start) + change;
    double t = t_start * shv_exp(change / gas_cp(g, t_start));
    for (int i = 0; i < 4; i++) {
        t = gas_clamp(t);
        t -= (gas_entropy(g, t) - s_end) * t / gas_cp(g, t);
    }
    return t;
}

/* Isentropic nozzle function psi(r) with mass flow = A p_up / sqrt(R T_up) psi, r = p_down/p_up in
 * (0, 1]: sqrt(2 g/(g-1) (r^(2/g) - r^((g+1)/g))), constant below the critical ratio
 * (2/(g+1))^(g/(g-1)). Any text on gas dynamics, e.g. Heywood 1988 app. C. */
SHV_INLINE double nozzle_function(double r, double gamma)
{
    double inverse = 1.0 / gamma;
    double power = (gamma - 1.0) * inverse;
    double critical_log = shv_log(2.0 / (gamma + 1.0)) / power;
    double log_r = shv_max(shv_log(r), critical_log);
    double root = shv_exp(log_r * inverse);
    double drop = 1.0 - shv_exp(log_r * power);
    return root * sqrt(shv_max(0.0, 2.0 / power * drop));
}

/* The same over the share of pressure that is lost, 1 - r: more work, and full precision where r is
 * next to 1. */
SHV_INLINE double nozzle_function_of_loss(double lost, double gamma)
{
    double power = (gamma - 1.0) / gamma;
    double critical = shv_log(2.0 / (gamma + 1.0)) / power;
    double log_ratio = shv_max(shv_log1p(-lost), critical);
    return shv_exp(log_ratio / gamma) * sqrt(-2.0 / power * shv_expm1(log_ratio * power));
}

/* kg/s through an opening from pressure p and temperature t, with the nozzle function's psi. */
SHV_INLINE double nozzle_flow(const struct shv_gas *g, double area, double p, double t, double psi)
{
    return area * p / sqrt(g->gas_constant * shv_max(t, 1.0)) * psi;
}

#endif
