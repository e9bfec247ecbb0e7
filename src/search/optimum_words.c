/* An optimum as numbers for a file, and back (sheave/optimum.h). */
#include <string.h>

#include "sheave/optimum.h"

enum kind { OF_SIZE, OF_U64, OF_INT, OF_BOOL, OF_DOUBLE };

/* A member, or `count` of them in a row. */
struct field {
    enum kind kind;
    size_t offset, count;
};

#define FIELD(kind, member)                                                                        \
    {                                                                                              \
        kind, offsetof(struct shv_optimum, member), 1                                              \
    }
#define KIT(kit)                                                                                   \
    FIELD(OF_SIZE, kit.blower), FIELD(OF_SIZE, kit.cooler), FIELD(OF_SIZE, kit.fuel),              \
        FIELD(OF_SIZE, kit.injector), FIELD(OF_SIZE, kit.pump),                                    \
        FIELD(OF_DOUBLE, kit.crank_diameter), FIELD(OF_DOUBLE, kit.blower_diameter),               \
        FIELD(OF_DOUBLE, kit.ratio), FIELD(OF_DOUBLE, kit.effectiveness),                          \
        FIELD(OF_DOUBLE, kit.lambda), FIELD(OF_DOUBLE, kit.ignition_margin),                       \
        FIELD(OF_DOUBLE, kit.injector_flow), FIELD(OF_DOUBLE, kit.ribs),                           \
        FIELD(OF_DOUBLE, kit.wrap)

static const struct field fields[] = {
    FIELD(OF_SIZE, blower),
    FIELD(OF_SIZE, fuel),
    FIELD(OF_BOOL, found),
    KIT(ideal),
    FIELD(OF_DOUBLE, objective),
    FIELD(OF_INT, binding),
    FIELD(OF_DOUBLE, binding_share),
    FIELD(OF_BOOL, real_found),
    KIT(real),
    FIELD(OF_U64, real_index),
    FIELD(OF_DOUBLE, real_objective),
    FIELD(OF_DOUBLE, loss),
    FIELD(OF_DOUBLE, plain_difference),
    FIELD(OF_SIZE, evaluations),
    FIELD(OF_SIZE, searches),
    {OF_DOUBLE, offsetof(struct shv_optimum, elasticity), SHV_FREE_COUNT},
    FIELD(OF_DOUBLE, retard),
    FIELD(OF_BOOL, made_found),
    KIT(made),
    FIELD(OF_DOUBLE, made_objective),
    FIELD(OF_BOOL, uncooled_found),
    KIT(uncooled),
    FIELD(OF_DOUBLE, uncooled_objective),
    FIELD(OF_DOUBLE, uncooled_retard),
};
#define FIELDS (sizeof fields / sizeof *fields)

static size_t size_of(enum kind kind)
{
    switch (kind) {
    case OF_SIZE:
        return sizeof(size_t);
    case OF_U64:
        return sizeof(uint64_t);
    case OF_INT:
        return sizeof(int);
    case OF_BOOL:
        return sizeof(bool);
    case OF_DOUBLE:
        break;
    }
    return sizeof(double);
}

static uint64_t word_of(enum kind kind, const unsigned char *at)
{
    uint64_t u64;
    size_t size;
    int number;
    switch (kind) {
    case OF_SIZE:
        memcpy(&size, at, sizeof size);
        return size;
    case OF_INT:
        memcpy(&number, at, sizeof number);
        return (uint64_t)(int64_t)number;
    case OF_BOOL:
        return *at != 0;
    case OF_U64:
    case OF_DOUBLE: /* its bits, so that it comes back the same whatever it is */
        break;
    }
    memcpy(&u64, at, sizeof u64);
    return u64;
}

static void take_word(enum kind kind, uint64_t word, unsigned char *at)
{
    size_t size = (size_t)word;
    int number = (int)(int64_t)word;
    bool flag = word != 0;
    switch (kind) {
    case OF_SIZE:
        memcpy(at, &size, sizeof size);
        return;
    case OF_INT:
        memcpy(at, &number, sizeof number);
        return;
    case OF_BOOL:
        memcpy(at, &flag, sizeof flag);
        return;
    case OF_U64:
    case OF_DOUBLE:
        break;
    }
    memcpy(at, &word, sizeof word);
}

size_t shv_optimum_words(void)
{
    size_t words = 0;
    for (size_t i = 0; i < FIELDS; i++) {
        words += fields[i].count;
    }
    return words;
}

void shv_optimum_pack(const struct shv_optimum *optimum, uint64_t *words)
{
    const unsigned char *from = (const unsigned char *)optimum;
    for (size_t i = 0; i < FIELDS; i++) {
        for (size_t k = 0; k < fields[i].count; k++) {
            *words++ =
                word_of(fields[i].kind, from + fields[i].offset + k * size_of(fields[i].kind));
        }
    }
}

void shv_optimum_unpack(const uint64_t *words, struct shv_optimum *optimum)
{
    unsigned char *to = (unsigned char *)optimum;
    *optimum = (struct shv_optimum){.found = false};
    for (size_t i = 0; i < FIELDS; i++) {
        for (size_t k = 0; k < fields[i].count; k++) {
            take_word(fields[i].kind, *words++,
                      to + fields[i].offset + k * size_of(fields[i].kind));
        }
    }
}
