/* Fuels and mixture: docs/model.md, section 8. */
#include "sheave/fuel.h"

/* Above this lambda the share stays at its top: 4.6509 / (2 * 2.0764), where the parabola turns. */
#define LEAN_END 1.12

double shv_fuel_mixture_efficiency(double lambda)
{
    double l = lambda < LEAN_END ? lambda : LEAN_END;
    return -1.6082 + l * (4.6509 - 2.0764 * l);
}
