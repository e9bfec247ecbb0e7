/* Injectors and pump: docs/model.md, sections 10.5 and 10.6. */
#include "sheave/fuel_system.h"

#include <math.h>

double shv_injector_static_flow(const struct shv_injector_part *part, double rated_flow,
                                double pressure, double fuel_density)
{
    if (pressure <= 0.0) {
        return 0.0;
    }
    return rated_flow * sqrt(part->test_density * fuel_density * pressure / part->rated_pressure);
}

double shv_injector_duty(const struct shv_injector_part *part, double rated_flow,
                         const struct shv_injection *at)
{
    double open = shv_injector_static_flow(part, rated_flow, at->pressure, at->fuel_density);
    if (open == 0.0) {
        return INFINITY;
    }
    return part->dead_time * at->speed / 2.0 + at->fuel_flow / (at->count * open);
}

double shv_fuel_pump_flow(const struct shv_fuel_pump *pump, double pressure, double fuel_density)
{
    const struct shv_curve_table *curve = &pump->flow;
    if (pressure > curve->x[curve->count - 1]) {
        return 0.0;
    }
    return fuel_density * shv_curve_table_at(curve, pressure);
}
