/* The range plan against a published problem of location: a median is a blower, a customer a group,
 * and nearness is power. */
#include "published/published.h"
#include "sheave/range.h"

#define TOPIC "Range plan"
#define NODES 100
#define MEDIANS 5
#define FAR 1000 /* beyond every distance */

/* Undirected edges and their lengths; of an edge that is there twice the last counts. */
static const int edges[][3] = {
    {1, 2, 30},   {2, 3, 46},   {3, 4, 1},     {4, 5, 28},   {5, 6, 31},    {6, 7, 69},
    {7, 8, 39},   {8, 9, 14},   {9, 10, 84},   {10, 11, 59}, {11, 12, 10},  {12, 13, 28},
    {13, 14, 63}, {14, 15, 9},  {15, 16, 100}, {16, 17, 98}, {17, 18, 70},  {18, 19, 94},
    {19, 20, 22}, {20, 21, 14}, {21, 22, 87},  {22, 23, 82}, {23, 24, 55},  {24, 25, 2},
    {25, 26, 32}, {26, 27, 77}, {27, 28, 95},  {28, 29, 29}, {29, 30, 59},  {30, 31, 91},
    {31, 32, 89}, {32, 33, 50}, {33, 34, 40},  {34, 35, 88}, {35, 36, 94},  {36, 37, 60},
    {37, 38, 21}, {38, 39, 89}, {39, 40, 47},  {40, 41, 63}, {41, 42, 45},  {42, 43, 46},
    {43, 44, 24}, {44, 45, 77}, {45, 46, 60},  {46, 47, 45}, {47, 48, 50},  {48, 49, 93},
    {49, 50, 22}, {50, 51, 84}, {51, 52, 16},  {52, 53, 85}, {53, 54, 68},  {54, 55, 93},
    {55, 56, 37}, {56, 57, 26}, {57, 58, 29},  {58, 59, 38}, {59, 60, 10},  {60, 61, 32},
    {61, 62, 67}, {62, 63, 66}, {63, 64, 52},  {64, 65, 19}, {65, 66, 39},  {66, 67, 12},
    {67, 68, 86}, {68, 69, 72}, {69, 70, 73},  {70, 71, 65}, {71, 72, 2},   {72, 73, 8},
    {73, 74, 96}, {74, 75, 43}, {75, 76, 39},  {76, 77, 61}, {77, 78, 90},  {78, 79, 8},
    {79, 80, 58}, {80, 81, 91}, {81, 82, 58},  {82, 83, 13}, {83, 84, 79},  {84, 85, 59},
    {85, 86, 28}, {86, 87, 46}, {87, 88, 24},  {88, 89, 63}, {89, 90, 81},  {90, 91, 14},
    {91, 92, 52}, {92, 93, 64}, {93, 94, 75},  {94, 95, 71}, {95, 96, 51},  {96, 97, 75},
    {97, 98, 57}, {98, 99, 31}, {99, 100, 49}, {100, 1, 88}, {80, 5, 90},   {85, 69, 51},
    {20, 19, 30}, {85, 13, 22}, {81, 95, 54},  {58, 73, 37}, {64, 51, 89},  {39, 76, 89},
    {13, 8, 77},  {91, 76, 51}, {52, 95, 96},  {91, 75, 33}, {80, 91, 84},  {35, 80, 46},
    {54, 86, 35}, {30, 70, 5},  {19, 7, 9},    {74, 53, 50}, {11, 37, 4},   {19, 92, 70},
    {62, 94, 96}, {60, 52, 34}, {24, 59, 63},  {42, 45, 68}, {19, 60, 53},  {60, 27, 86},
    {15, 50, 31}, {38, 18, 27}, {81, 30, 99},  {1, 29, 6},   {22, 52, 11},  {54, 59, 75},
    {5, 7, 8},    {41, 44, 80}, {41, 76, 42},  {44, 12, 56}, {61, 65, 73},  {20, 93, 35},
    {9, 99, 28},  {45, 68, 19}, {16, 79, 96},  {13, 42, 3},  {68, 4, 28},   {58, 17, 60},
    {21, 81, 34}, {35, 7, 7},   {21, 14, 82},  {26, 32, 26}, {6, 63, 83},   {31, 69, 53},
    {91, 78, 32}, {45, 59, 33}, {42, 57, 5},   {8, 53, 66},  {65, 94, 61},  {94, 90, 63},
    {73, 33, 88}, {39, 21, 59}, {42, 85, 34},  {30, 57, 37}, {34, 94, 52},  {62, 38, 56},
    {26, 29, 20}, {48, 98, 53}, {4, 33, 45},   {31, 63, 82}, {8, 52, 31},   {37, 81, 14},
    {50, 27, 16}, {27, 14, 48}, {88, 33, 8},   {56, 30, 76}, {87, 91, 17},  {33, 49, 77},
    {70, 30, 74}, {25, 99, 19}, {95, 30, 96},  {14, 85, 90}, {49, 8, 96},   {96, 5, 87},
    {73, 4, 41},  {99, 32, 35}, {95, 1, 31},   {99, 3, 49},  {18, 75, 100}, {58, 47, 68},
    {35, 60, 5},  {38, 16, 70}, {54, 40, 52},  {95, 55, 47}, {54, 17, 45},  {9, 83, 75},
    {97, 66, 81}, {9, 48, 92},  {90, 95, 96},  {4, 27, 27},  {75, 22, 48},  {62, 7, 55},
    {79, 3, 57},  {15, 69, 46},
};

static void all_distances(int d[NODES][NODES])
{
    for (int i = 0; i < NODES; i++) {
        for (int k = 0; k < NODES; k++) {
            d[i][k] = i == k ? 0 : FAR;
        }
    }
    for (size_t e = 0; e < sizeof edges / sizeof edges[0]; e++) {
        d[edges[e][0] - 1][edges[e][1] - 1] = d[edges[e][1] - 1][edges[e][0] - 1] = edges[e][2];
    }
    for (int by = 0; by < NODES; by++) {
        for (int i = 0; i < NODES; i++) {
            for (int k = 0; k < NODES; k++) {
                d[i][k] = d[i][by] + d[by][k] < d[i][k] ? d[i][by] + d[by][k] : d[i][k];
            }
        }
    }
}

static struct shv_range_candidate *make_kits(int d[NODES][NODES])
{
    struct shv_range_candidate *kits = calloc((size_t)NODES * NODES, sizeof *kits);
    assert_non_null(kits);
    for (size_t g = 0; g < NODES; g++) {
        for (size_t i = 0; i < NODES; i++) {
            struct shv_range_candidate *c = &kits[g * NODES + i];
            *c = (struct shv_range_candidate){.power = FAR - d[g][i], .index = i};
            for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
                c->part[k] = SHV_NONE;
            }
            c->part[SHV_STOCK_BLOWER] = i;
        }
    }
    return kits;
}

static void test_pmed1(void **state)
{
    (void)state;
    static const struct published pmed1 = {
        TOPIC, "17-01", 'R',
        "OR-Library, p-median problem pmed1 (J. E. Beasley, A note on solving large p-median "
        "problems, EJOR 21, 1985)",
        "100 customers, 5 medians; the published optimum. Nearness stands as power, and the limit "
        "is on blowers."};
    static int d[NODES][NODES];
    static struct shv_range_part part[NODES];
    static struct shv_range_group group[NODES];
    all_distances(d);
    struct shv_range_candidate *kits = make_kits(d);
    struct shv_range_problem problem = {.part_count = NODES,
                                        .group_count = NODES,
                                        .part = part,
                                        .group = group,
                                        .most_parts = SHV_NONE};
    for (size_t k = 0; k < SHV_STOCK_KINDS; k++) {
        problem.most[k] = SHV_NONE;
    }
    problem.most[SHV_STOCK_BLOWER] = MEDIANS;
    for (size_t i = 0; i < NODES; i++) {
        part[i] = (struct shv_range_part){SHV_STOCK_BLOWER, (char *)"median", 0.0};
        group[i] = (struct shv_range_group){.name = (char *)"customer",
                                            .sales = 1.0,
                                            .family = SHV_NONE,
                                            .most_price = INFINITY,
                                            .most_mass = INFINITY,
                                            .count = NODES,
                                            .candidate = &kits[i * NODES]};
    }
    const struct shv_range_options options = {.seconds = 0.0};
    struct shv_range_result result;
    struct shv_message message;
    assert_int_equal(shv_range_solve(&problem, &options, &result, &message), SHV_OK);
    const struct shv_range_point *plan = &result.point[result.chosen];
    assert_true(plan->proven && plan->settled);
    assert_int_equal(plan->parts, MEDIANS);
    check(&pmed1, 5819.0, NODES * FAR - plan->value, absolute(1e-6), "sum of distances");
    shv_range_result_free(&result);
    free(kits);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_pmed1)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
