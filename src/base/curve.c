/* Monotone piecewise cubics: docs/model.md, appendix A. */
#include "sheave/curve.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static double inner_slope(double h0, double h1, double d0, double d1)
{
    if (d0 * d1 <= 0.0) {
        return 0.0;
    }
    double w0 = 2.0 * h1 + h0;
    double w1 = h1 + 2.0 * h0;
    return (w0 + w1) / (w0 / d0 + w1 / d1);
}

/* h0, d0 belong to the interval at the end, h1, d1 to its neighbour. */
static double end_slope(double h0, double h1, double d0, double d1)
{
    double slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if (slope * d0 <= 0.0) {
        return 0.0;
    }
    if (d0 * d1 <= 0.0 && fabs(slope) > 3.0 * fabs(d0)) {
        return 3.0 * d0;
    }
    return slope;
}

static double width(const struct shv_curve_table *t, size_t i)
{
    return t->x[i + 1] - t->x[i];
}

static double rise(const struct shv_curve_table *t, size_t i)
{
    return (t->y[i + 1] - t->y[i]) / width(t, i);
}

static void fill_slopes(struct shv_curve_table *t)
{
    size_t n = t->count;
    if (n == 1) {
        t->slope[0] = 0.0;
        return;
    }
    if (n == 2) {
        t->slope[0] = t->slope[1] = rise(t, 0);
        return;
    }
    for (size_t i = 1; i + 1 < n; i++) {
        t->slope[i] = inner_slope(width(t, i - 1), width(t, i), rise(t, i - 1), rise(t, i));
    }
    t->slope[0] = end_slope(width(t, 0), width(t, 1), rise(t, 0), rise(t, 1));
    t->slope[n - 1] = end_slope(width(t, n - 2), width(t, n - 3), rise(t, n - 2), rise(t, n - 3));
}

static enum shv_status check_points(size_t count, const double *x, const double *y,
                                    struct shv_message *message)
{
    if (count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "a curve needs at least one point");
    }
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(x[i]) || !isfinite(y[i])) {
            return shv_fail(message, SHV_BAD_INPUT, "point %zu of a curve is not finite", i + 1);
        }
        if (i > 0 && x[i] <= x[i - 1]) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "points of a curve must rise, but %.6g follows %.6g", x[i], x[i - 1]);
        }
    }
    return SHV_OK;
}

enum shv_status shv_curve_table_init(struct shv_curve_table *table, size_t count, const double *x,
                                     const double *y, struct shv_message *message)
{
    *table = (struct shv_curve_table){0};
    enum shv_status status = check_points(count, x, y, message);
    if (status != SHV_OK) {
        return status;
    }
    table->x = malloc(count * sizeof *table->x);
    table->y = malloc(count * sizeof *table->y);
    table->slope = malloc(count * sizeof *table->slope);
    if (!table->x || !table->y || !table->slope) {
        shv_curve_table_free(table);
        return shv_fail(message, SHV_NO_MEMORY, "out of memory for a curve of %zu points", count);
    }
    memcpy(table->x, x, count * sizeof *x);
    memcpy(table->y, y, count * sizeof *y);
    table->count = count;
    fill_slopes(table);
    return SHV_OK;
}

/* The interval that holds x, by bisection. */
static size_t interval_of(const struct shv_curve_table *t, double x)
{
    size_t low = 0, high = t->count - 1;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (x < t->x[middle]) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return low;
}

static struct shv_curve_cubic constant(double y, double least, double most)
{
    return (struct shv_curve_cubic){.width = 1.0, .c0 = y, .least = least, .most = most};
}

void shv_curve_table_cubic(const struct shv_curve_table *t, double x, struct shv_curve_cubic *c)
{
    size_t last = t->count - 1;
    if (t->count == 1) {
        *c = constant(t->y[0], -INFINITY, INFINITY);
    } else if (x < t->x[0]) {
        *c = constant(t->y[0], -INFINITY, t->x[0]);
    } else if (x >= t->x[last]) {
        *c = constant(t->y[last], t->x[last], INFINITY);
    } else {
        size_t i = interval_of(t, x);
        double d = rise(t, i), m0 = t->slope[i], m1 = t->slope[i + 1];
        *c = (struct shv_curve_cubic){.start = t->x[i],
                                      .width = width(t, i),
                                      .c0 = t->y[i],
                                      .c1 = m0,
                                      .c2 = 3.0 * d - 2.0 * m0 - m1,
                                      .c3 = m0 + m1 - 2.0 * d,
                                      .least = t->x[i],
                                      .most = t->x[i + 1]};
    }
}

double shv_curve_table_at(const struct shv_curve_table *t, double x)
{
    struct shv_curve_cubic c;
    shv_curve_table_cubic(t, x, &c);
    double s = (x - c.start) / c.width;
    return c.c0 + c.width * s * (c.c1 + s * (c.c2 + s * c.c3));
}

void shv_curve_table_free(struct shv_curve_table *table)
{
    free(table->x);
    free(table->y);
    free(table->slope);
    *table = (struct shv_curve_table){0};
}
