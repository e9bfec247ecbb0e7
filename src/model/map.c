/* Looking up a blower map: docs/model.md, section 3. */
#include "model/map.h"

#include <math.h>
#include <stdlib.h>

/* Rounding must not throw a point that lies on the edge out of the map. */
#define EDGE 1e-9

static bool beyond(const struct shv_curve_table *t, double x)
{
    return x < t->x[0] * (1.0 - EDGE) || x > t->x[t->count - 1] * (1.0 + EDGE);
}

static size_t line_below(const struct shv_blower_map *map, double corrected)
{
    size_t i = 0;
    while (i + 2 < map->lines && corrected >= map->line[i + 1].corrected_speed) {
        i++;
    }
    return i;
}

struct map_value map_at(const struct shv_blower_map *map, double speed, double inlet_temperature,
                        double pressure_ratio)
{
    double corrected = speed * sqrt(map->reference_temperature / inlet_temperature);
    size_t i = line_below(map, corrected);
    const struct shv_speed_line *a = &map->line[i], *b = &map->line[i + 1];
    double share = (corrected - a->corrected_speed) / (b->corrected_speed - a->corrected_speed);
    struct map_value v = {.outside = share < -EDGE || share > 1.0 + EDGE};
    share = fmin(fmax(share, 0.0), 1.0);
    /* A line that has no weight need not reach this pressure ratio. */
    v.outside = v.outside || (share < 1.0 && beyond(&a->volumetric_efficiency, pressure_ratio)) ||
                (share > 0.0 && beyond(&b->volumetric_efficiency, pressure_ratio));
    double va = shv_curve_table_at(&a->volumetric_efficiency, pressure_ratio);
    double vb = shv_curve_table_at(&b->volumetric_efficiency, pressure_ratio);
    double ia = shv_curve_table_at(&a->isentropic_efficiency, pressure_ratio);
    double ib = shv_curve_table_at(&b->isentropic_efficiency, pressure_ratio);
    v.volumetric_efficiency = va + share * (vb - va);
    v.isentropic_efficiency = ia + share * (ib - ia);
    return v;
}

void shv_blower_map_free(struct shv_blower_map *map)
{
    for (size_t i = 0; i < map->lines; i++) {
        shv_curve_table_free(&map->line[i].volumetric_efficiency);
        shv_curve_table_free(&map->line[i].isentropic_efficiency);
    }
    free(map->line);
    *map = (struct shv_blower_map){0};
}
