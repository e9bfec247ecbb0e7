/* Looking up a blower map: docs/model.md, section 3. */
#ifndef SHEAVE_MODEL_MAP_H
#define SHEAVE_MODEL_MAP_H

#include "sheave/blower.h"

struct map_value {
    double volumetric_efficiency, isentropic_efficiency;
    bool outside; /* beyond the measured points; then the values are those of the nearest edge */
};

/* At a rotor speed (rev/s), inlet temperature (K) and pressure ratio. */
struct map_value map_at(const struct shv_blower_map *map, double speed, double inlet_temperature,
                        double pressure_ratio);

#endif
