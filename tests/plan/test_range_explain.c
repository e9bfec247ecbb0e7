/* src/plan/range_explain.c: who can't be served, and what would change that. */
#include "plan/range_fixture.h"

static const struct shv_range_relief *find(const struct shv_range_result *r,
                                           enum shv_range_need need, size_t which)
{
    for (size_t i = 0; i < r->relief_count; i++) {
        if (r->relief[i].need == need && r->relief[i].which == which) {
            return &r->relief[i];
        }
    }
    return NULL;
}

/* Two blowers, and two groups that each have one kit of another blower. */
static void two_wishes(struct fixture *f)
{
    fixture_begin(f);
    size_t a = fixture_part(f, SHV_STOCK_BLOWER, 0.0), b = fixture_part(f, SHV_STOCK_BLOWER, 0.0);
    fixture_kit(fixture_group(f, 3.0), 60e3, a, SHV_NONE);
    fixture_kit(fixture_group(f, 2.0), 70e3, b, SHV_NONE);
}

static struct shv_range_result solve_nothing(struct fixture *f)
{
    struct shv_range_result r;
    struct shv_message message;
    assert_int_equal(fixture_solve(f, &r, &message), SHV_NOTHING);
    assert_int_equal(r.chosen, SHV_NONE);
    return r;
}

static void test_group_without_candidates(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.group[1].count = 0;
    struct shv_range_result r = solve_nothing(&f);
    assert_true(r.alone);
    assert_int_equal(r.unserved_count, 1);
    assert_int_equal(r.unserved[0], 1);
    assert_int_equal(r.relief_count, 0);
    shv_range_result_free(&r);
}

static void test_one_requirement_of_a_group(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.group[1].most_price = 80.0; /* kits cost 100 */
    struct shv_range_result r = solve_nothing(&f);
    assert_int_equal(r.unserved[0], 1);
    assert_int_equal(r.relief_count, 1);
    assert_int_equal(r.relief[0].need, SHV_NEED_PRICE);
    assert_int_equal(r.relief[0].which, 1);
    assert_true(r.relief[0].is == 80.0 && r.relief[0].to == 100.0);
    shv_range_result_free(&r);
    /* Power that no kit has: the most there is. */
    two_wishes(&f);
    fixture_kit(&f.group[0], 65e3, 0, SHV_NONE);
    f.group[0].least_power = 66e3;
    r = solve_nothing(&f);
    assert_int_equal(r.relief_count, 1);
    assert_int_equal(r.relief[0].need, SHV_NEED_POWER);
    assert_true(r.relief[0].to == 65e3);
    shv_range_result_free(&r);
}

static void test_two_requirements_that_block_each_other(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    /* Cheap and weak, or strong and dear; wanted: cheap and strong. Either may give way. */
    fixture_kit(&f.group[1], 90e3, 1, SHV_NONE)->price = 200.0;
    f.group[1].most_price = 150.0;
    f.group[1].least_power = 80e3;
    struct shv_range_result r = solve_nothing(&f);
    assert_int_equal(r.relief_count, 2);
    assert_int_equal(r.relief[0].need, SHV_NEED_PRICE);
    assert_true(r.relief[0].to == 200.0);
    assert_int_equal(r.relief[1].need, SHV_NEED_POWER);
    assert_true(r.relief[1].to == 70e3);
    assert_true(r.relief[0].way != r.relief[1].way);
    shv_range_result_free(&r);
    /* Too dear and too weak whichever: both at once. */
    two_wishes(&f);
    f.group[1].most_price = 90.0;
    f.group[1].least_power = 80e3;
    r = solve_nothing(&f);
    assert_int_equal(r.relief_count, 2);
    assert_true(r.relief[0].way == r.relief[1].way);
    shv_range_result_free(&r);
}

static void test_limit_of_a_kind(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.problem.most[SHV_STOCK_BLOWER] = 1;
    struct shv_range_result r = solve_nothing(&f);
    assert_false(r.alone);
    assert_int_equal(r.unserved_count, 1);
    assert_int_equal(r.unserved[0], 1); /* the smaller sales */
    assert_int_equal(r.relief_count, 1);
    const struct shv_range_relief *relief = find(&r, SHV_NEED_KIND, SHV_STOCK_BLOWER);
    assert_non_null(relief);
    assert_true(relief->is == 1.0 && relief->to == 2.0);
    shv_range_result_free(&r);
}

static void test_limit_of_all_parts(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.problem.most_parts = 1;
    struct shv_range_result r = solve_nothing(&f);
    const struct shv_range_relief *relief = find(&r, SHV_NEED_PARTS, SHV_STOCK_KINDS);
    assert_non_null(relief);
    assert_true(relief->to == 2.0);
    shv_range_result_free(&r);
}

static void test_family(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.problem.family_count = 2;
    f.group[0].family = f.group[1].family = 1;
    /* The first family has no group: only the second is in the way. */
    struct shv_range_group *third = fixture_group(&f, 1.0);
    fixture_kit(third, 50e3, 0, SHV_NONE);
    third->family = 0;
    struct shv_range_result r = solve_nothing(&f);
    assert_int_equal(r.relief_count, 1);
    assert_non_null(find(&r, SHV_NEED_FAMILY, 1));
    shv_range_result_free(&r);
}

/* One blower for all: the second group could have it too, if it asked for less. */
static void test_requirement_in_the_way_of_a_limit(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    fixture_kit(&f.group[1], 50e3, 0, SHV_NONE);
    f.problem.most[SHV_STOCK_BLOWER] = 1;
    f.group[1].least_share = 0.9;
    struct shv_range_result r = solve_nothing(&f);
    assert_int_equal(r.unserved[0], 1);
    assert_non_null(find(&r, SHV_NEED_KIND, SHV_STOCK_BLOWER));
    const struct shv_range_relief *relief = find(&r, SHV_NEED_SHARE, 1);
    assert_non_null(relief);
    assert_true(fabs(relief->to - 50.0 / 70.0) < 1e-9);
    shv_range_result_free(&r);
}

static void test_several_limits_at_once(void **state)
{
    (void)state;
    struct fixture f;
    two_wishes(&f);
    f.problem.most[SHV_STOCK_BLOWER] = 1;
    f.problem.most_parts = 1;
    struct shv_range_result r = solve_nothing(&f);
    assert_int_equal(r.relief_count, 2);
    assert_true(r.relief[0].way == r.relief[1].way);
    assert_true(find(&r, SHV_NEED_KIND, SHV_STOCK_BLOWER)->to == 2.0);
    assert_true(find(&r, SHV_NEED_PARTS, SHV_STOCK_KINDS)->to == 2.0);
    shv_range_result_free(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_group_without_candidates),
        cmocka_unit_test(test_one_requirement_of_a_group),
        cmocka_unit_test(test_two_requirements_that_block_each_other),
        cmocka_unit_test(test_limit_of_a_kind),
        cmocka_unit_test(test_limit_of_all_parts),
        cmocka_unit_test(test_family),
        cmocka_unit_test(test_requirement_in_the_way_of_a_limit),
        cmocka_unit_test(test_several_limits_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
