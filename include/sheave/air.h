/* Air at the site: standard atmosphere, humidity, and the thermodynamic properties of moist air.
 *
 * SI throughout: Pa, K, kg/kg dry air, J/kg, J/(kg K). Sources are named at each function; the
 * equations are written out in docs/model.md, section 1.
 */
#ifndef SHEAVE_AIR_H
#define SHEAVE_AIR_H

#include "sheave/status.h"

/* Temperatures between which the polynomials hold. */
#define SHV_GAS_T_MIN 200.0
#define SHV_GAS_T_MAX 1000.0

/* Properties of one gas mixture, per kg of mixture:
 *   cp(T) = b0/T^2 + b1/T + b2 + b3 T + b4 T^2 + b5 T^3 + b6 T^4.
 * A gas of constant heat capacity has b2 = cp and zeros elsewhere, so that both kinds share every
 * formula. */
struct shv_gas {
    double gas_constant;    /* R in p = rho R T */
    double isentropic_r;    /* R in the isentropic relations: gamma = cp / (cp - isentropic_r).
                             * Equal to gas_constant for real air; may differ slightly when a
                             * worked example rounds R, cp and gamma independently. */
    double b[7];            /* coefficients of cp, see above */
    double vapour_fraction; /* kg of water vapour per kg of mixture */
};

enum shv_air_kind {
    SHV_AIR_NASA,    /* NASA polynomials of dry air and water vapour (default) */
    SHV_AIR_CONSTANT /* constant R, cp, gamma, as textbook examples assume; humidity ignored */
};

/* What the study says about the gas. */
struct shv_air_model {
    enum shv_air_kind kind;
    double gas_constant;  /* J/(kg K), SHV_AIR_CONSTANT only */
    double heat_capacity; /* J/(kg K), SHV_AIR_CONSTANT only */
    double gamma;         /* SHV_AIR_CONSTANT only */
};

/* Ambient conditions of one place. */
struct shv_ambient {
    double pressure;          /* Pa, absolute, of the moist air */
    double temperature;       /* K */
    double relative_humidity; /* 0..1 */
};

/* Pressure in Pa at a geometric altitude in m, -2000..11000 m geopotential, by ISO 2533:1975 / US
 * Standard Atmosphere 1976 (T0 288.15 K, lapse 6.5 K/km, R 287.05287, g 9.80665, earth radius
 * 6356766 m). */
double shv_atmosphere_pressure(double altitude);
/* Temperature in K at a geometric altitude in m; same source and range. */
double shv_atmosphere_temperature(double altitude);
/* Geopotential altitude in m of a geometric altitude in m; same source. */
double shv_geopotential_altitude(double altitude);

/* Saturation pressure of water vapour in Pa, over ice below 273.15 K and over water above, 173..473
 * K: Hyland and Wexler 1983 as given in ASHRAE Fundamentals ch. 1, eqs 5 and 6. */
double shv_saturation_pressure(double temperature);
/* Its natural logarithm, and in *slope that one's derivative, 1/K. */
double air_saturation_log(double temperature, double *slope);

/* Humidity ratio in kg vapour per kg dry air from the vapour's partial pressure and the total
 * pressure, Pa: 0.621945 pw / (p - pw) (ASHRAE Fundamentals ch. 1). Needs pw < p. */
double shv_humidity_ratio(double vapour_pressure, double pressure);

/* Fills `gas` for moist air of this humidity ratio, or the constant gas of `model`.
 * Polynomials: McBride, Zehe, Gordon, NASA/TP-2002-211556 (2002), species Air and H2O, 200-1000 K.
 */
void shv_gas_init(struct shv_gas *gas, const struct shv_air_model *model, double humidity_ratio);

/* Enthalpy, J/kg, relative to a fixed but arbitrary state: only differences mean anything. Outside
 * 200..1000 K it goes on in a straight line with cp of the end, so that solvers stay in bounds. */
double shv_gas_enthalpy(const struct shv_gas *gas, double temperature);
/* Temperature, K, at which the enthalpy exceeds that at `reference` by `rise` J/kg. */
double shv_gas_temperature_after(const struct shv_gas *gas, double reference, double rise);
/* Temperature, K, after an isentropic change from `temperature` by the ratio of pressures
 * p_end/p_start > 0: the root of int cp/T dT = isentropic_r ln(ratio). */
double shv_gas_isentropic_temperature(const struct shv_gas *gas, double temperature,
                                      double pressure_ratio);
/* Density, kg/m3, of the gas at Pa and K. */
double shv_gas_density(const struct shv_gas *gas, double pressure, double temperature);

/* Factor to a standard's reference conditions for a spark-ignition engine's brake power:
 * reference power = factor * observed power. `dry_pressure` in Pa, temperature in K.
 * SAE J1349 (June 1990): 1.180 (990/pd) sqrt(T/298) - 0.18, pd in mbar; full throttle. */
double shv_correction_j1349(double dry_pressure, double temperature);
/* ISO 1585 (also 80/1269/EEC): (99/pd)^1.2 (T/298)^0.6, pd in kPa; spark ignition, naturally
 * aspirated and mechanically supercharged. The standard holds it valid for 0.93..1.07. */
double shv_correction_iso1585(double dry_pressure, double temperature);

#endif
