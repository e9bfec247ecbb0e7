/* Lookup in a cycle table (sheave/cycle_table.h) as short inline code: the cubic spline of its
 * nodes, kept as coefficients of uniform B-splines (cycle_spline.h), so that a value is a weighted
 * sum over the 4 x 4 x 4 coefficients around it. */
#ifndef SHEAVE_MODEL_CYCLE_LOOKUP_H
#define SHEAVE_MODEL_CYCLE_LOOKUP_H

#include "model/path/elementary.h"
#include "sheave/cycle_table.h"

/* What a node holds of each phasing. */
enum { CYCLE_EFFICIENCY, CYCLE_FIRED, CYCLE_EXHAUST, CYCLE_KNOCK }; /* logarithms: fired, knock */

struct cycle_spot {
    size_t cell;
    double weight[4]; /* of the coefficients of the cell's two nodes and of one more on each side */
};

/* Cell of a value, and weights there; what lies outside, or is no number, is moved to the edge. */
SHV_INLINE struct cycle_spot cycle_spot_of(const struct shv_cycle_axis *a, double x)
{
    double last = (double)(int)a->nodes - 1.0;
    double u = shv_min(shv_max((x - a->origin) * a->per_unit, 0.0), last);
    int cell = (int)shv_min(u, last - 1.0);
    double s = u - cell, r = 1.0 - s;
    return (struct cycle_spot){(size_t)cell,
                               {r * r * r * (1.0 / 6.0), 2.0 / 3.0 - s * s * (1.0 - 0.5 * s),
                                2.0 / 3.0 - r * r * (1.0 - 0.5 * r), s * s * s * (1.0 / 6.0)}};
}

/* Numbers next to each other that are weighted alike, each from four rows `row` numbers apart:
 * short loops without branches, which the compiler makes vectors of. */
SHV_INLINE void cycle_weigh(const double *first, size_t row, size_t count, const double w[4],
                            double *value)
{
#pragma omp simd
    for (size_t k = 0; k < count; k++) {
        const double *v = first + k;
        value[k] = (w[0] * v[0] + w[1] * v[row]) + (w[2] * v[2 * row] + w[3] * v[3 * row]);
    }
}

/* Where a state of the charge lies in a table. */
struct cycle_spots {
    struct cycle_spot p, t;
    const double *motored, *node; /* the first of the 4 x 4 nodes around */
    size_t row, column;           /* numbers from node to node over pressure and temperature */
};

SHV_INLINE struct cycle_spots cycle_spots_of(const struct shv_cycle_table *table, size_t speed,
                                             double log_pm, double tm)
{
    struct cycle_spots s = {
        .p = cycle_spot_of(&table->axis[SHV_CYCLE_PRESSURE], log_pm),
        .t = cycle_spot_of(&table->axis[SHV_CYCLE_TEMPERATURE], tm),
        .column = SHV_CYCLE_ROWS(table->axis[SHV_CYCLE_CA50].nodes) * SHV_CYCLE_FIELDS,
    };
    size_t np = table->axis[SHV_CYCLE_PRESSURE].nodes + 2;
    size_t nt = table->axis[SHV_CYCLE_TEMPERATURE].nodes + 2;
    size_t first = (speed * np + s.p.cell) * nt + s.t.cell;
    s.row = nt * s.column;
    s.node = table->volumes + first * s.column;
    s.motored = table->motored + first;
    return s;
}

/* Not a number if any of the coefficients around is none. */
SHV_INLINE double cycle_motored_at(const struct shv_cycle_table *table, const struct cycle_spots *s)
{
    double v[4], value;
    cycle_weigh(s->motored, table->axis[SHV_CYCLE_TEMPERATURE].nodes + 2, 4, s->p.weight, v);
    cycle_weigh(v, 1, 1, s->t.weight, &value);
    return value;
}

/* `count` numbers of the nodes from `first` on, first over temperature, then pressure. */
SHV_INLINE void cycle_plane_at(const struct cycle_spots *s, size_t first, size_t count,
                               double *value)
{
    double v[4 * 4 * SHV_CYCLE_FIELDS];
    for (size_t a = 0; a < 4; a++) {
        cycle_weigh(s->node + first + a * s->row, s->column, count, s->t.weight, v + a * count);
    }
    cycle_weigh(v, count, count, s->p.weight, value);
}

/* All fields at the best and at the last phasing, which the nodes have rows for. */
SHV_INLINE void cycle_best_at(const struct shv_cycle_table *table, const struct cycle_spots *s,
                              double value[SHV_CYCLE_FIELDS])
{
    size_t row = table->axis[SHV_CYCLE_CA50].nodes + 2;
    cycle_plane_at(s, row * SHV_CYCLE_FIELDS, SHV_CYCLE_FIELDS, value);
}

SHV_INLINE void cycle_last_at(const struct shv_cycle_table *table, const struct cycle_spots *s,
                              double value[SHV_CYCLE_FIELDS])
{
    size_t row = table->axis[SHV_CYCLE_CA50].nodes + 3;
    cycle_plane_at(s, row * SHV_CYCLE_FIELDS, SHV_CYCLE_FIELDS, value);
}

/* What a state of the charge has between two phasings of the table. */
struct cycle_stretch {
    size_t cell;
    double v[4 * SHV_CYCLE_FIELDS]; /* coefficients */
};

SHV_INLINE void cycle_look_at(struct cycle_stretch *a, const struct cycle_spots *s, size_t cell)
{
    a->cell = cell;
    cycle_plane_at(s, cell * SHV_CYCLE_FIELDS, 4 * SHV_CYCLE_FIELDS, a->v);
}

/* ---- the phasing that is wanted ---- */

/* What is asked of the phasing. */
struct cycle_wish {
    double retard;   /* deg later than knock asks for */
    double delay;    /* logarithm of the factor on the delay of ignition */
    double log_peak; /* of the peak pressure that the phasing gives way to; INFINITY: of none */
};

/* Least fall of the knock integral's logarithm, 1/deg, and greatest distance, deg, where they only
 * say how far beyond the last phasing. */
#define CYCLE_FALL_LEAST 4e-3
#define CYCLE_FAR 400.0
/* Steps of the search within a stretch, and share of it within which the phasing is found. */
#define CYCLE_STEPS_MOST 40
#define CYCLE_SHARE_FOUND 1e-12

/* A logarithm less what is allowed of it, over a stretch: its value at both ends and a cubic
 * between. */
struct cycle_gap {
    double begin, end, rise, bend, twist;
};

SHV_INLINE struct cycle_gap cycle_gap_of(const struct cycle_stretch *a, size_t field,
                                         double allowed)
{
    const size_t F = SHV_CYCLE_FIELDS;
    const double *y = a->v + field;
    return (struct cycle_gap){(y[0] + 4.0 * y[F] + y[2 * F]) * (1.0 / 6.0) - allowed,
                              (y[F] + 4.0 * y[2 * F] + y[3 * F]) * (1.0 / 6.0) - allowed,
                              0.5 * (y[2 * F] - y[0]), 0.5 * (y[2 * F] + y[0]) - y[F],
                              ((y[3 * F] - y[0]) + 3.0 * (y[F] - y[2 * F])) * (1.0 / 6.0)};
}

SHV_INLINE double cycle_gap_at(const struct cycle_gap *g, double share)
{
    return g->begin + share * (g->rise + share * (g->bend + share * g->twist));
}

/* Share of the stretch, from `low` on, at which the gap closes: above 0 at `low`, not at the end.
 * Newton's steps, halving where they leave what is left of it. */
SHV_INLINE double cycle_gap_closes(const struct cycle_gap *g, double low, double guess)
{
    double high = 1.0, s = shv_min(shv_max(guess, low), high);
    for (int k = 0; k < CYCLE_STEPS_MOST; k++) {
        double gap = cycle_gap_at(g, s);
        double slope = g->rise + s * (2.0 * g->bend + s * 3.0 * g->twist);
        low = gap > 0.0 ? s : low;
        high = gap > 0.0 ? high : s;
        double next = s - gap / slope;
        next = next >= low && next <= high ? next : 0.5 * (low + high);
        if (fabs(next - s) < CYCLE_SHARE_FOUND) {
            return next;
        }
        s = next;
    }
    return s;
}

/* The phasing at which the gap of a field closes between `early`, where it is `open` above 0, and
 * the last, where it is `closed`: begun where a straight line closes it, which is nearly it. */
SHV_INLINE double cycle_closing(const struct shv_cycle_axis *ac, const struct cycle_spots *s,
                                size_t field, double allowed, double early, double open,
                                double closed, struct cycle_stretch *a)
{
    double first = (early - ac->origin) * ac->per_unit, last = (double)(int)ac->nodes - 1.0;
    double u = first + (last - first) * open / (open - closed);
    int least = (int)shv_min(first, last - 1.0), most = (int)last - 1;
    int cell = (int)shv_min(u, last - 1.0);
    struct cycle_gap gap;
    double low;
    for (int moves = 0;; moves++) {
        cycle_look_at(a, s, (size_t)cell);
        gap = cycle_gap_of(a, field, allowed);
        low = cell == least ? first - cell : 0.0;
        bool before = cell > least && !(gap.begin > 0.0);
        bool after = cell < most && gap.end > 0.0;
        if ((!before && !after) || moves > most) {
            break;
        }
        cell += before ? -1 : 1;
    }
    double share = cycle_gap_closes(&gap, low, u - cell);
    return ac->origin + (cell + share) / ac->per_unit;
}

/* Beyond the last phasing, where `left` of the gap is open: on the tangent there. */
SHV_INLINE double cycle_beyond(const struct shv_cycle_axis *ac, const struct cycle_spots *s,
                               double left, struct cycle_stretch *a)
{
    cycle_look_at(a, s, ac->nodes - 2);
    struct cycle_gap g = cycle_gap_of(a, CYCLE_KNOCK, 0.0);
    double falls = -(g.rise + 2.0 * g.bend + 3.0 * g.twist) * ac->per_unit;
    return ac->most + shv_min(left / shv_max(falls, CYCLE_FALL_LEAST), CYCLE_FAR);
}

/* All fields at a phasing, with the stretch that was looked at last. */
SHV_INLINE void cycle_fields_at(const struct shv_cycle_axis *ac, const struct cycle_spots *s,
                                double ca50, struct cycle_stretch *a,
                                double value[SHV_CYCLE_FIELDS])
{
    struct cycle_spot spot = cycle_spot_of(ac, ca50);
    if (spot.cell != a->cell) {
        cycle_look_at(a, s, spot.cell);
    }
    cycle_weigh(a->v, SHV_CYCLE_FIELDS, SHV_CYCLE_FIELDS, spot.weight, value);
}

/* The phasing that knock and retard ask for, and all fields there, or at the last phasing if that
 * is earlier. */
SHV_INLINE double cycle_knock_phasing(const struct shv_cycle_table *table,
                                      const struct cycle_spots *s, double allowed, double retard,
                                      struct cycle_stretch *a, double value[SHV_CYCLE_FIELDS])
{
    const struct shv_cycle_axis *ac = &table->axis[SHV_CYCLE_CA50];
    double best = table->best_ca50, early = best, open;
    cycle_best_at(table, s, value);
    open = value[CYCLE_KNOCK] - allowed;
    if (retard > 0.0 && !(open > 0.0)) { /* else it knocks earlier too */
        early = shv_max(best - retard, ac->least);
        struct cycle_spot spot = cycle_spot_of(ac, early);
        cycle_look_at(a, s, spot.cell);
        cycle_weigh(a->v + CYCLE_KNOCK, SHV_CYCLE_FIELDS, 1, spot.weight, &open);
        open -= allowed;
    }
    if (!(open > 0.0)) {
        double free = shv_max(best, early + retard);
        if (best - retard < ac->least) { /* the phasings begin too late for so much retard */
            cycle_fields_at(ac, s, shv_min(free, ac->most), a, value);
        }
        return free;
    }
    double last[SHV_CYCLE_FIELDS];
    cycle_last_at(table, s, last);
    double left = last[CYCLE_KNOCK] - allowed;
    double closes = left > 0.0 ? cycle_beyond(ac, s, left, a)
                               : cycle_closing(ac, s, CYCLE_KNOCK, allowed, early, open, left, a);
    double wanted = closes + retard;
    if (wanted >= ac->most) {
        memcpy(value, last, sizeof last);
        return wanted;
    }
    cycle_fields_at(ac, s, wanted, a, value);
    return wanted;
}

/* From the phasing that knock asks for, which is before the last, to where the peak pressure is as
 * allowed, or to the last; peak pressure falls all the way. `value` goes with it. */
SHV_INLINE double cycle_pressure_phasing(const struct shv_cycle_axis *ac,
                                         const struct shv_cycle_table *table,
                                         const struct cycle_spots *s, double motored,
                                         double allowed, double from, struct cycle_stretch *a,
                                         double value[SHV_CYCLE_FIELDS])
{
    double last[SHV_CYCLE_FIELDS], open = value[CYCLE_FIRED] - allowed;
    cycle_last_at(table, s, last);
    double closed = last[CYCLE_FIRED] - allowed;
    if (motored > allowed || closed > 0.0 || !(open > 0.0)) {
        memcpy(value, last, sizeof last);
        return ac->most;
    }
    double ca50 = cycle_closing(ac, s, CYCLE_FIRED, allowed, from, open, closed, a);
    cycle_fields_at(ac, s, ca50, a, value);
    return ca50;
}

/* The phasing that is wanted, and all fields there, or at the last phasing if that is earlier. */
SHV_INLINE double cycle_phasing(const struct shv_cycle_table *table, const struct cycle_spots *s,
                                double motored, const struct cycle_wish *wish,
                                enum shv_phasing_by *by, double value[SHV_CYCLE_FIELDS])
{
    const struct shv_cycle_axis *ac = &table->axis[SHV_CYCLE_CA50];
    struct cycle_stretch a;
    a.cell = SIZE_MAX; /* nothing looked at */
    double knock =
        cycle_knock_phasing(table, s, table->log_allowed + wish->delay, wish->retard, &a, value);
    *by = knock > table->best_ca50 ? SHV_PHASING_BY_KNOCK : SHV_PHASING_BEST;
    if (!(shv_max(value[CYCLE_FIRED], motored) > wish->log_peak) || knock >= ac->most) {
        return knock;
    }
    *by = SHV_PHASING_BY_PRESSURE;
    return cycle_pressure_phasing(ac, table, s, motored, wish->log_peak, knock, &a, value);
}

/* What a lookup finds, before the exponentials. NAN without an answer. */
struct cycle_found {
    enum shv_cycle_table_outcome outcome;
    enum shv_phasing_by by;
    double gross_efficiency, ca50, wanted_ca50, log_peak, exhaust_temperature;
    double log_knock;
};

/* Logarithm of a manifold pressure, of the least one when it is outside: a normal number. */
SHV_INLINE double cycle_log_pressure(const struct shv_cycle_axis *axis, double pm)
{
    int within = (pm >= axis->least) & (pm <= axis->most);
    return shv_log(within ? pm : axis->least);
}

SHV_INLINE struct cycle_found cycle_find(const struct shv_cycle_table *table, size_t speed,
                                         double pm, double log_pm, double tm,
                                         const struct cycle_wish *wish)
{
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE],
                                *at = &table->axis[SHV_CYCLE_TEMPERATURE],
                                *ac = &table->axis[SHV_CYCLE_CA50];
    int within = (pm >= ap->least) & (pm <= ap->most) & (tm >= at->least) & (tm <= at->most) &
                 (wish->retard >= 0.0) & (speed < table->speed_count);
    struct cycle_spots s =
        cycle_spots_of(table, speed < table->speed_count ? speed : 0, log_pm, tm);
    double v[SHV_CYCLE_FIELDS], motored = cycle_motored_at(table, &s);
    int answered = motored == motored;
    enum shv_phasing_by by;
    double wanted = cycle_phasing(table, &s, motored, wish, &by, v);
    double ca50 = shv_min(wanted, ac->most);
    double none = within & answered ? 0.0 : NAN;
    int outcome = wanted > ac->most ? SHV_CYCLE_TABLE_KNOCK_LIMITED : SHV_CYCLE_TABLE_DONE;
    outcome = answered ? outcome : SHV_CYCLE_TABLE_NO_ANSWER;
    outcome = within ? outcome : SHV_CYCLE_TABLE_OUT_OF_RANGE;
    return (struct cycle_found){
        .outcome = (enum shv_cycle_table_outcome)outcome,
        .by = by,
        .gross_efficiency = v[CYCLE_EFFICIENCY] + none,
        .ca50 = ca50 + none,
        .wanted_ca50 = wanted + none,
        .log_peak = shv_max(v[CYCLE_FIRED], motored) + none,
        .exhaust_temperature = v[CYCLE_EXHAUST] + none,
        .log_knock = v[CYCLE_KNOCK] + none,
    };
}

SHV_INLINE struct shv_cycle_value cycle_lookup(const struct shv_cycle_table *table, size_t speed,
                                               double pm, double tm, double retard)
{
    double log_pm = cycle_log_pressure(&table->axis[SHV_CYCLE_PRESSURE], pm);
    const struct cycle_wish wish = {retard, 0.0, INFINITY};
    struct cycle_found f = cycle_find(table, speed, pm, log_pm, tm, &wish);
    return (struct shv_cycle_value){
        .outcome = f.outcome,
        .gross_efficiency = f.gross_efficiency,
        .ca50 = f.ca50,
        .wanted_ca50 = f.wanted_ca50,
        .peak_pressure = shv_exp(f.log_peak),
        .exhaust_temperature = f.exhaust_temperature,
        .knock_integral = shv_exp(f.log_knock),
    };
}

#endif
