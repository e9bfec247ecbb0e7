/* Tables of y over x, interpolated without overshoot. */
#ifndef SHEAVE_CURVE_H
#define SHEAVE_CURVE_H

#include "sheave/status.h"

/* A monotone piecewise cubic through the points: Fritsch and Carlson, SIAM J. Numer. Anal. 17
 * (1980), with the weighted harmonic mean for inner slopes and the three-point end formula of
 * Fritsch and Butland (1984). Two points give a straight line, one a constant. */
struct shv_curve_table {
    size_t count;
    double *x;     /* ascending, owned */
    double *y;     /* owned */
    double *slope; /* dy/dx at each point, owned; filled by shv_curve_table_init */
};

/* Copies count >= 1 points and computes the slopes. Fails with SHV_BAD_INPUT when x does not rise
 * strictly or a value is not finite, SHV_NO_MEMORY. On failure the table is empty and freed. */
enum shv_status shv_curve_table_init(struct shv_curve_table *table, size_t count, const double *x,
                                     const double *y, struct shv_message *message);
/* The cubic of a table on the interval around x. */
struct shv_curve_cubic {
    double start, width;   /* s = (x - start) / width */
    double c0, c1, c2, c3; /* c0 + width s (c1 + s (c2 + s c3)) */
    double least, most;    /* good from least to below most */
};
/* Beyond the points it is constant; then `least` or `most` is infinite. */
void shv_curve_table_cubic(const struct shv_curve_table *table, double x,
                           struct shv_curve_cubic *cubic);
/* Value at x; outside the points the end value is kept (callers check the range first). */
double shv_curve_table_at(const struct shv_curve_table *table, double x);
/* Frees; safe on a zeroed struct. */
void shv_curve_table_free(struct shv_curve_table *table);

#endif
