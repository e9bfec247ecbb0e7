/* How well a blower does over rotor speed and pressure ratio. */
#ifndef SHEAVE_BLOWER_ISLANDS_H
#define SHEAVE_BLOWER_ISLANDS_H

#include "sheave/summary.h"

#define SHV_ISLAND_SPEEDS 61
#define SHV_ISLAND_RATIOS 46

/* A cell of the grid; flow and what follows is NAN beyond a measured map and where nothing is
 * delivered. */
struct shv_island {
    double rotor_speed;           /* rev/s */
    double pressure_ratio;        /* outlet over inlet */
    double flow;                  /* kg/s, net of leakage */
    double isentropic_efficiency; /* of shaft power */
    double volumetric_efficiency; /* of swept volume, at inlet state */
    double discharge_temperature; /* K */
};

/* The blower of a kit at the air of the study's first site, as far as the kit goes and as far as it
 * may, ratios slowest. */
void shv_islands(const struct shv_model *model, const struct shv_summary *kit,
                 struct shv_island cell[SHV_ISLAND_RATIOS * SHV_ISLAND_SPEEDS]);

#endif
