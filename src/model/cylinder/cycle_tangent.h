/* Differential of cycle_lookup.h: the change of what a table says for small changes of pressure,
 * temperature and retard, of the very cubics that the lookup uses. They meet at the nodes with one
 * value but two slopes; there the slope is that of the cell the lookup takes.
 * docs/model.md, appendix B. */
#ifndef SHEAVE_MODEL_CYCLE_TANGENT_H
#define SHEAVE_MODEL_CYCLE_TANGENT_H

#include "model/cylinder/cycle_lookup.h"
#include "model/path/path_tangent.h"

/* cycle_slope2 and the branch it takes. */
static inline double d_cycle_slope2(double before, double after, double dbefore, double dafter,
                                    uint64_t *piece)
{
    bool rises = before < after;
    double least = rises ? before : after, most = rises ? after : before;
    double dleast = rises ? dbefore : dafter, dmost = rises ? dafter : dbefore;
    double mean = before + after, dmean = dbefore + dafter;
    if (least <= 0.0 && most >= 0.0) {
        piece_note(piece, 0);
        return 0.0;
    }
    bool capped = least > 0.0 ? mean > 6.0 * least : mean < 6.0 * most;
    piece_note(piece, capped ? (rises ? 1 : 2) : 3);
    return !capped ? dmean : least > 0.0 ? 6.0 * dleast : 6.0 * dmost;
}

/* cycle_cubic with changes of its four numbers and of the share. */
static inline double d_cycle_cubic(const double v[4], const double dv[4], double s, double ds,
                                   uint64_t *piece)
{
    double d = v[2] - v[1], dd = dv[2] - dv[1], twice = d + d, dtwice = dd + dd;
    double before = v[1] - v[0], after = v[3] - v[2];
    double m1 = cycle_slope2(before, d), m2 = cycle_slope2(d, after);
    double dm1 = d_cycle_slope2(before, d, dv[1] - dv[0], dd, piece);
    double dm2 = d_cycle_slope2(d, after, dd, dv[3] - dv[2], piece);
    double bend = m1 + m2 - (twice + twice), dbend = dm1 + dm2 - (dtwice + dtwice);
    double turn = twice - m1 - bend, dturn = dtwice - dm1 - dbend;
    double sum = m1 + s * (turn + s * bend);
    double dsum = dm1 + ds * (turn + 2.0 * s * bend) + s * (dturn + s * dbend);
    return dv[1] + 0.5 * (ds * sum + s * dsum);
}

struct cycle_spot_change {
    struct cycle_spot at;
    double share; /* change of the share */
};

static inline struct cycle_spot_change d_cycle_spot(const struct shv_cycle_axis *a, double x,
                                                    double dx, uint64_t *piece)
{
    struct cycle_spot_change c = {.at = cycle_spot_of(a, x)};
    double u = (x - a->origin) * a->per_unit;
    bool outside = u < 0.0 || u > (double)a->nodes - 1.0;
    piece_note(piece, c.at.cell);
    piece_note(piece, outside);
    c.share = outside ? 0.0 : a->per_unit * dx;
    return c;
}

/* One number of the 4 x 4 nodes around, first over temperature, then pressure, and its change. */
static inline void d_cycle_plane(const double *first, size_t row, size_t column,
                                 const struct cycle_spot_change *p,
                                 const struct cycle_spot_change *t, double *value, double *change,
                                 uint64_t *piece)
{
    static const double still[4] = {0.0, 0.0, 0.0, 0.0};
    double v[4], d[4];
    for (size_t a = 0; a < 4; a++) {
        const double *n = first + a * row;
        const double over[4] = {n[0], n[column], n[2 * column], n[3 * column]};
        v[a] = cycle_cubic(over[0], over[1], over[2], over[3], t->at.share, 0.5 * t->at.share);
        d[a] = d_cycle_cubic(over, still, t->at.share, t->share, piece);
    }
    *value = cycle_cubic(v[0], v[1], v[2], v[3], p->at.share, 0.5 * p->at.share);
    *change = d_cycle_cubic(v, d, p->at.share, p->share, piece);
}

/* The same over phasing last. */
static inline double d_cycle_volume(const double *first, size_t row, size_t column,
                                    const struct cycle_spot_change *p,
                                    const struct cycle_spot_change *t,
                                    const struct cycle_spot_change *c, double *value,
                                    uint64_t *piece)
{
    const size_t F = SHV_CYCLE_FIELDS;
    double v[4], d[4];
    if (c->share == 0.0 && (c->at.share == 0.0 || c->at.share == 1.0)) {
        d_cycle_plane(first + (c->at.share == 0.0 ? F : 2 * F), row, column, p, t, value, d, piece);
        return d[0];
    }
    for (size_t k = 0; k < 4; k++) {
        d_cycle_plane(first + k * F, row, column, p, t, &v[k], &d[k], piece);
    }
    *value = cycle_cubic(v[0], v[1], v[2], v[3], c->at.share, 0.5 * c->at.share);
    return d_cycle_cubic(v, d, c->at.share, c->share, piece);
}

/* Changes of what cycle_lookup says; all 0 but NAN where it has no answer. */
static inline struct shv_cycle_value d_cycle_lookup(const struct shv_cycle_table *table,
                                                    size_t speed, double pm, double tm,
                                                    double retard, double dpm, double dtm,
                                                    double dretard, uint64_t *piece)
{
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE],
                                *at = &table->axis[SHV_CYCLE_TEMPERATURE],
                                *ac = &table->axis[SHV_CYCLE_CA50];
    struct shv_cycle_value d = {.outcome = SHV_CYCLE_TABLE_OUT_OF_RANGE};
    d.gross_efficiency = d.ca50 = d.unclamped_ca50 = d.wanted_ca50 = d.peak_pressure = NAN;
    d.exhaust_temperature = d.knock_integral = NAN;
    struct shv_cycle_value v = cycle_lookup(table, speed, pm, tm, retard);
    if (v.outcome != SHV_CYCLE_TABLE_DONE && v.outcome != SHV_CYCLE_TABLE_KNOCK_LIMITED) {
        return d;
    }
    struct cycle_spot_change p = d_cycle_spot(ap, shv_log(pm), dpm / pm, piece);
    struct cycle_spot_change t = d_cycle_spot(at, tm, dtm, piece);
    size_t nt = at->nodes + 2, node = (ac->nodes + 2) * SHV_CYCLE_FIELDS;
    size_t first = (speed * (ap->nodes + 2) + p.at.cell) * nt + t.at.cell;
    double surface[SHV_CYCLE_SURFACES], dsurface[SHV_CYCLE_SURFACES];
    for (size_t k = 0; k < SHV_CYCLE_SURFACES; k++) {
        d_cycle_plane(table->surfaces + first * SHV_CYCLE_SURFACES + k, nt * SHV_CYCLE_SURFACES,
                      SHV_CYCLE_SURFACES, &p, &t, &surface[k], &dsurface[k], piece);
    }
    bool early = v.unclamped_ca50 + retard<ac->least, late = v.wanted_ca50> ac->most;
    piece_note(piece, early ? 0 : late ? 1 : 2);
    d.outcome = v.outcome;
    d.unclamped_ca50 = dsurface[CYCLE_UNCLAMPED];
    d.wanted_ca50 = early ? 0.0 : d.unclamped_ca50 + dretard;
    d.ca50 = early || late ? 0.0 : d.wanted_ca50;
    struct cycle_spot_change c = d_cycle_spot(ac, v.ca50, d.ca50, piece);
    const double *volume = table->volumes + first * node + c.at.cell * SHV_CYCLE_FIELDS;
    double field[SHV_CYCLE_FIELDS], dfield[SHV_CYCLE_FIELDS];
    for (size_t k = 0; k < SHV_CYCLE_FIELDS; k++) {
        dfield[k] = d_cycle_volume(volume + k, nt * node, node, &p, &t, &c, &field[k], piece);
    }
    bool motored = surface[CYCLE_MOTORED] > field[CYCLE_FIRED];
    piece_note(piece, motored);
    d.gross_efficiency = dfield[CYCLE_EFFICIENCY];
    d.peak_pressure = v.peak_pressure * (motored ? dsurface[CYCLE_MOTORED] : dfield[CYCLE_FIRED]);
    d.exhaust_temperature = dfield[CYCLE_EXHAUST];
    d.knock_integral = v.knock_integral * dfield[CYCLE_KNOCK];
    return d;
}

#endif
