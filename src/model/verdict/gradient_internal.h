/* What the files of the derivatives share. */
#ifndef SHEAVE_MODEL_GRADIENT_INTERNAL_H
#define SHEAVE_MODEL_GRADIENT_INTERNAL_H

#include "model/kit/model_internal.h"
#include "sheave/gradient.h"

/* Belt, bearing, cruise and worth, from the derivatives of the points (gradient_kit.c). `kit` as
 * corrected, whose ratio changes by `ratio_slope` with that of the description. */
void gradient_hardware(const struct shv_model *model, const struct shv_kit *kit, double ratio_slope,
                       const struct shv_curves *curves, struct shv_gradient *g);

/* Limits and objective, from those of points and hardware (gradient_verdict.c). */
void gradient_verdict(const struct shv_model *model, const struct shv_curves *curves,
                      struct shv_gradient *g);

/* d NTU / d effectiveness of a cooler at rated flow, without corrections; 0 without one. */
double gradient_ntu(const struct shv_model *model, const struct shv_kit *kit);

#endif
