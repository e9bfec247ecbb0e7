/* Parts of the closed cycle that its files share: docs/model.md, section 8.
 *
 *   cycle_input.c   defaults and ranges
 *   cycle_charge.c  geometry, gases, what is fixed for a case
 *   flame.c         laminar burning velocity, quickness of a burn
 *   knock_delay.c   ignition delay, octane
 *   cycle_lanes.h   integration over crank angle, many cycles side by side and one alone
 *   cycle.c         one cycle with its residual gas, results
 *   phasing.c       knock-limited phasing
 */
#ifndef SHEAVE_MODEL_CYCLE_INTERNAL_H
#define SHEAVE_MODEL_CYCLE_INTERNAL_H

#include "model/cylinder/combustion_gas.h"
#include "sheave/cycle.h"

#define CYCLE_PI 3.14159265358979323846
#define CYCLE_DEGREE (CYCLE_PI / 180.0)
/* Share burned up to which the end gas is watched. */
#define CYCLE_WATCHED 0.95

/* Laminar burning velocity of a mixture: its logarithm at 1 K and 1 Pa, and exponents. */
struct cycle_flame {
    double log_velocity, temperature_exponent, pressure_exponent;
};

struct cycle_inputs {
    const struct shv_cycle_engine *engine;
    const struct shv_cycle_fuel *fuel;
    const struct shv_cycle_knock *knock;
    const struct shv_cycle_case *at;
};

/* What stays fixed while one case is computed at several phasings and residual temperatures. */
struct cycle {
    struct cycle_inputs in;
    struct cgas fresh, burned;
    double fresh_mass;     /* kg, air and fuel */
    double fuel_in_fresh;  /* kg fuel per kg fresh charge */
    double fresh_enthalpy; /* J/kg, warmed by walls and cooled by fuel, before it meets the residual
                              gas */
    double efficiency;     /* share of the fuel's heat released */
    double swept, clearance; /* m3 */
    double ivc_volume;
    double piston_speed;
    double duration; /* deg, where the flame is that of the reference */
    struct cycle_flame flame;
    double log_reference;             /* of the velocity at which that duration holds; NAN: any */
    double all_burned;                /* Wiebe's function at the end of burning */
    double half_share, watched_share; /* of the duration, at 50 % and CYCLE_WATCHED burned */
    double heat_factor; /* wall heat per degree = this * (p w)^0.8 T^-0.55 * sum(A (T - Tw)) */
    double fixed_area, fixed_area_t; /* m2 and m2 K of head and piston */
    double octane;                   /* where compression is as hot as in the rating */
    double octane_slope;             /* of its logarithm, per K that compression is hotter */
    double knock_factor; /* there: share of the delay per degree = this * p^1.7 exp(-3800/T) */
};

/* SHV_BAD_INPUT and a message when a field is out of its range or fields contradict each other. */
enum shv_status cycle_check(const struct cycle_inputs *in, struct shv_message *message);

/* The same when burning would not start between the valves. */
enum shv_status cycle_check_phasing(const struct cycle *c, double ca50,
                                    struct shv_message *message);

/* Sine and cosine of degrees, the same bits everywhere. */
void cycle_sin_cos(double degrees, double *sine, double *cosine);
/* Volume, its change per degree and the piston's way from top dead centre. */
struct cycle_place {
    double volume, volume_slope, way;
};
struct cycle_place cycle_place_at(const struct shv_cycle_engine *e, double clearance, double angle);

/* Residual gas stays below this share. */
#define CYCLE_RESIDUAL_MOST 0.5

void cycle_prepare(struct cycle *c, const struct cycle_inputs *in);
/* J/kg, of fresh charge of this temperature, warmed by walls and cooled by fuel. */
double cycle_fresh_enthalpy(const struct cycle *c, double charge_temperature);

/* Octane number of a fuel and mixture where compression is as hot as in the rating. */
double knock_octane(const struct shv_cycle_knock *knock, const struct shv_cycle_fuel *fuel,
                    double lambda, double humidity_ratio);
/* Of its logarithm, per K that compression is hotter. */
double knock_octane_slope(const struct shv_cycle_knock *knock, const struct shv_cycle_fuel *fuel);
struct cycle_flame cycle_flame_of(const struct shv_cycle_fuel *fuel, double lambda);

/* One cycle, its residual temperature iterated from `guess`. */
struct shv_cycle_result cycle_solve(const struct cycle *c, double ca50, double guess);
/* Logarithm of the knock integral over what is allowed, nearly straight in the phasing; 0 when it
 * is as good as met. */
double cycle_knock_gap(const struct shv_cycle_knock *knock, double integral);
/* Ends of what cycle.h accepts for best_ca50 and limit_ca50. */
#define CYCLE_CA50_LEAST (-20.0)
#define CYCLE_CA50_MOST 80.0
#define CYCLE_INTEGRAL_LEAST 1e-200 /* what its logarithm takes the least from */

/* Where iteration starts, K. */
#define CYCLE_FIRST_GUESS 1150.0

#endif
