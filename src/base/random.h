/* splitmix64 (Steele, Lea and Flood, OOPSLA 2014): the same numbers on every machine. */
#ifndef SHEAVE_BASE_RANDOM_H
#define SHEAVE_BASE_RANDOM_H

#include <stdint.h>

#define RANDOM_STEP UINT64_C(0x9e3779b97f4a7c15)

/* Its output function alone: scatters bits, so that neighbours have nothing in common. */
static inline uint64_t random_scatter(uint64_t x)
{
    x = (x ^ (x >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    x = (x ^ (x >> 27)) * UINT64_C(0x94d049bb133111eb);
    return x ^ (x >> 31);
}

/* The next number of a state, which starts with any. */
static inline uint64_t random_next(uint64_t *state)
{
    *state += RANDOM_STEP;
    return random_scatter(*state);
}

/* A number in [0, 1). */
static inline double random_unit(uint64_t number)
{
    return (double)(number >> 11) * 0x1p-53;
}

#endif
