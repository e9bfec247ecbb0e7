/* A kit put together from the choices of a command line, for sheave point. */
#ifndef SHEAVE_CLI_PICK_H
#define SHEAVE_CLI_PICK_H

#include "sheave/sheave.h"

/* From `count` choices KEY=VALUE; what is left out is the only choice of the study. Says on stderr
 * what is wrong or missing, all of it at once, and returns false then. */
bool pick_kit(const struct shv_study *study, const struct shv_units *units,
              const char *const *choices, size_t count, struct shv_kit *kit);

/* Reads a number with a unit, or a plain one in the documented unit, to SI. Otherwise says so of
 * "--option key" and returns false. */
bool pick_quantity(const struct shv_units *units, const char *option, const char *key,
                   enum shv_quantity quantity, const char *value, double *x);

#endif
