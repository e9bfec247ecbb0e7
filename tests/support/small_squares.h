/* A least-squares problem made by hand with its rooms, for tests of the parts that solve it. */
#ifndef SHEAVE_TESTS_SUPPORT_SMALL_SQUARES_H
#define SHEAVE_TESTS_SUPPORT_SMALL_SQUARES_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "fit/least_squares_internal.h"

#define assert_within(value, expected, tolerance)                                                  \
    do {                                                                                           \
        double within_v = (value), within_e = (expected), within_t = (tolerance);                  \
        if (!(fabs(within_v - within_e) <= within_t)) {                                            \
            fail_msg("%s = %.17g is not %.17g within %g", #value, within_v, within_e, within_t);   \
        }                                                                                          \
    } while (0)

/* Fills everything but problem: scales, bounds in scales, rooms. */
static inline void squares_begin(struct ls *ls, const struct shv_least_squares_problem *problem,
                                 const double *scale, size_t steps)
{
    *ls = (struct ls){.problem = problem,
                      .n = problem->parameters,
                      .m = problem->residuals,
                      .rows = problem->residuals + problem->parameters,
                      .workers = 1,
                      .steps = steps};
    for (size_t k = 0; k < ls->n; k++) {
        ls->scale[k] = scale[k];
        ls->low[k] = problem->lower[k] / scale[k];
        ls->high[k] = problem->upper[k] / scale[k];
    }
    ls->room = calloc(2 * ls->n * ls->m, sizeof *ls->room);
    ls->work = calloc((ls->rows + ls->n) * ls->n + ls->rows + ls->n, sizeof *ls->work);
    assert_true(ls->room && ls->work);
}

static inline void squares_end(struct ls *ls)
{
    free(ls->room);
    free(ls->work);
}

#endif
