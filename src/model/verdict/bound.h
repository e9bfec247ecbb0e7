/* Proven upper bounds on the objective: docs/model.md, appendix B.3. */
#ifndef SHEAVE_MODEL_BOUND_H
#define SHEAVE_MODEL_BOUND_H

#include "sheave/model.h"

/* Whether it is proven that no kit that keeps every limit comes up to an objective of `enough`,
 * with the discrete choices of `kit` (blower, cooler, fuel, lambda, ignition margin, supply, ribs),
 * any effectiveness of its cooler and any ratio from `ratio_low` to `ratio_high`; -INFINITY: that
 * there is no such kit at all. Nothing is proven without a table of the closed cycle where the
 * study asks for it. `power` is room for [site * speeds + speed]. */
bool bound_below(const struct shv_model *model, const struct shv_kit *kit, double ratio_low,
                 double ratio_high, double enough, double *power);

#endif
