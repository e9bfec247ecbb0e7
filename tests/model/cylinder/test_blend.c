/* Blends: values by hand from docs/model.md, section 10, bounds and limits over random blends. */
#include "support/study_fixture.h"
#include "support/composition.h"

static const struct shv_fuel_data light = {
    .name = "light",
    .composition = {1.0, 4.0, 0.0},
    .molar_mass = 0.016,
    .density = 500.0,
    .stoichiometric = 17.0,
    .heating_value = 50e6,
    .vaporisation = 500e3,
    .ron = 120.0,
    .mon = 110.0,
};

static const struct shv_fuel_data heavy = {
    .name = "heavy",
    .composition = {6.0, 6.0, 2.0},
    .molar_mass = 0.080,
    .density = 1000.0,
    .stoichiometric = 13.0,
    .heating_value = 40e6,
    .vaporisation = 0.0,
    .ron = 80.0,
    .mon = 70.0,
};

/* 1/2 by volume: 250 and 500 kg in 1 m3, w = 1/3, 2/3; moles 15625 and 6250, x = 5/7, 2/7. */
static void half_by_volume(void **state)
{
    (void)state;
    const struct shv_fuel_data parts[] = {light, heavy};
    const double shares[] = {0.5, 0.5};
    struct shv_fuel_data b = shv_fuel_blend(2, parts, shares, SHV_SHARE_VOLUME);
    assert_null(b.name);
    assert_relative(b.density, 750.0, 1e-14);
    assert_relative(b.molar_mass, 750.0 / 21875.0, 1e-14);
    assert_relative(b.stoichiometric, (17.0 + 2.0 * 13.0) / 3.0, 1e-14);
    assert_relative(b.heating_value, (50e6 + 2.0 * 40e6) / 3.0, 1e-14);
    assert_relative(b.vaporisation, 500e3 / 3.0, 1e-14);
    assert_relative(b.composition.carbon, (5.0 + 12.0) / 7.0, 1e-14);
    assert_relative(b.composition.hydrogen, (20.0 + 12.0) / 7.0, 1e-14);
    assert_relative(b.composition.oxygen, 4.0 / 7.0, 1e-14);
    assert_relative(b.ron, (5.0 * 120.0 + 2.0 * 80.0) / 7.0, 1e-14);
    assert_relative(b.mon, (5.0 * 110.0 + 2.0 * 70.0) / 7.0, 1e-14);
}

/* 1/2 by mass: volumes 1/1000 and 1/2000 m3, moles 31.25 and 6.25. */
static void half_by_mass(void **state)
{
    (void)state;
    const struct shv_fuel_data parts[] = {light, heavy};
    struct shv_fuel_data b = shv_fuel_blend(2, parts, (const double[]){0.5, 0.5}, SHV_SHARE_MASS);
    assert_relative(b.density, 1.0 / 0.0015, 1e-14);
    assert_relative(b.molar_mass, 1.0 / 37.5, 1e-14);
    assert_relative(b.stoichiometric, 15.0, 1e-14);
    assert_relative(b.ron, (5.0 * 120.0 + 80.0) / 6.0, 1e-14);
}

static void alone_it_is_itself(void **state)
{
    (void)state;
    const struct shv_fuel_data *table;
    size_t count = shv_fuel_data_table(&table);
    assert_int_equal(count, 6);
    for (size_t i = 0; i < count; i++) {
        for (int basis = SHV_SHARE_VOLUME; basis <= SHV_SHARE_MASS; basis++) {
            struct shv_fuel_data b =
                shv_fuel_blend(1, &table[i], (const double[]){1.0}, (enum shv_share_basis)basis);
            assert_relative(b.density, table[i].density, 1e-14);
            assert_relative(b.molar_mass, table[i].molar_mass, 1e-14);
            assert_relative(b.heating_value, table[i].heating_value, 1e-14);
            assert_relative(b.ron, table[i].ron, 1e-14);
            assert_relative(b.composition.hydrogen, table[i].composition.hydrogen, 1e-14);
        }
    }
}

static void random_shares(uint64_t *seed, size_t count, double *shares)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += shares[i] = random_in(seed, 0.0, 1.0);
    }
    for (size_t i = 0; i < count; i++) {
        shares[i] /= sum;
    }
}

/* The air that the blend's composition needs is that of its parts: mixing by mass loses no atom. */
static void air_follows_composition(void **state)
{
    (void)state;
    const struct shv_fuel_data *table;
    size_t count = shv_fuel_data_table(&table);
    struct shv_fuel_data parts[6];
    memcpy(parts, table, sizeof parts);
    for (size_t i = 0; i < count; i++) {
        parts[i].stoichiometric = composition_air(&parts[i].composition);
        parts[i].molar_mass = composition_molar_mass(&parts[i].composition);
    }
    uint64_t seed = 7;
    for (int n = 0; n < 300; n++) {
        double shares[6];
        random_shares(&seed, count, shares);
        struct shv_fuel_data b = shv_fuel_blend(count, parts, shares, SHV_SHARE_VOLUME);
        assert_relative(b.stoichiometric, composition_air(&b.composition), 1e-12);
        assert_relative(b.molar_mass, composition_molar_mass(&b.composition), 1e-12);
    }
}

/* Shares by volume, turned into shares by mass, give the same blend. */
static void basis_does_not_matter(void **state)
{
    (void)state;
    const struct shv_fuel_data *table;
    size_t count = shv_fuel_data_table(&table);
    uint64_t seed = 8;
    for (int n = 0; n < 300; n++) {
        double shares[6], mass[6];
        random_shares(&seed, count, shares);
        struct shv_fuel_data a = shv_fuel_blend(count, table, shares, SHV_SHARE_VOLUME);
        for (size_t i = 0; i < count; i++) {
            mass[i] = shares[i] * table[i].density / a.density;
        }
        struct shv_fuel_data b = shv_fuel_blend(count, table, mass, SHV_SHARE_MASS);
        assert_relative(b.density, a.density, 1e-12);
        assert_relative(b.heating_value, a.heating_value, 1e-12);
        assert_relative(b.vaporisation, a.vaporisation, 1e-12);
        assert_relative(b.ron, a.ron, 1e-12);
        assert_relative(b.molar_mass, a.molar_mass, 1e-12);
    }
}

/* Of a blend of two blends the order does not matter. */
static void blends_of_blends(void **state)
{
    (void)state;
    const struct shv_fuel_data *table;
    (void)shv_fuel_data_table(&table);
    struct shv_fuel_data first =
        shv_fuel_blend(2, table, (const double[]){0.3, 0.7}, SHV_SHARE_MASS);
    const struct shv_fuel_data pair[] = {first, table[4]};
    struct shv_fuel_data twice =
        shv_fuel_blend(2, pair, (const double[]){0.4, 0.6}, SHV_SHARE_MASS);
    const struct shv_fuel_data three[] = {table[0], table[1], table[4]};
    struct shv_fuel_data once =
        shv_fuel_blend(3, three, (const double[]){0.12, 0.28, 0.6}, SHV_SHARE_MASS);
    assert_relative(twice.density, once.density, 1e-13);
    assert_relative(twice.ron, once.ron, 1e-13);
    assert_relative(twice.mon, once.mon, 1e-13);
    assert_relative(twice.composition.oxygen, once.composition.oxygen, 1e-13);
}

/* A light part with a high octane number lifts the blend more than its share of the volume. */
static void alcohol_lifts_octane_early(void **state)
{
    (void)state;
    const struct shv_fuel_data parts[] = {*shv_fuel_data_find("ethanol"),
                                          *shv_fuel_data_find("gasoline")};
    for (double e = 0.05; e < 0.99; e += 0.05) {
        struct shv_fuel_data b =
            shv_fuel_blend(2, parts, (const double[]){e, 1.0 - e}, SHV_SHARE_VOLUME);
        assert_true(b.ron > e * parts[0].ron + (1.0 - e) * parts[1].ron);
        assert_true(b.ron < parts[0].ron);
    }
}

static void octane_not_known(void **state)
{
    (void)state;
    struct shv_fuel_data parts[] = {light, heavy};
    parts[1].ron = NAN;
    struct shv_fuel_data b = shv_fuel_blend(2, parts, (const double[]){0.5, 0.5}, SHV_SHARE_MASS);
    assert_true(isnan(b.ron));
    assert_true(b.mon > 70.0 && b.mon < 110.0);
    b = shv_fuel_blend(2, parts, (const double[]){1.0, 0.0}, SHV_SHARE_MASS);
    assert_relative(b.ron, 120.0, 1e-15);
}

static void octane_index(void **state)
{
    (void)state;
    assert_within(shv_octane_index(95.0, 85.0, 0.0), 95.0, 0.0);
    assert_within(shv_octane_index(95.0, 85.0, 1.0), 85.0, 0.0);
    assert_within(shv_octane_index(95.0, 85.0, 0.5), 90.0, 1e-13);
    assert_within(shv_octane_index(95.0, 85.0, -0.4), 99.0, 1e-13);
}

/* By the gases of the closed cycle, as far as the table's digits go. */
static void table_fits_together(void **state)
{
    (void)state;
    const struct shv_fuel_data *table;
    size_t count = shv_fuel_data_table(&table);
    for (size_t i = 0; i < count; i++) {
        const struct shv_composition *c = &table[i].composition;
        assert_relative(table[i].molar_mass, composition_molar_mass(c), 1e-4);
        assert_relative(table[i].stoichiometric, composition_air(c), 1e-3);
        assert_ptr_equal(shv_fuel_data_find(table[i].name), &table[i]);
    }
    assert_null(shv_fuel_data_find("water"));
}

/* As nearly one as a study may have them. */
static void shares_nearly_one(void **state)
{
    (void)state;
    const struct shv_fuel_data parts[] = {light, heavy};
    struct shv_fuel_data exact =
        shv_fuel_blend(2, parts, (const double[]){0.5, 0.5}, SHV_SHARE_MASS);
    struct shv_fuel_data near =
        shv_fuel_blend(2, parts, (const double[]){0.5, 0.5 + 9e-10}, SHV_SHARE_MASS);
    assert_relative(near.density, exact.density, 1e-8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(half_by_volume),
        cmocka_unit_test(half_by_mass),
        cmocka_unit_test(alone_it_is_itself),
        cmocka_unit_test(air_follows_composition),
        cmocka_unit_test(basis_does_not_matter),
        cmocka_unit_test(blends_of_blends),
        cmocka_unit_test(alcohol_lifts_octane_early),
        cmocka_unit_test(octane_not_known),
        cmocka_unit_test(octane_index),
        cmocka_unit_test(table_fits_together),
        cmocka_unit_test(shares_nearly_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
