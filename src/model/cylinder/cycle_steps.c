/* Integration of the closed cycle over crank angle: docs/model.md, sections 8.5 to 8.8.
 *
 * Runge-Kutta of fourth order for temperature, work and wall heat, with steps that begin and end
 * where the law of burning does. After each step the temperature is set to what the first law says,
 * so that errors of the step do not add up; the corrections are summed as a measure of how well the
 * step resolves the cycle.
 */
#include "model/cylinder/cycle_physics.h"

/* State and what has been met so far. */
struct run {
    const struct cycle *c;
    const struct cycle_charge *q;
    const struct shv_cycle_trace *trace;
    struct cycle_crank crank;
    struct cycle_walls walls;
    struct cycle_burning burning;
    struct cycle_content content;
    double start, end; /* deg, of burning */
    bool burns_now, fires;
    double start_volume;
    double energy; /* J at inlet closing */
    struct cycle_end_gas end_gas;
    double knock_factor;
    bool watched;
    struct cycle_state y;
    struct cycle_end out;
};

static void burned_at(const struct run *r, double angle, struct cycle_angle *s)
{
    double share = (angle - r->start) / r->out.duration;
    if (share <= 0.0) {
        return;
    }
    if (!r->burns_now) {
        s->burned = 1.0;
        return;
    }
    cycle_burned_at(&r->burning, r->out.duration, share, &s->burned, &s->burned_slope);
}

static struct cycle_angle angle_at(const struct run *r, double angle)
{
    struct cycle_angle s = {.place = cycle_place_of(&r->crank, angle)};
    if (r->fires) {
        burned_at(r, angle, &s);
        if (r->walls.factor > 0.0) {
            s.motored =
                shv_pow(r->start_volume / s.place.volume, r->c->in.engine->motored_exponent);
        }
    }
    return s;
}

static struct cycle_slopes slopes_at(const struct run *r, const struct cycle_angle *s, double t)
{
    return cycle_slopes_at(&r->walls, &r->content, cgas_at(&r->q->unburned, t),
                           cgas_at(&r->q->change, t), s, t, true, s->burned_slope > 0.0, r->fires,
                           r->walls.factor > 0.0);
}

/* ---- peak and trace ---- */

static void note_peak(struct run *r, double angle, double pressure)
{
    if (pressure > r->out.peak_pressure) {
        r->out.peak_pressure = pressure;
        r->out.peak_angle = angle;
    }
}

static void note_peak_between(struct run *r, double angle, double h,
                              const struct cycle_slopes *from, const struct cycle_slopes *to)
{
    note_peak(r, angle + h, to->pressure);
    double d0 = h * from->pressure_slope, d1 = h * to->pressure_slope, peak;
    if (d0 > 0.0 && d1 < 0.0) {
        double s = cycle_peak_within(from->pressure, to->pressure, d0, d1, &peak);
        note_peak(r, angle + s * h, peak);
    }
}

static void write_sample(const struct run *r, double angle, const struct cycle_angle *s,
                         double pressure)
{
    if (!r->trace) {
        return;
    }
    struct shv_cycle_sample sample = {
        .angle = angle,
        .volume = s->place.volume,
        .pressure = pressure,
        .temperature = r->y.t,
        .end_gas_temperature = r->watched ? r->end_gas.t : NAN,
        .burned = s->burned,
        .work = r->y.work,
        .wall_heat = r->y.wall_heat,
        .knock_integral = r->out.knock_integral,
    };
    r->trace->sample(r->trace->data, &sample);
}

/* ---- steps ---- */

static void close_first_law(struct run *r, const struct cycle_angle *s)
{
    const struct cgas *u = &r->q->unburned, *d = &r->q->change;
    r->out.drift += cycle_close_first_law(&r->content, cgas_at(u, r->y.t), cgas_at(d, r->y.t),
                                          r->energy, s->burned, &r->y, true);
}

static void step(struct run *r, double angle, double h, struct cycle_slopes *k1,
                 struct cycle_angle *to)
{
    struct cycle_angle middle = angle_at(r, angle + 0.5 * h);
    *to = angle_at(r, angle + h);
    double t = r->y.t;
    struct cycle_slopes k2 = slopes_at(r, &middle, t + 0.5 * h * k1->per_degree.t);
    struct cycle_slopes k3 = slopes_at(r, &middle, t + 0.5 * h * k2.per_degree.t);
    struct cycle_slopes k4 = slopes_at(r, to, t + h * k3.per_degree.t);
    r->y = cycle_kutta(&r->y, h, &k1->per_degree, &k2.per_degree, &k3.per_degree, &k4.per_degree);
    close_first_law(r, to);
    struct cycle_slopes next = slopes_at(r, to, r->y.t);
    note_peak_between(r, angle, h, k1, &next);
    r->out.peak_temperature = shv_max(r->out.peak_temperature, r->y.t);
    if (r->watched) {
        r->out.knock_integral +=
            cycle_watch(&r->end_gas, &r->q->unburned, r->knock_factor, h, k1, &next, false);
    }
    *k1 = next;
}

/* From `from` to `to` degrees in `count` equal steps. */
static void stretch(struct run *r, double from, double to, int count)
{
    struct cycle_angle at = angle_at(r, from);
    struct cycle_slopes k = slopes_at(r, &at, r->y.t);
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

static int step_count(const struct run *r, double length)
{
    return cycle_step_count(r->c->in.at->step, length);
}

static void begin(struct run *r)
{
    const struct cycle_charge *q = r->q;
    const struct cycle *c = r->c;
    r->energy = q->mass * cgas_energy(&q->unburned, q->temperature);
    r->content = (struct cycle_content){.mass = q->mass,
                                        .release = q->release,
                                        .unburned_r = q->unburned.r,
                                        .change_r = q->change.r,
                                        .burning_velocity = CYCLE_VELOCITY_BURNING * c->swept /
                                                            (q->mass * q->unburned.r)};
    r->y.t = r->out.peak_temperature = q->temperature;
    r->out.valid = true;
    r->out.peak_pressure = 0.0;
    note_peak(r, c->in.engine->inlet_closing, q->pressure);
    r->watched = true;
    double gain = cycle_octane_gain(c->octane_slope, c->in.fuel->rating_temperature, q->temperature,
                                    q->pressure);
    r->out.octane = c->octane * shv_exp(gain);
    r->knock_factor = c->knock_factor * shv_exp(-KNOCK_OCTANE_EXPONENT * gain);
    r->end_gas =
        cycle_end_gas_first(&q->unburned, r->knock_factor, q->temperature, q->pressure, false);
    struct cycle_angle s = angle_at(r, c->in.engine->inlet_closing);
    write_sample(r, c->in.engine->inlet_closing, &s, q->pressure);
}

static void compress(struct run *r)
{
    const struct shv_cycle_engine *e = r->c->in.engine;
    stretch(r, e->inlet_closing, r->start, step_count(r, -e->inlet_closing));
    r->start_volume = r->out.volume;
    r->content.start_pressure = r->out.pressure;
    r->fires = true;
}

static void burn(struct run *r)
{
    const struct cycle *c = r->c;
    double watched = r->start + c->watched_share * r->out.duration;
    double opening = c->in.engine->exhaust_opening;
    r->burns_now = true;
    stretch(r, r->start, shv_min(watched, opening), step_count(r, c->watched_share * c->duration));
    r->out.end_gas_temperature = r->end_gas.t;
    r->watched = false;
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
        stretch(r, r->end, opening, step_count(r, opening - CYCLE_USUAL_END));
    }
}

/* How long burning takes, and where it starts; false when that is not between the valves. */
static bool place_burning(struct run *r, double ca50)
{
    const struct cycle *c = r->c;
    const struct cycle_charge *q = r->q;
    double half = cycle_place_of(&r->crank, ca50).volume;
    double log_velocity =
        cycle_flame_at(&c->flame, c->in.engine->motored_exponent, q->temperature, q->pressure,
                       q->residual_share, shv_log(c->ivc_volume / half));
    bool relative = !isnan(c->log_reference);
    r->out.velocity = shv_exp(log_velocity);
    r->out.duration =
        relative ? cycle_duration_at(c->duration, log_velocity, c->log_reference) : c->duration;
    r->start = ca50 - c->half_share * r->out.duration;
    r->end = r->start + r->out.duration;
    return r->start > c->in.engine->inlet_closing && r->start < c->in.engine->exhaust_opening;
}

struct cycle_end cycle_steps(const struct cycle *c, const struct cycle_charge *charge, double ca50,
                             const struct shv_cycle_trace *trace)
{
    struct run r = {.c = c,
                    .q = charge,
                    .trace = trace,
                    .crank = cycle_crank_of(c->in.engine, c->clearance),
                    .walls = cycle_walls_of(c),
                    .burning = cycle_burning_of(c)};
    if (!place_burning(&r, ca50)) {
        return r.out;
    }
    begin(&r);
    compress(&r);
    burn(&r);
    expand(&r);
    r.out.temperature = r.y.t;
    r.out.work = r.y.work;
    r.out.wall_heat = r.y.wall_heat;
    return r.out;
}
