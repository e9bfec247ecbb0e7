/* A blower on a bench at the points of a log (fit_bench.h). */
#include "fit/fit_bench.h"

#include <math.h>
#include <stdint.h>

double fit_condition(const struct shv_measured_log *plan, const struct shv_log *log, size_t row,
                     enum shv_channel channel, double otherwise)
{
    size_t column = shv_measured_find(plan, channel);
    double value = column == SIZE_MAX ? NAN : log->value[row * log->wants + column];
    return isnan(value) ? otherwise : value;
}

struct fit_bench fit_bench_at(const struct shv_measured_log *plan, const struct shv_log *log,
                              size_t row)
{
    struct fit_bench at;
    at.p1 = fit_condition(plan, log, row, SHV_CHANNEL_INLET_PRESSURE, plan->ambient.pressure);
    at.t1 = fit_condition(plan, log, row, SHV_CHANNEL_INLET_TEMPERATURE, plan->ambient.temperature);
    at.speed = fit_condition(plan, log, row, SHV_CHANNEL_ROTOR_SPEED, NAN);
    double ratio = fit_condition(plan, log, row, SHV_CHANNEL_PRESSURE_RATIO, NAN);
    double boost = fit_condition(plan, log, row, SHV_CHANNEL_BOOST, NAN);
    double p2 = isnan(boost) ? at.p1 * ratio : plan->ambient.pressure + boost;
    at.p2 = fit_condition(plan, log, row, SHV_CHANNEL_OUTLET_PRESSURE, p2);
    return at;
}

void fit_bench_values(const struct shv_measured_log *plan, const struct shv_log *log,
                      const struct shv_gas *gas, const struct shv_blower *blower, size_t row,
                      double *values)
{
    const struct fit_bench at = fit_bench_at(plan, log, row);
    struct shv_blower_state state = {.outside_map = true};
    for (int channel = 0; channel < SHV_CHANNEL_COUNT; channel++) {
        values[channel] = NAN;
    }
    if (at.p1 > 0.0 && at.t1 > SHV_GAS_T_MIN && at.speed > 0.0 && at.p2 >= at.p1) {
        shv_blower_state(blower, gas, at.p1, at.t1, at.speed, at.p2, &state);
    }
    if (!state.outside_map && state.flow > 0.0) {
        values[SHV_CHANNEL_AIR_FLOW] = state.flow;
        values[SHV_CHANNEL_DISCHARGE_TEMPERATURE] = state.discharge_temperature;
        values[SHV_CHANNEL_BLOWER_POWER] = state.shaft_power;
    }
}
