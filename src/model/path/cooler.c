/* Charge cooler effectiveness: docs/model.md, section 5. */
#include "sheave/cooler.h"

#include "model/path/effectiveness.h"

double shv_cooler_effectiveness(enum shv_cooler_arrangement arrangement, double ntu,
                                double capacity_ratio)
{
    return effectiveness_of(arrangement, ntu, capacity_ratio);
}

/* eps = 1 - exp(-N) - exp(-N (1 + C)) sum_n C^n P_n(N),
 * P_n(y) = 1/(n+1)! sum_{j=1..n} (n+1-j)/j! y^(n+j)  (Mason 1955, as in Kays and London), for the
 * smaller stream. Written with terms built by recurrence so that nothing overflows. */
static double mason_series(double n_units, double ratio)
{
    double sum = 0.0;
    for (int n = 1; n < 200; n++) {
        double inner = 0.0;
        for (int j = 1; j <= n; j++) {
            double log_term = (double)(n + j) * log(n_units) + (double)n * log(ratio) -
                              n_units * (1.0 + ratio) - lgamma((double)j + 1.0) -
                              lgamma((double)n + 2.0);
            inner += (double)(n + 1 - j) * exp(log_term);
        }
        sum += inner;
        if (n > 5 && inner < 1e-16 * (sum + 1e-300)) {
            break;
        }
    }
    return 1.0 - exp(-n_units) - sum;
}

double shv_cooler_crossflow_exact(double ntu, double capacity_ratio)
{
    if (ntu <= 0.0) {
        return 0.0;
    }
    if (capacity_ratio <= 1e-12) {
        return 1.0 - exp(-ntu);
    }
    if (capacity_ratio > 1.0) {
        return mason_series(ntu * capacity_ratio, 1.0 / capacity_ratio) / capacity_ratio;
    }
    return mason_series(ntu, capacity_ratio);
}

double shv_cooler_ntu(enum shv_cooler_arrangement arrangement, double effectiveness,
                      double capacity_ratio)
{
    double high = 1.0;
    while (effectiveness_of(arrangement, high, capacity_ratio) < effectiveness) {
        high *= 2.0;
        if (high > 1000.0) {
            return INFINITY;
        }
    }
    double low = 0.0;
    for (int i = 0; i < 200 && high - low > 1e-15 * high; i++) {
        double middle = 0.5 * (low + high);
        if (effectiveness_of(arrangement, middle, capacity_ratio) < effectiveness) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return 0.5 * (low + high);
}

double shv_cooler_rated_ratio(const struct shv_cooler *cooler)
{
    return cooler->rated_flow * SHV_COOLER_RATIO_CP / cooler->coolant_capacity;
}

double shv_cooler_loop_resistance(const struct shv_cooler *cooler)
{
    if (cooler->is_none || cooler->radiator_effectiveness <= 0.0) {
        return 0.0;
    }
    double through = 1.0 / (cooler->radiator_effectiveness * cooler->radiator_capacity);
    double along = isinf(cooler->coolant_capacity) ? 0.0 : 1.0 / cooler->coolant_capacity;
    return shv_max(0.0, through - along);
}
