/* What happens at one crank angle, as short inline code without branches on values, for
 * cycle_lane_body.h: docs/model.md, sections 8.1, 8.2 and 8.5 to 8.8. Conditions that are the same
 * for a whole stretch of steps are parameters.
 */
#ifndef SHEAVE_MODEL_CYCLE_PHYSICS_H
#define SHEAVE_MODEL_CYCLE_PHYSICS_H

#include "model/cylinder/cycle_internal.h"
#include "model/cylinder/knock_delay.h"

/* Woschni's constants: gas velocity from piston speed and from combustion. */
#define CYCLE_VELOCITY_PISTON 2.28
#define CYCLE_VELOCITY_BURNING 3.24e-3
/* Never reached in an engine; keeps the logarithm in bounds when wall heat exceeds the heat of
 * burning. */
#define CYCLE_VELOCITY_LEAST 0.1

#define CYCLE_STEPS_LEAST 8
/* Crank angle near which burning ends at best phasing, for the number of steps after it. */
#define CYCLE_USUAL_END 30.0

/* ---- what is the same at every angle ---- */

struct cycle_crank {
    double crank, area, rod_ratio, clearance;
};

struct cycle_walls {
    double factor;                   /* 0: none */
    double velocity;                 /* m/s, by the piston */
    double fixed_area, fixed_area_t; /* m2, m2 K */
    double liner, liner_t;           /* m, K */
};

/* Law of burning. */
struct cycle_burning {
    double a, m, all;
};

struct cycle_content {
    double mass, release;
    double unburned_r, change_r; /* J/(kg K) */
    double burning_velocity;     /* m/s per Pa above the motored pressure */
    double start_pressure;       /* of burning */
};

/* ---- at an angle ---- */

struct cycle_angle {
    struct cycle_place place;
    double burned, burned_slope;
    double motored; /* motored over actual pressure at start of burning */
};

struct cycle_state {
    double t, work, wall_heat;
};

struct cycle_slopes {
    struct cycle_state per_degree;
    double pressure, pressure_slope;
};

struct cycle_end_gas {
    double entropy; /* s - R ln p, kept */
    double t, log_p, rate;
};

/* Numbers of steps do not depend on phasing, so that results are smooth in it. */
SHV_INLINE int cycle_step_count(double step, double length)
{
    double n = ceil(length / step - 1e-9);
    return n < CYCLE_STEPS_LEAST ? CYCLE_STEPS_LEAST : (int)n;
}

SHV_INLINE struct cycle_crank cycle_crank_of(const struct shv_cycle_engine *e, double clearance)
{
    return (struct cycle_crank){0.5 * e->stroke, 0.25 * CYCLE_PI * e->bore * e->bore, e->rod_ratio,
                                clearance};
}

SHV_INLINE struct cycle_walls cycle_walls_of(const struct cycle *c)
{
    return (struct cycle_walls){
        c->heat_factor,  CYCLE_VELOCITY_PISTON * c->piston_speed, c->fixed_area,
        c->fixed_area_t, CYCLE_PI * c->in.engine->bore,           c->in.engine->bore_temperature};
}

SHV_INLINE struct cycle_burning cycle_burning_of(const struct cycle *c)
{
    return (struct cycle_burning){c->in.engine->wiebe_a, c->in.engine->wiebe_m, c->all_burned};
}

/* Sine and cosine of degrees: quarter turns, then Taylor's series on -45..45 degrees. */
SHV_INLINE void cycle_turn(double degrees, double *sine, double *cosine)
{
    double turned = degrees * (1.0 / 90.0) + SHV_ROUNDER;
    double quarters = turned - SHV_ROUNDER;
    double x = (degrees - 90.0 * quarters) * CYCLE_DEGREE;
    double z = -x * x;
    double s =
        x * (1.0 +
             z / 6.0 *
                 (1.0 +
                  z / 20.0 *
                      (1.0 +
                       z / 42.0 *
                           (1.0 + z / 72.0 *
                                      (1.0 + z / 110.0 * (1.0 + z / 156.0 * (1.0 + z / 210.0)))))));
    double c =
        1.0 +
        z / 2.0 *
            (1.0 +
             z / 12.0 *
                 (1.0 +
                  z / 30.0 *
                      (1.0 +
                       z / 56.0 *
                           (1.0 + z / 90.0 *
                                      (1.0 + z / 132.0 * (1.0 + z / 182.0 * (1.0 + z / 240.0)))))));
    /* The number of quarters is in the low bits: odd ones swap the two, and each has the sign of
     * its quarter. */
    uint64_t q = shv_bits(turned), swap = 0u - (q & 1u);
    uint64_t sb = shv_bits(s), cb = shv_bits(c);
    *sine = shv_from_bits(((sb & ~swap) | (cb & swap)) ^ ((q & 2u) << 62));
    *cosine = shv_from_bits(((cb & ~swap) | (sb & swap)) ^ (((q + 1u) & 2u) << 62));
}

SHV_INLINE struct cycle_place cycle_place_of(const struct cycle_crank *k, double angle)
{
    double s, c;
    cycle_turn(angle, &s, &c);
    double rod = sqrt(k->rod_ratio * k->rod_ratio - s * s);
    /* rod_ratio - rod = s^2 / (rod_ratio + rod) keeps its digits for a long rod. */
    double way = k->crank * (1.0 - c + s * s / (k->rod_ratio + rod));
    double way_slope = k->crank * s * (1.0 + c / rod);
    return (struct cycle_place){k->clearance + k->area * way, k->area * way_slope * CYCLE_DEGREE,
                                way};
}

/* Share burned and its slope per degree at a share above 0 of the duration. */
SHV_INLINE void cycle_burned_at(const struct cycle_burning *b, double duration, double share,
                                double *burned, double *slope)
{
    double power = shv_pow(share, b->m + 1.0);
    double left = shv_exp(-b->a * power);
    *burned = (1.0 - left) / b->all;
    *slope = b->a * (b->m + 1.0) * power * left / (share * b->all * duration);
}

/* Share of residual gas, by mass, up to which the law of its effect on the flame is followed. */
#define CYCLE_RESIDUAL_SLOWS 0.3
/* Burning lasts as long as the velocity, with viscosity in it, to this power says. */
#define CYCLE_FLAME_EXPONENT (-2.0 / 3.0)

SHV_INLINE double cycle_log_velocity(const struct cycle_flame *f, double log_t, double log_p,
                                     double residual_share)
{
    double x = shv_min(shv_max(residual_share, 1e-12), CYCLE_RESIDUAL_SLOWS);
    return f->log_velocity + f->temperature_exponent * log_t + f->pressure_exponent * log_p +
           shv_log(1.0 - 2.06 * shv_pow(x, 0.77));
}

/* Logarithm of the velocity in the unburned gas at the volume where half has burned, compressed
 * there without fire. */
SHV_INLINE double cycle_flame_at(const struct cycle_flame *f, double exponent, double temperature,
                                 double pressure, double residual_share, double log_volume_ratio)
{
    return cycle_log_velocity(f, shv_log(temperature) + (exponent - 1.0) * log_volume_ratio,
                              shv_log(pressure) + exponent * log_volume_ratio, residual_share);
}

/* The duration of burning, deg, from that at the reference velocity. */
SHV_INLINE double cycle_duration_at(double duration, double log_velocity, double log_reference)
{
    return duration * shv_exp(CYCLE_FLAME_EXPONENT * (log_velocity - log_reference));
}

/* Logarithm of the octane number over that of the rating, for a charge of this state at inlet
 * closing. */
SHV_INLINE double cycle_octane_gain(double octane_slope, double rating_temperature,
                                    double temperature, double pressure)
{
    double compressed = temperature * shv_exp(KNOCK_COMPRESSED_EXPONENT *
                                              (shv_log(KNOCK_COMPRESSED) - shv_log(pressure)));
    return octane_slope * (compressed - rating_temperature);
}

SHV_INLINE double cycle_wall_slope(const struct cycle_walls *w, double way, double faster, double t,
                                   double log_t, double pressure)
{
    double velocity = shv_max(w->velocity + faster, CYCLE_VELOCITY_LEAST * w->velocity);
    double liner = w->liner * way;
    double area_t = w->fixed_area * t - w->fixed_area_t + liner * (t - w->liner_t);
    return w->factor * shv_exp(0.8 * shv_log(pressure * velocity) - 0.55 * log_t) * area_t;
}

/* First law: m cv dT = dQ_released - dQ_wall - p dV - m (u_b - u_u) dx. `mixed`: some may have
 * burned; `burns`: some may burn here; `fires`: after the start of burning.
 */
SHV_INLINE struct cycle_slopes
cycle_slopes_at(const struct cycle_walls *w, const struct cycle_content *q,
                const struct cgas_range *cu, const struct cgas_range *cd,
                const struct cycle_angle *s, double t, bool mixed, bool burns, bool fires)
{
    double inverse = 1.0 / t, log_t = shv_log(t);
    double gas_r = mixed ? q->unburned_r + s->burned * q->change_r : q->unburned_r;
    double cp = cgas_cp_in(cu, t, inverse);
    double cv = (mixed ? cp + s->burned * cgas_cp_in(cd, t, inverse) : cp) - gas_r;
    struct cycle_slopes k = {.pressure = q->mass * gas_r * t / s->place.volume};
    k.per_degree.work = k.pressure * s->place.volume_slope;
    double faster =
        fires ? q->burning_velocity * (k.pressure - s->motored * q->start_pressure) : 0.0;
    k.per_degree.wall_heat = cycle_wall_slope(w, s->place.way, faster, t, log_t, k.pressure);
    double heat = -k.per_degree.wall_heat - k.per_degree.work;
    if (burns) {
        double change = cgas_h_in(cd, t, inverse, log_t) - q->change_r * t;
        heat += s->burned_slope * (q->release - q->mass * change);
    }
    k.per_degree.t = heat / (q->mass * cv);
    double moles = burns ? q->change_r * s->burned_slope / gas_r : 0.0;
    k.pressure_slope =
        k.pressure * (k.per_degree.t * inverse + moles - s->place.volume_slope / s->place.volume);
    return k;
}

SHV_INLINE struct cycle_state cycle_moved(const struct cycle_state *y, double h,
                                          const struct cycle_state *k)
{
    return (struct cycle_state){y->t + h * k->t, y->work + h * k->work,
                                y->wall_heat + h * k->wall_heat};
}

SHV_INLINE struct cycle_state cycle_kutta(const struct cycle_state *y, double h,
                                          const struct cycle_state *k1,
                                          const struct cycle_state *k2,
                                          const struct cycle_state *k3,
                                          const struct cycle_state *k4)
{
    struct cycle_state n = cycle_moved(y, h / 6.0, k1);
    n = cycle_moved(&n, h / 3.0, k2);
    n = cycle_moved(&n, h / 3.0, k3);
    return cycle_moved(&n, h / 6.0, k4);
}

/* Sets the temperature to what the first law says for work and heat so far, from the energy at
 * inlet closing. Returns what was missing, J. */
SHV_INLINE double cycle_close_first_law(const struct cycle_content *q, const struct cgas_range *cu,
                                        const struct cgas_range *cd, double first_energy, double x,
                                        struct cycle_state *y, bool mixed)
{
    double t = y->t, inverse = 1.0 / t, log_t = shv_log(t);
    double gas_r = mixed ? q->unburned_r + x * q->change_r : q->unburned_r;
    double cp = cgas_cp_in(cu, t, inverse), h = cgas_h_in(cu, t, inverse, log_t);
    double cv = (mixed ? cp + x * cgas_cp_in(cd, t, inverse) : cp) - gas_r;
    h = mixed ? h + x * cgas_h_in(cd, t, inverse, log_t) : h;
    double energy = q->mass * (h - gas_r * t);
    double released = mixed ? first_energy + q->release * x : first_energy;
    double missing = released - y->wall_heat - y->work - energy;
    y->t += missing / (q->mass * cv);
    return fabs(missing);
}

/* ---- end gas ---- */

SHV_INLINE double cycle_entropy(const struct cgas *u, double t)
{
    struct cgas_range c = cgas_chosen(u, t);
    return cgas_s_in(&c, t, 1.0 / t, shv_log(t));
}

SHV_INLINE double cycle_cp(const struct cgas *u, double t)
{
    struct cgas_range c = cgas_chosen(u, t);
    return cgas_cp_in(&c, t, 1.0 / t);
}

/* Temperature on the isentrope at this pressure, and how fast its delay runs out. The start is good
 * to 1e-4, so two rounds of Newton reach rounding. */
SHV_INLINE void cycle_end_gas_to(struct cycle_end_gas *g, const struct cgas *u, double knock_factor,
                                 double pressure)
{
    double log_p = shv_log(pressure);
    double rise = u->r / cycle_cp(u, g->t) * (log_p - g->log_p);
    double target = g->entropy + u->r * log_p;
    double t = g->t * (1.0 + rise * (1.0 + 0.5 * rise));
    t -= t * (cycle_entropy(u, t) - target) / cycle_cp(u, t);
    t -= t * (cycle_entropy(u, t) - target) / cycle_cp(u, t);
    g->t = t;
    g->log_p = log_p;
    g->rate = knock_factor * shv_exp(KNOCK_PRESSURE_EXPONENT * log_p - KNOCK_TEMPERATURE / t);
}

SHV_INLINE struct cycle_end_gas cycle_end_gas_first(const struct cgas *u, double knock_factor,
                                                    double temperature, double pressure)
{
    struct cycle_end_gas g = {.t = temperature, .log_p = shv_log(pressure)};
    g.entropy = cycle_entropy(u, g.t) - u->r * g.log_p;
    cycle_end_gas_to(&g, u, knock_factor, pressure);
    return g;
}

/* What a step adds to the integral. Simpson's rule; pressure between the ends by the cubic through
 * values and slopes. */
SHV_INLINE double cycle_watch(struct cycle_end_gas *g, const struct cgas *u, double knock_factor,
                              double h, const struct cycle_slopes *from,
                              const struct cycle_slopes *to)
{
    double first = g->rate;
    cycle_end_gas_to(g, u, knock_factor,
                     0.5 * (from->pressure + to->pressure) +
                         0.125 * h * (from->pressure_slope - to->pressure_slope));
    double middle = g->rate;
    cycle_end_gas_to(g, u, knock_factor, to->pressure);
    return h * (1.0 / 6.0) * (first + 4.0 * middle + g->rate);
}

/* Maximum within a step, of the cubic through values and slopes, if slopes (per step) are d0 > 0 at
 * its begin and d1 < 0 at its end. Returns its share of the step. */
SHV_INLINE double cycle_peak_within(double from, double to, double d0, double d1, double *pressure)
{
    double rise = to - from;
    double a = 3.0 * (d0 + d1 - 2.0 * rise), b = 2.0 * (3.0 * rise - 2.0 * d0 - d1);
    /* Root of a s^2 + b s + d0 = 0 in 0..1, where the slope turns negative. */
    double s = -2.0 * d0 / (b - sqrt(b * b - 4.0 * a * d0));
    *pressure = from + s * (d0 + s * (0.5 * b + s * (1.0 / 3.0) * a));
    return s;
}

#endif
