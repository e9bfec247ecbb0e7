/* Charge cooler effectiveness against tables, worked examples and the exact cross-flow series. */
#include "model/path/effectiveness.h"
#include "published/published.h"
#include "sheave/cooler.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Cooler effectiveness"

static const struct published series = {
    TOPIC, "6-07", 'D', "exact series, checked by a finite-volume solution; both streams unmixed",
    "In both directions: effectiveness from NTU, and back."};

static const struct published closed = {
    TOPIC, "6-07", 'D',
    "closed forms (Kays and London, Compact Heat Exchangers), computed "
    "independently",
    NULL};

/* NTU, capacity ratio, exact both unmixed, the texts' closed form for it (not used), counterflow,
 * larger stream mixed, smaller stream mixed; charge is the smaller stream. */
static const double grid[][7] = {
    {0.5, 0.5, 0.35783, 0.35195, 0.36227, 0.35718, 0.35751},
    {1.0, 0.25, 0.58801, 0.58720, 0.59829, 0.58470, 0.58720},
    {1.0, 0.5, 0.54749, 0.54476, 0.56473, 0.54197, 0.54476},
    {1.0, 0.75, 0.51031, 0.50516, 0.53186, 0.50340, 0.50516},
    {1.0, 1.0, 0.47622, 0.46854, 0.50000, 0.46854, 0.46854},
    {2.0, 0.25, 0.79742, 0.80330, 0.82277, 0.77759, 0.79276},
    {2.0, 0.5, 0.73241, 0.73876, 0.77460, 0.70201, 0.71755},
    {2.0, 0.75, 0.67108, 0.67521, 0.72183, 0.63623, 0.64507},
    {2.0, 1.0, 0.61425, 0.61541, 0.66667, 0.57881, 0.57881},
    {3.0, 0.5, 0.81971, 0.82841, 0.87443, 0.75636, 0.78854},
    {3.0, 0.75, 0.74941, 0.75531, 0.81712, 0.67955, 0.69663},
    {3.0, 1.0, 0.68129, 0.68421, 0.75000, 0.61334, 0.61334},
    {4.0, 1.0, 0.72243, 0.72349, 0.80000, 0.62532, 0.62532},
};

static void test_crossflow_unmixed(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(grid); i++) {
        double n = grid[i][0], c = grid[i][1];
        check(&series, grid[i][2], effectiveness_of(SHV_COOLER_CROSSFLOW_UNMIXED, n, c),
              absolute(1e-5), "effectiveness at NTU %g, ratio %g", n, c);
        check(&series, n, shv_cooler_ntu(SHV_COOLER_CROSSFLOW_UNMIXED, grid[i][2], c),
              relative(2e-4), "NTU for effectiveness %g, ratio %g", grid[i][2], c);
    }
}

static void test_closed_forms(void **state)
{
    (void)state;
    static const enum shv_cooler_arrangement arrangement[3] = {SHV_COOLER_COUNTERFLOW,
                                                               SHV_COOLER_CROSSFLOW_COOLANT_MIXED,
                                                               SHV_COOLER_CROSSFLOW_CHARGE_MIXED};
    static const char *const name[3] = {"counterflow", "cross flow, coolant mixed",
                                        "cross flow, charge mixed"};
    for (size_t k = 0; k < 3; k++) {
        for (size_t i = 0; i < COUNT(grid); i++) {
            check(&closed, grid[i][4 + k], effectiveness_of(arrangement[k], grid[i][0], grid[i][1]),
                  absolute(1e-5), "%s, NTU %g, ratio %g", name[k], grid[i][0], grid[i][1]);
        }
    }
}

static void test_open_library(void **state)
{
    (void)state;
    static const struct published ht = {TOPIC, "6-02", 'R',
                                        "tests of an open heat-transfer library", NULL};
    check(&ht, 0.7497843941508544, effectiveness_of(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, 5.0, 0.7),
          relative(1e-9), "smaller stream mixed, NTU 5, ratio 0.7");
    check(&ht, 0.7158099831204696, effectiveness_of(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, 5.0, 0.7),
          relative(1e-9), "larger stream mixed, NTU 5, ratio 0.7");
    check(&ht, 0.9932620530009145, effectiveness_of(SHV_COOLER_SINGLE_STREAM, 5.0, 0.0),
          relative(1e-9), "ratio 0, NTU 5");
    check(&ht, 0.8444821799748551, effectiveness_of(SHV_COOLER_CROSSFLOW_UNMIXED, 5.0, 0.7),
          relative(1e-9), "both unmixed, NTU 5, ratio 0.7");
    check(&ht, 5.0, shv_cooler_ntu(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, 0.7497843941508544, 0.7),
          relative(1e-8), "NTU back from smaller stream mixed");
    static const struct published nine = {
        TOPIC, "6-08", 'R', "tests of an open heat-transfer library", "Counterflow, ratio 1."};
    check(&nine, 9.0, shv_cooler_ntu(SHV_COOLER_COUNTERFLOW, 0.9, 1.0), relative(1e-9),
          "NTU for effectiveness 0.9");
    check(&nine, 0.9, effectiveness_of(SHV_COOLER_COUNTERFLOW, 9.0, 1.0), relative(1e-9),
          "effectiveness at NTU 9");
}

static void test_worked_examples(void **state)
{
    (void)state;
    static const struct published klein = {
        TOPIC, "6-03", 'R',
        "worked example of a heat-transfer library's manual (after Nellis and "
        "Klein)",
        "Both unmixed, UA 75 W/K, streams 50 and 30 W/K. The manual uses the closed form that "
        "texts "
        "give in the series' place; the exact values are recomputed."};
    check_wider(&klein, 0.7632, effectiveness_of(SHV_COOLER_CROSSFLOW_UNMIXED, 2.5, 0.6),
                relative(1e-4), relative(0.011), "the manual's closed form is 1 % high here",
                "effectiveness, as printed");
    check(&klein, 0.755718, effectiveness_of(SHV_COOLER_CROSSFLOW_UNMIXED, 2.5, 0.6),
          absolute(1e-6), "effectiveness, exact");
    check(&klein, 1.3417, shv_cooler_ntu(SHV_COOLER_CROSSFLOW_UNMIXED, 0.61, 0.6), relative(1e-4),
          "NTU for effectiveness 0.61, exact");
    static const struct published holman = {
        TOPIC, "6-09", 'R', "tests of an open heat-transfer library (after Holman)",
        "Streams 9672 and 2755 W/K, 130 and 15 degC in, 85 degC out; the larger one mixed. Once "
        "with "
        "the smaller stream as the charge, once with the larger."};
    double hot = 5.2 * 1860.0, cold = 1.45 * 1900.0, q = 192850.0;
    double share = 70.0 / 115.0;
    double n = shv_cooler_ntu(SHV_COOLER_CROSSFLOW_COOLANT_MIXED, share, cold / hot);
    check(&holman, 1.10408390956, n, relative(1e-6), "NTU of the smaller stream");
    check(&holman, 3041.75117, n * cold, relative(1e-6), "UA, W/K");
    n = shv_cooler_ntu(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, q / hot / 115.0, hot / cold);
    check(&holman, 3041.75117, n * hot, relative(1e-6), "UA seen from the larger stream, W/K");
    double p = effectiveness_of(SHV_COOLER_CROSSFLOW_CHARGE_MIXED, 3041.75117 / hot, hot / cold);
    check(&holman, 110.061, 130.0 - p * 115.0, absolute(0.001), "outlet of the larger, degC");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_crossflow_unmixed),
        published_test(test_closed_forms),
        published_test(test_open_library),
        published_test(test_worked_examples),
    };
    return cmocka_run_group_tests_name("published cooler", tests, NULL, NULL);
}
