/* The least-squares fitter against the nonlinear regression problems of NIST's Statistical
 * Reference Datasets: certified parameters, standard deviations and residual sums of squares, from
 * both of the starts that NIST gives. Their starts of the higher level of difficulty are far off on
 * purpose.
 */
#include "published/published.h"
#include "sheave/least_squares.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define TOPIC "Least squares"
#define STRD                                                                                       \
    "NIST StRD, nonlinear regression (www.itl.nist.gov/div898/strd), as printed in published "     \
    "copies of the data files: "
#define MOST 7

/* y and dy/db at x. */
typedef double model(const double *b, double x, double *slope);

struct problem {
    model *f;
    size_t parameters, points;
    const double *x, *y;
    double start[2][MOST];
    double certified[MOST], deviation[MOST];
    double sum_of_squares;
};

static double misra1a(const double *b, double x, double *s)
{
    double e = exp(-b[1] * x);
    s[0] = 1.0 - e;
    s[1] = b[0] * x * e;
    return b[0] * (1.0 - e);
}

static double mgh09(const double *b, double x, double *s)
{
    double top = x * x + x * b[1], bottom = x * x + x * b[2] + b[3];
    double y = b[0] * top / bottom;
    s[0] = top / bottom;
    s[1] = b[0] * x / bottom;
    s[2] = -y * x / bottom;
    s[3] = -y / bottom;
    return y;
}

static double mgh10(const double *b, double x, double *s)
{
    double e = exp(b[1] / (x + b[2])), y = b[0] * e;
    s[0] = e;
    s[1] = y / (x + b[2]);
    s[2] = -y * b[1] / ((x + b[2]) * (x + b[2]));
    return y;
}

static double mgh17(const double *b, double x, double *s)
{
    double e4 = exp(-x * b[3]), e5 = exp(-x * b[4]);
    s[0] = 1.0;
    s[1] = e4;
    s[2] = e5;
    s[3] = -x * b[1] * e4;
    s[4] = -x * b[2] * e5;
    return b[0] + b[1] * e4 + b[2] * e5;
}

static double eckerle4(const double *b, double x, double *s)
{
    double z = (x - b[2]) / b[1], e = exp(-0.5 * z * z), y = b[0] / b[1] * e;
    s[0] = e / b[1];
    s[1] = y * (z * z - 1.0) / b[1];
    s[2] = y * z / b[1];
    return y;
}

static double thurber(const double *b, double x, double *s)
{
    double top = b[0] + x * (b[1] + x * (b[2] + x * b[3]));
    double bottom = 1.0 + x * (b[4] + x * (b[5] + x * b[6])), y = top / bottom, power = 1.0;
    for (size_t k = 0; k < 4; k++) {
        s[k] = power / bottom;
        power *= x;
        if (k < 3) {
            s[4 + k] = -y * power / bottom;
        }
    }
    return y;
}

static enum shv_status residual(void *data, size_t worker, const double *b, double *r)
{
    (void)worker;
    const struct problem *p = data;
    double slope[MOST];
    for (size_t i = 0; i < p->points; i++) {
        r[i] = p->f(b, p->x[i], slope) - p->y[i];
    }
    return SHV_OK;
}

static bool jacobian(void *data, const double *b, double *j)
{
    const struct problem *p = data;
    for (size_t i = 0; i < p->points; i++) {
        (void)p->f(b, p->x[i], j + i * p->parameters);
    }
    return true;
}

static void compare(const struct published *source, const struct problem *p)
{
    static const double low[MOST] = {-INFINITY, -INFINITY, -INFINITY, -INFINITY,
                                     -INFINITY, -INFINITY, -INFINITY};
    static const double high[MOST] = {INFINITY, INFINITY, INFINITY, INFINITY,
                                      INFINITY, INFINITY, INFINITY};
    struct problem problem = *p;
    for (int i = 0; i < 2; i++) {
        const struct shv_least_squares_problem least = {.parameters = p->parameters,
                                                        .residuals = p->points,
                                                        .residual = residual,
                                                        .jacobian = jacobian,
                                                        .data = &problem,
                                                        .start = p->start[i],
                                                        .lower = low,
                                                        .upper = high,
                                                        .loss_threshold = INFINITY};
        /* From the far start of MGH10 the way leads along a curved valley in many small steps. */
        const struct shv_least_squares_options how = {.starts = 1, .steps = 10000};
        struct shv_least_squares_result found;
        struct shv_message message;
        if (shv_least_squares(&least, &how, &found, &message) != SHV_OK) {
            fail_msg("%s", message.text);
        }
        assert_int_equal(found.outcome, SHV_LEAST_SQUARES_FOUND);
        double spread = sqrt(found.chi_squared / found.freedom);
        for (size_t k = 0; k < p->parameters; k++) {
            check(source, p->certified[k], found.x[k], relative(1e-7), "b%zu from start %d", k + 1,
                  i + 1);
            check(source, p->deviation[k], spread * found.error[k], relative(1e-6),
                  "standard deviation of b%zu from start %d", k + 1, i + 1);
        }
        check(source, p->sum_of_squares, found.chi_squared, relative(1e-9),
              "residual sum of squares from start %d", i + 1);
        shv_least_squares_free(&found);
    }
}

static void test_misra1a(void **state)
{
    (void)state;
    static const struct published source = {TOPIC, "16-01", 'R', STRD "Misra1a (lower difficulty)",
                                            NULL};
    static const double x[] = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                               378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
    static const double y[] = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                               44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
    static const struct problem p = {.f = misra1a,
                                     .parameters = 2,
                                     .points = COUNT(x),
                                     .x = x,
                                     .y = y,
                                     .start = {{500, 0.0001}, {250, 0.0005}},
                                     .certified = {2.3894212918E+02, 5.5015643181E-04},
                                     .deviation = {2.7070075241E+00, 7.2668688436E-06},
                                     .sum_of_squares = 1.2455138894E-01};
    compare(&source, &p);
}

static void test_mgh09(void **state)
{
    (void)state;
    static const struct published source = {TOPIC, "16-02", 'R', STRD "MGH09 (higher difficulty)",
                                            NULL};
    static const double x[] = {4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625};
    static const double y[] = {0.1957, 0.1947, 0.1735, 0.1600, 0.0844, 0.0627,
                               0.0456, 0.0342, 0.0323, 0.0235, 0.0246};
    static const struct problem p = {
        .f = mgh09,
        .parameters = 4,
        .points = COUNT(x),
        .x = x,
        .y = y,
        .start = {{25, 39, 41.5, 39}, {0.25, 0.39, 0.415, 0.39}},
        .certified = {1.9280693458E-01, 1.9128232873E-01, 1.2305650693E-01, 1.3606233068E-01},
        .deviation = {1.1435312227E-02, 1.9633220911E-01, 8.0842031232E-02, 9.0025542308E-02},
        .sum_of_squares = 3.0750560385E-04};
    compare(&source, &p);
}

static void test_mgh10(void **state)
{
    (void)state;
    static const struct published source = {TOPIC, "16-03", 'R', STRD "MGH10 (higher difficulty)",
                                            NULL};
    static const double x[] = {50, 55, 60,  65,  70,  75,  80,  85,
                               90, 95, 100, 105, 110, 115, 120, 125};
    static const double y[] = {34780, 28610, 23650, 19630, 16370, 13720, 11540, 9744,
                               8261,  7030,  6005,  5147,  4427,  3820,  3307,  2872};
    static const struct problem p = {
        .f = mgh10,
        .parameters = 3,
        .points = COUNT(x),
        .x = x,
        .y = y,
        .start = {{2, 400000, 25000}, {0.02, 4000, 250}},
        .certified = {5.6096364710E-03, 6.1813463463E+03, 3.4522363462E+02},
        .deviation = {1.5687892471E-04, 2.3309021107E+01, 7.8486103508E-01},
        .sum_of_squares = 8.7945855171E+01};
    compare(&source, &p);
}

static void test_mgh17(void **state)
{
    (void)state;
    static const struct published source = {TOPIC, "16-04", 'R', STRD "MGH17 (average difficulty)",
                                            NULL};
    static const double y[] = {0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818,
                               0.784, 0.751, 0.718, 0.685, 0.658, 0.628, 0.603, 0.580, 0.558,
                               0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438,
                               0.431, 0.424, 0.420, 0.414, 0.411, 0.406};
    double x[COUNT(y)];
    for (size_t i = 0; i < COUNT(y); i++) {
        x[i] = 10.0 * (double)i;
    }
    const struct problem p = {.f = mgh17,
                              .parameters = 5,
                              .points = COUNT(y),
                              .x = x,
                              .y = y,
                              .start = {{50, 150, -100, 1, 2}, {0.5, 1.5, -1, 0.01, 0.02}},
                              .certified = {3.7541005211E-01, 1.9358469127E+00, -1.4646871366E+00,
                                            1.2867534640E-02, 2.2122699662E-02},
                              .deviation = {2.0723153551E-03, 2.2031669222E-01, 2.2175707739E-01,
                                            4.4861358114E-04, 8.9471996575E-04},
                              .sum_of_squares = 5.4648946975E-05};
    compare(&source, &p);
}

static void test_eckerle4(void **state)
{
    (void)state;
    static const struct published source = {
        TOPIC, "16-05", 'R', STRD "Eckerle4 (higher difficulty)",
        "The starts and the standard deviation of b1 are written down from memory."};
    static const double x[] = {400.0, 405.0, 410.0, 415.0, 420.0, 425.0, 430.0, 435.0, 436.5,
                               438.0, 439.5, 441.0, 442.5, 444.0, 445.5, 447.0, 448.5, 450.0,
                               451.5, 453.0, 454.5, 456.0, 457.5, 459.0, 460.5, 462.0, 463.5,
                               465.0, 470.0, 475.0, 480.0, 485.0, 490.0, 495.0, 500.0};
    static const double y[] = {0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710,
                               0.0017418, 0.0046400, 0.0065895, 0.0097302, 0.0149002, 0.0237310,
                               0.0401683, 0.0712559, 0.1264458, 0.2073413, 0.2902366, 0.3445623,
                               0.3698049, 0.3668534, 0.3106727, 0.2078154, 0.1164354, 0.0616764,
                               0.0337200, 0.0194023, 0.0117831, 0.0074357, 0.0022732, 0.0008800,
                               0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710};
    static const struct problem p = {
        .f = eckerle4,
        .parameters = 3,
        .points = COUNT(x),
        .x = x,
        .y = y,
        .start = {{1, 10, 500}, {1.5, 5, 450}},
        .certified = {1.5543827178E+00, 4.0888321754E+00, 4.5154121844E+02},
        .deviation = {1.5408051163E-02, 4.6803020753E-02, 4.6800518816E-02},
        .sum_of_squares = 1.4635887487E-03};
    compare(&source, &p);
}

static void test_thurber(void **state)
{
    (void)state;
    static const struct published source = {TOPIC, "16-06", 'R', STRD "Thurber (higher difficulty)",
                                            NULL};
    static const double x[] = {-3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699,
                               -2.633, -2.481, -2.363, -2.322, -1.501, -1.460, -1.274, -1.212,
                               -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309,
                               -0.109, -0.103, 0.010,  0.119,  0.377,  0.790,  0.963,  1.006,
                               1.115,  1.572,  1.841,  2.047,  2.200};
    static const double y[] = {80.574,   84.248,   87.264,   87.195,   89.076,   89.608,   89.868,
                               90.101,   92.405,   95.854,   100.696,  101.060,  401.672,  390.724,
                               567.534,  635.316,  733.054,  759.087,  894.206,  990.785,  1090.109,
                               1080.914, 1122.643, 1178.351, 1260.531, 1273.514, 1288.339, 1327.543,
                               1353.863, 1414.509, 1425.208, 1421.384, 1442.962, 1464.350, 1468.705,
                               1447.894, 1457.628};
    static const struct problem p = {
        .f = thurber,
        .parameters = 7,
        .points = COUNT(x),
        .x = x,
        .y = y,
        .start = {{1000, 1000, 400, 40, 0.7, 0.3, 0.03}, {1300, 1500, 500, 75, 1, 0.4, 0.05}},
        .certified = {1.2881396800E+03, 1.4910792535E+03, 5.8323836877E+02, 7.5416644291E+01,
                      9.6629502864E-01, 3.9797285797E-01, 4.9727297349E-02},
        .deviation = {4.6647963344E+00, 3.9571156086E+01, 2.8698696102E+01, 5.5675370270E+00,
                      3.1333340687E-02, 1.4984928198E-02, 6.5842344623E-03},
        .sum_of_squares = 5.6427082397E+03};
    compare(&source, &p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        published_test(test_misra1a), published_test(test_mgh09),    published_test(test_mgh10),
        published_test(test_mgh17),   published_test(test_eckerle4), published_test(test_thurber),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
