/* Looking up a blower map: docs/model.md, section 3. */
#ifndef SHEAVE_MODEL_MAP_H
#define SHEAVE_MODEL_MAP_H

#include "model/path/elementary.h"
#include "sheave/blower.h"

struct map_value {
    double volumetric_efficiency, isentropic_efficiency;
    bool outside; /* beyond the measured points; then the values are those of the nearest edge */
};

/* Between which speed lines. */
struct map_place {
    size_t below; /* the line below; the one above is the next */
    double share; /* of the line above, 0..1 */
    bool outside;
};

struct map_place map_place_at(const struct shv_blower_map *map, double speed,
                              double inlet_temperature);

/* The cubics of both efficiencies on two neighbouring lines around a pressure ratio, for as long as
 * it stays from `least` to below `most`. */
struct map_cubic {
    double start, width;   /* of the interval: s = (ratio - start) / width */
    double v0, v1, v2, v3; /* volumetric: v0 + width s (v1 + s (v2 + s v3)) */
    double i0, i1, i2, i3; /* isentropic */
};
#define MAP_CUBIC_FIELDS ((size_t)10)
struct map_cell {
    struct map_cubic below, above;
    double least, most;
};

struct map_cell map_cell_at(const struct shv_blower_map *map, size_t below, double pressure_ratio);

/* Whether that place or this pressure ratio lies beyond the measured points. */
bool map_is_outside(const struct shv_blower_map *map, const struct map_place *at,
                    double pressure_ratio);

/* At a rotor speed (rev/s), inlet temperature (K) and pressure ratio. */
struct map_value map_at(const struct shv_blower_map *map, double speed, double inlet_temperature,
                        double pressure_ratio);

SHV_INLINE void map_cubic_value(const struct map_cubic *c, double ratio, double *volumetric,
                                double *isentropic)
{
    double s = (ratio - c->start) / c->width;
    *volumetric = c->v0 + c->width * s * (c->v1 + s * (c->v2 + s * c->v3));
    *isentropic = c->i0 + c->width * s * (c->i1 + s * (c->i2 + s * c->i3));
}

/* Values at a pressure ratio for which the cubics hold; says nothing of the map's edges. */
SHV_INLINE struct map_value map_cell_value(const struct map_cubic *below,
                                           const struct map_cubic *above, double share,
                                           double pressure_ratio)
{
    double va, vb, ia, ib;
    map_cubic_value(below, pressure_ratio, &va, &ia);
    map_cubic_value(above, pressure_ratio, &vb, &ib);
    return (struct map_value){va + share * (vb - va), ia + share * (ib - ia), false};
}

/* A correction of what was measured (blower.h): less is delivered for the same work of the rotors,
 * so both efficiencies fall alike. Without one no bit changes. */
SHV_INLINE void map_slip(struct map_value *v, double slip_added)
{
    double measured = v->volumetric_efficiency;
    double left = measured - slip_added * (1.0 - measured);
    v->volumetric_efficiency = shv_max(left, shv_min(measured, 0.05));
    v->isentropic_efficiency *= v->volumetric_efficiency / measured;
}

#endif
