/* Effectiveness relations as inline code: docs/model.md, section 5. */
#ifndef SHEAVE_MODEL_EFFECTIVENESS_H
#define SHEAVE_MODEL_EFFECTIVENESS_H

#include "model/elementary.h"
#include "sheave/cooler.h"

SHV_INLINE double effectiveness_single_stream(double ntu)
{
    return 1.0 - shv_exp(-ntu);
}

SHV_INLINE double effectiveness_counterflow(double ntu, double ratio)
{
    double gap = fabs(1.0 - ratio);
    if (gap < 1e-9) {
        return ntu / (1.0 + ntu);
    }
    /* expm1 keeps the digits near equal capacities, where both numerator and denominator vanish. Its
     * argument is kept negative (above R_c = 1 by dividing through by e), so that it cannot overflow. */
    double e = expm1(-ntu * gap);
    return ratio < 1.0 ? -e / (gap - ratio * e) : -e / (gap - e);
}

/* In terms of the smaller stream, ratio <= 1. */
SHV_INLINE double effectiveness_unmixed(double units, double ratio)
{
    return 1.0 - shv_exp(shv_pow(units, 0.22) / ratio *
                         (shv_exp(-ratio * shv_pow(units, 0.78)) - 1.0));
}

SHV_INLINE double effectiveness_of(enum shv_cooler_arrangement arrangement, double ntu,
                                      double ratio)
{
    if (ntu <= 0.0) {
        return 0.0;
    }
    if (ratio < 1e-9) {
        return effectiveness_single_stream(ntu);
    }
    switch (arrangement) {
    case SHV_COOLER_SINGLE_STREAM:
        return effectiveness_single_stream(ntu);
    case SHV_COOLER_COUNTERFLOW:
        return effectiveness_counterflow(ntu, ratio);
    case SHV_COOLER_PARALLEL:
        return (1.0 - shv_exp(-ntu * (1.0 + ratio))) / (1.0 + ratio);
    case SHV_COOLER_CROSSFLOW_UNMIXED:
        return ratio <= 1.0 ? effectiveness_unmixed(ntu, ratio)
                            : effectiveness_unmixed(ntu * ratio, 1.0 / ratio) / ratio;
    case SHV_COOLER_CROSSFLOW_CHARGE_MIXED:
        return 1.0 - shv_exp(-(1.0 - shv_exp(-ratio * ntu)) / ratio);
    case SHV_COOLER_CROSSFLOW_COOLANT_MIXED:
        return (1.0 - shv_exp(-ratio * (1.0 - shv_exp(-ntu)))) / ratio;
    }
    return 0.0;
}

#endif
