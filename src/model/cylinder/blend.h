/* Blends of liquid fuels: from the properties and shares of the parts to the properties of the
 * whole. Equations, sources and the limits of the mixing rules: docs/model.md, section 10.
 *
 * SI throughout: kg, m3, J, mol. Nothing is allocated; inputs are read only.
 */
#ifndef SHEAVE_MODEL_BLEND_H
#define SHEAVE_MODEL_BLEND_H

#include "sheave/status.h"

/* Atoms in a molecule, or in the mean molecule of a mixture; not negative. */
struct shv_composition {
    double carbon;
    double hydrogen;
    double oxygen;
};

/* A pure fuel, a fuel known as a whole, or a blend. */
struct shv_fuel_data {
    const char *name; /* not owned; NULL in a blend */
    struct shv_composition composition;
    double molar_mass;     /* kg/mol, above 0 */
    double density;        /* kg/m3, liquid, above 0 */
    double stoichiometric; /* kg dry air per kg fuel, above 0 */
    double heating_value;  /* J/kg, lower, of the liquid, above 0 */
    double vaporisation;   /* J/kg, heat of vaporisation at 298.15 K, 0 or more */
    double ron;            /* research octane number; NAN when not known */
    double mon;            /* motor octane number; NAN when not known */
};

enum shv_share_basis { SHV_SHARE_VOLUME, SHV_SHARE_MASS };

/* ---- from composition; each is 0 for a composition without atoms ---- */

/* kg/mol, with C 0.0120107, H 0.00100794, O 0.0159994 (CODATA/IUPAC 1997). */
double shv_composition_molar_mass(const struct shv_composition *composition);

/* mol O2 that burn a mol to CO2 and H2O: C + H/4 - O/2. Negative for what has too much oxygen. */
double shv_composition_oxygen(const struct shv_composition *composition);

/* Stoichiometric kg dry air per kg fuel, with air of 3.773 mol of atmospheric nitrogen, 0.02816
 * kg/mol, to a mol of O2: Heywood, Internal Combustion Engine Fundamentals, 1988, section 3.4. */
double shv_composition_air(const struct shv_composition *composition);

/* Lower heating value, J/kg, from the enthalpy of formation of the fuel (J/mol, 298.15 K), with
 * -393475 J/mol for CO2 and -241831 J/mol for H2O vapour (Active Thermochemical Tables 1.112). */
double shv_composition_heating_value(const struct shv_composition *composition, double formation);

/* ---- data ---- */

/* The table of docs/model.md, section 10: "gasoline", "isooctane", "n-heptane", "toluene",
 * "ethanol", "methanol". Static; gives their number. */
size_t shv_fuel_data_table(const struct shv_fuel_data **table);

/* The entry of that name, or NULL. */
const struct shv_fuel_data *shv_fuel_data_find(const char *name);

/* Whether data fit together. SHV_BAD_INPUT when a value lies outside the range given above, the
 * molar mass differs from that of the composition by more than 1 %, or the stoichiometric ratio by
 * more than 2 %; the message names the fuel, the value and what is expected. */
enum shv_status shv_fuel_data_check(const struct shv_fuel_data *data, struct shv_message *message);

/* ---- blending ---- */

/* Mixes `count` parts, at least one, with the given shares. A part of share 0 takes no part.
 *
 * Volumes add up (a mixture of alcohol and hydrocarbon differs by less than 0.5 %). By mass: air,
 * heating value, heat of vaporisation. By moles: composition, and octane numbers (Anderson et al.,
 * SAE 2012-01-1274; for where this is off see docs/model.md, section 10); an octane number that a
 * part lacks is NAN in the blend. `mass_shares` and `molar_shares`, each with room for `count`
 * values, are filled unless NULL.
 *
 * SHV_BAD_INPUT when there is no part, a share is negative or not finite, shares do not sum to 1
 * within 1e-9, or a value of a part lies outside its range; `blend` and shares are then untouched.
 */
enum shv_status shv_fuel_blend(size_t count, const struct shv_fuel_data *parts,
                               const double *shares, enum shv_share_basis basis,
                               struct shv_fuel_data *blend, double *mass_shares,
                               double *molar_shares, struct shv_message *message);

/* Octane index (1 - k) ron + k mon: what a fuel is worth in an engine whose charge is compressed
 * along another path than in the two tests. k = 0 is the research test, 1 the motor test, 0.5 the
 * number on American pumps; boosted engines lie at or below 0. Kalghatgi, SAE 2001-01-3584. */
double shv_octane_index(double ron, double mon, double k);

#endif
