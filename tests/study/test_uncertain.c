/* Corrections and tolerances: what goes together, how far they may reach, and what blowers say of
 * their own. */
#include "study/edits.h"

static const char base[] = TRIAL_TITLE TRIAL_ENGINE TRIAL_SITES TRIAL_DRIVE TRIAL_LIMITS TRIAL_FUELS
    "blowers = ( " TRIAL_BLOWER("a") ", " TRIAL_BLOWER("b") ", " TRIAL_BLOWER(
        "c") " );\n"
             "corrections = { leakage = 1.2; };\n"
             "tolerances = { leakage = { standard_deviation = 0.1; }; creep = { half_width = "
             "0.003; };\n"
             " correlations = ( ); samples = 256; };\n";

static void what_was_read(void **state)
{
    (void)state;
    struct trial t;
    try_text(&t, base);
    assert_int_equal(t.findings.count, 0);
    assert_true(t.study.corrected && t.study.tolerances.given);
    assert_near(t.study.corrections.value[SHV_CORRECT_LEAKAGE], 1.2, 1e-12);
    /* What a study can't set is neutral. */
    assert_near(t.study.corrections.value[SHV_CORRECT_AMBIENT_PRESSURE], 1.0, 1e-12);
    assert_true(t.study.corrections.value[SHV_CORRECT_CRANK_PULLEY] == 0.0);
    const struct shv_tolerance *of = t.study.tolerances.of;
    assert_true(of[SHV_CORRECT_LEAKAGE].given && of[SHV_CORRECT_CREEP].given);
    assert_false(of[SHV_CORRECT_FRICTION].given);
    assert_int_equal(of[SHV_CORRECT_LEAKAGE].distribution, SHV_NORMAL);
    assert_int_equal(of[SHV_CORRECT_CREEP].distribution, SHV_UNIFORM);
    assert_null(t.study.tolerances.spread);
    end_trial(&t);
    try_edit(&t, base, "leakage = 1.2", "leakage = 1");
    assert_false(t.study.corrected);
    end_trial(&t);
}

#define ONLY(what) ": found where it has no meaning; accepted: only with " what
static void keys_without_effect(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"leakage = 1.2", "knock = 1",
         "corrections.knock" ONLY("engine.efficiency.model = \"cycle\"")},
        {"leakage = 1.2", "octane = 0",
         "corrections.octane" ONLY("engine.efficiency.model = \"cycle\"")},
        {"leakage = 1.2", "belt_friction = 1", "corrections.belt_friction" ONLY("drive.belt")},
        {"leakage = 1.2", "injector_flow = 1", "corrections.injector_flow" ONLY("injectors")},
        {"leakage = 1.2; };",
         "injector_flow = 1; };\ninjectors = ( { name = \"i\"; flow = \"400 cm3/min\"; } );", NULL},
        {"creep = {", "belt_friction = { half_width = 0.1; }; creep = {",
         "tolerances.belt_friction" ONLY("drive.belt")},
    };
    assert_all_edits(base, edits);
}

static void one_tolerance(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"standard_deviation = 0.1", "standard_deviation = 0.1; half_width = 0.1",
         "tolerances.leakage: found both standard_deviation and half_width; accepted: one of "
         "standard_deviation and half_width"},
        {"standard_deviation = 0.1", "distribution = \"normal\"",
         "tolerances.leakage: found neither; accepted: one of standard_deviation and half_width"},
        {"half_width = 0.003", "half_width = 0.003; distribution = \"normal\"",
         "tolerances.creep.half_width: found with distribution = \"normal\"; accepted: "
         "standard_deviation"},
        {"standard_deviation = 0.1", "standard_deviation = 0.1; distribution = \"uniform\"",
         "tolerances.leakage.standard_deviation: found with a distribution that is not normal; "
         "accepted: half_width"},
        {"standard_deviation = 0.1", "standard_deviation = 0.1; distribution = \"triangular\"",
         "tolerances.leakage.standard_deviation: found with a distribution that is not normal; "
         "accepted: half_width"},
        {"half_width = 0.003", "half_width = 0.003; distribution = \"triangular\"", NULL},
        {"standard_deviation = 0.1", "standard_deviation = 0.1; distribution = \"normal\"", NULL},
        {"leakage = { standard_deviation = 0.1; }; creep = { half_width = 0.003; };", "",
         "tolerances: found no tolerance; accepted: one at least"},
        {"samples = 256", "samples = 255",
         "tolerances.samples: found 255; accepted: a power of 2, such as 512 or 1024"},
        {"samples = 256", "samples = 64", NULL},
    };
    assert_all_edits(base, edits);
}

/* Room on both sides of the corrected middle: what LEAST and MOST of a factor leave. A normal
 * distribution is cut at 4 standard deviations. */
static void how_far_it_may_reach(void **state)
{
    (void)state;
    const struct shv_correction_info *info = shv_correction_info(SHV_CORRECT_LEAKAGE);
    for (int side = 0; side < 2; side++) {
        double middle = side == 0 ? 0.75 * info->least + 0.25 * info->most
                                  : 0.25 * info->least + 0.75 * info->most;
        double room = 0.25 * (info->most - info->least);
        for (int k = 0; k < 4; k++) {
            bool normal = k < 2, beyond = k % 2 == 1;
            double value = (normal ? room / 4.0 : room) * (beyond ? 1.001 : 0.999);
            char text[200], was[] = "corrections = { leakage = 1.2; };\ntolerances = { leakage = { "
                                    "standard_deviation = 0.1; };";
            (void)snprintf(text, sizeof text,
                           "corrections = { leakage = %.17g; };\ntolerances = { leakage = { %s = "
                           "%.17g; };",
                           middle, normal ? "standard_deviation" : "half_width", value);
            struct trial t;
            try_edit(&t, base, was, text);
            if (!beyond) {
                assert_int_equal(t.status, SHV_OK);
            } else {
                char says[300];
                (void)snprintf(
                    says, sizeof says,
                    "tolerances.leakage.%s: found %.10g; accepted here: up to %.10g%s, so "
                    "that leakage stays within %.10g to %.10g",
                    normal ? "standard_deviation" : "half_width", value, normal ? room / 4.0 : room,
                    normal ? " (a quarter of the room, since a normal distribution is cut "
                             "at 4)"
                           : "",
                    info->least, info->most);
                assert_string_equal(finding(&t, 0), says);
                assert_int_equal(t.findings.count, 1);
            }
            end_trial(&t);
        }
    }
}

#define PAIR(a, b, value) "{ between = \"" a "\"; and = \"" b "\"; value = " value "; }"
static void correlations(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {"( )", "( " PAIR("leakage", "creep", "0.9") " )", NULL},
        {"( )", "( " PAIR("leakage", "leakage", "0.9") " )",
         "tolerances.correlations[1].and: found the same name as between"},
        {"( )", "( " PAIR("leakage", "friction", "0.5") " )",
         "tolerances.correlations[1]: found \"friction\", which has no tolerance"},
        {"( )", "( " PAIR("friction", "leakage", "0.5") " )",
         "tolerances.correlations[1]: found \"friction\", which has no tolerance"},
        {"( )", "( " PAIR("leakage", "creep", "0.5") ", " PAIR("creep", "leakage", "0.5") " )",
         "tolerances.correlations[2]: found the same pair as in entry 1"},
        {"( )", "( " PAIR("leakage", "creep", "0.5") ", " PAIR("leakage", "creep", "0.1") " )",
         "tolerances.correlations[2]: found the same pair as in entry 1"},
        /* Three of which each two are opposite: 1 + 2 r >= 0 asks for r of -0.5 at least. */
        {"correlations = ( )",
         "friction = { half_width = 0.1; }; correlations = ( " PAIR(
             "leakage", "creep", "-0.49") ", " PAIR("leakage", "friction",
                                                    "-0.49") ", " PAIR("creep", "friction",
                                                                       "-0.49") " )",
         NULL},
        {"correlations = ( )",
         "friction = { half_width = 0.1; }; correlations = ( " PAIR(
             "leakage", "creep", "-0.51") ", " PAIR("leakage", "friction",
                                                    "-0.51") ", " PAIR("creep", "friction",
                                                                       "-0.51") " )",
         "tolerances.correlations: found correlations that cannot all be: their matrix is not "
         "positive definite; accepted: smaller ones"},
    };
    assert_all_edits(base, edits);
}

#define NAMED(name) "{ name = \"" name "\"; kind = \"geometry\""
#define WITH(name, text) NAMED(name) "; tolerances = { " text " }"

/* The widest of the blowers' is drawn where the study has none; each is a share of it. */
static void tolerances_of_blowers(void **state)
{
    (void)state;
    struct trial t;
    char *one = edited(base, NAMED("b"),
                       WITH("b", "leakage = { standard_deviation = 0.05; };"
                                 " filling_loss = { half_width = 0.2; };"));
    try_edit(&t, one, NAMED("c"), WITH("c", "filling_loss = { half_width = 0.3; };"));
    assert_int_equal(t.findings.count, 0);
    const struct shv_tolerances *x = &t.study.tolerances;
    assert_false(x->by_blowers[SHV_CORRECT_LEAKAGE]);
    assert_true(x->by_blowers[SHV_CORRECT_FILLING_LOSS]);
    assert_near(x->of[SHV_CORRECT_LEAKAGE].standard_deviation, 0.1, 1e-12);
    assert_near(x->of[SHV_CORRECT_FILLING_LOSS].half_width, 0.3, 1e-12);
    const double leakage[] = {1.0, 0.5, 1.0}, filling[] = {0.0, 2.0 / 3.0, 1.0};
    for (size_t i = 0; i < 3; i++) {
        assert_near(x->spread[i][SHV_CORRECT_LEAKAGE], leakage[i], 1e-12);
        assert_near(x->spread[i][SHV_CORRECT_FILLING_LOSS], filling[i], 1e-12);
        assert_near(x->spread[i][SHV_CORRECT_BLOWER_FRICTION], 1.0, 1e-12);
        assert_near(x->spread[i][SHV_CORRECT_CREEP], 1.0, 1e-12);
    }
    end_trial(&t);
    free(one);
}

static void tolerances_of_blowers_refused(void **state)
{
    (void)state;
    static const struct edit edits[] = {
        {NAMED("b"), WITH("b", "leakage = { half_width = 0.05; };"),
         "blowers[2].tolerances.leakage: found another distribution than that of the study's "
         "tolerance; accepted: the same"},
        {NAMED("a"), WITH("a", "filling_loss = { half_width = 0.05; };"), NULL},
    };
    assert_all_edits(base, edits);
    struct trial t;
    char *one = edited(base, NAMED("a"), WITH("a", "blower_friction = { half_width = 0.2; };"));
    try_edit(&t, one, NAMED("b"), WITH("b", "blower_friction = { standard_deviation = 0.01; };"));
    assert_int_equal(t.findings.count, 1);
    assert_string_equal(finding(&t, 0),
                        "blowers[2].tolerances.blower_friction: found another "
                        "distribution than that of another blower; accepted: the same");
    end_trial(&t);
    /* Without the group they do nothing, which is said. */
    char *two = edited(one,
                       "tolerances = { leakage = { standard_deviation = 0.1; }; creep = { "
                       "half_width = 0.003; };\n correlations = ( ); samples = 256; };\n",
                       "");
    try_text(&t, two);
    assert_int_equal(t.status, SHV_OK);
    assert_int_equal(t.findings.count, 1);
    assert_non_null(
        strstr(finding(&t, 0), "tolerances: a blower has tolerances, which act in a study"));
    end_trial(&t);
    free(one);
    free(two);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_read),
        cmocka_unit_test(keys_without_effect),
        cmocka_unit_test(one_tolerance),
        cmocka_unit_test(how_far_it_may_reach),
        cmocka_unit_test(correlations),
        cmocka_unit_test(tolerances_of_blowers),
        cmocka_unit_test(tolerances_of_blowers_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
