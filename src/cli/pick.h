/* A kit put together from the choices of a command line, for sheave point. */
#ifndef SHEAVE_CLI_PICK_H
#define SHEAVE_CLI_PICK_H

#include "cli/found.h"
#include "sheave/sheave.h"

/* From `count` choices KEY=VALUE. What is left out is that of the best kit found that has what was
 * picked, else the first choice of the study; says on stderr what was taken so. Says there as well
 * what is wrong, all of it at once, and returns false then. */
bool pick_kit(const struct shv_study *study, const struct shv_units *units,
              const char *const *choices, size_t count, const struct found *found,
              struct shv_kit *kit);

/* "blower, crank_pulley, ...": the keys of a choice, with ", " or whatever is between them. Returns
 * `keys`. */
char *pick_keys(char *keys, size_t size, const char *between);

struct pick_range {
    const char *key; /* "" when the option has none */
    enum shv_quantity quantity;
    double low, high; /* SI */
};

/* Reads a number with its unit to SI; whether it lies in the range is left to the caller. Otherwise
 * says so of "--option key" and returns false. */
bool pick_quantity(const char *command, const struct shv_units *units, const char *option,
                   const struct pick_range *range, const char *value, double *x);

#endif
