/* What each tolerance does to a kit. */
#ifndef SHEAVE_CERTAINTY_SURE_EFFECTS_H
#define SHEAVE_CERTAINTY_SURE_EFFECTS_H

#include "certainty/sure.h"

/* Fills nominal, nominal_feasible and effect of each row from its kit, and the limits that each has
 * as bits; without `slopes` these are NAN, in half the time. `margin` takes those of each row's
 * limits, [row * SHV_LIMIT_COUNT + limit]; NULL: it doesn't. */
enum shv_status sure_effects(const struct sure_plan *plan, size_t count, bool slopes,
                             struct shv_sure *rows, shv_limit_set *set, double *margin,
                             struct shv_message *message);

#endif
