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

static enum shv_status check_pump_flow(size_t count, const double *flow,
                                       struct shv_message *message)
{
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(flow[i]) || flow[i] < 0.0) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "flow %zu of the pump, m3/s, is %.6g; a number of 0 or more is needed",
                            i + 1, flow[i]);
        }
        if (i > 0 && flow[i] > flow[i - 1]) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "flow of a pump must not rise with pressure, but %.6g follows %.6g",
                            flow[i], flow[i - 1]);
        }
    }
    return SHV_OK;
}

enum shv_status shv_fuel_pump_init(struct shv_fuel_pump *pump, size_t count, const double *pressure,
                                   const double *flow, double line_loss,
                                   struct shv_message *message)
{
    *pump = (struct shv_fuel_pump){.line_loss = line_loss};
    if (!isfinite(line_loss) || line_loss < 0.0) {
        pump->line_loss = 0.0;
        return shv_fail(message, SHV_BAD_INPUT,
                        "loss in the fuel line, Pa, is %.6g; a number of 0 or more is needed",
                        line_loss);
    }
    enum shv_status status = check_pump_flow(count, flow, message);
    if (status != SHV_OK) {
        return status;
    }
    return shv_curve_table_init(&pump->flow, count, pressure, flow, message);
}

void shv_fuel_pump_free(struct shv_fuel_pump *pump)
{
    shv_curve_table_free(&pump->flow);
    *pump = (struct shv_fuel_pump){0};
}

double shv_fuel_pump_flow(const struct shv_fuel_pump *pump, double pressure, double fuel_density)
{
    const struct shv_curve_table *curve = &pump->flow;
    if (pressure > curve->x[curve->count - 1]) {
        return 0.0;
    }
    return fuel_density * shv_curve_table_at(curve, pressure);
}
