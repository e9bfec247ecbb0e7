/* Looking up a blower map made of formulas: exact at its points, straight across lines, flagged
 * beyond. */
#include "support/study_fixture.h"

#include "model/path/map.h"

static void line(struct shv_speed_line *l, double speed, size_t count, const double *ratio,
                 double ve)
{
    double y[8], z[8];
    for (size_t i = 0; i < count; i++) {
        y[i] = ve - 0.1 * (ratio[i] - 1.0);
        z[i] = 0.5 + 0.1 * (ratio[i] - 1.0);
    }
    l->corrected_speed = speed;
    assert_int_equal(shv_curve_table_init(&l->volumetric_efficiency, count, ratio, y, NULL),
                     SHV_OK);
    assert_int_equal(shv_curve_table_init(&l->isentropic_efficiency, count, ratio, z, NULL),
                     SHV_OK);
}

/* Lines at 100, 200 and 300 rev/s; the slowest only reaches a pressure ratio of 1.5. */
static struct shv_blower_map three_lines(void)
{
    struct shv_blower_map map = {100e3, 300.0, 3, calloc(3, sizeof *map.line), 0.0};
    assert_non_null(map.line);
    line(&map.line[0], 100.0, 2, (const double[]){1.1, 1.5}, 0.80);
    line(&map.line[1], 200.0, 3, (const double[]){1.1, 1.6, 2.0}, 0.90);
    line(&map.line[2], 300.0, 3, (const double[]){1.1, 1.6, 2.0}, 0.94);
    return map;
}

static void exact_on_a_line(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    struct map_value v = map_at(&map, 200.0, 300.0, 1.6);
    assert_within(v.volumetric_efficiency, 0.84, 1e-14);
    assert_within(v.isentropic_efficiency, 0.56, 1e-14);
    assert_false(v.outside);
    v = map_at(&map, 300.0, 300.0, 2.0);
    assert_within(v.volumetric_efficiency, 0.84, 1e-14);
    assert_false(v.outside);
    v = map_at(&map, 100.0, 300.0, 1.1);
    assert_within(v.volumetric_efficiency, 0.79, 1e-14);
    assert_false(v.outside);
    shv_blower_map_free(&map);
}

static void straight_across_lines(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    /* a quarter of the way from 0.80 to 0.90 and from 0.90 to 0.94, less 0.1 * 0.3 */
    assert_within(map_at(&map, 125.0, 300.0, 1.3).volumetric_efficiency, 0.825 - 0.03, 1e-14);
    assert_within(map_at(&map, 225.0, 300.0, 1.3).volumetric_efficiency, 0.91 - 0.03, 1e-14);
    shv_blower_map_free(&map);
}

/* n sqrt(T_ref / T1): inlet air four times as hot turns 400 rev/s into 200. */
static void speed_is_corrected_for_inlet_temperature(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    struct map_value hot = map_at(&map, 400.0, 1200.0, 1.4);
    struct map_value cold = map_at(&map, 200.0, 300.0, 1.4);
    assert_within(hot.volumetric_efficiency, cold.volumetric_efficiency, 1e-14);
    assert_false(hot.outside);
    shv_blower_map_free(&map);
}

static void beyond_the_points_is_flagged_and_held(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    const double speed[4] = {99.0, 301.0, 250.0, 250.0};
    const double ratio[4] = {1.3, 1.3, 1.05, 2.05};
    const double held[4] = {0.80 - 0.03, 0.94 - 0.03, 0.92 - 0.01, 0.92 - 0.10};
    for (int i = 0; i < 4; i++) {
        struct map_value v = map_at(&map, speed[i], 300.0, ratio[i]);
        assert_true(v.outside);
        assert_within(v.volumetric_efficiency, held[i], 1e-14);
    }
    shv_blower_map_free(&map);
}

/* 1.8 lies beyond the slowest line: between the first two lines it is outside, on the second it is
 * not. */
static void a_short_line_counts_only_where_it_has_weight(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    assert_true(map_at(&map, 150.0, 300.0, 1.8).outside);
    assert_true(map_at(&map, 199.0, 300.0, 1.8).outside);
    assert_false(map_at(&map, 200.0, 300.0, 1.8).outside);
    assert_false(map_at(&map, 250.0, 300.0, 1.8).outside);
    shv_blower_map_free(&map);
}

static void rounding_at_the_edge_is_forgiven(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    assert_false(map_at(&map, 300.0 * (1.0 + 1e-12), 300.0, 2.0 * (1.0 + 1e-12)).outside);
    assert_false(map_at(&map, 100.0 * (1.0 - 1e-12), 300.0, 1.1 * (1.0 - 1e-12)).outside);
    assert_true(map_at(&map, 300.0, 300.0, 2.0 * (1.0 + 1e-8)).outside);
    shv_blower_map_free(&map);
}

static void freeing_twice_does_nothing(void **state)
{
    (void)state;
    struct shv_blower_map map = three_lines();
    shv_blower_map_free(&map);
    assert_null(map.line);
    shv_blower_map_free(&map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_on_a_line),
        cmocka_unit_test(straight_across_lines),
        cmocka_unit_test(speed_is_corrected_for_inlet_temperature),
        cmocka_unit_test(beyond_the_points_is_flagged_and_held),
        cmocka_unit_test(a_short_line_counts_only_where_it_has_weight),
        cmocka_unit_test(rounding_at_the_edge_is_forgiven),
        cmocka_unit_test(freeing_twice_does_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
