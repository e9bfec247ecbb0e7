/* Laminar burning velocity, and how quick it makes a burn: docs/model.md, section 8.5. */
#include "model/cylinder/cycle_physics.h"

/* m/s at 298 K and 1 atm without residual gas, B_M + B_phi (phi - phi_M)^2: Metghalchi and Keck
 * (1982), Rhodes and Keck (1985), as in Heywood 1988, section 9.3.5. */
struct velocity_law {
    double most, curvature, richness;
};

static const struct velocity_law gasoline = {0.305, -0.549, 1.21};
static const struct velocity_law methanol = {0.369, -1.405, 1.11};

/* Least share of the most, far beyond the mixtures that were measured. */
#define VELOCITY_LEAST 0.1
#define VELOCITY_TEMPERATURE 298.0
#define VELOCITY_PRESSURE 101325.0

static double velocity_of(const struct velocity_law *law, double richness)
{
    double away = richness - law->richness;
    return shv_max(law->most + law->curvature * away * away, VELOCITY_LEAST * law->most);
}

/* Kinematic viscosity goes with T^1.7/p, and a burn's quickness with its root in the denominator:
 * the eddies of turbulence that a flame burns through one by one are that much larger. */
#define VISCOSITY_TEMPERATURE 1.7
#define VISCOSITY_PRESSURE (-1.0)
#define VISCOSITY_SLOWS (-0.5)

struct cycle_flame cycle_flame_of(const struct shv_cycle_fuel *fuel, double lambda)
{
    double richness = 1.0 / lambda, alcohol = cgas_alcohol_share(fuel);
    double velocity = (1.0 - alcohol) * velocity_of(&gasoline, richness) +
                      alcohol * velocity_of(&methanol, richness);
    struct cycle_flame f = {.temperature_exponent = 2.18 - 0.8 * (richness - 1.0),
                            .pressure_exponent = -0.16 + 0.22 * (richness - 1.0)};
    f.log_velocity = shv_log(velocity) - f.temperature_exponent * shv_log(VELOCITY_TEMPERATURE) -
                     f.pressure_exponent * shv_log(VELOCITY_PRESSURE);
    const double t = VISCOSITY_SLOWS * VISCOSITY_TEMPERATURE,
                 p = VISCOSITY_SLOWS * VISCOSITY_PRESSURE;
    f.temperature_exponent += t;
    f.pressure_exponent += p;
    f.log_velocity -= t * shv_log(VELOCITY_TEMPERATURE) + p * shv_log(VELOCITY_PRESSURE);
    return f;
}
