/* The closed cycle of one cylinder: from inlet closing to exhaust opening, with burning, wall heat,
 * exhaust and the end gas that may ignite by itself. Equations, sources and limits: docs/model.md,
 * section 8.
 *
 * SI throughout: Pa, K, kg, J, m, rev/s; crank angles in degrees, 0 = firing top dead centre,
 * before it negative. Every input field says its unit, default and range; shv_cycle_defaults() sets
 * all of them. Inputs are read only, nothing is allocated, and the same inputs give the same bits
 * on every machine.
 *
 * Two channels (status.h): a status other than SHV_OK means that the input lies outside its ranges;
 * a cycle that has no answer, or that knocks whatever the ignition, is an outcome.
 */
#ifndef SHEAVE_CYCLE_H
#define SHEAVE_CYCLE_H

#include "sheave/status.h"

/* What fills the cylinder. */
enum shv_cycle_gas {
    SHV_CYCLE_MIXTURE, /* air, humidity, fuel vapour, residual; products when burned (default) */
    SHV_CYCLE_AIR,     /* dry air throughout, heat added: the air-standard cycle of textbooks */
    SHV_CYCLE_CONSTANT_GAS /* constant heat capacity throughout: the ideal cycle */
};

struct shv_cycle_engine {
    double bore;                /* m, default 0.086, 0.01..1 */
    double stroke;              /* m, default 0.086, 0.01..1 */
    double compression_ratio;   /* default 10, 2..30 */
    double rod_ratio;           /* connecting rod over crank radius, default 3.4, 1.5..1e9 */
    double inlet_closing;       /* deg, default -140, -180..-60 */
    double exhaust_opening;     /* deg, default 130, 60..180 */
    double chamber_area;        /* wall of the chamber over the bore's area, default 1.2, 0.5..3 */
    double crown_area;          /* crown over the bore's area, default 1, 0.5..3 */
    double chamber_temperature; /* K, default 480, 200..1000 */
    double crown_temperature;   /* K, default 520, 200..1000 */
    double bore_temperature;    /* K, default 410, 200..1000 */
    double heat_factor;         /* times Woschni's coefficient, default 1.5, 0..5; 0 = adiabatic */
    double
        motored_exponent; /* of the motored pressure in Woschni's velocity, default 1.3, 1..1.5 */
    double wiebe_a;       /* default 5, 0.5..20 */
    double wiebe_m;       /* default 2, 0.5..10 */
    double burn_duration; /* deg from the first to the last heat at burn_reference_speed, default
                           * 60, 1e-6..150 */
    double burn_reference_speed; /* rev/s, default 50, 1..1000 */
    double burn_speed_exponent;  /* duration goes with (speed/reference)^this, default 0.2, -1..1 */
    double charge_heating; /* share of the way to charge_wall_temperature that walls warm the fresh
                            * charge up to inlet closing, default 0.3, 0..1 */
    double charge_wall_temperature; /* K, of port, valve and cylinder while it comes in, default
                                     * 400, 250..700 */
    double evaporated_share; /* share of the fuel's heat of vaporisation taken from the charge
                              * rather than from walls, default 0.5, 0..1 */
    double blowdown_share;   /* mean pressure between exhaust opening and bottom dead centre as a
                              * share of   the way from exhaust pressure up to that at opening,
                              * default   0.5, 0..1 */
};

struct shv_cycle_fuel {
    double stoichiometric;     /* kg dry air per kg fuel, default 14.6, 3..40 */
    double heating_value;      /* J/kg, lower, default 43.5e6, 0..150e6 */
    double hydrogen_carbon;    /* atoms per atom of carbon, default 1.87, 0..4.5 */
    double oxygen_carbon;      /* atoms per atom of carbon, default 0, 0..1.2 */
    double molar_mass;         /* kg/mol of the vapour, default 0.105, 0.01..0.3 */
    double vaporisation;       /* J/kg, heat of vaporisation, default 350e3, 0..2e6 */
    double ron;                /* research octane number, default 95, 30..140 */
    double mon;                /* motor octane number, default 85, 30..140 */
    double rating_temperature; /* K to which the rating of RON compresses the charge of this fuel
                                * on the way to 15 bar, default 747, 200..1000 */
};

struct shv_cycle_knock {
    double scale;  /* times the ignition delay, default 1, 0.1..10 */
    double margin; /* the integral of the mean cycle is held at 1 - margin, so that faster cycles do
                    * not knock either, default 0.25, 0..0.9 */
    double octane_weight;    /* K in OI = (1 - K) RON + K MON where compression is as hot as in the
                              * rating, default 0, -2..2 */
    double weight_slope;     /* that K rises by per K that compression is hotter, default 0.004,
                              * 0..0.02 */
    double humidity_slope;   /* octane numbers that a kg/kg of humidity is worth beyond what the
                              * cycle itself gives, default 200, 0..1000 */
    double mixture_slope;    /* octane numbers that a unit of lambda away from mixture_peak is worth
                              * beyond    what the cycle itself gives, default 14.6 (1 per unit of
                              * air-fuel ratio of    gasoline), 0..100; 0 = no such effect */
    double mixture_peak;     /* lambda that needs most octane, default 1/1.05, 0.5..1.5 */
    double mixture_rounding; /* lambda within which the slope turns over, default 0.03, 0.001..1 */
    double best_ca50;        /* deg, phasing without knock, default 8, -20..40 */
    double limit_ca50;       /* deg, latest phasing allowed, default 40, -20..80 */
};

struct shv_cycle_case {
    double speed;              /* rev/s, default 50, 1..1000 */
    double charge_temperature; /* K in the manifold, default 315, 220..600 */
    double air_mass;           /* kg of moist air that a cylinder takes in per cycle, default 5e-4,
                                * 1e-6..0.1 */
    double exhaust_pressure;   /* Pa, default 101325, 1e4..1e6 */
    double humidity_ratio;     /* kg vapour per kg dry air, default 0, 0..0.2 */
    double lambda;             /* excess-air ratio, default 0.88, 0.6..1.8 */
    double ca50; /* deg at which half the heat is out, default 8, -40..100; not used by
                  * shv_cycle_knock_limit */
    double combustion_efficiency; /* share of the fuel's heat released; 0 =
                                   * shv_fuel_mixture_efficiency of lambda (default), 0..1 */
    double residual_share; /* of the trapped mass; below 0 = from the ideal cycle (default -1),
                              -1 to below 0.5 */
    double residual_temperature; /* K; 0 = iterated (default), else 300..3000 */
    double burn_reference; /* m/s, burn_velocity of the result at which burn_duration holds; 0 =
                            * that of the case (default), 0..20 */
    double delay_factor;   /* times the ignition delay, beside the knock setting's scale: of the tie
                            * to the stock engine, default 1, 0.01..100 */
    double step;           /* deg, default 4, 0.005..10 */
    enum shv_cycle_gas gas; /* default SHV_CYCLE_MIXTURE */
    double gas_constant;    /* J/(kg K) of SHV_CYCLE_CONSTANT_GAS, default 287, 10..5000 */
    double heat_capacity;   /* J/(kg K), cp of SHV_CYCLE_CONSTANT_GAS, default 1004.5, above
                             * gas_constant,        10..50000 */
};

enum shv_cycle_outcome {
    SHV_CYCLE_DONE,
    SHV_CYCLE_KNOCK_LIMITED, /* knocks even at limit_ca50; the result is that of limit_ca50 */
    SHV_CYCLE_NO_ANSWER /* temperatures beyond 200..6000 K, or no residual gas fits; numbers are NAN
                         */
};

/* What holds a phasing where it is. */
enum shv_phasing_by {
    SHV_PHASING_BEST,       /* nothing: it does most there */
    SHV_PHASING_BY_KNOCK,   /* knock, or the margin kept from it */
    SHV_PHASING_BY_PRESSURE /* the peak pressure that is allowed */
};

/* Per cylinder and cycle. */
struct shv_cycle_result {
    enum shv_cycle_outcome outcome;
    double gross_efficiency;    /* gross work over the heating value of the trapped fuel */
    double gross_work;          /* J, compression and expansion stroke */
    double imep;                /* Pa, gross work over swept volume */
    double peak_pressure;       /* Pa */
    double peak_angle;          /* deg */
    double peak_temperature;    /* K, highest mean gas temperature at a step */
    double exhaust_temperature; /* K, of the mean enthalpy of what leaves */
    double ca50;                /* deg */
    double knock_integral;      /* at 95 % burned; 1 or more = knock */
    double octane; /* number in the ignition delay: octane index and effect of mixture */
    double end_gas_temperature;           /* K, at 95 % burned */
    double heat_loss_share;               /* wall heat over the heating value of the trapped fuel */
    double residual_share;                /* of the trapped mass */
    double residual_temperature;          /* K */
    double ivc_pressure, ivc_temperature; /* Pa, K at inlet closing */
    double evo_pressure, evo_temperature; /* Pa, K at exhaust opening */
    double trapped_mass, fuel_mass;       /* kg */
    double heat_released;                 /* J from inlet closing to exhaust opening */
    double wall_heat;                     /* J likewise, positive from gas to wall */
    double closed_work;                   /* J likewise */
    double burn_duration;                 /* deg */
    double burn_velocity; /* m/s, laminar, where half has burned, as without fire, over the root of
                           * kinematic viscosity there over that at 298 K and 1 atm */
    double energy_drift;  /* sum of corrections that close the first law at each step, over the heat
                           * released: how well the step resolves the cycle */
    int cycles;           /* integrations that the answer took */
};

/* One step of the trace. */
struct shv_cycle_sample {
    double angle;               /* deg */
    double volume;              /* m3 */
    double pressure;            /* Pa */
    double temperature;         /* K, mean */
    double end_gas_temperature; /* K; NAN after 95 % burned */
    double burned;              /* share */
    double work, wall_heat;     /* J since inlet closing */
    double knock_integral;
};

/* Called for every step of the final cycle, in order of angle. */
struct shv_cycle_trace {
    void (*sample)(void *data, const struct shv_cycle_sample *sample);
    void *data;
};

/* Sets every field to its default. */
void shv_cycle_defaults(struct shv_cycle_engine *engine, struct shv_cycle_fuel *fuel,
                        struct shv_cycle_knock *knock, struct shv_cycle_case *at);

/* One cycle at the phasing `at->ca50`. `trace` may be NULL. Errors: SHV_BAD_INPUT with a message.
 */
enum shv_status shv_cycle_run(const struct shv_cycle_engine *engine,
                              const struct shv_cycle_fuel *fuel,
                              const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                              const struct shv_cycle_trace *trace, struct shv_cycle_result *result,
                              struct shv_message *message);

/* Every step of that cycle, in order of angle: `*count` of them, owned by the caller (free()).
 * SHV_NOTHING with a message when it has no answer, SHV_BAD_INPUT, SHV_NO_MEMORY. */
enum shv_status
shv_cycle_samples(const struct shv_cycle_engine *engine, const struct shv_cycle_fuel *fuel,
                  const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                  struct shv_cycle_sample **samples, size_t *count, struct shv_message *message);

/* The cycle at the earliest phasing in best_ca50..limit_ca50 whose knock integral is at most 1 -
 * margin, by root finding. Errors: SHV_BAD_INPUT with a message. */
enum shv_status shv_cycle_knock_limit(const struct shv_cycle_engine *engine,
                                      const struct shv_cycle_fuel *fuel,
                                      const struct shv_cycle_knock *knock,
                                      const struct shv_cycle_case *at,
                                      struct shv_cycle_result *result, struct shv_message *message);

/* Of the logarithm of a peak pressure that phasings are held at, so that it is never above. */
#define SHV_CYCLE_PEAK_SHADE 1e-8

/* The cycle at the earliest phasing in at->ca50..limit_ca50 whose peak pressure is at most `most`,
 * Pa, less a shade, by root finding; at limit_ca50 where there is none. Errors: SHV_BAD_INPUT with
 * a message. */
enum shv_status
shv_cycle_pressure_limit(const struct shv_cycle_engine *engine, const struct shv_cycle_fuel *fuel,
                         const struct shv_cycle_knock *knock, const struct shv_cycle_case *at,
                         double most, struct shv_cycle_result *result, struct shv_message *message);

/* ---- the relations by themselves ---- */

/* Wiebe's function 1 - exp(-a s^(m+1)) of the share s >= 0 of the duration (Heywood 1988,
 * eq. 9.30). The cycle divides it by its value at s = 1, so that all burns. */
double shv_cycle_wiebe(double s, double a, double m);
/* Ignition delay, s, of a fuel by its octane number, pressure (Pa) and temperature (K): Douaud and
 * Eyzat, SAE 780080, 17.68 ms (ON/100)^3.402 (p/atm)^-1.7 exp(3800 K/T). */
double shv_knock_delay(double octane, double pressure, double temperature);
/* Octane numbers that a mixture needs less than one at mixture_peak, as the fuel's gain. */
double shv_knock_mixture_gain(const struct shv_cycle_knock *knock, double lambda);

#endif
