/* The share of its steady rise that a coolant loop reaches. */
#include "support/study_fixture.h"

#include "model/drive/soak.h"

/* 1 - exp(-x), to the last digits also where it is all difference. */
static void share_is_the_exponential(void **state)
{
    (void)state;
    for (double x = 1e-12; x < 40.0; x *= 1.7) {
        assert_relative(shv_soak_loop_share(3.0 * x, 3.0), -expm1(-x), 1e-14);
    }
}

/* The series for small and the exponential for larger arguments meet. */
static void pieces_join(void **state)
{
    (void)state;
    double below = shv_soak_loop_share(0.1, 1.0),
           above = shv_soak_loop_share(nextafter(0.1, 1.0), 1.0);
    assert_relative(above, below, 1e-15);
}

static void extremes(void **state)
{
    (void)state;
    assert_within(shv_soak_loop_share(0.0, 0.0), 0.0, 0.0);
    assert_within(shv_soak_loop_share(0.0, 5.0), 0.0, 0.0);
    assert_within(shv_soak_loop_share(5.0, INFINITY), 0.0, 0.0);
    assert_within(shv_soak_loop_share(5.0, 0.0), 1.0, 0.0);
    assert_within(shv_soak_loop_share(INFINITY, 5.0), 1.0, 0.0);
    assert_within(shv_soak_loop_share(1e9, 5.0), 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(share_is_the_exponential),
        cmocka_unit_test(pieces_join),
        cmocka_unit_test(extremes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
