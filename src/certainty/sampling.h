/* Points of low discrepancy in the unit cube, several times over, each time randomised anew, so
 * that the scatter between the repetitions tells the sampling error.
 *
 * Sobol's sequence in Gray code order (Antonov and Saleev 1979) with the direction numbers
 * new-joe-kuo-6 of Joe and Kuo, SIAM J. Sci. Comput. 30 (2008) 2635-2654; randomised by a random
 * linear matrix scramble with a digital shift (Matousek, J. Complexity 14 (1998) 527-556), which
 * keeps the net property and makes every point uniform. Random bits from splitmix64 (Steele, Lea
 * and Flood, OOPSLA 2014). The same seed gives the same points on every machine.
 */
#ifndef SHEAVE_CERTAINTY_SAMPLING_H
#define SHEAVE_CERTAINTY_SAMPLING_H

#include <stddef.h>
#include <stdint.h>

#define SAMPLING_DIMENSIONS 21
#define SAMPLING_REPETITIONS 16
#define SAMPLING_BITS 32

struct sampling {
    size_t dimensions;
    uint32_t direction[SAMPLING_REPETITIONS][SAMPLING_DIMENSIONS][SAMPLING_BITS];
    uint32_t shift[SAMPLING_REPETITIONS][SAMPLING_DIMENSIONS];
};

/* `dimensions` 1..SAMPLING_DIMENSIONS. */
void sampling_init(struct sampling *s, size_t dimensions, uint64_t seed);
/* Point `index` of a repetition, each coordinate in (0, 1): the middle of one of 2^32 cells. */
void sampling_point(const struct sampling *s, size_t repetition, uint32_t index, double *u);
/* The sequence itself, without randomisation, in [0, 1). */
void sampling_plain(size_t dimensions, uint32_t index, double *u);

#endif
