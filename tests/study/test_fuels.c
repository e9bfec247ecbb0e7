/* Fuels: blends have the numbers of shv_fuel_blend, what is given counts more, and the closed cycle
 * takes each fuel that a study with it may have. */
#include "study/common.h"

#include "support/composition.h"
#include "sheave/cycle.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS TRIAL_LIMITS
#define CYCLE_ENGINE                                                                               \
    "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"          \
    " compression_ratio = 9; speed = { from = \"1000 rpm\"; to = \"3000 rpm\"; step = \"1000 "     \
    "rpm\"; };\n"                                                                                  \
    " volumetric_efficiency = ((\"2000 rpm\", 0.85)); };\n"
#define CYCLE_REST TRIAL_TITLE CYCLE_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS
#define REGULAR                                                                                    \
    "{ name = \"regular\"; stoichiometric = 14.6; heating_value = \"43.5e6 J/kg\"; density = "     \
    "\"745 kg/m3\"; ron = "                                                                        \
    "91; "                                                                                         \
    "mon = 82; }"

static struct shv_fuel_data regular(void)
{
    const struct shv_composition unit = {1.0, 1.87, 0.0};
    double carbon = 0.105 / composition_molar_mass(&unit);
    return (struct shv_fuel_data){.composition = {carbon, 1.87 * carbon, 0.0},
                                  .molar_mass = 0.105,
                                  .density = 745.0,
                                  .stoichiometric = 14.6,
                                  .heating_value = 43.5e6,
                                  .vaporisation = 350e3,
                                  .ron = 91.0,
                                  .mon = 82.0};
}

static void check_against(const struct shv_fuel *fuel, const struct shv_fuel_data *data)
{
    assert_near(fuel->stoichiometric, data->stoichiometric, 1e-14);
    assert_near(fuel->heating_value, data->heating_value, 1e-14);
    assert_near(fuel->density, data->density, 1e-14);
    assert_near(fuel->ron, data->ron, 1e-14);
    assert_near(fuel->mon, data->mon, 1e-14);
    assert_near(fuel->vaporisation, data->vaporisation, 1e-14);
    assert_near(fuel->molar_mass, data->molar_mass, 1e-14);
    assert_near(fuel->hydrogen_carbon, data->composition.hydrogen / data->composition.carbon,
                1e-14);
    assert_near(fuel->oxygen_carbon, data->composition.oxygen / data->composition.carbon, 1e-14);
}

static void check_blend(enum shv_share_basis basis, const char *text)
{
    const struct shv_fuel_data parts[] = {*shv_fuel_data_find("ethanol"), regular()};
    static const double shares[] = {0.85, 0.15};
    struct shv_fuel_data blend = shv_fuel_blend(2, parts, shares, basis);
    struct trial trial;
    try_text(&trial, text);
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.fuel_count, 1);
    assert_string_equal(trial.study.fuels[0].name, "e85");
    check_against(&trial.study.fuels[0], &blend);
    end_trial(&trial);
}

#define E85(more)                                                                                  \
    "{ name = \"e85\"; " more " blend = ( { component = \"ethanol\"; share = \"85 %\"; },\n"       \
    " { component = \"regular\"; share = 0.15; } ); }"

/* Half of the sensitivity to either side; an air-fuel ratio is one of the fuel. */
static void test_aki_and_afr(void **state)
{
    (void)state;
    static const char fuel[] =
        "fuels = ( { name = \"f\"; stoichiometric = 14.5; heating_value = "
        "\"43.5 MJ/kg\"; density = \"6.2 lb/gal\"; aki = 91; sensitivity = 10; } );\n"
        "mixture = { afr = [12.0, 11.5]; };\n";
    struct trial trial;
    char text[4096];
    snprintf(text, sizeof text, "%s%s", CYCLE_REST, fuel);
    try_text(&trial, text);
    assert_int_equal(trial.status, SHV_OK);
    assert_near(trial.study.fuels[0].ron, 96.0, 1e-12);
    assert_near(trial.study.fuels[0].mon, 86.0, 1e-12);
    assert_true(trial.study.fuels[0].by_aki);
    assert_int_equal(trial.study.numbers[SHV_DIM_LAMBDA].count, 2);
    assert_near(trial.study.numbers[SHV_DIM_LAMBDA].values[0], 11.5 / 14.5, 1e-12);
    assert_near(trial.study.numbers[SHV_DIM_LAMBDA].values[1], 12.0 / 14.5, 1e-12);
    end_trial(&trial);
    snprintf(text, sizeof text, "%s%s", CYCLE_REST, fuel);
    memcpy(strstr(text, "[12.0"), "[22.0", 5);
    try_text(&trial, text);
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_string_equal(finding(&trial, 0),
                        "mixture.afr: found 22, lambda 1.517 of a fuel with 14.5 at "
                        "lambda 1; accepted: 10.15 to 17.4");
    end_trial(&trial);
}

static void test_blend(void **state)
{
    (void)state;
    check_blend(SHV_SHARE_VOLUME,
                REST "catalogue = { fuels = ( " REGULAR ", " E85("") " ); };\n"
                                                                     "fuels = (\"e85\");\n");
    check_blend(SHV_SHARE_MASS, REST "catalogue = { fuels = ( " REGULAR " ); };\n"
                                     "fuels = ( " E85("basis = \"mass\";") " );\n");
}

/* A measured number beats the rule; the rest stays. */
static void test_given_counts(void **state)
{
    (void)state;
    struct trial trial, plain;
    try_text(&plain, REST "fuels = ( " REGULAR ", " E85("") " );\n");
    try_text(&trial, REST "fuels = ( " REGULAR ", " E85(
                         "ron = 105; density = \"0.78 kg/l\"; oxygen_carbon = 0.4;") " );\n");
    assert_int_equal(plain.status, SHV_OK);
    assert_int_equal(trial.status, SHV_OK);
    struct shv_fuel expected = plain.study.fuels[1];
    const struct shv_fuel *fuel = &trial.study.fuels[1];
    assert_true(fuel->ron == 105.0 && fuel->oxygen_carbon == 0.4);
    assert_near(fuel->density, 780.0, 1e-15);
    assert_true(fuel->mon == expected.mon && fuel->stoichiometric == expected.stoichiometric);
    assert_true(fuel->heating_value == expected.heating_value);
    assert_true(fuel->vaporisation == expected.vaporisation);
    assert_true(fuel->hydrogen_carbon == expected.hydrogen_carbon);
    assert_true(fuel->molar_mass == expected.molar_mass);
    end_trial(&trial);
    end_trial(&plain);
}

/* A component may have left the catalogue for the study, and a blend may be one itself. */
static void test_components(void **state)
{
    (void)state;
    struct trial trial;
    try_text(
        &trial,
        REST "catalogue = { fuels = ( " REGULAR ", " E85(
            "") " ); };\n"
                "fuels = ( \"regular\", \"e85\", { name = \"all of it\"; basis = \"mass\";\n"
                " blend = ( { component = \"regular\"; share = 1; } ); },\n"
                " { name = \"mean\"; basis = \"mass\"; blend = (\n"
                " { component = \"e85\"; share = 0.5; }, { component = \"regular\"; share = 0.5; } "
                "); },\n"
                " { name = \"later\"; blend = ( { component = \"mean\"; share = 1; } ); } );\n");
    assert_int_equal(trial.status, SHV_OK);
    const struct shv_fuel *fuels = trial.study.fuels;
    const struct shv_fuel_data data = regular();
    check_against(&fuels[2], &data);
    assert_near(fuels[3].heating_value, 0.5 * (fuels[0].heating_value + fuels[1].heating_value),
                1e-14);
    assert_near(fuels[4].ron, fuels[3].ron, 1e-14);
    end_trial(&trial);
}

/* A fuel of the catalogue takes the place of the substance of that name. */
static void test_catalogue_first(void **state)
{
    (void)state;
    struct trial trial;
    try_text(
        &trial, REST
        "catalogue = { fuels = ( { name = \"ethanol\"; stoichiometric = 8.9; heating_value = "
        "\"26e6 J/kg\"; density = \"800 kg/m3\"; } ); };\n"
        "fuels = ( { name = \"same\"; blend = ( { component = \"ethanol\"; share = 1; } ); },\n"
        " { name = \"other\"; blend = ( { component = \"methanol\"; share = 1; } ); } );\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_near(trial.study.fuels[0].density, 800.0, 1e-15);
    assert_true(isnan(trial.study.fuels[0].ron)); /* nor does it borrow from that */
    check_against(&trial.study.fuels[1], shv_fuel_data_find("methanol"));
    end_trial(&trial);
}

/* What is wrong in a component is told once, and the blend says nothing more. */
static void test_wrong_component(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, CYCLE_REST "fuels = ( { name = \"regular\"; stoichiometric = 14.6; "
                                "heating_value = \"43.5e6 J/kg\"; density "
                                "= \"7 kg/m3\"; ron = 91; },\n" E85("") " );\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "fuels[1].density: found \"7 kg/m3\"; accepted: 300 to 1500 kg/m3");
    end_trial(&trial);
}

static void test_evaporated_share(void **state)
{
    (void)state;
    static const struct {
        const char *cycle;
        double share;
    } rows[] = {{"", 0.5},
                {"injection = \"port\";", 0.5},
                {"injection = \"direct\";", 0.8},
                {"injection = \"direct\"; evaporated_share = 0.6;", 0.6},
                {"evaporated_share = 0;", 0.0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct trial trial;
        char text[2048];
        snprintf(
            text, sizeof text,
            TRIAL_TITLE TRIAL_SITES TRIAL_DRIVE TRIAL_BLOWERS
            "fuels = ( " REGULAR " );\n"
            "engine = { name = \"e\"; cylinders = 4; bore = \"0.086 m\"; stroke = \"0.086 m\";\n"
            " compression_ratio = 9; speed = { from = \"1000 rpm\"; to = \"3000 rpm\"; step = "
            "\"1000 rpm\"; };\n"
            " volumetric_efficiency = ((\"2000 rpm\", 0.85)); cycle = { %s }; };\n",
            rows[i].cycle);
        try_text(&trial, text);
        assert_int_equal(trial.status, SHV_OK);
        assert_true(trial.study.engine.cycle.evaporated_share == rows[i].share);
        end_trial(&trial);
    }
}

/* ---- the cycle itself ---- */

static enum shv_status run_cycle(const struct shv_engine *engine, const struct shv_fuel *fuel,
                                 struct shv_message *message)
{
    struct shv_cycle_engine unused;
    struct shv_cycle_fuel of_cycle;
    struct shv_cycle_knock knock;
    struct shv_cycle_case at;
    struct shv_cycle_result result;
    shv_cycle_defaults(&unused, &of_cycle, &knock, &at);
    of_cycle = (struct shv_cycle_fuel){.stoichiometric = fuel->stoichiometric,
                                       .heating_value = fuel->heating_value,
                                       .hydrogen_carbon = fuel->hydrogen_carbon,
                                       .oxygen_carbon = fuel->oxygen_carbon,
                                       .molar_mass = fuel->molar_mass,
                                       .vaporisation = fuel->vaporisation,
                                       .ron = fuel->ron,
                                       .mon = isnan(fuel->mon) ? of_cycle.mon : fuel->mon,
                                       .rating_temperature = of_cycle.rating_temperature};
    enum shv_status status =
        shv_cycle_run(&engine->cycle, &of_cycle, &engine->knock, &at, NULL, &result, message);
    if (status == SHV_OK) {
        assert_int_equal(result.outcome, SHV_CYCLE_DONE);
    }
    return status;
}

/* Study and cycle draw the line between air and atoms at the same place. */
static void test_atoms_as_in_cycle(void **state)
{
    (void)state;
    static const double least = 14.18, most = 15.07;
    size_t accepted = 0;
    for (int i = 0; i <= 400; i++) {
        double ratio = least - 0.05 + (most - least + 0.1) * i / 400.0;
        struct trial trial;
        char text[2048];
        snprintf(text, sizeof text,
                 CYCLE_REST
                 "fuels = ( { name = \"f\"; stoichiometric = %.6f; heating_value = \"43.5e6 J/kg\";"
                 " density = \"745 kg/m3\"; ron = 91; } );\n",
                 ratio);
        try_text(&trial, text);
        struct shv_fuel fuel = {.stoichiometric =
                                    strtod(strstr(text, "stoichiometric = ") + 17, NULL),
                                .heating_value = 43.5e6,
                                .vaporisation = 350e3,
                                .hydrogen_carbon = 1.87,
                                .molar_mass = 0.105,
                                .ron = 91.0,
                                .mon = NAN};
        struct shv_engine engine = {0};
        struct shv_cycle_fuel unused;
        struct shv_cycle_case at;
        shv_cycle_defaults(&engine.cycle, &unused, &engine.knock, &at);
        struct shv_message message = {{0}};
        assert_int_equal(trial.status, run_cycle(&engine, &fuel, &message));
        accepted += trial.status == SHV_OK;
        end_trial(&trial);
    }
    assert_true(accepted > 300 && accepted < 400); /* both sides of both ends */
}

static void append_text(char *text, size_t size, size_t *used, const char *more)
{
    size_t length = strlen(more);
    assert_true(*used + length < size);
    memcpy(text + *used, more, length + 1);
    *used += length;
}

static void append_file(char *text, size_t size, size_t *used, const char *path)
{
    FILE *file = fopen(path, "r");
    char line[512];
    assert_non_null(file);
    while (fgets(line, sizeof line, file) != NULL) {
        append_text(text, size, used, line);
    }
    fclose(file);
}

/* The fuels of the demo studies: each passes the check, and the cycle burns it. */
static void test_demo_fuels(void **state)
{
    (void)state;
    static const char *const names[] = {"ethanol",    "methanol",   "regular",    "premium",
                                        "ethanol-10", "ethanol-85", "methanol-85"};
    struct trial trial;
    char text[16384];
    size_t used = 0;
    append_text(text, sizeof text, &used,
                CYCLE_REST "fuels = (\"ethanol\", \"methanol\", \"regular\", \"premium\", "
                           "\"ethanol-10\", \"ethanol-85\", \"methanol-85\");\ncatalogue = {\n");
    append_file(text, sizeof text, &used, SHEAVE_SOURCE_DIR "/configs/fuels.cfg");
    append_text(text, sizeof text, &used, "};\n");
    try_text(&trial, text);
    for (size_t i = 0; i < trial.findings.count; i++) {
        print_message("%s\n", trial.findings.items[i].text);
    }
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.fuel_count, sizeof names / sizeof names[0]);
    for (size_t i = 0; i < trial.study.fuel_count; i++) {
        const struct shv_fuel *fuel = &trial.study.fuels[i];
        struct shv_message message = {{0}};
        assert_string_equal(fuel->name, names[i]);
        assert_true(fuel->ron > fuel->mon && fuel->mon > 80.0);
        if (run_cycle(&trial.study.engine, fuel, &message) != SHV_OK) {
            fail_msg("%s: %s", names[i], message.text);
        }
    }
    /* The pure ones are those of the library's table. */
    check_against(&trial.study.fuels[0], shv_fuel_data_find("ethanol"));
    check_against(&trial.study.fuels[1], shv_fuel_data_find("methanol"));
    end_trial(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_aki_and_afr),      cmocka_unit_test(test_blend),
        cmocka_unit_test(test_given_counts),     cmocka_unit_test(test_components),
        cmocka_unit_test(test_catalogue_first),  cmocka_unit_test(test_wrong_component),
        cmocka_unit_test(test_evaporated_share), cmocka_unit_test(test_atoms_as_in_cycle),
        cmocka_unit_test(test_demo_fuels),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
