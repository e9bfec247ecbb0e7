/* Differentials of path.h and of what it stands on, line by line: for small changes of the inputs
 * the changes of the outputs, at a point whose values are known. docs/model.md, appendix B.
 *
 * Names: `d` before or a struct `d` is the change of what it is named after. A function that takes
 * a branch (a minimum, a choked nozzle, a cell of a map) notes which one in `piece`: two points
 * with the same notes lie on the same smooth piece of the model.
 */
#ifndef SHEAVE_MODEL_PATH_TANGENT_H
#define SHEAVE_MODEL_PATH_TANGENT_H

#include "model/path/path.h"

/* Adds what was decided to the notes (FNV-1a, Fowler, Noll and Vo, by whole numbers). */
static inline void piece_note(uint64_t *piece, uint64_t decision)
{
    *piece = (*piece ^ (decision + 1)) * 1099511628211u;
}

#define PIECE_START 14695981039346656037u

/* ---- gas.h ---- */

/* d cp / d T; 0 beyond the range, where cp is constant. */
static inline double gas_cp_slope(const struct shv_gas *g, double t)
{
    if (t <= SHV_GAS_T_MIN || t >= SHV_GAS_T_MAX) {
        return 0.0;
    }
    double inverse = 1.0 / t;
    return (-2.0 * g->b[0] * inverse - g->b[1]) * inverse * inverse +
           (g->b[3] + t * (2.0 * g->b[4] + t * (3.0 * g->b[5] + t * 4.0 * g->b[6])));
}

static inline double gas_gamma_slope(const struct shv_gas *g, double t)
{
    double rest = gas_cp(g, t) - g->isentropic_r;
    return -g->isentropic_r * gas_cp_slope(g, t) / (rest * rest);
}

/* gas_temperature_after from the change of the enthalpy reached. */
static inline double d_temperature_after(const struct shv_gas *g, double t, double dh)
{
    return dh / gas_cp(g, t);
}

/* gas_isentropic, which ended at t. */
static inline double d_isentropic(const struct shv_gas *g, double t, double t_start, double ratio,
                                  double dt_start, double dratio)
{
    double ds = gas_cp(g, t_start) / t_start * dt_start + g->isentropic_r * dratio / ratio;
    return t / gas_cp(g, t) * ds;
}

static inline double d_nozzle(double r, double gamma, double dr, double dgamma, uint64_t *piece)
{
    double inverse = 1.0 / gamma, power = (gamma - 1.0) * inverse;
    double dinverse = -dgamma * inverse * inverse, dpower = -dinverse;
    double critical_log = shv_log(2.0 / (gamma + 1.0)) / power;
    double log_r = shv_log(r), dlog = dr / r;
    bool choked = critical_log > log_r;
    piece_note(piece, choked);
    if (choked) {
        log_r = critical_log;
        dlog = (-dgamma / (gamma + 1.0) - critical_log * dpower) / power;
    }
    double root = shv_exp(log_r * inverse), part = shv_exp(log_r * power);
    double droot = root * (dlog * inverse + log_r * dinverse);
    double dpart = part * (dlog * power + log_r * dpower);
    double square = 2.0 / power * (1.0 - part);
    if (!(square > 0.0)) {
        return 0.0; /* no pressure across it: a kink */
    }
    double dsquare = -2.0 / power * dpart - square / power * dpower;
    return droot * sqrt(square) + 0.5 * root * dsquare / sqrt(square);
}

/* ---- effectiveness.h ---- */

static inline double d_counterflow(double n, double r, double dn, double dr)
{
    double gap = fabs(1.0 - r), e = shv_exp(-n * gap), num = -shv_expm1(-n * gap);
    if (gap < 1e-9) {
        return (dn - 0.5 * n * n * dr) / ((1.0 + n) * (1.0 + n));
    }
    double dgap = r < 1.0 ? -dr : dr, de = -e * (dn * gap + n * dgap);
    double least = shv_min(r, 1.0), dleast = r < 1.0 ? dr : 0.0;
    double den = gap + least * num;
    return (-de * den - num * (dgap + dleast * num - least * de)) / (den * den);
}

static inline double d_unmixed(double n, double r, double dn, double dr)
{
    bool swap = r > 1.0;
    double larger = swap ? r : 1.0, dlarger = swap ? dr : 0.0;
    double c = swap ? 1.0 / r : r, dc = swap ? -dr / (r * r) : dr;
    double units = n * larger, dlog = (dn * larger + n * dlarger) / units;
    double a = shv_pow(units, 0.22) / c, long_power = shv_pow(units, 0.78);
    double b = shv_exp(-c * long_power);
    double da = a * (0.22 * dlog - dc / c), db = -b * long_power * (dc + 0.78 * c * dlog);
    double x = shv_exp(a * (b - 1.0));
    return (-x * (da * (b - 1.0) + a * db) - (1.0 - x) * dlarger / larger) / larger;
}

static inline double d_two_streams(enum shv_cooler_arrangement arrangement, double n, double r,
                                   double dn, double dr)
{
    double e, y, dy;
    switch (arrangement) {
    case SHV_COOLER_COUNTERFLOW:
        return d_counterflow(n, r, dn, dr);
    case SHV_COOLER_PARALLEL:
        e = shv_exp(-n * (1.0 + r));
        return e * (dn + n * dr / (1.0 + r)) - (1.0 - e) * dr / ((1.0 + r) * (1.0 + r));
    case SHV_COOLER_CROSSFLOW_UNMIXED:
        return d_unmixed(n, r, dn, dr);
    case SHV_COOLER_CROSSFLOW_CHARGE_MIXED:
        e = shv_exp(-r * n);
        y = (1.0 - e) / r;
        dy = (e * (dr * n + r * dn) - y * dr) / r;
        return shv_exp(-y) * dy;
    case SHV_COOLER_CROSSFLOW_COOLANT_MIXED:
        y = 1.0 - shv_exp(-n);
        dy = shv_exp(-n) * dn;
        e = shv_exp(-r * y);
        return (e * (dr * y + r * dy) - (1.0 - e) / r * dr) / r;
    case SHV_COOLER_SINGLE_STREAM:
        break;
    }
    return shv_exp(-n) * dn;
}

static inline double d_effectiveness(enum shv_cooler_arrangement arrangement, double n, double r,
                                     double dn, double dr, uint64_t *piece)
{
    bool single = arrangement == SHV_COOLER_SINGLE_STREAM || r < 1e-9;
    piece_note(piece, single ? 0 : r < 1.0 ? 1 : 2);
    return single ? shv_exp(-n) * dn : d_two_streams(arrangement, n, r, dn, dr);
}

/* ---- path.h ---- */

/* Changes of what the path is run with; of `lane` those of rotor_speed, swept, fill_volume,
 * windage, ntu and drop_k are read. */
struct path_seed {
    double m_in, m, m_exhaust, p2, t1;
    struct path_lane lane;
};

/* d work_p1 of path_inlet_of. */
static inline double d_inlet_work(const struct path_shared *s, double t1, double dt1)
{
    double g1 = gas_gamma(&s->gas, t1) - 1.0, dg1 = gas_gamma_slope(&s->gas, t1) * dt1;
    double power = shv_pow(s->volume_ratio, g1);
    return (power * shv_log(s->volume_ratio) - (power - 1.0) / g1) / g1 * dg1;
}

static inline double d_inlet_pressure(const struct path_shared *s, double flow_in, double dflow_in,
                                      uint64_t *piece)
{
    bool held = !(s->p0 - s->intake_k * flow_in * flow_in > 0.1 * s->p0);
    piece_note(piece, held);
    return held ? 0.0 : -2.0 * s->intake_k * flow_in * dflow_in;
}

static inline void d_leakage(const struct path_shared *s, double p2, double dp2,
                             const struct path_out *o, struct path_out *d, uint64_t *piece)
{
    const struct shv_gas *g = &s->gas;
    bool touches = o->clearance <= 0.0, flat = o->p1 >= p2;
    piece_note(piece, touches);
    piece_note(piece, flat);
    d->clearance = touches ? 0.0 : -s->closing * d->t2;
    double r = flat ? 1.0 : o->p1 / p2, dr = flat ? 0.0 : (d->p1 - r * dp2) / p2;
    double gamma = gas_gamma(g, o->t2), psi = nozzle_function(r, gamma);
    double dpsi = d_nozzle(r, gamma, dr, gas_gamma_slope(g, o->t2) * d->t2, piece);
    double speed = s->area * p2 / sqrt(g->gas_constant * o->t2);
    d->leakage = speed * (d->clearance * psi + o->clearance * dpsi) +
                 o->leakage * (dp2 / p2 - 0.5 * d->t2 / o->t2);
}

static inline void d_filled(const struct path_out *o, double t1, double dt1, double dvolume,
                            struct path_out *d)
{
    d->filled = o->filled * (dvolume + d->p1 / o->p1 - dt1 / t1);
}

/* path_geometry; d->p1 is known. */
static inline void d_geometry(const struct path_shared *s, const struct path_lane *l,
                              const struct path_inlet *in, double m, double p2,
                              const struct path_seed *x, const struct path_out *o,
                              struct path_out *d, uint64_t *piece)
{
    const struct path_lane *dl = &x->lane;
    d->gas_power = dl->swept * (o->p1 * in->work_p1 + p2 / s->volume_ratio) +
                   l->swept * (d->p1 * in->work_p1 + o->p1 * d_inlet_work(s, in->t1, x->t1) +
                               x->p2 / s->volume_ratio);
    double power = o->gas_power + l->windage;
    double drise = s->kept_heat * (d->gas_power + dl->windage - power * x->m / m) / m;
    d->t2 = d_temperature_after(&s->gas, o->t2, gas_cp(&s->gas, in->t1) * x->t1 + drise);
    d_leakage(s, p2, x->p2, o, d, piece);
    d_filled(o, in->t1, x->t1, dl->fill_volume / l->fill_volume, d);
    d->blower_flow = d->filled - d->leakage;
}

/* Values of the map around a place, and their changes. */
struct map_change {
    struct map_value v, d;
};

static inline void map_cubic_slope(const struct map_cubic *c, double ratio, double *volumetric,
                                   double *isentropic)
{
    double s = (ratio - c->start) / c->width;
    *volumetric = c->v1 + s * (2.0 * c->v2 + s * 3.0 * c->v3);
    *isentropic = c->i1 + s * (2.0 * c->i2 + s * 3.0 * c->i3);
}

static inline struct map_change d_map(const struct shv_blower_map *map, double speed, double t1,
                                      double ratio, double dspeed, double dt1, double dratio,
                                      uint64_t *piece)
{
    struct map_place at = map_place_at(map, speed, t1);
    struct map_cell cell = map_cell_at(map, at.below, ratio);
    double low = map->line[at.below].corrected_speed;
    double high = map->line[at.below + 1].corrected_speed;
    double corrected = speed * sqrt(map->reference_temperature / t1);
    bool held = corrected < low || corrected > high;
    double dshare = held ? 0.0 : corrected * (dspeed / speed - 0.5 * dt1 / t1) / (high - low);
    double va, vb, ia, ib, sva, svb, sia, sib;
    piece_note(piece, at.below);
    piece_note(piece, held);
    piece_note(piece, shv_bits(cell.below.start));
    piece_note(piece, shv_bits(cell.above.start));
    map_cubic_value(&cell.below, ratio, &va, &ia);
    map_cubic_value(&cell.above, ratio, &vb, &ib);
    map_cubic_slope(&cell.below, ratio, &sva, &sia);
    map_cubic_slope(&cell.above, ratio, &svb, &sib);
    struct map_change c = {.v = map_cell_value(&cell.below, &cell.above, at.share, ratio)};
    c.d.volumetric_efficiency = (sva + at.share * (svb - sva)) * dratio + (vb - va) * dshare;
    c.d.isentropic_efficiency = (sia + at.share * (sib - sia)) * dratio + (ib - ia) * dshare;
    double measured = c.v.volumetric_efficiency, dmeasured = c.d.volumetric_efficiency;
    map_slip(&c.v, map->slip_added);
    /* map_slip: v' = v - s (1 - v) unless held, i' = i v' / v */
    bool least = !(measured - map->slip_added * (1.0 - measured) > shv_min(measured, 0.05));
    piece_note(piece, least);
    double factor = c.v.volumetric_efficiency / measured;
    c.d.volumetric_efficiency =
        least ? (measured < 0.05 ? dmeasured : 0.0) : (1.0 + map->slip_added) * dmeasured;
    double dfactor = (c.d.volumetric_efficiency - factor * dmeasured) / measured;
    c.d.isentropic_efficiency =
        c.d.isentropic_efficiency * factor + c.v.isentropic_efficiency / factor * dfactor;
    return c;
}

/* path_map; d->p1 is known. */
static inline void d_path_map(const struct path_shared *s, const struct path_lane *l,
                              const struct path_inlet *in, double m, double p2,
                              const struct path_seed *x, const struct path_out *o,
                              struct path_out *d, uint64_t *piece)
{
    const struct shv_gas *g = &s->gas;
    double ratio = p2 / o->p1, dratio = (x->p2 - ratio * d->p1) / o->p1;
    struct map_change c = d_map(&s->blower->map, l->rotor_speed, in->t1, ratio, x->lane.rotor_speed,
                                x->t1, dratio, piece);
    double isentropic = gas_isentropic(g, in->t1, ratio);
    double dh1 = gas_cp(g, in->t1) * x->t1;
    double dh = gas_cp(g, isentropic) * d_isentropic(g, isentropic, in->t1, ratio, x->t1, dratio);
    double work = o->gas_power / m;
    double dwork = (dh - dh1 - work * c.d.isentropic_efficiency) / c.v.isentropic_efficiency;
    d_filled(o, in->t1, x->t1,
             c.d.volumetric_efficiency / c.v.volumetric_efficiency + x->lane.swept / l->swept, d);
    d->leakage = d->clearance = 0.0;
    d->blower_flow = d->filled;
    d->gas_power = x->m * work + m * dwork;
    double drise = s->kept_heat * (dwork + (x->lane.windage - l->windage * x->m / m) / m);
    d->t2 = d_temperature_after(g, o->t2, dh1 + drise);
}

/* path_looped, of the fixed point its passes end at: drop + m e L (h2 - h(tm)) = e (t2 - source).
 */
static inline double d_looped(const struct path_shared *s, const struct path_lane *l, double m,
                              double dm, const struct path_out *o, const struct path_out *d)
{
    const struct shv_gas *g = &s->gas;
    double e = o->effectiveness, de = d->effectiveness;
    double k = m * e * l->loop, dk = (dm * e + m * de) * l->loop;
    double heat = gas_enthalpy(g, o->t2) - gas_enthalpy(g, o->tm);
    double right = de * (o->t2 - l->source) + e * d->t2;
    /* d drop = d t2 - d tm */
    double dtm =
        (d->t2 + dk * heat + k * gas_cp(g, o->t2) * d->t2 - right) / (1.0 + k * gas_cp(g, o->tm));
    return dtm;
}

static inline void d_cooler(const struct path_shared *s, const struct path_lane *l, double m,
                            double p2, const struct path_seed *x, const struct path_out *o,
                            struct path_out *d, uint64_t *piece)
{
    double off_rating = shv_exp(-l->ntu_exponent * shv_log(m * l->flow_inverse));
    double ntu = l->ntu * off_rating;
    double dntu = x->lane.ntu * off_rating - l->ntu_exponent * ntu * x->m / m;
    d->effectiveness = d_effectiveness(l->arrangement, ntu, m * l->capacity_inverse, dntu,
                                       x->m * l->capacity_inverse, piece);
    d->tm = d_looped(s, l, m, x->m, o, d);
    d->cooler_drop = x->lane.drop_k * m * m * s->gas.gas_constant * o->t2 / p2 +
                     o->cooler_drop * (2.0 * x->m / m + d->t2 / o->t2 - x->p2 / p2);
    d->pm = x->p2 - d->cooler_drop;
}

static inline void d_engine(const struct path_shared *s, double m_exhaust, double dm_exhaust,
                            const struct path_out *o, struct path_out *d)
{
    d->pe = 2.0 * s->exhaust_k * m_exhaust * dm_exhaust;
    double push = s->breathing.a * o->pm - s->breathing.b * o->pe;
    double dpush = s->breathing.a * d->pm - s->breathing.b * d->pe;
    double kept = s->breathing.kept;
    double dlog = -kept * d->tm / (kept * o->tm + s->breathing.added);
    d->engine_flow = o->engine_flow * (dpush / push + dlog);
}

/* path_run, whose answer is `o`. */
static inline void d_path(const struct path_shared *s, const struct path_lane *l,
                          const struct path_inlet *in, double m_in, double m, double m_exhaust,
                          double p2, const struct path_seed *x, const struct path_out *o,
                          struct path_out *d, uint64_t *piece)
{
    *d = (struct path_out){.p1 = d_inlet_pressure(s, m_in, x->m_in, piece)};
    if (s->is_map) {
        d_path_map(s, l, in, m, p2, x, o, d, piece);
    } else {
        d_geometry(s, l, in, m, p2, x, o, d, piece);
    }
    d_cooler(s, l, m, p2, x, o, d, piece);
    d_engine(s, m_exhaust, x->m_exhaust, o, d);
}

/* The open bypass: rotors without pressure across them, no cooler. */
static inline void d_open_path(const struct path_shared *s, const struct path_lane *l, double m,
                               const struct path_seed *x, const struct path_out *o,
                               struct path_out *d, uint64_t *piece)
{
    *d = (struct path_out){.p1 = d_inlet_pressure(s, m, x->m, piece)};
    double drise = s->kept_heat * (x->lane.windage - l->windage * x->m / m) / m;
    d->pm = d->p1;
    d->t2 = d->tm = d_temperature_after(&s->gas, o->tm, drise);
    d_engine(s, m, x->m, o, d);
    d->blower_flow = x->m;
}

#endif
