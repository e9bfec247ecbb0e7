/* Ignition delay and octane: docs/model.md, section 8.8. */
#include "model/cylinder/knock_delay.h"
#include "model/cylinder/cycle_internal.h"
#include "model/cylinder/blend.h"

double shv_knock_delay(double octane, double pressure, double temperature)
{
    return KNOCK_DELAY * shv_pow(octane / 100.0, KNOCK_OCTANE_EXPONENT) *
           shv_pow(pressure / KNOCK_ATMOSPHERE, -KNOCK_PRESSURE_EXPONENT) *
           shv_exp(KNOCK_TEMPERATURE / temperature);
}

double shv_knock_mixture_gain(const struct shv_cycle_knock *k, double lambda)
{
    double away = lambda - k->mixture_peak, rounding = k->mixture_rounding;
    return k->mixture_slope * (sqrt(away * away + rounding * rounding) - rounding);
}

double knock_octane_slope(const struct shv_cycle_knock *k, const struct shv_cycle_fuel *fuel)
{
    return -k->weight_slope * (fuel->ron - fuel->mon) / 100.0;
}

double knock_octane(const struct shv_cycle_knock *k, const struct shv_cycle_fuel *fuel,
                    double lambda, double humidity_ratio)
{
    return shv_octane_index(fuel->ron, fuel->mon, k->octane_weight) +
           shv_knock_mixture_gain(k, lambda) +
           k->humidity_slope * (humidity_ratio - KNOCK_RATING_HUMIDITY);
}
