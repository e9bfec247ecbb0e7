/* A fit as an include file and in words, from results by hand on a log that was really read. */
#include "report/pages.h"

#include "support/fit_logs.h"

enum { VE, EFFICIENCY, LEAKAGE, CREEP, FREE };
#define PLAN                                                                                       \
    "fit = { logs = ( { name = \"dyno\"; columns = (" FIT_SPEED "," FIT_MAP "," FIT_POWER          \
    "); } );\n"                                                                                    \
    "free = ( { correction = \"volumetric_efficiency\"; from = 0.8; to = 1.2; },\n"                \
    " { correction = \"efficiency\"; from = 0.9; to = 1.1; },\n"                                   \
    " { correction = \"leakage\"; from = 0.5; to = 2.5; },\n"                                      \
    " { correction = \"creep\"; from = -0.01; to = 0.01; } ); };\n"

static struct ground {
    struct shv_study study;
    struct shv_fit *fit;
    struct shv_fit_result r;
    struct shv_fit_report report;
    double x[FREE], error[FREE], covariance[FREE * FREE];
    bool at_bound[FREE];
    struct shv_fit_channel channel[2];
    struct shv_fit_left_out left[2];
    struct shv_fit_weak weak[2];
    struct shv_correlation correlation[2];
} g;

static void begin_log(void)
{
    FILE *file = fopen("report_fit.csv", "w");
    assert_non_null(file);
    fputs("speed;manifold_pressure;power\nrpm;bar;kW\n2000;1,2;50\n3000;1,3;60\n5000;1,4;90\n9000;"
          "1,3;60\n"
          "9500;1,3;60\n",
          file);
    assert_int_equal(fclose(file), 0);
    fit_take_log(g.fit, &g.study, 0, "report_fit.csv");
    remove("report_fit.csv");
}

static void begin_result(void)
{
    static const double x[FREE] = {0.97, 1.02, 1.3, 0.01}, error[FREE] = {0.01, 0.02, 0.199, 0.0};
    memcpy(g.x, x, sizeof x);
    memcpy(g.error, error, sizeof error);
    for (size_t k = 0; k < FREE; k++) {
        g.covariance[k * FREE + k] = error[k] * error[k];
        g.r.start[k] = k == CREEP ? 0.0 : 1.0;
    }
    g.covariance[VE * FREE + EFFICIENCY] = g.covariance[EFFICIENCY * FREE + VE] =
        -0.85 * 0.01 * 0.02;
    g.at_bound[CREEP] = true;
    g.r.least = (struct shv_least_squares_result){.parameters = FREE,
                                                  .x = g.x,
                                                  .error = g.error,
                                                  .covariance = g.covariance,
                                                  .at_bound = g.at_bound,
                                                  .chi_squared = 5.25,
                                                  .freedom = 3.0,
                                                  .agreeing = 1};
    shv_corrections_neutral(&g.r.corrections);
    g.r.corrections.value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] = 0.97;
    g.r.corrections.value[SHV_CORRECT_EFFICIENCY] = 1.02;
    g.r.corrections.value[SHV_CORRECT_LEAKAGE] = 1.3;
    g.r.corrections.value[SHV_CORRECT_FRICTION] = 1.1; /* the study's own */
    g.r.spread = 1.5;
    g.r.chi_start = 4.5;
    g.r.entries = 6;
}

static int begin(void **state)
{
    (void)state;
    memset(&g, 0, sizeof g);
    fit_study(&g.study, PLAN);
    assert_int_equal(shv_fit_create(&g.study, 1, &g.fit, NULL), SHV_OK);
    begin_log();
    begin_result();
    g.channel[0] =
        (struct shv_fit_channel){0, 3, SHV_CHANNEL_MANIFOLD_PRESSURE, 2500.0, -1500.0, 1.25, 1};
    g.channel[1] = (struct shv_fit_channel){0, 1234, SHV_CHANNEL_POWER, 800.0, 150.0, 0.5, 0};
    g.r.channel = g.channel;
    g.r.channels = 2;
    g.report = (struct shv_fit_report){&g.study, g.fit, &g.r, "x.cfg"};
    return 0;
}

static int end(void **state)
{
    (void)state;
    shv_fit_free(g.fit);
    shv_study_free(&g.study);
    return 0;
}

/* ---- the table ---- */

static char *written(bool joined)
{
    char *text;
    size_t size;
    struct shv_message message;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    assert_int_equal(shv_report_fit_table(&g.report, out, &message), SHV_OK);
    assert_int_equal(fclose(out), 0);
    assert_page(text);
    return joined ? join_lines(text) : text;
}

static void assert_says(const char *what, bool joined, bool is_there)
{
    char *text = written(joined);
    assert_told(text, what, is_there);
    free(text);
}

static void what_was_read(void **state)
{
    (void)state;
    assert_says(
        "dyno (kit): 3 of 5 rows in 1 run; cells end at semicolons, decimal comma, header on line "
        "1, units on line 2.",
        true, true);
    char dropped[100];
    (void)snprintf(dropped, sizeof dropped, "  dropped: 2 %s (lines 6, 7)",
                   shv_log_drop_words(shv_fit_log(g.fit, 0)->drop[0].reason));
    assert_says(dropped, true, true);
    assert_says("smoothed", true, false);
    g.study.fit.log[0].bin = 50.0 / 60.0;
    assert_says("  smoothed: mean over bins of 50 rpm", true, true);
}

static void the_whole(void **state)
{
    (void)state;
    assert_says(
        "6 readings, 4 corrections. Residuals of 4.50 standard deviations at the start; after the "
        "fit chi squared is 5.25 for 3 degrees of freedom.",
        true, true);
    assert_says("standard deviations below are 1.50 times what those errors say.", true, true);
    assert_says("without meeting a minimum", true, false);
    char starts[60];
    (void)snprintf(starts, sizeof starts, "1 of %zu starts ended here.", g.study.fit.starts);
    assert_says(starts, true, true);
    g.r.spread = 1.0;
    g.r.least.outcome = SHV_LEAST_SQUARES_UNSURE;
    assert_says("times what those errors say", true, false);
    assert_says("The search ended without meeting a minimum", true, true);
    assert_says("at a kink", true, false);
    g.r.least.outcome = SHV_LEAST_SQUARES_KINK;
    assert_says("without meeting a minimum", true, false);
    assert_says("The search ended at a kink of the model", true, true);
}

/* Errors with the spread as shares of the ranges: 0.0375, 0.15, 0.15 and none. */
static void corrections(void **state)
{
    (void)state;
    assert_says("\nvolumetric_efficiency          1.0000    0.9700    0.0150        0.8 .. 1.2 "
                "well known\n",
                false, true);
    assert_says("\nefficiency                     1.0000    1.0200    0.0300        0.9 .. 1.1 "
                "fairly known\n",
                false, true);
    assert_says("\nleakage                        1.0000    1.3000    0.2985        0.5 .. 2.5 "
                "fairly known\n",
                false, true);
    assert_says("0.0000    0.0100         -     -0.01 .. 0.01 at its bound\n", false, true);
    g.error[LEAKAGE] = 0.201;
    assert_says("2.5 poorly known\n", false, true);
    g.error[LEAKAGE] = 0.386;
    assert_says("2.5 not determined\n", false, true);
    assert_says("volumetric_efficiency and efficiency move together: correlation -0.85.", true,
                true);
    g.covariance[VE * FREE + EFFICIENCY] = g.covariance[EFFICIENCY * FREE + VE] =
        0.79 * 0.01 * 0.02;
    assert_says("move together", true, false);
}

static void tolerances_in_words(void **state)
{
    (void)state;
    g.r.source[VE] = SHV_FIT_CUT;
    g.r.source[EFFICIENCY] = SHV_FIT_KEPT;
    g.r.source[LEAKAGE] = SHV_FIT_BOUNDS;
    g.r.source[CREEP] = SHV_FIT_NONE;
    g.r.tolerances.of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY].standard_deviation = 0.0123;
    assert_says(
        "volumetric_efficiency: its tolerance is cut to the most that a study accepts here, a "
        "standard deviation of 0.0123.",
        true, true);
    assert_says("efficiency: its tolerance stays that of the study.", true, true);
    assert_says("leakage: its tolerance is all of its range, since nothing is known.", true, true);
    assert_says("creep: no tolerance can be given.", true, true);
}

static void channels(void **state)
{
    (void)state;
    assert_says("\ndyno                 manifold_pressure               3 bar          0.025    "
                "-0.015     1.25 "
                "     1\n",
                false, true);
    assert_says("\ndyno                 power                       1,234 kW           0.800     "
                "0.150     0.50 "
                "     0\n",
                false, true);
}

static void runs_left_out_and_what_is_weak(void **state)
{
    (void)state;
    assert_says("Each run predicted", true, false);
    g.r.left_out = g.left;
    g.r.left_outs = 2;
    g.left[0] = (struct shv_fit_left_out){0, 0, 12, 1.234};
    g.left[1] = (struct shv_fit_left_out){0, 0, 5, NAN};
    assert_says("Each run predicted by a fit to the others", true, true);
    assert_says("  dyno, run 1: its 12 readings are predicted within 1.23 standard deviations by "
                "the others.",
                true, true);
    assert_says("  dyno, run 1: the others do not determine the corrections.", true, true);
    g.r.weak = g.weak;
    g.r.weaks = 2;
    g.weak[0].among[VE] = g.weak[0].among[EFFICIENCY] = true;
    g.weak[0].error = 0.42;
    g.weak[0].has_remedy = true;
    g.weak[0].channel = SHV_CHANNEL_AIR_FLOW;
    g.weak[0].error_then = 0.07;
    g.weak[1].among[CREEP] = true;
    g.weak[1].error = INFINITY;
    assert_says("volumetric_efficiency, efficiency: hardly told apart by these measurements, with "
                "a standard "
                "deviation of up to 42 % of its range.",
                true, true);
    char remedy[200];
    (void)snprintf(remedy, sizeof remedy,
                   "Measuring the %s in \"dyno\" as well, with the deviation assumed "
                   "of it, would leave one of up to 7 %% of its range.",
                   shv_channel_info(SHV_CHANNEL_AIR_FLOW)->title);
    assert_says(remedy, true, true);
    assert_says(
        "creep: hardly determined by these measurements, with a standard deviation without bound.",
        true, true);
    assert_says("No further channel of these logs would help much", true, true);
}

/* ---- the include file ---- */

static char *included(void)
{
    struct shv_message message;
    assert_int_equal(shv_report_fit_include(&g.report, ".", "report_fit_include.cfg", &message),
                     SHV_OK);
    char *text = read_whole(".", "report_fit_include.cfg");
    remove("report_fit_include.cfg");
    assert_non_null(text);
    return text;
}

static void the_include_file(void **state)
{
    (void)state;
    struct shv_tolerances *t = &g.r.tolerances;
    t->given = true;
    t->of[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] =
        (struct shv_tolerance){true, SHV_NORMAL, 0.0625, NAN};
    t->of[SHV_CORRECT_LEAKAGE] = (struct shv_tolerance){true, SHV_NORMAL, 0.125, NAN};
    t->of[SHV_CORRECT_EFFICIENCY] = (struct shv_tolerance){true, SHV_UNIFORM, NAN, 0.08};
    t->of[SHV_CORRECT_BLOWER_PULLEY] = (struct shv_tolerance){true, SHV_TRIANGULAR, NAN, 1e-4};
    g.r.source[VE] = SHV_FIT_CUT;
    g.r.source[EFFICIENCY] = SHV_FIT_BOUNDS;
    g.correlation[0] = (struct shv_correlation){SHV_CORRECT_LEAKAGE, SHV_CORRECT_EFFICIENCY, -0.5};
    g.correlation[1] =
        (struct shv_correlation){SHV_CORRECT_LEAKAGE, SHV_CORRECT_BLOWER_PULLEY, 0.25};
    t->correlations = g.correlation;
    t->correlation_count = 2;
    g.study.tolerances.given = true;
    g.study.tolerances.samples = 256;
    g.study.tolerances.seed = 7;
    g.study.tolerances.rows = 9;
    g.study.tolerances.hold = 0.9;
    char *text = included();
    const char *body = strstr(text, "corrections = {");
    assert_non_null(
        strstr(text, "6 readings, 4 corrections, chi squared 5.25 for 3 degrees of freedom"));
    assert_non_null(strstr(text, "# report_fit.csv: 3 rows of 5\n"));
    assert_string_equal(
        body, "corrections = {\n"
              "  volumetric_efficiency = 0.970000000000;\n"
              "  leakage = 1.30000000000;\n"
              "  friction = 1.10000000000;\n"
              "  creep = 0.00000000000;\n"
              "  efficiency = 1.02000000000;\n"
              "};\n"
              "tolerances = {\n"
              "  volumetric_efficiency = { standard_deviation = 0.0625000000; distribution = "
              "\"normal\"; }; # cut to the most that is accepted here\n"
              "  leakage = { standard_deviation = 0.125000000; distribution = \"normal\"; };\n"
              "  efficiency = { half_width = 0.0800000000; distribution = \"uniform\"; }; # not "
              "determined: all of "
              "its range\n"
              "  blower_pulley = { half_width = \"0.000100000000 m\"; distribution = "
              "\"triangular\"; }; # not "
              "fitted: as it was\n"
              "  correlations = (\n"
              "    { between = \"leakage\"; and = \"efficiency\"; value = -0.500000000; },\n"
              "    { between = \"leakage\"; and = \"blower_pulley\"; value = 0.250000000; }\n"
              "  );\n"
              "  samples = 256;\n  seed = 7;\n  rows = 9;\n  hold = 0.900000000;\n"
              "};\n");
    free(text);
    g.study.tolerances.given = false; /* the defaults do */
    t->correlation_count = 0;
    text = included();
    assert_null(strstr(text, "samples"));
    assert_null(strstr(text, "correlations"));
    free(text);
    t->given = false;
    g.r.corrections.value[SHV_CORRECT_VOLUMETRIC_EFFICIENCY] =
        1.0; /* found so: told all the same */
    text = included();
    assert_non_null(strstr(text, "  volumetric_efficiency = 1.00000000000;\n"));
    assert_null(strstr(text, "tolerances = "));
    free(text);
    struct shv_message message = {""};
    assert_int_equal(shv_report_fit_include(&g.report, "/no/such", "x.cfg", &message), SHV_IO);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(what_was_read),       TEST(the_whole), TEST(corrections),
        TEST(tolerances_in_words), TEST(channels),  TEST(runs_left_out_and_what_is_weak),
        TEST(the_include_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
