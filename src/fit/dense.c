/* Small dense matrices (dense.h). */
#include "fit/dense.h"

#include <float.h>
#include <math.h>
#include <stdbool.h>

#define MOST_SWEEPS 60

/* Size of column k from row `from` on. */
static double column_norm(const double *a, size_t rows, size_t columns, size_t from, size_t k)
{
    double sum = 0.0;
    for (size_t i = from; i < rows; i++) {
        sum += a[i * columns + k] * a[i * columns + k];
    }
    return sqrt(sum);
}

/* Reflects b along the vector that stands in column k from row k on; scaled by 2/|v|^2. */
static void reflect(const double *a, size_t rows, size_t columns, size_t k, double scale, double *b,
                    size_t stride)
{
    double dot = 0.0;
    for (size_t i = k; i < rows; i++) {
        dot += a[i * columns + k] * b[i * stride];
    }
    for (size_t i = k; i < rows; i++) {
        b[i * stride] -= scale * dot * a[i * columns + k];
    }
}

void dense_solve(double *a, double *b, size_t rows, size_t columns, double *x)
{
    for (size_t k = 0; k < columns; k++) {
        double whole = column_norm(a, rows, columns, 0, k);
        double norm = column_norm(a, rows, columns, k, k);
        /* The diagonal of R is kept in x until the end; 0 marks a dependent column. */
        x[k] = 0.0;
        if (!(norm > 16.0 * DBL_EPSILON * whole)) {
            continue;
        }
        double head = a[k * columns + k];
        double diagonal = head > 0.0 ? -norm : norm;
        a[k * columns + k] = head - diagonal;
        double scale = -1.0 / (diagonal * a[k * columns + k]);
        for (size_t j = k + 1; j < columns; j++) {
            reflect(a, rows, columns, k, scale, a + j, columns);
        }
        reflect(a, rows, columns, k, scale, b, 1);
        x[k] = diagonal;
    }
    for (size_t k = columns; k-- > 0;) {
        double diagonal = x[k], sum = b[k];
        for (size_t j = k + 1; j < columns; j++) {
            sum -= a[k * columns + j] * x[j];
        }
        x[k] = diagonal == 0.0 ? 0.0 : sum / diagonal;
    }
}

/* Turns columns p and q of a matrix by an angle. */
static void rotate(double *a, size_t rows, size_t columns, size_t p, size_t q, double c, double s)
{
    for (size_t i = 0; i < rows; i++) {
        double x = a[i * columns + p], y = a[i * columns + q];
        a[i * columns + p] = c * x - s * y;
        a[i * columns + q] = s * x + c * y;
    }
}

/* Makes two columns perpendicular; false when they are. `v` has the vectors as columns. */
static bool turn(double *a, size_t rows, size_t columns, size_t p, size_t q, double *v)
{
    double pp = 0.0, qq = 0.0, pq = 0.0;
    for (size_t i = 0; i < rows; i++) {
        double x = a[i * columns + p], y = a[i * columns + q];
        pp += x * x;
        qq += y * y;
        pq += x * y;
    }
    if (!(fabs(pq) > DBL_EPSILON * sqrt(pp * qq))) {
        return false;
    }
    double zeta = (qq - pp) / (2.0 * pq);
    double t = (zeta >= 0.0 ? 1.0 : -1.0) / (fabs(zeta) + sqrt(1.0 + zeta * zeta));
    double c = 1.0 / sqrt(1.0 + t * t), s = c * t;
    rotate(a, rows, columns, p, q, c, s);
    rotate(v, columns, columns, p, q, c, s);
    return true;
}

static void exchange(double *a, size_t rows, size_t columns, size_t p, size_t q)
{
    for (size_t i = 0; i < rows; i++) {
        double x = a[i * columns + p];
        a[i * columns + p] = a[i * columns + q];
        a[i * columns + q] = x;
    }
}

static void transpose(double *v, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < i; j++) {
            double x = v[i * n + j];
            v[i * n + j] = v[j * n + i];
            v[j * n + i] = x;
        }
    }
}

void dense_singular(double *a, size_t rows, size_t columns, double *singular, double *v)
{
    for (size_t i = 0; i < columns * columns; i++) {
        v[i] = i % (columns + 1) == 0 ? 1.0 : 0.0;
    }
    bool turned = true;
    for (int sweep = 0; sweep < MOST_SWEEPS && turned; sweep++) {
        turned = false;
        for (size_t p = 0; p + 1 < columns; p++) {
            for (size_t q = p + 1; q < columns; q++) {
                turned = turn(a, rows, columns, p, q, v) || turned;
            }
        }
    }
    for (size_t k = 0; k < columns; k++) {
        singular[k] = column_norm(a, rows, columns, 0, k);
    }
    for (size_t k = 0; k < columns; k++) {
        size_t best = k;
        for (size_t j = k + 1; j < columns; j++) {
            best = singular[j] > singular[best] ? j : best;
        }
        double largest = singular[best];
        singular[best] = singular[k];
        singular[k] = largest;
        if (best != k) {
            exchange(v, columns, columns, k, best);
        }
    }
    transpose(v, columns);
}
