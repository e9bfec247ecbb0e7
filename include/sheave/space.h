/* The space of combinations: an index is a combination of parts. */
#ifndef SHEAVE_SPACE_H
#define SHEAVE_SPACE_H

#include <stdint.h>

#include "sheave/kit.h"
#include "sheave/study.h"

struct shv_space {
    uint64_t count[SHV_DIM_COUNT];
    uint64_t air_size;    /* product of the counts that decide the flow of air */
    uint64_t fuel_size;   /* product of the others */
    uint64_t burn_size;   /* part of fuel_size that decides how the charge burns */
    uint64_t supply_size; /* the rest of it: injectors, pump, belt; fuel_size = burn x supply */
    uint64_t belt_size;   /* part of supply_size: ribs and wrap, the fastest */
    uint64_t size;        /* air_size * fuel_size */
};

/* What a kit has in a dimension: an entry of one of the study's lists, a number, or both, then one
 * of the numbers that belong to the entry. Offsets are SHV_NOWHERE for what a dimension is without.
 */
struct shv_dim_info {
    const char *name;    /* "crank_pulley": in files */
    const char *another; /* "Another crank pulley": begins a sentence */
    /* The list of entries and how many they are, in struct shv_study; the name of one, in the part;
     * which one a kit has, in struct shv_kit. */
    size_t list, list_count, part_size, part_name, entry;
    /* Numbers to choose from, in a part where there are entries, else in the study; the one that a
     * kit has, in struct shv_kit. */
    size_t numbers, number_count, number;
    const char *number_name; /* "effectiveness"; NULL: the name of the dimension */
    enum shv_quantity quantity;
    double least, most; /* of a number that no list has, SI */
    /* Why there is nothing to choose, then the number is the first listed, else 0; NULL: there is.
     */
    const char *(*without)(const struct shv_study *study, size_t entry);
    const char *format;  /* of printf for the number; NULL: in the study's units */
    const char *nothing; /* what it means when it is 0; NULL: nothing else */
};
#define SHV_NOWHERE SIZE_MAX

/* The table of dimensions, indexed by enum shv_dim. */
SHV_API const struct shv_dim_info *shv_dim_info(enum shv_dim dim);
/* Whether two kits have the same in a dimension; NAN sizes are alike. */
bool shv_dim_same(enum shv_dim dim, const struct shv_kit *a, const struct shv_kit *b);
/* The number that a kit has in a dimension; NAN in one without. */
double shv_dim_number(enum shv_dim dim, const struct shv_kit *kit);
/* The name of the entry that a kit has in a dimension; NULL in one without. */
const char *shv_dim_entry(enum shv_dim dim, const struct shv_study *study,
                          const struct shv_kit *kit);
/* How many entries there are to choose from, 0 in a dimension without; and the name of one. */
size_t shv_dim_entries(enum shv_dim dim, const struct shv_study *study);
const char *shv_dim_entry_name(enum shv_dim dim, const struct shv_study *study, size_t entry);
/* The numbers to choose from with an entry (any, in a dimension without entries), ascending; NULL
 * in a dimension without numbers. Owned by the study. */
const double *shv_dim_numbers(enum shv_dim dim, const struct shv_study *study, size_t entry,
                              size_t *count);
/* Which entry a kit has; 0 in a dimension without. */
size_t shv_dim_entry_index(enum shv_dim dim, const struct shv_kit *kit);
/* Gives a kit an entry or a number in a dimension that has one. */
void shv_dim_set_entry(enum shv_dim dim, struct shv_kit *kit, size_t entry);
void shv_dim_set_number(enum shv_dim dim, struct shv_kit *kit, double number);

/* Counts the dimensions. SHV_BAD_INPUT when the size does not fit 63 bits. */
SHV_API enum shv_status shv_space_init(struct shv_space *space, const struct shv_study *study,
                                       struct shv_message *message);
/* Splits an index (< size) into a choice per dimension, and back. */
SHV_API void shv_space_split(const struct shv_space *space, uint64_t index,
                             uint64_t choice[SHV_DIM_COUNT]);
SHV_API uint64_t shv_space_join(const struct shv_space *space,
                                const uint64_t choice[SHV_DIM_COUNT]);
/* The place of a number in a list that has it, and the largest of a list. */
size_t shv_numbers_index(const struct shv_numbers *numbers, double value);
double shv_numbers_last(const struct shv_numbers *numbers);
/* The first choice of a dimension that is of an entry, and the choice that a kit has; of a number
 * that is not listed its entry's last one. */
uint64_t shv_space_first(const struct shv_study *study, enum shv_dim dim, size_t entry);
uint64_t shv_space_choice(const struct shv_study *study, enum shv_dim dim,
                          const struct shv_kit *kit);
/* Sets what one choice (< space->count[dim]) of a dimension decides; the ratio of the pulleys is
 * left as it was. */
void shv_space_pick(const struct shv_study *study, enum shv_dim dim, uint64_t choice,
                    struct shv_kit *kit);
/* The kit of an index. */
SHV_API void shv_space_kit(const struct shv_space *space, const struct shv_study *study,
                           uint64_t index, struct shv_kit *kit);

#endif
