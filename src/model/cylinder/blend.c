/* Blends of fuels: docs/model.md, sections 10.1 to 10.4. */
#include "model/cylinder/blend.h"

#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* kg/mol */
#define CARBON 0.0120107
#define HYDROGEN 0.00100794
#define OXYGEN 0.0159994
/* Heywood 1988, section 3.4: mol and kg/mol of atmospheric nitrogen to a mol of oxygen. */
#define NITROGEN_PER_OXYGEN 3.773
#define NITROGEN 0.02816
/* J/mol, Active Thermochemical Tables 1.112, 298.15 K. */
#define FORMATION_CO2 (-393475.0)
#define FORMATION_H2O (-241831.0)

#define SHARE_SUM_TOLERANCE 1e-9
#define MOLAR_MASS_TOLERANCE 0.01
#define AIR_TOLERANCE 0.02

double shv_composition_molar_mass(const struct shv_composition *c)
{
    return c->carbon * CARBON + c->hydrogen * HYDROGEN + c->oxygen * OXYGEN;
}

double shv_composition_oxygen(const struct shv_composition *c)
{
    return c->carbon + c->hydrogen / 4.0 - c->oxygen / 2.0;
}

double shv_composition_air(const struct shv_composition *c)
{
    double fuel = shv_composition_molar_mass(c);
    double per_oxygen = 2.0 * OXYGEN + NITROGEN_PER_OXYGEN * NITROGEN;
    return fuel > 0.0 ? shv_composition_oxygen(c) * per_oxygen / fuel : 0.0;
}

double shv_composition_heating_value(const struct shv_composition *c, double formation)
{
    double fuel = shv_composition_molar_mass(c);
    double products = c->carbon * FORMATION_CO2 + c->hydrogen / 2.0 * FORMATION_H2O;
    return fuel > 0.0 ? (formation - products) / fuel : 0.0;
}

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

static const char *name_of(const struct shv_fuel_data *d)
{
    return d->name ? d->name : "a fuel";
}

static enum shv_status check_composition(const struct shv_fuel_data *d, struct shv_message *message)
{
    const double atoms[] = {d->composition.carbon, d->composition.hydrogen, d->composition.oxygen};
    static const char *const element[] = {"carbon", "hydrogen", "oxygen"};
    for (size_t i = 0; i < COUNT(atoms); i++) {
        if (!isfinite(atoms[i]) || atoms[i] < 0.0) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "%s: %s is %.6g atoms; a number of 0 or more is needed", name_of(d),
                            element[i], atoms[i]);
        }
    }
    return SHV_OK;
}

/* Every value on its own. */
static enum shv_status check_ranges(const struct shv_fuel_data *d, struct shv_message *message)
{
    const struct {
        const char *what;
        double value;
        bool may_be_zero;
    } row[] = {
        {"molar mass, kg/mol,", d->molar_mass, false},
        {"density, kg/m3,", d->density, false},
        {"stoichiometric ratio", d->stoichiometric, false},
        {"heating value, J/kg,", d->heating_value, false},
        {"heat of vaporisation, J/kg,", d->vaporisation, true},
    };
    for (size_t i = 0; i < COUNT(row); i++) {
        double v = row[i].value;
        if (!isfinite(v) || v < 0.0 || (v <= 0.0 && !row[i].may_be_zero)) {
            return shv_fail(message, SHV_BAD_INPUT, "%s: %s is %.6g; a number %s is needed",
                            name_of(d), row[i].what, v,
                            row[i].may_be_zero ? "of 0 or more" : "above 0");
        }
    }
    if (isinf(d->ron) || isinf(d->mon)) {
        return shv_fail(message, SHV_BAD_INPUT, "%s: an octane number is infinite", name_of(d));
    }
    return check_composition(d, message);
}

enum shv_status shv_fuel_data_check(const struct shv_fuel_data *d, struct shv_message *message)
{
    enum shv_status status = check_ranges(d, message);
    if (status != SHV_OK) {
        return status;
    }
    double mass = shv_composition_molar_mass(&d->composition);
    if (!(fabs(d->molar_mass - mass) <= MOLAR_MASS_TOLERANCE * mass)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s: molar mass is %.6g kg/mol, but its composition has %.6g; they must "
                        "agree within 1 %%",
                        name_of(d), d->molar_mass, mass);
    }
    double air = shv_composition_air(&d->composition);
    if (!(fabs(d->stoichiometric - air) <= AIR_TOLERANCE * air)) {
        return shv_fail(message, SHV_BAD_INPUT,
                        "%s: stoichiometric ratio is %.6g, but its composition needs %.6g; they "
                        "must agree within 2 %%",
                        name_of(d), d->stoichiometric, air);
    }
    return SHV_OK;
}

static enum shv_status check_shares(size_t count, const double *shares, struct shv_message *message)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        if (!isfinite(shares[i]) || shares[i] < 0.0) {
            return shv_fail(message, SHV_BAD_INPUT,
                            "share %zu of a blend is %.6g; a number of 0 or more is needed", i + 1,
                            shares[i]);
        }
        sum += shares[i];
    }
    if (fabs(sum - 1.0) > SHARE_SUM_TOLERANCE) {
        return shv_fail(message, SHV_BAD_INPUT, "shares of a blend sum to %.12g; 1 is needed", sum);
    }
    return SHV_OK;
}

static enum shv_status check_blend(size_t count, const struct shv_fuel_data *parts,
                                   const double *shares, struct shv_message *message)
{
    if (count == 0) {
        return shv_fail(message, SHV_BAD_INPUT, "a blend needs at least one part");
    }
    for (size_t i = 0; i < count; i++) {
        enum shv_status status = check_ranges(&parts[i], message);
        if (status != SHV_OK) {
            return status;
        }
    }
    return check_shares(count, shares, message);
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

enum shv_status shv_fuel_blend(size_t count, const struct shv_fuel_data *parts,
                               const double *shares, enum shv_share_basis basis,
                               struct shv_fuel_data *blend, double *mass_shares,
                               double *molar_shares, struct shv_message *message)
{
    enum shv_status status = check_blend(count, parts, shares, message);
    if (status != SHV_OK) {
        return status;
    }
    struct totals t = sum_up(count, parts, shares, basis);
    struct shv_fuel_data sum = {.molar_mass = t.mass / t.moles, .density = t.mass / t.volume};
    for (size_t i = 0; i < count; i++) {
        double mass = mass_of(&parts[i], shares[i], basis);
        double w = mass / t.mass, x = mass / parts[i].molar_mass / t.moles;
        /* An unknown octane number of a part that is not there must not spoil the blend's. */
        if (shares[i] > 0.0) {
            add_part(&sum, &parts[i], w, x);
        }
        if (mass_shares) {
            mass_shares[i] = w;
        }
        if (molar_shares) {
            molar_shares[i] = x;
        }
    }
    *blend = sum;
    return SHV_OK;
}

double shv_octane_index(double ron, double mon, double k)
{
    return (1.0 - k) * ron + k * mon;
}
