/* Lookup in a cycle table (sheave/cycle_table.h) as short inline code without branches.
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

#include "model/elementary.h"
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

SHV_INLINE double cycle_slope(double before, double after)
{
    double least = 3.0 * shv_min(before, after), most = 3.0 * shv_max(before, after);
    double mean = 0.5 * (before + after);
    /* Of both caps one is 0 when the secants agree in sign, and both are when they don't. */
    return shv_max(shv_min(mean, shv_max(least, 0.0)), shv_min(most, 0.0));
}

/* Between v1 and v2, at the share s of the way. */
SHV_INLINE double cycle_cubic(double v0, double v1, double v2, double v3, double s)
{
    double d = v2 - v1;
    double m1 = cycle_slope(v1 - v0, d), m2 = cycle_slope(d, v3 - v2);
    double v = v1 + s * (m1 + s * ((3.0 * d - 2.0 * m1 - m2) + s * (m1 + m2 - 2.0 * d)));
    /* Against rounding only. */
    return shv_min(shv_max(v, shv_min(v1, v2)), shv_max(v1, v2));
}

SHV_INLINE double cycle_surface(const double *first, size_t row, struct cycle_spot p,
                                struct cycle_spot t)
{
    double v[4];
    for (size_t a = 0; a < 4; a++) {
        const double *n = first + a * row;
        v[a] = cycle_cubic(n[0], n[SHV_CYCLE_SURFACES], n[2 * SHV_CYCLE_SURFACES],
                           n[3 * SHV_CYCLE_SURFACES], t.share);
    }
    return cycle_cubic(v[0], v[1], v[2], v[3], p.share);
}

/* All fields of the 4 x 4 nodes around, first over phasing, then temperature, then pressure. */
SHV_INLINE void cycle_volume_at(const double *first, size_t row, size_t column, struct cycle_spot p,
                                struct cycle_spot t, struct cycle_spot c,
                                double value[SHV_CYCLE_FIELDS])
{
    const size_t F = SHV_CYCLE_FIELDS;
    double v[4][SHV_CYCLE_FIELDS];
    for (size_t a = 0; a < 4; a++) {
        double w[4][SHV_CYCLE_FIELDS];
        for (size_t b = 0; b < 4; b++) {
            const double *n = first + a * row + b * column;
            for (size_t k = 0; k < F; k++) {
                w[b][k] = cycle_cubic(n[k], n[F + k], n[2 * F + k], n[3 * F + k], c.share);
            }
        }
        for (size_t k = 0; k < F; k++) {
            v[a][k] = cycle_cubic(w[0][k], w[1][k], w[2][k], w[3][k], t.share);
        }
    }
    for (size_t k = 0; k < F; k++) {
        value[k] = cycle_cubic(v[0][k], v[1][k], v[2][k], v[3][k], p.share);
    }
}

/* Not a number if any of the 4 x 4 nodes around is none: a comparison would lose it. */
SHV_INLINE double cycle_sum(const double *first, size_t row)
{
    double sum = 0.0;
    for (size_t a = 0; a < 4; a++) {
        for (size_t b = 0; b < 4; b++) {
            sum += first[a * row + b * SHV_CYCLE_SURFACES];
        }
    }
    return sum;
}

SHV_INLINE struct shv_cycle_value cycle_lookup(const struct shv_cycle_table *table, size_t speed,
                                               double pm, double tm)
{
    const struct shv_cycle_axis *ap = &table->axis[SHV_CYCLE_PRESSURE],
                                *at = &table->axis[SHV_CYCLE_TEMPERATURE],
                                *ac = &table->axis[SHV_CYCLE_CA50];
    int within = (pm >= ap->least) & (pm <= ap->most) & (tm >= at->least) & (tm <= at->most) &
                 (speed < table->speed_count);
    double inside = within ? pm : ap->least; /* the logarithm wants a normal number */
    size_t at_speed = speed < table->speed_count ? speed : 0;
    struct cycle_spot p = cycle_spot_of(ap, shv_log(inside)), t = cycle_spot_of(at, tm);
    size_t nt = at->nodes + 2, node = (ac->nodes + 2) * SHV_CYCLE_FIELDS;
    size_t first = (at_speed * (ap->nodes + 2) + p.cell) * nt + t.cell;

    const double *s = table->surfaces + first * SHV_CYCLE_SURFACES;
    size_t row = nt * SHV_CYCLE_SURFACES;
    double sum = cycle_sum(s + CYCLE_UNCLAMPED, row);
    double unclamped = cycle_surface(s + CYCLE_UNCLAMPED, row, p, t);
    double motored = cycle_surface(s + CYCLE_MOTORED, row, p, t);
    double ca50 = shv_min(shv_max(unclamped, ac->least), ac->most);

    struct cycle_spot c = cycle_spot_of(ac, ca50);
    double v[SHV_CYCLE_FIELDS];
    cycle_volume_at(table->volumes + first * node + c.cell * SHV_CYCLE_FIELDS, nt * node, node, p,
                    t, c, v);
    int answered = sum == sum;
    double none = within & answered ? 0.0 : NAN;
    int outcome = unclamped > ac->most ? SHV_CYCLE_TABLE_KNOCK_LIMITED : SHV_CYCLE_TABLE_DONE;
    outcome = answered ? outcome : SHV_CYCLE_TABLE_NO_ANSWER;
    outcome = within ? outcome : SHV_CYCLE_TABLE_OUT_OF_RANGE;
    return (struct shv_cycle_value){
        .outcome = (enum shv_cycle_table_outcome)outcome,
        .gross_efficiency = v[CYCLE_EFFICIENCY] + none,
        .ca50 = ca50 + none,
        .unclamped_ca50 = unclamped + none,
        .peak_pressure = shv_exp(shv_max(v[CYCLE_FIRED], motored)) + none,
        .exhaust_temperature = v[CYCLE_EXHAUST] + none,
        .knock_integral = shv_exp(v[CYCLE_KNOCK]) + none,
    };
}

#endif
