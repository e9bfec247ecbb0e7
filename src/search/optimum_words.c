/* An optimum as numbers for a file, and back (sheave/optimum.h). */
#include <string.h>

#include "sheave/optimum.h"

/* Members of 8 bytes are words as they are, a double by its bits, so that it comes back the same
 * whatever it is. */
#define WORD sizeof(uint64_t)
_Static_assert(sizeof(size_t) == WORD && sizeof(double) == WORD, "words of an optimum");
_Static_assert(sizeof(struct shv_kit) == 14 * WORD, "words of a kit");

/* Members: of 8 bytes one or several in a row, or an int or a bool. */
struct field {
    size_t offset, size;
};

#define FIELD(member)                                                                              \
    {                                                                                              \
        offsetof(struct shv_optimum, member), sizeof((struct shv_optimum *)0)->member              \
    }
static const struct field fields[] = {
    FIELD(blower),
    FIELD(fuel),
    FIELD(found),
    FIELD(ideal),
    FIELD(objective),
    FIELD(binding),
    FIELD(binding_share),
    FIELD(real_found),
    FIELD(real),
    FIELD(real_index),
    FIELD(real_objective),
    FIELD(loss),
    FIELD(plain_difference),
    FIELD(evaluations),
    FIELD(searches),
    FIELD(elasticity),
    FIELD(retard),
    FIELD(made_found),
    FIELD(made),
    FIELD(made_objective),
    FIELD(uncooled_found),
    FIELD(uncooled),
    FIELD(uncooled_objective),
    FIELD(uncooled_retard),
};
#define FIELDS (sizeof fields / sizeof *fields)

static size_t words_of(const struct field *f)
{
    return f->size > WORD ? f->size / WORD : 1;
}

size_t shv_optimum_words(void)
{
    size_t words = 0;
    for (size_t i = 0; i < FIELDS; i++) {
        words += words_of(&fields[i]);
    }
    return words;
}

void shv_optimum_pack(const struct shv_optimum *optimum, uint64_t *words)
{
    for (size_t i = 0; i < FIELDS; i++) {
        const char *at = (const char *)optimum + fields[i].offset;
        int number;
        if (fields[i].size == sizeof number) {
            memcpy(&number, at, sizeof number);
            *words = (uint64_t)(int64_t)number;
        } else if (fields[i].size == sizeof(bool)) {
            *words = *(const bool *)at;
        } else {
            memcpy(words, at, fields[i].size);
        }
        words += words_of(&fields[i]);
    }
}

void shv_optimum_unpack(const uint64_t *words, struct shv_optimum *optimum)
{
    *optimum = (struct shv_optimum){.found = false};
    for (size_t i = 0; i < FIELDS; i++) {
        char *at = (char *)optimum + fields[i].offset;
        int number = (int)(int64_t)*words;
        if (fields[i].size == sizeof number) {
            memcpy(at, &number, sizeof number);
        } else if (fields[i].size == sizeof(bool)) {
            *(bool *)at = *words != 0;
        } else {
            memcpy(at, words, fields[i].size);
        }
        words += words_of(&fields[i]);
    }
}
