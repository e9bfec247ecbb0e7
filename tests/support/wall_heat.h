/* The coefficient of heat transfer, from what a degree takes through the walls that do not move. */
#ifndef SHEAVE_TESTS_SUPPORT_WALL_HEAT_H
#define SHEAVE_TESTS_SUPPORT_WALL_HEAT_H

#include "model/cylinder/cycle_physics.h"
#include "support/cycle_fixture.h"

/* W/(m2 K) */
static inline double coefficient(double bore, double pressure, double temperature, double velocity)
{
    struct cycle_case u = usual_case();
    u.engine.bore = bore;
    u.engine.heat_factor = 1.0;
    struct cycle_inputs in = {&u.engine, &u.fuel, &u.knock, &u.at};
    struct cycle c;
    cycle_prepare(&c, &in);
    struct cycle_walls w = cycle_walls_of(&c);
    double slope =
        cycle_wall_slope(&w, 0.0, velocity - w.velocity, temperature, log(temperature), pressure);
    return slope * 360.0 * u.at.speed / (w.fixed_area * temperature - w.fixed_area_t);
}

#endif
