/* The exhaust's back pressure, as inline code: docs/model.md, section 6. */
#ifndef SHEAVE_MODEL_EXHAUST_H
#define SHEAVE_MODEL_EXHAUST_H

#include "model/path/elementary.h"

/* What an engine exhausts into: gas that expands along a duct of fixed resistance,
 * pe^2 - p0^2 = k m^2 T/Tx. It is Tx hot when the charge is at `charge`, and hotter by as much as
 * the charge is. */
struct exhaust_law {
    double p0;          /* Pa, ambient */
    double k;           /* Pa2 s2/kg2, by flow of air */
    double temperature; /* Tx, K */
    double charge;      /* K */
};

SHV_INLINE double exhaust_k_at(const struct exhaust_law *e, double charge_temperature)
{
    double hot = e->temperature + (charge_temperature - e->charge);
    return e->k * (shv_max(hot, 0.0) / e->temperature);
}

SHV_INLINE double exhaust_pressure(const struct exhaust_law *e, double flow,
                                   double charge_temperature)
{
    return sqrt(e->p0 * e->p0 + exhaust_k_at(e, charge_temperature) * flow * flow);
}

/* The flow m = capacity (a pm - b pe) with the exhaust pressure that it makes itself, 0 where the
 * engine draws nothing: the root of a quadratic, written so that it holds for any k and b. */
SHV_INLINE double exhaust_flow(const struct exhaust_law *e, double capacity, double a_pm, double b,
                               double charge_temperature)
{
    double back = b * e->p0;
    double push = a_pm * a_pm - back * back;
    double q = capacity * capacity * b * b * exhaust_k_at(e, charge_temperature);
    double m = capacity * push / (a_pm + sqrt(back * back + q * shv_max(push, 0.0)));
    return a_pm > back ? m : 0.0;
}

#endif
