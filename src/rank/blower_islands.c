/* How well a blower does over rotor speed and pressure ratio (sheave/blower_islands.h). */
#include "sheave/blower_islands.h"

#include <math.h>

#include "sheave/blower.h"

#define SLOWEST 0.1 /* of the highest speed */
#define BEYOND 1.15 /* how far the grid goes past what is used and allowed */

static struct shv_island island_at(const struct shv_blower *blower, const struct shv_gas *gas,
                                   const struct shv_ambient *air, double speed, double ratio)
{
    struct shv_blower_state s;
    shv_blower_state(blower, gas, air->pressure, air->temperature, speed, ratio * air->pressure,
                     &s);
    struct shv_island cell = {speed, ratio, NAN, NAN, NAN, NAN};
    if (!s.outside_map && s.flow > 0.0) {
        cell.flow = s.flow;
        cell.isentropic_efficiency = s.isentropic_efficiency;
        cell.volumetric_efficiency = s.volumetric_efficiency;
        cell.discharge_temperature = s.discharge_temperature;
    }
    return cell;
}

/* As far as the kit goes, and as far as it may. */
static void find_ends(const struct shv_study *study, const struct shv_summary *s, double *speed,
                      double *ratio)
{
    double speed_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_ROTOR_SPEED);
    double ratio_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_PRESSURE_RATIO);
    double rise_bound = shv_limit_bound(study, &s->kit, SHV_LIMIT_PRESSURE_RISE);
    *speed = s->rotor_speed;
    *ratio = s->pressure_ratio;
    if (isfinite(speed_bound)) {
        *speed = fmax(*speed, speed_bound);
    }
    if (isfinite(ratio_bound)) {
        *ratio = fmax(*ratio, ratio_bound);
    } else if (isfinite(rise_bound)) {
        *ratio = fmax(*ratio, 1.0 + rise_bound / study->sites[0].ambient.pressure);
    }
    *speed *= BEYOND;
    *ratio = 1.0 + (*ratio - 1.0) * BEYOND;
}

void shv_islands(const struct shv_model *model, const struct shv_summary *kit,
                 struct shv_island cell[SHV_ISLAND_RATIOS * SHV_ISLAND_SPEEDS])
{
    const struct shv_study *study = shv_model_study(model);
    double speed, ratio;
    find_ends(study, kit, &speed, &ratio);
    for (size_t i = 0; i < SHV_ISLAND_RATIOS; i++) {
        for (size_t k = 0; k < SHV_ISLAND_SPEEDS; k++) {
            double share = SLOWEST + (1.0 - SLOWEST) * (double)k / (SHV_ISLAND_SPEEDS - 1);
            *cell++ = island_at(&study->blowers[kit->kit.blower], shv_model_gas(model, 0),
                                &study->sites[0].ambient, share * speed,
                                1.0 + (ratio - 1.0) * (double)i / (SHV_ISLAND_RATIOS - 1));
        }
    }
}
