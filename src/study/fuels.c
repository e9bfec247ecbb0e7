/* Fuels: by their properties, as blends, and what the closed cycle asks of them (checks.h). */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "model/cylinder/combustion_gas.h"
#include "study/catalog.h"
#include "study/checks.h"
#include "study/nearest.h"

#define SUM_OFF 1e-9
/* As the closed cycle accepts them (src/model/cylinder/cycle_input.c). */
#define ATOMS_OFF 0.03
#define OCTANE_LEAST 10.0
#define BY_CYCLE "engine.efficiency.model = \"cycle\""

/* Keys whose value a blend has as well. */
static const char *const blended_keys[] = {
    "stoichiometric",       "heating_value",   "density",       "ron",       "mon",
    "heat_of_vaporisation", "hydrogen_carbon", "oxygen_carbon", "molar_mass"};

/* ---- between the two ways to describe a fuel ---- */

/* A fuel is known by atoms per atom of carbon, a blend is made of molecules: there are as many
 * atoms of carbon in one as make up its molar mass. */
static struct shv_fuel_data data_of(const struct shv_fuel *fuel)
{
    const struct shv_cycle_fuel atoms = {.hydrogen_carbon = fuel->hydrogen_carbon,
                                         .oxygen_carbon = fuel->oxygen_carbon};
    double carbon = fuel->molar_mass / cgas_carbon_mass(&atoms);
    return (struct shv_fuel_data){
        .name = fuel->name,
        .composition = {carbon, carbon * fuel->hydrogen_carbon, carbon * fuel->oxygen_carbon},
        .molar_mass = fuel->molar_mass,
        .density = fuel->density,
        .stoichiometric = fuel->stoichiometric,
        .heating_value = fuel->heating_value,
        .vaporisation = fuel->vaporisation,
        .ron = fuel->ron,
        .mon = fuel->mon};
}

static struct shv_fuel fuel_of(const struct shv_fuel_data *data)
{
    double carbon = data->composition.carbon;
    return (struct shv_fuel){.stoichiometric = data->stoichiometric,
                             .heating_value = data->heating_value,
                             .density = data->density,
                             .ron = data->ron,
                             .mon = data->mon,
                             .vaporisation = data->vaporisation,
                             .hydrogen_carbon = data->composition.hydrogen / carbon,
                             .oxygen_carbon = data->composition.oxygen / carbon,
                             .molar_mass = data->molar_mass};
}

/* ---- components ---- */

/* The fuels that a blend may name: those further up in its own list, and those of the catalogue. */
struct known {
    const struct parts *above, *catalogue;
    const config_setting_t *entry; /* the blend's */
};

static struct known known_to(const struct reader *reader, const config_setting_t *entry)
{
    const config_setting_t *list = config_setting_parent(entry);
    bool own = config_setting_is_root(config_setting_parent(list));
    return (struct known){own ? &reader->chosen[ENTRIES_FUELS] : &reader->catalogue[ENTRIES_FUELS],
                          &reader->catalogue[ENTRIES_FUELS], entry};
}

static const struct shv_fuel *find_in(const struct parts *parts, const char *name)
{
    const struct fuel_draft *drafts = (const void *)parts->drafts;
    size_t i = catalog_find(parts, name);
    return i < parts->count ? &drafts[i].fuel : NULL;
}

static bool has_name(const config_setting_t *entry, const char *name)
{
    const config_setting_t *member = reader_member(entry, "name");
    const char *text = member == NULL ? NULL : config_setting_get_string(member);
    return text != NULL && strcmp(text, name) == 0;
}

/* A fuel of that name further down must not be passed over for a substance of the same name. */
static bool is_below(const config_setting_t *entry, const char *name)
{
    const config_setting_t *list = config_setting_parent(entry);
    int count = config_setting_length(list);
    for (int i = config_setting_index(entry) + 1; i < count; i++) {
        if (has_name(config_setting_get_elem(list, (unsigned)i), name)) {
            return true;
        }
    }
    return false;
}

static void offer_parts(struct nearest *nearest, const char *wanted, const struct parts *parts)
{
    for (size_t i = 0; i < parts->count; i++) {
        if (parts->part[i].name != NULL) {
            nearest_offer(nearest, wanted, parts->part[i].name);
        }
    }
}

/* "gasoline, ... and methanol", each also offered as what may have been meant. */
static void list_substances(char *text, size_t size, struct nearest *nearest, const char *wanted)
{
    const struct shv_fuel_data *table;
    size_t count = shv_fuel_data_table(&table), used = 0;
    for (size_t i = 0; i < count && used < size; i++) {
        const char *between = i == 0 ? "" : i + 1 == count ? " and " : ", ";
        int length = snprintf(text + used, size - used, "%s%s", between, table[i].name);
        used += length > 0 ? (size_t)length : 0;
        nearest_offer(nearest, wanted, table[i].name);
    }
}

static void tell_unknown(struct reader *reader, const struct known *known,
                         const config_setting_t *where, const char *name)
{
    char substances[256] = "";
    struct nearest nearest = {NULL, SIZE_MAX};
    offer_parts(&nearest, name, known->above);
    offer_parts(&nearest, name, known->catalogue);
    list_substances(substances, sizeof substances, &nearest, name);
    bool below = is_below(known->entry, name);
    const char *meant = below ? NULL : nearest_word(&nearest, name);
    reader_error(reader, where, NULL,
                 "found \"%s\"%s; accepted: a fuel further up in this list or in catalogue.fuels, "
                 "or one of %s%s%s%s",
                 name, below ? ", which stands further down" : "", substances,
                 meant == NULL ? "" : "; did you mean \"", meant == NULL ? "" : meant,
                 meant == NULL ? "" : "\"?");
}

static bool find_component(struct reader *reader, const struct known *known,
                           const config_setting_t *where, const char *name,
                           struct shv_fuel_data *data)
{
    if (has_name(known->entry, name)) {
        reader_error(reader, where, NULL, "found the fuel itself; accepted: another fuel");
        return false;
    }
    const struct shv_fuel *fuel = find_in(known->above, name);
    if (fuel == NULL) {
        fuel = find_in(known->catalogue, name);
    }
    if (fuel != NULL) {
        *data = data_of(fuel);
        return true;
    }
    const struct shv_fuel_data *pure = shv_fuel_data_find(name);
    if (pure == NULL || is_below(known->entry, name)) {
        tell_unknown(reader, known, where, name);
        return false;
    }
    *data = *pure;
    return true;
}

/* ---- blending ---- */

struct mix {
    struct shv_fuel_data parts[BLEND_MAX];
    double shares[BLEND_MAX];
    size_t count;
};

/* False when something was told. */
static bool find_components(struct reader *reader, const config_setting_t *setting,
                            const struct fuel_draft *draft, struct mix *mix)
{
    const struct blend_part *parts = draft->blend;
    const config_setting_t *list = reader_member(setting, "blend");
    const struct known known = known_to(reader, setting);
    bool good = draft->blend_count > 0 && (int)draft->basis >= 0;
    for (size_t i = 0; i < draft->blend_count; i++) {
        const config_setting_t *entry = config_setting_get_elem(list, (unsigned)i);
        const config_setting_t *where = reader_member(entry, "component");
        mix->shares[i] = parts[i].share;
        if (parts[i].component == NULL ||
            !find_component(reader, &known, where, parts[i].component, &mix->parts[i])) {
            good = false;
        }
    }
    mix->count = draft->blend_count;
    return good;
}

/* NAN where a value was wrong, which is told already. */
static bool is_whole(const struct mix *mix)
{
    double sum = 0.0;
    for (size_t i = 0; i < mix->count; i++) {
        const struct shv_fuel_data *part = &mix->parts[i];
        sum += mix->shares[i] + part->molar_mass + part->density + part->stoichiometric +
               part->heating_value + part->vaporisation + part->composition.hydrogen +
               part->composition.oxygen;
    }
    return isfinite(sum);
}

static bool check_sum(struct reader *reader, const config_setting_t *setting, const struct mix *mix)
{
    double sum = 0.0;
    for (size_t i = 0; i < mix->count; i++) {
        sum += mix->shares[i];
    }
    if (fabs(sum - 1.0) <= SUM_OFF) {
        return true;
    }
    reader_error(reader, setting, "blend",
                 "found shares that sum to %.10g; accepted: shares that sum to 1", sum);
    return false;
}

static bool make_blend(struct reader *reader, const config_setting_t *setting,
                       const struct fuel_draft *draft, struct shv_fuel_data *blend)
{
    struct mix mix = {0};
    if (!find_components(reader, setting, draft, &mix) || !is_whole(&mix) ||
        !check_sum(reader, setting, &mix)) {
        return false;
    }
    *blend = shv_fuel_blend(mix.count, mix.parts, mix.shares, draft->basis);
    return true;
}

static bool check_blended(struct reader *reader, const config_setting_t *setting,
                          const struct key *key, double value)
{
    if (isnan(value) || key_in_range(key, value)) { /* NAN: an octane number that is not known */
        return true;
    }
    char range[256];
    const char *unit = shv_quantity_unit(key->quantity);
    key_range(key, range, sizeof range);
    reader_error(reader, setting, key->name, "found %.6g%s%s, from blend; accepted: %s", value,
                 unit[0] == '\0' ? "" : " ", unit, range);
    return false;
}

/* What is given besides takes the place of what the blend has: a measured octane number is better
 * than a rule of mixing. */
static bool use_blend(struct reader *reader, const config_setting_t *setting,
                      struct fuel_draft *draft, const struct shv_fuel_data *blend)
{
    const struct fuel_draft blended = {.fuel = fuel_of(blend)};
    bool good = true;
    for (size_t i = 0; i < sizeof blended_keys / sizeof blended_keys[0]; i++) {
        struct key key = key_at(&fuel_keys, key_find(&fuel_keys, blended_keys[i]));
        if (is_given(setting, key.name)) {
            continue;
        }
        double value;
        memcpy(&value, (const unsigned char *)&blended + key.place, sizeof value);
        good = check_blended(reader, setting, &key, value) && good;
        memcpy((unsigned char *)draft + key.place, &value, sizeof value);
    }
    return good;
}

/* Half of the sensitivity to either side of the antiknock index. */
static void take_aki(struct reader *reader, const config_setting_t *setting,
                     struct fuel_draft *draft)
{
    static const char *const of_aki[] = {"sensitivity", NULL}, *const of_both[] = {"ron", "mon",
                                                                                   NULL};
    if (!is_given(setting, "aki")) {
        reject_given(reader, setting, of_aki, "aki");
        return;
    }
    reject_given(reader, setting, of_both, "no aki");
    draft->fuel.ron = draft->aki + draft->sensitivity / 2.0;
    draft->fuel.mon = draft->aki - draft->sensitivity / 2.0;
    draft->fuel.by_aki = true;
}

void check_fuel(struct reader *reader, const config_setting_t *setting, void *base)
{
    static const char *const needed[] = {"stoichiometric", "heating_value", "density"};
    static const char *const of_blend[] = {"basis", NULL};
    struct fuel_draft *draft = base;
    if (is_given(setting, "blend")) {
        struct shv_fuel_data blend;
        draft->is_blended =
            make_blend(reader, setting, draft, &blend) && use_blend(reader, setting, draft, &blend);
        take_aki(reader, setting, draft);
        return;
    }
    take_aki(reader, setting, draft);
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
        if (!is_given(setting, needed[i])) {
            reader_error(reader, setting, needed[i], "found nothing; it is required without blend");
        }
    }
    reject_given(reader, setting, of_blend, "blend");
}

/* ---- for the closed cycle ---- */

static void require_octane(struct reader *reader, const config_setting_t *setting, const char *name,
                           double octane, const char *because)
{
    if (isnan(octane) && !is_given(setting, name)) {
        reader_error(reader, setting, name, "found nothing%s; it is required with %s",
                     is_given(setting, "blend") ? ", here or in a component of blend" : "",
                     because);
    }
}

/* Work, air and exhaust would not belong to one fuel otherwise. */
static void check_atoms(struct reader *reader, const config_setting_t *setting,
                        const struct shv_fuel *fuel)
{
    struct shv_cycle_fuel of_cycle = {.stoichiometric = fuel->stoichiometric,
                                      .hydrogen_carbon = fuel->hydrogen_carbon,
                                      .oxygen_carbon = fuel->oxygen_carbon};
    double ratio = cgas_implied_carbon_mass(&of_cycle) / cgas_carbon_mass(&of_cycle);
    if (fabs(ratio - 1.0) > ATOMS_OFF) {
        reader_error(reader, setting, "stoichiometric",
                     "found %.6g, but hydrogen_carbon = %.6g and oxygen_carbon = %.6g need %.4g; "
                     "accepted: within 3 %% of it with " BY_CYCLE,
                     fuel->stoichiometric, fuel->hydrogen_carbon, fuel->oxygen_carbon,
                     ratio * fuel->stoichiometric);
    }
}

static void check_octane_index(struct reader *reader, const struct shv_fuel *fuel, double weight)
{
    double index = weight == 0.0 ? fuel->ron : shv_octane_index(fuel->ron, fuel->mon, weight);
    if (index < OCTANE_LEAST) {
        const config_setting_t *engine = reader_member(reader->root, "engine");
        reader_error(reader, reader_member(engine, "knock"), "octane_weight",
                     "found %.10g, which makes an octane index of %.4g of \"%s\"; accepted: an "
                     "index of at least %.10g",
                     weight, index, fuel->name == NULL ? "" : fuel->name, OCTANE_LEAST);
    }
}

void check_atoms_of_fuels(struct reader *reader)
{
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    for (size_t i = 0; i < fuels->count; i++) {
        bool is_known = !is_given(fuels->part[i].setting, "blend") || drafts[i].is_blended;
        if (is_known && isfinite(drafts[i].fuel.ron)) {
            check_atoms(reader, fuels->part[i].setting, &drafts[i].fuel);
        }
    }
}

void check_fuels_of_cycle(struct reader *reader, const struct draft *draft)
{
    const struct parts *fuels = &reader->chosen[ENTRIES_FUELS];
    const struct fuel_draft *drafts = (const void *)fuels->drafts;
    double weight = draft->study.engine.knock.octane_weight;
    for (size_t i = 0; i < fuels->count; i++) {
        const config_setting_t *setting = fuels->part[i].setting;
        const struct shv_fuel *fuel = &drafts[i].fuel;
        if (is_given(setting, "blend") && !drafts[i].is_blended) {
            continue; /* its properties are not known, which is told already */
        }
        require_octane(reader, setting, "ron", fuel->ron, BY_CYCLE);
        if (fabs(weight) > 0.0) {
            require_octane(reader, setting, "mon", fuel->mon,
                           "an engine.knock.octane_weight other than 0");
        }
        check_octane_index(reader, fuel, weight);
        check_atoms(reader, setting, fuel);
    }
}
