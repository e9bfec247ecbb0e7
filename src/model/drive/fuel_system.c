/* Injectors, pump and consumption: docs/model.md, sections 10.5 to 10.7. */
#include "sheave/fuel_system.h"

#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define SECONDS_PER_HOUR 3600.0

struct positive {
    const char *what;
    double value;
};

static enum shv_status check_positive(size_t count, const struct positive *row,
                                      struct shv_message *message)
{
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(row[i].value) || row[i].value <= 0.0) {
            return shv_fail(message, SHV_BAD_INPUT, "%s is %.6g; a number above 0 is needed",
                            row[i].what, row[i].value);
        }
    }
    return SHV_OK;
}

static enum shv_status check_injectors(const struct shv_injectors *s, struct shv_message *message)
{
    const struct positive row[] = {
        {"rated flow of the injector, m3/s,", s->rated_flow},
        {"rated pressure of the injector, Pa,", s->rated_pressure},
        {"density of the test fluid, kg/m3,", s->test_density},
        {"largest duty of the injector", s->max_duty},
        {"rail pressure, Pa,", s->rail_pressure},
    };
    if (s->count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "an engine needs at least one injector");
    }
    if (!isfinite(s->dead_time) || s->dead_time < 0.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "dead time of the injector, s, is %.6g; a number of 0 or more is needed",
                        s->dead_time);
    }
    if (s->max_duty > 1.0) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "largest duty of the injector is %.6g; at most 1 is possible", s->max_duty);
    }
    return check_positive(COUNT(row), row, message);
}

static enum shv_status check_demand(const struct shv_fuel_demand *d, struct shv_message *message)
{
    const struct positive row[] = {
        {"engine speed, rev/s,", d->speed},
        {"fuel flow, kg/s,", d->fuel_flow},
        {"density of the fuel, kg/m3,", d->fuel_density},
        {"ambient pressure, Pa,", d->ambient},
        {"manifold pressure, Pa,", d->manifold},
    };
    return check_positive(COUNT(row), row, message);
}

static double reference_pressure(const struct shv_injectors *s, const struct shv_fuel_demand *d)
{
    return s->reference == SHV_RAIL_MANIFOLD ? d->manifold : d->ambient;
}

double shv_injector_static_flow(const struct shv_injectors *s, double pressure, double fuel_density)
{
    if (pressure <= 0.0) {
        return 0.0;
    }
    return s->rated_flow * sqrt(s->test_density * fuel_density * pressure / s->rated_pressure);
}

/* Share of the time that is left for fuel at max_duty; dead time comes once in two turns. */
static double open_share(const struct shv_injectors *s, double speed)
{
    return s->max_duty - s->dead_time * speed / 2.0;
}

double shv_injector_flow_needed(const struct shv_injectors *s, double fuel_flow, double speed)
{
    double share = open_share(s, speed);
    return share > 0.0 ? fuel_flow / ((double)s->count * share) : INFINITY;
}

static double pressure_needed(const struct shv_injectors *s, const struct shv_fuel_demand *d)
{
    double needed = shv_injector_flow_needed(s, d->fuel_flow, d->speed);
    double rated = shv_injector_static_flow(s, s->rated_pressure, d->fuel_density);
    double ratio = needed / rated;
    return s->rated_pressure * ratio * ratio;
}

static void set_duty(const struct shv_injectors *s, const struct shv_fuel_demand *d,
                     struct shv_injection *i)
{
    double turns = 2.0 / d->speed;
    double fuel = d->fuel_flow * turns / (double)s->count;
    i->pulse = s->dead_time + fuel / i->static_flow;
    i->duty = i->pulse / turns;
    i->most_fuel = (double)s->count * i->static_flow * fmax(0.0, open_share(s, d->speed));
    i->outcome = i->duty > s->max_duty ? SHV_INJECTION_DUTY : SHV_INJECTION_DONE;
}

enum shv_status shv_injection_at(const struct shv_injectors *s, const struct shv_fuel_demand *d,
                                 struct shv_injection *injection, struct shv_message *message)
{
    enum shv_status status = check_injectors(s, message);
    if (status == SHV_OK) {
        status = check_demand(d, message);
    }
    if (status != SHV_OK) {
        return status;
    }
    struct shv_injection i = {
        .outcome = SHV_INJECTION_NO_PRESSURE, .pulse = INFINITY, .duty = INFINITY};
    i.pressure = reference_pressure(s, d) + s->rail_pressure - d->manifold;
    i.static_flow = shv_injector_static_flow(s, i.pressure, d->fuel_density);
    i.pressure_needed = pressure_needed(s, d);
    i.rail_needed = i.pressure_needed + d->manifold - reference_pressure(s, d);
    if (i.static_flow > 0.0) {
        set_duty(s, d, &i);
    }
    *injection = i;
    return SHV_OK;
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

static enum shv_status check_pumping(const struct shv_fuel_pump *pump,
                                     const struct shv_injectors *s, const struct shv_fuel_demand *d,
                                     struct shv_message *message)
{
    if (pump->flow.count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "the pump has no curve");
    }
    enum shv_status status = check_injectors(s, message);
    return status == SHV_OK ? check_demand(d, message) : status;
}

enum shv_status shv_pumping_at(const struct shv_fuel_pump *pump, const struct shv_injectors *s,
                               const struct shv_fuel_demand *d, struct shv_pumping *pumping,
                               struct shv_message *message)
{
    enum shv_status status = check_pumping(pump, s, d, message);
    if (status != SHV_OK) {
        return status;
    }
    struct shv_pumping p = {.outcome = SHV_PUMP_BEYOND_CURVE, .flow = NAN, .margin = NAN};
    p.pressure = reference_pressure(s, d) + s->rail_pressure + pump->line_loss - d->ambient;
    if (p.pressure <= pump->flow.x[pump->flow.count - 1]) {
        p.flow = d->fuel_density * shv_curve_table_at(&pump->flow, p.pressure);
        p.margin = p.flow / d->fuel_flow - 1.0;
        p.outcome = p.margin < 0.0 ? SHV_PUMP_SHORT : SHV_PUMP_DONE;
    }
    *pumping = p;
    return SHV_OK;
}

struct shv_consumption shv_consumption_of(double fuel_flow, double fuel_density, double brake_power)
{
    struct shv_consumption c = {.mass_flow = fuel_flow, .volume_flow = fuel_flow / fuel_density};
    c.mass_per_hour = SECONDS_PER_HOUR * c.mass_flow;
    c.volume_per_hour = SECONDS_PER_HOUR * c.volume_flow;
    bool gives_power = brake_power > 0.0;
    c.specific_mass = gives_power ? c.mass_flow / brake_power : NAN;
    c.specific_volume = gives_power ? c.volume_flow / brake_power : NAN;
    return c;
}
