/* SHA-256 after FIPS 180-4, Secure Hash Standard (2015), sections 4.1.2, 4.2.2, 5.1.1, 5.3.3, 6.2.
 */
#include "base/sha256.h"

#include <stdio.h>
#include <string.h>

/* Section 4.2.2: first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t round_constant[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

static uint32_t rotate_right(uint32_t x, unsigned n)
{
    return (x >> n) | (x << (32 - n));
}

/* The message schedule of section 6.2.2, step 1. */
static void expand(const unsigned char block[64], uint32_t w[64])
{
    for (size_t t = 0; t < 16; t++) {
        const unsigned char *b = block + 4 * t;
        w[t] = (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
    }
    for (size_t t = 16; t < 64; t++) {
        uint32_t s0 = rotate_right(w[t - 15], 7) ^ rotate_right(w[t - 15], 18) ^ (w[t - 15] >> 3);
        uint32_t s1 = rotate_right(w[t - 2], 17) ^ rotate_right(w[t - 2], 19) ^ (w[t - 2] >> 10);
        w[t] = s1 + w[t - 7] + s0 + w[t - 16];
    }
}

/* Section 6.2.2, steps 2 to 4; v holds a..h. */
static void compress(uint32_t state[8], const unsigned char block[64])
{
    uint32_t w[64];
    uint32_t a = state[0], b = state[1], c = state[2], d = state[3];
    uint32_t e = state[4], f = state[5], g = state[6], h = state[7];
    expand(block, w);
    for (size_t t = 0; t < 64; t++) {
        uint32_t s1 = rotate_right(e, 6) ^ rotate_right(e, 11) ^ rotate_right(e, 25);
        uint32_t t1 = h + s1 + ((e & f) ^ (~e & g)) + round_constant[t] + w[t];
        uint32_t s0 = rotate_right(a, 2) ^ rotate_right(a, 13) ^ rotate_right(a, 22);
        uint32_t t2 = s0 + ((a & b) ^ (a & c) ^ (b & c));
        h = g;
        g = f;
        f = e;
        e = d + t1;
        d = c;
        c = b;
        b = a;
        a = t1 + t2;
    }
    const uint32_t v[8] = {a, b, c, d, e, f, g, h};
    for (size_t i = 0; i < 8; i++) {
        state[i] += v[i];
    }
}

void sha256_init(struct sha256 *hash)
{
    /* Section 5.3.3: fractional parts of the square roots of the first eight primes. */
    static const uint32_t start[8] = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                      0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
    *hash = (struct sha256){0};
    memcpy(hash->state, start, sizeof start);
}

void sha256_update(struct sha256 *hash, const void *bytes, size_t count)
{
    const unsigned char *next = bytes;
    while (count > 0) {
        size_t used = (size_t)(hash->length % 64);
        size_t part = count < 64 - used ? count : 64 - used;
        memcpy(hash->block + used, next, part);
        hash->length += part;
        next += part;
        count -= part;
        if (used + part == 64) {
            compress(hash->state, hash->block);
        }
    }
}

void sha256_finish(struct sha256 *hash, char text[65])
{
    static const unsigned char padding[64] = {0x80};
    uint64_t bits = hash->length * 8;
    size_t used = (size_t)(hash->length % 64);
    sha256_update(hash, padding, used < 56 ? 56 - used : 120 - used);
    unsigned char size[8];
    for (size_t i = 0; i < 8; i++) {
        size[i] = (unsigned char)(bits >> (56 - 8 * i));
    }
    sha256_update(hash, size, sizeof size);
    for (size_t i = 0; i < 8; i++) {
        snprintf(text + 8 * i, 9, "%08x", (unsigned)hash->state[i]);
    }
}
