/* Time that passes. */
#ifndef SHEAVE_BASE_CLOCK_H
#define SHEAVE_BASE_CLOCK_H

#include <time.h>

/* s from some moment on; never set back. */
static inline double seconds_now(void)
{
    struct timespec t;
    return clock_gettime(CLOCK_MONOTONIC, &t) == 0 ? (double)t.tv_sec + 1e-9 * (double)t.tv_nsec
                                                   : 0.0;
}

#endif
