/* Water that condenses in a charge cooler: docs/model.md, section 5.
 *
 * Down to its dew point the charge cools as dry gas does; from there on what drives the heat is the
 * difference of the enthalpies of saturated gas at its own temperature and at that of the coolant,
 * over the transfer units that are left. */
#include "model/path/condense.h"

#include "model/path/gas.h"
#include "model/path/solve.h"

#define VAPOUR_RATIO 0.621945 /* of molar masses, as in shv_humidity_ratio() */
#define CLOSE 1e-7            /* K, that the coolant stays below the dew point */

static double vapour_pressure(double humidity, double pressure)
{
    return pressure * humidity / (VAPOUR_RATIO + humidity);
}

bool condense_begins(double humidity, double pressure, double t)
{
    return shv_saturation_pressure(t) < vapour_pressure(humidity, pressure);
}

/* Newton's method over 1/T, in which the logarithm of the saturation pressure is nearly straight.
 */
static double dew_point(double vapour, double t)
{
    double wanted = shv_log(vapour);
    for (int i = 0; i < 60; i++) {
        double slope;
        double off = air_saturation_log(t, &slope) - wanted;
        double next = 1.0 / (1.0 / t + off / (t * t * slope));
        bool there = fabs(next - t) < 1e-13 * t;
        t = next;
        if (there) {
            break;
        }
    }
    return t;
}

struct wetting {
    const struct wet_core *core;
    double dew, h_dew, h_in;
};

/* Humidity ratio that gas can hold, and in *slope its derivative, 1/K. */
static double saturated_humidity(const struct wet_core *c, double t, double *slope)
{
    double log_slope;
    double vapour = shv_exp(air_saturation_log(t, &log_slope));
    double full = shv_humidity_ratio(vapour, c->p_out);
    *slope = 0.0;
    if (!(full > 0.0 && full < c->humidity)) { /* boiling holds any water */
        return c->humidity;
    }
    *slope = full * log_slope * c->p_out / (c->p_out - vapour);
    return full;
}

/* J per kg of dry air, less that of the water that has left; in *slope its derivative. */
static double enthalpy(const struct wet_core *c, double t, double *slope)
{
    double humidity_slope;
    double left = c->humidity - saturated_humidity(c, t, &humidity_slope);
    *slope = (1.0 + c->humidity) * gas_cp(c->gas, t) + humidity_slope * water_latent_heat(t) +
             left * WATER_LATENT_SLOPE;
    return (1.0 + c->humidity) * gas_enthalpy(c->gas, t) - left * water_latent_heat(t);
}

/* What a trial of the outlet temperature gives: the enthalpy that is left above the coolant's, less
 * what the transfer units beyond the dew point leave. */
struct outlet_trial {
    double gap, slope;
};

static struct outlet_trial try_outlet(const struct wetting *w, double t)
{
    const struct wet_core *c = w->core;
    const double loop = c->loop * c->flow / (1.0 + c->humidity);
    double slope, cold_slope;
    double h = enthalpy(c, t, &slope);
    double cold = c->source + loop * (w->h_in - h), cold_rate = -loop * slope;
    if (cold > w->dew - CLOSE) {
        cold = w->dew - CLOSE;
        cold_rate = 0.0;
    }
    double h_cold = enthalpy(c, cold, &cold_slope);
    double span = w->dew - cold, above = w->h_dew - h_cold;
    double left = (1.0 - c->share) * (c->t2 - cold) / span;
    double left_rate = (1.0 - c->share) * (c->t2 - w->dew) / (span * span) * cold_rate;
    return (struct outlet_trial){h - h_cold - left * above,
                                 slope + (left - 1.0) * cold_slope * cold_rate - left_rate * above};
}

static double gap_of(void *data, double t)
{
    return try_outlet(data, t).gap;
}

/* Newton's method from just below the dew point down: the enthalpy of saturated gas is convex, so
 * that it comes from one side. NAN where it does not arrive. */
static double newton(const struct wetting *w)
{
    double t = w->dew - CLOSE;
    for (int i = 0; i < 40; i++) {
        struct outlet_trial at = try_outlet(w, t);
        double next = t - at.gap / at.slope;
        if (!(next > w->core->source - 1.0 && next <= w->dew)) {
            return NAN;
        }
        if (fabs(next - t) < 1e-14 * t) {
            return next;
        }
        t = next;
    }
    return NAN;
}

struct wet_out condense_in(const struct wet_core *core)
{
    struct wetting w = {.core = core};
    double slope;
    w.dew =
        shv_min(dew_point(vapour_pressure(core->humidity, core->p_out), core->source), core->t2);
    w.h_dew = enthalpy(core, w.dew, &slope);
    w.h_in = (1.0 + core->humidity) * gas_enthalpy(core->gas, core->t2);
    double t = newton(&w);
    t = isnan(t) ? bracket_root(gap_of, &w, core->source, w.dew) : t;
    t = isnan(t) ? w.dew : t;
    double humidity = saturated_humidity(core, t, &slope);
    double dry = core->flow / (1.0 + core->humidity);
    return (struct wet_out){t, humidity, dry * (core->humidity - humidity)};
}
