/* Cycles side by side, included once per instruction set with CYCLE_LANES_NAME and CYCLE_LANES_SET
 * defined, and once with CYCLE_ALONE for one cycle by itself, which keeps what the others have no
 * use for. Not a header to include elsewhere.
 *
 * Runge-Kutta of fourth order for temperature, work and wall heat, with steps that begin and end
 * where the law of burning does: docs/model.md, sections 8.5 to 8.8. After each step the
 * temperature is set to what the first law says, so that errors of the step do not add up; the
 * corrections are summed as a measure of how well the step resolves the cycle.
 *
 * Every loop over lanes is free of branches. What all lanes share is copied first: the compiler
 * then knows that storing to a lane does not change it. Bodies with structs of their own are inline
 * functions: declared in the loop itself, the compiler would make arrays of them.
 */
#include "model/cylinder/cycle_lanes.h"
#include "model/cylinder/cycle_physics.h"

#ifdef CYCLE_ALONE
#define ALONE true
#define LANES for (size_t i = 0; i < 1; i++)
#else
#define ALONE false
#define LANES for (size_t i = 0; i < CYCLE_LANES; i++)
#endif

/* What is met on the way. */
struct lanes {
    /* charge at inlet closing */
    double share[CYCLE_LANES], temperature[CYCLE_LANES], mass[CYCLE_LANES];
    double ivc_pressure[CYCLE_LANES], knock_factor[CYCLE_LANES];
    double fuel_mass[CYCLE_LANES], release[CYCLE_LANES];
    struct cycle_lane_gas unburned, change;
    /* burning */
    double duration[CYCLE_LANES];
    double start[CYCLE_LANES], end[CYCLE_LANES], watched[CYCLE_LANES];
    double all[CYCLE_LANES]; /* share burned when burning is over or cut off */
    double burning_velocity[CYCLE_LANES], start_volume[CYCLE_LANES], start_pressure[CYCLE_LANES];
    /* state */
    double energy[CYCLE_LANES], t[CYCLE_LANES], work[CYCLE_LANES], wall_heat[CYCLE_LANES];
    double burned[CYCLE_LANES], volume[CYCLE_LANES];
    /* stretch: where it begins, length of a step; slopes at the end of the last step */
    double from[CYCLE_LANES], h[CYCLE_LANES];
    double k_t[CYCLE_LANES], k_work[CYCLE_LANES], k_wall_heat[CYCLE_LANES];
    double pressure[CYCLE_LANES], pressure_slope[CYCLE_LANES];
    double last_pressure[CYCLE_LANES], last_slope[CYCLE_LANES];
    double rises[CYCLE_LANES], falls[CYCLE_LANES]; /* per step, at its begin and its end */
    /* end gas */
    double entropy[CYCLE_LANES], end_t[CYCLE_LANES], log_p[CYCLE_LANES], rate[CYCLE_LANES];
    /* Newton's rounds */
    double target[CYCLE_LANES], newton[CYCLE_LANES], open[CYCLE_LANES];
    struct cycle_lane_gas gas;
    struct shv_cycle_result *result;     /* of a cycle alone */
    const struct shv_cycle_trace *trace; /* likewise; NULL: none */
};

/* What all lanes share; see struct cycle and sheave/cycle.h. */
struct shared {
    struct cycle_crank crank;
    struct cycle_walls walls;
    struct cycle_burning burning;
    struct cycle_flame flame;
    double duration, log_reference; /* of burning */
    double half_share, watched_share, inlet_closing, exhaust_opening;
    double octane, octane_slope, rating_temperature, knock_factor, motored_exponent;
    double clearance, swept, ivc_volume, blowdown_share, heating_value;
};

static struct shared shared_of(const struct cycle *c)
{
    const struct shv_cycle_engine *e = c->in.engine;
    return (struct shared){
        .crank = cycle_crank_of(e, c->clearance),
        .walls = cycle_walls_of(c),
        .burning = cycle_burning_of(c),
        .flame = c->flame,
        .duration = c->duration,
        .log_reference = c->log_reference,
        .half_share = c->half_share,
        .watched_share = c->watched_share,
        .inlet_closing = e->inlet_closing,
        .exhaust_opening = e->exhaust_opening,
        .octane = c->octane,
        .octane_slope = c->octane_slope,
        .rating_temperature = c->in.fuel->rating_temperature,
        .knock_factor = c->knock_factor,
        .motored_exponent = e->motored_exponent,
        .clearance = c->clearance,
        .swept = c->swept,
        .ivc_volume = c->ivc_volume,
        .blowdown_share = e->blowdown_share,
        .heating_value = c->in.fuel->heating_value,
    };
}

/* ---- gases ---- */

SHV_INLINE struct cgas gas_of(const struct cycle_lane_gas *g, size_t i)
{
    return (struct cgas){
        .r = g->n[0][i],
        .low = {{g->n[1][i], g->n[2][i], g->n[3][i], g->n[4][i], g->n[5][i], g->n[6][i],
                 g->n[7][i]},
                g->n[8][i],
                g->n[9][i]},
        .high = {{g->n[10][i], g->n[11][i], g->n[12][i], g->n[13][i], g->n[14][i], g->n[15][i],
                  g->n[16][i]},
                 g->n[17][i],
                 g->n[18][i]},
    };
}

struct gas_numbers {
    double n[CYCLE_GAS_NUMBERS];
};

_Static_assert(sizeof(struct cgas) == sizeof(struct gas_numbers), "a gas is its numbers");

/* In the order of gas_of(), which is that of the struct. */
static struct gas_numbers numbers_of(const struct cgas *g)
{
    struct gas_numbers a;
    memcpy(&a, g, sizeof a);
    return a;
}

/* Unburned gas of each lane's share of residual gas. */
static void blend_unburned(struct lanes *l, const struct gas_numbers *fresh,
                           const struct gas_numbers *burned)
{
    for (size_t k = 0; k < CYCLE_GAS_NUMBERS; k++) {
        const double f = fresh->n[k], b = burned->n[k];
        double *n = l->unburned.n[k];
#pragma omp simd
        LANES
        {
            n[i] = (1.0 - l->share[i]) * f + l->share[i] * b;
        }
    }
}

static void blend_change(struct lanes *l, const struct gas_numbers *burned)
{
    for (size_t k = 0; k < CYCLE_GAS_NUMBERS; k++) {
        const double b = burned->n[k];
        const double *u = l->unburned.n[k];
        double *n = l->change.n[k];
#pragma omp simd
        LANES
        {
            n[i] = 1.0 * b + -1.0 * u[i];
        }
    }
}

/* At exhaust opening, burned as far as it is. */
static void blend_end(struct lanes *l)
{
    for (size_t k = 0; k < CYCLE_GAS_NUMBERS; k++) {
        const double *u = l->unburned.n[k], *d = l->change.n[k];
        double *n = l->gas.n[k];
#pragma omp simd
        LANES
        {
            n[i] = 1.0 * u[i] + l->burned[i] * d[i];
        }
    }
}

SHV_INLINE double held(double t)
{
    return shv_min(shv_max(t, CGAS_T_MIN), CGAS_T_MAX);
}

#define NEWTON_MOST 60
#define NEWTON_ENOUGH 1e-13

static bool any_open(const double open[CYCLE_LANES])
{
    double sum = 0.0;
    LANES
    {
        sum += open[i];
    }
    return sum > 0.0;
}

/* A lane that has met the end of its rounds stays as it is. */
SHV_INLINE void close_newton(struct lanes *l, size_t i, double next)
{
    bool was_open = l->open[i] > 0.0;
    double last = l->newton[i];
    l->newton[i] = was_open ? next : last;
    l->open[i] = was_open && !(fabs(next - last) <= NEWTON_ENOUGH * next) ? 1.0 : 0.0;
}

SHV_INLINE void temperature_round(struct lanes *l, const struct cycle_lane_gas *gas, size_t i)
{
    struct cgas g = gas_of(gas, i);
    double t = l->newton[i], inverse = 1.0 / t;
    struct cgas_range c = cgas_chosen(&g, t);
    double off = cgas_h_in(&c, t, inverse, shv_log(t)) - l->target[i];
    close_newton(l, i, held(t - off / cgas_cp_in(&c, t, inverse)));
}

/* From enthalpy `target` and a start in `newton`. */
static void temperatures_of(struct lanes *l, const struct cycle_lane_gas *gas)
{
#pragma omp simd
    LANES
    {
        l->newton[i] = held(l->newton[i]);
        l->open[i] = 1.0;
    }
    for (int round = 0; round < NEWTON_MOST && any_open(l->open); round++) {
#pragma omp simd
        LANES
        {
            temperature_round(l, gas, i);
        }
    }
}

SHV_INLINE void begin_expansion(struct lanes *l, const struct cycle_lane_in *in, size_t i)
{
    struct cgas g = gas_of(&l->gas, i);
    double change = g.r * shv_log(in->exhaust_pressure[i] / l->pressure[i]);
    l->target[i] = cycle_entropy(&g, l->t[i]) + change;
    l->newton[i] = held(l->t[i] * shv_exp(change / cycle_cp(&g, l->t[i])));
    l->open[i] = 1.0;
}

SHV_INLINE void expansion_round(struct lanes *l, size_t i)
{
    struct cgas g = gas_of(&l->gas, i);
    double t = l->newton[i];
    double off = cycle_entropy(&g, t) - l->target[i];
    close_newton(l, i, held(t * shv_exp(-off / cycle_cp(&g, t))));
}

/* Of `gas`, after an isentropic change from the state at exhaust opening to exhaust pressure, into
 * `newton` (Heywood 1988, section 5.4). */
static void expand_to_exhaust(struct lanes *l, const struct cycle_lane_in *in)
{
#pragma omp simd
    LANES
    {
        begin_expansion(l, in, i);
    }
    for (int round = 0; round < NEWTON_MOST && any_open(l->open); round++) {
#pragma omp simd
        LANES
        {
            expansion_round(l, i);
        }
    }
}

/* ---- charge at inlet closing ---- */

SHV_INLINE double enthalpy_of(const struct cgas *g, double t)
{
    struct cgas_range c = cgas_chosen(g, t);
    return cgas_h_in(&c, t, 1.0 / t, shv_log(t));
}

/* Share of residual gas, which fills the clearance volume at exhaust pressure (ideal cycle, Heywood
 * 1988, section 5.4), enthalpy, and where the search for the temperature starts. */
SHV_INLINE void mix_lane(struct lanes *l, const struct cgas *burned, double clearance, double given,
                         const struct cycle_lane_in *in, size_t i)
{
    double t = in->residual[i];
    double kept = in->exhaust_pressure[i] * clearance / (burned->r * t);
    double x = given >= 0.0 ? given : kept / (kept + in->fresh_mass[i]);
    l->share[i] = x;
    l->target[i] = (1.0 - x) * in->fresh_enthalpy[i] + x * enthalpy_of(burned, t);
    l->newton[i] = in->charge_temperature[i];
}

static void charge(struct lanes *l, const struct cycle *c, const struct cycle_lane_in *in,
                   struct cycle_lane_out *out)
{
    const struct gas_numbers fresh = numbers_of(&c->fresh), burned = numbers_of(&c->burned);
    const struct cgas burned_gas = c->burned;
    const double clearance = c->clearance, given = c->in.at->residual_share;
    const double ivc_volume = c->ivc_volume;
    const double fuel_in_fresh = c->fuel_in_fresh, heating_value = c->in.fuel->heating_value;
#pragma omp simd
    LANES
    {
        mix_lane(l, &burned_gas, clearance, given, in, i);
    }
    blend_unburned(l, &fresh, &burned);
    temperatures_of(l, &l->unburned);
    blend_change(l, &burned);
#pragma omp simd
    LANES
    {
        double t = l->newton[i];
        l->temperature[i] = t;
        l->mass[i] = in->fresh_mass[i] / (1.0 - l->share[i]);
        l->ivc_pressure[i] = l->mass[i] * l->unburned.n[0][i] * t / ivc_volume;
        bool fits = l->share[i] < CYCLE_RESIDUAL_MOST && t > CGAS_T_MIN && t < CGAS_T_SPLIT;
        out->valid[i] = fits ? 1.0 : 0.0;
        l->fuel_mass[i] = in->fresh_mass[i] * fuel_in_fresh;
        l->release[i] = in->efficiency[i] * l->fuel_mass[i] * heating_value;
    }
}

/* ---- steps ---- */

/* What holds for a stretch of steps. */
struct lane_part {
    bool mixed, burns, fires, watched;
};

SHV_INLINE struct cycle_content content_of(const struct lanes *l, size_t i)
{
    return (struct cycle_content){l->mass[i],        l->release[i],          l->unburned.n[0][i],
                                  l->change.n[0][i], l->burning_velocity[i], l->start_pressure[i]};
}

SHV_INLINE struct cycle_angle lane_angle(const struct lanes *l, const struct shared *s,
                                         struct lane_part part, size_t i, double angle)
{
    struct cycle_angle a = {.place = cycle_place_of(&s->crank, angle)};
    if (part.burns) {
        double share = (angle - l->start[i]) / l->duration[i];
        bool begun = share > 0.0;
        double burned, slope;
        cycle_burned_at(&s->burning, l->duration[i], begun ? share : 1.0, &burned, &slope);
        a.burned = begun ? burned : 0.0;
        a.burned_slope = begun ? slope : 0.0;
    } else if (part.fires) {
        a.burned = l->all[i];
    }
    if (part.fires) {
        a.motored = shv_pow(l->start_volume[i] / a.place.volume, s->motored_exponent);
    }
    return a;
}

SHV_INLINE struct cycle_slopes lane_slopes(const struct shared *s, struct lane_part part,
                                           const struct cycle_content *q, const struct cgas *u,
                                           const struct cgas *d, const struct cycle_angle *a,
                                           double t)
{
    struct cgas_range cu = cgas_chosen(u, t), cd = cgas_chosen(d, t);
    return cycle_slopes_at(&s->walls, q, &cu, &cd, a, t, part.mixed, part.burns, part.fires);
}

SHV_INLINE void keep_slopes(struct lanes *l, size_t i, const struct cycle_slopes *k)
{
    l->k_t[i] = k->per_degree.t;
    l->k_work[i] = k->per_degree.work;
    l->k_wall_heat[i] = k->per_degree.wall_heat;
    l->pressure[i] = k->pressure;
    l->pressure_slope[i] = k->pressure_slope;
}

/* Slopes where a stretch begins. */
SHV_INLINE void begin_lane(struct lanes *l, const struct shared *s, struct lane_part part, size_t i)
{
    struct cycle_angle a = lane_angle(l, s, part, i, l->from[i]);
    struct cycle_content q = content_of(l, i);
    struct cgas u = gas_of(&l->unburned, i), d = gas_of(&l->change, i);
    struct cycle_slopes k = lane_slopes(s, part, &q, &u, &d, &a, l->t[i]);
    keep_slopes(l, i, &k);
    l->burned[i] = a.burned;
    l->volume[i] = a.place.volume;
}

SHV_INLINE void note_peak(struct cycle_lane_out *out, size_t i, bool there, double angle,
                          double pressure)
{
    bool higher = there && pressure > out->peak_pressure[i];
    out->peak_angle[i] = higher ? angle : out->peak_angle[i];
    out->peak_pressure[i] = higher ? pressure : out->peak_pressure[i];
}

SHV_INLINE void step_lane(struct lanes *l, struct cycle_lane_out *out, const struct shared *s,
                          struct lane_part part, double number, size_t i)
{
    double h = l->h[i], angle = l->from[i] + h * number;
    struct cycle_angle middle = lane_angle(l, s, part, i, angle + 0.5 * h);
    struct cycle_angle to = lane_angle(l, s, part, i, angle + h);
    struct cycle_content q = content_of(l, i);
    struct cgas u = gas_of(&l->unburned, i), d = gas_of(&l->change, i);
    struct cycle_state y = {l->t[i], l->work[i], l->wall_heat[i]};
    struct cycle_state k1 = {l->k_t[i], l->k_work[i], l->k_wall_heat[i]};
    double t = y.t;
    struct cycle_slopes k2 = lane_slopes(s, part, &q, &u, &d, &middle, t + 0.5 * h * k1.t);
    struct cycle_slopes k3 =
        lane_slopes(s, part, &q, &u, &d, &middle, t + 0.5 * h * k2.per_degree.t);
    struct cycle_slopes k4 = lane_slopes(s, part, &q, &u, &d, &to, t + h * k3.per_degree.t);
    y = cycle_kutta(&y, h, &k1, &k2.per_degree, &k3.per_degree, &k4.per_degree);
    struct cgas_range cu = cgas_chosen(&u, y.t), cd = cgas_chosen(&d, y.t);
    double missing = cycle_close_first_law(&q, &cu, &cd, l->energy[i], to.burned, &y, part.mixed);
    if (ALONE) {
        l->result->energy_drift += missing;
        l->result->peak_temperature = shv_max(l->result->peak_temperature, y.t);
    }
    struct cycle_slopes next = lane_slopes(s, part, &q, &u, &d, &to, y.t);
    l->rises[i] = h * l->pressure_slope[i];
    l->falls[i] = h * next.pressure_slope;
    l->last_pressure[i] = l->pressure[i];
    l->last_slope[i] = l->pressure_slope[i];
    keep_slopes(l, i, &next);
    l->t[i] = y.t;
    l->work[i] = y.work;
    l->wall_heat[i] = y.wall_heat;
    l->burned[i] = to.burned;
    l->volume[i] = to.place.volume;
    note_peak(out, i, true, angle + h, next.pressure);
    out->valid[i] = y.t > CGAS_T_MIN && y.t < CGAS_T_MAX ? out->valid[i] : 0.0;
}

/* Few steps hold the maximum of a lane. */
static void peaks_within(struct lanes *l, struct cycle_lane_out *out, double number)
{
    double there[CYCLE_LANES];
#pragma omp simd
    LANES
    {
        there[i] = l->rises[i] > 0.0 && l->falls[i] < 0.0 ? 1.0 : 0.0;
    }
    if (!any_open(there)) {
        return;
    }
#pragma omp simd
    LANES
    {
        double h = l->h[i], peak;
        double s =
            cycle_peak_within(l->last_pressure[i], l->pressure[i], l->rises[i], l->falls[i], &peak);
        note_peak(out, i, there[i] > 0.0, l->from[i] + h * number + s * h, peak);
    }
}

SHV_INLINE void watch_lane(struct lanes *l, struct cycle_lane_out *out, size_t i)
{
    struct cgas u = gas_of(&l->unburned, i);
    struct cycle_end_gas g = {l->entropy[i], l->end_t[i], l->log_p[i], l->rate[i]};
    struct cycle_slopes from = {{0.0, 0.0, 0.0}, l->last_pressure[i], l->last_slope[i]};
    struct cycle_slopes to = {{0.0, 0.0, 0.0}, l->pressure[i], l->pressure_slope[i]};
    out->knock_integral[i] += cycle_watch(&g, &u, l->knock_factor[i], l->h[i], &from, &to);
    l->end_t[i] = g.t;
    l->log_p[i] = g.log_p;
    l->rate[i] = g.rate;
}

static void watch(struct lanes *l, struct cycle_lane_out *out)
{
#pragma omp simd
    LANES
    {
        watch_lane(l, out, i);
    }
}

SHV_INLINE void write_sample(const struct lanes *l, const struct cycle_lane_out *out, double angle,
                             double end_t)
{
    const struct shv_cycle_trace *trace = l->trace;
    if (trace) {
        struct shv_cycle_sample sample = {.angle = angle,
                                          .volume = l->volume[0],
                                          .pressure = l->pressure[0],
                                          .temperature = l->t[0],
                                          .end_gas_temperature = end_t,
                                          .burned = l->burned[0],
                                          .work = l->work[0],
                                          .wall_heat = l->wall_heat[0],
                                          .knock_integral = out->knock_integral[0]};
        trace->sample(trace->data, &sample);
    }
}

/* A stretch from `from` to `to` in equal steps. */
SHV_INLINE void stretch(struct lanes *l, struct cycle_lane_out *out, const struct shared *shared,
                        struct lane_part part, const double from[CYCLE_LANES],
                        const double to[CYCLE_LANES], int count)
{
    const struct shared s = *shared;
    if (ALONE && !(from[0] < to[0])) {
        return;
    }
    LANES
    {
        l->from[i] = from[i];
        l->h[i] = (to[i] - from[i]) / count;
    }
#pragma omp simd
    LANES
    {
        begin_lane(l, &s, part, i);
    }
    for (int n = 0; n < count; n++) {
#pragma omp simd
        LANES
        {
            step_lane(l, out, &s, part, n, i);
        }
        peaks_within(l, out, n);
        if (part.watched) {
            watch(l, out);
        }
        if (ALONE) {
            write_sample(l, out, n + 1 < count ? l->from[0] + l->h[0] * (n + 1) : to[0],
                         part.watched ? l->end_t[0] : NAN);
        }
    }
}

static void compress(struct lanes *l, struct cycle_lane_out *out, const struct shared *s,
                     const double closing[CYCLE_LANES], int count)
{
    if (ALONE) {
        l->pressure[0] = l->ivc_pressure[0];
        l->volume[0] = s->ivc_volume;
        l->burned[0] = 0.0;
        write_sample(l, out, closing[0], l->end_t[0]);
    }
    stretch(l, out, s, (struct lane_part){.watched = true}, closing, l->start, count);
    LANES
    {
        l->start_volume[i] = l->volume[i];
        l->start_pressure[i] = l->pressure[i];
    }
}

static void burn_watched(struct lanes *l, struct cycle_lane_out *out, const struct shared *s,
                         int count)
{
    const struct lane_part part = {.mixed = true, .burns = true, .fires = true, .watched = true};
    stretch(l, out, s, part, l->start, l->watched, count);
    if (ALONE) {
        l->result->end_gas_temperature = l->end_t[0];
    }
}

static void burn_out(struct lanes *l, struct cycle_lane_out *out, const struct shared *s, int count)
{
    const struct lane_part part = {.mixed = true, .burns = true, .fires = true};
    stretch(l, out, s, part, l->watched, l->end, count);
}

static void expand(struct lanes *l, struct cycle_lane_out *out, const struct shared *s,
                   const double opening[CYCLE_LANES], int count)
{
    double t[CYCLE_LANES], pressure[CYCLE_LANES];
    LANES
    {
        l->all[i] = l->end[i] < opening[i] ? 1.0 : l->burned[i];
        t[i] = l->t[i];
        pressure[i] = l->pressure[i];
    }
    stretch(l, out, s, (struct lane_part){.mixed = true, .fires = true}, l->end, opening, count);
    /* Where the exhaust ended the burning nothing expands, not even by rounding. */
    LANES
    {
        bool expands = l->end[i] < opening[i];
        l->t[i] = expands ? l->t[i] : t[i];
        l->pressure[i] = expands ? l->pressure[i] : pressure[i];
    }
}

/* How long burning takes, and where it starts; a lane where that is not between the valves has no
 * answer and is moved to where it does no harm. */
SHV_INLINE void place_burning(struct lanes *l, const struct shared *s,
                              const struct cycle_lane_in *in, struct cycle_lane_out *out, size_t i)
{
    double half = cycle_place_of(&s->crank, in->ca50[i]).volume;
    double velocity =
        cycle_flame_at(&s->flame, s->motored_exponent, l->temperature[i], l->ivc_pressure[i],
                       l->share[i], shv_log(s->ivc_volume / half));
    double relative = cycle_duration_at(s->duration, velocity, s->log_reference);
    l->duration[i] = s->log_reference == s->log_reference ? relative : s->duration;
    if (ALONE) {
        l->result->burn_velocity = shv_exp(velocity);
    }
    double start = in->ca50[i] - s->half_share * l->duration[i];
    bool between = start > s->inlet_closing && start < s->exhaust_opening;
    out->valid[i] = between ? out->valid[i] : 0.0;
    start = between ? start : 0.5 * (s->inlet_closing + s->exhaust_opening);
    l->start[i] = start;
    l->end[i] = shv_min(start + l->duration[i], s->exhaust_opening);
    l->watched[i] = shv_min(start + s->watched_share * l->duration[i], s->exhaust_opening);
}

SHV_INLINE void first_lane(struct lanes *l, const struct shared *s, const struct cycle_lane_in *in,
                           struct cycle_lane_out *out, size_t i)
{
    struct cgas u = gas_of(&l->unburned, i);
    double t = l->temperature[i], p = l->ivc_pressure[i];
    place_burning(l, s, in, out, i);
    l->energy[i] = l->mass[i] * (enthalpy_of(&u, t) - u.r * t);
    l->burning_velocity[i] = CYCLE_VELOCITY_BURNING * s->swept / (l->mass[i] * u.r);
    l->t[i] = t;
    l->work[i] = l->wall_heat[i] = l->start_volume[i] = l->start_pressure[i] = 0.0;
    out->peak_pressure[i] = p;
    out->peak_angle[i] = s->inlet_closing;
    out->knock_integral[i] = 0.0;
    double gain = cycle_octane_gain(s->octane_slope, s->rating_temperature, t, p);
    l->knock_factor[i] = s->knock_factor * shv_exp(-KNOCK_OCTANE_EXPONENT * gain);
    if (ALONE) {
        l->result->octane = s->octane * shv_exp(gain);
        l->result->peak_temperature = t;
        l->result->energy_drift = 0.0;
    }
    struct cycle_end_gas g = cycle_end_gas_first(&u, l->knock_factor[i], t, p);
    l->entropy[i] = g.entropy;
    l->end_t[i] = g.t;
    l->log_p[i] = g.log_p;
    l->rate[i] = g.rate;
}

static void begin(struct lanes *l, const struct shared *shared, const struct cycle_lane_in *in,
                  struct cycle_lane_out *out)
{
    const struct shared s = *shared;
#pragma omp simd
    LANES
    {
        first_lane(l, &s, in, out, i);
    }
}

static void steps(struct lanes *l, const struct cycle *c, const struct shared *shared,
                  const struct cycle_lane_in *in, struct cycle_lane_out *out)
{
    const struct shv_cycle_engine *e = c->in.engine;
    double closing[CYCLE_LANES], opening[CYCLE_LANES], step_length = c->in.at->step;
    LANES
    {
        closing[i] = e->inlet_closing;
        opening[i] = e->exhaust_opening;
    }
    begin(l, shared, in, out);
    compress(l, out, shared, closing, cycle_step_count(step_length, -e->inlet_closing));
    burn_watched(l, out, shared, cycle_step_count(step_length, c->watched_share * c->duration));
    burn_out(l, out, shared, cycle_step_count(step_length, (1.0 - c->watched_share) * c->duration));
    expand(l, out, shared, opening,
           cycle_step_count(step_length, e->exhaust_opening - CYCLE_USUAL_END));
}

/* ---- results ---- */

/* Of a cycle alone, once it has come to exhaust opening. */
SHV_INLINE void keep_result(const struct lanes *l, double gross_work)
{
    struct shv_cycle_result *r = l->result;
    r->residual_share = l->share[0];
    r->ivc_pressure = l->ivc_pressure[0];
    r->ivc_temperature = l->temperature[0];
    r->trapped_mass = l->mass[0];
    r->fuel_mass = l->fuel_mass[0];
    r->heat_released = l->release[0] * l->burned[0];
    r->burn_duration = l->duration[0];
    r->evo_pressure = l->pressure[0];
    r->evo_temperature = l->t[0];
    r->closed_work = l->work[0];
    r->gross_work = gross_work;
    r->wall_heat = l->wall_heat[0];
}

/* Work between the valves, of the exhaust's blowing down and of what is pushed back before the
 * inlet closes. The exhaust's temperature by the energy balance from its opening to the end of its
 * stroke: what left carries the enthalpy that the gas in the cylinder has lost, less work (Heywood
 * 1988, section 6.5). */

SHV_INLINE void work_lane(struct lanes *l, const struct shared *s, const struct cycle_lane_in *in,
                          struct cycle_lane_out *out, size_t i)
{
    struct cgas g = gas_of(&l->gas, i);
    double pe = in->exhaust_pressure[i], tr = l->newton[i];
    double largest = s->clearance + s->swept;
    double blowdown = (pe + s->blowdown_share * (l->pressure[i] - pe)) * (largest - l->volume[i]);
    double work = l->work[i] + blowdown - l->ivc_pressure[i] * (largest - s->ivc_volume);
    double fuel_heat = l->fuel_mass[i] * s->heating_value;
    double kept = pe * s->clearance / (g.r * tr);
    double left = l->mass[i] - kept;
    double enthalpy = l->mass[i] * (enthalpy_of(&g, l->t[i]) - g.r * l->t[i]) -
                      kept * (enthalpy_of(&g, tr) - g.r * tr) - (blowdown - pe * s->swept);
    if (ALONE) {
        keep_result(l, work);
    }
    out->residual[i] = tr;
    out->gross_efficiency[i] = fuel_heat > 0.0 ? work / fuel_heat : NAN;
    l->target[i] = enthalpy / left;
    l->newton[i] = l->t[i];
}

static void finish(struct lanes *l, const struct shared *shared, const struct cycle_lane_in *in,
                   struct cycle_lane_out *out)
{
    const struct shared s = *shared;
    blend_end(l);
    expand_to_exhaust(l, in);
#pragma omp simd
    LANES
    {
        work_lane(l, &s, in, out, i);
    }
    temperatures_of(l, &l->gas);
    LANES
    {
        out->exhaust_temperature[i] = l->newton[i];
    }
}

static void run_with(const struct cycle *c, const struct cycle_lane_in *in,
                     struct cycle_lane_out *out, const struct shv_cycle_trace *trace,
                     struct shv_cycle_result *result)
{
    const struct shared s = shared_of(c);
    struct lanes l;
    l.trace = trace;
    l.result = result;
    charge(&l, c, in, out);
    steps(&l, c, &s, in, out);
    finish(&l, &s, in, out);
}

#ifdef CYCLE_ALONE
void cycle_alone(const struct cycle *c, const struct cycle_lane_in *in, struct cycle_lane_out *out,
                 const struct shv_cycle_trace *trace, struct shv_cycle_result *result)
{
    run_with(c, in, out, trace, result);
}
#else
static void run(const struct cycle *c, const struct cycle_lane_in *in, struct cycle_lane_out *out)
{
    run_with(c, in, out, NULL, NULL);
}

const struct cycle_lane_loops CYCLE_LANES_NAME = {CYCLE_LANES_SET, run};
#endif
