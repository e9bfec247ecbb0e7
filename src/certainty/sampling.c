/* Randomised Sobol points (sampling.h). */
#include "certainty/sampling.h"

#include "base/random.h"

/* Degree and inner coefficients of the primitive polynomial, and the first direction numbers, of
 * dimensions 2 and up: the file new-joe-kuo-6 of Joe and Kuo. */
struct primitive {
    unsigned degree, inner;
    uint32_t first[7];
};

static const struct primitive primitives[SAMPLING_DIMENSIONS - 1] = {
    {1, 0, {1}},
    {2, 1, {1, 3}},
    {3, 1, {1, 3, 1}},
    {3, 2, {1, 1, 1}},
    {4, 1, {1, 1, 3, 3}},
    {4, 4, {1, 3, 5, 13}},
    {5, 2, {1, 1, 5, 5, 17}},
    {5, 4, {1, 1, 5, 5, 5}},
    {5, 7, {1, 1, 7, 11, 19}},
    {5, 11, {1, 1, 5, 1, 1}},
    {5, 13, {1, 1, 1, 3, 11}},
    {5, 14, {1, 3, 5, 5, 31}},
    {6, 1, {1, 3, 3, 9, 7, 49}},
    {6, 13, {1, 1, 1, 15, 21, 21}},
    {6, 16, {1, 3, 1, 13, 27, 49}},
    {6, 19, {1, 1, 1, 15, 7, 5}},
    {6, 22, {1, 3, 1, 15, 13, 25}},
    {6, 25, {1, 1, 5, 5, 19, 61}},
    {7, 1, {1, 3, 7, 11, 23, 15, 103}},
    {7, 4, {1, 3, 7, 13, 13, 15, 69}},
};

static void directions_of(size_t dimension, uint32_t v[SAMPLING_BITS])
{
    if (dimension == 0) {
        for (unsigned k = 0; k < SAMPLING_BITS; k++) {
            v[k] = UINT32_C(1) << (31 - k);
        }
        return;
    }
    const struct primitive *p = &primitives[dimension - 1];
    for (unsigned k = 0; k < SAMPLING_BITS; k++) {
        if (k < p->degree) {
            v[k] = p->first[k] << (31 - k);
            continue;
        }
        v[k] = v[k - p->degree] ^ (v[k - p->degree] >> p->degree);
        for (unsigned i = 1; i < p->degree; i++) {
            if (p->inner >> (p->degree - 1 - i) & 1u) {
                v[k] ^= v[k - i];
            }
        }
    }
}

static uint32_t parity(uint32_t x)
{
    x ^= x >> 16;
    x ^= x >> 8;
    x ^= x >> 4;
    x ^= x >> 2;
    x ^= x >> 1;
    return x & 1u;
}

/* Multiplies by a random lower triangular matrix of bits with ones on the diagonal. Bit 31 is the
 * first digit. */
static void scramble(uint32_t v[SAMPLING_BITS], uint64_t *state)
{
    uint32_t row[SAMPLING_BITS];
    for (unsigned k = 0; k < SAMPLING_BITS; k++) {
        uint32_t diagonal = UINT32_C(1) << (31 - k);
        uint32_t earlier = k == 0 ? 0 : ~(UINT32_C(0xffffffff) >> k);
        row[k] = diagonal | ((uint32_t)random_next(state) & earlier);
    }
    for (unsigned i = 0; i < SAMPLING_BITS; i++) {
        uint32_t mixed = 0;
        for (unsigned k = 0; k < SAMPLING_BITS; k++) {
            mixed |= parity(row[k] & v[i]) << (31 - k);
        }
        v[i] = mixed;
    }
}

void sampling_init(struct sampling *s, size_t dimensions, uint64_t seed)
{
    uint64_t state = seed;
    s->dimensions = dimensions;
    for (size_t r = 0; r < SAMPLING_REPETITIONS; r++) {
        for (size_t d = 0; d < dimensions; d++) {
            directions_of(d, s->direction[r][d]);
            scramble(s->direction[r][d], &state);
            s->shift[r][d] = (uint32_t)(random_next(&state) >> 32);
        }
    }
}

static uint32_t coordinate(const uint32_t v[SAMPLING_BITS], uint32_t index)
{
    uint32_t gray = index ^ (index >> 1), x = 0;
    for (unsigned k = 0; gray != 0; k++, gray >>= 1) {
        x ^= gray & 1u ? v[k] : 0;
    }
    return x;
}

void sampling_point(const struct sampling *s, size_t repetition, uint32_t index, double *u)
{
    for (size_t d = 0; d < s->dimensions; d++) {
        uint32_t x = coordinate(s->direction[repetition][d], index) ^ s->shift[repetition][d];
        u[d] = ((double)x + 0.5) / 4294967296.0;
    }
}

void sampling_plain(size_t dimensions, uint32_t index, double *u)
{
    for (size_t d = 0; d < dimensions; d++) {
        uint32_t v[SAMPLING_BITS];
        directions_of(d, v);
        u[d] = (double)coordinate(v, index) / 4294967296.0;
    }
}
