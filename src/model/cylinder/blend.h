/* Blends of liquid fuels: from the properties and shares of the parts to the properties of the
 * whole. Equations, sources and the limits of the mixing rules: docs/model.md, section 10.
 *
 * SI throughout: kg, m3, J, mol. Nothing is allocated; inputs are read only.
 */
#ifndef SHEAVE_MODEL_BLEND_H
#define SHEAVE_MODEL_BLEND_H

#include <stddef.h>

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

/* ---- data ---- */

/* The table of docs/model.md, section 10: "gasoline", "isooctane", "n-heptane", "toluene",
 * "ethanol", "methanol". Static; gives their number. */
size_t shv_fuel_data_table(const struct shv_fuel_data **table);

/* The entry of that name, or NULL. */
const struct shv_fuel_data *shv_fuel_data_find(const char *name);

/* ---- blending ---- */

/* Mixes `count` parts, at least one, with the given shares, which sum to 1 and are not negative. A
 * part of share 0 takes no part.
 *
 * Volumes add up (a mixture of alcohol and hydrocarbon differs by less than 0.5 %). By mass: air,
 * heating value, heat of vaporisation. By moles: composition, and octane numbers (Anderson et al.,
 * SAE 2012-01-1274; for where this is off see docs/model.md, section 10); an octane number that a
 * part lacks is NAN in the blend. */
struct shv_fuel_data shv_fuel_blend(size_t count, const struct shv_fuel_data *parts,
                                    const double *shares, enum shv_share_basis basis);

/* Octane index (1 - k) ron + k mon: what a fuel is worth in an engine whose charge is compressed
 * along another path than in the two tests. k = 0 is the research test, 1 the motor test, 0.5 the
 * number on American pumps; boosted engines lie at or below 0. Kalghatgi, SAE 2001-01-3584. */
double shv_octane_index(double ron, double mon, double k);

#endif
