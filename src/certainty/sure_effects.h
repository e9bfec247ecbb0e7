/* What each tolerance does to a kit. */
#ifndef SHEAVE_CERTAINTY_SURE_EFFECTS_H
#define SHEAVE_CERTAINTY_SURE_EFFECTS_H

#include "certainty/sure.h"

/* Fills nominal, nominal_feasible and effect of each row from its kit, and the limits that each has
 * as bits. */
enum shv_status sure_effects(const struct sure_plan *plan, size_t count, struct shv_sure *rows,
                             shv_limit_set *set, struct shv_message *message);

#endif
