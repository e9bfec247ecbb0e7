/* Logarithm, exponential and power as short inline code without branches.
 *
 * The library's own versions are used in the model, not those of libm, for two reasons: a loop over
 * lanes of combinations that calls them becomes vector code, and their results are the same bits on
 * every machine and for every instruction set. Method: reduction to a small interval and a
 * polynomial, as in fdlibm (Sun Microsystems, 1993), whose published coefficients are used for the
 * logarithm; the exponential is its Taylor series on |r| <= ln2/2. Both are within 2 units in the
 * last place of libm over the range used (tests/model/path/test_elementary.c).
 */
#ifndef SHEAVE_MODEL_ELEMENTARY_H
#define SHEAVE_MODEL_ELEMENTARY_H

#include <math.h>
#include <stdint.h>
#include <string.h>

/* A call would end the vector loop that contains it. */
#define SHV_INLINE static inline __attribute__((always_inline))

#define SHV_LN2_HIGH 6.93147180369123816490e-01
#define SHV_LN2_LOW 1.90821492927058770002e-10
/* Adding 1.5 * 2^52 rounds to an integer and leaves it in the low bits. */
#define SHV_ROUNDER 6755399441055744.0

SHV_INLINE uint64_t shv_bits(double x)
{
    uint64_t u;
    memcpy(&u, &x, sizeof u);
    return u;
}

SHV_INLINE double shv_from_bits(uint64_t u)
{
    double x;
    memcpy(&x, &u, sizeof x);
    return x;
}

/* Natural logarithm of a positive, normal number. */
SHV_INLINE double shv_log(double x)
{
    /* x = 2^k f with sqrt(1/2) <= f < sqrt(2): shift the bits by those of sqrt(1/2). */
    const uint64_t offset = 0x3fe6a09e00000000u;
    uint64_t u = shv_bits(x) - offset;
    /* The exponent as a double without an integer conversion, which SSE2 and AVX2 lack. */
    uint64_t biased = (u >> 52) ^ 0x800u; /* k + 2048 for k in -2048..2047, as 12 bits */
    double k =
        shv_from_bits((biased & 0xfffu) | 0x4330000000000000u) - (4503599627370496.0 + 2048.0);
    double f = shv_from_bits((u & 0x000fffffffffffffu) + offset) - 1.0;
    double s = f / (2.0 + f);
    double z = s * s;
    double w = z * z;
    double t1 = w * (3.999999999940941908e-01 +
                     w * (2.222219843214978396e-01 + w * 1.531383769920937332e-01));
    double t2 = z * (6.666666666666735130e-01 +
                     w * (2.857142874366239149e-01 +
                          w * (1.818357216161805012e-01 + w * 1.479819860511658591e-01)));
    double half = 0.5 * f * f;
    return k * SHV_LN2_HIGH - ((half - (s * (half + t1 + t2) + k * SHV_LN2_LOW)) - f);
}

/* Exponential; arguments are held within -700..700. */
SHV_INLINE double shv_exp(double x)
{
    x = x < -700.0 ? -700.0 : x;
    x = x > 700.0 ? 700.0 : x;
    double shifted = x * 1.44269504088896338700 + SHV_ROUNDER;
    double k = shifted - SHV_ROUNDER;
    double r = (x - k * SHV_LN2_HIGH) - k * SHV_LN2_LOW;
    double p = 1.0 / 6227020800.0;
    p = p * r + 1.0 / 479001600.0;
    p = p * r + 1.0 / 39916800.0;
    p = p * r + 1.0 / 3628800.0;
    p = p * r + 1.0 / 362880.0;
    p = p * r + 1.0 / 40320.0;
    p = p * r + 1.0 / 5040.0;
    p = p * r + 1.0 / 720.0;
    p = p * r + 1.0 / 120.0;
    p = p * r + 1.0 / 24.0;
    p = p * r + 1.0 / 6.0;
    p = p * r + 0.5;
    p = p * r * r + r + 1.0;
    uint64_t scale = (shv_bits(shifted) + 1023u) << 52;
    return p * shv_from_bits(scale);
}

/* x^y for positive x. */
SHV_INLINE double shv_pow(double x, double y)
{
    return shv_exp(y * shv_log(x));
}

SHV_INLINE double shv_min(double a, double b)
{
    return a < b ? a : b;
}

SHV_INLINE double shv_max(double a, double b)
{
    return a > b ? a : b;
}

/* exp(x) - 1 with all digits near 0, after W. Kahan: the rounding of u cancels against its
 * logarithm. */
SHV_INLINE double shv_expm1(double x)
{
    x = shv_max(x, -700.0); /* as the exponential does, or the two would not cancel */
    double u = shv_exp(x);
    double exact = (u - 1.0) * x / shv_log(u);
    return u == 1.0 ? x : exact;
}

/* log(1 + x) likewise; x > -1. */
SHV_INLINE double shv_log1p(double x)
{
    double u = 1.0 + x;
    double exact = shv_log(u) * x / (u - 1.0);
    return u == 1.0 ? x : exact;
}

#endif
