/* Blends of fuels: docs/model.md, sections 10.1 to 10.4. */
#include "model/cylinder/blend.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* Sources of each column: docs/model.md, section 10.2.
 *   molar mass     of the composition
 *   density        20 C, CRC Handbook [memory]; Cengel and Boles, table A-27, has the same rounded
 *   air            of the composition, rounded; gasoline Heywood 1988, table D.4 [memory]
 *   heating value  of the enthalpy of formation, Active Thermochemical Tables 1.112
 *   vaporisation   25 C, CRC Handbook: kJ/mol over molar mass
 *   RON, MON       vom Lehn et al., Fuel 281 (2020), collected measurements; 0 and 100 by
 * definition Gasoline stands for a fuel of RON 95: CH1.87 of Heywood's table, density and heating
 * value as in check 7-14, vaporisation Cengel and Boles, octane numbers the least that EN 228
 * allows [memory].
 */
static const struct shv_fuel_data table_of_fuels[] = {
    {"gasoline", {7.6, 14.212, 0.0}, 0.10561, 745.0, 14.6, 43.5e6, 350e3, 95.0, 85.0},
    {"isooctane", {8.0, 18.0, 0.0}, 0.1142285, 691.9, 15.13, 44.345e6, 307.6e3, 100.0, 100.0},
    {"n-heptane", {7.0, 16.0, 0.0}, 0.1002019, 683.7, 15.18, 44.561e6, 365.0e3, 0.0, 0.0},
    {"toluene", {7.0, 8.0, 0.0}, 0.0921384, 866.9, 13.50, 40.526e6, 412.5e3, 120.1, 103.5},
    {"ethanol", {2.0, 6.0, 1.0}, 0.0460684, 789.3, 9.00, 26.817e6, 918.6e3, 108.6, 89.7},
    {"methanol", {1.0, 4.0, 1.0}, 0.0320419, 791.4, 6.47, 19.934e6, 1168.2e3, 108.7, 88.6},
};

size_t shv_fuel_data_table(const struct shv_fuel_data **table)
{
    *table = table_of_fuels;
    return COUNT(table_of_fuels);
}

const struct shv_fuel_data *shv_fuel_data_find(const char *name)
{
    for (size_t i = 0; i < COUNT(table_of_fuels); i++) {
        if (strcmp(table_of_fuels[i].name, name) == 0) {
            return &table_of_fuels[i];
        }
    }
    return NULL;
}

/* Sums over the parts, of what is not yet divided by the whole. */
struct totals {
    double mass, volume, moles;
};

static double mass_of(const struct shv_fuel_data *part, double share, enum shv_share_basis basis)
{
    return basis == SHV_SHARE_VOLUME ? share * part->density : share;
}

static struct totals sum_up(size_t count, const struct shv_fuel_data *parts, const double *shares,
                            enum shv_share_basis basis)
{
    struct totals t = {0};
    for (size_t i = 0; i < count; i++) {
        double mass = mass_of(&parts[i], shares[i], basis);
        t.mass += mass;
        t.volume += mass / parts[i].density;
        t.moles += mass / parts[i].molar_mass;
    }
    return t;
}

/* Adds a part with its share w of the mass and x of the moles. */
static void add_part(struct shv_fuel_data *blend, const struct shv_fuel_data *part, double w,
                     double x)
{
    blend->stoichiometric += w * part->stoichiometric;
    blend->heating_value += w * part->heating_value;
    blend->vaporisation += w * part->vaporisation;
    blend->composition.carbon += x * part->composition.carbon;
    blend->composition.hydrogen += x * part->composition.hydrogen;
    blend->composition.oxygen += x * part->composition.oxygen;
    blend->ron += x * part->ron;
    blend->mon += x * part->mon;
}

struct shv_fuel_data shv_fuel_blend(size_t count, const struct shv_fuel_data *parts,
                                    const double *shares, enum shv_share_basis basis)
{
    struct totals t = sum_up(count, parts, shares, basis);
    struct shv_fuel_data sum = {.molar_mass = t.mass / t.moles, .density = t.mass / t.volume};
    for (size_t i = 0; i < count; i++) {
        double mass = mass_of(&parts[i], shares[i], basis);
        /* An unknown octane number of a part that is not there must not spoil the blend's. */
        if (shares[i] > 0.0) {
            add_part(&sum, &parts[i], mass / t.mass, mass / parts[i].molar_mass / t.moles);
        }
    }
    return sum;
}

double shv_octane_index(double ron, double mon, double k)
{
    return (1.0 - k) * ron + k * mon;
}
