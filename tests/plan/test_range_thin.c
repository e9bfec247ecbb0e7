/* src/plan/range_thin.c: what dominance drops and what it must not. */
#include "plan/range_fixture.h"
#include "plan/range_thin.h"

struct parts {
    size_t blower, other, pulley, core;
};

static struct parts some_parts(struct fixture *f)
{
    fixture_begin(f);
    struct parts p;
    p.blower = fixture_part(f, SHV_STOCK_BLOWER, 0.0);
    p.other = fixture_part(f, SHV_STOCK_BLOWER, 0.0);
    p.pulley = fixture_part(f, SHV_STOCK_BLOWER_PULLEY, 0.0);
    p.core = fixture_part(f, SHV_STOCK_COOLER, 0.0);
    return p;
}

/* Keeps candidates of the only group, in the order of preference. */
static size_t kept(struct fixture *f, size_t from[FIXTURE_KITS])
{
    struct thin thin;
    struct shv_message message;
    assert_int_equal(thin_make(&thin, &f->problem, SHV_NONE, &message), SHV_OK);
    size_t count = thin.group[0].count;
    for (size_t i = 0; i < count; i++) {
        from[i] = thin.group[0].item[i].from;
    }
    thin_free(&thin);
    return count;
}

static void test_same_parts(void **state)
{
    (void)state;
    struct fixture f;
    size_t from[FIXTURE_KITS];
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, p.blower, p.pulley);
    fixture_kit(g, 61e3, p.blower, p.pulley);
    fixture_kit(g, 61e3, p.blower, p.pulley)->price = 99.0;
    assert_int_equal(kept(&f, from), 1);
    assert_int_equal(from[0], 2);
}

static void test_fewer_parts(void **state)
{
    (void)state;
    struct fixture f;
    size_t from[FIXTURE_KITS];
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, p.blower, p.pulley);
    fixture_kit(g, 60e3, p.blower, p.pulley)->part[SHV_STOCK_COOLER] = p.core; /* no better */
    fixture_kit(g, 62e3, p.other, p.pulley)->part[SHV_STOCK_COOLER] = p.core;  /* other parts */
    assert_int_equal(kept(&f, from), 2);
    assert_int_equal(from[0], 2);
    assert_int_equal(from[1], 0);
}

/* More parts for more power stay, and so do fewer parts for less. */
static void test_both_ends_stay(void **state)
{
    (void)state;
    struct fixture f;
    size_t from[FIXTURE_KITS];
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, p.blower, p.pulley);
    fixture_kit(g, 65e3, p.blower, p.pulley)->part[SHV_STOCK_COOLER] = p.core;
    assert_int_equal(kept(&f, from), 2);
}

/* As good with a part less, but dearer: the group prefers the other, so that one has to stay. */
static void test_fewer_parts_but_dearer(void **state)
{
    (void)state;
    struct fixture f;
    size_t from[FIXTURE_KITS];
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 60e3, p.blower, p.pulley)->price = 120.0;
    fixture_kit(g, 60e3, p.blower, p.pulley)->part[SHV_STOCK_COOLER] = p.core;
    assert_int_equal(kept(&f, from), 2);
}

static void test_requirements_come_first(void **state)
{
    (void)state;
    struct fixture f;
    size_t from[FIXTURE_KITS];
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    fixture_kit(g, 70e3, p.blower, p.pulley)->price = 500.0;
    fixture_kit(g, 60e3, p.blower, p.pulley);
    fixture_kit(g, 50e3, p.other, p.pulley);
    g->most_price = 400.0;
    g->least_share = 0.9; /* of 60, not of 70 */
    assert_int_equal(kept(&f, from), 1);
    assert_int_equal(from[0], 1);
}

/* Keeping stock costs where profit is what counts; else it is no part of a plan's worth. */
static void test_cost_of_stock(void **state)
{
    (void)state;
    struct fixture f;
    struct thin thin;
    struct shv_message message;
    struct parts p = some_parts(&f);
    fixture_kit(fixture_group(&f, 1.0), 50e3, p.blower, p.pulley);
    f.problem.part[p.pulley].cost = 400.0;
    f.problem.value = SHV_RANGE_POWER;
    assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, &message), SHV_OK);
    assert_true(thin.cost[p.pulley] == 0 && thin.cost[p.blower] == 0);
    thin_free(&thin);
    f.problem.value = SHV_RANGE_PROFIT;
    assert_int_equal(thin_make(&thin, &f.problem, SHV_NONE, &message), SHV_OK);
    assert_true(thin.cost[p.blower] == 0);
    assert_true(llabs(thin.cost[p.pulley] - llround(400.0 / thin.step)) == 0);
    assert_true(thin.cost[p.pulley] > 0);
    thin_free(&thin);
}

static void test_worth(void **state)
{
    (void)state;
    struct fixture f;
    struct parts p = some_parts(&f);
    struct shv_range_group *g = fixture_group(&f, 1.0);
    struct shv_range_candidate *c = fixture_kit(g, 60e3, p.blower, p.pulley);
    g->sale_price = 1000.0;
    g->sale_per_watt = 0.01;
    assert_true(shv_range_worth(&f.problem, g, c, 80e3) == 60e3);
    f.problem.value = SHV_RANGE_SHARE;
    assert_true(shv_range_worth(&f.problem, g, c, 80e3) == 0.75);
    f.problem.value = SHV_RANGE_PROFIT;
    assert_true(fabs(shv_range_worth(&f.problem, g, c, 80e3) - 1500.0) < 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_same_parts),
        cmocka_unit_test(test_fewer_parts),
        cmocka_unit_test(test_both_ends_stay),
        cmocka_unit_test(test_fewer_parts_but_dearer),
        cmocka_unit_test(test_requirements_come_first),
        cmocka_unit_test(test_cost_of_stock),
        cmocka_unit_test(test_worth),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
