/* Effectiveness relations as inline code: docs/model.md, section 5. */
#ifndef SHEAVE_MODEL_EFFECTIVENESS_H
#define SHEAVE_MODEL_EFFECTIVENESS_H

#include "model/path/elementary.h"
#include "sheave/cooler.h"

SHV_INLINE double effectiveness_single_stream(double ntu)
{
    return 1.0 - shv_exp(-ntu);
}

SHV_INLINE double effectiveness_counterflow(double ntu, double ratio)
{
    double gap = fabs(1.0 - ratio);
    /* The exponent is kept negative (above R_c = 1 by dividing through by e), so that it can't
     * overflow. */
    double e = shv_expm1(-ntu * gap);
    double unequal = -e / (gap - shv_min(ratio, 1.0) * e);
    return gap < 1e-9 ? ntu / (1.0 + ntu) : unequal;
}

/* The formula holds for the smaller stream, so with more capacity on the charge side the streams
 * change places. */
SHV_INLINE double effectiveness_unmixed(double ntu, double ratio)
{
    double larger = shv_max(ratio, 1.0);
    double units = ntu * larger;
    double c = shv_min(ratio, 1.0 / ratio);
    double eps =
        1.0 - shv_exp(shv_pow(units, 0.22) / c * (shv_exp(-c * shv_pow(units, 0.78)) - 1.0));
    return eps / larger;
}

SHV_INLINE double effectiveness_two_streams(enum shv_cooler_arrangement arrangement, double ntu,
                                            double r)
{
    switch (arrangement) {
    case SHV_COOLER_COUNTERFLOW:
        return effectiveness_counterflow(ntu, r);
    case SHV_COOLER_PARALLEL:
        return (1.0 - shv_exp(-ntu * (1.0 + r))) / (1.0 + r);
    case SHV_COOLER_CROSSFLOW_UNMIXED:
        return effectiveness_unmixed(ntu, r);
    case SHV_COOLER_CROSSFLOW_CHARGE_MIXED:
        return 1.0 - shv_exp(-(1.0 - shv_exp(-r * ntu)) / r);
    case SHV_COOLER_CROSSFLOW_COOLANT_MIXED:
        return (1.0 - shv_exp(-r * (1.0 - shv_exp(-ntu)))) / r;
    case SHV_COOLER_SINGLE_STREAM:
        break;
    }
    return effectiveness_single_stream(ntu);
}

/* Without branches once the arrangement is known, so that lanes can share it. */
SHV_INLINE double effectiveness_of(enum shv_cooler_arrangement arrangement, double ntu,
                                   double ratio)
{
    const double none = 1e-9; /* a coolant flow that does not limit */
    double single = effectiveness_single_stream(ntu);
    if (arrangement == SHV_COOLER_SINGLE_STREAM) {
        return single;
    }
    double both = effectiveness_two_streams(arrangement, ntu, shv_max(ratio, none));
    return ratio < none ? single : both;
}

#endif
