/* Charge cooler effectiveness: docs/model.md, section 5. */
#include "sheave/cooler.h"

#include "model/path/effectiveness.h"

/* No core has more transfer units; of an unmixed one the series is exact up to so many. */
static double most_ntu(enum shv_cooler_arrangement arrangement, double capacity_ratio)
{
    const double any = 1000.0;
    bool series = arrangement == SHV_COOLER_CROSSFLOW_UNMIXED && capacity_ratio > 0.0;
    return series ? shv_min(any, UNMIXED_NTU_MOST / shv_min(capacity_ratio, 1.0)) : any;
}

double shv_cooler_ntu(enum shv_cooler_arrangement arrangement, double effectiveness,
                      double capacity_ratio)
{
    double high = most_ntu(arrangement, capacity_ratio), low = 0.0;
    if (effectiveness_of(arrangement, high, capacity_ratio) < effectiveness) {
        return INFINITY;
    }
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
