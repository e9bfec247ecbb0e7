/* Lookup in a cycle table (sheave/cycle_table.h) as short inline code.
 *
 * Each direction in turn is interpolated by a cubic through the two nodes around, with slopes from
 * the mean of the neighbouring secants, held between 0 and three times the lesser secant and 0
 * where secants differ in sign. That box is sufficient for a cubic to be monotone between its nodes
 * (de Boor and Swartz 1977; Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17, 238-246; the same
 * filter as Hyman 1983, SIAM J. Sci. Stat. Comput. 4, 645-654). So no step leaves the interval of
 * its two nodes, and the result of all three stays between the least and the greatest of the eight
 * nodes around.
 */
#ifndef SHEAVE_MODEL_CYCLE_LOOKUP_H
#define SHEAVE_MODEL_CYCLE_LOOKUP_H

#include "model/path/elementary.h"
#include "sheave/cycle_table.h"

/* What a node holds. */
enum { CYCLE_UNCLAMPED, CYCLE_MOTORED }; /* deg; logarithm of the peak without fire, Pa */
enum { CYCLE_EFFICIENCY, CYCLE_FIRED, CYCLE_EXHAUST, CYCLE_KNOCK }; /* logarithms: fired, knock */

struct cycle_spot {
    size_t cell;
    double share; /* of the cell, 0..1 */
};

/* Cell and share of a value; what lies outside, or is no number, is moved to the edge. */
SHV_INLINE struct cycle_spot cycle_spot_of(const struct shv_cycle_axis *a, double x)
{
    double last = (double)(int)a->nodes - 1.0;
    double u = shv_min(shv_max((x - a->origin) * a->per_unit, 0.0), last);
    int cell = (int)shv_min(u, last - 1.0);
    return (struct cycle_spot){(size_t)cell, u - cell};
}

/* Between v1 and v2, at the share s of the way. Slopes are doubled here, and so are their caps: of
 * both caps one is 0 when the secants agree in sign, and both are when they don't. */
SHV_INLINE double cycle_slope2(double before, double after)
{
    double least = shv_min(before, after), most = shv_max(before, after);
    return shv_max(shv_min(before + after, shv_max(6.0 * least, 0.0)), shv_min(6.0 * most, 0.0));
}

SHV_INLINE double cycle_cubic(double v0, double v1, double v2, double v3, double s, double half)
{
    double d = v2 - v1, twice = d + d;
    double m1 = cycle_slope2(v1 - v0, d), m2 = cycle_slope2(d, v3 - v2);
    double bend = m1 + m2 - (twice + twice);
    double v = v1 + half * (m1 + s * ((twice - m1 - bend) + s * bend));
    /* Against rounding only. */
    return shv_min(shv_max(v, shv_min(v1, v2)), shv_max(v1, v2));
}

/* Numbers next to each other that are interpolated alike, each between four rows: short loops
 * without branches, which the compiler makes vectors of. */
SHV_INLINE void cycle_cubics(const double *v0, const double *v1, const double *v2, const double *v3,
                             size_t count, double s, double *value)
{
    double half = 0.5 * s;
#pragma omp simd
    for (size_t k = 0; k < count; k++) {
        value[k] = cycle_cubic(v0[k], v1[k], v2[k], v3[k], s, half);
    }
}

/* Both surfaces at the 4 x 4 nodes around, first over temperature, then pressure. Returns a sum
 * that is not a number if any of the nodes holds none: comparisons would lose it. */
SHV_INLINE double cycle_surfaces_at(const double *first, size_t row, struct cycle_spot p,
                                    struct cycle_spot t, double value[SHV_CYCLE_SURFACES])
{
    const size_t F = SHV_CYCLE_SURFACES;
    double n[4][4][SHV_CYCLE_SURFACES]; /* over temperature, pressure, surface */
    double v[4][SHV_CYCLE_SURFACES];
    for (size_t b = 0; b < 4; b++) {
        for (size_t a = 0; a < 4; a++) {
            for (size_t k = 0; k < F; k++) {
                n[b][a][k] = first[a * row + b * F + k];
            }
        }
    }
    cycle_cubics(n[0][0], n[1][0], n[2][0], n[3][0], 4 * F, t.share, v[0]);
    cycle_cubics(v[0], v[1], v[2], v[3], F, p.share, value);
    double sum = 0.0;
    for (size_t a = 0; a < 4; a++) {
        sum += (n[0][a][0] + n[1][a][0]) + (n[2][a][0] + n[3][a][0]);
    }
    return sum;
}

/* Numbers next to each other of the 4 x 4 nodes around, first over temperature, then pressure. */
SHV_INLINE void cycle_plane_at(const double *first, size_t row, size_t column, struct cycle_spot p,
                               struct cycle_spot t, size_t count, double *value)
{
    double v[4][4 * SHV_CYCLE_FIELDS];
    for (size_t a = 0; a < 4; a++) {
        const double *n = first + a * row;
        cycle_cubics(n, n + column, n + 2 * column, n + 3 * column, count, t.share, v[a]);
    }
    cycle_cubics(v[0], v[1], v[2], v[3], count, p.share, value);
}

/* All fields, over phasing last: the four phasings around lie next to each other in a node, so the
 * longer part of the work runs over whole vectors of them. Without knock, and at the limit, the
 * phasing is one of the table itself: a branch that leaves out most of the work, not a bit of the
 * answer. */
SHV_INLINE void cycle_volume_at(const double *first, size_t row, size_t column, struct cycle_spot p,
                                struct cycle_spot t, struct cycle_spot c,
                                double value[SHV_CYCLE_FIELDS])
{
    const size_t F = SHV_CYCLE_FIELDS;
    if (c.share == 0.0 || c.share == 1.0) {
        const double *exact = first + (c.share == 0.0 ? F : 2 * F);
        cycle_plane_at(exact, row, column, p, t, F, value);
        return;
    }
    double v[4 * SHV_CYCLE_FIELDS];
    cycle_plane_at(first, row, column, p, t, 4 * F, v);
    cycle_cubics(v, v + F, v + 2 * F, v + 3 * F, F, c.share, value);
}

/* What a lookup finds, before the exponentials. NAN without an answer. */
struct cycle_found {
    enum shv_cycle_table_outcome outcome;
    double gross_efficiency, ca50, unclamped_ca50, wanted_ca50, log_peak, exhaust_temperature;
    double log_knock;
};

/* Logarithm of a manifold pressure, of the least one when it is outside: a normal number. */
SHV_INLINE double cycle_log_pressure(const struct shv_cycle_axis *axis, double pm)
{
    int within = (pm >= axis->least) & (pm <= axis->most);
    return shv_log(within ? pm : axis->least);
}

SHV_INLINE struct cycle_found cycle_find(const struct shv_cycle_table *table, size_t speed,
                                         double pm, double log_pm, double tm, double retard)
{
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE],
                                *at = &table->axis[SHV_CYCLE_TEMPERATURE],
                                *ac = &table->axis[SHV_CYCLE_CA50];
    int within = (pm >= ap->least) & (pm <= ap->most) & (tm >= at->least) & (tm <= at->most) &
                 (retard >= 0.0) & (speed < table->speed_count);
    size_t at_speed = speed < table->speed_count ? speed : 0;
    struct cycle_spot p = cycle_spot_of(ap, log_pm), t = cycle_spot_of(at, tm);
    size_t nt = at->nodes + 2, node = (ac->nodes + 2) * SHV_CYCLE_FIELDS;
    size_t first = (at_speed * (ap->nodes + 2) + p.cell) * nt + t.cell;

    const double *s = table->surfaces + first * SHV_CYCLE_SURFACES;
    size_t row = nt * SHV_CYCLE_SURFACES;
    double at_node[SHV_CYCLE_SURFACES];
    double sum = cycle_surfaces_at(s, row, p, t, at_node);
    double unclamped = at_node[CYCLE_UNCLAMPED], motored = at_node[CYCLE_MOTORED];
    double wanted = shv_max(unclamped + retard, ac->least);
    double ca50 = shv_min(wanted, ac->most);

    struct cycle_spot c = cycle_spot_of(ac, ca50);
    double v[SHV_CYCLE_FIELDS];
    cycle_volume_at(table->volumes + first * node + c.cell * SHV_CYCLE_FIELDS, nt * node, node, p,
                    t, c, v);
    int answered = sum == sum;
    double none = within & answered ? 0.0 : NAN;
    int outcome = wanted > ac->most ? SHV_CYCLE_TABLE_KNOCK_LIMITED : SHV_CYCLE_TABLE_DONE;
    outcome = answered ? outcome : SHV_CYCLE_TABLE_NO_ANSWER;
    outcome = within ? outcome : SHV_CYCLE_TABLE_OUT_OF_RANGE;
    return (struct cycle_found){
        .outcome = (enum shv_cycle_table_outcome)outcome,
        .gross_efficiency = v[CYCLE_EFFICIENCY] + none,
        .ca50 = ca50 + none,
        .unclamped_ca50 = unclamped + none,
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
    struct cycle_found f = cycle_find(table, speed, pm, log_pm, tm, retard);
    return (struct shv_cycle_value){
        .outcome = f.outcome,
        .gross_efficiency = f.gross_efficiency,
        .ca50 = f.ca50,
        .unclamped_ca50 = f.unclamped_ca50,
        .wanted_ca50 = f.wanted_ca50,
        .peak_pressure = shv_exp(f.log_peak),
        .exhaust_temperature = f.exhaust_temperature,
        .knock_integral = shv_exp(f.log_knock),
    };
}

#endif
