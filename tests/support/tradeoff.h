/* What is traded off of a kit that was evaluated. */
#ifndef SHEAVE_TESTS_SUPPORT_TRADEOFF_H
#define SHEAVE_TESTS_SUPPORT_TRADEOFF_H

#include "model/kit/model_internal.h"

static inline void kit_tradeoff(const struct shv_model *model, const struct shv_curves *curves,
                                size_t tradeoff, double value[SHV_FRONT_DIMS])
{
    const struct shv_worth worth = {curves->hardware.price, curves->hardware.mass};
    double hottest = -INFINITY;
    for (size_t i = 0; i < curves->sites * curves->speeds; i++) {
        hottest = fmax(hottest, curves->point[i].charge_temperature);
    }
    tradeoff_of(model, &model->study->tradeoffs[tradeoff], &curves->point[0].brake_power,
                sizeof(struct shv_point) / sizeof(double), &worth, hottest,
                curves->verdict.objective, value);
}

#endif
