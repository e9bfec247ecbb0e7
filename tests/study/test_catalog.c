/* Parts by name and inline: their order, and what is said about names. */
#include "study/common.h"

#define REST TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_LIMITS

static const char catalogue[] =
    REST TRIAL_FUELS "catalogue = { blowers = ( " TRIAL_BLOWER("one") ", " TRIAL_BLOWER(
        "two") " );\n"
               " coolers = ( " TRIAL_COOLER("air") ", " TRIAL_COOLER("water") " ); };\n";

static void load(struct trial *trial, const char *more)
{
    char text[4096];
    snprintf(text, sizeof text, "%s%s", catalogue, more);
    try_text(trial, text);
}

/* The study's order counts, not the catalogue's; names and groups mix. */
static void test_order(void **state)
{
    (void)state;
    struct trial trial;
    load(&trial, "blowers = ( \"two\", " TRIAL_BLOWER("own") ", \"one\" );\n"
                                                             "coolers = [ \"water\", \"air\" ];\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_int_equal(trial.study.blower_count, 3);
    assert_string_equal(trial.study.blowers[0].name, "two");
    assert_string_equal(trial.study.blowers[1].name, "own");
    assert_string_equal(trial.study.blowers[2].name, "one");
    assert_near(trial.study.blowers[2].displacement, 0.0013, 0);
    assert_int_equal(trial.study.cooler_count, 3);
    assert_string_equal(trial.study.coolers[0].name, "none");
    assert_string_equal(trial.study.coolers[1].name, "water");
    assert_string_equal(trial.study.coolers[2].name, "air");
    end_trial(&trial);
}

/* Where "none" stands does not matter, nor whether it does. */
static void test_none(void **state)
{
    (void)state;
    static const char *const lists[] = {"coolers = ();\n", "coolers = ( \"none\" );\n",
                                        "coolers = ( \"air\", \"none\" );\n"};
    static const size_t counts[] = {1, 1, 2};
    for (size_t i = 0; i < 3; i++) {
        struct trial trial;
        char text[256];
        snprintf(text, sizeof text, "blowers = ( \"one\" );\n%s", lists[i]);
        load(&trial, text);
        assert_int_equal(trial.status, SHV_OK);
        assert_int_equal(trial.study.cooler_count, counts[i]);
        assert_true(trial.study.coolers[0].is_none);
        assert_false(trial.study.coolers[counts[i] - 1].is_none && counts[i] > 1);
        end_trial(&trial);
    }
}

/* The catalogue may come after the lists that name its parts. */
static void test_catalogue_last(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST TRIAL_FUELS "blowers = ( \"late\" );\n"
                                      "catalogue = { blowers = ( " TRIAL_BLOWER("late") " ); };\n");
    assert_int_equal(trial.status, SHV_OK);
    assert_string_equal(trial.study.blowers[0].name, "late");
    end_trial(&trial);
}

/* A blower and a cooler may share a name; two blowers may not, wherever they stand. */
static void test_names(void **state)
{
    (void)state;
    struct trial trial;
    load(&trial, "blowers = ( \"one\" );\ncoolers = ( " TRIAL_COOLER("one") " );\n");
    assert_int_equal(trial.status, SHV_OK);
    end_trial(&trial);
    load(&trial, "blowers = ( " TRIAL_BLOWER("one") ", \"one\" );\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "blowers[2]: found \"one\" twice; accepted: each name once");
    end_trial(&trial);
}

/* A part may be wrong in the catalogue and be named: it is told once, at its own place. */
static void test_wrong_part_named(void **state)
{
    (void)state;
    struct trial trial;
    try_text(&trial, REST TRIAL_BLOWERS
             "fuels = ( \"f\" );\ncatalogue = { fuels = ( { name = \"f\"; stoichiometric = 1; "
             "heating_value = \"42.9e6 J/kg\"; density = \"745 kg/m3\"; } ); };\n");
    assert_int_equal(trial.status, SHV_BAD_INPUT);
    assert_int_equal(trial.findings.count, 1);
    assert_string_equal(finding(&trial, 0),
                        "catalogue.fuels[1].stoichiometric: found 1; accepted: 3 to 20");
    end_trial(&trial);
}

/* What a fit has found of one blower acts on that one alone. */
static void test_own_corrections(void **state)
{
    (void)state;
    struct trial trial;
    load(&trial,
         "blowers = ( \"one\", { name = \"fitted\"; kind = \"geometry\"; displacement = "
         "\"0.0013 m3\"; leakage_area = \"25e-6 m2\"; filling_loss = 0.02; friction_torque = "
         "\"1 N m\"; windage_torque = \"2 N m\"; corrections = { leakage = 1.2; "
         "blower_friction = 0.5; }; } );\n");
    assert_int_equal(trial.status, SHV_OK);
    const struct shv_blower *fitted = &trial.study.blowers[1];
    assert_near(trial.study.blowers[0].geometry.leakage_area, 25e-6, 1e-14);
    assert_near(fitted->geometry.leakage_area, 30e-6, 1e-14);
    assert_near(fitted->geometry.filling_loss, 0.02, 1e-14);
    assert_near(fitted->friction_torque, 0.5, 1e-14);
    assert_near(fitted->windage_torque, 1.0, 1e-14);
    end_trial(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_own_corrections),
        cmocka_unit_test(test_order),
        cmocka_unit_test(test_none),
        cmocka_unit_test(test_catalogue_last),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_wrong_part_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
