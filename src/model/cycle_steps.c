/* Integration of the closed cycle over crank angle: docs/cycle.md, sections 5 to 8.
 *
 * Runge-Kutta of fourth order for temperature, work and wall heat, with steps that begin and end
 * where the law of burning does. After each step the temperature is set to what the first law says,
 * so that errors of the step do not add up; the corrections are summed as a measure of how well the
 * step resolves the cycle.
 */
#include "model/cycle_internal.h"

/* Woschni's constants: gas velocity from piston speed and from combustion. */
#define VELOCITY_PISTON 2.28
#define VELOCITY_BURNING 3.24e-3
/* Never reached in an engine; keeps the logarithm in bounds when wall heat exceeds the heat of
 * burning. */
#define VELOCITY_LEAST 0.1

#define STEPS_LEAST 8
/* Crank angle near which burning ends at best phasing, for the number of steps after it. */
#define USUAL_END 30.0

/* A crank angle. */
struct spot {
    struct cycle_place place;
    double burned, burned_slope;
    double motored; /* motored over actual pressure at start of burning; negative before */
};

struct state {
    double t, work, wall_heat;
};

struct slope {
    struct state per_degree;
    double pressure, pressure_slope;
};

struct end_gas {
    double entropy; /* s - R ln p, kept */
    double t, log_p, rate, integral;
    bool watched;
};

struct run {
    const struct cycle *c;
    const struct cycle_charge *q;
    const struct shv_cycle_trace *trace;
    double start, end; /* deg, of burning */
    bool burns_now;
    double start_volume, start_pressure;
    double energy;           /* J at inlet closing */
    double burning_velocity; /* m/s per Pa above the motored pressure */
    struct end_gas end_gas;
    struct state y;
    struct cycle_end out;
};

static void wiebe_at(const struct run *r, double angle, struct spot *s)
{
    const struct shv_cycle_engine *e = r->c->in.engine;
    double share = (angle - r->start) / r->c->duration;
    if (share <= 0.0) {
        return;
    }
    if (!r->burns_now) {
        s->burned = 1.0;
        return;
    }
    double power = shv_pow(share, e->wiebe_m + 1.0);
    double left = shv_exp(-e->wiebe_a * power);
    s->burned = (1.0 - left) / r->c->all_burned;
    s->burned_slope = e->wiebe_a * (e->wiebe_m + 1.0) * power * left /
                      (share * r->c->all_burned * r->c->duration);
}

static struct spot spot_at(const struct run *r, double angle)
{
    const struct shv_cycle_engine *e = r->c->in.engine;
    struct spot s = {.place = cycle_place_at(e, r->c->clearance, angle), .motored = -1.0};
    if (r->start_pressure > 0.0) {
        wiebe_at(r, angle, &s);
        if (r->c->heat_factor > 0.0) {
            s.motored = shv_pow(r->start_volume / s.place.volume, e->motored_exponent);
        }
    }
    return s;
}

static double wall_heat_slope(const struct run *r, const struct spot *s, double t, double log_t,
                              double pressure)
{
    const struct cycle *c = r->c;
    double velocity = VELOCITY_PISTON * c->piston_speed;
    double least = VELOCITY_LEAST * velocity;
    if (s->motored > 0.0) {
        velocity += r->burning_velocity * (pressure - s->motored * r->start_pressure);
    }
    velocity = shv_max(velocity, least);
    double liner = CYCLE_PI * c->in.engine->bore * s->place.way;
    double area_t =
        c->fixed_area * t - c->fixed_area_t + liner * (t - c->in.engine->liner_temperature);
    return c->heat_factor * shv_exp(0.8 * shv_log(pressure * velocity) - 0.55 * log_t) * area_t;
}

/* First law: m cv dT = dQ_released - dQ_wall - p dV - m (u_b - u_u) dx. */
static struct slope slope_at(const struct run *r, const struct spot *s, double t)
{
    const struct cycle_charge *q = r->q;
    const struct cgas *u = &q->unburned, *d = &q->change;
    const struct cgas_range *cu = cgas_at(u, t), *cd = cgas_at(d, t);
    double inverse = 1.0 / t, x = s->burned, dx = s->burned_slope;
    double log_t = shv_log(t);
    double gas_r = u->r + x * d->r;
    double cv = cgas_cp_in(cu, t, inverse) + x * cgas_cp_in(cd, t, inverse) - gas_r;
    struct slope k = {.pressure = q->mass * gas_r * t / s->place.volume};
    k.per_degree.work = k.pressure * s->place.volume_slope;
    if (r->c->heat_factor > 0.0) {
        k.per_degree.wall_heat = wall_heat_slope(r, s, t, log_t, k.pressure);
    }
    double heat = -k.per_degree.wall_heat - k.per_degree.work;
    if (dx > 0.0) {
        double change = cgas_h_in(cd, t, inverse, log_t) - d->r * t;
        heat += dx * (q->release - q->mass * change);
    }
    k.per_degree.t = heat / (q->mass * cv);
    k.pressure_slope = k.pressure * (k.per_degree.t * inverse + d->r * dx / gas_r -
                                     s->place.volume_slope / s->place.volume);
    return k;
}

static struct state moved(const struct state *y, double h, const struct state *k)
{
    return (struct state){y->t + h * k->t, y->work + h * k->work, y->wall_heat + h * k->wall_heat};
}

/* Sets the temperature to what the first law says for work and heat so far. */
static void close_first_law(struct run *r, const struct spot *s)
{
    const struct cycle_charge *q = r->q;
    double t = r->y.t, inverse = 1.0 / t, x = s->burned, log_t = shv_log(t);
    const struct cgas_range *cu = cgas_at(&q->unburned, t), *cd = cgas_at(&q->change, t);
    double gas_r = q->unburned.r + x * q->change.r;
    double cv = cgas_cp_in(cu, t, inverse) + x * cgas_cp_in(cd, t, inverse) - gas_r;
    double energy = q->mass * (cgas_h_in(cu, t, inverse, log_t) +
                               x * cgas_h_in(cd, t, inverse, log_t) - gas_r * t);
    double missing = r->energy + q->release * x - r->y.wall_heat - r->y.work - energy;
    r->y.t += missing / (q->mass * cv);
    r->out.drift += fabs(missing);
}

/* ---- end gas ---- */

/* Temperature on the isentrope at this pressure, and how fast its delay runs out. The start is good
 * to 1e-4, so two rounds of Newton reach rounding. */
static void end_gas_to(struct run *r, double pressure)
{
    struct end_gas *g = &r->end_gas;
    const struct cgas *u = &r->q->unburned;
    double log_p = shv_log(pressure);
    double rise = u->r / cgas_cp(u, g->t) * (log_p - g->log_p);
    double target = g->entropy + u->r * log_p;
    double t = g->t * (1.0 + rise * (1.0 + 0.5 * rise));
    for (int i = 0; i < 2; i++) {
        t -= t * (cgas_entropy(u, t) - target) / cgas_cp(u, t);
    }
    g->t = t;
    g->log_p = log_p;
    g->rate = r->c->knock_factor * shv_exp(1.7 * log_p - 3800.0 / t);
}

static void start_end_gas(struct run *r)
{
    struct end_gas *g = &r->end_gas;
    g->watched = true;
    g->t = r->q->temperature;
    g->log_p = shv_log(r->c->in.at->manifold_pressure);
    g->entropy = cgas_entropy(&r->q->unburned, g->t) - r->q->unburned.r * g->log_p;
    end_gas_to(r, r->c->in.at->manifold_pressure);
}

/* Simpson's rule; pressure between the ends by the cubic through values and slopes. */
static void watch(struct run *r, double h, const struct slope *from, const struct slope *to)
{
    double first = r->end_gas.rate;
    end_gas_to(r, 0.5 * (from->pressure + to->pressure) +
                      0.125 * h * (from->pressure_slope - to->pressure_slope));
    double middle = r->end_gas.rate;
    end_gas_to(r, to->pressure);
    r->end_gas.integral += h * (1.0 / 6.0) * (first + 4.0 * middle + r->end_gas.rate);
}

/* ---- peak and trace ---- */

static void note_peak(struct run *r, double angle, double pressure)
{
    if (pressure > r->out.peak_pressure) {
        r->out.peak_pressure = pressure;
        r->out.peak_angle = angle;
    }
}

/* Maximum within a step, of the cubic through values and slopes. */
static void note_peak_between(struct run *r, double angle, double h, const struct slope *from,
                              const struct slope *to)
{
    note_peak(r, angle + h, to->pressure);
    double d0 = h * from->pressure_slope, d1 = h * to->pressure_slope;
    if (!(d0 > 0.0 && d1 < 0.0)) {
        return;
    }
    double rise = to->pressure - from->pressure;
    double a = 3.0 * (d0 + d1 - 2.0 * rise), b = 2.0 * (3.0 * rise - 2.0 * d0 - d1);
    /* Root of a s^2 + b s + d0 = 0 in 0..1, where the slope turns negative. */
    double s = -2.0 * d0 / (b - sqrt(b * b - 4.0 * a * d0));
    note_peak(r, angle + s * h, from->pressure + s * (d0 + s * (0.5 * b + s * (1.0 / 3.0) * a)));
}

static void write_sample(const struct run *r, double angle, const struct spot *s, double pressure)
{
    if (!r->trace) {
        return;
    }
    struct shv_cycle_sample sample = {
        .angle = angle,
        .volume = s->place.volume,
        .pressure = pressure,
        .temperature = r->y.t,
        .end_gas_temperature = r->end_gas.watched ? r->end_gas.t : NAN,
        .burned = s->burned,
        .work = r->y.work,
        .wall_heat = r->y.wall_heat,
        .knock_integral = r->end_gas.integral,
    };
    r->trace->sample(r->trace->data, &sample);
}

/* ---- steps ---- */

static void step(struct run *r, double angle, double h, struct slope *k1, struct spot *to)
{
    struct spot middle = spot_at(r, angle + 0.5 * h);
    *to = spot_at(r, angle + h);
    const struct state y = r->y;
    struct slope k2 = slope_at(r, &middle, y.t + 0.5 * h * k1->per_degree.t);
    struct slope k3 = slope_at(r, &middle, y.t + 0.5 * h * k2.per_degree.t);
    struct slope k4 = slope_at(r, to, y.t + h * k3.per_degree.t);
    r->y = moved(&r->y, h / 6.0, &k1->per_degree);
    r->y = moved(&r->y, h / 3.0, &k2.per_degree);
    r->y = moved(&r->y, h / 3.0, &k3.per_degree);
    r->y = moved(&r->y, h / 6.0, &k4.per_degree);
    close_first_law(r, to);
    struct slope next = slope_at(r, to, r->y.t);
    note_peak_between(r, angle, h, k1, &next);
    r->out.peak_temperature = shv_max(r->out.peak_temperature, r->y.t);
    if (r->end_gas.watched) {
        watch(r, h, k1, &next);
    }
    *k1 = next;
}

/* From `from` to `to` degrees in `count` equal steps. */
static void stretch(struct run *r, double from, double to, int count)
{
    struct spot at = spot_at(r, from);
    struct slope k = slope_at(r, &at, r->y.t);
    double h = (to - from) / count;
    for (int i = 0; i < count && r->out.valid; i++) {
        step(r, from + h * i, h, &k, &at);
        r->out.valid = r->y.t > CGAS_T_MIN && r->y.t < CGAS_T_MAX;
        write_sample(r, i + 1 < count ? from + h * (i + 1) : to, &at, k.pressure);
    }
    r->out.pressure = k.pressure;
    r->out.burned = at.burned;
    r->out.volume = at.place.volume;
}

/* Numbers of steps do not depend on phasing, so that results are smooth in it. */
static int step_count(const struct run *r, double length)
{
    double n = ceil(length / r->c->in.at->step - 1e-9);
    return n < STEPS_LEAST ? STEPS_LEAST : (int)n;
}

static void begin(struct run *r)
{
    const struct cycle_charge *q = r->q;
    const struct cycle *c = r->c;
    r->energy = q->mass * cgas_energy(&q->unburned, q->temperature);
    r->burning_velocity = VELOCITY_BURNING * c->swept / (q->mass * q->unburned.r);
    r->y.t = r->out.peak_temperature = q->temperature;
    r->out.valid = true;
    r->out.peak_pressure = 0.0;
    note_peak(r, c->in.engine->inlet_closing, c->in.at->manifold_pressure);
    start_end_gas(r);
    struct spot s = spot_at(r, c->in.engine->inlet_closing);
    write_sample(r, c->in.engine->inlet_closing, &s, c->in.at->manifold_pressure);
}

static void compress(struct run *r)
{
    const struct shv_cycle_engine *e = r->c->in.engine;
    stretch(r, e->inlet_closing, r->start, step_count(r, -e->inlet_closing));
    r->start_volume = r->out.volume;
    r->start_pressure = r->out.pressure;
}

static void burn(struct run *r)
{
    const struct cycle *c = r->c;
    double watched = r->start + c->watched_share * c->duration;
    double opening = c->in.engine->exhaust_opening;
    r->burns_now = true;
    stretch(r, r->start, shv_min(watched, opening), step_count(r, c->watched_share * c->duration));
    r->out.end_gas_temperature = r->end_gas.t;
    r->end_gas.watched = false;
    if (watched < opening) {
        stretch(r, watched, shv_min(r->end, opening),
                step_count(r, (1.0 - c->watched_share) * c->duration));
    }
    r->burns_now = false;
}

static void expand(struct run *r)
{
    double opening = r->c->in.engine->exhaust_opening;
    if (r->end < opening) {
        stretch(r, r->end, opening, step_count(r, opening - USUAL_END));
    }
}

struct cycle_end cycle_steps(const struct cycle *c, const struct cycle_charge *charge, double ca50,
                             const struct shv_cycle_trace *trace)
{
    struct run r = {.c = c, .q = charge, .trace = trace};
    r.start = ca50 - c->half_share * c->duration;
    r.end = r.start + c->duration;
    begin(&r);
    compress(&r);
    burn(&r);
    expand(&r);
    r.out.temperature = r.y.t;
    r.out.work = r.y.work;
    r.out.wall_heat = r.y.wall_heat;
    r.out.knock_integral = r.end_gas.integral;
    return r.out;
}
