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
    const double slope = 5300.0; /* K, latent heat over gas constant */
    double wanted = shv_log(vapour);
    for (int i = 0; i < 60; i++) {
        double off = shv_log(shv_saturation_pressure(t)) - wanted;
        double next = 1.0 / (1.0 / t + off / slope);
        if (fabs(next - t) < 1e-13 * t) {
            break;
        }
        t = next;
    }
    return t;
}

struct wetting {
    const struct wet_core *core;
    double dew, coolant;
};

static double saturated_humidity(const struct wet_core *c, double t)
{
    double full = shv_humidity_ratio(shv_saturation_pressure(t), c->p_out);
    return full > 0.0 ? shv_min(full, c->humidity) : c->humidity; /* boiling holds any water */
}

/* J per kg of dry air, less that of the water that has left. */
static double enthalpy(const struct wet_core *c, double t)
{
    double left = c->humidity - saturated_humidity(c, t);
    return (1.0 + c->humidity) * gas_enthalpy(c->gas, t) - left * water_latent_heat(t);
}

static double coolant_at(const struct wetting *w, double h_out)
{
    const struct wet_core *c = w->core;
    double h_in = (1.0 + c->humidity) * gas_enthalpy(c->gas, c->t2);
    double heat = c->flow / (1.0 + c->humidity) * (h_in - h_out);
    return shv_min(c->source + c->loop * heat, w->dew - CLOSE);
}

/* Outlet temperature tried: the enthalpy that is left above the coolant's, less what the transfer
 * units beyond the dew point leave. */
static double wet_gap(void *data, double t)
{
    struct wetting *w = (struct wetting *)data;
    const struct wet_core *c = w->core;
    double h = enthalpy(c, t);
    double cold = coolant_at(w, h), h_cold = enthalpy(c, cold);
    double left = (1.0 - c->share) * (c->t2 - cold) / (w->dew - cold);
    return h - h_cold - left * (enthalpy(c, w->dew) - h_cold);
}

struct wet_out condense_in(const struct wet_core *core)
{
    struct wetting w = {.core = core};
    w.dew =
        shv_min(dew_point(vapour_pressure(core->humidity, core->p_out), core->source), core->t2);
    double t = bracket_root(wet_gap, &w, core->source, w.dew);
    t = isnan(t) ? w.dew : t;
    double humidity = saturated_humidity(core, t);
    double dry = core->flow / (1.0 + core->humidity);
    return (struct wet_out){t, humidity, dry * (core->humidity - humidity)};
}
