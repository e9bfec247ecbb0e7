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

/* Cross flow, both streams unmixed, by the series that is exact (W. Nusselt 1930; J. L. Mason
 * 1955), which is the same for both streams:
 *
 *   P = 1/(R N) sum over n from 0 of Q(n, N) Q(n, R N),   Q(n, x) = 1 - exp(-x) sum_{k<=n} x^k/k!
 *
 * Q falls like a factorial once n is beyond x. So many terms are exact to 1e-12 as long as the
 * smaller of N and R N is at most UNMIXED_NTU_MOST. */
#define UNMIXED_TERMS 28
#define UNMIXED_NTU_MOST 10.0

SHV_INLINE double effectiveness_unmixed(double ntu, double ratio)
{
    double a = ntu, b = ntu * ratio;
    double term_a = shv_exp(-a), term_b = shv_exp(-b);
    double left_a = -shv_expm1(-a), left_b = -shv_expm1(-b);
    double sum = 0.0;
#pragma GCC unroll 28
    for (int n = 1; n <= UNMIXED_TERMS; n++) {
        sum += left_a * left_b;
        term_a *= a * (1.0 / n);
        term_b *= b * (1.0 / n);
        left_a = shv_max(left_a - term_a, 0.0);
        left_b = shv_max(left_b - term_b, 0.0);
    }
    return sum / shv_max(b, 1e-300); /* a core of no units does nothing */
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
