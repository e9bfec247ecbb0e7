/* Real parts near an ideal kit. */
#ifndef SHEAVE_SEARCH_NEAREST_PARTS_H
#define SHEAVE_SEARCH_NEAREST_PARTS_H

#include "sheave/optimum.h"

/* Tries the pulley pairs whose ratio lies nearest the ideal one, with the cooler choices on either
 * side of the ideal effectiveness, and keeps the best feasible. `curves` is room to work in. */
void nearest_parts(const struct shv_model *model, const struct shv_space *space,
                   struct shv_optimum *optimum, struct shv_curves *curves);

#endif
