/* SHA-256, to name the exact bytes a study was made from. */
#ifndef SHEAVE_STUDY_SHA256_H
#define SHEAVE_STUDY_SHA256_H

#include <stddef.h>
#include <stdint.h>

struct sha256 {
    uint32_t state[8];
    uint64_t length; /* bytes taken in so far */
    unsigned char block[64];
};

void sha256_init(struct sha256 *hash);
void sha256_update(struct sha256 *hash, const void *bytes, size_t count);
/* Writes 64 lower-case hex digits and a NUL. The struct must be initialised anew afterwards. */
void sha256_finish(struct sha256 *hash, char text[65]);

#endif
