/* What the engine draws from its manifold: docs/model.md, section 6. */
#ifndef SHEAVE_MODEL_BREATHING_H
#define SHEAVE_MODEL_BREATHING_H

#include "model/path/elementary.h"
#include "sheave/breathing.h"

/* Flow, kg/s, of moist air per Pa that fills at this charge temperature. */
SHV_INLINE double breathing_filled(const struct shv_breathing *b, double charge_temperature)
{
    return b->capacity / (b->kept * charge_temperature + b->added);
}

SHV_INLINE double breathing_flow(const struct shv_breathing *b, double manifold_pressure,
                                 double exhaust_pressure, double charge_temperature)
{
    return breathing_filled(b, charge_temperature) *
           (b->a * manifold_pressure - b->b * exhaust_pressure);
}

#endif
