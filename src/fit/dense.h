/* Linear algebra of small dense matrices, rows first: a[i * columns + k]. */
#ifndef SHEAVE_FIT_DENSE_H
#define SHEAVE_FIT_DENSE_H

#include <stddef.h>

/* Least squares of |a x - b| by Householder reflections (Golub and Van Loan, Matrix Computations,
 * section 5.3). a [rows * columns] and b [rows] are overwritten, rows >= columns; x [columns]. A
 * column that depends on those before it gets 0. */
void dense_solve(double *a, double *b, size_t rows, size_t columns, double *x);

/* Singular values, falling, and right singular vectors by Jacobi rotations of the columns
 * (Hestenes, J. SIAM 6, 1958; Golub and Van Loan, section 8.6.3). a [rows * columns] is
 * overwritten; row k of v [columns * columns] becomes the vector of singular[k]. */
void dense_singular(double *a, size_t rows, size_t columns, double *singular, double *v);

#endif
