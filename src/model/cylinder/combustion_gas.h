/* Gases of the closed cycle: NASA polynomials in two ranges, mixtures of air, fuel vapour and
 * products. Equations and coefficients: docs/model.md, sections 8.2 and 8.3. Properties are per kg
 * of gas.
 *
 * air.h has the charge's gas up to 1000 K for the way from filter to manifold; burned gas needs
 * more species and both ranges.
 */
#ifndef SHEAVE_MODEL_COMBUSTION_GAS_H
#define SHEAVE_MODEL_COMBUSTION_GAS_H

#include "model/path/elementary.h"
#include "sheave/cycle.h"

/* The gas constant of the report that gives the polynomials, J/(mol K). */
#define CGAS_MOLAR_R 8.314510
#define CGAS_T_REFERENCE 298.15
#define CGAS_T_MIN 200.0
#define CGAS_T_SPLIT 1000.0
#define CGAS_T_MAX 6000.0

enum cgas_species { CGAS_N2, CGAS_O2, CGAS_AR, CGAS_CO2, CGAS_H2O, CGAS_CO, CGAS_H2, CGAS_COUNT };

/* cp(T) = b0/T^2 + b1/T + b2 + b3 T + ... + b6 T^4 and the constants of its integrals. */
struct cgas_range {
    double b[7];
    double h, s;
};

struct cgas {
    double r; /* J/(kg K) */
    struct cgas_range low, high;
};

/* Amounts in mol, and the mass they have, kg. */
struct cgas_amounts {
    double mol[CGAS_COUNT];
    double fuel; /* kg of fuel vapour */
    double mass;
};

/* Per kg of dry air. `fuel_share` of a fresh charge is fuel / mass. */
struct cgas_amounts cgas_fresh(const struct shv_cycle_fuel *fuel, double lambda,
                               double humidity_ratio);
/* What a fresh charge becomes: complete combustion when lean; when rich, CO and H2 as frozen water
 * gas. */
struct cgas_amounts cgas_burned(const struct shv_cycle_fuel *fuel, double lambda,
                                double humidity_ratio);
/* kg of fuel per mol of its carbon by its atoms, and as its stoichiometric ratio implies. */
double cgas_carbon_mass(const struct shv_cycle_fuel *fuel);
double cgas_implied_carbon_mass(const struct shv_cycle_fuel *fuel);

/* Share of the fuel's mass that is taken for methanol, by its oxygen: 0 for gasoline, 0.7 for
 * ethanol. */
double cgas_alcohol_share(const struct shv_cycle_fuel *fuel);

struct cgas cgas_of(const struct cgas_amounts *amounts, const struct shv_cycle_fuel *fuel);
struct cgas cgas_air(void);
struct cgas cgas_constant(double gas_constant, double heat_capacity);
SHV_INLINE const struct cgas_range *cgas_at(const struct cgas *g, double t)
{
    return t < CGAS_T_SPLIT ? &g->low : &g->high;
}

/* One number or the other by a mask of all bits or none: nothing to branch on. */
SHV_INLINE double cgas_masked(double a, double b, uint64_t mask)
{
    return shv_from_bits((shv_bits(a) & mask) | (shv_bits(b) & ~mask));
}

/* The range that `t` lies in with each number chosen by itself, for loops over lanes. */
SHV_INLINE struct cgas_range cgas_chosen(const struct cgas *g, double t)
{
    /* All bits of the difference's sign: a comparison of SSE2 makes no integers of 64 bits. */
    const uint64_t m = 0u - (shv_bits(t - CGAS_T_SPLIT) >> 63);
    const struct cgas_range *l = &g->low, *h = &g->high;
    return (struct cgas_range){
        .b = {cgas_masked(l->b[0], h->b[0], m), cgas_masked(l->b[1], h->b[1], m),
              cgas_masked(l->b[2], h->b[2], m), cgas_masked(l->b[3], h->b[3], m),
              cgas_masked(l->b[4], h->b[4], m), cgas_masked(l->b[5], h->b[5], m),
              cgas_masked(l->b[6], h->b[6], m)},
        .h = cgas_masked(l->h, h->h, m),
        .s = cgas_masked(l->s, h->s, m),
    };
}

SHV_INLINE double cgas_cp_in(const struct cgas_range *c, double t, double inverse)
{
    const double *b = c->b;
    return (b[0] * inverse + b[1]) * inverse +
           (b[2] + t * (b[3] + t * (b[4] + t * (b[5] + t * b[6]))));
}

SHV_INLINE double cgas_h_in(const struct cgas_range *c, double t, double inverse, double log_t)
{
    const double *b = c->b;
    return c->h - b[0] * inverse + b[1] * log_t +
           t * (b[2] + t * (b[3] * (1.0 / 2.0) +
                            t * (b[4] * (1.0 / 3.0) +
                                 t * (b[5] * (1.0 / 4.0) + t * (b[6] * (1.0 / 5.0))))));
}

SHV_INLINE double cgas_s_in(const struct cgas_range *c, double t, double inverse, double log_t)
{
    const double *b = c->b;
    return c->s - (b[0] * 0.5 * inverse + b[1]) * inverse + b[2] * log_t +
           t * (b[3] +
                t * (b[4] * (1.0 / 2.0) + t * (b[5] * (1.0 / 3.0) + t * (b[6] * (1.0 / 4.0)))));
}

SHV_INLINE double cgas_cp(const struct cgas *g, double t)
{
    return cgas_cp_in(cgas_at(g, t), t, 1.0 / t);
}

/* Enthalpy above 298.15 K. */
SHV_INLINE double cgas_enthalpy(const struct cgas *g, double t)
{
    return cgas_h_in(cgas_at(g, t), t, 1.0 / t, shv_log(t));
}

/* Enthalpy above 298.15 K less R T: with it, the lower heating value (a difference of enthalpies)
 * is what burning releases at 298.15 K, whatever it does to the number of moles. */
SHV_INLINE double cgas_energy(const struct cgas *g, double t)
{
    return cgas_enthalpy(g, t) - g->r * t;
}

/* Temperature part of the entropy. */
SHV_INLINE double cgas_entropy(const struct cgas *g, double t)
{
    return cgas_s_in(cgas_at(g, t), t, 1.0 / t, shv_log(t));
}

#endif
