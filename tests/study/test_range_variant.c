/* src/study/range_variant.c: what it refuses. That it puts the market's in: test_range_file.c. */
#include "study/common.h"

#include <unistd.h>

#include "sheave/range_file.h"

static int enter_source(void **state)
{
    (void)state;
    return chdir(SHEAVE_SOURCE_DIR);
}

/* A range of one vehicle in one market; everything borrowed. */
struct small {
    struct shv_range_file file;
    struct shv_range_vehicle vehicle;
    struct shv_range_market market;
    struct shv_site site;
    struct shv_fuel fuel;
    double sales;
};

static void make_small(struct small *s, const char *study)
{
    *s = (struct small){.sales = 1.0};
    s->fuel = (struct shv_fuel){.name = (char *)"fuel",
                                .stoichiometric = 14.6,
                                .heating_value = 43e6,
                                .density = 745.0,
                                .ron = 95.0,
                                .mon = 85.0,
                                .vaporisation = 350e3,
                                .hydrogen_carbon = 1.87,
                                .molar_mass = 0.105};
    s->site = (struct shv_site){.name = (char *)"place",
                                .ambient = {.pressure = 101325.0, .temperature = 288.15},
                                .weight = 1.0};
    s->vehicle = (struct shv_range_vehicle){
        .name = (char *)"car", .study = (char *)study, .family = SHV_NONE};
    s->market = (struct shv_range_market){
        .name = (char *)"market", .site_count = 1, .sites = &s->site, .sales = &s->sales};
    s->file = (struct shv_range_file){.path = (char *)"range.cfg",
                                      .vehicle_count = 1,
                                      .market_count = 1,
                                      .fuel_count = 1,
                                      .vehicle = &s->vehicle,
                                      .market = &s->market,
                                      .fuel = &s->fuel};
}

static void refuse(struct small *s, const char *words)
{
    struct shv_range_variant v;
    struct shv_diagnostics findings = {0};
    assert_int_equal(shv_range_variant_load(&s->file, 0, 0, &v, &findings), SHV_BAD_INPUT);
    assert_int_equal(findings.errors, 1);
    assert_non_null(strstr(findings.items[0].text, words));
    shv_diagnostics_free(&findings);
}

static void test_fuel_of_the_closed_cycle(void **state)
{
    (void)state;
    struct small s;
    make_small(&s, "tests/study/minimal.cfg");
    s.fuel.ron = NAN;
    refuse(&s, "fuel \"fuel\": found no ron");
}

static void test_objective_that_is_no_power(void **state)
{
    (void)state;
    struct small s;
    make_small(&s, "configs/boat.cfg");
    refuse(&s, "vehicle \"car\": found a study whose objective is no power");
}

static void test_study_that_is_not_there(void **state)
{
    (void)state;
    struct small s;
    struct shv_range_variant v;
    struct shv_diagnostics findings = {0};
    make_small(&s, "tests/study/none.cfg");
    assert_int_equal(shv_range_variant_load(&s.file, 0, 0, &v, &findings), SHV_IO);
    shv_diagnostics_free(&findings);
}

/* Both ends of a list stay, and what lies between is spread evenly. */
static void test_cores(void **state)
{
    (void)state;
    struct small s;
    struct shv_range_variant v;
    struct shv_diagnostics findings = {0};
    make_small(&s, "configs/hillclimb.cfg");
    s.vehicle.shelf.cores = 3;
    assert_int_equal(shv_range_variant_load(&s.file, 0, 0, &v, &findings), SHV_OK);
    const struct shv_cooler *c = &v.study.coolers[1]; /* 0.45 to 0.75 by 0.025 */
    assert_true(v.study.coolers[0].is_none);
    assert_int_equal(c->effectiveness.count, 3);
    assert_near(c->effectiveness.values[0], 0.45, 1e-9);
    assert_near(c->effectiveness.values[1], 0.60, 1e-9);
    assert_near(c->effectiveness.values[2], 0.75, 1e-9);
    shv_range_variant_free(&v);
    shv_diagnostics_free(&findings);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_fuel_of_the_closed_cycle),
        cmocka_unit_test(test_objective_that_is_no_power),
        cmocka_unit_test(test_study_that_is_not_there),
        cmocka_unit_test(test_cores),
    };
    return cmocka_run_group_tests(tests, enter_source, NULL);
}
