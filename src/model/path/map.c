/* Looking up a blower map: docs/model.md, section 3. */
#include "model/path/map.h"

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

struct map_place map_place_at(const struct shv_blower_map *map, double speed,
                              double inlet_temperature)
{
    double corrected = speed * sqrt(map->reference_temperature / inlet_temperature);
    size_t i = line_below(map, corrected);
    double low = map->line[i].corrected_speed, high = map->line[i + 1].corrected_speed;
    double share = (corrected - low) / (high - low);
    return (struct map_place){i, fmin(fmax(share, 0.0), 1.0), share < -EDGE || share > 1.0 + EDGE};
}

bool map_is_outside(const struct shv_blower_map *map, const struct map_place *at,
                    double pressure_ratio)
{
    const struct shv_speed_line *a = &map->line[at->below], *b = &map->line[at->below + 1];
    /* A line that has no weight need not reach this pressure ratio. */
    return at->outside || (at->share < 1.0 && beyond(&a->volumetric_efficiency, pressure_ratio)) ||
           (at->share > 0.0 && beyond(&b->volumetric_efficiency, pressure_ratio));
}

struct map_value map_at(const struct shv_blower_map *map, double speed, double inlet_temperature,
                        double pressure_ratio)
{
    struct map_place at = map_place_at(map, speed, inlet_temperature);
    struct map_cell cell = map_cell_at(map, at.below, pressure_ratio);
    struct map_value v = map_cell_value(&cell.below, &cell.above, at.share, pressure_ratio);
    v.outside = map_is_outside(map, &at, pressure_ratio);
    map_slip(&v, map->slip_added);
    return v;
}

static void narrow(struct map_cell *cell, double least, double most)
{
    cell->least = fmax(cell->least, least);
    cell->most = fmin(cell->most, most);
}

/* Both tables of a line run over the same pressure ratios. */
static struct map_cubic cubic_of(const struct shv_speed_line *line, double ratio,
                                 struct map_cell *cell)
{
    struct shv_curve_cubic v, i;
    shv_curve_table_cubic(&line->volumetric_efficiency, ratio, &v);
    shv_curve_table_cubic(&line->isentropic_efficiency, ratio, &i);
    narrow(cell, v.least, v.most);
    narrow(cell, i.least, i.most);
    return (struct map_cubic){v.start, v.width, v.c0, v.c1, v.c2, v.c3, i.c0, i.c1, i.c2, i.c3};
}

struct map_cell map_cell_at(const struct shv_blower_map *map, size_t below, double pressure_ratio)
{
    struct map_cell cell = {.least = -INFINITY, .most = INFINITY};
    cell.below = cubic_of(&map->line[below], pressure_ratio, &cell);
    cell.above = cubic_of(&map->line[below + 1], pressure_ratio, &cell);
    return cell;
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
