/* Splines of a cycle table: cycle_spline.h. */
#include "model/cylinder/cycle_spline.h"

#include <math.h>

#include "sheave/cycle_table.h"

/* Coefficients c of values f obey c[i-1] + 4 c[i] + c[i+1] = 6 f[i]. Not a knot: the fourth
 * difference of c round the node next to an end is 0, which with the three equations there leaves
 * 6 c = 8 f - f[before] - f[after] at that node. So a line falls into a tridiagonal system between
 * those two nodes, and what follows outside of them. */

static double next_to_end(double before, double here, double after)
{
    return (8.0 * here - before - after) / 6.0;
}

/* The nodes next to the ends get their coefficients; their values are put aside in the rows
 * outside. */
static void begin(double *v, size_t n, size_t w)
{
    double *low = v + 2 * w, *high = v + (n - 1) * w;
    const double *first_node = low - w, *before_high = high - w;
    for (size_t k = 0; k < w; k++) {
        double first = next_to_end(first_node[k], low[k], low[k + w]);
        double last = next_to_end(before_high[k], high[k], high[k + w]);
        v[k] = low[k];
        v[(n + 1) * w + k] = high[k];
        low[k] = first;
        high[k] = last;
    }
}

/* Rows 3..n - 2, with elimination's `pivot`. */
static void solve(double *v, size_t n, size_t w, const double *pivot)
{
    for (size_t i = 3; i + 1 < n; i++) {
        double *row = v + i * w, *before = row - w;
        for (size_t k = 0; k < w; k++) {
            double known = i + 2 == n ? row[k + w] : 0.0;
            row[k] = (6.0 * row[k] - before[k] - known) * pivot[i];
        }
    }
    for (size_t i = n - 3; i >= 3; i--) {
        double *row = v + i * w, *after = row + w;
        for (size_t k = 0; k < w; k++) {
            row[k] -= pivot[i] * after[k];
        }
    }
}

/* The end node and the row outside of it, `inward` numbers from row to row. */
static void finish(double *end, ptrdiff_t inward, size_t w)
{
    double *outside = end - inward, *next = end + inward, *third = next + inward;
    for (size_t k = 0; k < w; k++) {
        double value = end[k];
        end[k] = 6.0 * outside[k] - 4.0 * next[k] - third[k];
        outside[k] = 6.0 * value - 4.0 * end[k] - next[k];
    }
}

void cycle_spline(double *numbers, const struct cycle_lines *lines)
{
    size_t n = lines->nodes, w = lines->width;
    double pivot[SHV_CYCLE_TABLE_NODES_MOST + 1];
    pivot[2] = 0.0; /* the coefficient there is known */
    for (size_t i = 3; i <= n; i++) {
        pivot[i] = 1.0 / (4.0 - pivot[i - 1]);
    }
    for (size_t s = 0; s < lines->slices; s++) {
        double *v = numbers + s * lines->apart;
        begin(v, n, w);
        solve(v, n, w, pivot);
        finish(v + w, (ptrdiff_t)w, w);
        finish(v + n * w, -(ptrdiff_t)w, w);
    }
}

static double straight_on(double near, double far)
{
    return isnan(far) ? near : 2.0 * near - far;
}

static void carry_on_line(double *v, size_t n, ptrdiff_t w)
{
    double *row = v + w;
    for (size_t i = 1; i <= n; i++, row += w) {
        if (isnan(row[0]) && i > 1) {
            row[0] = straight_on(row[-w], i > 2 ? row[-2 * w] : NAN);
        }
    }
    for (size_t i = n; i >= 1; i--) {
        row -= w;
        if (isnan(row[0]) && i < n) {
            row[0] = straight_on(row[w], i + 1 < n ? row[2 * w] : NAN);
        }
    }
}

void cycle_carry_on(double *numbers, const struct cycle_lines *lines)
{
    for (size_t s = 0; s < lines->slices; s++) {
        for (size_t k = 0; k < lines->width; k++) {
            carry_on_line(numbers + s * lines->apart + k, lines->nodes, (ptrdiff_t)lines->width);
        }
    }
}
